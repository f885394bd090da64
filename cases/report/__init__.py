"""From what was found to page, pictures, ``results.json`` and terminal, whatever the subject."""

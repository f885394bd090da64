"""Problems whose answers others published, solved here, and both side by side on a page."""

"""Parts whose undersides the coolant wets."""

from __future__ import annotations

from fea.heat import Underside

UNDERSIDES = (
    Underside(part="insert", path="underside of insert", at_depth=True),
    Underside(part="tie", path="underside of ties", at_depth=False),
)
"""An insert ends in the jacket; a tie as deep as the section goes on below it."""

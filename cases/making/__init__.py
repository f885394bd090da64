"""How an insert is made and how it goes in: ``hoopclock make``.

An insert drops in where block and insert are far enough apart in temperature
(:mod:`cases.making.passage`, by the contraction of :mod:`cases.making.contraction`); where it does
not, :mod:`cases.making.cure` says what would do, and :mod:`cases.making.press` what the press asks.
It solves nothing: the window of the fit and what presses on each piece are those of a rating of the
same case, where there is one. :mod:`cases.making.drawing` draws each piece,
:mod:`cases.making.contour` tells its points, :mod:`cases.making.limits` parts what the fit may vary
by between pocket and insert, :mod:`cases.making.sheets` draws the dimensioned sheets,
:mod:`cases.making.points` the points on them and :mod:`cases.making.pocket` what is milled,
:mod:`cases.making.across` the sections, and :mod:`cases.making.traveller` says the steps of
the work; :mod:`cases.making.make` gathers all of it and writes the folder.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cases.base.subject import Subject

if TYPE_CHECKING:
    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.making.given import MakingInput


class Making(Subject):
    """How an insert is made and how it goes in."""

    key = "making"

    def table(self) -> type[Table]:
        """``[making]``."""
        from cases.making.table import MakingKeys

        return MakingKeys

    def given(self, table: Any, case: Any, faults: Faults) -> MakingInput:
        """Temperatures, clearance and friction, checked."""
        from cases.making.reading import read_making

        return read_making(table, faults)


SUBJECT = Making()

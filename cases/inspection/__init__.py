"""The block as it was found: what to measure, what was measured, and what walls come of it.

A file of readings is read whole or refused, every fault with its line and column
(:mod:`cases.inspection.readings`). What each method is off by stands in
:mod:`cases.inspection.methods`, with its source; a reading may carry an error of its own.

Each bore's readings become its wall by clock and depth with an error
(:mod:`cases.inspection.walls`), those at relief cuts say where these stand, and the block that all
subjects work on is made of them (:mod:`cases.inspection.found`): bores as they are to be run, walls
bore by bore. The error of the walls of the bore that fires is what the rating's band draws, unless
the case states a tolerance.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cases.base.subject import Subject

if TYPE_CHECKING:
    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.inspection.given import Inspection as Found


class Inspection(Subject):
    """What was found on the block, where the case states it."""

    key = "inspection"

    def table(self) -> type[Table]:
        """``[inspection]``."""
        from cases.inspection.table import InspectionKeys

        return InspectionKeys

    def given(self, table: Any, case: Any, faults: Faults) -> Found | None:
        """The readings, each checked."""
        from cases.inspection.reading import read_inspection

        return read_inspection(table, case, faults)

    def changed(self, case: Any, faults: Faults) -> Any:
        """The block as it is to be run."""
        from dataclasses import replace

        from cases.inspection.found import block_found

        found = case.given[self.key]
        if found is None:
            return case
        block = faults.attempt(("inspection",), lambda: block_found(found))
        return replace(case, block=block) if block else case


SUBJECT = Inspection()

"""The block as it was found: what to measure, what was measured, and what walls come of it.

A file of readings is read whole or refused, every fault with its line and column
(:mod:`cases.inspection.readings`). What each method is off by stands in
:mod:`cases.inspection.methods`, with its source; a reading may carry an error of its own.
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


SUBJECT = Inspection()

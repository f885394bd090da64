"""Slots proposed: the smallest set that opens every hole of all gaskets through an insert.

About each bore a slot opens a run of neighbouring holes (:mod:`cases.slots.search`). Sets of least
metal and of fewest slots, in the whole jacket and in its outer half, are weighed by the deck
section, cold and in one piece. What is asked for is the cutter, a share and distances; what no slot
opens so far is told with how far it does. A bank of two with two gaskets takes some seconds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cases.base.faults import RunError
from cases.base.subject import Chapter, Subject, Usual, Work

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.checking import Faults
    from cases.base.tables import Table
    from cases.slots.given import SlotWishes
    from cases.slots.result import SlotsFound

STAGE = "slots"


class Slots(Subject):
    """Slots for one design, where the case asks for them."""

    key = "slots"
    after = ("gas", "gasket", "stress")

    def table(self) -> type[Table]:
        """``[slots]``."""
        from cases.slots.table import SlotsKeys

        return SlotsKeys

    def given(self, table: Any, case: Any, faults: Faults) -> SlotWishes | None:
        """Design, cutter, share and distances."""
        from cases.slots.reading import read_slots

        return read_slots(table, case, faults)

    def asked(self, case: Any, rate: bool) -> bool:
        """Where the case asks for slots."""
        return case.given.get("slots") is not None

    def stages(self, case: Any) -> Sequence[Usual]:
        """One."""
        return ((STAGE, 12.0),)

    def solve(self, work: Work) -> SlotsFound:
        """The set of slots."""
        from cases.slots.solve import find_slots

        work.tell("all designs", STAGE)
        try:
            return find_slots(work.case, work.found["gas"].line_load)
        except (RunError, MemoryError):
            raise
        except Exception as error:  # gmsh raises bare Exceptions
            raise RunError(f"slots proposed: {error}") from error

    def case_data(self, result: Any) -> Mapping[str, Any]:
        """Slots, what they open, and stress."""
        from cases.slots.data import slots_dict

        found = result.found.get("slots")
        return {"slots_proposed": slots_dict(found)} if found else {}

    def figures(self, result: Any) -> Iterator[tuple[str, Figure]]:
        """The slots under each gasket."""
        from cases.slots.figures import slots_figure

        found = result.found.get("slots")
        if found is not None and found.water is not None:
            yield "slots", slots_figure(result.case, found)

    def write(self, result: Any, folder: Path) -> None:
        """The slots as a case file takes them."""
        from cases.slots.words import FILE

        found = result.found.get("slots")
        if found is not None and found.slots:
            (folder / FILE).write_text(found.text, encoding="utf-8")

    def chapters(self, result: Any) -> Sequence[Chapter]:
        """Slots proposed."""
        from cases.slots.chapter import slots_chapters

        return slots_chapters(result)

    def lines(self, result: Any) -> Sequence[str]:
        """What was found."""
        from cases.slots.words import FILE, found_words

        found = result.found.get("slots")
        if found is None:
            return ()
        words = found_words(found, result.case.block.bores)
        return (f"Slots proposed: {words}" + (f" They are in {FILE}." if found.slots else ""),)


SUBJECT = Slots()

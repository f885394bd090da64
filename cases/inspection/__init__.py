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

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Solved, Subject

if TYPE_CHECKING:
    from matplotlib.figure import Figure

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

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """What was found, and the verdict on the casting."""
        from cases.inspection.data import inspection_dict
        from cases.inspection.given import inspection_given

        found = inspection_given(result.case)
        return {"inspection": inspection_dict(found)} if found else {}

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """The map of walls."""
        from cases.inspection.figures import inspection_figures
        from cases.inspection.given import inspection_given

        if found := inspection_given(result.case):
            yield from inspection_figures(found)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """The block as it was found."""
        from cases.inspection.chapter import inspection_chapters

        return inspection_chapters(result)

    def first_lines(self, result: Solved) -> Sequence[str]:
        """The verdict on the casting."""
        from cases.inspection.given import inspection_given
        from cases.inspection.words import verdict_words

        found = inspection_given(result.case)
        words = verdict_words(found) if found else ""
        return (words,) if words else ()

    def lines(self, result: Solved) -> Sequence[str]:
        """What was read, what boring leaves, and what does not fit."""
        from cases.inspection.given import inspection_given
        from cases.inspection.words import bore_words, outlier_words, walls_words

        found = inspection_given(result.case)
        if found is None:
            return ()
        told = [walls_words(found), bore_words(found), *outlier_words(found), *found.notes]
        return [words for words in told if words]

    def limits(self, result: Solved) -> Sequence[str]:
        """What readings can't tell."""
        from cases.inspection.given import inspection_given

        found = inspection_given(result.case)
        if found is None or not found.fits:
            return ()
        return (
            "Walls between readings are a smooth fit; what was not read may be thinner. Readings "
            "of a wall see no pore, no cold shut and no crack: test for these by themselves.",
            "The section has each bore's wall as it was read half-way down its depth. Solids have "
            "its taper too, down to the deepest reading; below that, and where too few readings "
            "tell it, the draft of the drawing. The rest is taken as the same at all depths.",
        )

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """What readings without a method count as."""
        from cases.inspection.given import inspection_given
        from cases.inspection.methods import UNSTATED

        found = inspection_given(result.case)
        if found is None or found.readings is None or not found.readings.unstated:
            return ()
        count, total = found.readings.unstated, len(found.readings.rows)
        words = f"{count} of {total} readings name no method, off by {UNSTATED.off:g} mm each"
        return (("inspection.readings", f"{words} (common practice, no source)"),)


SUBJECT = Inspection()

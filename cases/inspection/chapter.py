"""The chapter on the block as it was found."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.inspection.accept import least_walls, rulings, word_of
from cases.inspection.given import Inspection, inspection_given
from cases.inspection.methods import METHODS
from cases.inspection.places import place_of
from cases.inspection.walls import row_shift
from cases.inspection.words import (
    bore_words,
    outlier_words,
    shift_words,
    verdict_words,
    walls_words,
)

MOST_ROWS = 150
"""Readings that the page lists beside the drawing; results.json has all."""


def inspection_chapters(result: Solved) -> tuple[Chapter, ...]:
    """The block as it was found, where the case states it."""
    found = inspection_given(result.case)
    if found is None:
        return ()
    readings = found.readings.rows if found.readings else ()
    ruled = rulings(found)
    firsts = [verdict_words(found), walls_words(found), bore_words(found)]
    return (
        Chapter(
            key="inspection", title="The block as it was found",
            template="inspection/chapter.html.j2",
            finding=next((words for words in firsts if words), ""),
            contents={
                "found": found, "ruled": ruled, "word": word_of(ruled), "walls": walls_words(found),
                "bored": bore_words(found), "outliers": outlier_words(found),
                "shift_words": shift_words,
                "row": row_shift(found.fits) if len(found.fits) > 1 else None,
                "least": {of.bore: of for of in least_walls(found)},
                "methods": [METHODS[name] for name in dict.fromkeys(of.method for of in readings)],
                "rows": _rows(found)[:MOST_ROWS], "count": len(_rows(found)),
            },
        ),
    )  # fmt: skip


def _rows(found: Inspection) -> list[tuple[int, float, float, float, float, float]]:
    """Bore, clock, depth, drawing, reading and error of each free wall that counts."""
    return [
        (
            fit.bore, of.clock, of.depth,
            place_of(found.drawn, fit.bore, of.clock, of.depth).wall, of.wall, of.error,
        )
        for fit in found.fits
        for of in fit.readings
    ]  # fmt: skip

"""What the terminal says of the ratings."""

from __future__ import annotations

from collections.abc import Sequence

from cases.base.subject import TextTable
from cases.gas.solve import gas_of
from cases.rating.depth_words import depth_lines
from cases.rating.result import DISTANCE, is_rated, rating_of
from cases.rating.words import (
    RATING_CAUTIONS,
    governing_name,
    life_cycles_of,
    life_words,
    limit_meaning,
    limit_words,
    notes_by_design,
)
from cases.stress.columns import part_name
from cases.stress.result import CaseResult, DesignResult


def rating_lines(result: CaseResult) -> list[str | TextTable]:
    """The limits, what could not be judged, and the cautions of every rating."""
    rated = [design for design in result.designs if is_rated(design)]
    if not rated:
        return []
    engine = gas_of(result).cycle is not None
    return [
        *(depth_lines(rated) or [_by_section(rated, engine)]),
        *(
            note if len(names) == len(rated) else f"{', '.join(names)}: {note}"
            for note, names in notes_by_design(rated).items()
        ),
        limit_meaning(gas_of(result), rated),
        " ".join(RATING_CAUTIONS),
    ]


def _by_section(rated: Sequence[DesignResult], engine: bool) -> TextTable:
    """The limits, where no solid tells them."""
    headings = (
        "Design", "Limit\nx asked", "5-95 %\nx asked", "Peak\nbar",
        *(("Boost\nbar", "Power\nkW") if engine else ()), "Cycles at\nthe asked", "Governed by",
    )  # fmt: skip
    return TextTable(
        title="What each design stands, an estimate",
        headings=headings,
        rows=tuple(_rating_row(design, engine) for design in rated),
        words=(0, len(headings) - 1),
    )


def _rating_row(design: DesignResult, engine: bool) -> tuple[str, ...]:
    rating = rating_of(design)
    judged = life_cycles_of(rating, design.solution.model.materials).values()
    lives = [cycles for cycles in judged if cycles is not None]
    limit, band, spot = rating.limit, rating.band, rating.governing
    factor = limit_words(limit) if limit else f"> {rating.tried:.1f}"
    spread = f"{band.factor[0]:.2f}-{band.factor[-1]:.2f}" if band else ""

    def bar(value: float | None) -> str:
        return "" if value is None else f"{10 * value:.2f}" if value < 1 else f"{10 * value:.0f}"

    cells = [bar(limit.pressure_mpa if limit else None)]
    if engine:
        power = limit.power_kw if limit else None
        cells += [bar(limit.boost_mpa if limit else None), f"{power:.0f}" if power else ""]
    what = ""
    if spot:
        part = part_name(design.section.block, spot.spot)
        what = f"{governing_name(rating)}, {part} {spot.spot.clock}"
        if spot.judged_by == DISTANCE:
            what += f", by {DISTANCE}"
    return (
        design.name, factor, spread, *cells, life_words(min(lives, default=None)), what,
    )  # fmt: skip

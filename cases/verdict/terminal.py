"""The verdict for the terminal: line 1, a row a design, what would change it, what to measure."""

from __future__ import annotations

from cases.base.subject import TextTable
from cases.rating.words import of_hundred
from cases.verdict.change import LEAST_WORTH
from cases.verdict.result import Row, Verdict
from cases.verdict.words import (
    assumption_words,
    band_words,
    measurement_words,
    not_chosen,
    short_life,
    spreading_words,
    stands_on_words,
    stated_outside,
    wanted_words,
)

MOST_ASSUMED = 4
CHANGE, MEASURE, PASSED = "What would change this", "Measure first", "No fit will do"
OUTSIDE = "Stated outside of the fit to make"


def rows_table(verdict: Verdict) -> TextTable:
    """One row a design, narrow enough for 80 columns; restated limits where the record has any."""
    restated = any(row.restated_bar is not None for row in verdict.rows)
    return TextTable(
        title=f"At {wanted_words(verdict)} wanted, {stands_on_words(verdict)}",
        headings=(
            "Design", "Of 100\ncarry it", "Limit\nbar", *(["By shop\nbar"] if restated else []),
            "5-95 %\nbar", "Life at\nwanted", "Fit to make\num", "Governs",
        ),
        rows=tuple(_cells(row, restated, verdict.reliability) for row in verdict.rows),
        words=(0, 5 + restated, 6 + restated),
    )  # fmt: skip


def _cells(row: Row, restated: bool, asked: float) -> tuple[str, ...]:
    limit = "" if row.limit_bar is None else f"{'<= ' * row.at_most}{row.limit_bar:.0f}"
    if row.beyond is not None:
        limit = f"> {row.beyond:.1f} x"
    fit = "none will do" if row.unfit else ""
    if row.fit:
        side = "side" if row.fit.measured == "per side" else "dia."
        fit = f"{row.fit.low_um:.1f}-{row.fit.high_um:.1f} {side}"
    place = row.places[0] if row.places else None
    down = "" if place is None or place.depth_mm is None else f" {place.depth_mm:.0f} mm"
    where = f"{place.part} {place.clock}{down} {row.state}" if place else "not judged"
    return (
        row.design,
        row.status if row.share is None else of_hundred(row.share, asked),
        limit,
        *(["" if row.restated_bar is None else f"{row.restated_bar:.0f}"] if restated else []),
        band_words(row.limit_low_bar, row.limit_high_bar, "-"),
        short_life(row),
        fit,
        where,
    )


def change_lines(verdict: Verdict) -> dict[str, list[str]]:
    """What would change the verdict, what to measure first, what is passed over, by heading."""
    worth = [one for one in verdict.assumed if abs(one.worth_percent or 0.0) >= LEAST_WORTH]
    valued = worth[:MOST_ASSUMED]
    changing = [spreading_words(one) for one in verdict.spreading]
    changing += [f"assumed {assumption_words(one)}" for one in valued]
    if changing and (more := len(verdict.assumed) - len(valued)):
        changing.append(f"and {more} more assumed, on the page")
    measured = [
        f"{number}. {measurement_words(one)}" for number, one in enumerate(verdict.measure_first, 1)
    ]
    told = {
        OUTSIDE: stated_outside(verdict.rows), CHANGE: changing, MEASURE: measured,
        PASSED: not_chosen(verdict.rows),
    }  # fmt: skip
    return {heading: lines for heading, lines in told.items() if lines}

"""The verdict at the top of the page."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from cases.rating.words import of_hundred
from cases.verdict import words
from cases.verdict.change import LEAST_WORTH
from cases.verdict.result import Row, Verdict

TEMPLATE = "verdict/top.html.j2"
STATUS = "carries the wanted load"
LIMIT, BOOST, FIT, GOES_IN = "limit", "boost (gauge)", "fit to make", "goes in"
RESTATED = "limit by the shop's engines"
BOTH = (LIMIT, RESTATED, BOOST, FIT, GOES_IN)
"""Headings of what a shop needs in its own units and in metric ones."""
CAUTION = (
    "Casting defects decide: sonic-test and pressure-test the block; where it matters to safety, "
    "have a licensed engineer check it."
)
"""Of the cautions of every report, what has to stand on the first screen."""


def top_contents(verdict: Verdict) -> dict[str, Any]:
    """What ``TEMPLATE`` shows."""
    valued = [one for one in verdict.assumed if abs(one.worth_percent or 0.0) >= LEAST_WORTH]
    return {
        "verdict": verdict,
        "words": words,
        "caution": CAUTION,
        "valued": valued,
        "others": len(verdict.assumed) - len(valued),
        "STATUS": STATUS,
        "carries": _filled(verdict, partial(carries_cells, asked=verdict.reliability)),
        "costs": _filled(verdict, costs_cells),
        "passed": words.not_chosen(verdict.rows),
    }


def _filled(
    verdict: Verdict, cells_of: Callable[[Row], dict[str, str]]
) -> list[tuple[Row, dict[str, str]]]:
    """Cells of each design, without those that are empty of all."""
    told = [
        (
            row,
            {of: verdict.both(cell) if of in BOTH else cell for of, cell in cells_of(row).items()},
        )
        for row in verdict.rows
    ]
    kept = [heading for heading in told[0][1] if any(cells[heading] for _, cells in told)]
    return [(row, {heading: cells[heading] for heading in kept}) for row, cells in told]


def carries_cells(row: Row, asked: float) -> dict[str, str]:
    """What a design carries, by heading; empty where it is not known.

    ``asked`` is the share of the draws that is to carry the wanted load.
    """
    return {
        "design": row.design,
        STATUS: _share(row, asked),
        LIMIT: _limit(row),
        RESTATED: "" if row.restated_bar is None else f"{row.restated_bar:.0f} bar",
        BOOST: _banded(row.boost_bar, row.boost_low_bar, row.boost_high_bar, "%.2f", "bar"),
        "power": _banded(row.power_kw, row.power_low_kw, row.power_high_kw, "%.0f", "kW"),
        "life at the wanted load": _life(row),
        "governs": words.governs_words(row),
        FIT: _fit(row),
    }


def costs_cells(row: Row) -> dict[str, str]:
    """What a design takes, by heading; empty where it is not known."""
    return {
        "design": row.design,
        "held": row.held,
        GOES_IN: words.drop_in_words(row),
        "bore": words.distortion_words(row),
        "hottest": _hottest(row),
        "water": _water(row),
        "pieces": _pieces(row),
        "to machine": "; ".join(row.machined),
    }


def _share(row: Row, asked: float) -> str:
    if row.share is None:
        return row.status
    return f"{row.status}, {of_hundred(row.share, asked)} of 100 draws"


def _fit(row: Row) -> str:
    if row.unfit:
        return "none will do"
    if row.fit is None:
        return ""
    if row.fit.inside:
        return words.fit_words(row.fit)
    bar = row.fit.limit_bar
    at_nominal = "" if bar is None else f"; the nominal carries {bar:.0f} bar"
    return (
        f"{words.fit_words(row.fit)}; limit and life are of the stated {row.fit.stated_um:.1f} um, "
        f"outside of that{at_nominal}"
    )


def _limit(row: Row) -> str:
    if row.beyond is not None:
        return f"more than {row.beyond:.1f} times what is wanted"
    return f"{'at most ' * row.at_most}{words.limit_words(row)}" if row.limit_factor else ""


def _banded(
    value: float | None, low: float | None, high: float | None, form: str, unit: str
) -> str:
    if value is None:
        return ""
    band = words.band_words(low, high, " to ", form, f" {unit}")
    return f"{form % value} {unit}{f' ({band})' if band else ''}"


def _life(row: Row) -> str:
    told = words.life_hours_words(row)
    if not told or math.isinf(row.life_cycles or 0.0):
        return told
    return f"{told} ({row.life_state})"


def _hottest(row: Row) -> str:
    known = {"barrel": row.hottest_barrel_degc, "insert": row.hottest_insert_degc}
    told = [f"{part} {of:.0f} degC" for part, of in known.items() if of is not None]
    return ", ".join(told)


def _water(row: Row) -> str:
    told = [f"{row.open_water_mm2:.0f} mm2 open at the deck"]
    if row.through_gasket_mm2 is not None:
        of_bare = f" of {row.through_bare_mm2:.0f}" if row.held else ""
        told.append(f"{row.through_gasket_mm2:.0f}{of_bare} mm2 through gasket {row.gasket}")
    if row.wetted_barrel_mm2 is not None:
        told.append(f"{row.wetted_barrel_mm2 / 100:.0f} cm2 of barrel wetted")
    if row.displaced_mm3 is not None:
        told.append(f"{row.displaced_mm3 / 1000:.1f} cm3 displaced")
    return ", ".join(told)


def _pieces(row: Row) -> str:
    count = f"{row.pieces} piece{'s' * (row.pieces > 1)}" if row.pieces else ""
    mass = f"{row.mass_g:.0f} g" if row.mass_g is not None else ""
    return ", ".join(filter(None, (count, mass)))

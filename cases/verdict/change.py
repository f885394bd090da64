"""What would change a verdict: what spreads the limit, what was assumed, what to measure first."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence

from cases.case import Case
from cases.gas.cylinder import ATMOSPHERE
from cases.head.result import FRICTION, head_of
from cases.life.given import life_given
from cases.life.steps import EngineState
from cases.rating.band import CLASS, HOT, PORE, RECORD, STRENGTH
from cases.rating.result import FIT, LENGTH, LINER, PRESSURE, WALLS, rating_of
from cases.rating.worth import (
    worth_of_cycles,
    worth_of_line,
    worth_of_process,
    worth_of_starts,
    worths_of,
)
from cases.stress.result import DesignResult
from cases.verdict.result import Assumption, Measurement, Row, Spreading

MOST_SPREADING, MOST_MEASURED = 3, 5
BY_INPUT = {
    "block.liner_interference": LINER,
    "rating.pressure_scatter": PRESSURE,
    "rating.wall_tolerance": WALLS,
}
"""Key of a case, and the input that is drawn where it is left out."""
BY_WORTH = {"rating.hours_hot": 2, "rating.casting_quality": 3}
"""Key of a case, and its place among the assumptions on strength (:func:`worths_of`)."""
RELIABILITY, LINE, REFERENCE = "rating.reliability", "rating.mean_stress", "gas.reference"
BY_PLACE: dict[str, Callable[[Case, DesignResult], float | None]] = {
    "block.process": worth_of_process,
    "rating.starts": worth_of_starts,
    "rating.cycles": lambda case, design: worth_of_cycles(case, design, EngineState.WARM),
    "rating.cold_cycles": lambda case, design: worth_of_cycles(case, design, EngineState.COLD),
}
"""Key of a case, and what it is worth at the place that governs."""
AGAINST = {
    "block.process": "other ways to make it",
    "rating.cycles": "a tenth as many",
    "rating.cold_cycles": "a tenth as many",
    "rating.starts": "none",
}
"""What a worth is against, where that doesn't go without saying."""
WORTHLESS = ("rating.pull",)
"""Left out, and moving no limit: it tells cycles in other words."""
UNFELT = ("rating.draws",)
"""Left out and of no worth."""
LEAST_WORTH = 0.5
"""Below which nothing is measured for it. [%]."""
HEAT = 1
"""Place of the temperature among the assumptions on strength."""


def spreading(design: DesignResult) -> tuple[Spreading, ...]:
    """The inputs that spread the limit of a design most, most first."""
    band = rating_of(design).told_band
    if band is None:
        return ()
    return tuple(
        Spreading(input=name, share=share, worth_percent=_known(design, name))
        for name, share in list(band.causes.items())[:MOST_SPREADING]
    )


def _known(design: DesignResult, name: str) -> float | None:
    """What the limit rises by, were an input known to be at its middle. [%]."""
    band = rating_of(design).told_band
    if band is None or name not in band.known:
        return None
    return 100 * (band.known[name] - 1)


def assumptions(
    case: Case, design: DesignResult, left_out: Sequence[tuple[str, str]]
) -> tuple[Assumption, ...]:
    """What stood for what the case leaves out; what is worth most first.

    Parameters
    ----------
    case : Case
    design : DesignResult
        Rated; worths are of its limit.
    left_out : sequence of (str, str)
        Key, and what stood for it.
    """
    _, worths = worths_of(case, [design])
    band = rating_of(design).told_band

    def worth(key: str) -> float | None:
        if key in BY_INPUT:
            return _known(design, BY_INPUT[key])
        if key in BY_WORTH and worths:
            return worths[BY_WORTH[key]].percent
        if key == RELIABILITY and worths and band is not None:
            return worths[-1].percent
        if key == LINE:
            return worth_of_line(case, design)
        if key == REFERENCE:
            return _of_reference(design)
        if key in BY_PLACE:
            return BY_PLACE[key](case, design)
        return 0.0 if key in WORTHLESS else None

    found = [
        Assumption(
            input=key,
            stand_in=f"{words}; against {AGAINST[key]}" if key in AGAINST else words,
            worth_percent=worth(key),
        )
        for key, words in left_out
        if key not in UNFELT
    ]
    if head := head_of(design):
        by_friction = 100 * head.worst_change(FRICTION)
        found.append(
            Assumption(
                input="head", stand_in="the deck slides under it, cold and in one piece",
                worth_percent=None if math.isnan(by_friction) else by_friction,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda one: -abs(one.worth_percent or 0.0)))


def _of_reference(design: DesignResult) -> float | None:
    """What a peak that counts as gauge takes off against an absolute one. [%]."""
    stands = rating_of(design).stands
    if stands is None or not stands.factor or stands.pressure_mpa is None:
        return None
    return -100 * ATMOSPHERE * stands.factor / stands.pressure_mpa


def measurements(case: Case, design: DesignResult, row: Row) -> tuple[Measurement, ...]:
    """What to measure on this block, and where, in that order.

    A crack or a pore first, which breaks it whatever else is known, then what is worth most.
    """
    if not row.places:
        return ()
    found = [Measurement(what="cracks and pores, by dye and pressure", where=_all_places(row))]
    worths = sorted(_worths(case, design, row), key=lambda one: -one[0])
    found += [
        Measurement(what=what, where=where) for worth, what, where in worths if worth >= LEAST_WORTH
    ]
    return tuple(found[:MOST_MEASURED])


def _all_places(row: Row) -> str:
    return "; ".join(f"{number} {place.words}" for number, place in enumerate(row.places, 1))


def _worths(case: Case, design: DesignResult, row: Row) -> Iterator[tuple[float, str, str]]:
    """Worth [%], what to measure and where; the strength of a metal once."""
    band, at = rating_of(design).told_band, row.places[0].words
    known = {name: abs(_known(design, name) or 0.0) for name in band.known} if band else {}
    for name, worth in known.items():
        if STRENGTH.format(_metal(name, RECORD)) in known:  # told with that
            continue
        record = RECORD.format(_metal(name, STRENGTH))
        if record in known:  # bars tell both
            name, worth = record, max(worth, known[record])
        what, where = _how_strong(name, design, row) or _how(case, name, at)
        yield worth, what, where
    _, worths = worths_of(case, [design])
    heat = worths[HEAT].percent if worths and life_given(case).heat else None
    if heat:
        yield abs(heat), "temperature of the metal at full load, by a probe", at


def _metal(name: str, form: str) -> str:
    """The metal whose strength is drawn by a name of that form; empty of any other name."""
    start = form.removesuffix("{}")
    return name.removeprefix(start) if name.startswith(start) else ""


def _how_strong(name: str, design: DesignResult, row: Row) -> tuple[str, str] | None:
    """How the strength of a metal is measured, and where of it; None of another input."""
    for form, what in (
        (HOT, "tensile strength of {} when hot, on a bar of the same casting"),
        (STRENGTH, "strength of {}: hardness, or a bar of the same casting"),
        (RECORD, "strength of {}: bars of the same metal, as its record is from memory"),
    ):
        if metal := _metal(name, form):
            materials = design.solution.model.materials
            own = [of.words for of in row.places if materials[of.part].name == metal]
            return what.format(metal), f"near {own[0]}" if own else "where it can be reached"
    return None


def _how(case: Case, name: str, at: str) -> tuple[str, str]:
    """How an input that is drawn is measured, and where."""
    ways = {
        WALLS: ("wall thickness, by ultrasound", at),
        LINER: ("interference of the liner: both diameters before it goes in", "all round"),
        FIT: ("pocket and insert, faces of the fit", f"nearest to {at}"),
        PRESSURE: ("cylinder pressure, a trace of many cycles", f"bore {case.block.firing_bore}"),
        LENGTH: ("threshold of crack growth, on a bar of the same casting", f"near {at}"),
        PORE: ("largest pore, by X-ray", at),
        CLASS: ("pores of several such castings, by X-ray", at),
    }
    return ways.get(name, (name, at))

"""Which bore a block is rated by: sections rank all of them, the worst two are judged.

Both are judged as a rating does it but for its draws and with a coarse solid. The block is rated by
the one at which the design that carries most carries less: that is the design to be made.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from cases.bores.given import firing
from cases.bores.rank import ranked
from cases.bores.result import TELLS, BoresFound, By, ByBore, RankedSpot
from cases.case import Case
from cases.gas.solve import gas_load
from cases.rating.depth_words import told_governs
from cases.rating.limit import stands
from cases.rating.result import DesignRating, rating_of
from cases.stress.result import CaseResult

Judging = Callable[[Case], CaseResult]
"""Rates a case without draws, with a coarse solid or none."""


def choose_bore(case: Case, judge: Judging) -> BoresFound:
    """The bore to rate a block by, and what each of them stands.

    Parameters
    ----------
    case : Case
        With several bores.
    judge : callable
        Told a case with the bore that fires.

    Raises
    ------
    CaseError
        If an engine can't give what is asked of it.
    RunError
        If a section can't be solved.
    """
    load = gas_load(case)
    spots = {of.name: ranked(case, of, load.line_load) for of in case.designs}
    first, second = order_of(list(spots.values()))[:2]
    judged = {bore: judge(firing(case, bore)) for bore in (first, second)}
    found: dict[str, tuple[ByBore, ...]] = {}
    for at, design in enumerate(case.designs):
        ratings = {bore: rating_of(of.designs[at]) for bore, of in judged.items()}
        found[design.name] = _by_bore(case, spots[design.name], ratings)
    best = max(found, key=lambda name: min(_carries(of) for of in _judged(found[name])))
    two = sorted(
        _judged(found[best]), key=lambda of: (_carries(of), (first, second).index(of.bore))
    )
    least, more = map(_carries, two)
    return BoresFound(
        rated=two[0].bore, runner_up=two[1].bore, design=best,
        alike=more * (1 - TELLS) <= least, by_design=found,
    )  # fmt: skip


def worst_by_section(case: Case) -> int:
    """The bore at which the sections of a case, in one piece and cold, use most.

    Raises
    ------
    CaseError, RunError
        As :func:`choose_bore`.
    """
    load = gas_load(case).line_load
    return order_of([ranked(case, design, load) for design in case.designs])[0]


def _judged(bores: Sequence[ByBore]) -> list[ByBore]:
    """The two bores that were judged."""
    return [of for of in bores if of.by != "rank"]


def _carries(of: ByBore) -> float:
    """Limit at a bore; without bound where none was found."""
    return math.inf if of.factor is None else of.factor


def order_of(spots: Sequence[Sequence[RankedSpot]]) -> list[int]:
    """Bores from the worst on: by the mean over designs of what each uses over the most it uses.

    Parameters
    ----------
    spots : sequence of sequence of RankedSpot
        By design, then by bore.
    """
    used = {
        of.bore: sum(bores[place].share / max(one.share for one in bores) for bores in spots)
        for place, of in enumerate(spots[0])
    }
    return sorted(used, key=lambda bore: (-used[bore], bore))


def _by_bore(
    case: Case, spots: Sequence[RankedSpot], ratings: Mapping[int, DesignRating]
) -> tuple[ByBore, ...]:
    """Bores of a design in order; those that were not judged by their stress beside the worst's."""
    told = {bore: of.stands.factor for bore, of in ratings.items() if of.stands}
    beside = min(told, key=lambda bore: told[bore], default=None)
    load = gas_load(case)
    found = []
    for spot in spots:
        by: By = "rank"
        governing = f"{spot.part} at {spot.clock}"
        factor: float | None = None
        if (rating := ratings.get(spot.bore)) is not None:
            by = "solid" if rating.solid else "section"
            governing = told_governs(rating)
            factor = told.get(spot.bore)
        elif beside is not None:
            share = next(of.share for of in spots if of.bore == beside)
            factor = told[beside] * share / spot.share
        pressure = None if factor is None else stands(load, factor).pressure_mpa
        found.append(
            ByBore(
                bore=spot.bore, by=by, factor=factor, pressure_mpa=pressure, governing=governing,
                spot=spot,
            )
        )  # fmt: skip
    return tuple(found)

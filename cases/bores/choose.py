"""Which bore a block is rated by: sections rank all of them, the worst two are judged.

Both are judged as a rating does it but for its draws and with a coarse solid. The block is rated by
the one at which the design that carries most carries less: that is the design to be made.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from cases.base.faults import RunError
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
        If a section can't be solved, or no limit is found at either bore.
    """
    load = gas_load(case)
    spots = {of.name: ranked(case, of, load.line_load) for of in case.designs}
    first, second = order_of(list(spots.values()))[:2]
    judged = {bore: judge(firing(case, bore)) for bore in (first, second)}
    found: dict[str, tuple[ByBore, ...]] = {}
    for at, design in enumerate(case.designs):
        ratings = {bore: rating_of(of.designs[at]) for bore, of in judged.items()}
        found[design.name] = _by_bore(case, spots[design.name], ratings)
    carries = {name: _least(bores) for name, bores in found.items()}
    known = {name: limit for name, limit in carries.items() if limit is not None}
    if not known:
        raise RunError("no limit was found at the two bores that are worst; state firing_bore.")
    best = max(known, key=lambda name: known[name])
    two = [of for of in found[best] if of.by != "rank" and of.factor is not None]
    worst = min(two, key=lambda of: of.factor or 0.0)
    factors = [of.factor or 0.0 for of in two]
    return BoresFound(
        rated=worst.bore, runner_up=second if worst.bore == first else first, design=best,
        alike=len(two) > 1 and max(factors) * (1 - TELLS) <= min(factors), by_design=found,
    )  # fmt: skip


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


def _least(bores: Sequence[ByBore]) -> float | None:
    """The least limit of the bores that were judged."""
    return min((of.factor for of in bores if of.by != "rank" and of.factor), default=None)


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
        pressure = stands(load, factor).pressure_mpa if factor else None
        found.append(
            ByBore(
                bore=spot.bore, by=by, factor=factor, pressure_mpa=pressure, governing=governing,
                spot=spot,
            )
        )  # fmt: skip
    return tuple(found)

"""Every bore in turn, in sentences."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.bores.result import BoresFound, ByBore, RankedSpot, bores_of, ranked_of
from cases.rating.given import rating_given
from cases.rating.result import WALLS, is_rated, rating_of
from cases.stress.result import CaseResult

MORE_SHIFT = 0.5  # what its worth is told of [mm]
LEAST_WORSE = 1.02  # of what a bore uses over another, from which it is told to be worse


def limit_at(of: ByBore) -> str:
    """A limit in words, a pressure where there is one."""
    if of.factor is None:
        return "no limit found"
    if of.pressure_mpa is None:
        return f"{of.factor:.2f} times the gas load"
    return f"{10 * of.pressure_mpa:.0f} bar"


def chosen_words(found: BoresFound) -> str:
    """Which bore the block is rated by, and why."""
    bores = found.by_design[found.design]
    own, other = (
        next(of for of in bores if of.bore == bore) for bore in (found.rated, found.runner_up)
    )
    words = (
        f"Rated by bore {found.rated}, the worst of {len(bores)} fired in turn: {found.design} "
        f"{limit_at(own)} there, {limit_at(other)} at the runner-up, bore {found.runner_up}"
    )
    return f"{words}; no difference that a coarse solid tells." if found.alike else f"{words}."


def bore_lines(result: CaseResult) -> list[str]:
    """Which bore a case was rated by, and what is worse elsewhere."""
    if found := bores_of(result):
        return [chosen_words(found), *worse_words(found)]
    return [stated_words(*of) for of in _stated(result)]


def worse_lines(result: CaseResult) -> list[str]:
    """Of those that tell of a bore which is worse than the rated one; none where none is."""
    if found := bores_of(result):
        return worse_words(found)
    return [stated_words(*of) for of in _stated(result) if _worse(*of)]


def _stated(result: CaseResult) -> list[tuple[Sequence[RankedSpot], int]]:
    """How bores rank where one of them is stated, and that one."""
    stated = result.case.block.firing_bore
    return [(spots, stated) for design in result.designs if (spots := ranked_of(design))]


def _worse(ranked: Sequence[RankedSpot], stated: int) -> tuple[RankedSpot, float] | None:
    """The bore that is worst, and how many times what the stated one uses; None where none is."""
    own = next(of for of in ranked if of.bore == stated)
    worst = max(ranked, key=lambda of: of.share)
    return (worst, worst.share / own.share) if worst.share > LEAST_WORSE * own.share else None


def stated_words(ranked: Sequence[RankedSpot], stated: int) -> str:
    """That a stated bore is rated alone, and which other one is worse by sections."""
    alone = f"Rated by bore {stated} alone, as firing_bore states"
    worse = _worse(ranked, stated)
    if worse is None:
        return f"{alone}; sections in one piece rank no other bore as worse."
    worst, times = worse
    return (
        f"{alone}, and bore {worst.bore} is worse: by sections in one piece the {worst.part} there "
        f"uses {times:.2f} times as much of its strength, at {worst.clock}. The block may carry "
        "less; leave firing_bore out, and the worst is rated."
    )


def worse_words(found: BoresFound) -> list[str]:
    """Each design that carries clearly less when the other bore fires."""
    return [
        f"{name} carries less when bore {other.bore} fires: {limit_at(other)} against "
        f"{limit_at(own)} at bore {own.bore}, by coarse solids. Its rating below is for bore "
        f"{own.bore}: set firing_bore = {other.bore} to rate it there."
        for name, other, own in found.worse_elsewhere()
    ]


def shift_costs(result: CaseResult) -> list[tuple[str, float]]:
    """Name of each design and the share of its limit that half a mm more shift takes off.

    As far as walls that much thinner at the place that governs do, by how the limit moves with all
    walls a little thinner and thicker.
    """
    tolerance = rating_given(result.case).wall_tolerance
    costs = []
    for design in result.designs:
        band = rating_of(design).told_band if is_rated(design) else None
        low, _, high = band.shifts.get(WALLS, (0.0, 0.0, 0.0)) if band else (0.0, 0.0, 0.0)
        if 0 < low < high:
            worth = math.log(high / low) / (2 * tolerance)
            costs.append((design.name, 1 - math.exp(-MORE_SHIFT * worth)))
    return costs

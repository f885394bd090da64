"""Every bore in turn, in sentences."""

from __future__ import annotations

import math

from cases.bores.result import BoresFound, ByBore
from cases.rating.given import rating_given
from cases.rating.result import WALLS, is_rated, rating_of
from cases.stress.result import CaseResult

MORE_SHIFT = 0.5  # what its worth is told of [mm]


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
        band = rating_of(design).band if is_rated(design) else None
        low, _, high = band.shifts.get(WALLS, (0.0, 0.0, 0.0)) if band else (0.0, 0.0, 0.0)
        if 0 < low < high:
            worth = math.log(high / low) / (2 * tolerance)
            costs.append((design.name, 1 - math.exp(-MORE_SHIFT * worth)))
    return costs

"""What the chapter of load steps shows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.base.parts import PARENT_PARTS
from cases.life.life import SpotRange
from cases.life.steps import TAIL, WARM_GAS
from cases.life.tie_faces import most_open
from cases.stress.spots import rated_worst
from fea.bore import HIGHEST_ORDER

if TYPE_CHECKING:
    from cases.case import Case
    from cases.stress.result import CaseResult, DesignResult
from typing import Any

from cases.life.steps import COLD_GAS

LISTED_CYCLES = 2  # of each part, hot at gas


@dataclass(frozen=True, slots=True)
class Price:
    """What a design costs in heat, against the first one."""

    name: str
    barrel: float  # hottest place of the barrel [K]
    stress: float  # worst stress of the block, cold at gas, as a share


def _life(result: CaseResult, first: DesignResult) -> dict[str, Any]:
    """What the chapter of load steps shows beside the steps themselves."""
    prices = []
    paths: list[str] = []
    for design in result.designs:
        if design.service is None or design.service.heat is None:
            continue
        heat = design.service.heat
        paths += [path for path, flow in heat.heat.items() if flow and path not in paths]
        if design is not first and first.service and first.service.heat:
            now, before = (
                rated_worst(one.service.steps[-1], PARENT_PARTS) if one.service else None
                for one in (design, first)
            )
            hot, cool = (
                one.hottest("barrel").temperature_degc for one in (heat, first.service.heat)
            )
            stress = now.principal_mpa / before.principal_mpa - 1 if now and before else math.nan
            prices.append(Price(design.name, hot - cool, stress))
    return {
        "prices": prices,
        "heat_paths": paths,
        "life_title": life_title(result.case),
        "ring_orders": [str(order) for order in range(2, HIGHEST_ORDER + 1)],
        "cycles": worst_cycles,
        "tail": TAIL,
        "ties_open": most_open(result.designs),
    }


def life_title(case: Case) -> str:
    """What the load steps of a case have."""
    if case.heat:
        return "Fitted, warm and at gas" if case.fitted else "Warm and at gas"
    return "Fitted and at gas"


def worst_cycles(design: DesignResult) -> list[SpotRange]:
    """The widest cycles of every part: of spots hot at gas, and one of what is hot without only."""
    if design.service is None:
        return []
    widest = sorted(design.service.ranges, key=lambda cycle: -cycle.range_mpa)
    found: list[SpotRange] = []
    for cycle in widest:
        alike = sum((one.spot.part, one.hot_in) == (cycle.spot.part, cycle.hot_in) for one in found)
        if alike < (LISTED_CYCLES if cycle.hot_in in (WARM_GAS, COLD_GAS) else 1):
            found.append(cycle)
    return found

"""What the chapter of load steps shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.base.parts import PARENT_PARTS
from cases.base.subject import Chapter
from cases.base.words import give_or_take
from cases.gas.solve import gas_of
from cases.life.flags import most_wet
from cases.life.given import HOTTER, life_given
from cases.life.hot import hot_lines
from cases.life.result import LinerState, SolvedStep, SpotRange, is_lived, service_of
from cases.life.steps import COLD_GAS, TAIL, WARM_GAS
from cases.life.tie_faces import most_open
from cases.stress.result import first_of
from cases.stress.spots import rated_worst
from cases.stress.why import place_of

if TYPE_CHECKING:
    from cases.case import Case
    from cases.stress.result import CaseResult, DesignResult

LISTED_CYCLES = 2  # of each part, hot at gas


@dataclass(frozen=True, slots=True)
class Price:
    """What a design costs in heat, against the first one."""

    name: str
    barrel: float  # hottest place of the barrel [K]
    stress: float  # worst stress of the block, cold at gas, as a share


HIGHEST_SHOWN = 8
"""Order of a bore's shape on the page; ``results.json`` has them all."""


def life_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """The load steps, where there are any."""
    case, first = result.case, first_of(result)
    lived = [design for design in result.designs if is_lived(design)]
    if not lived:
        return ()
    load = gas_of(result).wall_load
    inserts = any(design.section.insert for design in result.designs)
    fields = [heat for design in lived if (heat := service_of(design).heat)]
    paths = dict.fromkeys(path for heat in fields for path, flow in heat.heat.items() if flow)
    return (
        Chapter(
            key="life",
            title=life_title(case),
            template="life/chapter.html.j2",
            glance="Fitted and warm",
            finding=_shapes(lived),
            contents={
                "given": life_given(case),
                "film": load.film if load and load.cycle else None,
                "filled": {
                    name: fit.compound
                    for name, fit in life_given(case).fits.items()
                    if fit.compound is not None
                },
                "lived": lived,
                "lined": [design for design in lived if firing_liners(design)],
                "firing_liners": firing_liners,
                "first": first,
                "hot": hot_lines(result),
                "most_wet": most_wet,
                "prices": _prices(lived, first),
                "heat_paths": list(paths),
                "ring_orders": [str(order) for order in range(2, HIGHEST_SHOWN + 1)],
                "cycles": worst_cycles,
                "tail": TAIL,
                "error": lambda value: give_or_take(value, " \N{PLUS-MINUS SIGN} "),
                "ties_open": most_open(result.designs),
                "worst_of": rated_worst,
                "place_of": lambda spot: place_of(case.block, spot),
                "block_parts": PARENT_PARTS,
                "other_parts": [
                    part
                    for part, there in (("liner", case.block.liner > 0), ("insert", inserts))
                    if there
                ],
            },
        ),
    )


def _shapes(lived: Sequence[DesignResult]) -> str:
    """How far the bore of each design is out of round at gas, warm where there is heat."""
    told = []
    for design in lived:
        service = service_of(design)
        if step := service.step(WARM_GAS) or service.step(COLD_GAS):
            told.append(f"{design.name} {step.bore.out_of_round_um:.0f} um {step.name}")
    if not told:
        return ""
    where = "Where a solid was solved, its worst depth stands at the top."
    return f"Out of round by the section, in the mean over its depth: {', '.join(told)}. {where}"


def firing_liners(design: DesignResult) -> list[tuple[SolvedStep, LinerState]]:
    """The joint of the liner of the bore that fires, step by step; none where it can't open."""
    return [
        (step, liner)
        for step in service_of(design).steps
        for liner in step.liners
        if liner.bore == design.section.block.firing_bore
    ]


def _prices(lived: Sequence[DesignResult], first: DesignResult) -> list[Price]:
    """What each heated design costs against the first one, where that is heated too."""
    cold = service_of(first).heat if is_lived(first) else None
    prices = []
    for design in lived:
        heat = service_of(design).heat
        if heat is None or cold is None or design is first:
            continue
        now, before = (
            rated_worst(service_of(one).steps[-1], PARENT_PARTS) for one in (design, first)
        )
        hot, cool = (one.hottest("barrel").temperature_degc for one in (heat, cold))
        stress = now.principal_mpa / before.principal_mpa - 1 if now and before else math.nan
        prices.append(Price(design.name, hot - cool, stress))
    return prices


def life_limits(result: CaseResult) -> list[str]:
    """What of fit and heat is counted, and what is not."""
    given = life_given(result.case)
    limits = []
    if given.fitted:
        limits.append(
            "The chapter of load steps takes the insert as the piece of its own that it is; "
            "contact is counted at corner nodes along the joint, under small sliding, and pressure "
            "at the ends of a joint is as high as the insert's edges there are sharp."
        )
        if any(fit.compound for fit in given.fits.values()):
            limits.append(
                "Compound in a joint is as stiff as the metal and breaks at once where the "
                "strength that the case states is used up. Water, fuel, oil, hours hot and cycles "
                "weaken it, and none of that is counted: test it as it is used."
            )
    elif any(design.insert for design in result.case.designs):
        limits.append(
            "A press fit can open under load and squeezes the barrel before any gas does; give "
            "[design.fit] to see it."
        )
    if result.case.block.liner and given.has_steps and not given.liner_opens:
        limits.append(
            "The liner is cast in: one with the barrel, it pulls where the joint of a loose one "
            "would open. Say liner_joint for one that is pressed or slips in."
        )
    if given.fitted or given.liner_opens:
        limits.append(
            "Gas presses on the bore only, and stands in no joint: the insert's lies outside the "
            "fire ring, which is taken to seal on the liner (common practice, no source)."
        )
    if not given.has_steps:
        limits.append("Gas pressure only: no heat, no fit.")
    if given.heat:
        films = ", that of the gas the engine's" if given.heat.gas is None else ""
        limits.append(
            "Heat is steady, with means over the engine cycle. In the section it flows in plane "
            f"only, none down the barrel: the bore is up to {100 * HOTTER:.0f} % of its rise over "
            "the coolant hotter than the mean of a solid over that depth; "
            f"films are the case's own numbers{films}. What the hone takes off is not taken off "
            "the model."
        )
    return limits


def life_title(case: Case) -> str:
    """What the load steps of a case have."""
    given = life_given(case)
    if given.heat:
        return "Fitted, warm and at gas" if given.fitted else "Warm and at gas"
    return "Fitted and at gas"


def worst_cycles(design: DesignResult) -> list[SpotRange]:
    """The widest cycles of every part: of spots hot at gas, and one of what is hot without only."""
    if not is_lived(design):
        return []
    widest = sorted(service_of(design).ranges, key=lambda cycle: -cycle.range_mpa)
    found: list[SpotRange] = []
    for cycle in widest:
        alike = sum((one.spot.part, one.hot_in) == (cycle.spot.part, cycle.hot_in) for one in found)
        if alike < (LISTED_CYCLES if cycle.hot_in.gas else 1):
            found.append(cycle)
    return found

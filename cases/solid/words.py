"""What the solid comes to, in words: which design is pulled least, what the section is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from cases.base.parts import PARENT_PARTS
from cases.case import Case
from cases.life.given import life_given
from cases.solid.heat import usual_depth
from cases.solid.result import (
    DesignSolid,
    SolidSpot,
    SolidState,
    SurfacePlace,
    refused_of,
    solid_of,
)
from cases.stress.result import CaseResult, DesignResult
from cases.stress.spots import rated_worst

ERRORS = {"coarse": 0.06, "fine": 0.03}
"""Numerical error of a spot's stress that a setting promises, as a share of it."""


def solids(result: CaseResult) -> list[tuple[DesignResult, DesignSolid]]:
    """Designs that have a solid."""
    return [(design, found) for design in result.designs if (found := solid_of(design))]


def shown_state(found: DesignSolid) -> SolidState:
    """The state in which designs are set against each other."""
    return found.one_piece


def place_words(spot: SurfacePlace) -> str:
    """Part, clock position and depth of a spot."""
    return f"{spot.part} {spot.clock}, {spot.depth_mm:.1f} mm down"


def first_lines(result: CaseResult) -> list[str]:
    """Why a design has no solid, and the worst stress of the others in depth."""
    return [*untold_lines(result), *order_lines(result)]


def untold_lines(result: CaseResult) -> list[str]:
    """Why a design has no solid, or none as it is made."""
    told = [
        f"{design.name}: no solid, so its stress in depth is not known. {refusal.text}"
        for design in result.designs
        if (refusal := refused_of(design))
    ]
    return told + [
        f"{design.name}: its solid was not solved as it is made, so what it stands is told by the "
        f"section. {found.untold}"
        for design, found in solids(result)
        if found.untold
    ]


def order_lines(result: CaseResult) -> list[str]:
    """The worst stress of each solid, cold and in one piece; the order of the designs by it.

    No order where a fit is asked: a press, a joint that opens and heat change it.
    """
    ranked = _ranked(result)
    if not ranked:
        return []
    fitted = bool(life_given(result.case).fitted)
    if fitted:
        ranked.sort(key=lambda pair: [one.name for one in result.designs].index(pair[0].name))
    words = [
        f"{design.name} {spot.principal_mpa:.0f} MPa ({place_words(spot)})"
        for design, spot in ranked
    ]
    lead = "Worst stress of the block in depth, cold and in one piece"
    if len(ranked) == 1:
        return [f"{lead}: {words[0]}."]
    if fitted:
        return [f"{lead}, in no order as a fit is asked: {'; '.join(words)}."]
    return [f"{lead}, the least first: {'; '.join(words)}.{_alike(ranked)}{_order(ranked)}"]


def _ranked(result: CaseResult) -> list[tuple[DesignResult, SolidSpot]]:
    """Designs by the worst stress of their solid, the least first."""
    pulled = [
        (design, spot)
        for design, found in solids(result)
        if (spot := shown_state(found).governing) is not None
    ]
    return sorted(pulled, key=lambda pair: pair[1].principal_mpa)


def _alike(ranked: Sequence[tuple[DesignResult, SolidSpot]]) -> str:
    """Neighbours in the order that their errors don't tell apart."""
    pairs = [
        f"{one.name} and {other.name}"
        for (one, low), (other, high) in pairwise(ranked)
        if high.principal_mpa - low.principal_mpa < low.error_mpa + high.error_mpa
    ]
    if not pairs:
        return ""
    return f" Within their numerical errors {'; '.join(pairs)} are alike."


def _order(ranked: Sequence[tuple[DesignResult, SolidSpot]]) -> str:
    """Where the section would order the designs otherwise."""
    names = [design.name for design, _ in ranked]
    by_section = sorted(
        (spot.principal_mpa, design.name)
        for design, _ in ranked
        if (spot := rated_worst(design, PARENT_PARTS)) is not None
    )
    section = [name for _, name in by_section]
    if section == names:
        return ""
    return f" The section, a mean over the depth, would order them {', '.join(section)}."


def worth_words(result: CaseResult) -> str:
    """What the section is worth on this block: the solid's worst stress over the section's there.

    Empty without a solid.
    """
    ratios = [
        f"{found.ratio:.2f} times ({design.name})"
        for design, found in solids(result)
        if found.ratio is not None
    ]
    if not ratios:
        return ""
    return (
        "The section's stress is a mean over the depth. Here, cold and in one piece, the worst "
        f"stress of the solid is {', '.join(ratios)} the section's at that part and clock position."
    )


def draft_words(case: Case) -> str:
    """How a solid takes the draft of the jacket; empty where there is none."""
    block = case.block
    if not block.draft:
        return ""
    slope, half = math.tan(math.radians(block.draft)), usual_depth(case) / 2
    return (
        f"The solids don't have the draft of {block.draft:g} deg: their walls stand upright, as "
        f"thick as they are {half:.0f} mm down. The cast ones are {slope * half:.2f} mm thinner "
        f"at the deck and {slope * (block.jacket_floor - half):.2f} mm thicker at the jacket's "
        f"floor, {block.jacket_floor:.0f} mm down."
    )


def unsettled(result: CaseResult) -> list[str]:
    """Governing spots whose error is larger than the setting promises."""
    return [
        f"{design.name}: the solid's worst spot, {place_words(spot)}, is known to "
        f"{100 * spot.error_mpa / spot.principal_mpa:.1f} % only, not to "
        f"{100 * ERRORS[found.setting]:.0f} %: don't compare designs by it closer than that."
        for design, found in solids(result)
        if (spot := shown_state(found).governing) and not spot.settled
    ]

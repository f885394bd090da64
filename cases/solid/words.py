"""What the solid comes to, in words: which design is pulled least, what the section is worth."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from cases.base.parts import PARENT_PARTS
from cases.life.given import life_given
from cases.solid.given import solid_given
from cases.solid.heat import usual_depth
from cases.solid.hot import DepthHeat
from cases.solid.result import (
    DesignSolid,
    SolidSpot,
    SurfacePlace,
    refused_of,
    solid_of,
)
from cases.stress.result import CaseResult, DesignResult
from cases.stress.spots import rated_worst
from geometry import Block
from geometry.solid.columns import SAME

ERRORS = {"coarse": 0.06, "fine": 0.03}
"""Numerical error of a spot's stress that a setting promises, as a share of it."""


def solids(result: CaseResult) -> list[tuple[DesignResult, DesignSolid]]:
    """Designs that have a solid."""
    return [(design, found) for design in result.designs if (found := solid_of(design))]


def place_words(spot: SurfacePlace) -> str:
    """Part, clock position and depth of a spot."""
    return f"{spot.part} {spot.clock}, {spot.depth_mm:.1f} mm down"


HOT_PARTS = ("bore", "barrel", "insert")
"""Whose hottest place is told in words."""


def heat_words(name: str, heat: DepthHeat) -> str:
    """Where a design is hottest in depth, and where most heat goes to the coolant."""
    hot = {of.part: of for of in heat.hottest}
    told = [
        f"{part} {hot[part].temperature_degc:.0f} degC at {hot[part].clock}, "
        f"{hot[part].depth_mm:.0f} mm down"
        for part in HOT_PARTS
        if part in hot
    ]
    if wet := heat.wettest:
        told.append(
            f"most to the coolant {wet.flux_w_per_mm2:.2f} MW/m2 at the {wet.part}, {wet.clock}, "
            f"{wet.depth_mm:.0f} mm down"
        )
    return f"Hottest in depth, {name}: {'; '.join(told)}."


def above_words(result: CaseResult) -> str:
    """How the section's temperature stands to the solid's; empty where none is known."""
    found = [
        heat.section_above_k
        for _, solid in solids(result)
        if (heat := solid.heat) and heat.section_above_k
    ]
    if not found:
        return ""
    mean = max((mean for mean, _ in found), key=abs)
    most = max((most for _, most in found), key=abs)
    return (
        "The section conducts in its plane alone, no heat down the barrel: its bore is "
        f"{_off(mean)} the solid's mean over the section depth around the bore, and {_off(most)} "
        "it where they differ most."
    )


def _off(kelvin: float) -> str:
    """So much above or below."""
    return f"{abs(kelvin):.0f} K {'above' if kelvin >= 0 else 'below'}"


def first_lines(result: CaseResult) -> list[str]:
    """Why a design has no solid, and the worst stress of the others in depth."""
    return [*untold_lines(result), *order_lines(result)]


def untold_lines(result: CaseResult) -> list[str]:
    """Why a design has no solid, or none as it is made; that a rating stands on coarse ones."""
    told = [COARSELY] if _coarsely(result) else []
    told += [
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


COARSELY = (
    "Judged by coarse solids, each place known to the error stated beside it: a demonstration. "
    "hoopclock rate judges by fine ones."
)


def _coarsely(result: CaseResult) -> bool:
    given = solid_given(result.case)
    return given.lived and given.setting == "coarse"


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
        if (spot := found.shown.governing) is not None
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


def draft_words(result: CaseResult) -> str:
    """How solids take the draft of the jacket and tapers that were read; empty without either."""
    block = result.case.block
    if not block.leans:
        return ""
    words = ""
    if block.draft:
        words = (
            f"The walls of the solids lean with the draft of {block.draft:g} deg down to the "
            f"jacket's floor, {block.jacket_floor:.0f} mm down, and so does an insert that is not "
            "in a register."
        )
    if any(block.bore_leans):
        words += f" {_taper_words(block)}"
    slope, half = block.draft_slope, usual_depth(result.case) / 2
    for design, found in solids(result):
        mesh = found.shown.mesh
        down_to = mesh.leans_to
        if mesh.leans_least < 1:
            words += (
                f" At a few places those of {design.name} lean less, down to "
                f"{100 * mesh.leans_least:.0f} % of that, as prisms would be squeezed flat."
            )
        if down_to == 0:
            words += (
                f" Those of {design.name} stand upright, as thick as they are {half:.0f} mm down, "
                "as prisms that lean would be squeezed flat"
            )
            if slope:
                words += (
                    f": cast ones are {slope * half:.2f} mm thinner at the deck and "
                    f"{slope * (block.jacket_floor - half):.2f} mm thicker at the jacket's floor"
                )
            words += "."
        elif down_to < block.jacket_floor - SAME:
            words += (
                f" Those of {design.name} lean down to {down_to:.0f} mm only and stand upright "
                "below that, as prisms would be squeezed flat"
            )
            if slope:
                more = slope * (block.jacket_floor - down_to)
                words += f": at the floor cast ones are {more:.2f} mm thicker"
            words += "."
    return words.strip()


def _taper_words(block: Block) -> str:
    """How solids take tapers that were read."""
    told = [
        f"bore {bore} {100 * lean[0]:+.1f} % down to {lean[1]:.0f} mm"
        for bore, lean in enumerate(block.bore_leans, 1)
        if lean
    ]
    below = "by the draft" if block.draft else "upright"
    return (
        f"Barrel walls lean as their taper was read, {', '.join(told)}, thicker with depth for +; "
        f"below that {below}."
    )


def unsettled(result: CaseResult) -> list[str]:
    """Governing spots whose error is larger than the setting promises."""
    return [
        f"{design.name}: the solid's worst spot, {place_words(spot)}, is known to "
        f"{100 * spot.error_mpa / spot.principal_mpa:.1f} % only, not to "
        f"{100 * ERRORS[found.setting]:.0f} %: don't compare designs by it closer than that."
        for design, found in solids(result)
        if (spot := found.shown.governing) and not spot.settled
    ]

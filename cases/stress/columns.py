"""The stress of a design at a glance."""

from __future__ import annotations

from collections.abc import Sequence

from cases.base.parts import PARENT_PARTS
from cases.base.subject import Column
from cases.stress.result import CaseResult, DesignResult, first_of
from cases.stress.spots import rated_spots, rated_worst
from cases.stress.why import place_of
from fea.hotspots import TWINS, HotSpot
from geometry.section import Block


def stress_columns(result: CaseResult, design: DesignResult) -> list[Column]:
    """Worst spot, its stress, that against the first design, liner, insert, bore and water.

    Where a fit is asked nothing is set against the first design: these stresses are of one piece.
    """
    block, first = design.section.block, first_of(result)
    twins = worst_twins(design, PARENT_PARTS)
    from_first = worst_twins(first, PARENT_PARTS)
    place = "no rated spot"
    if twins:
        where = place_of(block, twins[0])
        at = f" ({where})" if where != twins[0].part else ""
        place = f"{twins[0].part}, {twins[0].clock}{at}"
    columns = [
        Column(
            heading="worst place in the block", short="Worst spot\nof the block", text=place,
            words=True, lines=tuple(f"{part_name(block, spot)} {spot.clock}" for spot in twins),
        ),
        Column(
            heading="stress there\n[MPa]", short="Stress\nMPa",
            text=_marked(twins[0]) if twins else "", lines=tuple(map(_marked, twins)),
            values=tuple(spot.principal_mpa for spot in twins),
        ),
    ]  # fmt: skip
    if len(result.designs) > 1 and not result.case.given["life"].fitted:
        share = 100 * (_largest(twins) / _largest(from_first) - 1) if twins and from_first else None
        shown = design is not first and share is not None
        columns.append(
            Column(
                heading=f"against\n{first.name}", short=f"To\n{first.name}",
                text=f"{share:+.0f} %" if shown else "", values=(share,) if shown and share else (),
            )
        )  # fmt: skip
    columns += [
        _of_part(result, design, part)
        for part in ("liner", "insert")
        if any(worst_twins(one, (part,)) for one in result.designs)
    ]
    bore = design.bore
    columns += [
        Column(
            heading="mean bore\ngrowth [um]", short="Growth\num",
            text=f"{bore.mean_growth_um:.1f}", values=(bore.mean_growth_um,),
        ),
        Column(
            heading="out of round\n[um]", short="Out of\nround\num",
            text=f"{bore.out_of_round_um:.1f}", values=(bore.out_of_round_um,),
        ),
        Column(
            heading="open water\n[mm\u00b2]", short="Water\nmm2",
            text=f"{design.open_area_mm2:.0f}", values=(design.open_area_mm2,),
        ),
        Column(
            heading="insert\n[mm\u00b2]", short="Insert\nmm2",
            text=f"{design.insert_area_mm2:.0f}", values=(design.insert_area_mm2,),
        ),
    ]  # fmt: skip
    return columns


def _of_part(result: CaseResult, design: DesignResult, part: str) -> Column:
    """The worst spot of liner or insert."""
    spot = rated_worst(design, (part,))
    return Column(
        heading=f"worst in the\n{part} [MPa]", short=f"{part.capitalize()}\nMPa",
        text=_marked(spot) if spot else "", values=(spot.principal_mpa,) if spot else (),
    )  # fmt: skip


def worst_twins(design: DesignResult, parts: Sequence[str]) -> list[HotSpot]:
    """The worst spot of some parts that can be rated, and its twins, in the order of the design."""
    rated = rated_spots(design, parts)
    return [spot for spot in rated if spot.principal_mpa >= (1 - TWINS) * _largest(rated)]


def _largest(spots: Sequence[HotSpot]) -> float:
    """Largest principal stress. [MPa]."""
    return max(spot.principal_mpa for spot in spots)


def _marked(spot: HotSpot) -> str:
    """Stress of a spot, with a star where its error is not within the tolerance. [MPa]."""
    return f"{spot.principal_mpa:.0f}{'' if spot.settled else '*'}"


def part_name(block: Block, spot: HotSpot) -> str:
    """Part, with the number of its bore where that is another than the firing one."""
    bore, _ = block.nearest_bore(spot.x_mm, spot.y_mm)
    return spot.part if bore == block.firing_bore else f"{spot.part}, bore {bore},"

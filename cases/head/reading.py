"""From the table of a case file to its head."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.head.clamp import bolts_of
from cases.head.given import FIRE_RING_BEYOND, HeadInput
from cases.head.table import HeadTable
from geometry.clock import format_clock
from geometry.section import Block


def read_head(whole: Any, case: Case, faults: Faults) -> HeadInput | None:
    """What a case states of its head, checked.

    Parameters
    ----------
    whole : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    table = whole.head
    if table is None:
        return None
    faults.within(("head",), table)
    diameter = table.fire_ring_diameter
    if diameter is None:
        diameter = case.block.bore + FIRE_RING_BEYOND
    given = HeadInput(
        bolt_clocks=tuple(table.bolt_clocks) or even_clocks(table.bolts),
        fire_ring_diameter=diameter,
        assumed=_assumed(table, diameter),
        **{
            name: getattr(table, name)
            for name in (
                "bolt_preload", "bolt_circle", "fire_ring_share", "fire_ring_width",
                "gasket_friction", "gasket_step", "water_pressure",
            )
        },
    )  # fmt: skip
    _check_clocks(table, faults)
    _check_circle(given, case.block, faults)
    _check_fire_ring(given, case.block, table, faults)
    return given


def even_clocks(count: int) -> tuple[float, ...]:
    """Clock positions of bolts evenly spaced, 12:00 halfway between two. [h].

    Examples
    --------
    >>> even_clocks(4)
    (1.5, 4.5, 7.5, 10.5)
    """
    return tuple(12 * (number + 0.5) / count for number in range(count))


def _check_clocks(table: HeadTable, faults: Faults) -> None:
    if not {"bolts", "bolt_clocks"} - table.model_fields_set:
        faults.add(
            ("head", "bolt_clocks"),
            "bolts is given too. Give the clock positions of the bolts, or their number where they "
            "are evenly spaced.",
        )
    clocks = table.bolt_clocks
    if "bolt_clocks" in table.model_fields_set and (
        len(clocks) < 3 or len(set(clocks)) < len(clocks)
    ):
        faults.add(
            ("head", "bolt_clocks"),
            f"{len(set(clocks))} different clock positions in {len(clocks)} places. Give three or "
            "more, each once.",
        )


def _check_circle(given: HeadInput, block: Block, faults: Faults) -> None:
    """Whether every bolt stands on the block."""
    least, most = 2 * block.barrel_radius, 2 * block.outside_radius
    if most <= least:
        faults.add(
            ("head", "bolt_circle"),
            "The bolts can't stand in this block: it is a plain barrel. Give jacket and "
            "outer_wall, or leave [head] out.",
        )
        return
    place = ("head", "bolt_circle")
    for bolt in bolts_of(given, block):
        where = f"The bolt at {format_clock(bolt.clock_hours)} of bore {bolt.bores[0]}"
        off_bank = abs(bolt.place - min(max(bolt.place.real, block.axes[0]), block.axes[-1]))
        if off_bank > block.outside_radius:
            faults.add(
                place,
                f"{where} stands outside the block, {off_bank - block.outside_radius:.1f} mm "
                f"beyond its outer wall. A circle of {least:g} to {most:g} mm keeps all on it.",
            )
            return
        inward = block.barrel_radius - min(abs(bolt.place - axis) for axis in block.axes)
        if inward > 0:
            faults.add(
                place,
                f"{where} stands {inward:.1f} mm inside the wall of a barrel. Give a larger "
                f"circle, up to {most:g} mm, or other clock positions.",
            )
            return


def _check_fire_ring(given: HeadInput, block: Block, table: HeadTable, faults: Faults) -> None:
    least = block.bore + given.fire_ring_width
    most = 2 * block.barrel_radius - given.fire_ring_width
    if least <= given.fire_ring_diameter <= most:
        return
    key = "fire_ring_width" if table.fire_ring_diameter is None else "fire_ring_diameter"
    hangs = "into the bore" if given.fire_ring_diameter < least else "over the barrel's wall"
    cure = (
        f"Give a mean diameter of {least:g} to {most:g} mm."
        if least <= most
        else f"The wall is {most / 2 - least / 2 + given.fire_ring_width:g} mm thick: give a "
        "narrower one."
    )
    faults.add(
        ("head", key),
        f"A fire ring of {given.fire_ring_diameter:g} mm mean diameter and "
        f"{given.fire_ring_width:g} mm width reaches {hangs}. {cure}",
    )


def _assumed(table: HeadTable, diameter: float) -> tuple[tuple[str, str], ...]:
    """What stands for what the table leaves out, in words."""
    usual = {
        "fire_ring_share": f"fire ring under {100 * table.fire_ring_share:g} % of the clamp load",
        "fire_ring_diameter": f"fire ring of {diameter:g} mm",
        "fire_ring_width": f"fire ring {table.fire_ring_width:g} mm wide",
        "gasket_friction": f"friction {table.gasket_friction:g} under the gasket",
        "gasket_step": f"steps of up to {1000 * table.gasket_step:g} um under the gasket",
        "water_pressure": f"coolant at {10 * table.water_pressure:g} bar",
    }
    return tuple((key, words) for key, words in usual.items() if key not in table.model_fields_set)

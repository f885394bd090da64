"""What is machined for the inserts: what is left of walls and ties, and what to know of it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from cases.base.subject import Drawn, Solved
from geometry.clock import format_clock
from geometry.left import WallsLeft, walls_left
from geometry.section import DeckSection, Insert

WALLS = ("barrel", "outer_wall")
HALF_HOURS = 30  # steps of :data:`geometry.left.EVERY`


def is_machined(insert: Insert | None) -> bool:
    """Whether the block is machined for an insert."""
    return insert is not None and (insert.form == "ring" or insert.register is not None)


def machined_designs(result: Solved) -> Sequence[Drawn]:
    """All designs of a case that has one for which the block is machined; else none."""
    some = any(is_machined(design.section.insert) for design in result.designs)
    return result.designs if some and result.case.block.jacket else ()


def walls_data(section: DeckSection) -> Mapping[str, Any]:
    """Least thickness of each wall with its place, and both walls of the firing bore by clock."""
    left = dict(zip(WALLS, walls_left(section), strict=True))
    bore = section.block.firing_bore - 1
    clocks = left["barrel"].clock[::HALF_HOURS]
    by_clock = [
        {
            "clock": format_clock(float(clock)),
            **{
                f"{name}_mm": _or_none(float(wall.thickness[bore, HALF_HOURS * place]))
                for name, wall in left.items()
            },
        }
        for place, clock in enumerate(clocks)
    ]
    return {**{name: _least(wall) for name, wall in left.items()}, "by_clock": by_clock}


def _least(wall: WallsLeft) -> dict[str, Any] | None:
    thickness, clock, bore = wall.least
    if math.isnan(thickness):
        return None
    return {"least_mm": thickness, "clock": format_clock(clock), "bore": bore}


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


def walls_line(design: Drawn) -> str:
    """What is left of the walls in a sentence."""
    told = []
    for name, wall in zip(WALLS, walls_left(design.section), strict=True):
        thickness, clock, bore = wall.least
        if not math.isnan(thickness):
            where = f" of bore {bore}" if design.section.block.bores > 1 else ""
            name = name.replace("_", " ")
            told.append(f"{name} {thickness:.2f} mm at {format_clock(clock)}{where}")
    return f"{design.name}: {', '.join(told)}." if told else ""


def machined_notes(section: DeckSection) -> list[str]:
    """What to know of a design whose insert has the block machined."""
    block, insert = section.block, section.insert
    if insert is None or not is_machined(insert):
        return []
    notes = []
    if insert.form == "ring":
        milled = max(insert.depth, insert.register.depth if insert.register else 0.0)
        left = [tie.depth - milled for tie in block.ties if tie.depth > milled]
        gone = [format_clock(tie.clock) for tie in block.ties if tie.depth <= milled]
        if gone:
            notes.append(
                f"ties milled away, as the ring is no shallower: {', '.join(gone)}; the ring alone "
                "joins barrel and outer wall there"
            )
        if left:
            notes.append(f"ties that are left below the ring keep {min(left):g} mm or more")
        if left and insert.deepest > insert.depth:
            notes.append("deeper zones of the ring end at these ties")
    if insert.register and insert.deepest > insert.register.depth:
        notes.append(
            f"the insert reaches {insert.deepest:g} mm down, below its register of "
            f"{insert.register.depth:g} mm: against the wall as cast there it is not taken to touch"
        )
    return notes

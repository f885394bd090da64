"""What stands at a place where a wall is to be measured, and how thick it is by the drawing."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from geometry import Block, ReliefCut
from geometry.clock import clock_to_angle, hours_between

Kind = Literal["free", "cut", "tie", "web"]
"""Of a place: the wall stands free from bore to water, is cut from outside, or runs on into a tie
or the next barrel, so that it has no far side to be measured to."""


@dataclass(frozen=True, slots=True)
class Place:
    """A place of a barrel wall.

    Attributes
    ----------
    kind : str
    wall : float
        By the drawing, outside the liner; of a tie or a web that of the barrel alone. [mm].
    cut : int or None
        Place in the block's relief cuts of the one that thins it.
    by_cut : float
        How much the wall grows with the radius at which that cut stands; 0 where there is none.
    """

    kind: Kind
    wall: float
    cut: int | None = None
    by_cut: float = 0.0


def place_of(block: Block, bore: int, clock: float, depth: float) -> Place:
    """What stands at a place by the drawing.

    Parameters
    ----------
    block : Block
    bore : int
        From 1.
    clock : float
        [h]
    depth : float
        Below the deck. [mm]
    """
    plain = block.barrel_wall + depth * block.draft_slope
    outside = block.liner_radius + plain
    if bore in _joined(block, clock, outside, bore):
        return Place("web", plain)
    for tie in block.ties:
        off = _turn(clock, tie.clock)
        aside = abs(outside * math.sin(off))
        stands = tie.bores is None or bore in tie.bores
        above = depth < tie.depth + block.underside_radius
        if stands and above and math.cos(off) > 0 and aside < tie.width / 2 + tie.fillet:
            return Place("tie", plain)
    found = Place("free", plain)
    for at, cut in enumerate(block.relief_cuts):
        if (cut.bores is None or bore in cut.bores) and depth < cut.depth:
            met = _met(cut, clock, block)
            if met is not None and met[0] < found.wall:
                found = Place("cut", *met[:1], at, met[1])
    return found


def half_width(cut: ReliefCut) -> float:
    """Half the angle over which a relief cut stands, seen from the bore axis. [h]."""
    return math.degrees(math.asin(min(cut.diameter / 2 / cut.radius, 1.0))) / 30


def _turn(clock: float, other: float) -> float:
    return math.radians(30 * float(hours_between(clock, other)))


def _met(cut: ReliefCut, clock: float, block: Block) -> tuple[float, float] | None:
    """Wall up to a cut along a ray from the axis, and how it grows with the cut's radius."""
    off, half = _turn(clock, cut.clock), cut.diameter / 2
    aside = cut.radius * math.sin(off)
    if abs(aside) >= half or math.cos(off) <= 0:
        return None
    across = math.sqrt(half**2 - aside**2)
    wall = cut.radius * math.cos(off) - across - block.liner_radius
    return wall, math.cos(off) + cut.radius * math.sin(off) ** 2 / across


def _joined(block: Block, clock: float, outside: float, bore: int) -> tuple[int, ...]:
    """The bore, where its wall runs on into the barrel beside it."""
    angle = float(clock_to_angle(clock))
    x, y = outside * math.cos(angle), outside * math.sin(angle)
    axis = block.axes[bore - 1]
    for other in (at - axis for at in block.axes if at != axis):
        if math.hypot(x - other, y) < outside + block.valley_fillet:
            return (bore,)
    return ()

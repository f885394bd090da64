"""What stands where about the firing bore: relief cuts, ties, neighbours."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.clock import clock_to_angle, format_clock, hours_between
from geometry.section import Block, ReliefCut, Tie, WaterSlot

Floats = NDArray[np.float64]

Placed = TypeVar("Placed", Tie, ReliefCut, WaterSlot)


@dataclass(frozen=True, slots=True)
class Feature:
    """What stands at a range of clock positions about the firing bore."""

    kind: str  # "relief cut", "tie" or "next bore"
    clock_hours: float  # of its middle [h]
    half_width: float  # [h]

    @property
    def label(self) -> str:
        """Kind and clock position, such as ``relief cut 1:30``."""
        return f"{self.kind} {format_clock(self.clock_hours)}"

    def covers(self, hours: Floats, margin: float = 0.0) -> NDArray[np.bool_]:
        """Which clock positions lie within it, or near to it.

        Parameters
        ----------
        hours : ndarray, shape (n,)
            [h]
        margin : float
            How near. [h]

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        return np.abs(hours_between(hours, self.clock_hours)) <= self.half_width + margin


def features(block: Block) -> tuple[Feature, ...]:
    """Relief cuts, ties and neighbouring barrels about the firing bore, as seen from its axis."""
    found = []
    for cut in own(block.relief_cuts, block):
        half = math.asin(min(1.0, cut.diameter / 2 / cut.radius))
        found.append(Feature("relief cut", cut.clock % 12, math.degrees(half) / 30))
    middle = (block.barrel_radius + block.jacket_radius) / 2
    for tie in own(block.ties, block):
        half = math.asin(min(1.0, tie.width / 2 / middle))
        found.append(Feature("tie", tie.clock % 12, math.degrees(half) / 30))
    middle = (block.pitch or math.inf) / 2
    for axis in block.axes:
        if abs(axis) == 2 * middle and block.barrel_radius > middle:
            half = math.acos(middle / (block.barrel_radius + block.valley_fillet))
            found.append(Feature("next bore", 3.0 if axis > 0 else 9.0, math.degrees(half) / 30))
    return tuple(sorted(found, key=lambda feature: feature.clock_hours))


def own(things: tuple[Placed, ...], block: Block) -> list[Placed]:
    """Ties, relief cuts or slots that stand at the firing bore."""
    return [thing for thing in things if thing.bores is None or block.firing_bore in thing.bores]


def cut_near(block: Block, x: float, y: float) -> tuple[ReliefCut, int] | None:
    """The relief cut in whose pocket, or at whose edge, a point [mm] lies, and its bore."""
    for number in range(1, block.bores + 1):
        for cut in block.relief_cuts:
            if cut.bores is not None and number not in cut.bores:
                continue
            if at_pocket(block, cut, number, x, y):
                return cut, number
    return None


def at_pocket(
    block: Block, cut: ReliefCut, bore: int, x: ArrayLike, y: ArrayLike
) -> NDArray[np.bool_]:
    """Whether points lie in the pocket of a relief cut, or at its edge.

    Parameters
    ----------
    block : Block
    cut : ReliefCut
    bore : int
        That the cut is made at, from 1.
    x, y : array_like, shape (...)
        From the axis of the firing bore. [mm]

    Returns
    -------
    ndarray of bool, shape (...)
    """
    angle = float(clock_to_angle(cut.clock))
    off_x = np.asarray(x) - block.axes[bore - 1] - cut.radius * math.cos(angle)
    off_y = np.asarray(y) - cut.radius * math.sin(angle)
    reach = max(1.0, 0.1 * cut.diameter)
    return np.asarray(np.hypot(off_x, off_y) < cut.diameter / 2 + reach)

"""Openings for water whose common area and flow are known, each posed once. mm, L/min."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass

from cases.gasket.orifices import discharge, flow_through, in_series, side_by_side
from cases.gasket.table_file import slot_on_circle
from geometry import planar
from geometry.overlay import common_area

OCC = 30.240134906
"""Common area of the slot and the hole by the boolean of OCC. [mm2]."""
L_PER_MIN = 6e-5  # in 1 mm3/s


@dataclass(frozen=True)
class WaterAnswer:
    """Openings, to be read; they have no mesh, so fineness changes nothing."""

    lens: float = 0.0
    slot_and_hole: float = 0.0
    side_by_side: float = 0.0
    in_series: float = 0.0
    thin: float = 0.0
    solver: str = "lines and arcs"


def openings(fineness: float = 1.0) -> WaterAnswer:
    """Areas in common."""
    lens = common_area([planar.circle(0, 5.0)], [planar.circle(4, 5.0)])
    slot = slot_on_circle(0.0, 50.0, 0.8, 1.2, 5.0)
    hole = planar.circle(51 * cmath.exp(1.4j), 4.5)
    return WaterAnswer(lens=lens, slot_and_hole=common_area([slot], [hole]))


def orifices(fineness: float = 1.0) -> WaterAnswer:
    """Flow under 20 kPa."""
    passing = [0.61 * math.pi / 4 * size**2 for size in (4, 5, 6)]
    beside, behind = (
        L_PER_MIN * flow_through(of, 0.02, 965.0)
        for of in (side_by_side(passing), in_series(*passing))
    )
    return WaterAnswer(side_by_side=beside, in_series=behind, thin=discharge(0.0, 6.0))

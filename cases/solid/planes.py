"""Planes across which the force of a solid's stress is held against its loads."""

from __future__ import annotations

from cases.case import Case
from fea.solid.equilibrium import Cut

CUT_LIMITS = {"coarse": 0.03, "fine": 0.02}
"""Share of the load that recovered stress may miss across a plane, by setting: half of what it is
to meet at a spot, and more. The blocks of the tests miss 0.001 to 0.011."""


def check_planes(case: Case) -> tuple[Cut, ...]:
    """Three down the bore, and two through its axis."""
    section, floor = case.section_depth, case.block.floor_depth
    depths = (section / 2, section, (section + floor) / 2)
    return (*(("z", -depth) for depth in depths), ("x", 0.0), ("y", 0.0))

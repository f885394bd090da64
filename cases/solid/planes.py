"""Planes across which the force of a solid's stress is held against its loads."""

from __future__ import annotations

from cases.case import Case
from fea.solid.equilibrium import Cut


def check_planes(case: Case) -> tuple[Cut, ...]:
    """Three down the bore, and two through its axis."""
    section, floor = case.section_depth, case.block.floor_depth
    depths = (section / 2, section, (section + floor) / 2)
    return (*(("z", -depth) for depth in depths), ("x", 0.0), ("y", 0.0))

"""Planes across which the force of a solid's stress is held against its loads."""

from __future__ import annotations

from cases.case import Case
from fea.solid.equilibrium import Cut

CUT_LIMITS = {"coarse": 0.05, "fine": 0.03}
"""Share of the load that recovered stress may miss across a plane, by setting: about what that is
to meet at a spot. On the blocks of the tests it misses 0.0002 to 0.014."""
SHARES = (0.3, 0.6, 0.9)
"""Depths of the planes over that of the deepest cut, tie or insert."""


def check_planes(case: Case) -> tuple[Cut, ...]:
    """Three down the bore, where stress is judged, and two through its axis.

    Below all cuts and inserts layers grow fast, as nothing is judged there: near a jacket's floor
    recovered stress misses 5 % on a small block.
    """
    inserts = [design.insert.lowest for design in case.designs if design.insert]
    cuts = [cut.depth for cut in case.block.relief_cuts]
    ties = [tie.depth for tie in case.block.ties]
    deepest = max([*inserts, *cuts, *ties], default=case.section_depth)
    return (*(("z", -share * deepest) for share in SHARES), ("x", 0.0), ("y", 0.0))

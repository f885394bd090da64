"""A cylinder from the side: liner and wall as rings of revolution, and what stands behind them.

Owns the axisymmetric model, the backing that a solved section gives it, and thin tubes as what
it is held against.

Quadratic quadrilaterals on a mapped grid of liner and wall, free at the deck, held at the floor,
pressed by p(z), backed by springs by depth; a new backing costs no new factor. The backing comes
from statics, not from growth: around a free ring the wall carries the hoop force q a, and what the
deck section's wall lacks of it at the clock position is what stands behind it. (To match the growth
instead fails: where the wall bends in plan it asks for negative springs.)
"""

from fea.tube.axisymmetric import AxisymmetricModel, AxisymmetricSolution, Sleeve
from fea.tube.backing import Ring, Strip, find_backing, hoop_force, strip_forces, wall_share
from fea.tube.thin_tube import ThinTube, stepped_support

__all__ = [
    "AxisymmetricModel",
    "AxisymmetricSolution",
    "Ring",
    "Sleeve",
    "Strip",
    "ThinTube",
    "find_backing",
    "hoop_force",
    "stepped_support",
    "strip_forces",
    "wall_share",
]

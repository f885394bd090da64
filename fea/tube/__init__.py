"""A cylinder from the side: liner and wall as rings of revolution, and what stands behind them.

Owns the axisymmetric model, the backing that a solved section gives it, and thin tubes as what
it is held against.
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

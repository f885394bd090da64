"""Fits in a solid whose answer is known; each problem posed once. mm, N and MPa."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.check.prisms import grid_solid, joined_at, side_by_side
from fea.contact.pairs import Fit
from fea.material import Material
from fea.solid.fitted import FittedSolid, FittedState
from fea.solid.model import SolidModel

Array = NDArray[np.float64]

IRON = Material("iron", 110_000.0, 0.26)
ALLOY = Material("alloy", 72_400.0, 0.33)
BORE, JOINT, OUTSIDE = 45.0, 52.0, 62.0
HALF_RING, HALF_TUBE = 10.0, 100.0
OVERLAP = 0.05
# nodes of the joint above the middle plane: pressure grows without bound towards the ring's edge
_LEVELS = (0, 1.5, 3, 4.5, 5.3, 6, 6.7, 7.4, 8, 8.5, 8.9, 9.3, 9.6, 9.8, 9.9, 10)


@dataclass(frozen=True)
class SolidFitAnswer:
    """A ring on a tube, read by the distance from the ring's middle plane."""

    fitted: FittedSolid
    state: FittedState

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.fitted.solver

    def growth(self, off: float) -> float:
        """Outward displacement of the bore there, mean of its nodes. [um]."""
        points = self.fitted.model.mesh.points
        radius = np.hypot(points[:, 0], points[:, 1])
        there = (np.abs(radius - BORE) < 1e-6) & (np.abs(points[:, 2] + off) < 1e-6)
        plane = self.state.solution.displacement[there, :2] * points[there, :2]
        return float(1e3 * plane.sum(axis=1).mean() / BORE)

    def pressure(self, off: float) -> Array:
        """Pressure of the pairs there. [MPa]."""
        joint, mesh = self.fitted.joint, self.fitted.model.mesh
        off_plane = np.abs(mesh.points[joint.own[self.fitted.corners], 2] + off)
        return np.asarray(self.state.pressure[off_plane < 1e-6])

    def mean_pressure(self) -> float:
        """Of the whole joint. [MPa]."""
        return float(self.state.force.sum() / (JOINT * np.pi / 2 * HALF_RING))


def short_ring(ring: Material, fineness: float = 1.0) -> SolidFitAnswer:
    """A ring 20 mm wide on a tube of iron 200 mm long, 0.05 mm too tight, an eighth of it."""
    angle = np.linspace(0, np.pi / 2, 1 + round(4 * fineness))
    near = np.array(_LEVELS)
    end = np.linspace(0, 1, 1 + round(8 * fineness))[1:]
    up = -np.concatenate([near, HALF_RING + (HALF_TUBE - HALF_RING) * end**1.8])[::-1]
    planes = {"v0": "y = 0", "v1": "x = 0", "above": "middle"}
    across = 1 + round(3 * fineness)
    mesh = side_by_side(
        grid_solid(
            "ring", np.linspace(JOINT, OUTSIDE, across), angle, -near[::-1],
            names={"u0": "fitted", **planes},
        ),
        grid_solid(
            "tube", np.linspace(BORE, JOINT, across), angle, up, names={"u0": "bore", **planes}
        ),
    )  # fmt: skip
    joint = joined_at(mesh, ["fitted"], ["tube"])
    fixed = {"y = 0": "y", "x = 0": "x", "middle": "z"}
    model = SolidModel(mesh, {"ring": ring, "tube": IRON}, fixed)
    fitted = FittedSolid(model, joint, {"tube": Fit(overlap=OVERLAP)})
    return SolidFitAnswer(fitted, fitted.solve())

"""Fits in a solid whose answer is known; each problem posed once. mm, N and MPa."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.prisms import grid_solid, joined_at, side_by_side
from fea.contact.pairs import Compound, Fit
from fea.material import REFERENCE, Material
from fea.solid.fitted import FittedSolid, FittedState
from fea.solid.model import SolidModel

Array = NDArray[np.float64]

IRON = Material("iron", 110_000.0, 0.26)
ALLOY = Material("alloy", 72_400.0, 0.33)
BORE, JOINT, OUTSIDE = 45.0, 52.0, 62.0
HALF_RING, HALF_TUBE = 10.0, 100.0
RIM, HEIGHT = 75.0, 8.0
OVERLAP = 0.05
# nodes of the joint above the middle plane: pressure grows without bound towards the ring's edge
_LEVELS = (0, 1.5, 3, 4.5, 5.3, 6, 6.7, 7.4, 8, 8.5, 8.9, 9.3, 9.6, 9.8, 9.9, 10)


@dataclass(frozen=True)
class SolidFitAnswer:
    """A ring on a tube, read by the distance from its middle plane, or two rings of one height."""

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
        """Of the whole joint; pulled where it is less than 0. [MPa]."""
        points = self.fitted.model.mesh.points[self.fitted.joint.own]
        height = np.ptp(points[:, 2])
        return float(self.state.force.sum() / (JOINT * np.pi / 2 * height))

    def gap(self) -> Array:
        """Opening of the pairs. [um]."""
        return 1000 * self.state.gap


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


def liner_in_a_ring(
    warmer: float = 0.0, strength: float | None = None, fineness: float = 1.0
) -> SolidFitAnswer:
    """A liner of iron in a ring of alloy, 0.05 mm too tight, neither longer; a quarter of them.

    Parameters
    ----------
    warmer : float
        By how much both are once they are pressed. [K]
    strength : float, optional
        Of a compound in the joint, in tension; without compound if left out. [MPa]
    fineness : float
    """
    angle = np.linspace(0, np.pi / 2, 1 + round(6 * fineness))
    planes = {"v0": "y = 0", "v1": "x = 0", "above": "middle", "below": "floor"}
    mesh = side_by_side(
        grid_solid(
            "liner", np.linspace(BORE, JOINT, 1 + round(2 * fineness)), angle, [-HEIGHT, 0],
            names={"u0": "bore", "u1": "fitted", **planes},
        ),
        grid_solid(
            "ring", np.linspace(JOINT, RIM, 1 + round(4 * fineness)), angle, [-HEIGHT, 0],
            names=planes,
        ),
    )  # fmt: skip
    fixed = {"y = 0": "y", "x = 0": "x", "middle": "z", "floor": "z"}
    metals = {
        "liner": replace(IRON, expansion=10.5e-6), "ring": replace(ALLOY, expansion=21e-6),
    }  # fmt: skip
    compound = None
    if strength is not None:
        held = ((REFERENCE, strength), (200.0, strength))
        compound = Compound(tension=held, shear=held, fills=0.0, friction=0.0)
    fit = Fit(overlap=OVERLAP, compound=compound)
    cold = FittedSolid(
        SolidModel(mesh, metals, fixed), joined_at(mesh, ["fitted"], ["ring"]), {"ring": fit}
    )
    state = cold.solve()
    if not warmer:
        return SolidFitAnswer(cold, state)
    warm = cold.at(np.full(len(mesh.points), REFERENCE + warmer))
    return SolidFitAnswer(warm, warm.solve(before=state))

"""Problems of bodies of revolution whose answer is known, each posed once.

mm, N and MPa. They are of straight sides, so the fineness only scales the largest element.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.material import Material
from fea.tube import AxisymmetricModel, AxisymmetricSolution, Sleeve, ThinTube

Array = NDArray[np.float64]

ALLOY = Material("alloy", 70000.0, 0.33)
THIN = ThinTube(radius=50, wall=0.5, youngs_modulus=70000, poisson=0.33)
ENDS = {"top": "z", "bottom": "z"}
LONG = 80.0  # of the thin tubes: 20 times the length along which bending dies out [mm]


@dataclass(frozen=True)
class DepthAnswer:
    """A solved body of revolution, to be read on its sides."""

    solution: AxisymmetricSolution

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.solution.model.factor.name

    def growth(self, side: str = "inside") -> tuple[Array, Array]:
        """Depth of the k nodes of a side, and how far each moves out, shape (k,). [mm].

        Raises
        ------
        ValueError
            If there is no such side.
        """
        model = self.solution.model
        nodes = model.nodes(side)
        return model.points[nodes, 1], self.solution.displacement[nodes, 0]

    def growth_at(self, z: float) -> float:
        """Mean growth of the two sides of the wall at a depth that is a node's. [mm]."""
        found = []
        for side in ("inside", "outside"):
            depth, growth = self.growth(side)
            found.append(float(growth[np.argmin(np.abs(depth - z))]))
        return sum(found) / 2

    def hoop(self, part: str = "tube") -> tuple[Array, Array]:
        """Radius of a part's k nodes [mm], and the hoop stress there [MPa], shape (k,)."""
        nodes, stress = self.solution.stress(part)
        return self.solution.model.points[nodes, 0], stress[3]


def thick_tube(poisson: float = 0.33, fineness: float = 1.0) -> DepthAnswer:
    """Lame's tube, no strain along it: 50/80 mm, 10 MPa inside, E = 70000 MPa."""
    tube = Sleeve(part="tube", inner=50, outer=80, top=0, bottom=10)
    material = Material("alloy", 70000.0, poisson)
    model = AxisymmetricModel([tube], {"tube": material}, size=2 * fineness, fixed=ENDS)
    return DepthAnswer(model.solve(model.pressure("inside", lambda z: np.full(z.shape, 10.0))))


def nearly_incompressible(poisson: float, fineness: float = 1.0) -> DepthAnswer:
    """MacNeal and Harder's thick cylinder: 3/9, unit pressure, E = 1000, no strain along it."""
    tube = Sleeve(part="tube", inner=3, outer=9, top=0, bottom=1)
    material = Material("rubber", 1000.0, poisson)
    model = AxisymmetricModel([tube], {"tube": material}, size=0.3 * fineness, fixed=ENDS)
    return DepthAnswer(model.solve(model.pressure("inside", np.ones_like)))


def band(fineness: float = 1.0) -> DepthAnswer:
    """A thin tube pressed by 1 MPa on a band 10 mm long in its middle."""
    inside = THIN.radius - THIN.wall / 2

    def pressed(z: Array) -> Array:  # as much as 1 MPa on the middle of the wall
        return np.where(np.abs(z - LONG / 2) < 5, THIN.radius / inside, 0.0)

    return _thin(fineness, lambda model: model.pressure("inside", pressed), (35.0, 40.0, 45.0))


def edge_force(fineness: float = 1.0) -> DepthAnswer:
    """A thin tube pulled outward at its free edge by 1 N for each mm around."""
    shear = 1 / THIN.wall
    return _thin(
        fineness,
        lambda model: model.load("top", lambda r, z: (np.full(r.shape, shear), np.zeros(r.shape))),
    )


def edge_moment(fineness: float = 1.0) -> DepthAnswer:
    """A thin tube whose free edge is opened by 1 N mm for each mm around."""

    def turning(r: Array, z: Array) -> tuple[Array, Array]:
        return np.zeros(r.shape), 12 / THIN.wall**3 * (r - THIN.radius)

    return _thin(fineness, lambda model: model.load("top", turning))


def half_backed(backing: float, fineness: float = 1.0) -> DepthAnswer:
    """A thin tube under 1 MPa, its upper half on a backing [MPa/mm], the ends kept from opening."""
    inside, outside = THIN.radius - THIN.wall / 2, THIN.radius + THIN.wall / 2
    on_middle = backing * THIN.radius / outside

    return _thin(
        fineness,
        lambda model: model.pressure("inside", lambda z: np.full(z.shape, THIN.radius / inside)),
        (LONG / 2,),
        lambda z: np.where(z < LONG / 2, on_middle, 0.0),
    )


def _thin(
    fineness: float,
    load: Callable[[AxisymmetricModel], Array],
    lines: tuple[float, ...] = (),
    backing: Callable[[Array], Array] | None = None,
) -> DepthAnswer:
    tube = Sleeve(
        part="tube",
        inner=THIN.radius - THIN.wall / 2,
        outer=THIN.radius + THIN.wall / 2,
        top=0,
        bottom=LONG,
    )
    model = AxisymmetricModel(
        [tube], {"tube": ALLOY}, size=0.5 * fineness, lines=lines, fixed={"bottom": "z"}
    )
    return DepthAnswer(model.solve(load(model), backing))

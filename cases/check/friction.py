"""A strip on a rigid base with friction, pulled at an end, let go and pulled again.

mm, N and MPa. It takes the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cases.check.heat import meshed
from cases.check.sections import metal, plane
from fea.friction import Rubbed, nodal_forces, rub
from fea.material import Material
from fea.model import SectionModel
from geometry.planar import line
from geometry.section_mesh import UniformDepth

LENGTH, WIDTH, DEPTH = 800.0, 10.0, 16.0
LOAD = 6000.0  # [N]
FRICTION = 15.0  # for each mm of its length [N/mm]
ALLOY = Material("alloy", 72400.0, 0.0)  # no Poisson's ratio: the strip is a bar


@dataclass(frozen=True)
class FrictionAnswer:
    """A strip pulled, let go and pulled again.

    Attributes
    ----------
    model : SectionModel
    steps : tuple of Rubbed
        Each from the displacement of the one before.
    """

    model: SectionModel
    steps: tuple[Rubbed, ...]

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.model.factor.name

    def end(self, step: int) -> float:
        """How far the pulled end has moved. [mm]."""
        nodes = np.unique(self.model.mesh.edges["pulled"])
        return float(self.steps[step].solution.displacement[nodes, 0].mean())

    @property
    def slip_length(self) -> float:
        """From the pulled end to the furthest node that slips in the first step. [mm]."""
        return LENGTH - float(self.model.mesh.points[self.steps[0].slips, 0].min())

    @property
    def worn(self) -> float:
        """Work that friction takes up while the strip is let go and pulled again. [N mm]."""
        return self.steps[1].worn + self.steps[2].worn


def strip_on_a_base(fineness: float = 1.0) -> FrictionAnswer:
    """A strip of 800 x 10 mm, 16 mm deep, pulled with 6000 N against 15 N/mm of friction."""
    corners = [0j, LENGTH + 0j, LENGTH + 1j * WIDTH, 1j * WIDTH]
    names = ("side", "pulled", "side", "end")
    curves = [
        line(start, end, name)
        for start, end, name in zip(corners, [*corners[1:], corners[0]], names, strict=True)
    ]
    inside = metal(lambda x, y: 0 < x < LENGTH and 0 < y < WIDTH, UniformDepth(DEPTH))
    mesh = meshed(plane(curves, inside), fineness)
    model = SectionModel(mesh, {"barrel": ALLOY})
    pull = model.edge_load("pulled", lambda _x, _y, nx, ny: LOAD / WIDTH * np.stack([nx, ny]))
    bearable = nodal_forces(
        mesh, np.arange(len(mesh.triangles)), lambda x, _y: np.full(x.shape, FRICTION / WIDTH)
    )
    steps: list[Rubbed] = []
    for share in (1, 0, 1):
        start = steps[-1].solution.displacement if steps else None
        steps.append(rub(model, share * pull, bearable, start))
    return FrictionAnswer(model, tuple(steps))

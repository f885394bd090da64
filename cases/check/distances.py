"""Problems of the critical distance whose answer is known; each posed once.

mm, N and MPa; plane stress. Every one takes the fineness of its mesh, as
:func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cases.check.sections import ALLOY, SYMMETRY, Answer, kirsch_hole, metal, plane
from fea.model import SectionModel
from fea.strength import stacked, ways_into
from fea.stress import recover
from geometry.planar import line
from geometry.sizing import SizeWishes

PULL = 50.0


@dataclass(frozen=True)
class NotchAnswer(Answer):
    """A solved notch, with the way from its root into the metal."""

    root: tuple[float, float]
    direction: tuple[float, float]
    component: int  # of the stress, the pull's

    def ratio(self, length: float, line: bool) -> float:
        """Strength over that of plain metal, by the mean over 2L or by the point at L/2."""
        ways = ways_into(
            self.solution.model.mesh, self.stresses, {"barrel": ALLOY.name},
            layer=[0], node=[self.node_at(*self.root)], direction=[self.direction],
            length=[length],
        )  # fmt: skip
        if not ways.whole.all():
            raise ValueError(f"2L = {2 * length:g} mm leads out of the metal.")
        found = (ways.line if line else ways.point) @ stacked(self.stresses)
        return float(PULL / found[0, self.component])


def hole(fineness: float = 1.0) -> NotchAnswer:
    """Kirsch's hole of radius 10."""
    solved = kirsch_hole(fineness)
    return NotchAnswer(solved.solution, solved.stresses, (0.0, 10.0), (0.0, 1.0), 0)


def crack(fineness: float = 1.0) -> NotchAnswer:
    """A quarter of a plate of half-width 80 with a crack of half-length 4, pulled across it."""
    from geometry.mesh import mesh_outline

    a, half = 4.0, 80.0
    outline = plane(
        [
            line(0, a, "crack"),
            line(a, half, "y = 0"),
            line(half, half + 1j * half, "side"),
            line(half + 1j * half, 1j * half, "end"),
            line(1j * half, 0, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half and 0 < y < half),
    )
    x, y = np.meshgrid(*[np.linspace(0, half, 41)] * 2)
    z = np.append((x + 1j * y).ravel(), a)
    size = fineness * np.minimum(0.004 + 0.2 * np.abs(z - a), 10.0)
    mesh = mesh_outline(outline, wishes=[SizeWishes(z, size, 0.2)])
    model = SectionModel(mesh, {"barrel": ALLOY}, SYMMETRY)
    load = model.edge_load("end", lambda x, y, _nx, _ny: 20 * PULL * np.stack([0 * x, 1 + 0 * y]))
    solution = model.solve_forces(load)
    return NotchAnswer(solution, recover(solution), (a, 0.0), (1.0, 0.0), 1)

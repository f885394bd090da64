"""Shared by the verification problems: draw, mesh, solve, recover, and read at a place."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

import cases
from cases.case import Case, read_case
from cases.run import DesignResult, solve_case
from fea.elasticity import Traction
from fea.material import Material
from fea.model import SectionModel, Solution
from fea.stress import LayerStress, recover
from geometry.mesh import mesh_outline
from geometry.outline import Outline, outline_from_curves
from geometry.planar import Curve
from geometry.section import DeeperZone
from geometry.section_mesh import Depth, Layer

Array = np.ndarray


def node_at(points: Array, x: float, y: float) -> int:
    """The node at (x, y); the point must be one."""
    away = np.hypot(*(points - [x, y]).T)
    assert away.min() < 1e-6 * np.abs(points).max(), f"no node at ({x}, {y})"
    return int(np.argmin(away))


@dataclass(frozen=True)
class Answer:
    """A solved problem."""

    solution: Solution
    stresses: tuple[LayerStress, ...]

    @property
    def points(self) -> Array:
        """Nodes, shape (n, 2). [mm]."""
        return self.solution.model.mesh.points

    def nodes(self, edge: str) -> Array:
        """Nodes of a named edge."""
        return np.unique(self.solution.model.mesh.edges[edge])

    def node_at(self, x: float, y: float) -> int:
        """The node at (x, y)."""
        return node_at(self.points, x, y)

    def stress(self, nodes: Array | int, part: str | None = None) -> Array:
        """Recovered sxx, syy, sxy at nodes, shape (3, n), from the only part or the named one."""
        wanted = np.atleast_1d(nodes)
        values = np.full((3, len(self.points)), np.nan)
        for layer in self.stresses:
            if part in (None, layer.part):
                values[:, layer.nodes] = layer.stress
        assert not np.isnan(values[:, wanted]).any()
        return values[:, wanted]

    def polar(self, nodes: Array | int, part: str | None = None, centre=(0.0, 0.0)) -> Array:
        """Recovered radial, hoop and shear stress about a point, shape (3, n)."""
        x, y = (self.points[np.atleast_1d(nodes)] - centre).T
        sxx, syy, sxy = self.stress(nodes, part)
        c, s = np.array([x, y]) / np.hypot(x, y)
        return np.stack([
            sxx * c**2 + syy * s**2 + 2 * sxy * s * c,
            sxx * s**2 + syy * c**2 - 2 * sxy * s * c,
            (syy - sxx) * s * c + sxy * (c**2 - s**2),
        ])  # fmt: skip

    def displacement_error(self, growth: Array, sliding: Array | float = 0.0) -> float:
        """Largest difference to a polar displacement field at all nodes, over its largest value.

        Rigid motion, which the holds leave open, is fitted and left out.
        """
        x, y = self.points.T
        r = np.hypot(x, y)
        exact = np.stack([growth * x - sliding * y, growth * y + sliding * x]) / r
        off = (self.solution.displacement.T - exact).ravel()
        one, none = np.ones_like(x), np.zeros_like(x)
        rigid = np.stack([np.r_[one, none], np.r_[none, one], np.r_[-y, x]], axis=1)
        off -= rigid @ np.linalg.lstsq(rigid, off, rcond=None)[0]
        return np.hypot(*off.reshape(2, -1)).max() / np.hypot(*exact).max()


@pytest.fixture(scope="session")
def solve_outline() -> Callable[..., Answer]:
    """Mesh an outline, load it, solve and recover.

    Tractions act on named edges [N/mm]; ``forces`` on nodes at (x, y), per depth integrated [N].
    """

    def solve(
        outline: Outline,
        materials: Mapping[str, Material],
        tractions: Mapping[str, Traction],
        fixed: Mapping[str, str] | None = None,
        forces: Mapping[tuple[float, float], tuple[float, float]] | None = None,
        **mesh_options,
    ) -> Answer:
        mesh = mesh_outline(outline, **mesh_options)
        model = SectionModel(mesh, materials, fixed)
        load = np.zeros((len(mesh.points), 2))
        for edge, traction in tractions.items():
            load += model.edge_load(edge, traction)
        for place, force in (forces or {}).items():
            load[node_at(mesh.points, *place)] += force
        solution = model.solve_forces(load)
        return Answer(solution, recover(solution))

    return solve


@pytest.fixture(scope="session")
def draw_plane() -> Callable[..., Outline]:
    """Outline of curves around metal of one part; ``depth_at`` gives the depth, or None, at z."""

    def draw(
        curves: Sequence[Curve], depth_at: Callable[[complex], tuple[str, Depth] | None]
    ) -> Outline:
        def layers(z: Array) -> list[tuple[Layer, ...]]:
            found = [depth_at(complex(at)) for at in z]
            return [() if layer is None else (Layer(*layer),) for layer in found]

        return outline_from_curves(curves, layers)

    return draw


@pytest.fixture(scope="session")
def gas() -> Callable[[float], Traction]:
    """Traction of a line load that pushes on the metal. [N/mm]."""
    return lambda q: lambda _x, _y, nx, ny: -q * np.stack([nx, ny])


@pytest.fixture(scope="session")
def bundled_case() -> Case:
    """The invented block that comes with the project."""
    return read_case(Path(cases.__file__).parent / "library" / "hillclimb_four.toml")


@pytest.fixture(scope="session")
def bundled(bundled_case) -> dict[str, DesignResult]:
    """Its designs solved, by name, and "uniform" made 16 mm deep all round or at the cuts alone."""
    designs = {design.name: design for design in bundled_case.designs}
    uniform = designs["uniform"]
    zones = tuple(
        DeeperZone(clock=cut.clock, width=30, depth=16, blend=8)
        for cut in bundled_case.block.relief_cuts
    )
    more = (
        replace(uniform, name="deep all round", insert=replace(uniform.insert, depth=16)),
        replace(uniform, name="deep at the cuts", insert=replace(uniform.insert, zones=zones)),
    )
    case = replace(bundled_case, designs=(*designs.values(), *more))
    return {result.name: result for result in solve_case(case).designs}

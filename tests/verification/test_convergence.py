"""How fast the error falls with the element size, measured on a thick ring.

Quadratic elements: the displacement converges with order 3 in the mean square, the strain energy
with order 4 (Strang & Fix, *An Analysis of the Finite Element Method*, 1973; from memory). Exact
answer: Lamé (Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970).
"""

from __future__ import annotations

import numpy as np
import pytest

from fea.closed_form import lame_ring
from fea.material import Material
from fea.model import SectionModel
from geometry.section_mesh import Layer, SectionMesh, UniformDepth

pytestmark = pytest.mark.verification

BORE, OUTSIDE, DEPTH, PRESSURE = 50.0, 80.0, 20.0, 10.0
ALLOY = Material("alloy", 70000.0, 0.4)
ROWS = (8, 16, 32, 64)


def quarter_ring(rows: int) -> SectionMesh:
    """The first quadrant: rows x 2 rows cells of two triangles, all nodes on the true circles."""
    radii = np.linspace(BORE, OUTSIDE, 2 * rows + 1)
    angles = np.linspace(0, np.pi / 2, 4 * rows + 1)
    points = radii[:, None, None] * np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    number = np.arange(radii.size * angles.size).reshape(radii.size, angles.size)
    i, j = 2 * np.mgrid[:rows, : 2 * rows].reshape(2, -1)

    def triangle(*steps: tuple[int, int]) -> list[np.ndarray]:
        return [number[i + di, j + dj] for di, dj in steps]

    lower = triangle((0, 0), (2, 0), (2, 2), (1, 0), (2, 1), (1, 1))
    upper = triangle((0, 0), (2, 2), (0, 2), (1, 1), (1, 2), (0, 1))
    lines = {
        "bore": number[0],
        "outside": number[-1],
        "x = 0": number[:, -1],
        "y = 0": number[:, 0],
    }
    return SectionMesh(
        points=points.reshape(-1, 2),
        triangles=np.concatenate([np.stack(lower, axis=1), np.stack(upper, axis=1)]),
        region=np.zeros(2 * i.size, dtype=np.int64),
        regions=((Layer("barrel", UniformDepth(DEPTH)),),),
        edges={k: np.stack([v[:-2:2], v[2::2], v[1::2]], axis=1) for k, v in lines.items()},
    )


@pytest.fixture(scope="module")
def errors() -> dict[str, np.ndarray]:
    """Mean-square displacement and strain energy, both relative, mesh by mesh."""
    material = {"youngs_modulus": ALLOY.youngs_modulus, "poisson": ALLOY.poisson}
    at_bore = float(lame_ring(BORE, BORE, OUTSIDE, p_in=PRESSURE, **material).growth)
    energy = PRESSURE * DEPTH * at_bore * BORE * np.pi / 4
    found: dict[str, list[float]] = {"displacement": [], "energy": []}
    for rows in ROWS:
        model = SectionModel(quarter_ring(rows), {"barrel": ALLOY}, {"x = 0": "x", "y = 0": "y"})
        load = model.edge_load(
            "bore", lambda _x, _y, nx, ny: -PRESSURE * DEPTH * np.stack([nx, ny])
        )
        solution = model.solve_forces(load)
        found["energy"].append(abs((load * solution.displacement).sum() / 2 / energy - 1))

        fine = type(model.basis)(model.basis.mesh, model.basis.elem, intorder=8)
        unknowns = np.zeros(fine.N)
        unknowns[model.dofs] = solution.displacement
        x, y = np.asarray(fine.global_coordinates())
        r = np.hypot(x, y)
        exact = lame_ring(r, BORE, OUTSIDE, p_in=PRESSURE, **material).growth * np.stack([x, y]) / r
        off = ((np.asarray(fine.interpolate(unknowns)) - exact) ** 2).sum(axis=0)
        found["displacement"].append(
            np.sqrt((off * fine.dx).sum() / ((exact**2).sum(axis=0) * fine.dx).sum())
        )
    return {name: np.array(values) for name, values in found.items()}


@pytest.mark.parametrize(("quantity", "order"), [("displacement", 3), ("energy", 4)])
def test_order_of_convergence(errors, quantity, order):
    """Each halving of the elements, and the finest mesh is as good as the order promises."""
    orders = np.log2(errors[quantity][:-1] / errors[quantity][1:])
    assert orders[1:] == pytest.approx([order, order], abs=0.2)
    assert errors[quantity][-1] < 1e-5

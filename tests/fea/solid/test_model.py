"""A cube in tension, rigid motion, loads on faces: what a solver must do exactly."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import sparse
from solid_meshes import draw_up, grid, moved, named

from fea.material import Material
from fea.solid import SolidModel
from fea.solid.assembly import PrismForces, held_back, stiffness_share, thermal_load
from fea.solid.elasticity import lame

STEEL = Material("steel", 200_000.0, 0.3, expansion=12e-6)


def bent(points):
    """Prisms of every shape: shaken inside and twisted about an axis."""
    x, y, z = points.T
    bulge = x * (1 - x) * y * (1 - y) * z * (1 - z)
    points = points + np.stack([bulge, -2 * bulge, bulge], axis=1)
    turn = np.array([[0.36, 0.48, -0.8], [-0.8, 0.6, 0.0], [0.48, 0.64, 0.6]])
    return 10 * points @ turn.T


def strain_of(solution):
    """Strain of a displacement that is linear in place."""
    points = solution.model.mesh.points
    known = np.column_stack([points, np.ones(len(points))])
    fit, rest, *_ = np.linalg.lstsq(known, solution.displacement)
    assert rest.max() < 1e-20
    return (fit[:3] + fit[:3].T) / 2


@pytest.fixture(scope="module")
def cube():
    return moved(draw_up(*grid(2, 2), [0, 0.3, 1]), bent)


def test_free_cube_under_pressure_shrinks_without_reaction(cube):
    model = SolidModel(cube, {"block": STEEL})
    load = sum(model.pressure_load(name, 100.0) for name in ("around", "floor", "deck"))
    solution = model.solve(load)

    assert len(model.held) == 6
    assert np.abs(solution.hold_reactions).max() < 1e-9
    strain = -100 * (1 - 2 * 0.3) / 200_000
    np.testing.assert_allclose(strain_of(solution), strain * np.eye(3), atol=1e-12)


def test_cube_in_tension_gets_longer_and_thinner():
    mesh = named(
        draw_up(*grid(1, 1), [0, 1]),
        {"left": lambda x, y, z: x == 0, "right": lambda x, y, z: x == 1},
    )
    model = SolidModel(mesh, {"block": STEEL}, {"left": "x"})
    solution = model.solve(model.pressure_load("right", -200.0))

    np.testing.assert_allclose(strain_of(solution), np.diag([1e-3, -3e-4, -3e-4]), atol=1e-14)
    assert len(model.held) == 3
    np.testing.assert_allclose(solution.reactions.sum(axis=0), [-200, 0, 0], atol=1e-10)


def test_rigid_motion_costs_no_work(cube):
    model = SolidModel(cube, {"block": STEEL})
    blocks, pattern = model.stiffness(), model.pattern
    x, y, z = cube.points.T
    motions = [np.stack([0 * x + 1, 0 * x, 0 * x], 1), np.stack([-y, x, 0 * x], 1),
               np.stack([0 * x, -z, y], 1)]  # fmt: skip
    for u in motions:
        pull = np.einsum("ijp,pj->pi", blocks, u[pattern.column])
        back = np.einsum("ijp,pi->pj", blocks, u[pattern.row])
        forces = np.zeros_like(u)
        np.add.at(forces, pattern.row, pull)
        off = pattern.row != pattern.column
        np.add.at(forces, pattern.column[off], back[off])
        assert np.abs(forces).max() < 1e-9 * np.abs(blocks).max()


def test_forces_of_kept_gradients_are_those_of_the_matrix(cube):
    """Of a modulus that differs from place to place, and of warmth that does."""
    soft = replace(STEEL, softening=((20.0, 1.0), (220.0, 0.5)))
    warm, some = 20 + 15 * (cube.points[:, 0] - cube.points.min()), {"block": soft}
    model = SolidModel(cube, {"block": soft}).warmed(warm)
    pattern, size = model.pattern, cube.points.size
    entries = pattern.entries(model.stiffness())
    lower = sparse.csc_array((entries, pattern.rows, pattern.starts), shape=(size, size))
    u = np.random.default_rng(5).normal(size=cube.points.shape)
    expected = (lower + sparse.tril(lower, -1).T) @ u.ravel()
    forces = PrismForces(cube)
    share = stiffness_share(cube, some, warm, slice(None))
    assert np.ptp(share) > 0.2
    lam, mu = lame(soft)
    found = forces.of_strain(u, lam * share, mu * share)
    np.testing.assert_allclose(found.ravel(), expected, atol=1e-10 * np.abs(expected).max())
    held = forces.of_pressure(held_back(cube, some, warm, slice(None)))
    load = thermal_load(cube, some, warm)
    np.testing.assert_allclose(held, load, atol=1e-10 * np.abs(load).max())


def test_warm_free_body_grows_without_stress(cube):
    model = SolidModel(cube, {"block": STEEL}).at(np.full(len(cube.points), 120.0))
    solution = model.solve(np.zeros_like(cube.points))
    np.testing.assert_allclose(strain_of(solution), 12e-4 * np.eye(3), atol=1e-12)
    assert np.abs(solution.hold_reactions).max() < 1e-8

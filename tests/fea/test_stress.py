"""Recovery: exact where it must be, accurate on edges, never across a border."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import plate_with_holes, ring, uniform

from fea.closed_form import lame_ring
from fea.cubics import _solved, recovered_strain
from fea.material import Material
from fea.model import SectionModel
from fea.stress import (
    Recovery,
    hoop,
    principal,
    radial,
    raw_strain,
    recover,
    shapes,
    von_mises,
)

METAL = Material("metal", 70_000.0, 0.4)


def quadratic_field(points):
    """A displacement of second degree and its strain xx, yy, xy."""
    x, y = points.T
    u = np.stack([2 + 3 * x - y + 0.2 * x * x - 0.3 * x * y + 0.1 * y * y,
                  1 - 2 * x + 4 * y - 0.1 * x * x + 0.5 * x * y + 0.3 * y * y], axis=1)  # fmt: skip
    xx = 3 + 0.4 * x - 0.3 * y
    yy = 4 + 0.5 * x + 0.6 * y
    xy = (-1 - 0.3 * x + 0.2 * y - 2 - 0.2 * x + 0.5 * y) / 2
    return u, np.stack([xx, yy, xy])


@pytest.fixture(scope="module")
def lame():
    """Ring 50/80 under 10 MPa, element size 5 mm: six through the wall."""
    mesh = ring([50, 80], [uniform("barrel", 20)], 5)
    return recover(SectionModel(mesh, {"barrel": METAL}).solve(200.0))[0], mesh


def test_quadratic_displacement_is_recovered_exactly_on_curved_triangles():
    mesh = plate_with_holes(5)
    u, exact = quadratic_field(mesh.points)
    strain, node, _ = recovered_strain(mesh.points, u, mesh.triangles, mesh.region)
    assert np.abs(strain - exact[:, node]).max() < 1e-8 * np.abs(exact).max()


def strip():
    """Ten triangles in a row, one across."""
    x, y = np.meshgrid(np.arange(0, 11) / 2, np.arange(3) / 2, indexing="ij")
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    number = np.arange(33).reshape(11, 3)
    cells = []
    for i in range(0, 10, 2):
        a, b, c, d = number[i, 0], number[i + 2, 0], number[i + 2, 2], number[i, 2]
        low, right, up, left, middle = number[[i + 1, i + 2, i + 1, i, i + 1], [0, 1, 2, 1, 1]]
        cells += [[a, b, c, low, right, middle], [a, c, d, middle, up, left]]
    return points, np.array(cells)


@pytest.mark.parametrize("count", [1, 2, 3, 10])
def test_a_region_of_few_triangles_is_recovered_exactly(count):
    """A strip one triangle wide can't tell all cubics apart, and one triangle only a quadratic."""
    points, triangles = strip()
    triangles = triangles[:count]
    u, exact = quadratic_field(points)
    strain, node, _ = recovered_strain(points, u, triangles, np.zeros(count, dtype=np.int64))
    assert np.abs(strain - exact[:, node]).max() < 1e-8 * np.abs(exact).max()


def test_recovery_does_not_depend_on_the_order_of_triangles():
    mesh = plate_with_holes(8)
    u = np.sin(mesh.points / 9)
    strain = [
        recovered_strain(mesh.points, u, mesh.triangles[order], mesh.region)[0]
        for order in (slice(None), slice(None, None, -1))
    ]
    assert np.abs(strain[0] - strain[1]).max() < 1e-9


def test_systems_are_solved_side_by_side():
    rng = np.random.default_rng(3)
    roots, right = rng.normal(size=(20, 10, 14)), rng.normal(size=(20, 10, 2))
    matrices = roots @ roots.swapaxes(1, 2)
    equations = np.concatenate([np.triu(matrices), right], axis=2).transpose(1, 2, 0).copy()
    expected = np.linalg.solve(matrices, right)
    assert _solved(equations).transpose(2, 0, 1) == pytest.approx(expected, rel=1e-9)


def test_raw_strain_is_exact_on_straight_triangles():
    mesh = plate_with_holes(8, curved=False)
    u, exact = quadratic_field(mesh.points)
    found = raw_strain(mesh.points, u, mesh.triangles)
    assert np.abs(found - exact[:, mesh.triangles]).max() < 1e-10 * np.abs(exact).max()


def test_nothing_is_averaged_across_a_border():
    """A displacement with a kink at radius 55: both sides keep their own strain."""
    mesh = ring([45, 55, 80], [uniform("liner", 20), uniform("barrel", 20)], 6)
    r = np.hypot(*mesh.points.T)
    # u_r = r inside 55, then 3 r - 110: hoop strain 1 and 3 - 110 / r, radial strain 1 and 3
    growth = np.where(r < 55, r, 3 * r - 110)
    solution = SectionModel(mesh, {"liner": METAL, "barrel": METAL}).solve(1.0)
    solution = replace(solution, displacement=mesh.points * (growth / r)[:, None])
    liner, barrel = recover(solution)
    step = np.unique(mesh.edges["fit 1"])
    lam, mu = METAL.lam, METAL.mu
    for layer, radial_strain in ((liner, 1.0), (barrel, 3.0)):
        at_step = np.searchsorted(layer.nodes, step)
        expected = lam * (1 + radial_strain) + 2 * mu * radial_strain
        found = radial(layer.stress[:, at_step], *mesh.points[step].T)
        assert found == pytest.approx(expected, rel=3e-3)


@pytest.mark.verification
@pytest.mark.parametrize(("edge", "radius"), [("bore", 50), ("outside", 80)])
def test_lame_ring_hoop_on_the_edges(lame, edge, radius):
    """Timoshenko & Goodier, *Theory of Elasticity*, thick cylinder (from memory)."""
    layer, mesh = lame
    nodes = np.unique(mesh.edges[edge])
    exact = lame_ring(radius, 50, 80, p_in=10, youngs_modulus=70_000, poisson=0.4).hoop
    found = hoop(layer.stress[:, nodes], *mesh.points[nodes].T)
    assert found.mean() == pytest.approx(float(exact), rel=1e-3)
    assert found == pytest.approx(float(exact), rel=1.5e-3)


def test_recovered_edge_stress_converges():
    """Order above 2 in the hoop stress of the bore, from 8 to 4 mm."""
    errors = []
    for size in (8, 4):
        mesh = ring([50, 80], [uniform("barrel", 20)], size)
        (layer,) = recover(SectionModel(mesh, {"barrel": METAL}).solve(200.0))
        nodes = np.unique(mesh.edges["bore"])
        exact = lame_ring(50, 50, 80, p_in=10, youngs_modulus=70_000, poisson=0.4).hoop
        errors.append(np.abs(hoop(layer.stress[:, nodes], *mesh.points[nodes].T) - exact).max())
    assert np.log2(errors[0] / errors[1]) > 2


def test_recovery_beats_the_raw_stress(lame):
    layer, mesh = lame
    exact = lame_ring(
        np.hypot(*mesh.points.T), 50, 80, p_in=10, youngs_modulus=70_000, poisson=0.4
    ).hoop
    points = mesh.points[layer.nodes]
    raw = hoop(layer.raw, *points[layer.triangles].transpose(2, 0, 1))
    recovered = hoop(layer.stress, *points.T)
    raw_error = np.abs(raw - exact[layer.nodes][layer.triangles]).max()
    assert np.abs(recovered - exact[layer.nodes]).max() < 0.2 * raw_error


def test_shapes_are_one_at_their_node_and_sum_to_one():
    nodes = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
    values, derivatives = shapes(nodes)
    assert values == pytest.approx(np.eye(6))
    assert derivatives.sum(axis=-1) == pytest.approx(0)


def test_principal_directions_turn_with_the_stress():
    angle = np.deg2rad([-80.0, -30.0, 0.0, 10.0, 45.0, 90.0])
    c, s = np.cos(angle), np.sin(angle)
    stress = np.stack([50 * c**2 - 20 * s**2, 50 * s**2 - 20 * c**2, 70 * s * c])
    largest, smallest, direction = principal(stress)
    assert largest == pytest.approx(50)
    assert smallest == pytest.approx(-20)
    assert np.mod(direction - np.rad2deg(angle) + 90, 180) - 90 == pytest.approx(0, abs=1e-9)
    assert von_mises(stress) == pytest.approx(np.sqrt(50**2 + 50 * 20 + 20**2))


def test_hoop_and_radial_at_half_past_one():
    """Pure hoop tension at 45 degrees is sxx = syy = 1/2, sxy = -1/2."""
    stress = np.array([0.5, 0.5, -0.5])
    assert float(hoop(stress, 30, 30)) == pytest.approx(1)
    assert float(radial(stress, 30, 30)) == pytest.approx(0)


def test_many_solutions_are_recovered_as_one_is():
    """Of a mesh with borders, small patches and two layers, cold and warm."""
    parts = [uniform(part, 20.0) for part in ("liner", "barrel", "insert")]
    mesh = ring([40, 43, 50, 60], parts, 6)
    materials = dict.fromkeys(("liner", "barrel", "insert"), METAL)
    model, recovery = SectionModel(mesh, materials), Recovery(mesh)
    rng = np.random.default_rng(1)
    warm = 20.0 + mesh.points[:, 0]
    for temperature in (None, warm):
        solution = replace(
            model.solve(3.0), temperature=temperature,
            displacement=1e-3 * rng.standard_normal(mesh.points.shape),
        )  # fmt: skip
        for one, other in zip(recovery(solution), recover(solution), strict=True):
            assert one.part == other.part
            assert (one.nodes == other.nodes).all()
            largest = np.abs(other.stress).max()
            assert one.stress == pytest.approx(other.stress, abs=1e-7 * largest)
            assert one.solution is solution

"""Stress of a solid: exact where strain is linear, part by part, with heat taken out."""

from dataclasses import replace

import numpy as np
import pytest
from solid_meshes import draw_up, grid, moved

from fea.material import Material
from fea.solid import SolidModel
from fea.solid.elasticity import hooke, lame
from fea.solid.ordering import memory_needed, node_order, require_memory
from fea.solid.stress import SomeNodes, extremes, principal, recover, recover_at, von_mises
from geometry.solid.loose import parts_off

SOFT = Material("soft", 50_000.0, 0.4, expansion=2e-5)
HARD = Material("hard", 200_000.0, 0.2, expansion=1e-5)


@pytest.fixture(scope="module")
def model():
    mesh = moved(draw_up(*grid(3, 3), [-1, -0.6, -0.2, 0]), lambda p: p * [30.0, 20.0, 25.0])
    middle = mesh.points[mesh.prisms].mean(axis=1)
    halves = replace(mesh, part=(middle[:, 2] > -15).astype(np.int64), parts=("low", "high"))
    return SolidModel(halves, {"low": SOFT, "high": HARD})


def test_linear_strain_gives_exact_stress_at_every_node_of_each_part(model):
    x, y, z = model.mesh.points.T
    u = 1e-4 * np.stack([x * y + z * z / 2, x * x / 3 - y * z, x * z + y * y / 5], axis=1)
    strain = 1e-4 * np.array([y, -z, x, (x + 2 * x / 3) / 2, (-y + 2 * y / 5) / 2, (z + z) / 2])
    solution = replace(model.solve(np.zeros_like(u)), displacement=u)
    for stress, material in zip(recover(solution), (SOFT, HARD), strict=True):
        exact = hooke(strain[:, stress.nodes], *lame(material))
        np.testing.assert_allclose(stress.stress, exact, atol=1e-3 * np.abs(exact).max())


def test_parts_of_one_material_are_one_metal(model):
    """Cut in two by name alone, each half has the stress of the whole; apart where they differ."""
    x, y, z = (model.mesh.points / 30).T
    wavy = 1e-3 * np.stack([np.sin(3 * x + y), np.cos(2 * z - y), np.sin(2 * x * z)], axis=1)
    alike = model.with_materials({"low": HARD})
    whole = SolidModel(replace(model.mesh, parts=("all", "none"), part=0 * model.mesh.part),
                       {"all": HARD, "none": HARD})  # fmt: skip
    both = [replace(of.solve(np.zeros_like(wavy)), displacement=wavy) for of in (alike, whole)]
    (expected,) = recover(both[1])
    for stress in recover(both[0]):
        np.testing.assert_allclose(stress.stress, expected.stress[:, stress.nodes], atol=1e-9)
    apart = recover(replace(both[0], model=model))
    seam = np.intersect1d(apart[0].nodes, apart[1].nodes)
    low, high = (of.stress[0, np.searchsorted(of.nodes, seam)] for of in apart)
    assert np.median(np.abs(low - high)) > 1


def test_on_the_surface_the_strain_within_it_counts_and_the_traction_across_it(model):
    """On the deck, which lies flat: plane stress of that strain, and what presses on it."""
    x, y, z = (model.mesh.points / 30).T
    wavy = 1e-3 * np.stack([np.sin(3 * x + y), np.cos(2 * z - y), np.sin(2 * x * z)], axis=1)
    solution = replace(model.solve(np.zeros_like(wavy)), displacement=wavy)
    (high,) = (of for of in recover(solution) if of.part == "high")
    gauges = next(of for of in model.smoothing.parts if of.part == "high").metal.gauges
    inner = (np.abs(x - 0.5) < 0.49) & (np.abs(y - 1 / 3) < 0.32) & (z == 0)
    some = np.flatnonzero(inner[gauges.nodes])
    assert len(some) > 9
    rows = np.searchsorted(high.nodes, gauges.nodes[some])
    along_x, along_y, _ = gauges.only(some).strain(wavy)
    young, nu = HARD.youngs_modulus, HARD.poisson
    across = nu / (1 - nu) * high.inside[2, rows]
    expected = young / (1 - nu**2) * (along_x + nu * along_y) + across
    np.testing.assert_allclose(high.stress[0, rows], expected, rtol=1e-9)
    np.testing.assert_allclose(high.stress[2, rows], high.inside[2, rows], atol=1e-9)
    assert np.abs(high.stress[0, rows] - high.inside[0, rows]).max() > 0.1


def test_on_an_edge_the_strain_along_it_counts_and_what_presses_across_it(model):
    """Warm: the strain that heat makes is no stress, and stiffness is that of the heat."""
    x, y, z = (model.mesh.points / 30).T
    wavy = 1e-3 * np.stack([np.sin(3 * x + y), np.cos(2 * z - y), np.sin(2 * x * z)], axis=1)
    warm = model.at(20 + 100 * x)
    solution = replace(warm.solve(np.zeros_like(wavy)), displacement=wavy)
    (high,) = (of for of in recover(solution) if of.part == "high")
    edges = next(of for of in model.smoothing.parts if of.part == "high").metal.edges
    some = np.flatnonzero((x > 0.01) & (x < 0.99) & (y == 0) & (z == 0))  # along x
    strain = edges.strain(wavy)[np.searchsorted(edges.nodes, some)]
    rows = np.searchsorted(high.nodes, some)
    young = HARD.youngs_modulus * HARD.stiffness_share(20 + 100 * x[some])
    expected = young * (strain - HARD.expansion * 100 * x[some])
    expected += HARD.poisson * high.inside[1:3, rows].sum(axis=0)
    assert len(some) == 5
    np.testing.assert_allclose(high.stress[0, rows], expected, rtol=1e-9)
    assert np.abs(high.stress[0, rows] - high.inside[0, rows]).max() > 0.1


def test_stress_at_some_nodes_is_that_of_all(model):
    warm = model.at(np.linspace(20, 90, len(model.mesh.points)))
    solution = warm.solve(np.zeros_like(model.mesh.points))
    rows = {"high": np.array([5, 0, 31, 5])}
    (found,) = recover_at(solution, rows).items()
    (all_of,) = (of for of in recover(solution) if of.part == "high")
    assert found[0] == "high"
    assert np.abs(found[1]).max() > 1
    np.testing.assert_allclose(found[1], all_of.stress[:, rows["high"]], rtol=1e-9, atol=1e-9)


def test_nodes_of_two_parts_of_one_metal_are_told_by_part(model):
    """Once made ready, for one solution after the other."""
    alike = model.with_materials({"low": HARD})
    rows = {"high": np.array([40, 3]), "low": np.array([2, 0, 17])}
    nodes = SomeNodes(alike.smoothing, rows)
    random = np.random.default_rng(3)
    for _ in range(2):
        forces = np.zeros_like(model.mesh.points)
        forces[:2] = random.normal(size=3) * [[1e3], [-1e3]]
        solution = alike.solve(forces)
        found = nodes.stress(solution)
        for of in recover(solution):
            assert np.abs(found[of.part]).max() > 1e-3
            np.testing.assert_allclose(found[of.part], of.stress[:, rows[of.part]], rtol=1e-9)


def test_a_part_cut_loose_has_the_averages_of_the_whole(model):
    """Each metal keeps its own, its nodes numbered anew; not where the cut goes through a metal."""
    loose = SolidModel(parts_off(model.mesh, ["low"]).mesh, model.materials)
    x, y, z = (loose.mesh.points / 30).T
    wavy = 1e-3 * np.stack([np.sin(3 * x + y), np.cos(2 * z - y), np.sin(2 * x * z)], axis=1)
    wavy[loose.mesh.prisms[loose.mesh.part == 0]] *= 1.5
    still = loose.solve(np.zeros_like(wavy))
    expected = recover(replace(still, displacement=wavy))
    loose.smooth_as(model.smoothing)
    carried = loose.smoothing
    assert carried.gradients is model.smoothing.gradients
    for stress, known in zip(recover(replace(still, displacement=wavy)), expected, strict=True):
        assert (stress.nodes == known.nodes).all()
        assert (stress.prisms == known.prisms).all()
        np.testing.assert_allclose(stress.stress, known.stress, atol=1e-9 * known.stress.max())
    some = {"low": np.array([7, 0]), "high": np.array([5])}
    for part, stress in recover_at(replace(still, displacement=wavy), some).items():
        (known,) = (of for of in expected if of.part == part)
        np.testing.assert_allclose(stress, known.stress[:, some[part]], rtol=1e-9)

    alike = model.with_materials({"low": HARD})
    assert alike.smoothing.on(loose.mesh, [("low", "high")]) is None
    assert model.smoothing.on(loose.mesh, [("low", "high")]) is None


def test_parts_that_grow_alike_have_no_stress(model):
    alike = model.with_materials({"low": HARD}).at(np.full(len(model.mesh.points), 150.0))
    for stress in recover(alike.solve(np.zeros_like(model.mesh.points))):
        assert np.abs(stress.stress).max() < 1e-6


def test_principal_stresses_are_those_of_the_matrix():
    stress = np.random.default_rng(3).normal(size=(6, 40)) * 100
    largest, smallest = extremes(stress)
    values, directions = principal(stress)
    np.testing.assert_allclose([largest, smallest], values[[0, 2]], atol=1e-9)
    np.testing.assert_allclose((directions**2).sum(axis=1), 1)
    a, b, c = values
    np.testing.assert_allclose(
        von_mises(stress), np.sqrt(((a - b) ** 2 + (b - c) ** 2 + (c - a) ** 2) / 2)
    )


def test_order_holds_every_unknown_once_and_memory_is_told_before(model):
    order = node_order(model.mesh)
    assert sorted(order.unknowns()) == list(range(model.mesh.points.size))
    needed = memory_needed(model.mesh)
    require_memory(model.mesh, 1.01 * needed)
    with pytest.raises(MemoryError, match=r"unknowns needs about .* Use a coarser mesh or fewer"):
        require_memory(model.mesh, 0.99 * needed)

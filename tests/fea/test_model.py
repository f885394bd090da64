"""Sections solved: closed forms, identities, holds and bad input.

Check numbers such as 1.1 stand for rows of the project's list of outside values. Lamé ring:
Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, thick cylinder (from memory).
nu = 0.40 wherever free, since the plane-stress pair hides mistakes at 1/3 and at 0.25.
"""

import pickle
from dataclasses import replace

import gmsh
import numpy as np
import pytest
from fea_meshes import mesh_shapes, plate_with_holes, ring, uniform

from fea.bore import bore_growth
from fea.closed_form import lame_ring
from fea.material import Material
from fea.model import SectionModel
from fea.stress import hoop, radial, recover
from geometry import DeeperZone
from geometry.section_mesh import Layer, ProfileDepth, UniformDepth

METAL = Material("metal", 70_000.0, 0.4)


def gas(q):
    return lambda _x, _y, nx, ny: -q * np.stack([nx, ny])


def without_rigid_motion(points, displacement):
    modes = np.zeros((*points.shape, 3))
    modes[:, 0, 0] = modes[:, 1, 1] = 1
    modes[:, 0, 2], modes[:, 1, 2] = -points[:, 1], points[:, 0]
    modes = modes.reshape(-1, 3)
    flat = displacement.ravel()
    return (flat - modes @ np.linalg.lstsq(modes, flat, rcond=None)[0]).reshape(-1, 2)


def growth_of(solution, expected):
    """Outward displacement, rigid motion set so that it comes closest to what is expected."""
    points = solution.model.mesh.points
    outward = points / np.hypot(*points.T)[:, None]
    expected = np.broadcast_to(expected, len(points))[:, None] * outward
    off = without_rigid_motion(points, solution.displacement - expected)
    return ((off + expected) * outward).sum(axis=1)


def quarter_ring(size):
    def draw():
        occ = gmsh.model.occ
        face = occ.cut([(2, occ.addDisk(0, 0, 0, 80, 80))], [(2, occ.addDisk(0, 0, 0, 50, 50))])
        occ.intersect(face[0], [(2, occ.addRectangle(0, 0, 0, 90, 90))])
        occ.synchronize()
        ((_, surface),) = gmsh.model.getEntities(2)
        names = {}
        for _, tag in gmsh.model.getBoundary([(2, surface)], oriented=False):
            _, _, _, x1, y1, _ = gmsh.model.getBoundingBox(1, tag)
            straight = "left" if x1 < 1 else "bottom" if y1 < 1 else ""
            names[straight or ("bore" if x1 < 51 else "outside")] = [tag]
        return [[surface]], names

    return mesh_shapes(draw, [uniform("barrel", 20)], size)


def two_rings(size, gap=4.0):
    """A liner that floats inside a barrel, nothing between them."""

    def draw():
        occ = gmsh.model.occ
        circles = [occ.addCircle(0, 0, 0, radius) for radius in (40, 46, 46 + gap, 60)]
        loops = [occ.addCurveLoop([circle]) for circle in circles]
        surfaces = [
            [occ.addPlaneSurface([loops[1], loops[0]])],
            [occ.addPlaneSurface([loops[3], loops[2]])],
        ]
        names = ("bore", "liner face", "barrel face", "outside")
        return surfaces, {name: [circle] for name, circle in zip(names, circles, strict=True)}

    return mesh_shapes(draw, [uniform("liner", 20), uniform("barrel", 20)], size)


@pytest.mark.verification
def test_lame_ring_displacement():
    """Check 1.1 with nu = 0.4; the growth also tells plane stress from plane strain."""
    model = SectionModel(ring([50, 80], [uniform("barrel", 20)], 5), {"barrel": METAL})
    r = np.hypot(*model.mesh.points.T)
    exact = lame_ring(r, 50, 80, p_in=10, youngs_modulus=70_000, poisson=0.4).growth
    growth = growth_of(model.solve(20 * 10.0), exact)
    assert np.abs(growth / exact - 1).max() < 1e-4


@pytest.mark.verification
def test_stepped_thickness_ring():
    """Check 1.7 (derived there): 8 mm inside radius 60, 20 mm outside, 10 MPa on the 8 mm face."""
    metal = Material("metal", 70_000.0, 0.33)
    mesh = ring([50, 60, 90], [uniform("liner", 8), uniform("barrel", 20)], 3)
    solution = SectionModel(mesh, {"liner": metal, "barrel": metal}).solve(8 * 10.0)
    bore, step = np.unique(mesh.edges["bore"]), np.unique(mesh.edges["fit 1"])
    assert bore_growth(solution).mean_growth_um == pytest.approx(8.696884, rel=1e-4)
    liner, barrel = recover(solution)
    at_bore = np.searchsorted(liner.nodes, bore)
    assert hoop(liner.stress[:, at_bore], *mesh.points[bore].T) == pytest.approx(8.875637, rel=1e-3)
    for layer, value in ((liner, -7.116222), (barrel, -2.84649)):
        at_step = np.searchsorted(layer.nodes, step)
        found = radial(layer.stress[:, at_step], *mesh.points[step].T)
        assert found == pytest.approx(value, rel=3e-3)


@pytest.mark.verification
def test_same_pressure_on_every_edge():
    """Check 0.1: sxx = syy = -p, sxy = 0, u = -(1 - nu) p x / E in any shape with holes."""
    mesh = plate_with_holes(4, thickness=7)
    model = SectionModel(mesh, {"barrel": METAL})
    solution = model.solve_forces(sum(model.edge_load(name, gas(7 * 10.0)) for name in mesh.edges))
    exact = -(1 - 0.4) * 10 / 70_000 * mesh.points
    off = without_rigid_motion(mesh.points, solution.displacement - exact)
    assert np.abs(off).max() < 1e-9 * np.abs(exact).max()
    (layer,) = recover(solution)
    for stress in (layer.stress, layer.raw.reshape(3, -1)):
        assert np.abs(stress - [[-10], [-10], [0]]).max() < 1e-8


def test_scaled_thickness_at_one_pressure_leaves_the_stress():
    """Check 0.6."""
    stress = []
    for t in (1.0, 37.0):
        mesh = plate_with_holes(6, thickness=t)
        (layer,) = recover(SectionModel(mesh, {"barrel": METAL}).solve(10 * t))
        stress.append(layer.stress)
    assert np.abs(stress[0] - stress[1]).max() < 1e-10 * np.abs(stress[0]).max()


def test_layers_share_the_strain():
    """Two layers over one another are as stiff as the sum of t E, and keep their own stress."""
    soft, hard = Material("soft", 50_000.0, 0.4), Material("hard", 100_000.0, 0.4)
    layers = (Layer("barrel", UniformDepth(6.0)), Layer("insert", UniformDepth(7.0)))
    mesh = ring([50, 80], [layers], 10)
    solution = SectionModel(mesh, {"barrel": soft, "insert": hard}).solve(100.0)
    alone = SectionModel(ring([50, 80], [uniform("barrel", 20)], 10), {"barrel": soft}).solve(
        100.0
    )  # 20 x 50 = 6 x 50 + 7 x 100
    assert solution.displacement == pytest.approx(alone.displacement, abs=1e-12)
    barrel, insert = recover(solution)
    assert insert.stress == pytest.approx(2 * barrel.stress)


def test_loose_bodies_are_held_each():
    mesh = two_rings(4)
    model = SectionModel(mesh, {"liner": METAL, "barrel": METAL})
    assert model.bodies.max() == 1
    assert len(model.held) == 6
    solution = model.solve(20 * 10.0)
    assert np.abs(solution.hold_reactions).max() < 1e-9 * 200 * 80
    loose = np.unique(mesh.triangles[model.bodies == model.bodies[mesh.region == 1][0]])
    assert np.abs(solution.displacement[loose]).max() < 1e-12


def test_holds_do_not_influence_the_result():
    """The same section turned by 37 degrees is held at other places and grows alike."""
    mesh = plate_with_holes(5)
    c, s = np.cos(np.deg2rad(37)), np.sin(np.deg2rad(37))
    turn = np.array([[c, -s], [s, c]])
    turned = replace(mesh, points=mesh.points @ turn.T)
    u = [
        without_rigid_motion(m.points, SectionModel(m, {"barrel": METAL}).solve(70.0).displacement)
        for m in (mesh, turned)
    ]
    assert np.abs(u[0] @ turn.T - u[1]).max() < 1e-9 * np.abs(u[0]).max()


def test_hold_of_an_unbalanced_load_shows_in_the_reactions():
    model = SectionModel(ring([50, 80], [uniform("barrel", 20)], 15), {"barrel": METAL})
    count = len(model.mesh.points)  # a force on every node, the held ones too
    solution = model.solve_forces(np.tile([0.0, 3.0], (count, 1)))
    assert solution.reactions.sum(axis=0) == pytest.approx([0.0, -3.0 * count], abs=1e-6)
    assert np.abs(solution.hold_reactions).max() > 1


def test_symmetry_planes_hold_a_quarter():
    mesh = quarter_ring(6)
    model = SectionModel(mesh, {"barrel": METAL}, fixed={"left": "x", "bottom": "y"})
    assert not len(model.held)
    solution = model.solve(20 * 10.0)
    r = np.hypot(*mesh.points.T)
    exact = lame_ring(r, 50, 80, p_in=10, youngs_modulus=70_000, poisson=0.4).growth
    growth = (solution.displacement * mesh.points).sum(axis=1) / r
    assert np.abs(growth / exact - 1).max() < 1e-4
    # the left plane carries half the gas load: q times the bore radius
    assert solution.reactions[:, 0].sum() == pytest.approx(-200 * 50, rel=1e-6)


@pytest.mark.parametrize(("fixed", "held"), [({"left": "x"}, 1), ({"left": "xy"}, 0)])
def test_only_what_the_supports_leave_free_is_held(fixed, held):
    assert len(SectionModel(quarter_ring(15), {"barrel": METAL}, fixed).held) == held


def test_displacement_is_in_the_order_of_the_mesh_nodes():
    mesh = ring([50, 80], [uniform("barrel", 20)], 10)
    turned = np.random.default_rng(4).permutation(len(mesh.points))
    place = np.argsort(turned)
    shuffled = replace(
        mesh,
        points=mesh.points[turned],
        triangles=place[mesh.triangles],
        edges={name: place[edge] for name, edge in mesh.edges.items()},
    )
    growth = [
        growth_of(SectionModel(m, {"barrel": METAL}).solve(200.0), 0.0) for m in (mesh, shuffled)
    ]
    assert growth[1] == pytest.approx(growth[0][turned], rel=1e-9)


LAYERED = (uniform("liner", 20), (*uniform("barrel", 9), *uniform("insert", 6)))
METALS = {
    "liner": Material("iron", 110_000.0, 0.26),
    "barrel": METAL,
    "insert": Material("hard", 72_000.0, 0.3),
}
DEEPER = (uniform("liner", 17), (*uniform("barrel", 9), *uniform("insert", 11)))
PROFILE = (
    LAYERED[0],
    (
        Layer("barrel", UniformDepth(9.0)),
        Layer("insert", ProfileDepth(6.0, (DeeperZone(clock=2, width=40, depth=14),), cap=12.0)),
    ),
)
STIFFER = {"insert": Material("steel", 205_000.0, 0.45)}
CHANGES = {
    "depth": (DEEPER, None),
    "profile": (PROFILE, None),
    "material": (None, STIFFER),
    "both": (PROFILE, STIFFER),
    "a part more": ((LAYERED[0], (*LAYERED[1], *uniform("cap", 3))), {"cap": METAL}),
}


@pytest.fixture(scope="module")
def layered():
    return SectionModel(ring([50, 56, 80], LAYERED, 7), METALS)


def stress_of(solution):
    return np.concatenate([layer.stress for layer in recover(solution)], axis=1)


@pytest.mark.parametrize(("regions", "materials"), CHANGES.values(), ids=CHANGES)
def test_changed_layers_are_as_a_fresh_model(layered, regions, materials):
    changed = layered.with_layers(regions, materials)
    fresh = SectionModel(
        replace(layered.mesh, regions=regions or LAYERED), METALS | (materials or {})
    )
    found, expected = changed.solve(150.0), fresh.solve(150.0)
    largest = np.abs(expected.displacement).max()
    assert np.abs(found.displacement - expected.displacement).max() < 1e-12 * largest
    assert stress_of(found) == pytest.approx(stress_of(expected), rel=1e-9, abs=1e-9)
    assert np.abs(found.displacement - layered.solve(150.0).displacement).max() > 0.01 * largest


def test_changed_models_leave_each_other_alone(layered):
    models = [layered, layered.with_layers(DEEPER), layered.with_layers(PROFILE, STIFFER)]
    models.append(models[1].with_layers(LAYERED))
    alone = [
        SectionModel(model.mesh, model.materials).solve(150.0).displacement for model in models
    ]
    for index in (0, 1, 2, 3, 1, 0, 2, 2, 0, 3, 1):
        found = models[index].solve(150.0).displacement
        assert np.abs(found - alone[index]).max() < 1e-12 * np.abs(alone[index]).max()
    assert layered.mesh.regions == LAYERED
    assert layered.materials == METALS


def test_refused_change_leaves_the_model_good(layered):
    before = layered.solve(150.0).displacement
    for regions, materials, message in [
        ((LAYERED[0], uniform("insert", -1)), None, "insert: thickness -1 mm is not positive"),
        (LAYERED[:1], None, "layers of 1 regions for a mesh of 2"),
        ((LAYERED[0], ()), None, "region 1 has no layer"),
        ((LAYERED[0], uniform("tie", 4)), None, "no material for tie"),
        (None, {"insrt": METAL}, "no layer of insrt. Choose from barrel, insert, liner"),
    ]:
        with pytest.raises(ValueError, match=message):
            layered.with_layers(regions, materials)
    assert np.array_equal(layered.solve(150.0).displacement, before)


def test_supports_stay_when_layers_change():
    mesh, fixed = quarter_ring(8), {"left": "x", "bottom": "y"}
    thin = [uniform("barrel", 4)]
    changed = SectionModel(mesh, {"barrel": METAL}, fixed).with_layers(thin)
    assert changed.solve(4 * 10.0).reactions[:, 0].sum() == pytest.approx(-40 * 50, rel=1e-6)


def test_several_loads_at_once_are_as_one_by_one(layered):
    count = len(layered.mesh.points)
    gas_load = layered.edge_load("bore", gas(150.0))
    loads = np.stack([gas_load, np.tile([0.0, 3.0], (count, 1)), 2 * gas_load])
    together = layered.solve_many(loads)
    for load, found in zip(loads, together, strict=True):
        alone = layered.solve_forces(load)
        largest = np.abs(alone.displacement).max()
        assert np.abs(found.displacement - alone.displacement).max() < 1e-12 * largest
        assert found.reactions == pytest.approx(alone.reactions, abs=1e-6)
    assert together[0].displacement == pytest.approx(layered.solve(150.0).displacement)
    assert together[2].displacement == pytest.approx(2 * together[0].displacement)
    assert together[1].reactions.sum(axis=0) == pytest.approx([0.0, -3.0 * count], abs=1e-6)


@pytest.mark.parametrize("shape", [(7, 2), (3,)])
def test_forces_of_another_shape_are_refused(layered, shape):
    count = len(layered.mesh.points)
    with pytest.raises(ValueError, match=rf"have shape \({shape[0]},.*needs \({count}, 2\)"):
        layered.solve_forces(np.zeros(shape))


def test_bad_input_is_refused():
    mesh = ring([50, 60, 80], [uniform("liner", 20), uniform("barrel", 20)], 15)
    metals = {"liner": METAL, "barrel": METAL}
    with pytest.raises(ValueError, match="no material for liner"):
        SectionModel(mesh, {"barrel": METAL})
    model = SectionModel(mesh, metals)
    with pytest.raises(ValueError, match=r'no edge "jacket"\. Choose from bore, fit 1, outside'):
        model.solve(1.0, "jacket")
    with pytest.raises(ValueError, match="lies inside the metal"):
        model.solve(1.0, "fit 1")
    with pytest.raises(ValueError, match="belongs to no triangle"):
        SectionModel(replace(mesh, points=np.vstack([mesh.points, [0.0, 0.0]])), metals)
    thin = replace(mesh, regions=(uniform("liner", 0.0), uniform("barrel", 20)))
    with pytest.raises(ValueError, match="liner: thickness 0 mm is not positive"):
        SectionModel(thin, metals)
    wrong = mesh.edges["bore"].copy()
    wrong[0, 0] = wrong[5, 0]
    with pytest.raises(ValueError, match="has a side that no triangle has"):
        SectionModel(replace(mesh, edges={"bore": wrong}), metals).solve(1.0)


def test_bodies_that_touch_at_a_point_are_refused():
    def draw():
        occ = gmsh.model.occ
        squares = [(2, occ.addRectangle(0, 0, 0, 10, 10)), (2, occ.addRectangle(10, 10, 0, 10, 10))]
        _, parts = occ.fragment(squares[:1], squares[1:])
        return [[tag for part in parts for _, tag in part]], {}

    mesh = mesh_shapes(draw, [uniform("barrel", 20)], 5)
    with pytest.raises(ValueError, match=r"touches at a single point, \(10.000, 10.000\) mm"):
        SectionModel(mesh, {"barrel": METAL})


def test_a_model_that_was_sent_answers_as_before():
    mesh = ring((40.0, 50.0), [uniform("barrel", 10.0)], 5.0)
    model = SectionModel(mesh, {"barrel": Material("alloy", 70_000.0, 0.33)})
    here = model.solve(100.0).displacement
    sent = pickle.loads(pickle.dumps(model))
    assert sent.solve(100.0).displacement == pytest.approx(here, abs=1e-12)
    assert sent.with_layers(materials={"barrel": Material("softer", 35_000.0, 0.33)}).solve(
        100.0
    ).displacement == pytest.approx(2 * here, abs=1e-12)

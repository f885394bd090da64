"""Thermal strain: its load, the stress that is left, softer metal, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import Slope, plate_with_holes, ring, uniform, without_rigid_motion
from scipy import sparse
from sections import BANK, LOCAL, section
from skfem import CellBasis, ElementTriP2, MeshTri2
from weak_forms import internal_work, thermal_work

import fea.assembly
from fea.assembly import LayerStiffness
from fea.elasticity import gradient_products
from fea.heat import thermal_load
from fea.material import REFERENCE, Material
from fea.model import SectionModel
from fea.stress import recover
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off
from geometry.section_mesh import Layer, UniformDepth, bodies_of

ALLOY = Material("alloy", 70_000.0, 0.4, expansion=22e-6)
SOFT = replace(ALLOY, name="soft", softening=((20.0, 1.0), (120.0, 0.9), (220.0, 0.6)))
IRON = Material("iron", 110_000.0, 0.26, expansion=11e-6)
MATERIALS = {"barrel": SOFT, "insert": IRON}


LAYERS = (
    (Layer("barrel", UniformDepth(20.0)),),
    (Layer("barrel", Slope(8.0, 0.05)), Layer("insert", UniformDepth(5.0))),
)


@pytest.fixture(scope="module")
def mesh():
    return ring([50, 65, 80], LAYERS, 9)


@pytest.fixture(scope="module")
def warm(mesh):
    x, y = mesh.points.T
    return 120 + 0.9 * x - 0.4 * y + 0.006 * x * y


def gas(q):
    return lambda _x, _y, nx, ny: -q * np.stack([nx, ny])


def at_quadrature(model, temperature):
    """Layers' sums of the thermal stress and of t lam, t mu, at the basis' quadrature points."""
    mesh, basis = model.mesh, model.basis
    scalar = CellBasis(basis.mesh, ElementTriP2(), intorder=2)
    nodal = np.empty(len(mesh.points))
    nodal[model.dofs[:, 0] // 2] = temperature
    warmth = np.asarray(scalar.interpolate(nodal))
    x, y = np.asarray(basis.global_coordinates())
    stress, lam, mu = np.zeros((3, *x.shape))
    for index, layers in enumerate(mesh.regions):
        inside = mesh.region == index
        for layer in layers:
            material, thickness = model.materials[layer.part], layer.thickness(x[inside], y[inside])
            stress[inside] += thickness * material.thermal_stress(warmth[inside])
            share = material.stiffness_share(warmth[inside])
            lam[inside] += thickness * share * material.lam
            mu[inside] += thickness * share * material.mu
    return nodal, stress, lam, mu


def test_load_is_the_weak_form_of_scikit_fem(mesh, warm):
    model = SectionModel(mesh, MATERIALS)
    _, stress, _, _ = at_quadrature(model, warm)
    expected = thermal_work.assemble(model.basis, s=stress)[model.dofs]
    found = thermal_load(mesh, MATERIALS, warm)
    assert np.abs(found - expected).max() < 1e-12 * np.abs(expected).max()


def test_stiffness_of_warm_metal_is_the_weak_form_of_scikit_fem(mesh, warm):
    model = SectionModel(mesh, MATERIALS)
    nodal, _, lam, mu = at_quadrature(model, warm)
    whole = internal_work.assemble(model.basis, lam=lam, mu=mu)
    plain = MeshTri2(mesh.points.T, mesh.triangles.T)
    stiffness = LayerStiffness(CellBasis(plain, ElementTriP2(), intorder=2), mesh.region)
    values, pattern = stiffness.assemble(mesh.regions, MATERIALS, nodal), stiffness.pattern
    found = sparse.csc_array((values, pattern.rows, pattern.starts), shape=whole.shape)
    assert abs(found - sparse.tril(whole)).max() < 1e-12 * abs(whole).max()


def test_what_was_kept_outlives_warm_metal(mesh, warm, monkeypatch):
    plain = MeshTri2(mesh.points.T, mesh.triangles.T)
    stiffness = LayerStiffness(CellBasis(plain, ElementTriP2(), intorder=2), mesh.region)
    cold = stiffness.assemble(mesh.regions, MATERIALS)
    integrated = []
    monkeypatch.setattr(
        fea.assembly,
        "gradient_products",
        lambda gradients, weights: (
            integrated.append(weights.shape[1]) or gradient_products(gradients, weights)
        ),
    )
    softer = stiffness.assemble(mesh.regions, MATERIALS, warm)
    assert integrated == list(np.bincount(mesh.region))  # the barrel's two layers, not the insert's
    assert (softer < cold).any()
    assert np.array_equal(stiffness.assemble(mesh.regions, MATERIALS), cold)
    assert len(integrated) == 2


def test_loads_balance_on_each_body():
    whole = mesh_outline(draw_section(section(BANK, LOCAL)), element_size=10.0, detail=0.3)
    mesh = part_off(whole, "insert").mesh
    materials = dict.fromkeys(("barrel", "tie", "outer wall"), ALLOY)
    materials |= {"liner": IRON, "insert": SOFT}
    x, y = mesh.points.T
    load = thermal_load(mesh, materials, 150 + 0.3 * x + 0.5 * y)
    bodies = np.empty(len(mesh.points), dtype=int)
    bodies[mesh.triangles] = bodies_of(mesh.triangles, len(mesh.points))[:, None]
    size = np.abs(load).sum()
    moment = x * load[:, 1] - y * load[:, 0]
    for part in (load[:, 0], load[:, 1], moment / 100):
        assert np.abs(np.bincount(bodies, part)).max() < 1e-12 * size


def test_free_body_of_one_material_grows_without_stress():
    """Any shape, evenly warm: u = alpha (T - 20) x, even where the metal has softened."""
    mesh = plate_with_holes(5)
    for material, share in ((ALLOY, 1.0), (SOFT, 0.9)):
        model = SectionModel(mesh, {"barrel": replace(material, softening=())})
        temperature = np.full(len(mesh.points), 120.0)
        load = thermal_load(mesh, {"barrel": material}, temperature)
        solution = model.solve_forces(load / share)
        solution = replace(solution, temperature=temperature)
        exact = 22e-6 * 100 * mesh.points
        off = without_rigid_motion(mesh.points, solution.displacement - exact)
        assert np.abs(off).max() < 1e-9 * np.abs(exact).max()
        model.materials["barrel"] = material
        (layer,) = recover(solution)
        for stress in (layer.stress, layer.raw):
            assert np.abs(stress).max() < 1e-9 * 70_000 * 22e-6 * 100


def test_evenly_warm_metal_is_stiff_by_its_share():
    """Gas on a ring at 120 degC: the stress of the cold ring, whatever the modulus."""
    mesh = ring([50, 80], [uniform("barrel", 20)], 8)
    cold = SectionModel(mesh, {"barrel": ALLOY}).solve(200.0)
    softer = SectionModel(mesh, {"barrel": replace(ALLOY, youngs_modulus=0.9 * 70_000)})
    temperature = np.full(len(mesh.points), 120.0)
    load = thermal_load(mesh, {"barrel": SOFT}, temperature)
    warm = softer.solve_forces(load + softer.edge_load("bore", gas(200.0)))
    softer.materials["barrel"] = SOFT
    (before,), (after,) = recover(cold), recover(replace(warm, temperature=temperature))
    assert np.abs(after.stress - before.stress).max() < 1e-8 * np.abs(before.stress).max()
    assert np.abs(after.raw - before.raw).max() < 1e-8 * np.abs(before.raw).max()


def test_held_metal_is_pressed():
    """Kept from moving at all, it is under E alpha dT / (1 - nu) from all sides."""
    mesh = plate_with_holes(5)
    model = SectionModel(mesh, {"barrel": ALLOY})
    temperature = np.full(len(mesh.points), 70.0)
    still = model.solve_forces(np.zeros_like(mesh.points))
    (layer,) = recover(replace(still, temperature=temperature))
    expected = np.array([1.0, 1.0, 0.0]) * -70_000 * 22e-6 * 50 / 0.6
    assert np.abs(layer.stress - expected[:, None]).max() < 1e-9 * 130
    assert np.abs(layer.raw - expected[:, None, None]).max() < 1e-9 * 130


def test_nothing_happens_at_the_reference(mesh):
    assert REFERENCE == 20.0
    load = thermal_load(mesh, MATERIALS, np.full(len(mesh.points), 20.0))
    warmer = thermal_load(mesh, MATERIALS, np.full(len(mesh.points), 21.0))
    assert np.abs(load).max() < 1e-12 * np.abs(warmer).max()


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (lambda t: t[:-1], r"have shape \(\d+,\); the mesh needs"),
        (lambda t: np.where(t == t.max(), -300.0, t), "-300 degC is not above absolute zero"),
        (lambda t: np.where(t == t.max(), np.nan, t), "nan degC is not above absolute zero"),
    ],
)
def test_refused_temperatures(mesh, warm, wrong, words):
    with pytest.raises(ValueError, match=words):
        thermal_load(mesh, MATERIALS, wrong(warm))


def test_values_between_and_beyond_the_points():
    assert SOFT.stiffness_share([-40, 20, 70, 170, 220, 400]) == pytest.approx(
        [1, 1, 0.95, 0.75, 0.6, 0.6]
    )
    assert ALLOY.stiffness_share([20.0, 300.0]) == pytest.approx([1, 1])
    strong = replace(ALLOY, yield_points=((20.0, 200.0), (150.0, 135.0)))
    # beyond the last it falls on by half a MPa a degree, and 5 % are left at the least
    assert strong.yield_strength([[0, 20], [85, 160], [300, 900]]) == pytest.approx(
        np.array([[200, 200], [167.5, 130], [60, 10]])
    )
    single = replace(ALLOY, yield_points=((20.0, 200.0),))
    assert single.yield_strength(300.0) == 200
    with pytest.raises(ValueError, match="alloy: no yield strength is known"):
        ALLOY.yield_strength(20.0)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("expansion", -1e-6, "alloy: expansion = -1e-06 1/K must not be negative"),
        ("expansion", float("nan"), "expansion = nan"),
        ("conductivity", float("inf"), r"conductivity = inf W/\(mm K\) must not be negative"),
        ("softening", ((20.0, 1.0), (100.0, 0.0)), "softening = 0 at 100 degC must be positive"),
        ("softening", ((100.0, 1.0), (20.0, 0.9)), "softening at 100 degC stands before 20 degC"),
        ("yield_points", ((20.0, 200.0), (20.0, 190.0)), "each once"),
        ("yield_points", ((-300.0, 200.0),), "-300 degC, which is no temperature above -273.15"),
        ("yield_points", ((float("nan"), 200.0),), "nan degC"),
        ("yield_points", ((20.0, float("nan")),), "yield_points = nan at 20 degC"),
    ],
)
def test_refused_materials(field, value, words):
    with pytest.raises(ValueError, match=words):
        replace(ALLOY, **{field: value})

"""The stored and batched assembly against the readable weak form, and what it integrates anew."""

import numpy as np
import pytest
from fea_meshes import Slope, ring
from scipy import sparse
from skfem import CellBasis, ElementTriP2, MeshTri2
from weak_forms import internal_work

import fea.assembly
from fea.assembly import LayerStiffness, Pattern
from fea.elasticity import gradient_products
from fea.material import Material
from fea.model import SectionModel
from geometry.section_mesh import Layer, UniformDepth

MATERIALS = {
    "barrel": Material("soft", 50_000.0, 0.4),
    "insert": Material("hard", 100_000.0, 0.2),
}


FLAT = (
    (Layer("barrel", UniformDepth(20.0)),),
    (Layer("barrel", UniformDepth(8.0)), Layer("insert", UniformDepth(5.0))),
)
SLOPED = (
    (Layer("barrel", Slope(20.0, 0.1)),),
    (Layer("barrel", UniformDepth(8.0)), Layer("insert", Slope(9.0, -0.05))),
)


@pytest.fixture(scope="module")
def mesh():
    return ring([50, 65, 80], FLAT, 9)


def layered(mesh):
    plain = MeshTri2(mesh.points.T, mesh.triangles.T)
    return LayerStiffness(CellBasis(plain, ElementTriP2(), intorder=2), mesh.region)


@pytest.mark.parametrize("regions", [FLAT, SLOPED], ids=["uniform", "profile"])
def test_stiffness_is_the_weak_form_of_scikit_fem(mesh, regions):
    model = SectionModel(mesh, MATERIALS)
    x, y = np.asarray(model.basis.global_coordinates())
    lam, mu = np.zeros((2, *x.shape))
    for index, layers in enumerate(regions):
        inside = mesh.region == index
        for layer in layers:
            thickness = layer.thickness(x[inside], y[inside])
            lam[inside] += thickness * MATERIALS[layer.part].lam
            mu[inside] += thickness * MATERIALS[layer.part].mu
    whole = internal_work.assemble(model.basis, lam=lam, mu=mu)

    stiffness = layered(mesh)
    values, pattern = stiffness.assemble(regions, MATERIALS), stiffness.pattern
    found = sparse.csc_array((values, pattern.rows, pattern.starts), shape=whole.shape)
    assert abs(found - sparse.tril(whole)).max() < 1e-12 * abs(whole).max()
    assert found.has_sorted_indices
    assert np.array_equal(pattern.columns(), found.tocoo().coords[1])


def test_unknowns_are_numbered_as_in_the_vector_basis(mesh):
    model = SectionModel(mesh, MATERIALS)
    for component in range(2):
        places = model.basis.doflocs[:, model.dofs[:, component]].T
        np.testing.assert_allclose(places, mesh.points, atol=1e-9)
    assert list(model.basis.interpolate(np.arange(model.basis.N) % 2)[:, 0, 0]) == [0, 1]


def test_only_a_new_profile_is_integrated(mesh, monkeypatch):
    integrated = []
    monkeypatch.setattr(
        fea.assembly,
        "gradient_products",
        lambda gradients, weights: (
            integrated.append(weights.shape[1]) or gradient_products(gradients, weights)
        ),
    )
    stiffness = layered(mesh)
    count = np.bincount(mesh.region)
    stiffness.assemble(FLAT, MATERIALS)
    assert integrated == list(count)
    stiffness.assemble([[Layer("insert", UniformDepth(3.0))], FLAT[1]], MATERIALS)
    stiffness.assemble(FLAT, MATERIALS | {"barrel": Material("stiff", 90_000.0, 0.1)})
    assert integrated[2:] == []
    stiffness.assemble(SLOPED, MATERIALS)
    assert integrated[2:] == list(count)
    stiffness.assemble([SLOPED[0], [Layer("insert", Slope(9.0, -0.04))]], MATERIALS)
    assert integrated[4:] == [count[1]]


def test_numbers_of_a_large_mesh_do_not_overflow():
    """A pair of 70,000 nodes has more places than 32 bits count."""
    nodes = np.arange(70_000, dtype=np.int32).reshape(2, -1)
    pattern = Pattern(nodes[[0, 1, 1]], nodes[[0, 0, 1]])
    blocks = np.zeros((2, 2, pattern.size))
    blocks[1, 0, pattern.pairs[1, -1]] = 5.0  # y of node 69,999 by x of node 34,999
    (place,) = np.flatnonzero(pattern.entries(blocks))
    assert (pattern.rows[place], pattern.columns()[place]) == (139_999, 69_998)


@pytest.mark.parametrize("depth", [UniformDepth(0.0), UniformDepth(float("nan")), Slope(1.0, 0.1)])
def test_thickness_must_be_positive(mesh, depth):
    with pytest.raises(ValueError, match=r"insert: thickness \S+ mm is not positive"):
        layered(mesh).assemble([FLAT[0], [Layer("insert", depth)]], MATERIALS)

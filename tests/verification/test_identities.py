"""What any section must obey, whatever its shape, on the bundled block itself."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from fea_meshes import without_rigid_motion
from skfem import MeshTri
from skfem.quadrature import get_quadrature

from fea.bore import harmonics
from fea.elasticity import hooke
from fea.material import Material
from fea.model import SectionModel
from fea.shapes import shapes
from fea.stress import recover
from geometry.section_mesh import Layer, UniformDepth

pytestmark = pytest.mark.verification

JOINTS = {"insert fit", "liner fit", "step"}  # edges with metal on both sides
ALLOY = Material("alloy", 70000.0, 0.33)


@pytest.mark.parametrize("design", ["bare", "local"])
def test_same_pressure_on_every_edge(bundled, design):
    """Derived: a plate of one thickness and one material, pressed alike on every edge, has
    sxx = syy = -p and sxy = 0 at every point, and u = -(1 - nu) p x / E."""
    mesh, p, depth = bundled[design].mesh, 10.0, 25.0
    mesh = replace(mesh, regions=((Layer("barrel", UniformDepth(depth)),),) * len(mesh.regions))
    model = SectionModel(mesh, {"barrel": ALLOY})
    load = np.zeros_like(mesh.points)
    for edge in set(mesh.edges) - JOINTS:
        load += model.edge_load(edge, lambda _x, _y, nx, ny: -p * depth * np.stack([nx, ny]))
    solution = model.solve_forces(load)

    assert np.abs(solution.hold_reactions).max() < 1e-9 * np.abs(load).sum()
    exact = without_rigid_motion(mesh.points, -(1 - ALLOY.poisson) * p / 70000.0 * mesh.points)
    found = without_rigid_motion(mesh.points, solution.displacement)
    assert np.abs(found - exact).max() < 1e-9 * np.abs(exact).max()
    for layer in recover(solution):
        expected = np.array([-p, -p, 0.0])
        assert np.abs(layer.stress - expected[:, None]).max() < 1e-6 * p
        assert np.abs(layer.raw - expected[:, None, None]).max() < 1e-6 * p


@dataclass(frozen=True)
class Scaled:
    """A depth field times a factor."""

    depth: object
    factor: float

    def __call__(self, x, y):
        return self.factor * self.depth(x, y)


def test_deeper_section_at_the_same_pressure(bundled):
    """Derived: every t times one factor, and the line load with it, leaves the stress alone."""
    result, factor = bundled["local"], 1.7
    regions = tuple(
        tuple(Layer(layer.part, Scaled(layer.thickness, factor)) for layer in layers)
        for layers in result.mesh.regions
    )
    model = SectionModel(replace(result.mesh, regions=regions), result.solution.model.materials)
    deeper = recover(model.solve(factor * result.solution.line_load))
    largest = max(np.abs(layer.stress).max() for layer in result.stresses)
    for one, other in zip(result.stresses, deeper, strict=True):
        assert np.abs(one.stress - other.stress).max() < 1e-9 * largest
        assert other.thickness == pytest.approx(factor * one.thickness)


@pytest.mark.parametrize("design", ["bare", "uniform", "local"])
@pytest.mark.parametrize("angle", [0, 37, 90, 142])
def test_cut_carries_the_gas_load(bundled, design, angle):
    """Statics: across any straight cut the metal carries q times the width of bore that is cut.

    Weighed over cuts from -b to +b about the bore axis by w(s) = cos²(pi s / 2b) / b, so that the
    force of all of them is an area integral of the raw stress.
    """
    result, b = bundled[design], 15.0
    mesh, bore = result.mesh, result.section.block.bore / 2
    normal = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    places, weights = get_quadrature(MeshTri.elem, 8)
    values, derivatives = shapes(places.T)

    force = 0.0
    for layer in result.stresses:
        depth = next(of.thickness for of in mesh.regions[layer.region] if of.part == layer.part)
        nodes = mesh.triangles[layer.elements]
        points, u = mesh.points[nodes], result.solution.displacement[nodes]
        x, y = np.einsum("qn,mni->imq", values, points)
        jacobian = np.einsum("qjn,mni->mqij", derivatives, points)
        gradient = np.einsum("qjn,mni->mqij", derivatives, u) @ np.linalg.inv(jacobian)
        xx, yy = gradient[..., 0, 0], gradient[..., 1, 1]
        xy = (gradient[..., 0, 1] + gradient[..., 1, 0]) / 2
        material = result.solution.model.materials[layer.part]
        sxx, syy, sxy = hooke(np.stack([xx, yy, xy]), material.lam, material.mu)
        pull = sxx * normal[0] ** 2 + syy * normal[1] ** 2 + 2 * sxy * normal[0] * normal[1]
        s = normal[0] * x + normal[1] * y
        weight = np.where(np.abs(s) < b, np.cos(np.pi * s / (2 * b)) ** 2 / b, 0.0)
        area = np.linalg.det(jacobian) * weights
        force += (depth(x, y) * pull * weight * area).sum()

    nodes, gauss = np.polynomial.legendre.leggauss(40)
    chord = 2 * np.sqrt(bore**2 - (b * nodes) ** 2)
    expected = result.solution.line_load * (chord * np.cos(np.pi * nodes / 2) ** 2 @ gauss)
    assert force == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("design", ["bare", "uniform", "local"])
def test_holds_and_reported_cut_force(bundled, design):
    """Statics: gas on a whole bore needs no support, and the reported balance is kept."""
    checks = bundled[design].checks
    assert checks.reaction_ratio < 1e-9
    assert checks.cut_force_ratio == pytest.approx(1, abs=5e-3)


def test_orders_at_uneven_angles():
    """Derived: the orders of a known sum come back from 300 uneven angles, where a plain FFT of
    the same values fails."""
    angle = np.sort(np.random.default_rng(1).uniform(0, 2 * np.pi, 300))
    values = (
        5
        + 3 * np.cos(2 * (angle - 0.4))
        + 1.5 * np.cos(3 * (angle + 0.2))
        + 0.7 * np.cos(4 * (angle - 0.1))
    )
    mean, cosine, sine = harmonics(angle, values, 12)
    amplitude = np.hypot(cosine, sine)
    assert mean == pytest.approx(5, abs=1e-9)
    assert amplitude[:4] == pytest.approx([0, 3, 1.5, 0.7], abs=1e-9)
    assert amplitude[4:] == pytest.approx(np.zeros(8), abs=1e-9)

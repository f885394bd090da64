"""Bodies of revolution against closed forms and published values.

The problems are posed in :mod:`cases.check.tubes`; thin tubes: :mod:`fea.thin_tube`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from cases.check import tubes as problems
from cases.check.tubes import LONG, THIN, DepthAnswer
from fea.closed_form import joint_pressure, lame_ring
from fea.material import Material
from fea.tube import AxisymmetricModel, Sleeve, stepped_support

pytestmark = pytest.mark.verification

IRON = Material("iron", 110000.0, 0.26)
ALLOY = Material("alloy", 72000.0, 0.33)


def plane_strain(material: Material) -> dict[str, float]:
    """Moduli that make a formula of plane stress one of plane strain.

    E / (1 - nu^2) and nu / (1 - nu): Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970.
    """
    nu = material.poisson
    return {"youngs_modulus": material.youngs_modulus / (1 - nu**2), "poisson": nu / (1 - nu)}


def test_patch():
    """A state of constant strain is met exactly, whatever the elements: u = A r, w = B (z - 40).

    Derived: then rr and around are A, zz is B, and the stress is the same everywhere. The grid is
    uneven, of two sleeves, and loaded on all its sides.
    """
    a, b = 1e-3, -5e-4
    sleeves = [
        Sleeve(part="tube", inner=50, outer=57, top=0, bottom=40),
        Sleeve(part="tube", inner=57, outer=80, top=13, bottom=40),
    ]
    model = AxisymmetricModel(
        sleeves, {"tube": ALLOY}, size=11, lines=[3.0, 29.0], fixed={"bottom": "z"}
    )
    lam = 2 * ALLOY.mu * ALLOY.poisson / (1 - 2 * ALLOY.poisson)
    across, along = (lam * (2 * a + b) + 2 * ALLOY.mu * strain for strain in (a, b))
    forces = sum(
        model.pressure(side, lambda z, stress=stress: np.full(z.shape, -stress))
        for side, stress in (("inside", across), ("outside", across), ("top", along))
    )
    solution = model.solve(forces)
    r, z = model.points.T
    exact = np.stack([a * r, b * (z - 40)], axis=1)
    assert np.abs(solution.displacement - exact).max() < 1e-12
    _, stress = solution.stress("tube")
    assert stress == pytest.approx(
        np.outer([across, along, 0, across], np.ones(stress.shape[1])), abs=1e-9
    )
    assert solution.row_stress("tube")[3] == pytest.approx(across)
    area = np.pi * (80**2 - 50**2)
    assert solution.reactions.sum(axis=0) == pytest.approx([0, along * area], abs=1e-6)


@pytest.mark.parametrize(("poisson", "growth"), [(0.33, 0.01766026), (0.4, 0.01769231)])
def test_lame(poisson, growth):
    """Lame, plane strain: 50/80 mm, 10 MPa; growth of the first by Timoshenko & Goodier 1970.

    Derived for nu = 0.4: (1 + nu) p a / E ((1 - 2 nu) a^2 + b^2) / (b^2 - a^2) = 0.01769231.
    """
    answer = problems.thick_tube(poisson)
    assert answer.growth()[1] == pytest.approx(growth, rel=1e-6)
    r, hoop = answer.hoop()
    material = Material("alloy", 70000.0, poisson)
    exact = lame_ring(r, 50, 80, p_in=10, **plane_strain(material))
    assert answer.growth()[1] == pytest.approx(exact.growth.max(), rel=1e-6)
    assert hoop == pytest.approx(exact.hoop, rel=1e-3)
    assert hoop.max() == pytest.approx(22.82051, rel=1e-3)  # Lame, Timoshenko & Goodier 1970


@pytest.mark.parametrize(
    ("poisson", "growth", "allowed"),
    [(0.49, 5.0399e-3, 1e-4), (0.499, 5.0602e-3, 1e-3), (0.4999, 5.0623e-3, 5e-3)],
)
def test_nearly_incompressible_cylinder(poisson, growth, allowed):
    """MacNeal & Harder, *Finite Elem. Anal. Des.* 1 (1985) 3-20: growth of the bore.

    The nearer to 0.5 the stiffer the elements; metal is at 0.36 at most.
    """
    assert problems.nearly_incompressible(poisson).growth()[1] == pytest.approx(growth, rel=allowed)


def test_two_materials_and_a_backing():
    """Compound ring of 45/55/80 mm, free along the axis: Lame; Timoshenko, *Strength of Materials*.

    9 MPa in the bore: 3.812511 MPa at the interface, the bore grows 0.01011449 mm. A backing that
    presses as much as a pressure outside would, does what that pressure does.
    """
    sleeves = [
        Sleeve(part="iron", inner=45, outer=55, top=0, bottom=1),
        Sleeve(part="alloy", inner=55, outer=80, top=0, bottom=1),
    ]
    model = AxisymmetricModel(
        sleeves, {"iron": IRON, "alloy": ALLOY}, size=1.0, fixed={"bottom": "z"}
    )
    gas = model.pressure("inside", lambda z: np.full(z.shape, 9.0))
    bore, outside = model.nodes("inside"), model.nodes("outside")
    free = model.solve(gas)
    # plane stress but for what keeps the two faces flat at the interface
    assert free.displacement[bore, 0] == pytest.approx(0.01011449, rel=2e-3)
    backed = model.solve(gas, lambda z: np.full(z.shape, 500.0))
    moved = backed.displacement[outside, 0]
    both = gas + model.pressure("outside", lambda z: np.full(z.shape, 500.0 * moved.mean()))
    assert np.ptp(moved) < 2e-3 * moved.mean()
    assert model.solve(both).displacement[bore, 0] == pytest.approx(
        backed.displacement[bore, 0], rel=1e-4
    )
    inner, outer = (IRON.youngs_modulus, IRON.poisson), (ALLOY.youngs_modulus, ALLOY.poisson)
    joint = joint_pressure(45, 55, 80, p_in=9, p_out=500 * moved.mean(), inner=inner, outer=outer)
    iron = {"youngs_modulus": IRON.youngs_modulus, "poisson": IRON.poisson}
    ring = lame_ring(45, 45, 55, p_in=9, p_out=joint, **iron)
    assert backed.displacement[bore, 0] == pytest.approx(float(ring.growth), rel=2e-3)


def growths(answer: DepthAnswer, depths: list[float]) -> np.ndarray:
    return np.array([answer.growth_at(z) for z in depths])


def test_band_of_pressure():
    """Timoshenko & Woinowsky-Krieger 1959, ch. 15: middle and edge of a band, and beside it.

    Shell theory leaves out what is of the order of wall over radius, a hundredth here.
    """
    found = growths(problems.band(), [40.0, 45.0, 30.0])
    exact = THIN.band([0.0, 5.0, 10.0], 10.0, 1.0)
    assert found == pytest.approx(exact, rel=5e-3)


def test_band_on_a_thick_tube():
    """Mean radius 43, wall 6 mm, 10 MPa on 30 mm: shell theory 0.039117 in the middle.

    Roark, and Timoshenko & Woinowsky-Krieger 1959, ch. 15 (from memory). An axisymmetric solve
    elsewhere, gas on the inner face: 0.03777 mid-wall, 0.03863 inside (derived).
    """
    material = Material("alloy", 70000.0, 0.33)
    tube = Sleeve(part="tube", inner=40, outer=46, top=0, bottom=160)
    model = AxisymmetricModel(
        [tube], {"tube": material}, size=1.5, lines=(65, 95), fixed={"bottom": "z"}
    )
    pressed = model.pressure("inside", lambda z: np.where(np.abs(z - 80) < 15, 10.0, 0.0))
    solution = model.solve(pressed)
    r, z = model.points.T
    middle = np.abs(z - 80) < 1e-6
    for radius, growth in ((40.0, 0.03863), (43.0, 0.03777)):
        node = np.flatnonzero(middle & np.isclose(r, radius))
        assert solution.displacement[node, 0] == pytest.approx(growth, rel=1e-3)
    assert solution.displacement[middle, 0].mean() == pytest.approx(0.039117, rel=0.04)


@pytest.mark.parametrize(
    ("answer", "loads"),
    [(problems.edge_force, (1.0, 0.0)), (problems.edge_moment, (0.0, 1.0))],
    ids=["force", "moment"],
)
def test_free_edge(answer, loads):
    """Edge loads, Timoshenko & Woinowsky-Krieger 1959, ch. 15: at the edge, and 3 mm from it."""
    found = growths(answer(), [0.0, 1.0, 3.0, 20.0])
    exact = THIN.edge([0.0, 1.0, 3.0, 20.0], *loads)
    assert found == pytest.approx(exact, abs=2e-3 * exact[0])


def test_backing_that_ends():
    """A tube whose upper half is backed, as by an insert: derived, two beams of Hetenyi, 1946."""
    away = [-20.0, -6.0, -3.0, 0.0, 3.0, 6.0, 20.0, 10.0]
    found = growths(problems.half_backed(30.0), [LONG / 2 + z for z in away])
    exact = stepped_support(away, replace(THIN, backing=30.0), THIN, 1.0)
    assert found == pytest.approx(exact, rel=6e-3)
    assert exact[-1] > THIN.radius**2 / (70000 * THIN.wall)  # it overshoots below the end


def test_errors_fall_with_the_element():
    """Quadratic elements: the growth of the Lame ring errs by a sixth at half the size, or less."""
    exact = lame_ring(50.0, 50, 80, p_in=10, **plane_strain(Material("", 70000.0, 0.33))).growth
    errors = [
        abs(problems.thick_tube(fineness=fineness).growth()[1].mean() / float(exact) - 1)
        for fineness in (7.5, 3.75)
    ]
    assert errors[0] > 6 * errors[1]

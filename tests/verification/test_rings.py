"""Rings against closed forms, over all of their nodes.

The problems are posed in :mod:`cases.check.sections`; the formulas and their sources stand in
:mod:`fea.closed_form`; the numbers here are those that the sources' formulas give, so that a
mistake in the closed form shows too.
"""

from __future__ import annotations

import numpy as np
import pytest

from cases.check import sections as problems
from fea.bore import bore_growth
from fea.closed_form import (
    eccentric_bore_hoop,
    joint_pressure,
    lame_ring,
    power_law_ring,
    ring_harmonic,
    squeezed_ring,
)
from fea.model import SectionModel

pytestmark = pytest.mark.verification

DEPTH = problems.DEPTH
PLANE = {"youngs_modulus": 70000.0, "poisson": 0.33}


def worst(found: np.ndarray, exact: np.ndarray, largest: float) -> float:
    return float(np.abs(found - exact).max() / largest)


@pytest.mark.parametrize("poisson", [0.33, 0.4])
def test_lame_ring(displacement_error, poisson):
    """Lamé, Timoshenko & Goodier 1970, thick cylinder: 50/80 mm, 10 MPa in the bore.

    nu = 0.4 because lambda equals mu at a third, and swapped moduli hide there; the growth sees
    plane strain in place of plane stress, the hoop stress doesn't. Stress errors are over the
    largest stress, 22.82051 MPa, anywhere in the ring. The radial stress on the edges, which the
    load sets, is the least accurate; with half the element size it meets 0.1 % too.
    """
    plane = {"youngs_modulus": 70000.0, "poisson": poisson}
    for fineness, limit in ((1.0, 4e-3), (0.5, 1e-3)):
        answer = problems.lame_ring(poisson, fineness)
        exact = lame_ring(np.hypot(*answer.points.T), 50, 80, p_in=10, **plane)
        assert displacement_error(answer, exact.growth) < 1e-4
        radial, hoop, shear = answer.polar(np.arange(len(answer.points)))
        assert worst(hoop, exact.hoop, 22.82051) < 1e-3
        assert worst(shear, np.zeros_like(shear), 22.82051) < 1e-3
        assert worst(radial, exact.radial, 22.82051) < limit
        assert answer.polar(answer.nodes("bore"))[1] == pytest.approx(22.82051, rel=1e-3)
        assert answer.polar(answer.nodes("outside"))[1] == pytest.approx(12.82051, rel=1e-3)


@pytest.mark.parametrize(("poisson", "growth"), [(0.33, 0.01865751), (0.4, 0.01915751)])
def test_growth_of_a_lame_ring(poisson, growth):
    """The same ring by the calls of the product: bore growth, round to 0.01 %."""
    model = problems.lame_ring(poisson).solution.model
    shape = bore_growth(SectionModel(model.mesh, model.materials).solve(10 * DEPTH))
    assert shape.mean_growth_um == pytest.approx(1000 * growth, rel=1e-4)
    assert shape.out_of_round_um < 1e-4 * shape.mean_growth_um
    assert max(shape.orders_um.values()) < 1e-4 * shape.mean_growth_um


def test_compound_ring(displacement_error):
    """Iron liner bonded in an alloy barrel, 45/55/80 mm, 9 MPa: Lamé for each part
    (Timoshenko, Strength of Materials II)."""
    answer = problems.compound_ring()
    q = joint_pressure(45, 55, 80, p_in=9, inner=(110000, 0.26), outer=(72000, 0.33))
    r = np.hypot(*answer.points.T)
    inner = lame_ring(r, 45, 55, p_in=9, p_out=q, youngs_modulus=110000, poisson=0.26)
    outer = lame_ring(r, 55, 80, p_in=q, youngs_modulus=72000, poisson=0.33)
    assert displacement_error(answer, np.where(r < 55, inner.growth, outer.growth)) < 1e-4

    bore, joint = answer.nodes("bore"), answer.nodes("liner fit")
    assert answer.polar(bore)[1] == pytest.approx(22.38431, rel=1e-3)
    assert answer.polar(joint, "barrel")[1] == pytest.approx(10.64679, rel=1e-3)
    assert answer.polar(joint, "barrel")[0] == pytest.approx(-3.812511, abs=0.02)
    assert answer.polar(joint, "liner")[0] == pytest.approx(-3.812511, abs=0.02)
    solution = answer.solution.model.solve(9 * DEPTH)
    assert bore_growth(solution).mean_growth_um == pytest.approx(10.11449, rel=1e-4)


def test_layered_ring(displacement_error):
    """12 mm of alloy and 8 mm of iron that share their strain: derived, Lamé's ring with the sums
    of t lambda and t mu, and each metal's stress from the strain of that ring by its own moduli."""
    answer = problems.layered_ring()
    layers = [(12.0, problems.ALLOY), (8.0, problems.IRON)]
    lam = sum(depth * metal.lam for depth, metal in layers) / DEPTH
    mu = sum(depth * metal.mu for depth, metal in layers) / DEPTH
    nu = lam / (lam + 2 * mu)
    mean = {"youngs_modulus": 2 * mu * (1 + nu), "poisson": nu}
    r = np.hypot(*answer.points.T)
    assert displacement_error(answer, lame_ring(r, 50, 80, p_in=10, **mean).growth) < 1e-4

    at_bore = lame_ring(50, 50, 80, p_in=10, **mean)
    assert 1000 * at_bore.growth == pytest.approx(14.96263, abs=5e-6)
    radial_strain = (at_bore.radial - nu * at_bore.hoop) / mean["youngs_modulus"]
    hoop_strain = at_bore.growth / 50
    for part, hoop, (_, metal) in zip(
        ("barrel", "insert"), (18.47103, 29.34474), layers, strict=True
    ):
        exact = metal.lam * (radial_strain + hoop_strain) + 2 * metal.mu * hoop_strain
        assert exact == pytest.approx(hoop, abs=5e-6)
        assert answer.polar(answer.nodes("bore"), part)[1] == pytest.approx(hoop, rel=1e-3)


def test_stepped_ring(displacement_error):
    """Thickness 8 mm inside r = 60 and 20 outside, one piece, 10 MPa on the 8 mm face: derived
    from Lamé and the radial force through the step."""
    answer = problems.stepped_ring()
    r = np.hypot(*answer.points.T)
    inner = lame_ring(r, 50, 60, p_in=10, p_out=7.116222, **PLANE)
    outer = lame_ring(r, 60, 90, p_in=2.846489, **PLANE)
    assert displacement_error(answer, np.where(r < 60, inner.growth, outer.growth)) < 1e-4
    bore = answer.nodes("bore")
    assert answer.polar(bore)[1] == pytest.approx(8.875637, rel=1e-3)
    u = (answer.solution.displacement[bore] * answer.points[bore] / 50).sum(axis=1)
    assert (u.max() + u.min()) / 2 == pytest.approx(0.008696884, rel=1e-4)

    step = answer.nodes("step")
    sides = {}
    for layer in answer.stresses:
        at = np.flatnonzero(np.isin(layer.nodes, step))
        x, y = answer.points[layer.nodes[at]].T / 60
        sxx, syy, sxy = layer.stress[:, at]
        sides[float(layer.thickness[at].mean())] = sxx * x**2 + syy * y**2 + 2 * sxy * x * y
    assert sides[8.0] == pytest.approx(-7.116222, abs=0.01)
    assert sides[20.0] == pytest.approx(-2.846489, abs=0.01)


def test_power_law_ring(displacement_error):
    """Thickness falling as r^-1.5, 50/90 mm, 10 MPa: Stodola, Steam and Gas Turbines, 1927."""
    answer = problems.power_law_ring()
    exact = power_law_ring(np.hypot(*answer.points.T), 50, 90, -1.5, p_in=10, **PLANE)
    assert displacement_error(answer, exact.growth) < 1e-4
    assert worst(answer.polar(np.arange(len(answer.points)))[1], exact.hoop, 28.36525) < 1e-3
    assert answer.polar(answer.nodes("bore"))[1] == pytest.approx(28.36525, rel=1e-3)
    assert answer.polar(answer.nodes("outside"))[1] == pytest.approx(13.08205, rel=1e-3)


@pytest.mark.parametrize(("order", "largest", "fineness"), [(2, 94.1552, 0.5), (4, 21.80765, 0.3)])
def test_pressure_of_one_order(displacement_error, order, largest, fineness):
    """10 MPa cos n theta in the bore of a 50/80 mm ring: Michell 1899."""
    answer = problems.harmonic_ring(order, fineness)
    x, y = answer.points.T
    r, theta = np.hypot(x, y), np.arctan2(y, x)
    exact = ring_harmonic(r, theta, 50, 80, order, p_in=10, **PLANE)
    assert displacement_error(answer, exact.growth, exact.sliding) < 1e-4
    radial, hoop, shear = answer.polar(np.arange(len(x)))
    assert worst(hoop, exact.hoop, largest) < 1e-3
    assert worst(radial, exact.radial, largest) < 1e-3
    assert worst(shear, exact.shear, largest) < 1e-3
    assert answer.polar(answer.node_at(50, 0))[1] == pytest.approx(-largest, rel=1e-3)
    if order == 2:
        assert answer.polar(answer.node_at(0, 50))[1] == pytest.approx(largest, rel=1e-3)


def test_eccentric_bore():
    """A bore 15 mm off the centre of a 50/80 mm ring, 10 MPa, all round both edges: Jeffery,
    Phil. Trans. R. Soc. A 221 (1921) 265-293."""
    answer = problems.eccentric_bore()
    bore, outside = answer.nodes("bore"), answer.nodes("outside")
    angle = np.arctan2(answer.points[bore, 1], answer.points[bore, 0])
    exact, _ = eccentric_bore_hoop(angle, 50, 80, 15, p_in=10)
    assert worst(answer.polar(bore)[1], exact, 37.44414) < 2e-3
    angle = np.arctan2(answer.points[outside, 1], answer.points[outside, 0] - 15)
    _, exact = eccentric_bore_hoop(angle, 50, 80, 15, p_in=10)
    assert worst(answer.polar(outside, centre=(15, 0))[1], exact, 37.44414) < 2e-3
    assert answer.polar(answer.node_at(-50, 0))[1] == pytest.approx(37.44414, rel=2e-3)
    assert answer.polar(answer.node_at(50, 0))[1] == pytest.approx(18.27770, rel=2e-3)


def test_squeezed_ring():
    """Two opposite loads on a ring of a/b = 0.5: the series of Timoshenko & Goodier art. 43
    (number from memory). Over 2P/(pi b) the hoop stress in the bore is +10.1554 under the loads
    and -8.8988 across; outside, across, 2.928. E times the change of the bore's diameter over P
    is -8.797 and +6.211."""
    a, b, load = 40.0, 80.0, 1000.0
    answer = problems.squeezed_ring(a, b, fineness=0.5)
    unit = 2 * load / (np.pi * b)
    east, west, north, south = (answer.node_at(*at) for at in ((a, 0), (-a, 0), (0, a), (0, -a)))
    assert answer.polar([east, west])[1] / unit == pytest.approx(10.1554, rel=3e-3)
    assert answer.polar([north, south])[1] / unit == pytest.approx(-8.8988, rel=3e-3)
    assert answer.polar(answer.node_at(0, b))[1] / unit == pytest.approx(2.928, rel=3e-3)
    u = answer.solution.displacement
    assert 70000 / load * (u[east, 0] - u[west, 0]) == pytest.approx(-8.797, rel=1e-3)
    assert 70000 / load * (u[north, 1] - u[south, 1]) == pytest.approx(6.211, rel=1e-3)

    bore = answer.nodes("bore")
    angle = np.arctan2(answer.points[bore, 1], answer.points[bore, 0])
    exact = squeezed_ring(a, angle, a, b, load, youngs_modulus=70000, poisson=0.3)
    assert worst(answer.polar(bore)[1], exact.hoop, 10.1554 * unit) < 3e-3

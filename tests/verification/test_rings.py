"""Rings against closed forms, over all of their nodes.

The formulas and their sources stand in :mod:`fea.closed_form`; the numbers here are those that
the sources' formulas give, so that a mistake in the closed form shows too.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from fea.bore import bore_growth
from fea.closed_form import (
    eccentric_bore_hoop,
    joint_pressure,
    lame_ring,
    power_law_ring,
    ring_harmonic,
    squeezed_ring,
)
from fea.material import Material
from fea.model import SectionModel
from geometry import Block, DeckSection
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.planar import circle
from geometry.section_mesh import UniformDepth

pytestmark = pytest.mark.verification

DEPTH = 20.0
ALLOY = Material("alloy", 70000.0, 0.33)
PLANE = {"youngs_modulus": 70000.0, "poisson": 0.33}


def between(inner: float, outer: float, depth: float = DEPTH):
    """Metal of one depth between two circles about the origin."""
    return lambda z: ("barrel", UniformDepth(depth)) if inner < abs(z) < outer else None


def worst(found: np.ndarray, exact: np.ndarray, largest: float) -> float:
    return float(np.abs(found - exact).max() / largest)


@pytest.mark.parametrize("poisson", [0.33, 0.4])
def test_lame_ring(solve_outline, gas, poisson):
    """Lamé, Timoshenko & Goodier 1970, thick cylinder: 50/80 mm, 10 MPa in the bore.

    nu = 0.4 because lambda equals mu at a third, and swapped moduli hide there; the growth sees
    plane strain in place of plane stress, the hoop stress doesn't. Stress errors are over the
    largest stress, 22.82051 MPa, anywhere in the ring. The radial stress on the edges, which the
    load sets, is the least accurate; with half the element size it meets 0.1 % too.
    """
    section = DeckSection(block=Block(bore=100, barrel_wall=30), depth=DEPTH)
    materials = {"barrel": Material("alloy", 70000.0, poisson)}
    plane = {"youngs_modulus": 70000.0, "poisson": poisson}
    for fineness, limit in ((1.0, 4e-3), (0.5, 1e-3)):
        answer = solve_outline(
            draw_section(section), materials, {"bore": gas(10 * DEPTH)}, fineness=fineness
        )
        exact = lame_ring(np.hypot(*answer.points.T), 50, 80, p_in=10, **plane)
        assert answer.displacement_error(exact.growth) < 1e-4
        radial, hoop, shear = answer.polar(np.arange(len(answer.points)))
        assert worst(hoop, exact.hoop, 22.82051) < 1e-3
        assert worst(shear, np.zeros_like(shear), 22.82051) < 1e-3
        assert worst(radial, exact.radial, 22.82051) < limit
        assert answer.polar(answer.nodes("bore"))[1] == pytest.approx(22.82051, rel=1e-3)
        assert answer.polar(answer.nodes("outside"))[1] == pytest.approx(12.82051, rel=1e-3)


@pytest.mark.parametrize(("poisson", "growth"), [(0.33, 0.01865751), (0.4, 0.01915751)])
def test_growth_of_a_lame_ring(poisson, growth):
    """The same ring by the calls of the product: bore growth, round to 0.01 %."""
    section = DeckSection(block=Block(bore=100, barrel_wall=30), depth=DEPTH)
    mesh = mesh_outline(draw_section(section))
    shape = bore_growth(
        SectionModel(mesh, {"barrel": Material("alloy", 70000.0, poisson)}).solve(10 * DEPTH)
    )
    assert shape.mean_growth_um == pytest.approx(1000 * growth, rel=1e-4)
    assert shape.out_of_round_um < 1e-4 * shape.mean_growth_um
    assert max(shape.orders_um.values()) < 1e-4 * shape.mean_growth_um


def test_compound_ring(solve_outline, gas):
    """Iron liner bonded in an alloy barrel, 45/55/80 mm, 9 MPa: Lamé for each part
    (Timoshenko, Strength of Materials II)."""
    section = DeckSection(block=Block(bore=90, liner=10, barrel_wall=25), depth=DEPTH)
    iron, alloy = Material("iron", 110000.0, 0.26), Material("alloy", 72000.0, 0.33)
    answer = solve_outline(
        draw_section(section), {"liner": iron, "barrel": alloy}, {"bore": gas(9 * DEPTH)}
    )
    q = joint_pressure(45, 55, 80, p_in=9, inner=(110000, 0.26), outer=(72000, 0.33))
    r = np.hypot(*answer.points.T)
    inner = lame_ring(r, 45, 55, p_in=9, p_out=q, youngs_modulus=110000, poisson=0.26)
    outer = lame_ring(r, 55, 80, p_in=q, youngs_modulus=72000, poisson=0.33)
    assert answer.displacement_error(np.where(r < 55, inner.growth, outer.growth)) < 1e-4

    bore, joint = answer.nodes("bore"), answer.nodes("liner fit")
    assert answer.polar(bore)[1] == pytest.approx(22.38431, rel=1e-3)
    assert answer.polar(joint, "barrel")[1] == pytest.approx(10.64679, rel=1e-3)
    assert answer.polar(joint, "barrel")[0] == pytest.approx(-3.812511, abs=0.02)
    assert answer.polar(joint, "liner")[0] == pytest.approx(-3.812511, abs=0.02)
    solution = answer.solution.model.solve(9 * DEPTH)
    assert bore_growth(solution).mean_growth_um == pytest.approx(10.11449, rel=1e-4)


def test_stepped_ring(draw_plane, solve_outline, gas):
    """Thickness 8 mm inside r = 60 and 20 outside, one piece, 10 MPa on the 8 mm face: derived
    from Lamé and the radial force through the step."""

    def depth_at(z):
        if not 50 < abs(z) < 90:
            return None
        return "barrel", UniformDepth(8.0 if abs(z) < 60 else 20.0)

    curves = [*circle(0, 50, "bore"), *circle(0, 60, "joint"), *circle(0, 90, "outside")]
    answer = solve_outline(draw_plane(curves, depth_at), {"barrel": ALLOY}, {"bore": gas(10 * 8.0)})
    r = np.hypot(*answer.points.T)
    inner = lame_ring(r, 50, 60, p_in=10, p_out=7.116222, **PLANE)
    outer = lame_ring(r, 60, 90, p_in=2.846489, **PLANE)
    assert answer.displacement_error(np.where(r < 60, inner.growth, outer.growth)) < 1e-4
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


@dataclass(frozen=True)
class FallingDepth:
    """Thickness 20 mm at r = 50, falling as r^-1.5."""

    def __call__(self, x, y):
        return 20.0 * (np.hypot(x, y) / 50) ** -1.5


def test_power_law_ring(draw_plane, solve_outline, gas):
    """Thickness falling as r^-1.5, 50/90 mm, 10 MPa: Stodola, Steam and Gas Turbines, 1927."""
    curves = [*circle(0, 50, "bore"), *circle(0, 90, "outside")]
    outline = draw_plane(curves, lambda z: ("barrel", FallingDepth()) if 50 < abs(z) < 90 else None)
    answer = solve_outline(outline, {"barrel": ALLOY}, {"bore": gas(10 * 20.0)})
    exact = power_law_ring(np.hypot(*answer.points.T), 50, 90, -1.5, p_in=10, **PLANE)
    assert answer.displacement_error(exact.growth) < 1e-4
    assert worst(answer.polar(np.arange(len(answer.points)))[1], exact.hoop, 28.36525) < 1e-3
    assert answer.polar(answer.nodes("bore"))[1] == pytest.approx(28.36525, rel=1e-3)
    assert answer.polar(answer.nodes("outside"))[1] == pytest.approx(13.08205, rel=1e-3)


def test_second_order_pressure(draw_plane, solve_outline):
    """10 MPa cos 2 theta in the bore of a 50/80 mm ring: Michell 1899."""
    curves = [*circle(0, 50, "bore"), *circle(0, 80, "outside")]

    def push(x, y, nx, ny):
        return -10 * DEPTH * (x**2 - y**2) / (x**2 + y**2) * np.stack([nx, ny])

    answer = solve_outline(
        draw_plane(curves, between(50, 80)), {"barrel": ALLOY}, {"bore": push}, fineness=0.5
    )
    x, y = answer.points.T
    r, theta = np.hypot(x, y), np.arctan2(y, x)
    exact = ring_harmonic(r, theta, 50, 80, 2, p_in=10, **PLANE)
    assert answer.displacement_error(exact.growth, exact.sliding) < 1e-4
    radial, hoop, shear = answer.polar(np.arange(len(x)))
    assert worst(hoop, exact.hoop, 94.1552) < 1e-3
    assert worst(radial, exact.radial, 94.1552) < 1e-3
    assert worst(shear, exact.shear, 94.1552) < 1e-3
    assert answer.polar(answer.node_at(50, 0))[1] == pytest.approx(-94.1552, rel=1e-3)
    assert answer.polar(answer.node_at(0, 50))[1] == pytest.approx(94.1552, rel=1e-3)


def test_eccentric_bore(draw_plane, solve_outline, gas):
    """A bore 15 mm off the centre of a 50/80 mm ring, 10 MPa, all round both edges: Jeffery,
    Phil. Trans. R. Soc. A 221 (1921) 265-293."""
    curves = [*circle(0, 50, "bore"), *circle(15, 80, "outside")]

    def depth_at(z):
        return ("barrel", UniformDepth(DEPTH)) if abs(z) > 50 and abs(z - 15) < 80 else None

    answer = solve_outline(
        draw_plane(curves, depth_at), {"barrel": ALLOY}, {"bore": gas(10 * DEPTH)}
    )
    bore, outside = answer.nodes("bore"), answer.nodes("outside")
    angle = np.arctan2(answer.points[bore, 1], answer.points[bore, 0])
    exact, _ = eccentric_bore_hoop(angle, 50, 80, 15, p_in=10)
    assert worst(answer.polar(bore)[1], exact, 37.44414) < 2e-3
    angle = np.arctan2(answer.points[outside, 1], answer.points[outside, 0] - 15)
    _, exact = eccentric_bore_hoop(angle, 50, 80, 15, p_in=10)
    assert worst(answer.polar(outside, centre=(15, 0))[1], exact, 37.44414) < 2e-3
    assert answer.polar(answer.node_at(-50, 0))[1] == pytest.approx(37.44414, rel=2e-3)
    assert answer.polar(answer.node_at(50, 0))[1] == pytest.approx(18.27770, rel=2e-3)


def test_squeezed_ring(draw_plane, solve_outline):
    """Two opposite loads on a ring of a/b = 0.5: the series of Timoshenko & Goodier art. 43
    (number from memory). Over 2P/(pi b) the hoop stress in the bore is +10.1554 under the loads
    and -8.8988 across; outside, across, 2.928. E times the change of the bore's diameter over P
    is -8.797 and +6.211."""
    a, b, load = 40.0, 80.0, 1000.0
    material = Material("alloy", 70000.0, 0.3)
    curves = [*circle(0, a, "bore"), *circle(0, b, "outside")]
    answer = solve_outline(
        draw_plane(curves, between(a, b)), {"barrel": material}, {},
        forces={(b, 0): (-load * DEPTH, 0.0), (-b, 0): (load * DEPTH, 0.0)},
        fineness=0.5,
    )  # fmt: skip
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

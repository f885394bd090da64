"""The closed forms against outside numbers, and against statics and strain by differences.

Most printed values are recomputed from the formulas of the sources named beside them; no book
was at hand, so article and chart numbers are from memory.
"""

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from fea.closed_form import (
    annular_fin,
    composite_cylinder,
    cooled_plate,
    eccentric_bore_hoop,
    fitted_pressure,
    heated_ring,
    inglis_tip,
    joint_pressure,
    kirsch_plate,
    lame_ring,
    opposite_notches_factor,
    pin_in_hole,
    power_law_ring,
    ring_harmonic,
    rounded_punch,
    single_notch_factor,
    squeezed_ring,
    straight_fin,
    thin_squeezed_ring,
)

ALLOY = {"youngs_modulus": 70000.0, "poisson": 0.33}


def test_lame_ring_under_bore_pressure():
    """Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970, thick cylinder."""
    ring = lame_ring([50.0, 80.0], 50, 80, p_in=10, **ALLOY)
    assert ring.radial == pytest.approx([-10, 0], abs=1e-12)
    assert ring.hoop == pytest.approx([22.82051, 12.82051], abs=5e-6)
    assert ring.growth[0] == pytest.approx(0.01865751, abs=5e-9)


@pytest.mark.parametrize(
    ("p_in", "p_out", "hoop", "growth"),
    [
        pytest.param(10.0, 0.0, 30.8333, 0.0248810, id="pressure in the bore"),
        pytest.param(0.0, 10.0, -40.8333, -0.0291667, id="squeeze from outside"),
    ],
)
def test_lame_ring_at_poisson_of_two_fifths(p_in, p_out, hoop, growth):
    """Timoshenko & Goodier, thick cylinder; derived: a = 50, b = 70, E = 70 GPa, nu = 0.4."""
    ring = lame_ring(50, 50, 70, p_in=p_in, p_out=p_out, youngs_modulus=70000, poisson=0.4)
    assert ring.hoop == pytest.approx(hoop, abs=5e-5)
    assert ring.growth == pytest.approx(growth, abs=5e-8)


def test_compound_ring():
    """Lamé for each part (Timoshenko, Strength of Materials II): iron in alloy, 45/55/80."""
    q = joint_pressure(45, 55, 80, p_in=9, inner=(110000, 0.26), outer=(72000, 0.33))
    inner = lame_ring([45, 55], 45, 55, p_in=9, p_out=q, youngs_modulus=110000, poisson=0.26)
    outer = lame_ring([55, 80], 55, 80, p_in=q, youngs_modulus=72000, poisson=0.33)
    assert q == pytest.approx(3.812511, abs=5e-7)
    assert inner.hoop[0] == pytest.approx(22.38431, abs=5e-6)
    assert outer.hoop[0] == pytest.approx(10.64679, abs=5e-6)
    assert inner.growth[0] == pytest.approx(0.01011449, abs=5e-9)
    assert inner.growth[1] == pytest.approx(outer.growth[0], rel=1e-12)


def test_stepped_ring():
    """Derived from Lamé and the force through the step: t = 8 inside r = 60, 20 outside."""
    alloy = (70000, 0.33)
    q = joint_pressure(50, 60, 90, p_in=10, inner=alloy, outer=alloy, thickness_ratio=8 / 20)
    inner = lame_ring([50, 60], 50, 60, p_in=10, p_out=q, **ALLOY)
    outer = lame_ring([60, 90], 60, 90, p_in=q * 8 / 20, **ALLOY)
    assert q == pytest.approx(7.116222, abs=5e-7)
    assert inner.hoop[0] == pytest.approx(8.875637, abs=5e-7)
    assert inner.growth[0] == pytest.approx(0.008696884, abs=5e-10)
    assert outer.radial[0] == pytest.approx(-2.84649, abs=5e-6)
    assert inner.growth[1] == pytest.approx(outer.growth[0], rel=1e-12)


def test_joint_carries_outside_pressure():
    """One material and one thickness: the joint pressure is Lamé's radial stress there."""
    q = joint_pressure(50, 60, 90, p_in=4, p_out=7, inner=(7e4, 0.33), outer=(7e4, 0.33))
    assert q == pytest.approx(-float(lame_ring(60, 50, 90, p_in=4, p_out=7, **ALLOY).radial))


def test_power_law_ring():
    """Stodola, Steam and Gas Turbines, 1927: thickness falling as r^-1.5."""
    ring = power_law_ring([50, 70, 90], 50, 90, -1.5, p_in=10, **ALLOY)
    assert ring.hoop == pytest.approx([28.36525, 17.52823, 13.08205], abs=5e-6)
    assert ring.radial[[0, 2]] == pytest.approx([-10, 0], abs=1e-12)
    assert ring.growth[0] == pytest.approx(0.02261803, abs=5e-9)


def test_power_law_ring_of_one_thickness_is_lame():
    r = np.linspace(50, 90, 5)
    ring = power_law_ring(r, 50, 90, 0.0, p_in=10, p_out=3, **ALLOY)
    lame = lame_ring(r, 50, 90, p_in=10, p_out=3, **ALLOY)
    assert ring.hoop == pytest.approx(lame.hoop, rel=1e-12)
    assert ring.growth == pytest.approx(lame.growth, rel=1e-12)


def test_power_law_ring_against_its_differential_equation():
    """Derived: r² u'' + (1 + m) r u' + (nu m - 1) u = 0 solved as a boundary value problem."""
    m, nu, e, a, b = -1.5, 0.33, 70000.0, 50.0, 90.0

    def radial(r, u, slope):
        return e / (1 - nu**2) * (slope + nu * u / r)

    def slopes(r, y):
        return np.stack([y[1], (-(1 + m) * r * y[1] - (nu * m - 1) * y[0]) / r**2])

    def edges(at_a, at_b):
        return np.array([radial(a, *at_a) + 10, radial(b, *at_b)])

    r = np.linspace(a, b, 41)
    answer = solve_bvp(slopes, edges, r, np.zeros((2, r.size)), tol=1e-8)
    assert answer.sol(r)[0] == pytest.approx(
        power_law_ring(r, a, b, m, p_in=10, youngs_modulus=e, poisson=nu).growth, rel=1e-6
    )


def test_ring_under_second_order_pressure():
    """Michell 1899: p cos 2 theta of amplitude 10 in the bore of a 50/80 ring."""
    ring = ring_harmonic([50, 80], 0.0, 50, 80, 2, p_in=10, **ALLOY)
    assert ring.growth == pytest.approx([0.1147797, 0.1115069], abs=5e-8)
    assert ring.hoop[0] == pytest.approx(-94.1552, abs=5e-5)
    assert ring.radial == pytest.approx([-10, 0], abs=1e-9)


@pytest.mark.parametrize("n", [2, 3, 7, 40])
def test_harmonics_meet_the_pressure_on_both_edges(n):
    theta = 0.3 / n
    ring = ring_harmonic([50, 80], theta, 50, 80, n, p_in=4, p_out=-2, **ALLOY)
    assert ring.radial == pytest.approx(np.array([-4, 2]) * np.cos(n * theta), abs=1e-9)
    assert ring.shear == pytest.approx([0, 0], abs=1e-9)


def test_eccentric_bore():
    """Jeffery, Phil. Trans. R. Soc. A 221 (1921) 265-293: 50/80 with the bore 15 off centre."""
    inner, outer = eccentric_bore_hoop([np.pi, 0.0], 50, 80, 15, p_in=10)
    assert inner == pytest.approx([37.44414, 18.27770], abs=5e-6)
    assert outer == pytest.approx([36.06904, 5.40273], abs=5e-6)


def test_eccentric_bore_nearly_on_centre_is_lame():
    inner, outer = eccentric_bore_hoop([0.0, 1.0, 3.0], 50, 80, 1e-4, p_in=10, p_out=2)
    lame = lame_ring([50, 80], 50, 80, p_in=10, p_out=2, **ALLOY)
    assert inner == pytest.approx(np.full(3, lame.hoop[0]), rel=1e-4)
    assert outer == pytest.approx(np.full(3, lame.hoop[1]), rel=1e-4)


def test_kirsch_hole():
    """Kirsch 1898; the movement of the hole's edge is the same for any nu."""
    for nu in (0.0, 0.3, 0.4):
        hole = kirsch_plate(1, [0, np.pi / 2], 1, 1, youngs_modulus=1, poisson=nu)
        assert hole.hoop == pytest.approx([-1, 3])
        assert hole.growth == pytest.approx([3, -1])
        assert hole.radial == pytest.approx([0, 0], abs=1e-12)


def test_inglis_tip():
    """Inglis 1913."""
    assert inglis_tip(1, 2, 1) == 5
    assert inglis_tip(1, 1, 2) == 2


def test_squeezed_ring():
    """Series for a/b = 0.5 over 2P/(pi b); Timoshenko & Goodier art. 43 (from memory) tabulates
    about 10.147 and -8.942. The outer value (2.928) is from finite elements elsewhere."""
    ring = squeezed_ring(
        [0.5, 0.5, 1.0], [0, np.pi / 2, np.pi / 2], 0.5, 1.0, np.pi / 2,
        youngs_modulus=1.0, poisson=0.3,
    )  # fmt: skip
    assert ring.hoop[:2] == pytest.approx([10.1554, -8.8988], abs=5e-5)
    assert ring.hoop[2] == pytest.approx(2.928, abs=5e-4)
    assert 2 * ring.growth[:2] / (np.pi / 2) == pytest.approx([-8.797, 6.211], abs=5e-4)


def test_squeezed_ring_is_free_beside_the_loads():
    theta = np.linspace(0.02, np.pi - 0.02, 9)
    for r in (30.0, 60.0):
        ring = squeezed_ring(r, theta, 30, 60, 100, **ALLOY)
        assert ring.radial == pytest.approx(np.zeros(9), abs=1e-9)
        assert ring.shear == pytest.approx(np.zeros(9), abs=1e-9)


def test_squeezed_ring_carries_half_the_load_each_side():
    """Statics: the cut at 90 degrees carries P/2 in compression."""
    nodes, weights = np.polynomial.legendre.leggauss(30)
    ring = squeezed_ring(45 + 15 * nodes, np.pi / 2, 30, 60, 100, **ALLOY)
    assert 15 * weights @ ring.hoop == pytest.approx(-50, rel=1e-9)


def test_thin_squeezed_ring():
    """Timoshenko, Strength of Materials; Roark's ring table (from memory)."""
    ring = thin_squeezed_ring(radius=1, wall=12 ** (1 / 3), load=1, youngs_modulus=1)
    assert ring.moment_at_load == pytest.approx(0.3183, abs=5e-5)
    assert ring.moment_across == pytest.approx(-0.1817, abs=5e-5)
    assert ring.diameter_along == pytest.approx(-0.1488, abs=5e-5)
    assert ring.diameter_across == pytest.approx(0.1366, abs=5e-5)


def test_thick_series_becomes_the_thin_ring():
    """Wall 1/60 of the radius: the two answers agree to 1 %."""
    thin = thin_squeezed_ring(radius=60, wall=1, load=1, youngs_modulus=70000)
    thick = squeezed_ring(60.0, [0, np.pi / 2], 59.5, 60.5, 1, **ALLOY)
    assert 2 * thick.growth == pytest.approx([thin.diameter_along, thin.diameter_across], rel=0.01)


@pytest.mark.parametrize(("width", "factor"), [(5, 1.8636), (10, 2.4142), (4, 1.6319)])
def test_opposite_notches(width, factor):
    """Pilkey, Peterson's Stress Concentration Factors, chart 2.3."""
    assert opposite_notches_factor(1, width) == pytest.approx(factor, abs=5e-5)


def test_vanishing_notch():
    """Ling 1947: one semicircular notch in a half-plane, 3.065."""
    assert opposite_notches_factor(1e-9, 1) == pytest.approx(3.065)
    assert single_notch_factor(1e-9, 1) == pytest.approx(3.065)


@pytest.mark.parametrize(
    ("width", "elsewhere", "tolerance"), [(4, 1.6117, 0.001), (10, 2.2022, 0.05)]
)
def test_single_notch(width, elsewhere, tolerance):
    """Pilkey, chart 2.9, against finite elements elsewhere; the chart is 5 % high at D = 10 r."""
    assert single_notch_factor(1, width) == pytest.approx(elsewhere, rel=tolerance)


FIELDS = {
    "kirsch": lambda r, th: kirsch_plate(r, th, 20.0, 8.0, **ALLOY),
    "order 2": lambda r, th: ring_harmonic(r, th, 20, 50, 2, p_in=3, p_out=1, **ALLOY),
    "order 5": lambda r, th: ring_harmonic(r, th, 20, 50, 5, p_in=3, p_out=1, **ALLOY),
    "squeezed ring": lambda r, th: squeezed_ring(r, th, 20, 50, 100, **ALLOY),
}


@pytest.mark.parametrize("name", FIELDS)
def test_displacement_belongs_to_the_stress(name):
    """Plane-stress Hooke's law with strains by central differences."""
    field, r, th, h = FIELDS[name], np.array([23.0, 34.0, 41.0]), 0.7, 1e-4
    here = field(r, th)
    out, back = field(r + h, th), field(r - h, th)
    left, right = field(r, th + h), field(r, th - h)
    e, nu = ALLOY["youngs_modulus"], ALLOY["poisson"]
    radial_strain = (out.growth - back.growth) / (2 * h)
    hoop_strain = (here.growth + (left.sliding - right.sliding) / (2 * h)) / r
    shear_strain = (
        (left.growth - right.growth) / (2 * h * r)
        + (out.sliding - back.sliding) / (2 * h)
        - here.sliding / r
    )
    assert e * radial_strain == pytest.approx(here.radial - nu * here.hoop, abs=2e-4)
    assert e * hoop_strain == pytest.approx(here.hoop - nu * here.radial, abs=2e-4)
    assert e * shear_strain == pytest.approx(2 * (1 + nu) * here.shear, abs=2e-4)


@pytest.mark.parametrize("name", FIELDS)
def test_stress_is_in_equilibrium(name):
    """d(r sr)/dr + d(tau)/d(theta) = s_theta, and d(r² tau)/dr + r d(s_theta)/d(theta) = 0."""
    field, r, th, h = FIELDS[name], np.array([23.0, 34.0, 41.0]), 0.7, 1e-4
    out, back = field(r + h, th), field(r - h, th)
    left, right = field(r, th + h), field(r, th - h)
    along_r = ((r + h) * out.radial - (r - h) * back.radial) / (2 * h)
    turn = (left.shear - right.shear) / (2 * h)
    assert along_r + turn == pytest.approx(field(r, th).hoop, abs=1e-5)
    moment = ((r + h) ** 2 * out.shear - (r - h) ** 2 * back.shear) / (2 * h)
    around = r * (left.hoop - right.hoop) / (2 * h)
    assert moment + around == pytest.approx(np.zeros(3), abs=1e-3)


def test_fitted_rings_by_the_sources_numbers():
    """Timoshenko 1956 (from memory); a pin in a hub (metricmech.com); an iron disc after Ugural."""
    steel = (210_000.0, 0.3)
    psi = {"inner": (30e6, 0.3), "outer": (30e6, 0.3)}
    assert fitted_pressure(4, 6, 8, overlap=0.005, **psi) == pytest.approx(4050.9, abs=0.1)
    hub = fitted_pressure(0, 12.5, 25, overlap=0.01, inner=steel, outer=steel)
    assert hub == pytest.approx(63.0, abs=0.01)
    disc = fitted_pressure(25, 50, 125, overlap=0.03238, inner=steel, outer=(70_000.0, 0.25))
    assert disc == pytest.approx(21.724, abs=4e-3)


@pytest.mark.parametrize("half_angle", [0.3, 0.8, 1.4])
def test_pin_in_a_hole_by_a_series_for_both_bodies(half_angle):
    """The pressure of the source, its load, and the gap that it closes (derived).

    Pressure p_n cos n theta narrows a disc and widens a hole of one material by 4 n R p_n /
    (E (n^2 - 1)) together, and by 2 R p_0 / E for n = 0 (Michell); n = 1 moves the pin. What is
    closed must be the clearance less the approach times cos theta.
    """
    pin = pin_in_hole(half_angle, radius=1.0, clearance=1.0, youngs_modulus=1.0)
    b = np.tan(half_angle / 2)
    turn = (np.arange(40_000) + 0.5) / 40_000 * np.pi - np.pi / 2
    angle, weight = half_angle * np.sin(turn), half_angle * np.cos(turn) * np.pi / 40_000
    y, root = np.tan(angle / 2), np.sqrt(b**2 + 1)
    flank = np.sqrt(np.maximum(b**2 - y**2, 0))
    p = 2 * flank / (np.pi * root * (1 + y**2))
    p += np.log((root + flank) / (root - flank)) / (2 * np.pi * b**2 * root**2)
    assert pin.peak / pin.load == pytest.approx(p.max(), rel=1e-6)
    assert (p * np.cos(angle) * weight).sum() == pytest.approx(1, rel=1e-8)
    at = np.linspace(0, 0.9 * half_angle, 9)
    closed = np.full(9, (p * weight).sum() / np.pi)
    for n in range(2, 400):
        p_n = (p * np.cos(n * angle) * weight).sum() / np.pi
        closed += 4 * n / (n**2 - 1) * p_n * np.cos(n * at)
    (approach, clearance), rest, *_ = np.linalg.lstsq(
        np.stack([np.cos(at), -np.ones(9)], axis=1), closed, rcond=None
    )
    assert rest[0] < 1e-7
    assert approach > clearance
    assert clearance * pin.load == pytest.approx(1, rel=2e-3)


@pytest.mark.parametrize("share", [0.5, 0.8, 0.9])
def test_rounded_punch_by_a_series_for_the_half_plane(share):
    """The load, and the gap that its pressure closes (derived).

    A half-plane in plane stress sinks under p by -2 / (pi E) times the integral of p ln|x - s|;
    ln|x - s| is -ln 2 less the sum of 2 / n T_n(x) T_n(s), lengths in half widths of contact.
    """
    punch = rounded_punch(share, radius=1.0, half_width=1.0, youngs_modulus=1.0)
    turn = (np.arange(20_000) + 0.5) / 20_000 * np.pi
    p = punch.pressure(np.cos(turn)) * np.sin(turn) * np.pi / 20_000
    assert p.sum() == pytest.approx(punch.load, rel=1e-6)
    x = np.linspace(0, 0.98, 12)
    closed = np.zeros(12)
    for n in range(1, 800):
        here = np.cos(n * np.arccos(x)) - np.cos(n * np.pi / 2)
        closed -= 4 / np.pi * 2 / n * (p * np.cos(n * turn)).sum() * here
    gap = np.maximum(x - share, 0) ** 2 / 2
    assert closed == pytest.approx(gap, abs=2e-5)
    at_peak, peak = {0.5: (0.6369, 0.670453), 0.8: (0.8593, 0.958303), 0.9: (0.9301, 1.316371)}[
        share
    ]
    assert punch.pressure(at_peak) / punch.load == pytest.approx(peak, rel=1e-5)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: rounded_punch(5, 50, 5, 7e4), "flat = 5 mm must lie between 0 and 5 mm"),
        (lambda: lame_ring(1, 80, 50, p_in=1, **ALLOY), "a = 80, b = 50"),
        (
            lambda: joint_pressure(45, 85, 80, p_in=9, inner=(1, 0), outer=(1, 0)),
            "a = 45, c = 85, b = 80",
        ),
        (
            lambda: fitted_pressure(0, 5, 4, overlap=0.1, inner=(1, 0), outer=(1, 0)),
            "c = 5, b = 4",
        ),
        (lambda: pin_in_hole(1.6, 10, 0.1, 7e4), "half_angle = 1.6 rad is wider"),
        (lambda: ring_harmonic(1, 0, 1, 2, 1, **ALLOY), "n must be 2 or more, but got 1"),
        (lambda: eccentric_bore_hoop(0, 50, 80, 30), "offset = 30 mm must be above 0 and below 30"),
        (lambda: opposite_notches_factor(2, 4), "2 r / D = 1 must be"),
        (lambda: single_notch_factor(5, 4), "r / D = 1.25 must be"),
    ],
)
def test_impossible_shapes_are_refused(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_heated_ring():
    """Timoshenko & Goodier, Theory of Elasticity, 3rd ed., 1970, thermal stress; Roark (from
    memory): 50/80 mm, 100 K, plane stress."""
    ring = heated_ring([50, 80], 50, 80, 100, expansion=22e-6, **ALLOY)
    assert ring.hoop == pytest.approx([-88.8894, 65.1106], abs=5e-5)
    assert ring.radial == pytest.approx([0, 0], abs=1e-12)
    assert ring.growth[0] == pytest.approx(0.04650756, abs=1e-8)


def test_heated_ring_is_in_equilibrium_and_fits_together():
    """d(r s_r)/dr = s_t; strain from Hooke's law and alpha T is that of the growth."""
    r = np.linspace(50, 80, 4001)
    e, nu, alpha = 70000.0, 0.33, 22e-6
    ring = heated_ring(r, 50, 80, 100, expansion=alpha, **ALLOY)
    inner = slice(5, -5)
    slope = np.gradient(r * ring.radial, r)
    assert slope[inner] == pytest.approx(ring.hoop[inner], abs=1e-3)
    warmth = 100 * np.log(80 / r) / np.log(80 / 50)
    radial_strain = (ring.radial - nu * ring.hoop) / e + alpha * warmth
    assert np.gradient(ring.growth, r)[inner] == pytest.approx(radial_strain[inner], abs=1e-9)


def test_rings_that_shrink_onto_one_another():
    """Lamé with a misfit: iron in alloy, 45/55/80, cooled by 80 K (check value derived twice)."""
    rings = {"inner": (110000, 0.26), "outer": (72000, 0.33)}
    cold = {"expansion": (12e-6, 22e-6), "rise": (-80, -80)}
    q = fitted_pressure(45, 55, 80, overlap=0, **rings, **cold)
    assert q == pytest.approx(9.20442, abs=5e-6)
    inner = lame_ring([45, 55], 45, 55, p_out=q, youngs_modulus=110000, poisson=0.26)
    outer = lame_ring(55, 55, 80, p_in=q, youngs_modulus=72000, poisson=0.33)
    assert inner.growth[0] - 45 * 12e-6 * 80 == pytest.approx(-0.0659809, abs=5e-8)
    misfit = 55 * (12e-6 - 22e-6) * -80
    assert outer.growth - inner.growth[1] == pytest.approx(misfit)


def test_composite_cylinder():
    """Incropera & DeWitt, radial systems: the heat through each resistance is the same."""
    films = {"inside": (6e-4, 900.0), "outside": (3e-3, 90.0)}
    wall = composite_cylinder([50, 56, 70], [0.05, 0.15], contact_resistance=50.0, **films)
    assert wall.heat == pytest.approx(119.07129, abs=5e-6)
    (a, b), (c, d) = wall.faces
    assert [a, b, c, d] == pytest.approx([268.307, 225.354, 208.433, 180.242], abs=6e-4)
    through = [
        6e-4 * 2 * np.pi * 50 * (900 - a),
        2 * np.pi * 0.05 * (a - b) / np.log(56 / 50),
        2 * np.pi * 56 * (b - c) / 50,
        2 * np.pi * 0.15 * (c - d) / np.log(70 / 56),
        3e-3 * 2 * np.pi * 70 * (d - 90),
    ]
    assert through == pytest.approx([wall.heat] * 5, rel=1e-12)
    bare = composite_cylinder([50, 70], [0.15], **films)
    assert len(bare.faces) == 1


def test_fins():
    """Incropera & DeWitt: tip 1 / cosh(m L) (table 3.4, case B), and a round plate, 90 degC."""
    assert straight_fin(40.0, 40.0, 0.05) == pytest.approx(1 / np.cosh(2.0), rel=1e-12)
    m = np.sqrt(2 * 2e-3 / (0.15 * 10))
    assert 90 + 90 * annular_fin(60, 50, 90, m) == pytest.approx(141.1093, abs=5e-5)
    # a round fin on a very wide hole is a straight one
    x = np.array([0.0, 10.0, 40.0])
    narrow = annular_fin(1e4 + x, 1e4, 1e4 + 40, m)
    assert narrow == pytest.approx(straight_fin(x, 40.0, m), rel=3e-3)


def test_cooled_plate():
    """NAFEMS TNSB Rev 3, 1990, T4: 18.3 degC, its series 18.253757."""
    biot = 750 * 0.6 / 52
    found = 100 * cooled_plate(600, 200, 600, 1000, biot)
    assert found == pytest.approx(18.253757, abs=1e-6)
    assert found == pytest.approx(18.3, abs=0.05)
    # the film on the right: -k dT/dx = h T, by differences
    near = [cooled_plate(600 - d, 300, 600, 1000, biot) for d in (0.0, 0.5, 1.0)]
    slope = (3 * near[0] - 4 * near[1] + near[2]) / 1.0
    assert -slope == pytest.approx(biot / 600 * near[0], rel=1e-4)

"""Plates with a hole or a notch, against closed forms, published values and charts."""

from __future__ import annotations

import numpy as np
import pytest

from fea.closed_form import inglis_tip, kirsch_plate, opposite_notches_factor
from fea.material import Material
from geometry.planar import arc, line, smooth_curve
from geometry.section_mesh import UniformDepth

pytestmark = pytest.mark.verification

DEPTH = 10.0
ALLOY = Material("alloy", 70000.0, 0.33)
SYMMETRY = {"x = 0": "x", "y = 0": "y"}
QUARTER = np.pi / 2
FINE = 0.25
"""A quarter of the default element size: one degree and a half of arc at a hole's edge."""


def ellipse(along_x: float, along_y: float, tag: str, gaps: int):
    """A quarter from the x axis to the y axis in tangent arcs."""
    t = np.linspace(0, QUARTER, gaps + 1)
    points = along_x * np.cos(t) + 1j * along_y * np.sin(t)
    points[-1] = 1j * along_y
    tangents = -along_x * np.sin(t) + 1j * along_y * np.cos(t)
    tangents[-1] = -1
    return smooth_curve(points, tangents / np.abs(tangents), tag)


def metal(inside):
    return lambda z: ("barrel", UniformDepth(DEPTH)) if inside(z.real, z.imag) else None


def test_kirsch_hole(draw_plane, solve_outline):
    """A quarter of a square of half-width 4 a, with the tractions that Kirsch's field has on the
    cuts (Kirsch 1898; Timoshenko & Goodier art. 35, number from memory): 3 S above the hole, -S
    beside it, and the hole's edge moves by 3 S a / E and -S a / E."""
    a, half, pull = 10.0, 40.0, 50.0
    plane = {"youngs_modulus": 70000.0, "poisson": 0.33}

    def cut_traction(x, y, nx, ny):
        field = kirsch_plate(np.hypot(x, y), np.arctan2(y, x), a, pull, **plane)
        c, s = np.array([x, y]) / np.hypot(x, y)
        sxx = field.radial * c**2 + field.hoop * s**2 - 2 * field.shear * s * c
        syy = field.radial * s**2 + field.hoop * c**2 + 2 * field.shear * s * c
        sxy = (field.radial - field.hoop) * s * c + field.shear * (c**2 - s**2)
        return DEPTH * np.stack([sxx * nx + sxy * ny, sxy * nx + syy * ny])

    outline = draw_plane(
        [
            *arc(0, a, 0, QUARTER, "hole"),
            line(a, half, "y = 0"),
            line(half, half + 1j * half, "cut"),
            line(half + 1j * half, 1j * half, "cut"),
            line(1j * half, 1j * a, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half and 0 < y < half and np.hypot(x, y) > a),
    )
    answer = solve_outline(
        outline, {"barrel": ALLOY}, {"cut": cut_traction}, SYMMETRY, fineness=FINE
    )

    beside, above = answer.node_at(a, 0), answer.node_at(0, a)
    assert answer.stress(above)[0] / pull == pytest.approx(3, rel=2e-3)
    assert answer.stress(beside)[1] / pull == pytest.approx(-1, abs=6e-3)
    u = answer.solution.displacement * 70000 / (pull * a)
    assert u[beside, 0] == pytest.approx(3, rel=1e-4)
    assert u[above, 1] == pytest.approx(-1, rel=3e-4)
    x, y = answer.points.T
    exact = kirsch_plate(np.hypot(x, y), np.arctan2(y, x), a, pull, **plane)
    assert answer.displacement_error(exact.growth, exact.sliding) < 1e-4
    assert np.abs(answer.polar(np.arange(len(x)))[1] - exact.hoop).max() < 2e-3 * 3 * pull


def test_inglis_hole(draw_plane, solve_outline):
    """An ellipse of half-axes 20 across the pull and 10 along it, in a plate of half-width 800:
    5 S at the tip (Inglis 1913). The plate's finite width adds 0.03 %; that the ellipse is drawn in
    arcs, whose curvature jumps by 1 % beside the tip, scatters the answer by 0.5 %."""
    across, along, half = 20.0, 10.0, 800.0
    outline = draw_plane(
        [
            *ellipse(across, along, "hole", 24),
            line(across, half, "y = 0"),
            line(half, half + 1j * half, "side"),
            line(half + 1j * half, 1j * half, "pulled"),
            line(1j * half, 1j * along, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half and 0 < y < half and np.hypot(x / across, y / along) > 1),
    )
    answer = solve_outline(
        outline, {"barrel": ALLOY}, {"pulled": lambda _x, _y, nx, ny: DEPTH * np.stack([nx, ny])},
        SYMMETRY, fineness=FINE, element_size=160,
    )  # fmt: skip
    assert answer.stress(answer.node_at(across, 0))[1] == pytest.approx(
        inglis_tip(1, across, along), rel=1e-2
    )


def test_elliptic_membrane(draw_plane, solve_outline):
    """NAFEMS, The Standard NAFEMS Benchmarks, TNSB Rev 3, 1990, LE1: published 92.7 MPa at D;
    converged elsewhere for the same problem 92.658. Lengths in dm for the metres of the book."""
    outline = draw_plane(
        [
            *ellipse(20, 10, "hole", 24),
            line(20, 32.5, "y = 0"),
            *ellipse(32.5, 27.5, "outside", 24),
            line(27.5j, 10j, "x = 0"),
        ],
        metal(
            lambda x, y: (
                x > 0 and y > 0 and np.hypot(x / 20, y / 10) > 1 > np.hypot(x / 32.5, y / 27.5)
            )
        ),
    )
    answer = solve_outline(
        outline,
        {"barrel": Material("steel", 210000.0, 0.3)},
        {"outside": lambda _x, _y, nx, ny: 10 * DEPTH * np.stack([nx, ny])},
        SYMMETRY,
        fineness=FINE / 2,
    )
    at_d = float(answer.stress(answer.node_at(20, 0))[1, 0])
    assert at_d == pytest.approx(92.658, rel=2e-3)
    assert at_d == pytest.approx(92.7, rel=1e-2)


def notched_plate(draw_plane, radius: float, width: float, half_length: float):
    """Plate pulled along x, symmetric about x = 0, with a semicircular notch at the origin in its
    upper edge."""
    corner = half_length - 1j * width
    return draw_plane(
        [
            *arc(0, radius, -QUARTER, 0, "notch"),
            line(radius, half_length, "upper"),
            line(half_length, corner, "pulled"),
            line(corner, -1j * width, "lower"),
            line(-1j * width, -1j * radius, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half_length and -width < y < 0 and np.hypot(x, y) > radius),
    )


def test_edge_notch_in_a_half_plane(draw_plane, solve_outline):
    """A semicircular notch in the edge of a plate 80 radii wide: 3.065 times the pull in a
    half-plane (Ling 1947; Pilkey, Peterson's Stress Concentration Factors); converged finite
    elements elsewhere on plates of 60 to 80 radii give 3.061 to 3.070."""
    answer = solve_outline(
        notched_plate(draw_plane, 10.0, 800.0, 800.0), {"barrel": ALLOY},
        {"pulled": lambda _x, _y, nx, ny: DEPTH * np.stack([nx, ny])}, {"x = 0": "x"},
        fineness=FINE, element_size=160,
    )  # fmt: skip
    assert answer.stress(answer.node_at(0, -10))[0] == pytest.approx(3.065, rel=1e-2)


@pytest.mark.parametrize(
    ("width", "elsewhere"),
    [pytest.param(50.0, 1.8635, id="D 5r"), pytest.param(100.0, 2.4263, id="D 10r")],
)
def test_opposite_edge_notches(draw_plane, solve_outline, width, elsewhere):
    """Strip with two opposite semicircular notches, stress over the mean of the net section:
    Pilkey, chart 2.3, good to 0.6 %; converged finite elements elsewhere beside it."""
    half = width / 2
    answer = solve_outline(
        notched_plate(draw_plane, 10.0, half, 2.5 * width), {"barrel": ALLOY},
        {"pulled": lambda _x, _y, nx, ny: DEPTH * np.stack([nx, ny])},
        {"x = 0": "x", "lower": "y"}, fineness=FINE / 2, element_size=16,
    )  # fmt: skip
    factor = float(answer.stress(answer.node_at(0, -10))[0, 0]) * (width - 20) / width
    assert factor == pytest.approx(elsewhere, rel=2e-3)
    assert factor == pytest.approx(opposite_notches_factor(10, width), rel=7e-3)

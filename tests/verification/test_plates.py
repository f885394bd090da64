"""Plates with a hole or a notch, against closed forms, published values and charts.

The problems are posed in :mod:`cases.check.sections`.
"""

from __future__ import annotations

import numpy as np
import pytest

from cases.check import sections as problems
from fea.closed_form import inglis_tip, kirsch_plate, opposite_notches_factor

pytestmark = pytest.mark.verification

FINE = 0.25
"""A quarter of the default element size: one degree and a half of arc at a hole's edge."""


def test_kirsch_hole(displacement_error):
    """A quarter of a square of half-width 4 a, with the tractions that Kirsch's field has on the
    cuts (Kirsch 1898; Timoshenko & Goodier art. 35, number from memory): 3 S above the hole, -S
    beside it, and the hole's edge moves by 3 S a / E and -S a / E."""
    a, pull = 10.0, 50.0
    plane = {"youngs_modulus": 70000.0, "poisson": 0.33}
    answer = problems.kirsch_hole(FINE)

    beside, above = answer.node_at(a, 0), answer.node_at(0, a)
    assert answer.stress(above)[0] / pull == pytest.approx(3, rel=2e-3)
    assert answer.stress(beside)[1] / pull == pytest.approx(-1, abs=6e-3)
    u = answer.solution.displacement * 70000 / (pull * a)
    assert u[beside, 0] == pytest.approx(3, rel=1e-4)
    assert u[above, 1] == pytest.approx(-1, rel=3e-4)
    x, y = answer.points.T
    exact = kirsch_plate(np.hypot(x, y), np.arctan2(y, x), a, pull, **plane)
    assert displacement_error(answer, exact.growth, exact.sliding) < 1e-4
    assert np.abs(answer.polar(np.arange(len(x)))[1] - exact.hoop).max() < 2e-3 * 3 * pull


def test_inglis_hole():
    """An ellipse of half-axes 20 across the pull and 10 along it, in a plate of half-width 800:
    5 S at the tip (Inglis 1913). The plate's finite width adds 0.03 %; that the ellipse is drawn in
    arcs, whose curvature jumps by 1 % beside the tip, scatters the answer by 0.5 %."""
    across, along = 20.0, 10.0
    answer = problems.inglis_hole(across, along, FINE)
    assert answer.stress(answer.node_at(across, 0))[1] == pytest.approx(
        inglis_tip(1, across, along), rel=1e-2
    )


def test_elliptic_membrane():
    """NAFEMS, The Standard NAFEMS Benchmarks, TNSB Rev 3, 1990, LE1: published 92.7 MPa at D;
    converged elsewhere for the same problem 92.658. Lengths in dm for the metres of the book."""
    answer = problems.elliptic_membrane(FINE / 2)
    at_d = float(answer.stress(answer.node_at(20, 0))[1, 0])
    assert at_d == pytest.approx(92.658, rel=2e-3)
    assert at_d == pytest.approx(92.7, rel=1e-2)


def test_edge_notch_in_a_half_plane():
    """A semicircular notch in the edge of a plate 80 radii wide: 3.065 times the pull in a
    half-plane (Ling 1947; Pilkey, Peterson's Stress Concentration Factors); converged finite
    elements elsewhere on plates of 60 to 80 radii give 3.061 to 3.070."""
    answer = problems.edge_notch(FINE)
    assert answer.stress(answer.node_at(0, -10))[0] == pytest.approx(3.065, rel=1e-2)


@pytest.mark.parametrize(
    ("width", "elsewhere"),
    [pytest.param(50.0, 1.8635, id="D 5r"), pytest.param(100.0, 2.4263, id="D 10r")],
)
def test_opposite_edge_notches(width, elsewhere):
    """Strip with two opposite semicircular notches, stress over the mean of the net section:
    Pilkey, chart 2.3, good to 0.6 %; converged finite elements elsewhere beside it."""
    answer = problems.opposite_notches(width, FINE / 2)
    factor = float(answer.stress(answer.node_at(0, -10))[0, 0]) * (width - 20) / width
    assert factor == pytest.approx(elsewhere, rel=2e-3)
    assert factor == pytest.approx(opposite_notches_factor(10, width), rel=7e-3)

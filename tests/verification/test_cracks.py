"""Stress intensity of cracks against published values.

The problems are posed in :mod:`cases.check.cracks`. K is set over the stress times the root of
pi times the length. Where a source was not at hand, its values are from memory, and say so.
"""

from __future__ import annotations

import numpy as np
import pytest

from cases.check import cracks as crack_problems

pytestmark = pytest.mark.verification

SHARES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)
WALL = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7)


@pytest.mark.parametrize(
    ("bending", "factors"),
    [
        pytest.param(False, [1.1892, 1.3673, 1.6599, 2.1114, 2.8246, 4.0332, 6.3549], id="tension"),
        pytest.param(True, [1.0472, 1.0553, 1.1241, 1.2606, 1.4972, 1.9140, 2.7252], id="bending"),
    ],
)
def test_edge_crack(bending, factors):
    """Kaya & Erdogan, *Int. J. Fract.* 16 (1980) 171-190 (values from memory), a long plate whose
    ends are free to turn. The polynomials in handbooks are up to 0.7 % off."""
    answer = crack_problems.edge_crack(SHARES, bending)
    assert answer.shape_factor(1.0) == pytest.approx(factors, rel=3e-3)


def test_short_edge_crack():
    """K = 1.1215 stress sqrt(pi a) as the crack gets short beside the plate (Tada, Paris & Irwin,
    *The Stress Analysis of Cracks Handbook*, from memory)."""
    answer = crack_problems.edge_crack([0.01])
    assert answer.shape_factor(1.0) == pytest.approx(1.1215, rel=5e-3)


def test_centre_crack():
    """Tada's fit, (1 - 0.025 s^2 + 0.06 s^4) sqrt(sec(pi s / 2)), said to be within 0.1 % for any
    share s of the width (Tada, Paris & Irwin, from memory)."""
    s = np.array([0.1, 0.2, 0.4, 0.5, 0.6, 0.8])
    fit = (1 - 0.025 * s**2 + 0.06 * s**4) / np.sqrt(np.cos(np.pi * s / 2))
    assert crack_problems.centre_crack(s).shape_factor(1.0) == pytest.approx(fit, rel=2e-3)


def test_hole_with_two_cracks():
    """Newman, NASA TN D-6376 (1971) (values from memory); K over the root of pi (R + c)."""
    tips = np.array([1.1, 1.2, 1.5, 2.0, 2.5, 3.0])
    factors = crack_problems.hole_with_cracks(tips - 1, both=True).shape_factor(1.0, tips)
    assert factors == pytest.approx([0.84, 0.9851, 1.0582, 1.0409, 1.0252, 1.0161], rel=2e-3)


def test_hole_with_one_crack():
    """Bowie, *J. Math. Phys.* 35 (1956) 60-71 (problem); a polynomial fit in R / (R + c) found in a
    lecture's notes, and finite elements elsewhere, which it meets within 0.6 %."""
    lengths = np.array([0.1, 0.2, 0.5, 1.0, 2.0])
    factors = crack_problems.hole_with_cracks(lengths, both=False).shape_factor(1.0)
    s = 1 / (1 + lengths)
    fit = np.polynomial.polynomial.polyval(s, [0.7071, 0.7548, 0.3415, 0.6420, 0.9196])
    assert factors == pytest.approx(fit, rel=7e-3)
    assert factors == pytest.approx([2.7728, 2.3747, 1.7280, 1.3063, 1.0309], rel=2e-3)


def test_slanted_edge_crack():
    """45 degrees to the edge of a half-plane: K_I = 0.7049, K_II = 0.3645 stress sqrt(pi a)
    (Murakami, *Stress Intensity Factors Handbook*, 1987, from memory). It sees the sign and size
    of the sliding."""
    answer = crack_problems.slanted_edge_crack()
    (found,) = answer.found
    assert answer.shape_factor(1.0) == pytest.approx(0.7049, rel=4e-3)
    assert found.k2 / np.sqrt(np.pi * answer.lengths) == pytest.approx(0.3645, rel=4e-3)
    assert found.kink_deg == pytest.approx(-41, abs=1)  # back towards normal to the pull


@pytest.mark.parametrize(
    ("outside", "gas", "factors"),
    [
        (75, True, [3.970, 4.004, 4.248, 4.642, 5.141, 5.722, 6.365, 7.052]),
        (75, False, [2.851, 2.860, 3.003, 3.251, 3.573, 3.949, 4.364, 4.806]),
        (100, True, [2.850, 2.790, 2.785, 2.856, 2.971, 3.122, 3.311, 3.565]),
        (100, False, [1.749, 1.683, 1.627, 1.622, 1.647, 1.693, 1.761, 1.860]),
    ],
)
def test_bore_crack_of_a_ring(outside, gas, factors):
    """Pressure in the bore of a ring 50/75 or 50/100 mm, with and without gas in the crack: the
    problem of Bowie & Freese, *Eng. Fract. Mech.* 4 (1972) 315-321; the values are those of finite
    elements elsewhere, by a domain integral (no published table was found)."""
    answer = crack_problems.cracked_ring(outside, WALL, gas)
    assert answer.shape_factor(1.0) == pytest.approx(factors, rel=5e-3)


def test_short_bore_crack():
    """derived: a crack that is short beside the bore sees the hoop stress of Lamé there, and the
    gas on its faces as well: K = 1.1215 ((w^2 + 1) / (w^2 - 1) + 1) p sqrt(pi l), w = b / a."""
    for gas in (True, False):
        answer = crack_problems.cracked_ring(100, [0.001], gas)
        assert answer.shape_factor(1.0) == pytest.approx(1.1215 * (5 / 3 + gas), rel=4e-3)


@pytest.mark.parametrize("outside", [75, 100])
def test_gas_everywhere_inside_is_pull_outside(outside):
    """derived: bore and crack under pressure differ from a ring that is pulled outside by the
    same pressure on all sides, which gives no K."""
    shares = (0.1, 0.3, 0.6)
    gas = crack_problems.cracked_ring(outside, shares, True).k1
    pull = crack_problems.cracked_ring(outside, shares, False, pull=True).k1
    assert gas == pytest.approx(pull, rel=5e-4)
    assert gas[1] / np.sqrt(np.pi * 0.3 * 50) == pytest.approx(2.856, rel=2e-3) or outside == 75

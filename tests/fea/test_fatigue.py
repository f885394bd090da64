"""Fatigue: mean-stress lines, criteria, Basquin's line, what weakens metal, and what is refused."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.material import Fatigue, Material
from fea.strength import (
    CRITERIA,
    MEAN_LINES,
    allowed_amplitude,
    basquin_exponent,
    cycles_to_failure,
    largest_principal,
    reversed_amplitude,
    signed_von_mises,
    strength_at,
    temperature_share,
)

TENSILE = 262.0
SWT = "Smith-Watson-Topper"
ALLOY = Material(
    "alloy",
    70_000.0,
    0.33,
    yield_points=((20.0, 180.0), (150.0, 120.0)),
    tensile_points=((20.0, 240.0), (150.0, 180.0)),
    fatigue=Fatigue(80.0, 1e8, -0.09, 0.15),
    cast=True,
)
amplitudes = st.floats(1e-3, 300)
strengths = st.floats(20, 300)
exponents = st.floats(-0.3, -0.04)


# Dowling, Mechanical Behavior of Materials, ch. 9 (formulas from memory), worked out
@pytest.mark.parametrize(
    ("line", "amplitude"), [("Goodman", 64.851), ("Gerber", 52.767), (SWT, 74.162)]
)
def test_mean_stress_of_a_textbook(line, amplitude):
    assert reversed_amplitude(50.0, 60.0, line, TENSILE) == pytest.approx(amplitude, abs=5e-4)


@pytest.mark.parametrize("line", MEAN_LINES)
def test_without_a_mean_the_amplitude_stays(line):
    amplitude = np.array([0.0, 1.0, 70.0])
    np.testing.assert_allclose(reversed_amplitude(amplitude, 0.0, line, TENSILE), amplitude)


@given(amplitudes, st.floats(-300, 250))
def test_smith_watson_topper_is_walker_with_half(amplitude, mean):
    """Walker 1970: s_max^(1 - g) s_a^g; also s_max ((1 - R) / 2)^g (Dowling, from memory)."""
    largest = mean + amplitude
    found = reversed_amplitude(amplitude, mean, SWT, TENSILE)
    if largest <= 0:
        assert found == 0
        return
    ratio = (mean - amplitude) / largest
    assert found == pytest.approx(largest**0.5 * amplitude**0.5)
    assert found == pytest.approx(largest * ((1 - ratio) / 2) ** 0.5)


@pytest.mark.parametrize("line", MEAN_LINES)
def test_a_mean_at_the_tensile_strength_leaves_nothing(line):
    mean = np.array([TENSILE, TENSILE + 1, 2 * TENSILE])
    assert (reversed_amplitude(1e-9, mean, line, TENSILE) == np.inf).all()
    assert (allowed_amplitude(mean, line, strength=90.0, tensile=TENSILE) == 0).all()


@pytest.mark.parametrize("line", ["Goodman", "Gerber"])
def test_goodman_and_gerber_run_from_the_strength_to_the_tensile_strength(line):
    """Both pass through (0, S) and (Rm, 0); at half Rm they leave a half and three quarters."""
    ends = allowed_amplitude([0.0, TENSILE * (1 - 1e-12)], line, strength=90.0, tensile=TENSILE)
    assert ends == pytest.approx([90.0, 0.0], abs=1e-9)
    half = allowed_amplitude(TENSILE / 2, line, strength=90.0, tensile=TENSILE)
    assert half == pytest.approx({"Goodman": 45.0, "Gerber": 67.5}[line])


@pytest.mark.parametrize("line", ["Goodman", "Gerber"])
def test_compression_gets_no_credit_while_the_cycle_pulls(line):
    """By a fifth of its amplitude or more; one that never pulls does no harm."""
    assert reversed_amplitude(50.0, -40.0, line, TENSILE) == 50.0
    assert allowed_amplitude(-72.0, line, strength=90.0, tensile=TENSILE) == 90.0
    assert reversed_amplitude(50.0, -120.0, line, TENSILE) == 0.0
    assert allowed_amplitude(-120.0, line, strength=90.0, tensile=TENSILE) == 138.0


@given(st.sampled_from(MEAN_LINES), st.floats(-300, 255), strengths)
def test_the_line_of_a_haigh_diagram_wears_as_hard_as_its_strength(line, mean, strength):
    allowed = allowed_amplitude(mean, line, strength=strength, tensile=TENSILE)
    back = reversed_amplitude(allowed, mean, line, TENSILE)
    assert back == pytest.approx(strength, rel=1e-9)


@given(st.sampled_from(MEAN_LINES), amplitudes, st.floats(-300, 255), st.floats(1.001, 3))
def test_more_stress_never_wears_less(line, amplitude, mean, factor):
    """Both ends of the cycle scaled, and the amplitude alone."""
    one = reversed_amplitude(amplitude, mean, line, TENSILE)
    assert reversed_amplitude(factor * amplitude, mean, line, TENSILE) >= one
    assert reversed_amplitude(factor * amplitude, factor * mean, line, TENSILE) >= one * (1 - 1e-12)


def test_arrays_keep_their_shape():
    mean = np.linspace(-50, 300, 8).reshape(2, 4)
    tensile = np.array([[250.0], [262.0]])
    for line in MEAN_LINES:
        found = reversed_amplitude(40.0, mean, line, tensile)
        each = [
            [float(reversed_amplitude(40.0, m, line, t)) for m in row]
            for row, t in zip(mean, tensile[:, 0], strict=True)
        ]
        np.testing.assert_array_equal(found, each)


def test_an_unknown_line_is_told_which_there_are():
    for call in (
        lambda: reversed_amplitude(1.0, 1.0, "Soderberg", TENSILE),
        lambda: allowed_amplitude(1.0, "Soderberg", strength=90.0, tensile=TENSILE),
    ):
        with pytest.raises(
            ValueError, match=r'"Soderberg" is no mean-stress line\. Known: Goodman,'
        ):
            call()


def turned(stress, angle):
    c, s = np.cos(angle), np.sin(angle)
    sxx, syy, sxy = stress
    return np.array([
        sxx * c**2 + syy * s**2 - 2 * sxy * s * c,
        sxx * s**2 + syy * c**2 + 2 * sxy * s * c,
        (sxx - syy) * s * c + sxy * (c**2 - s**2),
    ])  # fmt: skip


@pytest.mark.parametrize("criterion", CRITERIA)
@pytest.mark.parametrize(("low", "high"), [(-40.0, 100.0), (10.0, 100.0), (-90.0, 30.0)])
def test_criteria_agree_on_a_pull_one_way(criterion, low, high):
    """Derived: uniaxial, in any direction, the cycle is that of the one stress."""
    angle = np.linspace(0, np.pi, 7)
    idle, gas = (turned(np.outer([s, 0.0, 0.0], np.ones(7)), angle) for s in (low, high))
    amplitude, mean = CRITERIA[criterion](idle, gas)  # the plane of gas first
    np.testing.assert_allclose(amplitude[0], (high - low) / 2)
    np.testing.assert_allclose(mean[0], (high + low) / 2)


def test_criteria_part_on_two_pulls():
    """Derived. 100 and 60 at gas, nothing idle: von Mises is sqrt(100^2 - 100 x 60 + 60^2)."""
    idle, gas = turned([0.0, 0.0, 0.0], 0.4), turned([100.0, 60.0, 0.0], 0.4)
    amplitude, mean = largest_principal(idle, gas)
    assert (amplitude[0], mean[0]) == pytest.approx((50.0, 50.0))
    np.testing.assert_allclose(signed_von_mises(idle, gas), 7600**0.5 / 2)


def test_largest_principal_stays_in_one_direction():
    """Derived: that of gas is along x, where idle has 5; that of idle along y, where gas has 20."""
    idle, gas = np.array([5.0, 80.0, 0.0]), np.array([100.0, 20.0, 0.0])
    amplitude, mean = largest_principal(idle, gas)
    assert amplitude == pytest.approx([47.5, 30.0])
    assert mean == pytest.approx([52.5, 50.0])


def test_von_mises_has_the_sign_of_the_trace():
    idle = np.array([
        [-60.0, 10.0, 60.0, 20.0, -20.0],
        [20.0, -10.0, -20.0, -60.0, 60.0],
        [0.0, 0.0, 0.0, 5.0, 5.0],
    ])  # fmt: skip
    gas = np.zeros((3, 5))
    amplitude, mean = signed_von_mises(idle, gas)
    assert (np.sign(mean) == [-1, 1, 1, -1, 1]).all()
    np.testing.assert_allclose(amplitude, np.abs(mean))


def test_basquin_of_a_textbook():
    """Dowling, ch. 9: 7075-T6 sigma_f' = 1466, b = -0.143 (constants from memory), worked out.

    sigma_a = sigma_f' (2N)^b: the strength is that of half a cycle.
    """
    amplitude = reversed_amplitude(150.0, 100.0, SWT, 572.0)
    assert cycles_to_failure(amplitude, 1466.0, 0.5, -0.143) == pytest.approx(7.025e5, rel=1e-4)


@given(st.floats(1e2, 1e10), strengths, st.floats(1e4, 1e9), exponents)
def test_life_and_strength_are_inverse(cycles, strength, at_cycles, exponent):
    amplitude = strength_at(cycles, strength, at_cycles, exponent)
    found = cycles_to_failure(amplitude, strength, at_cycles, exponent)
    assert found == pytest.approx(cycles, rel=1e-8)


@pytest.mark.filterwarnings("error")
def test_numbers_without_end_warn_no_one():
    """A tenth of a strength and an exponent of -0.001 give 1e1000 times its life."""
    assert cycles_to_failure([9.0, 900.0], 90.0, 1e7, -1e-3).tolist() == [np.inf, 0.0]
    assert cycles_to_failure(1e308, 1e-308, 1e7, -0.1) == 0
    assert strength_at([1e-300, 1e300], 90.0, 1e7, -5.0).tolist() == [np.inf, 0.0]
    for line in MEAN_LINES:
        assert reversed_amplitude(1e308, 1e200, line, 262.0) == np.inf
        assert allowed_amplitude(1e200, line, strength=1e200, tensile=262.0) == 0
    assert reversed_amplitude(1e308, 1.0, SWT, 262.0) == np.inf


def test_the_ends_of_a_life():
    found = cycles_to_failure([0.0, np.inf, 90.0], 90.0, 5e8, -0.08)
    assert list(found) == [np.inf, 0.0, 5e8]


@given(st.floats(100, 600), st.floats(0.05, 0.85), st.floats(1e5, 1e9))
def test_the_line_passes_both_of_its_points(tensile, share, cycles):
    """0.9 Rm at 1000 cycles: Shigley, f = 0.9 (from memory)."""
    strength = share * tensile
    exponent = basquin_exponent(tensile, strength, cycles)
    assert exponent < 0
    assert strength_at(1e3, strength, cycles, exponent) == pytest.approx(0.9 * tensile)
    assert strength_at(cycles, strength, cycles, exponent) == pytest.approx(strength)


def test_a_fatigue_strength_near_the_tensile_strength_is_refused():
    with pytest.raises(
        ValueError, match=r"of 260 MPa is not below 0\.9 of the tensile strength, 252"
    ):
        basquin_exponent(280.0, 260.0, 1e7)


def test_heat_weakens_as_it_does_the_tensile_strength():
    """Beyond the 150 degC that it is known to, it falls on as before."""
    found = temperature_share(ALLOY, [20.0, 85.0, 150.0, 215.0])
    assert found == pytest.approx([1.0, 0.875, 0.75, 0.625])


def test_metal_without_strengths_is_named():
    bare = Material("bare metal", 70_000.0, 0.33)
    with pytest.raises(ValueError, match="bare metal: no tensile strength is known"):
        temperature_share(bare, 20.0)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"strength": 0.0}, "strength = 0 must be positive"),
        ({"strength": float("inf")}, "strength = inf"),
        ({"cycles": -1.0}, "cycles = -1 must be positive"),
        ({"exponent": 0.0}, "exponent = 0 must be negative"),
        ({"exponent": float("nan")}, "exponent = nan"),
        ({"scatter": 1.0}, "scatter = 1 is outside 0 to below 1"),
        (
            {"threshold": (5.0, 4.0, 7.0)},
            "threshold = 5, 4, 7 must be positive, the least, the usual",
        ),
        ({"threshold": (0.0, 4.0, 7.0)}, "threshold = 0, 4, 7 must be positive"),
        ({"scatter": -0.1}, "scatter = -0.1 is outside"),
    ],
)
def test_impossible_fatigue_strength_is_refused(wrong, message):
    with pytest.raises(ValueError, match=rf"Fatigue\.{message}"):
        replace(ALLOY.fatigue, **wrong)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"tensile_points": ((20.0, 0.0),)}, "tensile_points = 0 at 20 degC must be positive"),
        (
            {"tensile_points": ((20.0, 240.0), (100.0, 140.0), (150.0, 140.0))},
            r"140 MPa at 100 degC is below the yield strength of 143\.077 MPa",
        ),
        (
            {"fatigue": Fatigue(240.0, 1e8, -0.09, 0.15)},
            "fatigue strength of 240 MPa is not below the tensile strength of 240 MPa",
        ),
    ],
)
def test_strengths_that_contradict_each_other_are_refused(wrong, message):
    with pytest.raises(ValueError, match=f"alloy: .*{message}"):
        replace(ALLOY, **wrong)


@pytest.mark.parametrize("line", MEAN_LINES)
def test_no_step_is_where_a_cycle_begins_to_pull(line):
    """Amplitude 50 about means at which it never pulls, begins to, and pulls by a fifth of it."""
    mean = -50 + np.array([-20.0, 0.0, 0.01, 2.5, 5.0, 10.0, 10.01])
    found = reversed_amplitude(50.0, mean, line, 262.0)
    assert found[:2] == pytest.approx([0.0, 0.0])
    assert found[2] < 1.0
    if line != "Smith-Watson-Topper":
        assert found[3:] == pytest.approx([12.5, 25.0, 50.0, 50.0])
    assert (np.diff(found) >= 0).all()


@pytest.mark.parametrize("line", MEAN_LINES)
def test_a_line_is_the_inverse_where_cycles_hardly_pull(line):
    mean = np.array([-200.0, -95.0, -80.0, -75.0, -60.0, 0.0])
    borne = allowed_amplitude(mean, line, strength=90.0, tensile=262.0)
    assert reversed_amplitude(borne, mean, line, 262.0) == pytest.approx(np.full(6, 90.0))

"""Units of the case file: what is read, what is refused, and the table against scipy's."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from cases.units import (
    ANGLE,
    LENGTH,
    PRESSURE,
    SHARE,
    parse_angle,
    parse_length,
    parse_pressure,
    parse_quantity,
)

# CODATA and the exact definitions that scipy.constants carries, in SI units.
SI = {
    "mm": constants.milli,
    "cm": constants.centi,
    "m": 1.0,
    "um": constants.micro,
    "in": constants.inch,
    "thou": constants.mil,
    "Pa": 1.0,
    "kPa": constants.kilo,
    "MPa": constants.mega,
    "GPa": constants.giga,
    "bar": constants.bar,
    "psi": constants.psi,
    "ksi": constants.kilo * constants.psi,
    "deg": 1.0,
    "1": 1.0,
    "%": constants.centi,
}
EVERY_UNIT = [
    (quantity, unit) for quantity in (LENGTH, PRESSURE, ANGLE, SHARE) for unit in quantity.units
]


@pytest.mark.parametrize(("quantity", "unit"), EVERY_UNIT, ids=lambda item: str(item)[:12])
def test_table_agrees_with_scipy_constants(quantity, unit):
    inside = SI[quantity.inside]
    assert parse_quantity(f"3 {unit}", quantity) == pytest.approx(3 * SI[unit] / inside, rel=1e-11)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("88 mm", 88.0),
        ("88mm", 88.0),
        ("  88.50   mm ", 88.5),
        ("0.250 in", 6.35),
        (".25 in", 6.35),
        ("1/4 in", 6.35),
        ("3 1/2 in", 88.9),
        ("3-1/2 in", 88.9),
        ("3 1 / 2 in", 88.9),
        ("63/64 in", 25.003125),
        ("4 thou", 0.1016),
        ("12 um", 0.012),
        ("8.7 cm", 87.0),
        ("0.087 m", 87.0),
        ("1e2 mm", 100.0),
        ("-5 mm", -5.0),
        ("+5. mm", 5.0),
    ],
)
def test_lengths(text, mm):
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    ("text", "mpa"),
    [("95 bar", 9.5), ("70 GPa", 70000.0), ("1500 psi", 10.34213594), ("10 ksi", 68.94757293)],
)
def test_pressures(text, mpa):
    assert parse_pressure(text) == pytest.approx(mpa, rel=1e-9)


def test_one_size_written_two_ways_is_one_number():
    """A mesh changes with the last digit of its input, so the number must not."""
    assert parse_length("3 1/2 in") == parse_length("88.9 mm") == parse_length("3500 thou")


def test_angle():
    assert parse_angle("40 deg") == 40.0


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (88, "bare number"),
        (88.0, "bare number"),
        (math.nan, "bare number"),
        (True, "This is not a length"),
        (None, "This is not a length"),
        (["88 mm"], "This is not a length"),
        ("88", "unit is missing"),
        ("1e5", "unit is missing"),
        ("", "no number"),
        ("mm", "no number"),
        ("eighty mm", '"eighty" is not a number'),
        ("nan mm", '"nan" is not a number'),
        ("inf mm", '"inf" is not a number'),
        ("-inf mm", '"-inf" is not a number'),
        ("1e999 mm", "too large"),
        ("0,5 mm", "point, not a comma"),
        ("1,000 mm", "point, not a comma"),
        ("1_000 mm", "not a number"),
        ("0x10 mm", "not a number"),
        ("--5 mm", "not a number"),
        ("5 5 mm", "not a number"),
        ("½ in", "not a number"),
        ("٣ mm", "not a number"),
        ("9 bar", '"bar" is not a unit of a length'),
        ("1 mil", '"mil" is not a unit of a length'),
        ("120 degC", '"degC" is not a unit of a length'),
        ("5 MM", '"MM" is not a unit of a length'),
        ('3.5"', "is not a unit of a length"),
        ("1/2 mm", "inches only"),
        ("1/3 in", "not a shop fraction"),
        ("1/0 in", "not a shop fraction"),
        ("3 5/4 in", "not a shop fraction"),
        ("1" * 5000 + "/2 mm in", "not a number"),
    ],
    ids=lambda item: repr(item)[:20],
)
def test_refused_lengths_list_what_is_allowed(value, words):
    with pytest.raises(ValueError, match="Allowed units: mm, cm, m, um, in, thou") as refusal:
        parse_length(value)
    assert words in str(refusal.value)
    assert len(str(refusal.value)) < 300


@pytest.mark.parametrize("text", ["9.5 N/mm2", "95 bar abs", "95 Bar", "1500 lb", "9 mm"])
def test_refused_pressures(text):
    with pytest.raises(ValueError, match="Allowed units: Pa, kPa, MPa, GPa, bar, psi, ksi"):
        parse_pressure(text)


@given(
    st.floats(-1e9, 1e9, allow_nan=False).map(lambda x: float(f"{x:.9g}")),
    st.sampled_from(sorted(LENGTH.units)),
)
def test_any_number_is_read_as_written(number, unit):
    expected = pytest.approx(number * LENGTH.units[unit], rel=1e-11)
    assert parse_length(f"{number!r} {unit}") == expected


@given(st.integers(0, 40), st.sampled_from([2, 4, 8, 16, 32, 64]), st.data())
def test_any_shop_fraction(whole, bottom, data):
    top = data.draw(st.integers(1, bottom - 1))
    expected = float((whole + Fraction(top, bottom)) * Fraction("25.4"))
    assert parse_length(f"{whole} {top}/{bottom} in") == pytest.approx(expected, rel=1e-11)


@given(st.text(max_size=30))
def test_any_text_is_a_finite_length_or_is_refused(text):
    try:
        value = parse_length(text)
    except ValueError as refusal:
        value, message = 0.0, str(refusal)
    else:
        message = "Allowed units"
    assert math.isfinite(value)
    assert "Allowed units" in message

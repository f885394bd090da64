"""Units of the case file: what is read, what is refused, and the table against scipy's."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from cases.base.units import (
    ANGLE,
    CONDUCTIVITY,
    EXPANSION,
    FILM,
    HEAT_FLUX,
    HEATING_VALUE,
    LENGTH,
    POWER,
    PRESSURE,
    SHARE,
    SPEED,
    TEMPERATURE,
    parse_angle,
    parse_conductivity,
    parse_expansion,
    parse_film,
    parse_heat_flux,
    parse_length,
    parse_pressure,
    parse_quantity,
    parse_temperature,
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
    "W/(m2 K)": 1.0,
    "W/m2K": 1.0,
    "kW/(m2 K)": constants.kilo,
    "kW/m2K": constants.kilo,
    "W/(mm2 K)": 1 / constants.milli**2,
    "W/m2": 1.0,
    "kW/m2": constants.kilo,
    "MW/m2": constants.mega,
    "W/mm2": 1 / constants.milli**2,
    "W/(m K)": 1.0,
    "W/mK": 1.0,
    "W/(mm K)": 1 / constants.milli,
    "um/(m K)": constants.micro,
    "um/mK": constants.micro,
    "/K": 1.0,
    "1/K": 1.0,
    "/degC": 1.0,
    "/degF": 1 / constants.degree_Fahrenheit,
    "rpm": 1 / constants.minute,
    "/min": 1 / constants.minute,
    "W": 1.0,
    "kW": constants.kilo,
    "hp": constants.hp,
    "PS": 75 * constants.g,
    "J/g": constants.kilo,
    "kJ/kg": constants.kilo,
    "MJ/kg": constants.mega,
}
SCALES = (
    LENGTH, PRESSURE, ANGLE, SHARE, FILM, HEAT_FLUX, CONDUCTIVITY, EXPANSION, SPEED, POWER,
    HEATING_VALUE,
)  # fmt: skip
EVERY_UNIT = [(quantity, unit) for quantity in SCALES for unit in quantity.units]


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


@pytest.mark.parametrize(
    ("unit", "scale"), [("degC", "C"), ("°C", "C"), ("degF", "F"), ("°F", "F"), ("K", "K")]
)
@pytest.mark.parametrize("number", [300.0, 451.25])
def test_temperatures_agree_with_scipy_constants(unit, scale, number):
    expected = constants.convert_temperature(number, scale, "Celsius")
    assert parse_temperature(f"{number} {unit}") == pytest.approx(expected, rel=1e-11)
    assert unit in TEMPERATURE.units


@pytest.mark.parametrize(
    ("text", "degc"),
    [
        ("90 degC", 90.0),
        ("90°C", 90.0),
        ("-40 degF", -40.0),
        ("194 degF", 90.0),
        ("363.15 K", 90.0),
        ("-18 degC", -18.0),
        ("0 K", -273.15),
        ("-459.67 degF", -273.15),
    ],
)
def test_temperatures(text, degc):
    assert parse_temperature(text) == degc


@pytest.mark.parametrize("text", ["-274 degC", "-0.1 K", "-500 degF"])
def test_below_absolute_zero(text):
    with pytest.raises(ValueError, match=r"A temperature can't be below -273.15 degC\. Allowed"):
        parse_temperature(text)


@pytest.mark.parametrize(
    ("parse", "text", "value"),
    [
        (parse_film, "2000 W/(m2 K)", 2e-3),
        (parse_film, "2e3  W/(m2   K)", 2e-3),
        (parse_film, "2000W/m2K", 2e-3),
        (parse_film, "5 kW/(m2 K)", 5e-3),
        (parse_heat_flux, "200 kW/m2", 0.2),
        (parse_conductivity, "151 W/(m K)", 0.151),
        (parse_conductivity, "151 W/mK", 0.151),
        (parse_expansion, "21.5 um/(m K)", 21.5e-6),
        (parse_expansion, "21.5e-6 /K", 21.5e-6),
        (parse_expansion, "21.5e-6/K", 21.5e-6),
        (parse_expansion, "12e-6 /degF", 21.6e-6),
    ],
)
def test_heat(parse, text, value):
    assert parse(text) == pytest.approx(value, rel=1e-11)


@pytest.mark.parametrize(
    ("parse", "text", "words"),
    [
        (parse_temperature, "90", "unit is missing"),
        (parse_temperature, "90 C", '"C" is not a unit of a temperature'),
        (parse_temperature, "90 kelvin", "not a unit"),
        (parse_film, "2000 W/m2", "Allowed units: W/"),
        (parse_film, "2000 W/(m K)", "Allowed units: W/"),
        (parse_film, "W/(m2 K)", "no number"),
        (parse_film, "2,5 W/(m2 K)", "point, not a comma"),
        (parse_film, "1/2 W/(m2 K)", "inches only"),
        (parse_film, "many W/(m2 K)", '"many" is not a number'),
        (parse_heat_flux, "200 kW", '"kW" is not a unit of a heat flux'),
        (parse_conductivity, "151 W/(m2 K)", "Allowed units: W/"),
        (parse_expansion, "21.5", "unit is missing"),
        (parse_expansion, "21.5 ppm", '"ppm" is not a unit of a thermal expansion'),
    ],
)
def test_refused_heat(parse, text, words):
    with pytest.raises(ValueError, match="Allowed units: ") as refusal:
        parse(text)
    assert words in str(refusal.value)


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

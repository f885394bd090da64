"""Units by hand: conversions that any table of units has, and what a slip would cost."""

import pytest

from cases.base.units import (
    EXPANSION,
    FILM,
    GROWTH,
    HEAT_FLUX,
    INTENSITY,
    POWER,
    PRESSURE,
    TEMPERATURE,
    parse_quantity,
)


@pytest.mark.parametrize(
    ("text", "quantity", "value"),
    [
        # ASTM E399: 1 ksi sqrt(in) = 1.099 MPa sqrt(m) (from memory)
        ("1 ksi sqrt(in)", INTENSITY, 1.0988),
        ("1000 N/mm^1.5", INTENSITY, 31.623),
        ("1 MPa m^0.5", INTENSITY, 1.0),
        ("1e-6 in/cycle", GROWTH, 2.54e-5),
        ("1e-9 m/cycle", GROWTH, 1e-6),
        ("1e-3 um/cycle", GROWTH, 1e-6),
        ("14.696 psi", PRESSURE, 0.101325),  # one atmosphere
        ("1.01325 bar", PRESSURE, 0.101325),
        ("10.5e3 ksi", PRESSURE, 72_395.0),  # modulus of cast aluminium
        ("1 hp", POWER, 0.74570),
        ("1 PS", POWER, 0.73550),
        ("212 degF", TEMPERATURE, 100.0),
        ("-40 °F", TEMPERATURE, -40.0),
        ("373.15 K", TEMPERATURE, 100.0),
        ("12e-6 /degF", EXPANSION, 21.6e-6),  # a rise of 1 K is one of 1.8 degF
        ("2 kW/m2K", FILM, 2e-3),
        ("2000 W/m2K", FILM, 2e-3),
        ("1 MW/m2", HEAT_FLUX, 1.0),
        ("1000 kW/m2", HEAT_FLUX, 1.0),
        ("1e6 W/m2", HEAT_FLUX, 1.0),
    ],
)
def test_a_unit_is_worth_what_tables_say(text, quantity, value):
    assert parse_quantity(text, quantity) == pytest.approx(value, rel=5e-5)

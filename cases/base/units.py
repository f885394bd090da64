"""Numbers with their unit, from the text of a case file to mm, MPa, W, degC, degrees and such.

The tables are closed: what is not in them is refused with the list of what is. Nothing is
guessed, because a general parser misreads what a machinist types (``3 1/2 in``, ``0,5 mm``).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field

_INCH = 25.4  # [mm], exact: international yard and pound agreement, 1959
_PSI = 0.45359237 * 9.80665 / _INCH**2  # [MPa]; pound exact as above, standard gravity CGPM 1901
_POUND_FORCE = 0.45359237 * 9.80665  # [N]
_POUND = 453.59237  # [g], exact as above
_HORSEPOWER = 550 * 0.3048 * _POUND_FORCE / 1000  # [kW], exact: 550 ft lbf/s
_METRIC_HORSEPOWER = 75 * 9.80665 / 1000  # [kW], exact: 75 m kgf/s
ABSOLUTE_ZERO = -273.15  # [degC], exact: definition of the Celsius scale
_FAHRENHEIT = 5 / 9  # [K], exact; 32 degF is 0 degC

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_FRACTION = re.compile(r"(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)", re.ASCII)
_SHOP_DENOMINATORS = (2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A kind of quantity: its inside unit and the units that may be written."""

    name: str  # with its article, for messages
    inside: str  # unit of the parsed value
    units: Mapping[str, float]  # written unit -> inside units
    example: str
    zeros: Mapping[str, float] = field(default_factory=dict)  # where a scale's zero is another
    least: float = -math.inf  # in inside units

    @property
    def allowed(self) -> str:
        """What may be written, for messages."""
        return f"Allowed units: {', '.join(self.units)}; write it like {self.example}."

    def written(self, value: float, unit: str) -> float:
        """The number that stands before a unit.

        Parameters
        ----------
        value : float
            In inside units.
        unit : str
            Of ``units``.

        Examples
        --------
        >>> LENGTH.written(0.04, "um"), TEMPERATURE.written(90, "degF")
        (40.0, 194.0)
        """
        return float(f"{(value - self.zeros.get(unit, 0.0)) / self.units[unit]:.12g}")


LENGTH = Quantity(
    "a length",
    "mm",
    {"mm": 1.0, "cm": 10.0, "m": 1000.0, "um": 1e-3, "in": _INCH, "thou": _INCH / 1000},
    '"88 mm", "0.250 in", "3 1/2 in" or "4 thou"',
)
PRESSURE = Quantity(
    "a pressure",
    "MPa",
    {
        "Pa": 1e-6,
        "kPa": 1e-3,
        "MPa": 1.0,
        "GPa": 1e3,
        "bar": 0.1,
        "psi": _PSI,
        "ksi": 1000 * _PSI,
    },
    '"95 bar" or "1500 psi"',
)
FORCE = Quantity(
    "a force", "N", {"N": 1.0, "kN": 1000.0, "lbf": _POUND_FORCE}, '"200 N" or "45 lbf"'
)
AREA = Quantity(
    "an area",
    "mm2",
    {
        "mm2": 1.0, "mm\u00b2": 1.0, "cm2": 100.0, "in2": _INCH**2, "in\u00b2": _INCH**2,
    },
    '"12 cm2" or "2 in2"',
)  # fmt: skip
VOLUME = Quantity("a volume", "mm3", {"cm3": 1e3, "in3": _INCH**3}, '"30 cm3" or "2 in3"')
ANGLE = Quantity("an angle", "deg", {"deg": 1.0}, '"40 deg"')
SHARE = Quantity("a share", "1", {"%": 0.01}, '"2 %"')
TEMPERATURE = Quantity(
    "a temperature",
    "degC",
    {"degC": 1.0, "°C": 1.0, "degF": _FAHRENHEIT, "°F": _FAHRENHEIT, "K": 1.0},
    '"90 degC", "194 degF" or "363 K"',
    zeros={"degF": -32 * _FAHRENHEIT, "°F": -32 * _FAHRENHEIT, "K": ABSOLUTE_ZERO},
    least=ABSOLUTE_ZERO,
)
FILM = Quantity(
    "a film coefficient",
    "W/(mm2 K)",
    {"W/(m2 K)": 1e-6, "W/m2K": 1e-6, "kW/(m2 K)": 1e-3, "kW/m2K": 1e-3, "W/(mm2 K)": 1.0},
    '"2000 W/(m2 K)"',
)
HEAT_FLUX = Quantity(
    "a heat flux",
    "W/mm2",
    {"W/m2": 1e-6, "kW/m2": 1e-3, "MW/m2": 1.0, "W/mm2": 1.0},
    '"200 kW/m2"',
)
CONDUCTIVITY = Quantity(
    "a conductivity",
    "W/(mm K)",
    {"W/(m K)": 1e-3, "W/mK": 1e-3, "W/(mm K)": 1.0},
    '"151 W/(m K)"',
)
EXPANSION = Quantity(
    "a thermal expansion",
    "1/K",
    {"um/(m K)": 1e-6, "um/mK": 1e-6, "/K": 1.0, "/degC": 1.0, "/degF": 1 / _FAHRENHEIT},
    '"21.5 um/(m K)" or "21.5e-6 /K"',
)
DENSITY = Quantity(
    "a density", "g/mm3", {"kg/m3": 1e-6, "g/cm3": 1e-3}, '"2700 kg/m3" or "2.7 g/cm3"'
)
MASS = Quantity(
    "a mass", "g", {"g": 1.0, "kg": 1000.0, "lb": _POUND, "oz": _POUND / 16}, '"420 g" or "15 oz"'
)
SPEED = Quantity("a speed of the crank", "rpm", {"rpm": 1.0, "/min": 1.0}, '"7000 rpm"')
FLOW = Quantity(
    "a flow",
    "mm3/s",
    {
        "L/min": 1e6 / 60,
        "l/min": 1e6 / 60,
        "L/s": 1e6,
        "m3/h": 1e9 / 3600,
        "gpm": 231 * _INCH**3 / 60,  # US gallon of 231 cubic inches, exact
    },
    '"120 L/min", "7.2 m3/h" or "32 gpm"',
)
POWER = Quantity(
    "a power",
    "kW",
    {"kW": 1.0, "W": 1e-3, "hp": _HORSEPOWER, "PS": _METRIC_HORSEPOWER},
    '"300 kW", "400 hp" or "400 PS"',
)
HEATING_VALUE = Quantity(
    "a heating value", "J/g", {"MJ/kg": 1000.0, "kJ/kg": 1.0, "J/g": 1.0}, '"43 MJ/kg"'
)
INTENSITY = Quantity(
    "a stress intensity",
    "MPa sqrt(m)",
    {
        "MPa sqrt(m)": 1.0,
        "MPa m^0.5": 1.0,
        "N/mm^1.5": math.sqrt(1e-3),
        "ksi sqrt(in)": 1000 * _PSI * math.sqrt(_INCH / 1000),
    },
    '"1.8 MPa sqrt(m)" or "57 N/mm^1.5"',
)
HOUR = 3600.0  # [s]
DURATION = Quantity(
    "a time", "s", {"s": 1.0, "min": 60.0, "h": HOUR}, '"12 s", "30 min" or "200 h"'
)
GROWTH = Quantity(
    "a growth per cycle",
    "mm/cycle",
    {"mm/cycle": 1.0, "m/cycle": 1000.0, "um/cycle": 1e-3, "in/cycle": _INCH},
    '"4.5e-7 mm/cycle"',
)


def parse_quantity(value: object, quantity: Quantity) -> float:
    """Value of a number that carries its unit, in the inside unit of its quantity.

    Parameters
    ----------
    value : object
        As read from the case file. Only text such as ``"88 mm"`` is accepted; inches also as
        shop fractions with a denominator from 2 to 64.
    quantity : Quantity
        ``LENGTH`` [mm], ``PRESSURE`` [MPa], ``ANGLE`` [deg], ``SHARE`` [1], ``TEMPERATURE``
        [degC], ``FILM`` [W/(mm2 K)], ``HEAT_FLUX`` [W/mm2], ``CONDUCTIVITY`` [W/(mm K)],
        ``EXPANSION`` [1/K], ``FORCE`` [N], ``SPEED`` [rpm], ``FLOW`` [mm3/s], ``POWER`` [kW],
        ``HEATING_VALUE`` [J/g], ``INTENSITY`` [MPa sqrt(m)], ``DENSITY`` [g/mm3], ``MASS`` [g],
        ``DURATION`` [s] or ``GROWTH`` [mm/cycle].

    Returns
    -------
    float
        Finite, in ``quantity.inside``.

    Raises
    ------
    ValueError
        Saying what is wrong and which units are allowed.

    Examples
    --------
    >>> parse_quantity("3 1/2 in", LENGTH)
    88.9
    >>> parse_quantity("95 bar", PRESSURE)
    9.5
    >>> parse_quantity("88", LENGTH)
    Traceback (most recent call last):
    ...
    ValueError: The unit is missing: a length needs one. Allowed units: mm, cm, m, um, in, thou; \
write it like "88 mm", "0.250 in", "3 1/2 in" or "4 thou".
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise ValueError(f"This is not {quantity.name}. {quantity.allowed}")
    if not isinstance(value, str):
        raise ValueError(
            f"A bare number: {quantity.name} needs its unit, in quotes. {quantity.allowed}"
        )
    number, unit = _split(value, quantity)
    if not number:
        raise ValueError(f"There is no number in it. {quantity.allowed}")
    if not unit:
        raise ValueError(f"The unit is missing: {quantity.name} needs one. {quantity.allowed}")
    if unit not in quantity.units:
        raise ValueError(f'"{unit:.40}" is not a unit of {quantity.name}. {quantity.allowed}')
    result = _parse_number(number, unit, quantity) * quantity.units[unit]
    result += quantity.zeros.get(unit, 0.0)
    if not math.isfinite(result):
        raise ValueError(f"The number is too large. {quantity.allowed}")
    result = float(f"{result:.12g}")  # 3 1/2 in and 88.9 mm give one number, so one mesh
    if result < quantity.least:
        raise ValueError(
            f"{quantity.name.capitalize()} can't be below {quantity.least:g} {quantity.inside}."
            f" {quantity.allowed}"
        )
    return result


def _split(text: str, quantity: Quantity) -> tuple[str, str]:
    """Number and unit; the unit is what stands after the last digit, point or space.

    Units that hold a digit or a space themselves are known by their spelling.
    """
    text = " ".join(text.split())
    for known in sorted(quantity.units, key=len, reverse=True):
        if re.search(r"[\d ]", known) and text.endswith(known):
            return text[: -len(known)].strip(), known
    unit = re.search(r"[^0-9.,\s]*$", text)
    assert unit is not None
    return text[: unit.start()].strip(), unit[0]


def _parse_number(number: str, unit: str, quantity: Quantity) -> float:
    if "," in number:
        raise ValueError(f"Write the decimals after a point, not a comma. {quantity.allowed}")
    if _NUMBER.fullmatch(number):
        return float(number)
    fraction = _FRACTION.fullmatch(number)
    if fraction is None:
        raise ValueError(f'"{number:.40}" is not a number. {quantity.allowed}')
    if unit != "in":
        raise ValueError(f"Fractions are read in inches only. {quantity.allowed}")
    whole, top, bottom = int(fraction[1] or 0), int(fraction[2]), int(fraction[3])
    if bottom not in _SHOP_DENOMINATORS or top >= bottom:
        raise ValueError(
            f'"{number:.40}" is not a shop fraction: the lower number is one of '
            f"{', '.join(map(str, _SHOP_DENOMINATORS))}, the upper one is less. {quantity.allowed}"
        )
    return whole + top / bottom


def parse_length(value: object) -> float:
    """A length with its unit. [mm].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_length("4 thou")
    0.1016
    """
    return parse_quantity(value, LENGTH)


def parse_pressure(value: object) -> float:
    """A pressure, or a modulus, with its unit. [MPa].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_pressure("70 GPa")
    70000.0
    """
    return parse_quantity(value, PRESSURE)


def parse_angle(value: object) -> float:
    """An angle with its unit. [deg].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_angle("40 deg")
    40.0
    """
    return parse_quantity(value, ANGLE)


def parse_share(value: object) -> float:
    """A share of a whole, written in percent.

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_share("2 %")
    0.02
    """
    return parse_quantity(value, SHARE)


def parse_temperature(value: object) -> float:
    """A temperature with its unit, not below absolute zero. [degC].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_temperature("194 degF")
    90.0
    """
    return parse_quantity(value, TEMPERATURE)


def parse_film(value: object) -> float:
    """A film coefficient, or the conductance of a joint, with its unit. [W/(mm2 K)].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_film("2000 W/(m2 K)")
    0.002
    """
    return parse_quantity(value, FILM)


def parse_heat_flux(value: object) -> float:
    """A heat flux with its unit. [W/mm2].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_heat_flux("200 kW/m2")
    0.2
    """
    return parse_quantity(value, HEAT_FLUX)


def parse_conductivity(value: object) -> float:
    """A thermal conductivity with its unit. [W/(mm K)].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_conductivity("151 W/(m K)")
    0.151
    """
    return parse_quantity(value, CONDUCTIVITY)


def parse_density(value: object) -> float:
    """A density with its unit. [g/mm3].

    Examples
    --------
    >>> parse_density("2700 kg/m3")
    0.0027
    """
    return parse_quantity(value, DENSITY)


def parse_expansion(value: object) -> float:
    """A coefficient of linear thermal expansion with its unit. [1/K].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_expansion("21.5 um/(m K)")
    2.15e-05
    """
    return parse_quantity(value, EXPANSION)


def parse_force(value: object) -> float:
    """A force with its unit. [N].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_force("0.2 kN")
    200.0
    """
    return parse_quantity(value, FORCE)


def parse_mass(value: object) -> float:
    """A mass with its unit. [g].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_mass("0.42 kg")
    420.0
    """
    return parse_quantity(value, MASS)


def parse_flow(value: object) -> float:
    """A flow of a liquid with its unit. [mm3/s].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_flow("120 L/min")
    2000000.0
    """
    return parse_quantity(value, FLOW)


def parse_speed(value: object) -> float:
    """A speed of the crank with its unit. [rpm].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_speed("7000 rpm")
    7000.0
    """
    return parse_quantity(value, SPEED)


def parse_power(value: object) -> float:
    """A power with its unit; hp is 550 ft lbf/s, PS 75 m kgf/s. [kW].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_power("400 hp")
    298.279948633
    """
    return parse_quantity(value, POWER)


def parse_heating_value(value: object) -> float:
    """The heating value of a fuel with its unit. [J/g].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_heating_value("43 MJ/kg")
    43000.0
    """
    return parse_quantity(value, HEATING_VALUE)


def parse_intensity(value: object) -> float:
    """A stress intensity with its unit. [MPa sqrt(m)].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_intensity("56.7 N/mm^1.5")
    1.793011
    """
    return parse_quantity(value, INTENSITY)


def parse_duration(value: object) -> float:
    """A time with its unit. [s].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_duration("2 h")
    7200.0
    """
    return parse_quantity(value, DURATION)


def parse_growth(value: object) -> float:
    """The growth of a crack per cycle with its unit. [mm/cycle].

    Raises
    ------
    ValueError
        As :func:`parse_quantity`.

    Examples
    --------
    >>> parse_growth("4.46e-10 m/cycle")
    4.46e-07
    """
    return parse_quantity(value, GROWTH)

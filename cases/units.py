"""Numbers with their unit, from the text of a case file to mm, MPa and degrees.

The tables are closed: what is not in them is refused with the list of what is. Nothing is
guessed, because a general parser misreads what a machinist types (``3 1/2 in``, ``0,5 mm``).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

_INCH = 25.4  # [mm], exact: international yard and pound agreement, 1959
_PSI = 0.45359237 * 9.80665 / _INCH**2  # [MPa]; pound exact as above, standard gravity CGPM 1901

_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_FRACTION = re.compile(r"(?:(\d+)(?:\s+|-))?(\d+)\s*/\s*(\d+)", re.ASCII)
_SHOP_DENOMINATORS = (2, 4, 8, 16, 32, 64)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A kind of quantity: its inside unit and the units that may be written."""

    name: str  # with its article, for messages
    inside: str  # unit of the parsed value
    units: Mapping[str, float]  # written unit -> inside units
    example: str

    @property
    def allowed(self) -> str:
        """What may be written, for messages."""
        return f"Allowed units: {', '.join(self.units)}; write it like {self.example}."


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
ANGLE = Quantity("an angle", "deg", {"deg": 1.0}, '"40 deg"')
SHARE = Quantity("a share", "1", {"%": 0.01}, '"2 %"')


def parse_quantity(value: object, quantity: Quantity) -> float:
    """Value of a number that carries its unit, in the inside unit of its quantity.

    Parameters
    ----------
    value : object
        As read from the case file. Only text such as ``"88 mm"`` is accepted; inches also as
        shop fractions with a denominator from 2 to 64.
    quantity : Quantity
        ``LENGTH`` [mm], ``PRESSURE`` [MPa], ``ANGLE`` [deg] or ``SHARE`` [1].

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
    number, unit = _split(value)
    if not number:
        raise ValueError(f"There is no number in it. {quantity.allowed}")
    if not unit:
        raise ValueError(f"The unit is missing: {quantity.name} needs one. {quantity.allowed}")
    if unit not in quantity.units:
        raise ValueError(f'"{unit:.40}" is not a unit of {quantity.name}. {quantity.allowed}')
    result = _parse_number(number, unit, quantity) * quantity.units[unit]
    if not math.isfinite(result):
        raise ValueError(f"The number is too large. {quantity.allowed}")
    return float(f"{result:.12g}")  # 3 1/2 in and 88.9 mm give one number, so one mesh


def _split(text: str) -> tuple[str, str]:
    """Number and unit; the unit is what stands after the last digit, point or space."""
    text = text.strip()
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

    Examples
    --------
    >>> parse_length("4 thou")
    0.1016
    """
    return parse_quantity(value, LENGTH)


def parse_pressure(value: object) -> float:
    """A pressure, or a modulus, with its unit. [MPa].

    Examples
    --------
    >>> parse_pressure("70 GPa")
    70000.0
    """
    return parse_quantity(value, PRESSURE)


def parse_angle(value: object) -> float:
    """An angle with its unit. [deg].

    Examples
    --------
    >>> parse_angle("40 deg")
    40.0
    """
    return parse_quantity(value, ANGLE)


def parse_share(value: object) -> float:
    """A share of a whole, written in percent.

    Examples
    --------
    >>> parse_share("2 %")
    0.02
    """
    return parse_quantity(value, SHARE)

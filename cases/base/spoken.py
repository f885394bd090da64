"""The units that a case file speaks, and numbers told in them.

Everything inside is in mm, MPa, degC and kW; a file that is typed in inches, psi, degF or hp is
answered in them. Whatever is shown is worded in metric units, each number with its unit beside it
or in the heading of its column, and put into the file's where it leaves: a refusal here, page,
terminal and pictures in :mod:`cases.report.in_units`.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from html import unescape
from typing import Any

from cases.base.faults import CaseError
from cases.base.units import (
    AREA,
    FORCE,
    INTENSITY,
    LENGTH,
    POWER,
    PRESSURE,
    TEMPERATURE,
    VOLUME,
    Quantity,
    parse_quantity,
)

BOTH = ("um", "bar")
"""What a fit and a limit are told in, which a shop needs in either unit."""


@dataclass(frozen=True)
class Spoken:
    """The units of one case file, by what they measure.

    ``typed`` are the quantities that it states, by the name of what they measure, in inside units:
    a number that is told is that which was typed where it can be.
    """

    length: str = "mm"
    small: str = "um"  # fits, growth, tolerances
    pressure: str = "bar"
    temperature: str = "degC"
    power: str = "kW"
    force: str = "N"
    typed: tuple[tuple[str, float], ...] = field(default=(), compare=False, repr=False)

    def text(self, words: str) -> str:
        """A sentence with its lengths, pressures, temperatures and powers in these units.

        What stands in quotes is left as it is: it was typed, or is an example.

        Examples
        --------
        >>> inch = Spoken(length="in", small="thou")
        >>> inch.text('3, 6 and 12.7 mm, 4 to 8 um; write "5 mm", 30 mm2 or 2 MPa')
        '0.11811, 0.23622 and 0.5 in, 0.15748 to 0.31496 thou; write "5 mm", 30 mm2 or 2 MPa'
        """
        return _sub(words, self._bound)

    def told(self, words: str, but: tuple[str, ...] = ()) -> str:
        """A sentence of results in these units, each number as fine as it was, or as it was typed.

        What stands in quotes or square brackets is left as it is.

        Parameters
        ----------
        words : str
        but : tuple of str
            Names that are left as they are wherever they stand.

        Examples
        --------
        >>> inch = Spoken(length="in", small="thou", pressure="psi")
        >>> inch.told("4.5 to 12.5 um per side; 137 bar; ring 5 mm", but=("ring 5 mm",))
        '0.18 to 0.49 thou per side; 1987 psi; ring 5 mm'
        """
        return words if self == METRIC else _sub(words, self._result, but)

    def both(self, words: str, but: tuple[str, ...] = ()) -> str:
        """The same, fits and pressures as they were in brackets behind.

        Examples
        --------
        >>> Spoken(small="thou").both("4.5 to 12.5 um per side")
        '0.18 to 0.49 thou [4.5 to 12.5 um] per side'
        """

        def both(found: re.Match[str]) -> str:
            told = self._result(found)
            in_brackets = found["unit"] in BOTH and told != found[0]
            return f"{told} [{found[0]}]" if in_brackets else told

        return words if self == METRIC else _sub(words, both, but)

    def unit(self, unit: str) -> str:
        """What stands for a metric unit; that itself where the file speaks it, or it has no other.

        Examples
        --------
        >>> Spoken(small="thou").unit("um"), Spoken().unit("um"), Spoken().unit("rpm")
        ('thou', 'um', 'rpm')
        """
        inch = self.length == "in"
        both = inch and self.pressure == "psi"
        if AT in unit:
            return AT.join(self.unit(one) for one in unit.split(AT))
        return {
            "mm": self.length,
            "um": self.small,
            "bar": self.pressure,
            "MPa": "ksi" if self.pressure == "psi" else "MPa",
            "degC": self.temperature,
            "kW": self.power,
            "N": self.force,
            "kN": self.force if self.force != "N" else "kN",
            "N m": "lbf ft" if self.force == "lbf" else "N m",
            **({of: other for of, (other, _) in _OF_INCHES.items()} if inch else {}),
            **({of: other for of, (other, _) in _OF_PSI.items()} if self.pressure == "psi" else {}),
            **({of: other for of, (other, _) in _OF_BOTH.items()} if both else {}),
        }.get(unit, unit)

    def numbers(self, words: str, unit: str) -> str:
        """Bare numbers of a metric unit, such as those under its heading, in these units.

        Numbers with a unit of their own are left as they are.

        Examples
        --------
        >>> Spoken(small="thou").numbers("-12.7 &plusmn; 2.5, 1.5 times", "um")
        '-0.50 &plusmn; 0.10, 1.5 times'
        >>> Spoken(pressure="psi", temperature="degF").numbers("195 at 75", "MPa at degC")
        '28.3 at 167'
        """
        if AT in unit:
            units = unit.split(AT)
            return re.sub(
                rf"({_BARE}){AT}({_BARE})",
                lambda of: AT.join(map(self._number, of.groups(), units)),
                words,
            )
        return re.sub(_BARE, lambda found: self._number(found[0], unit), words)

    def scale(self, unit: str) -> Callable[[float], float]:
        """What turns a number of a metric unit into one of these units."""
        quantity, other = _QUANTITIES[unit], self.unit(unit)
        return lambda number: quantity.written(_inside(quantity, number, unit), other)

    def _bound(self, found: re.Match[str]) -> str:
        unit = found["unit"]
        other = self.unit(unit) if unit in _BOUNDS else unit
        if other == unit:
            return found[0]
        scale = self.scale(unit)
        told = re.sub(_NUMBER, lambda one: f"{scale(float(one[0])):.5g}", found["numbers"])
        return f"{told} {other}"

    def _result(self, found: re.Match[str]) -> str:
        unit = unescape(found["unit"])
        other = self.unit(unit)
        if other == unit:
            return found[0]
        told = re.sub(_NUMBER, lambda one: self._number(one[0], unit), found["numbers"])
        return f"{told}{found['space']}{other}"

    def _number(self, written: str, unit: str) -> str:
        """A number written in a metric unit: as it was typed, or no coarser than it was."""
        other = self.unit(unit)
        quantity = _QUANTITIES.get(unit)
        if quantity is None or other == unit:
            return written
        number = written.replace(",", "")
        step = 10.0 ** -len(number.partition(".")[2])
        inside = _inside(quantity, float(number), unit)
        slack = 0.5 * step * quantity.units[unit] * (1 + 1e-9)
        sign = "+" if written.startswith("+") else ""
        if "e" in number:
            return f"{sign}{quantity.written(inside, other):.3g}"
        typed = [
            value for name, value in self.typed
            if name == quantity.name and value and abs(value - inside) <= slack
        ]  # fmt: skip
        if typed:
            nearest = min(typed, key=lambda value: abs(value - inside))
            return f"{sign}{quantity.written(nearest, other):.6g}"
        places = -math.floor(math.log10(step * quantity.units[unit] / quantity.units[other]) + 1e-9)
        places = max(min(places, _FINEST.get(other, 4)), 0)
        told = round(quantity.written(inside, other), places) + 0.0
        return f"{sign}{told:.{places}f}"


def _inside(quantity: Quantity, number: float, unit: str) -> float:
    return number * quantity.units[unit] + quantity.zeros.get(unit, 0.0)


def _sub(words: str, of: Callable[[re.Match[str]], str], but: tuple[str, ...] = ()) -> str:
    """A sentence with each group of numbers before a unit replaced, but for what is left alone."""
    left = "|".join(re.escape(name) for name in sorted(but, key=len, reverse=True) if name)
    pattern = re.compile(rf"(?<!\w)(?:{left})(?!\w)|{_MEASURED}") if left else _PLAIN
    return pattern.sub(lambda found: of(found) if found["unit"] else found[0], words)


METRIC = Spoken()

AT = " at "
"""Between two units of a column whose numbers stand in pairs."""
_LINE_LOAD = Quantity(
    "a line load",
    "N/mm",
    {
        "N/mm": 1.0, "N per mm": 1.0,
        "lbf/in": FORCE.units["lbf"] / LENGTH.units["in"],
        "lbf per in": FORCE.units["lbf"] / LENGTH.units["in"],
    },
    '"500 N/mm"',
)  # fmt: skip
_TORQUE = Quantity(
    "a torque",
    "N m",
    {"N m": 1.0, "lbf ft": FORCE.units["lbf"] * 12 * LENGTH.units["in"] / 1000},
    '"80 N m"',
)
_STIFFNESS = Quantity(
    "a pressure for each length",
    "MPa/mm",
    {"MPa per mm": 1.0, "ksi per in": PRESSURE.units["ksi"] / LENGTH.units["in"]},
    '"30 MPa per mm"',
)
_ROOTS = {"MPa \u221am": "ksi \u221ain", "MPa sqrt(m)": "ksi sqrt(in)"}
_INTENSITY = replace(
    INTENSITY,
    units={
        **dict.fromkeys(_ROOTS, 1.0),
        **dict.fromkeys(_ROOTS.values(), INTENSITY.units["ksi sqrt(in)"]),
    },
)
_OF_INCHES = {
    "mm2": ("in2", AREA), "mm\u00b2": ("in\u00b2", AREA), "cm2": ("in2", AREA),
    "cm3": ("in3", VOLUME), "N/mm": ("lbf/in", _LINE_LOAD), "N per mm": ("lbf per in", _LINE_LOAD),
}  # fmt: skip
"""What metric units become where lengths are in inches, and what they measure."""
_OF_PSI = {of: (other, _INTENSITY) for of, other in _ROOTS.items()}
"""The same where pressures are in psi."""
_OF_BOTH = {"MPa per mm": ("ksi per in", _STIFFNESS)}
"""The same where both are."""
_QUANTITIES = {
    "mm": LENGTH, "um": LENGTH, "bar": PRESSURE, "MPa": PRESSURE, "degC": TEMPERATURE,
    "kW": POWER, "N": FORCE, "kN": FORCE, "N m": _TORQUE,
    **{of: quantity for of, (_, quantity) in {**_OF_INCHES, **_OF_PSI, **_OF_BOTH}.items()},
}  # fmt: skip
"""What the metric units measure that results are worded in."""
_BOUNDS = ("mm", "um", "bar", "degC", "kW")
"""What a refusal is told in as it was typed."""
_FINEST = {
    "thou": 2, "psi": 1, "degF": 1, "hp": 1, "in2": 3, "in\u00b2": 3, "lbf": 1, "lbf/in": 0,
    "lbf per in": 0, "lbf ft": 0,
}  # fmt: skip
"""Decimals that are worth telling."""
_SPACE = r"(?: |&nbsp;|\xa0)"
_NUMBER = r"(?<![\w.,:])[-+]?(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.,:]*[\w:])"
_BARE = (
    rf"{_NUMBER}(?!{_SPACE}?(?:%|x\b|times|of 100|degrees|deg|hours|h\b|rpm|cycles|million"
    r"|K\b|mm|um|bar|MPa|N\b|kN|g\b))"
)
"""A number with no unit of its own."""
_BETWEEN = (
    rf"(?:,{_SPACE}|{_SPACE}(?:and|or|to|of|against|less than|at least|at most|by"
    rf"|\+-|\+/-|&plusmn;|\u00b1|&ndash;|\u2013|-){_SPACE}|(?<=\d)(?:-|\u2013|&ndash;)(?=\d))"
)
_MEASURED = (
    r'"[^"\n<>]*"|\[[^\]\n<>]*\]'
    rf"|(?P<numbers>{_NUMBER}(?:{_BETWEEN}{_NUMBER})*)(?P<space>{_SPACE})"
    r"(?P<unit>MPa per mm|MPa (?:\u221a|&radic;)m|MPa sqrt\(m\)|N per mm|N/mm|N m"
    r"|mm\u00b2|mm2|cm2|cm3|mm|um|bar|MPa|degC|kW|kN|N)"
    r"(?![\w/^\u00b2\u00b3]|[ \xa0](?:per mm|\u221a|&radic;|sqrt|m\b))"
)
_PLAIN = re.compile(_MEASURED)
_TYPED = re.compile(
    r"\d[\s.]*(?P<unit>mm|cm|um|in|thou|bar|psi|degC|°C|degF|°F|kW|hp|PS|kN|N|lbf)\Z"
)
_KINDS = {
    "length": {"mm": "mm", "cm": "mm", "um": "mm", "in": "in", "thou": "in"},
    "pressure": {"bar": "bar", "psi": "psi"},
    "temperature": {"degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF"},
    "power": {"kW": "kW", "hp": "hp", "PS": "PS"},
    "force": {"N": "N", "kN": "N", "lbf": "lbf"},
}
_OF_AN_INCH_SHOP = {"pressure": "psi", "temperature": "degF", "power": "hp", "force": "lbf"}
_TYPED_KINDS = {
    "length": LENGTH, "pressure": PRESSURE, "temperature": TEMPERATURE, "power": POWER,
    "force": FORCE,
}  # fmt: skip


def spoken_in(raw: Any) -> Spoken:
    """The units that a case file speaks: of each kind the one that it has most of.

    What a file in inches has none of is told as a shop has it that works in inches.

    Parameters
    ----------
    raw : dict
        As it was read.

    Examples
    --------
    >>> spoken_in({"block": {"bore": "3 1/2 in", "jacket": "0.25 in"}, "gas": {"peak": "95 bar"}})
    Spoken(length='in', small='thou', pressure='bar', temperature='degF', power='hp', force='lbf')
    """
    typed = list(_typed_in(raw))
    votes = Counter(unit for _, unit in typed)
    chosen: dict[str, str] = {}
    for kind, units in _KINDS.items():
        of_kind = Counter[str]()
        for unit, of in units.items():
            of_kind[of] += votes[unit]
        most = max(of_kind, key=lambda of: of_kind[of])  # the first of several: metric
        none = not any(of_kind.values()) and chosen.get("length") == "in"
        chosen[kind] = _OF_AN_INCH_SHOP[kind] if none else most
    small = "thou" if chosen["length"] == "in" else "um"
    return Spoken(**chosen, small=small, typed=tuple(_quantities_of(typed)))


def _typed_in(raw: Any) -> Iterator[tuple[str, str]]:
    """Texts that end in a number with its unit, and that unit."""
    if isinstance(raw, dict):
        for value in raw.values():
            yield from _typed_in(value)
    elif isinstance(raw, list):
        for value in raw:
            yield from _typed_in(value)
    elif isinstance(raw, str) and (found := _TYPED.search(raw)):
        yield raw, found["unit"]


def _quantities_of(typed: Iterable[tuple[str, str]]) -> Iterator[tuple[str, float]]:
    for text, unit in typed:
        quantity = _TYPED_KINDS[next(kind for kind, units in _KINDS.items() if unit in units)]
        with suppress(ValueError):  # a sentence that ends so, or what its key refuses
            yield quantity.name, parse_quantity(text, quantity)


@contextmanager
def refused_in(spoken: Spoken) -> Iterator[None]:
    """Tell a refusal in the units of its file; each fault in those of the value that it refuses.

    Parameters
    ----------
    spoken : Spoken
        Of the file.

    Raises
    ------
    CaseError
    """
    try:
        yield
    except CaseError as error:
        faults = [
            replace(fault, text=_as_typed(fault.value, spoken).text(fault.text))
            for fault in error.faults
        ]
        raise CaseError(error.source, faults) from None


def _as_typed(value: str, spoken: Spoken) -> Spoken:
    """The units of a file, but for the one that a value was typed in."""
    found = _TYPED.search(value.strip('"'))
    if found is None:
        return spoken
    unit = found["unit"]
    if unit in _KINDS["length"]:
        return replace(spoken, length=unit, small="thou" if unit in ("in", "thou") else "um")
    kind = next(kind for kind, units in _KINDS.items() if unit in units)
    changed: dict[str, Any] = {kind: _KINDS[kind][unit]}
    return replace(spoken, **changed)

"""The units that a case file speaks, and numbers told in them.

Everything inside is in mm, MPa, degC and kW; a file that is typed in inches, psi, degF or hp is
answered in them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any

from cases.base.faults import CaseError
from cases.base.units import LENGTH, POWER, PRESSURE, TEMPERATURE


@dataclass(frozen=True)
class Spoken:
    """The units of one case file, by what they measure."""

    length: str = "mm"
    small: str = "um"  # fits, growth, tolerances
    pressure: str = "bar"
    temperature: str = "degC"
    power: str = "kW"

    def text(self, words: str) -> str:
        """A sentence with its lengths, pressures, temperatures and powers in these units.

        What stands in quotes is left as it is: it was typed, or is an example.

        Examples
        --------
        >>> inch = Spoken(length="in", small="thou")
        >>> inch.text('3, 6 and 12.7 mm, 4 to 8 um; write "5 mm", 30 mm2 or 2 MPa')
        '0.11811, 0.23622 and 0.5 in, 0.15748 to 0.31496 thou; write "5 mm", 30 mm2 or 2 MPa'
        """
        return _MEASURED.sub(self._in_units, words)

    def _in_units(self, found: re.Match[str]) -> str:
        if found["quoted"]:
            return found[0]
        quantity, unit = {
            "mm": (LENGTH, self.length),
            "um": (LENGTH, self.small),
            "bar": (PRESSURE, self.pressure),
            "degC": (TEMPERATURE, self.temperature),
            "kW": (POWER, self.power),
        }[found["unit"]]
        if unit == found["unit"]:
            return found[0]

        def other(number: re.Match[str]) -> str:
            inside = float(number[0]) * quantity.units[found["unit"]]
            return f"{quantity.written(inside, unit):.5g}"

        return f"{re.sub(_NUMBER, other, found['numbers'])} {unit}"


METRIC = Spoken()

_NUMBER = r"(?<![\w.])-?\d+(?:\.\d+)?(?:e[+-]?\d+)?(?![\w.]*\w)"
_BETWEEN = r"(?:, | and | or | to | \+- | less than )"
_MEASURED = re.compile(
    rf'(?P<quoted>"[^"\n]*")|(?P<numbers>{_NUMBER}(?:{_BETWEEN}{_NUMBER})*) '
    r"(?P<unit>mm|um|bar|degC|kW)(?![\w/])"
)
_TYPED = re.compile(r"\d[\s.]*(?P<unit>mm|cm|um|in|thou|bar|psi|degC|°C|degF|°F|kW|hp|PS)\Z")
_KINDS = {
    "length": {"mm": "mm", "cm": "mm", "um": "mm", "in": "in", "thou": "in"},
    "pressure": {"bar": "bar", "psi": "psi"},
    "temperature": {"degC": "degC", "°C": "degC", "degF": "degF", "°F": "degF"},
    "power": {"kW": "kW", "hp": "hp", "PS": "PS"},
}


def spoken_in(raw: Any) -> Spoken:
    """The units that a case file speaks: of each kind the one that it has most of.

    Parameters
    ----------
    raw : dict
        As it was read.

    Examples
    --------
    >>> spoken_in({"block": {"bore": "3 1/2 in", "jacket": "0.25 in"}, "gas": {"peak": "95 bar"}})
    Spoken(length='in', small='thou', pressure='bar', temperature='degC', power='kW')
    """
    typed = Counter(_units_in(raw))
    spoken = METRIC
    for kind, units in _KINDS.items():
        votes = Counter[str]()
        for unit, of in units.items():
            votes[of] += typed[unit]
        most = max(votes, key=lambda of: votes[of])  # the first of several: metric
        spoken = replace(spoken, **{kind: most})
    return replace(spoken, small="thou") if spoken.length == "in" else spoken


def _units_in(raw: Any) -> Iterator[str]:
    if isinstance(raw, dict):
        for value in raw.values():
            yield from _units_in(value)
    elif isinstance(raw, list):
        for value in raw:
            yield from _units_in(value)
    elif isinstance(raw, str) and (found := _TYPED.search(raw)):
        yield found["unit"]


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
    return replace(spoken, **{kind: _KINDS[kind][unit]})

"""What was found of one design: what may be wanted of it, and what it lacks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from cases.search.given import SearchInput
from cases.search.loop import Told
from cases.search.table import (
    LIMIT,
    MACHINING,
    MASS,
    OPEN,
    TAKEN,
    TEMPERATURE,
    WETTED,
)

LOAD, FLAGS, ROUND = DEMANDS = ("the wanted load", "heat flags", "out of round")
"""Demands that a solid tells of; the rest is known before any mesh."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Found:
    """One design as a solid judges it."""

    limit: float  # that the wanted share of the draws carry, over the wanted load
    at_least: bool  # no limit was met up to it
    limit_bar: float | None
    low_bar: float | None  # 5 and 95 % of the draws stay below these
    high_bar: float | None
    share: float | None  # of the draws that carry the wanted load
    governs: str
    hottest_degc: float | None
    out_of_round_um: float | None
    open_mm2: float
    wetted_mm2: float | None
    taken_mm3: float  # water that metal takes the place of
    mass_g: float | None
    machining_mm3: float  # metal to cut off block and insert
    doubts: tuple[str, ...]  # heat flags by which no limit holds for sure
    seconds: float

    @classmethod
    def of(cls, said: Mapping[str, Any]) -> Found:
        """As it was kept."""
        return cls(**{**said, "doubts": tuple(said["doubts"])})

    def said(self) -> dict[str, Any]:
        """As it is kept."""
        return {**asdict(self), "doubts": list(self.doubts)}


@dataclass(frozen=True, slots=True)
class Want:
    """One thing that is wanted."""

    name: str
    unit: str  # empty of a ratio
    value: Callable[[Found], float | None]
    large: bool  # as large as can be
    digits: int

    @property
    def heading(self) -> str:
        """Name and unit."""
        return f"{self.name}, {self.unit}" if self.unit else self.name

    def shown(self, value: float) -> str:
        """A value as a cell shows it."""
        return f"{value:.{self.digits}f}"

    def told(self, value: float) -> str:
        """A value in a sentence."""
        return f"{self.shown(value)} {self.unit}".strip()


WANTED: Mapping[str, Want] = {
    LIMIT: Want("limit over the wanted load", "", lambda of: of.limit, True, 2),
    TEMPERATURE: Want("hottest metal", "degC", lambda of: of.hottest_degc, False, 0),
    OPEN: Want("open water", "mm2", lambda of: of.open_mm2, True, 0),
    WETTED: Want("wetted barrel", "mm2", lambda of: of.wetted_mm2, True, 0),
    TAKEN: Want("water taken", "cm3", lambda of: of.taken_mm3 / 1000, False, 1),
    MASS: Want("mass", "g", lambda of: of.mass_g, False, 0),
    MACHINING: Want("metal to cut off", "cm3", lambda of: of.machining_mm3 / 1000, False, 1),
}


def objectives(given: SearchInput, found: Found) -> tuple[float, ...] | None:
    """What is wanted, each to be as small as can be; None where one is not known."""
    values = []
    for name in given.wanted:
        want = WANTED[name]
        value = want.value(found)
        if value is None:
            return None
        values.append(-value if want.large else value)
    return tuple(values)


def lacks(given: SearchInput, found: Found) -> dict[str, float]:
    """By demand what is lacking, where it is above 0."""
    told = {LOAD: 1.0 - found.limit, FLAGS: float(len(found.doubts))}
    if given.most_out_of_round is not None:
        asked = given.most_out_of_round
        told[ROUND] = 1.0 if found.out_of_round_um is None else found.out_of_round_um / asked - 1
    return told


def told(given: SearchInput, found: Found | None) -> Told | None:
    """What the optimiser is told of a design."""
    values = objectives(given, found) if found else None
    if found is None or values is None:
        return None
    return Told(values, tuple(lacks(given, found).values()))

"""Strength when hot: tables by temperature and hours at it, of each way that metal is hardened.

Between the rows strength runs straight in temperature, between the hours straight in their
logarithm. Longer than the longest hours of a table nothing is told; shorter than the shortest
count as that long, and that is said, as metal has more strength the shorter it was hot.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

SHORTEST, LONGEST = 0.5, 1e4  # that a case may ask for [h]
SAME_HOURS = 10.0
"""What another source gives counts for hours up to this many times more or fewer than its own."""
KINDS = ("proof", "tensile")
REFERENCE = 20.0  # where shares are 1 [degC]
Rows = tuple[tuple[float, float], ...]
"""Temperature [degC] and share of the strength at 20 degC."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """What another source gives."""

    at: float  # [degC]
    hours: float  # [h]
    shares: Mapping[str, float]  # of ``KINDS``
    source: str
    opened: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class HotTable:
    """Shares of the strength at 20 degC, by temperature and hours.

    Raises
    ------
    ValueError
        If hours or temperatures don't rise, if a share is not above 0 and at most 1, or rises with
        temperature or hours.
    """

    name: str
    hours: tuple[float, ...]  # rising [h]
    rows: Mapping[str, tuple[tuple[float, ...], ...]]  # by kind: temperature, then share by hours
    source: str
    opened: bool  # whether every number was seen in a public text
    unsure: float = 0.0  # share that they may be off by to either side
    also: tuple[Other, ...] = ()
    hours_told: bool = True  # whether the source says its hours
    like: str = ""  # table of another alloy whose rows these are
    kept: tuple[tuple[float, ...], ...] = ()  # temperature, then share cold again by hours

    def __post_init__(self) -> None:
        if list(self.hours) != sorted(set(self.hours)):
            raise ValueError(f"{self.name}: the hours must rise, each once.")
        for kind, rows in (*self.rows.items(), ("kept", self.kept)):
            last = (REFERENCE, *(1.0 for _ in self.hours))
            for row in rows:
                self._check(kind, row, last)
                last = row

    def _check(self, kind: str, row: Sequence[float], last: Sequence[float]) -> None:
        at, shares = row[0], row[1:]
        if len(shares) != len(self.hours):
            raise ValueError(
                f"{self.name}, {kind} at {at:g} degC: {len(shares)} values for {len(self.hours)} "
                "times."
            )
        if at <= last[0]:
            raise ValueError(
                f"{self.name}, {kind}: {at:g} degC stands after {last[0]:g} degC. Give the "
                "temperatures in rising order, above 20 degC, each once."
            )
        for share, before in zip(shares, last[1:], strict=True):
            if not 0 < share <= before:
                raise ValueError(
                    f"{self.name}, {kind} at {at:g} degC: {100 * share:g} % is outside 0 to "
                    f"{100 * before:g} %, which is there at {last[0]:g} degC. Metal doesn't get "
                    "stronger as it gets hotter."
                )
        if list(shares) != sorted(shares, reverse=True):
            raise ValueError(
                f"{self.name}, {kind} at {at:g} degC: a share rises with the hours. Metal doesn't "
                "get stronger the longer it is hot."
            )

    def at_hours(self, kind: str, hours: float) -> Rows:
        """Shares after some hours, from 20 degC up; empty where the kind is not in the table.

        Parameters
        ----------
        kind : str
            Of ``KINDS``.
        hours : float
            Fewer than the first count as the first. [h]

        Raises
        ------
        ValueError
            If they are more than the table's last.
        """
        if hours > self.hours[-1]:
            raise ValueError(
                f"{hours:g} h is longer than the {self.hours[-1]:g} h that the strength of "
                f"{self.name} is known for."
            )
        if kind not in self.rows:
            return ()
        import numpy as np

        where, known = math.log(hours), np.log(self.hours)
        return (
            (REFERENCE, 1.0),
            *((row[0], float(np.interp(where, known, row[1:]))) for row in self.rows[kind]),
        )

    def kept_after(self, hours: float) -> Rows:
        """Share of the strength at 20 degC that is left there, by the temperature that it was at.

        What the hours take off when tested hot, where nothing else is known.

        Parameters
        ----------
        hours : float
            As of :meth:`at_hours`.
        """
        import numpy as np

        where, known = math.log(hours), np.log(self.hours)
        if self.kept:
            rows = [(row[0], float(np.interp(where, known, row[1:]))) for row in self.kept]
            return ((REFERENCE, 1.0), *rows)
        found: dict[float, float] = {}
        for kind in self.rows:
            short, long = (dict(self.at_hours(kind, of)) for of in (self.hours[0], hours))
            for at, share in long.items():
                found[at] = min(found.get(at, 1.0), share / short[at])
        lowest = 1.0
        rows = []
        for at, share in sorted(found.items()):
            lowest = min(lowest, share)
            rows.append((at, lowest))
        return tuple(rows)

    def spread(self, hours: float) -> tuple[tuple[float, float, float], ...]:
        """Temperature [degC], least and most that the strength may be, over what is counted.

        By what other sources give of the same, and how sure the numbers are; (20 degC, 1, 1) first.
        """
        import numpy as np

        ends: dict[float, tuple[float, float]] = {}
        for other in self.also:
            if not 1 / SAME_HOURS <= hours / other.hours <= SAME_HOURS:
                continue
            low, high = ends.get(other.at, (1.0, 1.0))
            for kind, share in other.shares.items():
                counted = np.interp(other.at, *np.transpose(self.at_hours(kind, hours)))
                low, high = min(low, share / counted), max(high, share / counted)
            ends[other.at] = float(low), float(high)
        if self.unsure:
            first = next(iter(self.rows.values()))[0][0]
            ends.setdefault(first, (1.0, 1.0))
        off = self.unsure
        return (
            (REFERENCE, 1.0, 1.0),
            *(
                (at, min(low, 1 - off), max(high, 1 + off))
                for at, (low, high) in sorted(ends.items())
            ),
        )

    def notes(self, hours: float) -> tuple[str, ...]:
        """What is to be said where the table is asked for some hours."""
        found = []
        if self.like:
            found.append(
                f"hot it is taken to keep the share of its strength that {self.like} does, which "
                "is hardened alike: no table of its own was found"
            )
        if len(self.hours) == 1 and not self.kept:
            found.append(
                "what it loses cold by having been hot is not known, and not counted: above some "
                "150 degC that is too much strength"
            )
        if not self.hours_told:
            found.append("the source of its strengths when hot doesn't say after how many hours")
        elif hours < self.hours[0]:
            found.append(
                f"after {hours:g} h hot its strength is counted as after {self.hours[0]:g} h, the "
                "shortest that is known"
            )
        return tuple(found)


@cache
def hot_tables() -> dict[str, HotTable]:
    """The tables that come with the project, by name."""
    text = Path(__file__).with_name("hot.toml").read_text(encoding="utf-8")
    raw = tomllib.loads(text)
    return {name: _table(name, row, raw) for name, row in raw.items()}


def _table(name: str, row: Mapping[str, Any], raw: Mapping[str, Mapping[str, Any]]) -> HotTable:
    numbers = raw[row["like"]] if "like" in row else row
    return HotTable(
        name=name,
        hours=tuple(float(hours) for hours in numbers["hours"]),
        rows={
            kind: tuple((float(at), *(share / 100 for share in of)) for at, *of in numbers[kind])
            for kind in KINDS
            if kind in numbers
        },
        source=row["source"],
        opened=row["opened"],
        unsure=row.get("unsure", 0.0),
        also=tuple(
            Other(
                at=float(other["at"]),
                hours=float(other["hours"]),
                shares={kind: other[kind] / 100 for kind in KINDS if kind in other},
                source=other["source"],
                opened=other["opened"],
            )
            for other in row.get("also", [])
        ),
        kept=tuple(
            (float(at), *(share / 100 for share in of)) for at, *of in numbers.get("kept", [])
        ),
        hours_told=row.get("hours_told", True),
        like=row.get("like", ""),
    )

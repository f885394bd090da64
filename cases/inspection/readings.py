"""Readings of barrel walls out of a file of columns: each checked, with its error.

Columns are known by their headings, in any order: ``bore``, ``clock``, ``depth [mm]``,
``wall [mm]``, and where they are known ``method``, ``error [mm]``, ``liner`` (in or out) and
``who``. The other columns of the sheet that ``hoopclock sheet`` writes are passed over. A row
without a wall is a place that was not measured.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from cases.base.faults import closest
from cases.base.units import LENGTH
from cases.inspection.cells import MOST_FAULTS, Cells, ReadingsError, read_cells
from cases.inspection.methods import METHODS, UNSTATED, Method
from geometry.clock import format_clock, parse_clock

LinerIs = Literal["in", "out", ""]
"""Whether the liner stood in the bore when a wall was read; empty where the block has none."""

LEAST_WALL = 0.5
"""Less is no wall that was read. [mm]."""
MOST_WALLS = 4.0
"""Times the wall of the drawing, liner and all, above which a reading is a slip of a unit."""
ERRORS = (0.001, 5.0)  # that a reading may state of itself [mm]
UNLIKE = 3.0
"""Readings of one place are unlike where they differ by more than so many times the error of
their difference."""
SAME_CLOCK, SAME_DEPTH = 1 / 120, 0.05  # places that are one [h], [mm]

NEEDED = ("bore", "clock", "depth", "wall")
OPTIONAL = ("method", "error", "liner", "who")
PASSED_OVER = ("place", "expected", "needed", "note")
"""Columns of the sheet to fill in that state no reading."""
LENGTHS = ("depth", "wall", "error", "expected", "needed")
METRIC, INCH = ("mm", "cm", "um"), ("in", "thou")

_HEADING = re.compile(r"(?P<name>[^\[\](){}]*?)\s*(?:[\[(]\s*(?P<unit>[^\])]*?)\s*[\])])?")
_NUMBER = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)
_WITH_UNIT = re.compile(r"[+-]?[\d.,]+\s*[^\d\s.,]+")
_SECONDS = re.compile(r"(\d{1,2}:\d{2}):00")


@dataclass(frozen=True, kw_only=True, slots=True)
class Reading:
    """One measured wall."""

    bore: int  # counted from 1
    clock: float  # [h]
    depth: float  # below the deck [mm]
    wall: float  # as read; with the liner in, that of the liner too [mm]
    error: float  # standard [mm]
    method: str  # of ``METHODS``
    liner: LinerIs = ""
    who: str = ""
    line: int = 0  # of the file, from 1

    @property
    def place(self) -> str:
        """How messages call it."""
        return f"bore {self.bore} at {format_clock(self.clock)}, {self.depth:g} mm deep"


@dataclass(frozen=True, kw_only=True, slots=True)
class Readings:
    """All readings of a file."""

    rows: tuple[Reading, ...]  # in the order of the file
    empty: int = 0  # places of the sheet that were not measured
    unstated: int = 0  # readings without a method


@dataclass(frozen=True, kw_only=True, slots=True)
class Expected:
    """What readings are checked against."""

    bores: int
    wall: float  # of the drawing, without the liner [mm]
    deepest: float  # down to which the barrel has a wall: the floor of the jacket [mm]
    liner: float = 0.0  # of the drawing; 0: none [mm]
    liner_is: LinerIs = ""  # where the file has no such column


def read_readings(path: Path, expected: Expected) -> Readings:
    """Read a file of readings.

    Parameters
    ----------
    path : Path
        A CSV file or a worksheet.
    expected : Expected

    Raises
    ------
    ReadingsError
        With all that is wrong in it, up to ``MOST_FAULTS``, each with its line and column.
    """
    cells = read_cells(path)
    if not cells.rows:
        raise ReadingsError("It is empty. Give a heading, and a row for each reading.")
    columns, units = _columns(cells, expected)
    reader = _Reader(cells, columns, units, expected)
    rows, empty = [], 0
    for line, row in cells.rows[1:]:
        if len(reader.faults) >= MOST_FAULTS:
            break
        found = reader.row(line, row)
        empty += found is None
        if isinstance(found, Reading):
            rows.append(found)
    if not reader.faults:
        reader.check_places(rows)
    if not reader.faults and not rows:
        reader.faults.append(
            f"It has no reading: {empty} rows, and no wall in any of them. Fill in the walls."
        )
    if reader.faults:
        raise ReadingsError(*reader.faults)
    unstated = sum(of.method == UNSTATED.name for of in rows)
    return Readings(rows=tuple(rows), empty=empty, unstated=unstated)


def _columns(cells: Cells, expected: Expected) -> tuple[dict[str, int], dict[str, str]]:
    """Place of each column by its name, and the unit of those that have one."""
    line, headings = cells.rows[0]
    if sum(bool(_NUMBER.fullmatch(of) or re.fullmatch(r"\d+:\d+", of)) for of in headings) > 1:
        raise ReadingsError(
            f"line {line}: it has no heading, so nothing says what its columns are. Put one above, "
            "such as bore;clock;depth [mm];wall [mm]"
        )
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    faults = []
    known = (*NEEDED, *OPTIONAL, *PASSED_OVER)
    for at, heading in enumerate(headings):
        where = cells.place(line, at)
        if not heading:
            if any(at < len(row) and row[at] for _, row in cells.rows[1:]):
                faults.append(f"{where}: a filled column has no heading.")
            continue
        match = _HEADING.fullmatch(heading)
        name = " ".join(match["name"].lower().split()) if match else ""
        unit = (match["unit"] or "") if match else ""
        if name not in known:
            guess = closest(name or heading, known)
            faults.append(
                f'{where}: there is no column "{heading:.40}".'
                f"{f' Did you mean {guess}?' if guess else ''} Known: {', '.join(known)}."
            )
        elif name in columns:
            faults.append(
                f"{where}: {name} is there twice, in column {columns[name] + 1} too. Keep one."
            )
        else:
            columns[name] = at
            faults += _unit_faults(name, unit, where)
            units[name] = unit
    missing = [name for name in NEEDED if name not in columns]
    if missing:
        found = f"; found: {', '.join(columns)}" if columns else ""
        faults.append(f"line {line}: no column {' and none '.join(missing)}{found}.")
    used = {units[name] for name in ("depth", "wall", "error") if units.get(name)}
    if used & set(METRIC) and used & set(INCH):
        named = ", ".join(
            f"{of} [{units[of]}] in {cells.place(line, columns[of])}"
            for of in ("depth", "wall", "error")
            if units.get(of)
        )
        faults.append(f"Units are mixed: {named}. Give all of them in one system.")
    if expected.liner and not expected.liner_is and "liner" not in columns:
        faults.append(
            f"line {line}: the block has a liner, and nothing says whether it stood in the bore. "
            'Give a column liner with in or out, or inspection.liner = "in".'
        )
    if faults:
        raise ReadingsError(*faults[:MOST_FAULTS])
    return columns, units


def _unit_faults(name: str, unit: str, where: str) -> list[str]:
    if name not in LENGTHS:
        return [f"{where}: {name} has no unit. Write {name} alone."] if unit else []
    if unit in LENGTH.units and unit != "m":
        return []
    what = f'"{unit:.20}" is no unit that walls are read in' if unit else "its unit is missing"
    return [f"{where}: {what}. Write it like {name} [mm]; allowed: {', '.join((*METRIC, *INCH))}."]


class _Reader:
    """Makes readings of rows, and gathers what is wrong."""

    def __init__(
        self,
        cells: Cells,
        columns: Mapping[str, int],
        units: Mapping[str, str],
        expected: Expected,
    ) -> None:
        self.cells, self.columns, self.units, self.expected = cells, columns, units, expected
        self.width = len(cells.rows[0][1])
        self.faults: list[str] = []

    def _fault(self, line: int, name: str, text: str) -> None:
        at = self.columns[name]
        self.faults.append(f"{self.cells.place(line, at)} ({name}): {text}")

    def row(self, line: int, row: Sequence[str]) -> Reading | str | None:
        """A reading; None where the place was not measured, a word where it is wrong."""
        if len(row) != self.width and any(row[self.width :]):
            hint = (
                " Where commas are decimal commas, part the columns by semicolons."
                if self.cells.comma
                else ""
            )
            self.faults.append(
                f"line {line}, column {self.width + 1}: it has {len(row)} cells under "
                f"{self.width} headings.{hint}"
            )
            return "wrong"
        if len(row) < self.width:
            self.faults.append(
                f"line {line}, column {len(row) + 1}: it has {len(row)} cells under {self.width} "
                "headings. Fill it up, or take it out."
            )
            return "wrong"
        said = {name: row[at] for name, at in self.columns.items()}
        formulas = [name for name, text in said.items() if text.startswith(("=", "@"))]
        for name in formulas:
            self._fault(line, name, f'"{said[name]:.40}" is a formula. Give its value.')
        if formulas:
            return "wrong"
        if not said["wall"]:
            return None
        before = len(self.faults)
        found = self._reading(line, said)
        return found if found and len(self.faults) == before else "wrong"

    def _reading(self, line: int, said: Mapping[str, str]) -> Reading | None:
        expected = self.expected
        bore = self._bore(line, said["bore"])
        clock = self._clock(line, said["clock"])
        depth = self._length(line, "depth", said["depth"], 0.0, expected.deepest)
        most = MOST_WALLS * (expected.wall + expected.liner)
        wall = self._length(line, "wall", said["wall"], LEAST_WALL, most)
        method = UNSTATED
        if text := said.get("method", ""):
            try:
                method = method_named(text)
            except ValueError as wrong:
                self._fault(line, "method", str(wrong))
        error = None
        if said.get("error"):
            error = self._length(line, "error", said["error"], *ERRORS)
        liner = self._liner(line, said.get("liner", ""))
        if bore is None or clock is None or depth is None or wall is None:
            return None
        return Reading(
            bore=bore, clock=clock, depth=depth, wall=wall, method=method.name, liner=liner,
            error=method.error(wall) if error is None else error, who=said.get("who", ""),
            line=line,
        )  # fmt: skip

    def _bore(self, line: int, text: str) -> int | None:
        if re.fullmatch(r"\d{1,4}", text, re.ASCII) and 1 <= int(text) <= self.expected.bores:
            return int(text)
        self._fault(
            line, "bore",
            f'"{text:.40}" is no bore of this block: give 1 to {self.expected.bores}, counted '
            "from the 9:00 end.",
        )  # fmt: skip
        return None

    def _clock(self, line: int, text: str) -> float | None:
        try:
            return parse_clock(_SECONDS.sub(r"\1", text))
        except ValueError as error:
            self._fault(line, "clock", str(error))
            return None

    def _liner(self, line: int, text: str) -> LinerIs:
        if not self.expected.liner:
            if text:
                self._fault(line, "liner", f'"{text:.40}": the block has no liner.')
            return ""
        text = text.lower() or self.expected.liner_is
        if text == "in":
            return "in"
        if text == "out":
            return "out"
        self._fault(
            line, "liner",
            f'"{text:.40}" is neither in nor out: it says whether the liner is in the wall read.',
        )  # fmt: skip
        return ""

    def _length(self, line: int, name: str, text: str, least: float, most: float) -> float | None:
        unit = self.units[name]
        size = LENGTH.units[unit]
        if not _NUMBER.fullmatch(text):
            if not text:
                what = "it is empty. Give it, or take the wall out."
            elif _WITH_UNIT.fullmatch(text):
                what = (
                    f'"{text:.40}" has a unit of its own. The heading gives it for all: [{unit}].'
                )
            else:
                what = f'"{text:.40}" is not a number.'
            self._fault(line, name, what)
            return None
        value = float(f"{float(text.replace(',', '.')) * size:.12g}")
        if least <= value <= most:
            return value
        words = f"{least / size:.4g} to {most / size:.4g} {unit}"
        self._fault(
            line, name, f"{text} {unit} is outside {words}. {self._guess(text, least, most)}"
        )
        return None

    def _guess(self, text: str, least: float, most: float) -> str:
        """The unit that would bring a number into its range."""
        value = float(text.replace(",", "."))
        units = {"mm": "millimetres", "in": "inches"}
        fits = [of for of in units if least <= value * LENGTH.units[of] <= most]
        return f"Check it: in {units[fits[0]]} it would be within." if fits else "Check it."

    def check_places(self, rows: Sequence[Reading]) -> None:
        """Refuse one place that is there twice with unlike walls."""
        for first, again in unlike_places(rows):
            self._fault(
                again.line, "wall",
                f"{again.place}, is {again.wall:g} mm here and {first.wall:g} mm in line "
                f"{first.line}: more apart than their errors. Measure it again, and keep one.",
            )  # fmt: skip


def reading_kept(values: Mapping[str, Any], line: int) -> Reading:
    """A reading that a record keeps.

    Parameters
    ----------
    values : mapping
        In inside units, by field of such a line.
    line : int
        Its number.

    Raises
    ------
    ValueError
        If there is no such method.
    """
    method = method_named(values["method"]) if "method" in values else UNSTATED
    return Reading(
        bore=values["bore"], clock=values["clock"], depth=values["depth"], wall=values["wall"],
        error=values.get("error", method.error(values["wall"])), method=method.name,
        liner=values.get("liner", ""), who=values.get("who", ""), line=line,
    )  # fmt: skip


def readings_kept(lines: Sequence[tuple[int, Mapping[str, Any]]], expected: Expected) -> Readings:
    """Readings that a record keeps of a block.

    Parameters
    ----------
    lines : sequence of (int, mapping)
        Number and values of each, as of :func:`reading_kept`.
    expected : Expected

    Raises
    ------
    ReadingsError
        With all that is wrong in them, up to ``MOST_FAULTS``, each with the number of its line.
    """
    rows: list[Reading] = []
    faults: list[str] = []
    for number, values in lines:
        try:
            of = reading_kept({"liner": expected.liner_is, **values}, number)
        except ValueError as wrong:
            faults.append(f"line {number} (method): {wrong}")
            continue
        faults += [f"line {number} ({name}): {text}" for name, text in _unfit(of, expected)]
        rows.append(of)
    if not faults:
        faults = [
            f"line {again.line} (wall): {again.place}, is {again.wall:g} mm, and {first.wall:g} mm "
            f"in line {first.line}: more apart than their errors. Measure it again, and strike one."
            for first, again in unlike_places(rows)
        ]
    if faults:
        raise ReadingsError(*faults[:MOST_FAULTS])
    if not rows:
        raise ReadingsError("No wall was read on it. Add readings: hoopclock record add")
    return Readings(rows=tuple(rows), unstated=sum(of.method == UNSTATED.name for of in rows))


def _unfit(of: Reading, expected: Expected) -> Iterator[tuple[str, str]]:
    """Fields of a reading that don't fit the block, and why."""
    if of.bore > expected.bores:
        yield "bore", f"{of.bore} is no bore of this block: 1 to {expected.bores}."
    if of.depth > expected.deepest:
        yield "depth", f"{of.depth:g} mm is below the wall, which ends at {expected.deepest:g} mm."
    most = MOST_WALLS * (expected.wall + expected.liner)
    if not LEAST_WALL <= of.wall <= most:
        yield "wall", f"{of.wall:g} mm is outside {LEAST_WALL:g} to {most:.4g} mm."
    if expected.liner and not of.liner:
        yield "liner", 'Nothing says whether it stood in the bore: give inspection.liner = "in".'
    if of.liner and not expected.liner:
        yield "liner", "The block has no liner."


def method_named(text: str) -> Method:
    """A method by its name.

    Raises
    ------
    ValueError
        With those that are known.
    """
    plain = " ".join(text.lower().split())
    if plain in METHODS:
        return METHODS[plain]
    guess = closest(plain, METHODS)
    raise ValueError(
        f'"{text:.40}" is no method.{f" Did you mean {guess}?" if guess else ""} '
        f"Known: {', '.join(METHODS)}."
    )


def unlike_places(rows: Sequence[Reading]) -> Iterator[tuple[Reading, Reading]]:
    """Readings of one place that are more apart than their errors: the first, and another."""
    by_place: dict[tuple[object, ...], Reading] = {}
    for of in rows:
        clock, depth = round(of.clock / SAME_CLOCK / 2), round(of.depth / SAME_DEPTH / 2)
        first = by_place.setdefault((of.bore, clock, depth, of.liner), of)
        if abs(of.wall - first.wall) > UNLIKE * (of.error**2 + first.error**2) ** 0.5:
            yield first, of

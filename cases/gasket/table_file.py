"""Openings out of a table: a row each, its place by clock and radius or by x and y.

Columns are known by their headings, in any order, lengths with their unit there: ``bore``,
``clock`` and ``radius [mm]``, or ``x [mm]`` and ``y [mm]``; ``shape``, ``width [mm]``,
``length [mm]``, ``arc [deg]``, ``turn [deg]``, ``corners [mm]``, ``vent`` and ``name``. Places are
about the axis of their bore, or of bore 1 where none is named.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Sequence
from pathlib import Path

from cases.base.faults import closest
from cases.base.units import LENGTH
from cases.gasket.opening import Opening, opening_of
from cases.inspection.cells import MOST_FAULTS, Cells, ReadingsError, read_cells
from geometry import planar
from geometry.clock import clock_to_angle, parse_clock
from geometry.planar import Curve
from geometry.section import Block

LENGTHS = ("radius", "x", "y", "width", "length", "corners")
ANGLES = ("arc", "turn")
WORDS = ("name", "bore", "clock", "shape", "vent")
KNOWN = (*WORDS, *LENGTHS, *ANGLES)
ROUND, SLOT, POLYGON = "round", "slot", "polygon"
SHAPES = (ROUND, SLOT, POLYGON)
UNITS = ("mm", "cm", "in", "thou")
WIDTHS = (0.5, 200.0)  # of an opening [mm]
FARTHEST = 2000.0  # from the axis of its bore [mm]
MOST_OPENINGS = 1000

_HEADING = re.compile(r"(?P<name>[^\[\](){}]*?)\s*(?:[\[(]\s*(?P<unit>[^\])]*?)\s*[\])])?")
_NUMBER = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)


def read_table(path: Path, block: Block) -> tuple[Opening, ...]:
    """The openings of a table, about the axis of bore 1.

    Parameters
    ----------
    path : Path
        A CSV file or a worksheet.
    block : Block
        Whose bores the rows name.

    Raises
    ------
    ReadingsError
        With all that is wrong in it, up to ``MOST_FAULTS``, each with its line and column.
    """
    cells = read_cells(path)
    if len(cells.rows) < 2:
        raise ReadingsError("It has no opening. Give a heading, and a row for each opening.")
    if len(cells.rows) > MOST_OPENINGS + 1:
        raise ReadingsError(
            f"It has {len(cells.rows) - 1} rows; a gasket has some dozens of openings, and at most "
            f"{MOST_OPENINGS} are read."
        )
    columns, units = _columns(cells)
    reader = _Reader(cells, columns, units, block)
    found = [reader.opening(line, row) for line, row in cells.rows[1:]]
    if reader.faults:
        raise ReadingsError(*reader.faults[:MOST_FAULTS])
    return tuple(of for of in found if of is not None)


def _columns(cells: Cells) -> tuple[dict[str, int], dict[str, str]]:
    """Place of each column by its name, and the units of those that have one."""
    line, headings = cells.rows[0]
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    faults = []
    for at, heading in enumerate(headings):
        match = _HEADING.fullmatch(heading)
        name = " ".join(match["name"].lower().split()) if match else heading
        unit = (match["unit"] or "") if match else ""
        where = cells.place(line, at)
        if name not in KNOWN:
            guess = closest(name, KNOWN)
            maybe = f" Did you mean {guess}?" if guess else ""
            faults.append(
                f'{where}: there is no column "{heading:.40}".{maybe} Known: {", ".join(KNOWN)}.'
            )
        elif name in columns:
            faults.append(f"{where}: {name} is there twice. Keep one.")
        elif name in LENGTHS and unit not in UNITS:
            what = (
                f'"{unit:.20}" is no unit that openings are read in' if unit else "it has no unit"
            )
            faults.append(f"{where}: {what}. Write {name} [mm]; allowed: {', '.join(UNITS)}.")
        elif name in ANGLES and unit != "deg":
            faults.append(f"{where}: it is an angle. Write {name} [deg].")
        elif name in WORDS and unit:
            faults.append(f"{where}: {name} has no unit. Write {name} alone.")
        else:
            columns[name], units[name] = at, unit
    by_clock, by_xy = ({*of} <= set(columns) for of in (("clock", "radius"), ("x", "y")))
    if not faults and not (by_clock or by_xy or "corners" in columns):
        faults.append(
            f"line {line}: nothing says where the openings are. Give columns clock and radius "
            "[mm], or x [mm] and y [mm], or corners [mm]."
        )
    if faults:
        raise ReadingsError(*faults[:MOST_FAULTS])
    return columns, units


class _Reader:
    """Makes openings of rows, and gathers what is wrong."""

    def __init__(
        self, cells: Cells, columns: dict[str, int], units: dict[str, str], block: Block
    ) -> None:
        self.cells, self.columns, self.units = cells, columns, units
        self.axes = [axis - block.axes[0] for axis in block.axes]
        self.faults: list[str] = []

    def opening(self, line: int, row: Sequence[str]) -> Opening | None:
        """The opening of a row; None where it is wrong."""
        self.line, self.row = line, row
        before = len(self.faults)
        axis = self._axis()
        shape = self._text("shape").lower() or ROUND
        if shape not in SHAPES:
            self._fault("shape", f'"{shape:.30}" is no shape. Known: {", ".join(SHAPES)}.')
            return None
        vent = self._text("vent").lower()
        if vent not in ("", "no", "yes"):
            self._fault("vent", f'"{vent:.30}" is neither yes nor no.')
        loop = self._polygon(axis) if shape == POLYGON else self._cut(shape, axis)
        if loop is None or len(self.faults) > before:
            return None
        name = self._text("name")
        return opening_of(f"line {line}{f' ({name:.40})' if name else ''}", loop, vent == "yes")

    def _cut(self, shape: str, axis: float) -> list[Curve] | None:
        """A round opening, or a slot: along a circle about its bore, or straight."""
        width = self._number("width", *WIDTHS)
        place = self._place()
        if width is None or place is None:
            return None
        if shape == ROUND:
            return planar.circle(axis + place, width / 2)
        arc, length = self._number("arc", 0.1, 350.0, ""), self._number("length", *WIDTHS, "")
        if (arc is None) == (length is None):
            self._fault("width", "A slot needs arc [deg] between its end centres, or its length.")
            return None
        if arc is not None:
            return slot_on_circle(axis, abs(place), cmath.phase(place), math.radians(arc), width)
        assert length is not None
        if length <= width:
            self._fault("length", f"A slot {length:g} mm long is no longer than {width:g} mm wide.")
            return None
        turn = math.radians(self._number("turn", -360.0, 360.0, "") or 0.0)
        along = 1j * place / abs(place) if place else 1.0 + 0j
        way = along * cmath.exp(1j * turn) * (length - width) / 2
        return straight_slot(axis + place - way, axis + place + way, width)

    def _polygon(self, axis: float) -> list[Curve] | None:
        text = self._text("corners")
        size = LENGTH.units[self.units["corners"]] if "corners" in self.units else 1.0
        corners = []
        for pair in filter(None, map(str.strip, re.split(r"[;|/]", text))):
            numbers = re.findall(r"[^\s]+", pair)
            if len(numbers) != 2 or not all(map(_NUMBER.fullmatch, numbers)):
                self._fault("corners", f'"{pair:.30}" is no corner. Write x y / x y / x y.')
                return None
            x, y = (size * float(of.replace(",", ".")) for of in numbers)
            corners.append(axis + complex(x, y))
        if len(corners) < 3:
            where = "corners" if "corners" in self.columns else "shape"
            self._fault(where, "A polygon needs three corners or more: x y / x y / x y.")
            return None
        if len(set(corners)) < len(corners):
            self._fault("corners", "A corner is there twice. Give each once, in order.")
            return None
        return planar.polygon(corners)

    def _axis(self) -> float:
        text = self._text("bore")
        if not text:
            return 0.0
        if re.fullmatch(r"\d{1,4}", text, re.ASCII) and 1 <= int(text) <= len(self.axes):
            return self.axes[int(text) - 1]
        self._fault("bore", f'"{text:.30}" is no bore of this block: give 1 to {len(self.axes)}.')
        return 0.0

    def _place(self) -> complex | None:
        """Centre about the axis of the bore."""
        clock = self._text("clock")
        if clock:
            try:
                angle = float(clock_to_angle(parse_clock(clock)))
            except ValueError as error:
                self._fault("clock", str(error))
                return None
            radius = self._number("radius", 0.1, FARTHEST)
            return None if radius is None else radius * cmath.exp(1j * angle)
        x, y = (self._number(of, -FARTHEST, FARTHEST) for of in ("x", "y"))
        return None if x is None or y is None else complex(x, y)

    def _text(self, name: str) -> str:
        at = self.columns.get(name)
        return "" if at is None or at >= len(self.row) else self.row[at]

    def _number(
        self, name: str, least: float, most: float, missing: str = "It is empty. Give it."
    ) -> float | None:
        """A number [mm or deg]; None, with the fault ``missing`` if it says any, without."""
        text = self._text(name)
        if not text:
            if missing:
                self._fault(name, missing)
            return None
        if not _NUMBER.fullmatch(text):
            self._fault(name, f'"{text:.30}" is not a number. The heading gives the unit for all.')
            return None
        unit = self.units[name]
        size = LENGTH.units[unit] if name in LENGTHS else 1.0
        value = float(f"{float(text.replace(',', '.')) * size:.12g}")
        if least <= value <= most:
            return value
        words = f"{least / size:.4g} to {most / size:.4g} {unit}"
        self._fault(name, f"{text} {unit} is outside {words}. Check it, and its unit.")
        return None

    def _fault(self, name: str, text: str) -> None:
        at = self.columns.get(name)
        where = f"line {self.line}" if at is None else self.cells.place(self.line, at)
        self.faults.append(f"{where} ({name}): {text}")


def slot_on_circle(
    axis: float, radius: float, middle: float, arc: float, width: float
) -> list[Curve]:
    """A slot along a circle about a bore axis, round at its ends; angles in rad, lengths in mm."""
    half, low, high = width / 2, middle - arc / 2, middle + arc / 2
    first, last = (axis + radius * cmath.exp(1j * angle) for angle in (low, high))
    return [
        *planar.arc(axis, radius + half, low, high),
        *planar.arc(last, half, high, high + math.pi),
        *planar.arc(axis, radius - half, high, low),
        *planar.arc(first, half, low + math.pi, low + math.tau),
    ]


def straight_slot(first: complex, last: complex, width: float) -> list[Curve]:
    """A straight slot between two end centres, round at its ends."""
    along = cmath.phase(last - first)
    off = 1j * width / 2 * cmath.exp(1j * along)
    return [
        planar.line(first - off, last - off),
        *planar.arc(last, width / 2, along - math.pi / 2, along + math.pi / 2),
        planar.line(last + off, first + off),
        *planar.arc(first, width / 2, along + math.pi / 2, along + 3 * math.pi / 2),
    ]

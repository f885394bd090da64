"""What to measure on a block: places, methods and walls to expect, as a blank to fill in.

The least wall that the asked load needs is told by a rating where one is at hand, else by two
coarse solids (:mod:`cases.inspection.worth`), along a straight line of logarithms.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from cases.base.command import page_written
from cases.base.faults import CaseError, Fault
from cases.base.units import LENGTH
from cases.case import Case
from cases.inspection.found import OF_ALUMINIUM
from cases.inspection.given import inspection_given
from cases.inspection.methods import BALL_MICROMETER, CALIPER, METHODS, ULTRASOUND, Method
from cases.inspection.places import place_of
from cases.inspection.worth import FURTHEST, Spare
from geometry import Block
from geometry.clock import clock_to_angle, format_clock

ROUND = 12  # clock positions of a bore
BESIDE = 1 / 3  # of a cut's root, where the wall beside it is read as well: 10 degrees [h]
NEAR_DECK = 5.0  # [mm]
BELOW_FLOOR = 5.0  # of a cut [mm]
WITHOUT_CUT = (15.0, 30.0)  # below the first, of a bore without one (judgement) [mm]
ABOVE_FLOOR = 2.0  # of the jacket, where its corner begins [mm]
SHEET, PAGE = "sheet.csv", "sheet.html"


@dataclass(frozen=True, kw_only=True, slots=True)
class Blank:
    """A place to measure."""

    bore: int
    clock: float  # [h]
    depth: float  # [mm]
    method: Method
    expected: float  # wall by the drawing [mm]
    what: str  # of the place: "root of cut", "beside it" or nothing
    needed: float | None  # the least that the asked load needs [mm]
    beyond: str = ""  # "<" or ">" where it is somewhere below or above that


@dataclass(frozen=True, kw_only=True, slots=True)
class Unreached:
    """Places at one clock position that no method reaches."""

    bore: int
    clock: float  # [h]
    depths: tuple[float, ...]  # [mm]
    why: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Sheet:
    """What to measure on a block."""

    name: str  # of the job
    lined: bool
    unit: str  # of lengths, as the case speaks
    rows: tuple[Blank, ...]
    left_out: tuple[Unreached, ...]
    needed: str  # where the least walls come from, or what gives them
    velocity: str  # what an error of the ultrasound's velocity does
    axes: tuple[float, ...]  # of the bores, along the row [mm]
    radius: float  # of the bores [mm]
    outside: float  # of the barrels, by the drawing [mm]


def sheet_of(case: Case, spare: Spare) -> Sheet:
    """What to measure on the block of a case.

    Parameters
    ----------
    case : Case
    spare : Spare
        Of its walls at the asked load.
    """
    found = inspection_given(case)
    block = found.drawn if found else case.block
    iron = bool(block.liner) and case.materials["liner"].youngs_modulus > OF_ALUMINIUM
    rows: list[Blank] = []
    left_out: list[Unreached] = []
    for bore in range(1, block.bores + 1):
        for clock, depths, what in _positions(block, bore):
            missed: dict[str, list[float]] = {}
            for depth in depths:
                method = _method(block, bore, clock, depth, iron)
                if isinstance(method, str):
                    missed.setdefault(method, []).append(depth)
                    continue
                wall = place_of(block, bore, clock, depth).wall
                needed, beyond = _needed(wall, spare)
                rows.append(
                    Blank(
                        bore=bore, clock=clock, depth=depth, method=method, expected=wall,
                        what=what, needed=needed, beyond=beyond,
                    )
                )  # fmt: skip
            left_out += [
                Unreached(bore=bore, clock=clock, depths=tuple(at), why=case.spoken.text(why))
                for why, at in missed.items()
            ]
    return Sheet(
        name=case.name, lined=block.liner > 0, unit=case.spoken.length, rows=tuple(rows),
        left_out=tuple(left_out), needed=case.spoken.text(spare.words),
        velocity=case.spoken.text("1 % of it is 0.06 mm on 6 mm"), axes=block.axes,
        radius=block.bore / 2, outside=block.barrel_radius,
    )  # fmt: skip


def _needed(wall: float, spare: Spare) -> tuple[float | None, str]:
    """The least wall, and whether it is only known to lie beyond it."""
    if spare.mm is None:
        return None, ""
    far = FURTHEST * wall
    beyond = "<" if spare.mm > far else ">" if spare.mm < -far else ""
    return wall - min(max(spare.mm, -far), far), beyond


def _positions(block: Block, bore: int) -> Iterator[tuple[float, list[float], str]]:
    """Clock positions of a bore with the depths to measure at, in the order of the clock."""
    lowest = (block.jacket_floor or block.floor_depth) - ABOVE_FLOOR

    def within(*depths: float) -> list[float]:
        return sorted({round(min(depth, lowest)) for depth in depths if depth > 0})

    cuts = [cut for cut in block.relief_cuts if cut.bores is None or bore in cut.bores]
    deepest = max((cut.depth for cut in cuts), default=0.0)
    usual = within(NEAR_DECK, *((deepest / 2, deepest + BELOW_FLOOR) if cuts else WITHOUT_CUT))
    found: dict[int, tuple[list[float], str]] = {60 * hour: (usual, "") for hour in range(ROUND)}
    for cut in cuts:
        depths = within(NEAR_DECK, cut.depth / 2, cut.depth + BELOW_FLOOR)
        for off, what in ((-BESIDE, "beside a relief cut"), (BESIDE, "beside a relief cut")):
            found[round(60 * (cut.clock + off)) % 720] = (depths, what)
    for cut in cuts:
        depths = within(NEAR_DECK, cut.depth / 2, cut.depth + BELOW_FLOOR)
        found[round(60 * cut.clock) % 720] = (depths, "root of a relief cut")
    for minute, (depths, what) in sorted(found.items()):
        yield minute / 60, depths, what


def _method(block: Block, bore: int, clock: float, depth: float, iron: bool) -> Method | str:
    """How a place is reached, or why it is not."""
    kind = place_of(block, bore, clock, depth).kind
    if kind == "web":
        return "two barrels run together, so the wall has no far side"
    if kind == "tie":
        return "a tie stands there, so the wall has no far side"
    under_tie = place_of(block, bore, clock, 0.0).kind == "tie"
    if not under_tie:
        for method in (BALL_MICROMETER, CALIPER):
            if depth <= method.reach:
                return method
    if not iron:
        return ULTRASOUND
    above = "under a tie" if under_tie else f"deeper than jaws reach ({CALIPER.reach:g} mm)"
    return f"{above}, and the liner's outside reflects ultrasound; once it is out, that reads it"


def refuse_begun(folder: Path) -> None:
    """Refuse to write over a blank that is there already.

    Raises
    ------
    CaseError
        If it is.
    """
    if (folder / SHEET).exists():
        raise _begun(folder)


def _begun(folder: Path) -> CaseError:
    text = "It is there, and may be filled in. Move it, or choose another folder with --out."
    return CaseError("output", [Fault("--out", text, f'"{folder / SHEET}"')])


def write_sheet(sheet: Sheet, folder: Path) -> None:
    """Write the blank and the page to print; one that was begun is never written over.

    Raises
    ------
    CaseError
        If the blank is there already, or it can't be written.
    """
    with page_written(folder, "--out"):
        folder.mkdir(parents=True, exist_ok=True)
        try:
            with (folder / SHEET).open("x", encoding="utf-8-sig", newline="") as file:
                file.write(sheet_text(sheet))
        except FileExistsError:
            raise _begun(folder) from None
        (folder / PAGE).write_text(sheet_page(sheet), encoding="utf-8")


def _size(value: float | None, unit: str) -> str:
    if value is None:
        return ""
    return f"{LENGTH.written(value, unit):.{3 if unit == 'in' else 2}f}"


def least_words(of: Blank, unit: str) -> str:
    """The least wall that a place needs; empty where it is not known."""
    return f"{of.beyond}{_size(of.needed, unit)}"


def _depth(value: float, unit: str) -> str:
    return f"{LENGTH.written(value, unit):.4g}"


def sheet_text(sheet: Sheet) -> str:
    """The blank: columns parted by semicolons, as :func:`cases.inspection.readings` reads them."""
    unit = sheet.unit
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=";", lineterminator="\r\n")
    liner = ["liner"] if sheet.lined else []
    lengths = [f"{name} [{unit}]" for name in ("depth", "wall", "error", "expected", "needed")]
    depth, wall, error, expected, needed = lengths
    writer.writerow(
        ["bore", "clock", depth, wall, "method", *liner, error, "who", "place", expected, needed]
    )
    for of in sheet.rows:
        writer.writerow(
            [
                of.bore, format_clock(of.clock), _depth(of.depth, unit), "", of.method.name,
                *["" for _ in liner], "", "", of.what, _size(of.expected, unit),
                least_words(of, unit),
            ]
        )  # fmt: skip
    return file.getvalue()


def sheet_page(sheet: Sheet) -> str:
    """The page to print."""
    from cases.base.cautions import CAUTIONS
    from cases.base.templates import render

    used = [of for of in METHODS.values() if any(row.method is of for row in sheet.rows)]
    return render(
        "inspection/sheet.html.j2", sheet=sheet, bores=_by_bore(sheet.rows), methods=used,
        size=lambda value: _size(value, sheet.unit),
        least=lambda of: least_words(of, sheet.unit), deep=lambda value: _depth(value, sheet.unit),
        plan=_plan(sheet), cautions=CAUTIONS,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class _Plan:
    """The row of bores from above, places from its upper left corner on, y down. [mm]."""

    width: float
    height: float
    axes: tuple[tuple[float, float], ...]
    dots: tuple[tuple[float, float, bool], ...]  # and whether at the root of a relief cut
    hours: tuple[tuple[float, float, str], ...]


def _plan(sheet: Sheet) -> _Plan:
    """Where the clock positions of the sheet are."""
    edge = 1.1 * sheet.outside
    axes = [(x - min(sheet.axes) + edge, edge) for x in sheet.axes]

    def at(bore: int, clock: float, radius: float) -> tuple[float, float]:
        (x, y), angle = axes[bore - 1], float(clock_to_angle(clock))
        return x + radius * math.cos(angle), y - radius * math.sin(angle)

    middle = (sheet.radius + sheet.outside) / 2
    places = {(of.bore, of.clock): of.what.startswith("root") for of in sheet.rows}
    return _Plan(
        width=axes[-1][0] + edge,
        height=2 * edge,
        axes=tuple(axes),
        dots=tuple((*at(*place, middle), root) for place, root in places.items()),
        hours=tuple(
            (*at(bore, hour, 0.8 * sheet.radius), f"{hour}:00")
            for bore in range(1, len(axes) + 1)
            for hour in (12, 3, 6, 9)
        ),
    )


def _by_bore(rows: Sequence[Blank]) -> dict[int, list[Blank]]:
    found: dict[int, list[Blank]] = {}
    for of in rows:
        found.setdefault(of.bore, []).append(of)
    return found

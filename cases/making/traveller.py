"""What goes with a job through the shop: what to do in the order of work, with blanks to fill in.

Every blank has the name of a field of the record (:mod:`cases.store.kinds`), and what else the
line of the record says stands fixed beside it; what the record has no field for goes into a note.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from dataclasses import field as made_by
from typing import Any

import numpy as np

from cases.base.units import FORCE, LENGTH, PRESSURE, VOLUME
from cases.gas.given import gas_given
from cases.gasket.words import over_words
from cases.inspection.sheet import Blank as Place
from cases.inspection.sheet import sheet_of
from cases.inspection.worth import Spare, spare_of_rating
from cases.making.drawing import measured
from cases.making.given import BATHS
from cases.making.limits import SideLimits, side_limits
from cases.making.make import Making
from cases.making.pocket import milled_ties
from cases.making.words import seconds
from cases.rating.given import rating_given
from cases.rating.words import of_hundred
from cases.record.given import record_given
from geometry.clock import format_clock
from geometry.cut_pieces import CutPiece
from geometry.left import walls_left

UM = 1000.0
WORST = 3
NAMED = 6
"""Holes of a gasket that are named; making.html names all."""
SAFETY = (
    "Nitrogen and dry ice burn skin and take the place of air: open air or strong ventilation, "
    "gloves, face shield, no closed vessel.",
    "A hot block looks like a cold one: gloves, a sound hoist, nothing that burns nearby.",
    "Under a press: guards shut, nobody in line with the piece, force raised slowly, stop at the "
    "stated limit.",
    "Leak test with water, not air, behind a shield; no plug is touched under pressure.",
)
DEFERENCE = (
    "Local codes and the instructions of the maker of each machine, gas, oven and compound come "
    "before anything on this sheet."
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Blank:
    """A blank to fill in: a field of a line of the record."""

    kind: str
    field: str
    fixed: Mapping[str, str] = made_by(default_factory=dict)  # other fields of the line
    says: str = ""  # of a note: what it begins with
    width: float = 18.0  # on paper [mm]

    @property
    def name(self) -> str:
        """Of the blank, with all that its line says."""
        known = "".join(f"; {key}={value}" for key, value in self.fixed.items())
        return (
            f"{self.kind} {self.field}".strip() + f"{known}{f': {self.says}' if self.says else ''}"
        )


Cell = str | Blank
Line = tuple[Cell, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Grid:
    """A table with blanks."""

    heads: tuple[str, ...]
    widths: tuple[float, ...]  # of the columns on paper [mm]
    rows: tuple[Line, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Box:
    """A step of the work."""

    title: str
    parts: tuple[Line | Grid, ...]

    @property
    def signed(self) -> tuple[Blank, ...]:
        """Who did it and when, which every line of the record says; none of what is only read."""
        if not self.title[0].isdigit():
            return ()
        return (
            Blank(kind="", field="who", says=self.title, width=34),
            Blank(kind="", field="date", says=self.title, width=33),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Traveller:
    """The sheet."""

    head: tuple[tuple[str, str], ...]
    verdict: str
    worst: tuple[tuple[complex, str], ...]  # places of the section, and what they are
    boxes: tuple[Box, ...]


def traveller_of(making: Making, date: datetime.date) -> Traveller:
    """The sheet of a design.

    Parameters
    ----------
    making : Making
    date : date
        That it is written on.
    """
    rated = making.results
    row, count = _row(making, rated), len(making.pieces)
    return Traveller(
        head=(
            ("Job", making.case.name),
            ("Block number", record_given(making.case).job or "________________"),
            ("Design", f"{making.design.name}, {count} piece{'s' * (count > 1)}"),
            ("Case", making.inputs),
            ("Revision", making.given.revision or "–"),
            ("Date", date.isoformat()),
        ),
        verdict=_verdict(making, rated, row),
        worst=tuple(
            (
                complex(of["x_mm"], of["y_mm"]),
                f"{of['part']} {of['clock']}{_of_bore(making, of)}"
                + ("" if of.get("depth_mm") is None else f", {both(of['depth_mm'], 1)} down"),
            )
            for of in (row or {}).get("places", ())[:WORST]
            if of.get("x_mm") is not None
        ),
        boxes=(
            Box(title="1 Measure first", parts=tuple(_measure(making, rated))),
            Box(title="2 Cut the block", parts=tuple(_cut(making))),
            Box(title="3 Make the insert, piece by piece", parts=tuple(_insert(making))),
            Box(title="4 Fit", parts=tuple(_fit(making))),
            Box(title="5 After", parts=tuple(_after(making))),
            Box(title="Safety", parts=tuple((line,) for line in (*SAFETY, DEFERENCE))),
        ),
    )


def both(value: float, places: int = 2) -> str:
    """A length in millimetres and inches.

    Examples
    --------
    >>> both(52.0, 3), both(0.3)
    ('52.000 mm (2.0472 in)', '0.30 mm (0.012 in)')
    """
    return f"{value:.{places}f} mm ({_inches(value, places)} in)"


def small(*values: float) -> str:
    """Sizes of a fit in micrometres and thousandths of an inch.

    Examples
    --------
    >>> small(-0.0254, 0.0127)
    '-25.4 / +12.7 um (-1.00 / +0.50 thou)'
    """
    um = " / ".join(f"{UM * of + 0.0:+.1f}" for of in values)
    thou = " / ".join(f"{LENGTH.written(of, 'thou') + 0.0:+.2f}" for of in values)
    return f"{um} um ({thou} thou)"


def warm(value: float) -> str:
    """A temperature on both scales.

    Examples
    --------
    >>> warm(-195.8)
    '-195.8 degC (-320 degF)'
    """
    return f"{value:g} degC ({1.8 * value + 32:.0f} degF)"


def in_both(words: str) -> str:
    """Words with their micrometres and temperatures in thousandths and degF too.

    Examples
    --------
    >>> in_both("at least 254 um of clearance, the block at 120 degC")
    'at least 254 um (10.00 thou) of clearance, the block at 120 degC (248 degF)'
    """

    def other(found: re.Match[str]) -> str:
        value = float(found[1])
        if found[2] == "um":
            return f"{found[0]} ({LENGTH.written(value / UM, 'thou'):.2f} thou)"
        return warm(value)

    return re.sub(r"(-?\d+(?:\.\d+)?) (um|degC)\b", other, words)


def force(value: float) -> str:
    """A force in newtons and pounds.

    Examples
    --------
    >>> force(1000)
    '1000 N (225 lbf)'
    """
    return f"{value:.0f} N ({FORCE.written(value, 'lbf'):.0f} lbf)"


def _of_bore(making: Making, place: Mapping[str, Any]) -> str:
    """The bore that a place is about; empty where there is one alone."""
    block = making.case.block
    if block.bores == 1:
        return ""
    return f" of bore {int(block.nearest_bore(place['x_mm'], place['y_mm'])[0])}"


def _row(making: Making, rated: Mapping[str, Any] | None) -> Mapping[str, Any] | None:
    rows = ((rated or {}).get("verdict") or {}).get("rows", ())
    return next((of for of in rows if of["design"] == making.design.name), None)


def _verdict(making: Making, rated: Mapping[str, Any] | None, row: Mapping[str, Any] | None) -> str:
    """That of the design, on one line, and what the report would rather have made."""
    verdict = (rated or {}).get("verdict")
    if not verdict or row is None:
        return f"No verdict. {making.rated}"
    if row["limit_bar"] is not None:
        bar, at_most = row["limit_bar"], "at most " if row["at_most"] else ""
        limit = f"{at_most}{bar:.0f} bar ({PRESSURE.written(bar / 10, 'psi'):.0f} psi)"
    elif row["limit_factor"]:
        limit = f"{row['limit_factor']:.2f} times the gas load"
    else:
        limit = "no limit found"
    wanted, carries = verdict["wanted_bar"], ""
    if row["share"] is not None:
        load = f"{wanted:.0f} bar" if wanted is not None else "what is"
        carries = (
            f"; {of_hundred(row['share'], verdict['reliability'])} of 100 draws carry {load} "
            f"wanted, {100 * verdict['reliability']:.0f} are asked"
        )
    found = f'"{making.design.name}" {row["status"]}: {limit}{carries}.'
    if verdict["design"] not in (None, making.design.name):
        found += f" Told to make: {verdict['design']}."
    warned = [*verdict["worse_bores"], *verdict["heat_flags"]]
    return found + (" Read what its report says first." if warned else "")


def _note(what: str, says: str, width: float = 22.0) -> Line:
    return (what, Blank(kind="note", field="text", says=says, width=width))


def _main(field: str, stage: str) -> Blank:
    return Blank(kind="main bores", field=field, fixed={"stage": stage}, width=22)


def _measure(making: Making, rated: Mapping[str, Any] | None) -> Iterator[Line | Grid]:
    case = making.case
    walls = Spare(mm=None, words="")
    if rated:
        walls = spare_of_rating(rated, rating_given(case).wall_tolerance)
    sheet = sheet_of(case, walls)
    thinnest: dict[int, Place] = {}
    for of in sheet.rows:
        if of.bore not in thinnest or of.expected < thinnest[of.bore].expected:
            thinnest[of.bore] = of
    yield (
        "Barrel wall where it is thinnest, and where the sheet of hoopclock sheet says. Stop where "
        "it is less than needed: solve the block again as it is.",
    )
    yield Grid(
        heads=("bore", "clock", "depth mm (in)", "by drawing mm (in)", "needed mm (in)", "wall"),
        widths=(14, 18, 34, 38, 38, 40),
        rows=tuple(
            (
                str(of.bore), format_clock(of.clock), _pair(of.depth, 1), _pair(of.expected, 2),
                "–" if of.needed is None else of.beyond + _pair(of.needed, 2),
                Blank(kind="reading", field="wall", fixed={
                    "bore": str(of.bore), "clock": format_clock(of.clock),
                    "depth": f"{of.depth:g} mm", "method": of.method.name}),
            )
            for of in thinnest.values()
        ),
    )  # fmt: skip
    yield _bores(making, "before press", "Bores as they are, at 12:00")
    yield (
        *_note("Cracks, by dye:", "cracks before", 30),
        "Main bores, all, least:",
        _main("least", "before press"),
        "largest:",
        _main("most", "before press"),
        "customer's limit:",
        _main("limit", "before press"),
    )


def _pair(value: float, places: int) -> str:
    return f"{value:.{places}f} ({_inches(value, places)})"


def _inches(value: float, places: int) -> str:
    """With one place more than millimetres have."""
    return f"{LENGTH.written(value, 'in'):.{places + 1}f}"


def _cut(making: Making) -> Iterator[Line | Grid]:
    insert = making.design.insert
    assert insert is not None
    yield ("Datums: deck A, as it is before it is cut; axis of each bore B, by its liner.",)
    register = insert.register
    if register is None:
        yield (
            "No register: the faces of the jacket as cast are cleaned up to the fit's finish, from "
            f"the deck {both(insert.deepest)} down where the insert stands, and no further.",
        )
        yield (
            "Cutter as found, diameter:",
            Blank(kind="cut", field="cutter"),
            "depth finished to:",
            Blank(kind="cut", field="least_depth"),
        )
    else:
        cut = f"Register {both(register.depth)} deep from A, tolerance 0 to +0.05 mm (0.002 in)"
        cut += f", off the barrel {both(insert.off_barrel)}, off the outer wall "
        yield (
            f"{cut}{both(insert.off_outer_wall)}; cutter of at most "
            f"{both(2 * register.corner_radius)} diameter, which leaves the corners.",
        )
        if insert.deepest > register.depth:
            yield (
                f"Below its floor the insert's zones go on to {both(insert.deepest)} between the "
                "faces as cast, cleaned up there.",
            )
        yield (
            "Cutter, diameter:",
            Blank(kind="cut", field="cutter"),
            "depth found, least:",
            Blank(kind="cut", field="least_depth"),
            "largest:",
            Blank(kind="cut", field="most_depth"),
        )
    ties = milled_ties(making)
    if ties:
        yield (
            f"Ties milled down to {both(insert.depth)} from A, as wide as the pocket: "
            f"{', '.join(ties)}.",
        )
    walls = walls_left(making.case.section(making.design))
    for name, wall in zip(("barrel", "outer"), walls, strict=True):
        least, clock, bore = wall.least
        if bore:
            by_clock = []
            for hour in range(12):
                at = np.abs(wall.clock - hour).argmin()
                some = wall.thickness[:, at]
                if not np.isnan(some).all():
                    by_clock.append(f"{hour or 12}:00 {_pair(float(np.nanmin(some)), 2)}")
            yield (
                f"Left of the {name} wall at the deck: least {both(least)}, bore {bore} at "
                f"{format_clock(clock)}. Of all bores by clock, mm (in): {', '.join(by_clock)}.",
            )
    yield (
        "Least wall left, found:", Blank(kind="cut", field="least_wall", width=30),
        "bore:", Blank(kind="cut", field="bore"), "clock:", Blank(kind="cut", field="clock"),
    )  # fmt: skip


def _insert(making: Making) -> Iterator[Line | Grid]:
    limits = side_limits(making)
    insert = making.design.insert
    assert insert is not None
    assert making.design.insert_material is not None
    deep = f"{both(insert.depth + making.given.deck_stock)} thick"
    if insert.zones:
        deep += f", {both(insert.deepest + making.given.deck_stock)} in its zones,"
    yield (
        f"{making.design.insert_material.name}, {deep} with {both(making.given.deck_stock)} "
        "for the deck; outline, slots and zones by sheets and DXF. Number and clock mark on the "
        "deck face of each piece. All sizes at 20 degC (68 degF).",
    )
    for of in limits:
        yield (_side(of),)
    if making.fit is None:
        return
    parts = [of.part for of in limits]
    pieces = making.pieces
    each = 154 / max(2 * len(parts), 1)
    heads = [head for part in parts for head in (f"{part}: pocket", f"{part}: insert")]
    yield Grid(
        heads=("piece", "bore", "clock", *heads),
        widths=(11, 11, 15, *(each for _ in heads)),
        rows=tuple(
            (
                str(piece.number), str(piece.bore), format_clock(piece.clock),
                *(
                    Blank(kind="piece", field=name, fixed={
                        "bore": str(piece.bore), "piece": str(piece.number), "side": part})
                    for part in parts
                    for name in ("pocket", "insert")
                ),
            )
            for piece in pieces
        ),
    )  # fmt: skip
    yield (
        "Pocket and insert: size across the two faces of that side, or its diameter, by the same "
        "gauge for both. Where the pocket is off its limits, make the insert the pocket found and "
        f"twice the press per side. Measure the pocket as drawn{measured(making)}.",
    )


def _side(of: SideLimits) -> str:
    if of.bonded:
        return f"{of.part}: bonded, insert to the pocket's own size."
    return (
        f"{of.part}, per side: press low / nominal / high {small(*of.press)}; pocket "
        f"{small(*of.pocket)}, insert {small(*of.insert)} off the drawn outline."
    )


def _fit(making: Making) -> Iterator[Line | Grid]:
    given, press = making.given, making.press
    bath = "as it is" if given.cooled_in == "none" else f"from {given.cooled_in}"
    drops = making.drops_in
    how = "Not known how" if making.unknown else "Drop in" if drops else "Press in"
    yield (
        f"{how}: block {warm(given.block_temperature)}, at most "
        f"{warm(given.hottest_block)}; insert {bath}, {warm(BATHS[given.cooled_in])}. "
        + (
            "In one stroke, to the ledge or flush with the deck plus its stock."
            if drops
            else f"Whether it drops in is not known: {in_both(making.unknown)}."
            if making.unknown
            else f"It does not drop in: {in_both('; '.join(making.cures))}."
        ),
    )
    fit = making.fit
    yield (_compound(making),)
    presses = {of.number: of for of in press.pieces} if press else {}

    def going(k: int) -> Line:
        if not making.passages:
            return ("–", "–", "–")
        one = making.passages[k]
        um = UM * one.least
        return (
            f"{um:.0f} ({LENGTH.written(one.least, 'thou'):.2f})",
            seconds(one.air_seconds), seconds(one.touching_seconds),
        )  # fmt: skip

    def pressing(piece: CutPiece) -> Line:
        of = presses.get(piece.number)
        if of is None:
            return ("–", "–")
        return tuple(f"{one:.0f} ({FORCE.written(one, 'lbf'):.0f})" for one in (of.low, of.high))

    if fit is not None:
        yield Grid(
            heads=(
                "piece", "clearance um (thou)", "in air", "touching", "press low N (lbf)",
                "press high N (lbf)", "block as found, with unit", "insert as found, with unit",
                "force, with unit",
            ),
            widths=(11, 23, 14, 15, 25, 25, 28, 28, 22),
            rows=tuple(
                (
                    str(piece.number), *going(k), *pressing(piece),
                    *(
                        Blank(kind="fitting", field=name,
                              fixed={"bore": str(piece.bore), "piece": str(piece.number)})
                        for name in ("block_temperature", "insert_temperature", "force")
                    ),
                )
                for k, piece in enumerate(making.pieces)
            ),
        )  # fmt: skip
    stop = ""
    if press:
        high = max(of.high for of in press.pieces)
        stop = f" When the force of a piece passes its high value (at most {force(high)}),"
    yield (
        f"When to stop:{stop} when a piece tilts, stands proud by more than its stock, or the time "
        "is over: take it out, warm or cool both again, measure, begin anew. Never drive a piece "
        "that has gripped. Let the block cool in still air before it is cut.",
    )
    yield _bores(making, "after press", "Bores with the insert in, cold, at 12:00")


def _compound(making: Making) -> str:
    compound = making.fit.compound if making.fit else None
    if compound is None:
        return "Compound: none. Faces clean and dry; in a press, oiled as the friction assumes."
    from cases.making.compound import Units, compound_words

    units = Units(
        volume=lambda mm3: f"{mm3 / 1000:.3g} cm3 ({VOLUME.written(mm3, 'in3'):.2g} in3)",
        gap=lambda mm: f"{UM * mm:.0f} um ({LENGTH.written(mm, 'thou'):.1f} thou)",
        stress=lambda mpa: f"{mpa:g} MPa ({PRESSURE.written(mpa, 'psi'):.0f} psi)",
        warm=warm,
    )
    return " ".join(compound_words(making, units))


def _after(making: Making) -> Iterator[Line | Grid]:
    stock = making.given.deck_stock
    yield (f"Deck: take the insert's {both(stock)} off and no more of the block than cleans it. "
           + _higher(making),)  # fmt: skip
    yield (
        "Deck taken:", Blank(kind="deck", field="taken"), "flatness:",
        Blank(kind="deck", field="flatness"), "new height:", Blank(kind="deck", field="height"),
        "joint step:", Blank(kind="deck", field="joint_step"),
    )  # fmt: skip
    yield (
        "Main bores after, least:",
        _main("least", "after press"),
        "largest:",
        _main("most", "after press"),
        "They are not in the model: past the customer's limit, line-bore.",
    )
    for one in making.water:
        told = over_words(one, making.case.block.bores, _area, NAMED)
        yield (f"{told} Lay it on the deck and see that it is so.",)
    yield _bores(making, "after hone", "Bores, honed on the torque plate, at 12:00")
    for state in ("cold", "hot"):
        yield (
            f"Leak test {state}: pressure", Blank(kind="leak test", field="pressure"), "time",
            Blank(kind="leak test", field="time"), "result, tight or leaks",
            Blank(kind="leak test", field="result", width=26),
        )  # fmt: skip
    yield (*_note("Washed, passages blown through:", "washed", 30),)


def _area(mm2: float) -> str:
    return f"{mm2:.0f} mm2 ({mm2 / LENGTH.units['in'] ** 2:.2f} in2)"


def _bores(making: Making, stage: str, what: str) -> Grid:
    bores = range(1, making.case.block.bores + 1)
    return Grid(
        heads=(f"{what}, 10 mm (0.4 in) down", *(f"bore {bore}" for bore in bores)),
        widths=(60, *(min(33.0, 136 / len(bores)) for _ in bores)),
        rows=(
            (
                f"diameter {stage}",
                *(
                    Blank(kind="bore", field="diameter", fixed={
                        "stage": stage, "bore": str(bore), "clock": "12:00", "depth": "10 mm"})
                    for bore in bores
                ),
            ),
        ),
    )  # fmt: skip


def _higher(making: Making) -> str:
    """What a lower deck does to compression and squish."""
    by = 0.1
    engine = gas_given(making.case).engine
    squish = f"Each {both(by)} off the deck takes {both(by)} off the squish"
    if engine is None:
        return f"{squish} and its area times that off the chamber."
    crank = engine.engine.crank
    higher = 1 + crank.swept / (crank.clearance - by * crank.area)
    ratios = f"from {crank.compression_ratio:.2f} to {higher:.2f}"
    return f"{squish} and raises the compression ratio {ratios}."

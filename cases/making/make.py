"""All that a shop needs to make a design: gathered, and written into a folder."""

from __future__ import annotations

import datetime
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from cases.base.faults import CaseError, Fault, closest
from cases.base.version import __version__
from cases.case import Case, Design
from cases.life.given import InsertFit, life_given
from cases.making.cure import cures
from cases.making.given import CONTACT_FILM, MakingInput, making_given
from cases.making.passage import FitRange, Passage, Way, opening, passages
from cases.making.press import Press, press_of
from geometry.cut_pieces import CutPiece, Loop, caps_of, cut_pieces, piece_volumes, pocket_loops
from geometry.outline import planned
from geometry.plan import Plan
from geometry.planar import Area
from geometry.section import DeckSection

if TYPE_CHECKING:
    from cases.gasket.result import GasketWater
    from cases.making.across import Across

PAGE, DATA = "making.html", "making.json"
UM = 1000.0


@dataclass(frozen=True, kw_only=True)
class Making:
    """How a design is made and how it goes in."""

    case: Case
    design: Design
    given: MakingInput
    pieces: tuple[CutPiece, ...]
    inputs: str  # hash of the case
    rated: str  # what was found of a rating, in words
    results: Mapping[str, Any] | None  # of that
    fit: InsertFit | None  # None of an insert that is one with the block
    made: FitRange | None  # None where no side has a common interference
    opens: float  # strain of the block over that of the insert
    passages: tuple[Passage, ...]  # none where ``unknown`` says why
    unknown: str
    cures: tuple[str, ...]  # what would let it in; none where it drops in
    press: Press | None  # None where only a rating would know

    @cached_property
    def section(self) -> DeckSection:
        """That the pieces are of: walls with draft in the mean over the insert."""
        insert = self.design.insert
        assert insert is not None
        return replace(self.case.section(self.design), drawn_over=insert.depth)

    @cached_property
    def plan(self) -> Plan:
        """Of that section: what of the block stands where, and what is cut."""
        return planned(self.section)

    @cached_property
    def caps(self) -> tuple[tuple[float, tuple[Loop, ...]], ...]:
        """Depths below which the block ends a piece before its own depth, and where. [mm]."""
        return tuple(caps_of(self.section))

    def steps(self, piece: CutPiece) -> tuple[tuple[float, tuple[Loop, ...]], ...]:
        """Those of a piece."""
        own = Area(piece.loops[:1])
        return tuple(
            (cap, loops)
            for cap, loops in self.caps
            if own.holds(np.array([curve.point(0.5) for curve in loops[0]])).any()
        )

    @cached_property
    def water(self) -> tuple[GasketWater, ...]:
        """What each gasket of the case opens over the insert, as it lies on the block."""
        from cases.gasket.given import gasket_given
        from cases.gasket.solve import design_water

        if not gasket_given(self.case).gaskets:
            return ()
        return design_water(self.case, self.design).gaskets

    @cached_property
    def pockets(self) -> tuple[tuple[Loop, ...], ...]:
        """What the insert goes into, as it is cut at the deck: outer loops and their holes."""
        return tuple(pocket_loops(self.section))

    @cached_property
    def sections(self) -> Mapping[int, tuple[Across, ...]]:
        """Across each piece, by its number."""
        from cases.making.across import across, places_of

        return {
            piece.number: tuple(across(self, piece, place) for place in places_of(self, piece))
            for piece in self.pieces
        }

    @cached_property
    def masses(self) -> tuple[float, ...]:
        """Of the pieces below the deck; none where the density is not known. [g]."""
        material = self.design.insert_material
        if material is None or material.density is None:
            return ()
        return tuple(material.density * volume for volume in self.volumes)

    @cached_property
    def volumes(self) -> tuple[float, ...]:
        """Of the pieces below the deck. [mm3]."""
        return piece_volumes(self.section, self.pieces)

    @property
    def least(self) -> float:
        """Clearance of the side that opens least. [mm]."""
        return min(one.least for one in self.passages)

    @property
    def drops_in(self) -> bool:
        """Whether every side has the clearance that is asked for."""
        return bool(self.passages) and self.least >= self.given.least_clearance


def made_of(
    case: Case, name: str, rated: Mapping[str, Any] | None, words: str, inputs: str = ""
) -> Making:
    """How a design of a case is made.

    Parameters
    ----------
    case : Case
    name : str
        Of the design.
    rated : mapping or None
        Results of its rating, where it was rated.
    words : str
        What was found of a rating.
    inputs : str
        Hash of the case.

    Raises
    ------
    CaseError
        If the case has no such design, or it has no insert.
    SectionError
        If it can't be drawn.
    """
    design = design_of(case, name)
    assert design.insert is not None
    assert design.insert_material is not None
    found: Mapping[str, Any] = next(
        (of for of in (rated or {}).get("designs", ()) if of["design"] == name), {}
    )
    given = making_given(case)
    # walls with draft in the mean over the insert, not over the section
    pieces = cut_pieces(replace(case.section(design), drawn_over=design.insert.depth))
    fit = life_given(case).fits.get(name)
    made = _range(fit, found.get("fit_advice")) if fit else None
    materials = (case.materials["barrel"], design.insert_material)
    going: tuple[Passage, ...] = ()
    would: tuple[str, ...] = ()
    unknown, opens = "", 0.0
    try:
        opens = opening(*materials, given)
        if fit is None or made is None:
            unknown = "the design says nothing of its fit: add [design.fit]"
        else:
            heat = life_given(case).heat
            film = given.contact_film or (heat and heat.joint_conductance) or CONTACT_FILM
            going = passages(pieces, case.block, design.insert, fit, made, given, materials, film)
            ways = tuple(Way(piece=of, block=case.block, insert=design.insert) for of in pieces)
            largest = {part: made.of(fit, part)[2] for part in fit.sides}
            would = cures(going, ways, largest, given, materials)
    except ValueError as error:
        unknown = str(error)
    return Making(
        case=case, design=design, given=given, pieces=pieces, inputs=inputs, rated=words,
        results=rated,
        fit=fit, made=made,
        opens=opens, passages=going, unknown=unknown, cures=would,
        press=press_of(found, given.friction, design.insert.deepest),
    )  # fmt: skip


def design_of(case: Case, name: str) -> Design:
    """A design of a case, with an insert.

    Raises
    ------
    CaseError
        If the case has no such design, or it has no insert.
    """
    inserts = [design.name for design in case.designs if design.insert is not None]
    design = next((of for of in case.designs if of.name == name), None)
    if design is not None and design.insert is not None:
        return design
    if design is not None:
        text = "It has no insert to make."
    else:
        near = closest(name, inserts)
        text = "The case has no such design." + (f' Did you mean "{near}"?' if near else "")
    have = f" It has: {', '.join(inserts)}." if inserts else ""
    raise CaseError(str(case.source_path), [Fault("--design", text + have, json.dumps(name))])


def _range(fit: InsertFit, advice: Mapping[str, Any] | None) -> FitRange:
    """The interference that is made: the window of the rating, else the tolerance of the case."""
    nominal = fit.interference or 0.0
    if advice and advice["low_um"] is not None:
        low, middle, high = (advice[f"{end}_um"] / UM for end in ("low", "nominal", "high"))
        note = ""
        if not low <= nominal <= high:
            note = (
                f"The stated interference of {UM * nominal:.0f} um is outside the window of its "
                f"rating, {UM * low:.0f} to {UM * high:.0f} um: the window is drawn."
            )
        return FitRange(low=low, nominal=middle, high=high, by="window of the rating", note=note)
    return FitRange(
        low=nominal - fit.tolerance, nominal=nominal, high=nominal + fit.tolerance,
        by="tolerance of the case",
    )  # fmt: skip


def folder_of(name: str) -> str:
    """Of what is made of a design, among the results."""
    return f"make-{re.sub(r'[^a-z0-9]+', '-', name.lower()).strip('-') or 'design'}"


def write_making(making: Making, folder: Path) -> tuple[str, ...]:
    """Write page, numbers and drawings into a folder; what can't be cut, in words."""
    from cases.making.drawing import write_drawings
    from cases.making.page import making_page
    from cases.making.sheets import write_sheets
    from cases.making.solids import steps_written
    from cases.making.traveller import traveller_of
    from cases.making.traveller_pages import write_traveller

    date = datetime.date.today()
    with steps_written(making, folder) as wrong:
        write_sheets(making, date, making.masses, folder)
        write_traveller(making, traveller_of(making, date), folder)
        missing = (*write_drawings(making, folder), *wrong())
    text = json.dumps(making_dict(making), indent=1, ensure_ascii=False, allow_nan=False)
    (folder / DATA).write_text(text + "\n", encoding="utf-8")
    (folder / PAGE).write_text(making_page(making, missing), encoding="utf-8")
    return missing


def making_dict(making: Making) -> dict[str, Any]:
    """The numbers, the unit in each key."""
    made, press = making.made, making.press
    return {
        "hoopclock": __version__,
        "job": making.case.name,
        "design": making.design.name,
        "block_temperature_degc": making.given.block_temperature,
        "insert_temperature_degc": making.given.insert_temperature,
        "opens_strain": making.opens,
        "interference_um": made
        and {"low": UM * made.low, "nominal": UM * made.nominal, "high": UM * made.high,
             "by": made.by},
        "drops_in": making.drops_in if making.passages else None,
        "not_known_because": making.unknown or None,
        "would_do": list(making.cures),
        "least_clearance_asked_um": UM * making.given.least_clearance,
        "least_clearance_um": UM * making.least if making.passages else None,
        "pieces": [
            {
                "number": piece.number,
                "bore": piece.bore,
                "clock_hours": piece.clock,
                "length_mm": piece.length,
                "area_mm2": piece.area,
                "mass_g": making.masses[k] if making.masses else None,
                **(_going(making.passages[k]) if making.passages else {}),
                **(_pressed(press, piece.number) if press else {}),
            }
            for k, piece in enumerate(making.pieces)
        ],
        "stroke_mm": press and press.stroke,
        "out_of_round_pressed_um": press and press.out_of_round_um,
    }  # fmt: skip


def _going(one: Passage) -> dict[str, Any]:
    return {
        "closed": one.closed,
        "clearance_um": {
            side.part: {"at_20_degc": UM * side.cold, "nominal": UM * side.nominal,
                        "least": UM * side.least}
            for side in one.sides
        },
        "unbent_um": None if one.unbent is None else UM * one.unbent,
        "air_seconds": one.air_seconds if one.air_seconds < 1e6 else None,
        "touching_seconds": one.touching_seconds if one.touching_seconds < 1e6 else None,
    }  # fmt: skip


def _pressed(press: Press, number: int) -> dict[str, Any]:
    of = next(one for one in press.pieces if one.number == number)
    return {"press_low_n": of.low, "press_high_n": of.high, "hold_n": of.out}

"""``[block]``, ``[[tie]]``, ``[[relief_cut]]``, ``[section]`` and ``[[design]]`` of a case file."""

from __future__ import annotations

import re
from dataclasses import fields
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, StrictBool, StrictInt

from cases.base.tables import Angle, Clock, Length, Range, Scatter, Table, key, share_within
from cases.base.units import LENGTH, SHARE, parse_length
from fea.strength import PORE_CLASSES, PORE_SCATTER
from geometry.rounding import CORNER_EXTRA, INSIDE_RADIUS
from geometry.section import (
    BELOW_FEATURES,
    FLOOR_SHARE,
    JACKET_SHARE,
    RANGES,
    THINNEST_WALL,
    Block,
    DeeperZone,
    Insert,
    Register,
    Tie,
)

TOLERANCE = 0.02  # numerical error of a hot spot, as a share of its stress
TOLERANCES = Range(0.3, 20, "%")


def _tolerance(value: object) -> float:
    why = ": below that the mesh can't tell, above it the stress is not worth rating"
    return share_within(value, TOLERANCES, why)


def _design_name(value: object) -> object:
    if isinstance(value, str) and not re.fullmatch(r"\w(?:[\w .+-]{0,38}\w)?", value):
        raise ValueError(
            "A design's name also names its files: 1 to 40 letters, digits, spaces and . _ + -, "
            "with a letter or digit at each end."
        )
    return value


def _range(part: str, name: str) -> Range:
    """What the geometry allows."""
    return Range(*RANGES[part][name])


def _default(part: type, name: str) -> Any:
    """What the geometry takes where nothing is stated."""
    return next(field.default for field in fields(part) if field.name == name)


Tolerance = Annotated[float, BeforeValidator(_tolerance), SHARE, TOLERANCES]
Bores = list[StrictInt] | None

CENTRE = "the clock position of its centre"
ITS_DEPTH = "its depth from the deck down"
SURFACES = {"as cast": 0.2, "blended": 0.0063, "peened": 0.025}
"""Rz by a word [mm]: a cast skin by FKM (from memory), the others common practice, no source. What
peening presses in is given no credit."""
ROUGHNESSES = Range(0.1, 400, "um")


def _surface(value: object) -> float:
    if isinstance(value, str) and value in SURFACES:
        return SURFACES[value]
    try:
        return parse_length(value)
    except ValueError as error:
        raise ValueError(f"{error} Or one of {', '.join(map(repr, SURFACES))}.") from None


Surface = Annotated[float, BeforeValidator(_surface), LENGTH, ROUGHNESSES]
PROCESSES = ("sand", "permanent mould", "pressure die", "squeeze", "wrought plate")
A_MATERIAL = 'a material of the library, or of a heading [material."..."]'


def _bores(example: object) -> Any:
    return key(
        "the bores that have it, counted from 1",
        example,
        None,
        left_out="all of them",
        allowed="each bore of the block once",
    )


class BlockTable(Table):
    """``[block]``."""

    bore: Annotated[Length, _range("block", "bore")] = key(
        "the finished diameter of a bore", "87 mm"
    )
    barrel_wall: Annotated[Length, _range("block", "barrel_wall")] = key(
        "the wall of parent metal around a bore, outside any liner", "6 mm"
    )
    material: str = key("the alloy of the block", "A356-T6", allowed=A_MATERIAL)
    process: Literal[PROCESSES] | None = key(  # type: ignore[valid-type]
        "how the block is made, which its strengths hang on",
        "sand",
        None,
        left_out="as its alloy usually is: of A356-T6, 319-T6, C355-T6 and A390-T6 a permanent "
        "mould, of die cast alloys pressure die casting, of wrought ones plate, of iron sand",
    )
    pore: Annotated[Length, Range(0.01, 5, "mm")] | None = key(
        "the diameter of the largest pore at a cut of the casting, for fatigue",
        "0.4 mm",
        None,
        left_out="not known, and casting_quality of [rating] counts",
        allowed="0.01 to 5 mm, and less than the thinner of barrel and outer wall",
    )
    pore_scatter: Scatter | None = key(
        "the standard deviation of its size, from casting to casting",
        "30 %",
        None,
        left_out=f"{100 * PORE_SCATTER:g} %, or that of the casting_class",
    )
    casting_class: Literal[*PORE_CLASSES] | None = key(  # type: ignore[valid-type]
        "how sound the casting is, which stands for its largest pore (from memory: "
        + ", ".join(
            f"{name}: {most:g} mm within a factor of {off:g}"
            for name, (most, _, off) in PORE_CLASSES.items()
        )
        + ")",
        "sand, degassed",
        None,
        left_out="not known, and pore or casting_quality counts",
        instead_of="pore",
    )
    surface: Surface | None = key(
        "the surface of the cuts, for fatigue: its mean peak to valley height Rz, or a word",
        "6.3 um",
        None,
        left_out="polished as the bars of the tables, and nothing is taken off",
        allowed="0.1 to 400 um, or "
        + ", ".join(f'"{word}" for {1000 * rz:g} um' for word, rz in SURFACES.items()),
    )
    liner: Annotated[Length, _range("block", "liner")] = key(
        "the wall of the liner", "2.5 mm", 0.0, left_out="no liner"
    )
    liner_material: str | None = key(
        "the material of the liner",
        "grey iron class 30",
        None,
        left_out="required with a liner",
        allowed=A_MATERIAL,
    )
    wall_table: list[Annotated[tuple[Clock, Length], Field(strict=False)]] = key(
        "measured barrel walls by clock position, straight lines between them",
        [["12:00", "6 mm"], ["4:00", "5.7 mm"], ["8:00", "6.2 mm"]],
        [],
        left_out="barrel_wall all round",
        allowed="three rows or more, each clock position once; walls of {:g} to {:g} {}".format(
            *RANGES["block"]["barrel_wall"]
        ),
    )
    jacket: Annotated[Length, _range("block", "jacket")] = key(
        "the radial width of the water jacket", "9 mm", 0.0, left_out="no jacket, a plain barrel"
    )
    outer_wall: Annotated[Length, _range("block", "outer_wall")] = key(
        "the wall outside the jacket", "9 mm", 0.0, left_out="required with a jacket"
    )
    bores: Annotated[StrictInt, _range("block", "bores")] = key("the number of bores in line", 4, 1)
    pitch: Length | None = key(
        "the distance between bore axes",
        "97 mm",
        None,
        left_out="required with more than one bore",
        allowed="more than the bore with its liners",
    )
    firing_bore: StrictInt | None = key(
        "the bore that fires, counted from 1 at the 9:00 end",
        2,
        None,
        left_out="each of them in turn under rate, which rates the block by the worst; else 1",
        allowed="1 to the number of bores",
    )
    valley_fillet: Annotated[Length, _range("block", "valley_fillet")] = key(
        "the fillet where two barrels run together", "3 mm", _default(Block, "valley_fillet")
    )
    jacket_depth: Annotated[Length, _range("block", "jacket_depth")] | None = key(
        "the depth of the water jacket, from the deck to its floor",
        "70 mm",
        None,
        left_out=f"{JACKET_SHARE:g} of the bore, at least {BELOW_FEATURES:g} times as deep as any "
        "tie or relief cut",
        allowed="less than the crankcase floor",
    )
    crankcase_floor: Annotated[Length, _range("block", "crankcase_floor")] | None = key(
        "the depth from the deck at which the barrels end over the crankcase, where the solid is "
        "held",
        "83 mm",
        None,
        left_out=f"{FLOOR_SHARE:g} of the bore below the jacket",
        allowed="more than the depth of the jacket and of any relief cut",
    )
    floor_radius: Annotated[Length, _range("block", "floor_radius")] = key(
        "the radius between a relief cut's floor and its wall; 0 leaves it sharp and not judged",
        "2 mm",
        _default(Block, "floor_radius"),
    )
    underside_radius: Annotated[Length, _range("block", "underside_radius")] = key(
        "the radius between a tie's underside and the walls; 0 leaves it sharp and not judged",
        "3 mm",
        _default(Block, "underside_radius"),
    )
    draft: Annotated[Angle, _range("block", "draft")] = key(
        "the draft of the jacket as cast: it is widest at the deck, where its walls and ties are "
        "stated, and they grow thicker with depth; an insert without a register is cut with it",
        "1 deg",
        _default(Block, "draft"),
    )


class TieTable(Table):
    """``[[tie]]``."""

    clock: Clock = key(CENTRE, "12:20")
    width: Annotated[Length, _range("tie", "width")] = key("the width between its sides", "8 mm")
    depth: Annotated[Length, _range("tie", "depth")] = key(ITS_DEPTH, "12 mm")
    fillet: Annotated[Length, _range("tie", "fillet")] = key(
        "the fillet at its ends", "3 mm", _default(Tie, "fillet")
    )
    bores: Bores = _bores([1, 4])


class ReliefCutTable(Table):
    """``[[relief_cut]]``."""

    clock: Clock = key(CENTRE, "7:35")
    radius: Annotated[Length, _range("relief_cut", "radius")] = key(
        "from the bore axis to its centre", "57 mm"
    )
    diameter: Annotated[Length, _range("relief_cut", "diameter")] = key("its diameter", "15 mm")
    depth: Annotated[Length, _range("relief_cut", "depth")] = key(ITS_DEPTH, "25 mm")
    bores: Bores = _bores([2])


class SectionTable(Table):
    """``[section]``."""

    depth: Annotated[Length, _range("section", "depth")] | None = key(
        "the section depth, over which stress is a mean",
        "28 mm",
        None,
        left_out="1.4 sqrt(mean radius x wall) of barrel and liner, at least the deepest insert",
    )
    thinnest_wall: Annotated[Length, _range("section", "thinnest_wall")] = key(
        "the thinnest metal that is let pass", "1.5 mm", THINNEST_WALL
    )
    mesh: Literal["coarse", "normal", "fine"] = key(
        "the fineness of the mesh that the solver starts from", "normal", "normal"
    )
    tolerance: Tolerance = key("the numerical error allowed at a hot spot", "2 %", TOLERANCE)


class ZoneTable(Table):
    """``[[design.zone]]``."""

    clock: Clock = key(CENTRE, "7:35")
    width: Annotated[Angle, _range("zone", "width")] = key(
        "the angle over which it has full depth", "30 deg"
    )
    depth: Annotated[Length, _range("zone", "depth")] = key(
        f"{ITS_DEPTH}, more than the insert's", "16 mm"
    )
    blend: Annotated[Angle, _range("zone", "blend")] = key(
        "the angle of its run-out at each end", "10 deg", _default(DeeperZone, "blend")
    )


class SlotTable(Table):
    """``[[design.slot]]``."""

    clock: Clock = key(CENTRE, "4:00")
    width: Annotated[Length, _range("slot", "width")] = key("its radial width", "5 mm")
    arc: Annotated[Angle, _range("slot", "arc")] = key(
        "the angle between its end centres", "20 deg", 0.0, left_out="round"
    )
    radius: Length | None = key(
        "from the bore axis to its centre line",
        "56.5 mm",
        None,
        left_out="mid-jacket",
        allowed="so that the slot lies inside the insert",
    )
    bores: Bores = _bores([4])


class RegisterTable(Table):
    """``[design.register]``."""

    depth: Annotated[Length, _range("register", "depth")] = key(ITS_DEPTH, "6 mm")
    barrel: Annotated[Length, _range("register", "barrel")] | None = key(
        "the width that it takes off the barrel wall",
        "1.5 mm",
        None,
        left_out="as wide as the ledge, or nothing",
    )
    outer_wall: Annotated[Length, _range("register", "outer_wall")] | None = key(
        "the width that it takes off the outer wall",
        "0 mm",
        None,
        left_out="as wide as the ledge, or nothing",
    )
    corner_radius: Annotated[Length, _range("register", "corner_radius")] = key(
        "the radius that the cutter leaves in the corners of the pocket",
        "3 mm",
        _default(Register, "corner_radius"),
    )
    ledge: Annotated[Length, _range("register", "ledge")] | None = key(
        "the radial width of the shoulder on which the insert stands, which is then as deep as the "
        "register",
        "1 mm",
        None,
        left_out="none, the insert is held by its fit",
    )


class DesignTable(Table):
    """``[[design]]``."""

    name: Annotated[str, BeforeValidator(_design_name)] = key(
        "its name",
        "local",
        allowed="1 to 40 letters, digits, spaces and . _ + -; bare for the block without an insert",
    )
    depth: Annotated[Length, _range("insert", "depth")] | None = key(
        "the depth of the insert",
        "6 mm",
        None,
        left_out='no insert, where the name is "bare"; else required',
    )
    width: Annotated[Length, _range("insert", "width")] | None = key(
        "the radial width of the insert, from the barrel out",
        "9 mm",
        None,
        left_out="the whole jacket",
    )
    material: str | None = key(
        "the alloy of the insert",
        "6061-T6",
        None,
        left_out="required with an insert",
        allowed=A_MATERIAL,
    )
    form: Literal["pieces", "ring"] = key(
        "pieces in the pockets between the ties, or a ring over ties that are milled down to its "
        "depth",
        "ring",
        _default(Insert, "form"),
    )
    fills_relief_cuts: StrictBool = key(
        "true, or false where the insert is cut back clear of the pockets", True, True
    )
    corner_radius: Annotated[Length, _range("insert", "corner_radius")] | None = key(
        "the radius in plan of the outer corners of a fitted insert, at least the fillets of the "
        "pocket that it fills",
        "4 mm",
        None,
        left_out=f"the fillet of the pocket and {CORNER_EXTRA:g} mm at each corner, less where "
        "faces are short",
    )
    edge_break: Annotated[Length, _range("insert", "edge_break")] = key(
        "the radius to which the edges of a fitted insert are broken, where its side ends in plan "
        "and along its underside",
        "0.5 mm",
        _default(Insert, "edge_break"),
        allowed="less than the depth of the insert",
    )
    inside_radius: Annotated[Length, _range("insert", "inside_radius")] | None = key(
        "the radius of the insert's inside corners, where it fills a relief cut and reaches around "
        "its edge, which is dressed to clear it; 0 leaves them sharp and not judged",
        "2 mm",
        None,
        left_out=f"{INSIDE_RADIUS:g} mm, less where an edge is short",
    )
    register: RegisterTable | None = Field(
        None, description="the jacket machined for the insert; without it the jacket stays as cast"
    )
    zone: list[ZoneTable] = Field([], description="the deeper zones of the insert")
    slot: list[SlotTable] = Field([], description="the water slots of the insert")


class BlockKeys(Table):
    """Block, designs and how the section is taken."""

    job: Annotated[str, Field(min_length=1, max_length=200)] = key(
        "the name of the job", "First look (invented numbers)"
    )
    note: str = key("anything to remember", "an invented block", "", allowed="any text")
    block: BlockTable = Field(description="the block, a heading [block] with its keys")
    tie: list[TieTable] = Field([], description="the ties across the jacket")
    relief_cut: list[ReliefCutTable] = Field([], description="the relief cuts")
    section: SectionTable = Field(
        default_factory=lambda: SectionTable.model_validate({}),
        description="how the section is taken",
    )
    design: list[DesignTable] = Field(
        description='the designs to compare, such as name = "bare"', min_length=1
    )

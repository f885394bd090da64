"""``[search]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StrictBool

from cases.base.tables import Angle, Clock, Length, Range, Table, key, share_within
from cases.base.units import SHARE
from cases.block.table import A_MATERIAL
from cases.life.table import LARGEST_FIT
from geometry.section import RANGES

CLEAR, ALL_ROUND, BONDED = HOLDS = ("pressed clear of the ties", "pressed all round", "bonded")
"""Ways of holding an insert."""
LIMIT, TEMPERATURE, OPEN, WETTED, TAKEN, MASS, MACHINING = WANTS = (
    "limit", "temperature", "open water", "wetted barrel", "water taken", "mass", "machining",
)  # fmt: skip
"""What may be wanted: the first, third and fourth as large, the others as small as can be."""
SHARES = Range(0, 100, "%")


def _share(value: object) -> float:
    return share_within(value, SHARES, ": no design keeps more water than the bare block")


def _of(part: str, name: str) -> Range:
    return Range(*RANGES[part][name])


class DepthBounds(Table):
    """``[search.depth]``."""

    least: Annotated[Length, _of("insert", "depth")] = key("the least that is tried", "4 mm")
    most: Annotated[Length, _of("insert", "depth")] = key("the most that is tried", "9 mm")


class WidthBounds(Table):
    """``[search.width]``."""

    least: Annotated[Length, _of("insert", "width")] = key("the least that is tried", "6 mm")
    most: Annotated[Length, _of("insert", "width")] = key("the most that is tried", "9 mm")


class TieBounds(Table):
    """``[search.tie_left]``."""

    least: Annotated[Length, Range(0, 500, "mm")] = key("the least that is tried", "3 mm")
    most: Annotated[Length, Range(0, 500, "mm")] = key("the most that is tried", "7 mm")


class FitBounds(Table):
    """``[search.interference]``."""

    least: Annotated[Length, Range(0, LARGEST_FIT, "um")] = key("the least that is tried", "12 um")
    most: Annotated[Length, Range(0, LARGEST_FIT, "um")] = key("the most that is tried", "40 um")


class SlotWidthBounds(Table):
    """``[search.slot_width]``."""

    least: Annotated[Length, _of("slot", "width")] = key("the least that is tried", "3 mm")
    most: Annotated[Length, _of("slot", "width")] = key("the most that is tried", "6 mm")


class ZoneWidthBounds(Table):
    """``[search.zone.width]``."""

    least: Annotated[Angle, _of("zone", "width")] = key("the least that is tried", "16 deg")
    most: Annotated[Angle, _of("zone", "width")] = key("the most that is tried", "40 deg")


class ZoneDepthBounds(Table):
    """``[search.zone.depth]``."""

    least: Annotated[Length, _of("zone", "depth")] = key("the least that is tried", "5 mm")
    most: Annotated[Length, _of("zone", "depth")] = key("the most that is tried", "20 mm")


class ShiftBounds(Table):
    """``[search.zone.shift]``."""

    least: Annotated[Angle, Range(-90, 90, "deg")] = key("the least that is tried", "-6 deg")
    most: Annotated[Angle, Range(-90, 90, "deg")] = key("the most that is tried", "6 deg")


class RegisterBounds(Table):
    """``[search.register_depth]``."""

    least: Annotated[Length, _of("register", "depth")] = key("the least that is tried", "5 mm")
    most: Annotated[Length, _of("register", "depth")] = key("the most that is tried", "10 mm")


class ZoneSearch(Table):
    """``[[search.zone]]``."""

    clocks: list[Clock] = key(
        "the clock positions of deeper zones that are alike",
        ["1:16", "7:42"],
        allowed="one or more",
    )
    depth: ZoneDepthBounds | None = Field(
        None, description="their depth, from the deck down; one no deeper than the insert is none"
    )
    width: ZoneWidthBounds | None = Field(
        None, description="the angle over which they have full depth"
    )
    shift: ShiftBounds | None = Field(
        None, description="how far their centres stand off these positions, clockwise"
    )


class SearchTable(Table):
    """``[search]``."""

    like: str | None = key(
        "the design to begin with: what is not free is as it has it",
        "local",
        None,
        left_out="the last design with an insert; without any, pieces of 6061-T6",
        allowed="a design of the case with an insert",
    )
    wanted: list[Literal[WANTS]] | None = key(  # type: ignore[valid-type]
        "what is wanted: limit, open water and wetted barrel as large, temperature (of the hottest "
        "metal), water taken, mass and machining (metal to cut off) as small as can be",
        ["limit", "water taken"],
        None,
        left_out="limit and water taken, and with [heat] temperature",
        allowed=f"two or three of {', '.join(WANTS)}",
    )
    least_open_water: Annotated[float, BeforeValidator(_share), SHARE, SHARES] = key(
        "the least water that is left open at the deck, as a share of the bare block's", "10 %", 0.0
    )
    least_passage_water: Annotated[float, BeforeValidator(_share), SHARE, SHARES] = key(
        "the least water that is left open at the deck in each passage between ties, as a share of "
        "what is open there in the bare block",
        "5 %",
        0.0,
    )
    most_out_of_round: Annotated[Length, Range(1, 1000, "um")] | None = key(
        "the most that the bore may be out of round at gas", "40 um", None, left_out="no demand"
    )
    drops_in: StrictBool = key(
        "true where the insert has to drop in at the temperatures of [making]", True, False
    )
    form: list[Literal["pieces", "ring"]] | None = key(
        "the forms that are tried", ["pieces", "ring"], None, left_out="as like has it"
    )
    hold: list[Literal[HOLDS]] | None = key(  # type: ignore[valid-type]
        "the ways of holding that are tried",
        [CLEAR, ALL_ROUND],
        None,
        left_out="as like has it; where nothing is free, the two that press",
        allowed=f"one or more of {', '.join(HOLDS)}",
    )
    material: list[str] | None = key(
        "the materials of the insert that are tried",
        ["6061-T6", "2618-T61"],
        None,
        left_out="as like has it",
        allowed=f"each {A_MATERIAL}",
    )
    depth: DepthBounds | None = Field(None, description="the depth of the insert")
    width: WidthBounds | None = Field(None, description="the radial width of the insert")
    interference: FitBounds | None = Field(
        None, description="the interference of the sides that are pressed, on the diameter"
    )
    tie_left: TieBounds | None = Field(
        None,
        description="what is left of the deepest tie under a ring, which says its depth; depth is "
        "then that of pieces",
    )
    register_depth: RegisterBounds | None = Field(
        None, description="the depth of the register that like has"
    )
    slot_width: SlotWidthBounds | None = Field(
        None, description="the width of all water slots that like has"
    )
    zone: list[ZoneSearch] = Field([], description="deeper zones, in place of those of like")


class SearchKeys(Table):
    """What a search may choose."""

    search: SearchTable | None = Field(
        None, description="what hoopclock search may choose, what must hold and what is wanted"
    )

"""``[block]``, ``[[tie]]``, ``[[relief_cut]]``, ``[section]`` and ``[[design]]`` of a case file."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StrictBool, StrictInt

from cases.base.tables import Angle, Clock, Length, Table
from cases.base.units import parse_share
from geometry.section import THINNEST_WALL

TOLERANCE = 0.02  # numerical error of a hot spot, as a share of its stress


TOLERANCES = (0.003, 0.2)


def _tolerance(value: object) -> float:
    share = parse_share(value)
    low, high = TOLERANCES
    if not low <= share <= high:
        raise ValueError(
            f"It must be between {100 * low:g} % and {100 * high:g} %: below that the mesh can't "
            "tell, above it the stress is not worth rating."
        )
    return share


def _design_name(value: object) -> object:
    if isinstance(value, str) and not re.fullmatch(r"\w(?:[\w .+-]{0,38}\w)?", value):
        raise ValueError(
            "A design's name also names its files: 1 to 40 letters, digits, spaces and . _ + -, "
            "with a letter or digit at each end."
        )
    return value


Tolerance = Annotated[float, BeforeValidator(_tolerance)]


Bores = Annotated[
    list[StrictInt] | None,
    Field(description="the bores that have it, counted from 1, such as [1, 4]; all if left out"),
]


class BlockTable(Table):
    """``[block]``."""

    bore: Length = Field(description='the finished diameter of a bore, such as "87 mm"')
    barrel_wall: Length = Field(
        description='the wall of parent metal around a bore, outside any liner, such as "6 mm"'
    )
    material: str = Field(description='the alloy of the block, such as "A356-T6"')
    liner: Length = Field(0.0, description='the wall of the liner, such as "2.5 mm"')
    liner_material: str | None = Field(None, description="the material of the liner")
    wall_table: list[Annotated[tuple[Clock, Length], Field(strict=False)]] = Field(
        [], description='measured barrel walls, such as [["12:00", "6 mm"], ["4:00", "5.7 mm"]]'
    )
    jacket: Length = Field(0.0, description='the radial width of the water jacket, "9 mm"')
    outer_wall: Length = Field(0.0, description='the wall outside the jacket, such as "9 mm"')
    bores: StrictInt = Field(1, description="the number of bores in line, such as 4")
    pitch: Length = Field(0.0, description='the distance between bore axes, such as "97 mm"')
    firing_bore: StrictInt = Field(1, description="the bore that fires, counted from 1")
    valley_fillet: Length = Field(
        0.0, description='the fillet where two barrels run together, such as "3 mm"'
    )


class TieTable(Table):
    """``[[tie]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:30"')
    width: Length = Field(description='the width between its sides, such as "8 mm"')
    depth: Length = Field(description='its depth from the deck down, such as "12 mm"')
    fillet: Length = Field(0.0, description='the fillet at its ends, such as "3 mm"')
    bores: Bores = None


class ReliefCutTable(Table):
    """``[[relief_cut]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:30"')
    radius: Length = Field(description='from the bore axis to its centre, such as "60 mm"')
    diameter: Length = Field(description='its diameter, such as "20 mm"')
    depth: Length = Field(description='its depth from the deck down, such as "25 mm"')
    bores: Bores = None


class SectionTable(Table):
    """``[section]``."""

    depth: Length | None = Field(None, description='the section depth, such as "28 mm"')
    thinnest_wall: Length = Field(
        THINNEST_WALL, description='the thinnest metal that is let pass, such as "1.5 mm"'
    )
    mesh: Literal["coarse", "normal", "fine"] = Field(
        "normal", description="the fineness of the mesh that the solver starts from"
    )
    tolerance: Tolerance = Field(
        TOLERANCE, description='the numerical error allowed at a hot spot, such as "2 %"'
    )


class ZoneTable(Table):
    """``[[design.zone]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:40"')
    width: Angle = Field(description='the angle over which it has full depth, such as "40 deg"')
    depth: Length = Field(description='its depth from the deck down, such as "18 mm"')
    blend: Angle = Field(0.0, description='the angle of its run-out at each end, "15 deg"')


class SlotTable(Table):
    """``[[design.slot]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "4:00"')
    width: Length = Field(description='its radial width, such as "4 mm"')
    arc: Angle = Field(0.0, description='the angle between its end centres, such as "20 deg"')
    radius: Length | None = Field(
        None, description="from the bore axis to its centre line; mid-jacket if left out"
    )
    bores: Bores = None


class DesignTable(Table):
    """``[[design]]``."""

    name: Annotated[str, BeforeValidator(_design_name)] = Field(
        description='its name, such as "uniform"'
    )
    depth: Length | None = Field(None, description='the depth of the insert, such as "10 mm"')
    width: Length | None = Field(None, description="its radial width; the whole jacket if left out")
    material: str | None = Field(None, description='the alloy of the insert, such as "6061-T6"')
    fills_relief_cuts: StrictBool = Field(
        True, description="true, or false where the insert is cut back clear of the pockets"
    )
    zone: list[ZoneTable] = Field([], description="the deeper zones of the insert")
    slot: list[SlotTable] = Field([], description="the water slots of the insert")


class BlockKeys(Table):
    """Block, designs and how the section is taken."""

    job: str = Field(description="the name of the job, in quotes", min_length=1, max_length=200)
    note: str = Field("", description="anything to remember, in quotes")
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

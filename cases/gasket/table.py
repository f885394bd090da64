"""``[[gasket]]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt

from cases.base.tables import Angle, Clock, Length, Range, Table, key
from cases.gasket.given import AS_GIVEN, BEAD_BEYOND, BEAD_WIDTH, THICKNESS, Lies

NO_SOURCE = "common practice, no source"
Name = Annotated[str, Field(min_length=1, max_length=80)]
File = Annotated[str, Field(min_length=1, max_length=300)]


class OpeningTable(Table):
    """``[[gasket.opening]]``."""

    clock: Clock = key("the clock position of its middle", "1:30")
    width: Annotated[Length, Range(0.5, 200, "mm")] = key(
        "its width; the diameter of a round one", "6 mm"
    )
    arc: Annotated[Angle, Range(0, 170, "deg")] = key(
        "the angle between its end centres; 0 is round", "12 deg", 0.0
    )
    radius: Annotated[Length, Range(1, 1000, "mm")] | None = key(
        "from the bore axis to its centre line",
        "56 mm",
        None,
        left_out="the middle of the jacket",
    )
    bores: list[StrictInt] | None = key(
        "the bores that have it, counted from the 9:00 end",
        [1],
        None,
        left_out="all",
        allowed="numbers of bores",
    )
    vent: StrictBool = key("true where it lets air out at a high point", True, False)


class GasketTable(Table):
    """``[[gasket]]``."""

    name: Name = key("the name of the variant", "early", allowed="each once")
    table: File | None = key(
        "the file with its water openings, a row each (CSV, or a worksheet .xlsx), beside the case "
        "file: columns bore, clock and radius [mm], or x [mm] and y [mm]; shape (round, slot, "
        "polygon), width [mm], length [mm] or arc [deg], corners [mm], vent (yes)",
        "gasket.csv",
        None,
        left_out="they are stated as opening, or drawn",
        instead_of="opening",
    )
    drawing: File | None = key(
        "the drawing with its water openings (DXF in text), beside the case file; circles about "
        "as large as the bores tell how it lies",
        "gasket.dxf",
        None,
        left_out="they are stated as opening, or in a table",
        instead_of="opening",
    )
    layer: Name | None = key(
        "the layer of the drawing with its openings, each closed",
        "WATER",
        None,
        left_out="needed with drawing",
        instead_of="opening",
    )
    bore_layer: Name | None = key(
        "the layer of the drawing with its bore circles",
        "BORES",
        None,
        left_out="all layers are looked at",
        instead_of="opening",
    )
    vent_layer: Name | None = key(
        "the layer of the drawing with openings that let air out at high points",
        "VENTS",
        None,
        left_out="it has none of its own",
        instead_of="opening",
    )
    unit: Literal["mm", "in"] | None = key(
        "the unit of a drawing that states none",
        "mm",
        None,
        left_out="the drawing states it",
        instead_of="opening",
    )
    lies: Lies = key(
        "how it lies on the block against its table or drawing, with head_layer and without "
        "head_table",
        "turned over along the bank",
        AS_GIVEN,
    )
    head_table: File | None = key(
        "the file with the openings of the head, as table",
        "head.csv",
        None,
        left_out="the head opens all that the gasket does",
        instead_of="head_layer",
    )
    head_layer: Name | None = key(
        "the layer of the drawing with the openings of the head",
        "HEAD",
        None,
        left_out="the head opens all that the gasket does",
        instead_of="head_table",
    )
    thickness: Annotated[Length, Range(0.1, 10, "mm")] = key(
        "how thick it is pressed", "1 mm", THICKNESS, left_out=NO_SOURCE
    )
    bead_diameter: Length | None = key(
        "the mean diameter of the bead that seals the gas about each bore",
        "91 mm",
        None,
        left_out=f"fire_ring_diameter under [head], else {BEAD_BEYOND:g} mm more than the bore",
        allowed="more than the bore and the width of the bead",
    )
    bead_width: Annotated[Length, Range(0.2, 20, "mm")] | None = key(
        "the radial width of that bead",
        "3 mm",
        None,
        left_out=f"fire_ring_width under [head], else {BEAD_WIDTH:g} mm ({NO_SOURCE})",
    )
    opening: list[OpeningTable] = Field(
        [], description="its water openings, where neither a table nor a drawing has them"
    )


class GasketKeys(Table):
    """What lies between deck and head."""

    gasket: list[GasketTable] = Field(
        [], description="the head gaskets that the block may meet, with their water openings"
    )

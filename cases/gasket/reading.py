"""From the tables of a case file to its gaskets."""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from typing import Any

from cases.base.checking import Faults
from cases.base.faults import Location
from cases.case import Case
from cases.gasket.drawing_file import Sheet, circles_of, openings_of, read_drawing
from cases.gasket.given import BEAD_BEYOND, BEAD_WIDTH, Gasket, GasketInput
from cases.gasket.opening import Opening, moved, opening_of
from cases.gasket.place import BORES, by_circles, check_openings, laid
from cases.gasket.table import NO_SOURCE, GasketTable, OpeningTable
from cases.gasket.table_file import read_table, slot_on_circle
from cases.inspection.cells import ReadingsError
from geometry import planar
from geometry.clock import clock_to_angle
from geometry.section import Block

OF_DRAWING = ("layer", "bore_layer", "vent_layer", "unit", "head_layer")


def read_gaskets(whole: Any, case: Case, faults: Faults) -> GasketInput:
    """The gaskets that a case states, checked.

    Parameters
    ----------
    whole : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    tables = whole.gasket
    if not tables:
        return GasketInput()
    if case.block.jacket == 0:
        faults.add(("gasket",), "The block has no water jacket. Leave [[gasket]] out.")
        return GasketInput()
    found, names = [], set()
    for place, table in enumerate(tables):
        where = ("gasket", place)
        faults.within(where, table)
        if table.name in names:
            faults.add((*where, "name"), "Another gasket has this name. Give each its own.")
        names.add(table.name)
        gasket = _gasket(table, whole.head, case, faults, where)
        if gasket is not None:
            found.append(gasket)
    return GasketInput(gaskets=tuple(found), assumed=tuple(_assumed(tables, whole.head)))


def _gasket(
    table: GasketTable, head: Any, case: Case, faults: Faults, where: Location
) -> Gasket | None:
    block = case.block
    bead = _bead(table, head, block, faults, where)
    openings = _openings(table, case, faults, where)
    if openings is None or bead is None:
        return None
    found, of_head, notes = openings
    found = laid(found, table.lies, block)
    if of_head is not None and table.head_layer:
        of_head = laid(of_head, table.lies, block)
    for what, some in (("openings", found), ("head", of_head or ())):
        try:
            check_openings(some, block, what)
        except ReadingsError as error:
            for text in error.faults:
                faults.add((*where, _key_of(table, what)), text)
            return None
    return Gasket(
        name=table.name, openings=found, head=of_head, thickness=table.thickness,
        bead_inside=bead[0], bead_outside=bead[1], lies=table.lies, notes=tuple(notes),
    )  # fmt: skip


def _key_of(table: GasketTable, what: str) -> str:
    """The key that openings came by."""
    if what == "head":
        return "head_table" if table.head_table else "head_layer"
    return "table" if table.table else "drawing" if table.drawing else "opening"


def _openings(
    table: GasketTable, case: Case, faults: Faults, where: Location
) -> tuple[tuple[Opening, ...], tuple[Opening, ...] | None, list[str]] | None:
    """Openings of gasket and head about bore 1, and notes; None where something is wrong."""
    before = len(faults.found)
    ways = [name for name in ("table", "drawing", "opening") if getattr(table, name)]
    if len(ways) != 1:
        faults.add(
            (*where, *ways[:1]),
            "Give its openings once: as [[gasket.opening]], by a table or by a drawing.",
        )
    for at, opening in enumerate(table.opening):
        faults.within((*where, "opening", at), opening)
        for bore in opening.bores or ():
            faults.between((*where, "opening", at, "bores"), bore, 1, case.block.bores, "(bores)")
    if table.drawing is None:
        for name in OF_DRAWING:
            if getattr(table, name) is not None:
                faults.add((*where, name), "It is of a drawing, and the gasket has none.")
    elif table.layer is None:
        faults.add(
            where, 'Say the layer of the drawing with its openings, such as layer = "WATER".'
        )
    if table.head_table and table.head_layer:
        faults.add((*where, "head_layer"), "head_table is given too. Leave one of them out.")
    if len(faults.found) > before:
        return None
    beside = case.source_path.parent
    notes: list[str] = []
    key = "drawing" if table.drawing else "table"
    try:
        head: tuple[Opening, ...] | None = None
        if table.table is not None:
            openings = read_table(beside / table.table, case.block)
        elif table.drawing is None:
            openings = stated_openings(table.opening, case.block)
        else:
            sheet = read_drawing(beside / table.drawing, table.unit)
            openings, head = _drawn(sheet, table, case.block, notes)
        if table.head_table:
            key = "head_table"
            head = read_table(beside / table.head_table, case.block)
    except ReadingsError as error:
        for text in error.faults:
            faults.add((*where, key), text)
        return None
    return openings, head, notes


def stated_openings(stated: Sequence[OpeningTable], block: Block) -> tuple[Opening, ...]:
    """Openings that the case file has itself."""
    found = []
    middle = (block.barrel_radius + block.jacket_radius) / 2
    for number, of in enumerate(stated, 1):
        radius, angle = of.radius or middle, float(clock_to_angle(of.clock))
        for bore in of.bores or range(1, block.bores + 1):
            if not 1 <= bore <= block.bores:
                continue
            axis = block.axes[bore - 1] - block.axes[0]
            loop = (
                slot_on_circle(axis, radius, angle, math.radians(of.arc), of.width)
                if of.arc
                else planar.circle(axis + radius * cmath.exp(1j * angle), of.width / 2)
            )
            many = f" of bore {bore}" if block.bores > 1 else ""
            found.append(opening_of(f"opening {number}{many}", loop, of.vent))
    return tuple(found)


def _drawn(
    sheet: Sheet, table: GasketTable, block: Block, notes: list[str]
) -> tuple[tuple[Opening, ...], tuple[Opening, ...] | None]:
    """Openings on the layers of a drawing, laid on the block."""
    least, most = (of * block.bore for of in BORES)
    centres = circles_of(sheet, table.bore_layer, least, most)
    turn, shift, words = by_circles(centres, block)
    notes.append(words)
    found: list[Opening] = []
    head: tuple[Opening, ...] | None = None
    for layer, vent in ((table.layer, False), (table.vent_layer, True), (table.head_layer, False)):
        if layer is None:
            continue
        openings, passed = openings_of(sheet, layer, vent)
        if passed:
            notes.append(passed)
        placed = moved(openings, turn, shift)
        if layer == table.head_layer:
            head = placed
        else:
            found += placed
    return tuple(found), head


def _bead(
    table: GasketTable, head: Any, block: Block, faults: Faults, where: Location
) -> tuple[float, float] | None:
    """Inner and outer radius of the bead. [mm]."""
    diameter, width = table.bead_diameter, table.bead_width
    if diameter is None:
        diameter = (head and head.fire_ring_diameter) or block.bore + BEAD_BEYOND
    if width is None:
        width = head.fire_ring_width if head else BEAD_WIDTH
    if diameter - width < block.bore:
        faults.add(
            (*where, "bead_diameter" if table.bead_diameter else "bead_width"),
            f"A bead of {diameter:g} mm mean diameter and {width:g} mm width reaches into the bore "
            f"of {block.bore:g} mm. Give a diameter of at least {block.bore + width:g} mm.",
        )
        return None
    return (diameter - width) / 2, (diameter + width) / 2


def _assumed(tables: list[GasketTable], head: Any) -> list[tuple[str, str]]:
    """Keys left out, and what stands for them."""
    found = []
    if any("thickness" not in table.model_fields_set for table in tables):
        found.append(("gasket.thickness", f"gasket 1 mm thick ({NO_SOURCE})"))
    if head is None and any(table.bead_diameter is None for table in tables):
        found.append(
            ("gasket.bead_diameter", f"bead {BEAD_BEYOND:g} mm wider than the bore ({NO_SOURCE})")
        )
    return found

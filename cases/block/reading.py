"""The block and its designs, as a case file states them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel

from cases.base.checking import Faults
from cases.base.faults import Location
from cases.base.parts import PARENT_PARTS
from cases.base.units import HOUR
from cases.case import Case, Design
from cases.materials.hot import LONGEST, SHORTEST
from cases.materials.reading import Materials
from geometry import Block, DeeperZone, Insert, Register, ReliefCut, Tie, WaterSlot, default_depth

if TYPE_CHECKING:
    from fea.material import Material

_Made = TypeVar("_Made")

THINNEST = 0.015  # barrel wall and liner over the bore; less is a slip of a unit


def read_block(table: Any, path: Path, faults: Faults) -> Case | None:
    """A case with its block and designs, and no subject's input yet; None where no block can be.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    path : Path
    faults : Faults
    """
    reader = _Reader(table, faults)
    materials = reader.block_materials()
    block = reader.block()
    designs = [reader.design(place, design) for place, design in enumerate(table.design)]
    reader.check_names()
    if block is None:
        return None
    depth = table.section.depth
    if depth is None:
        inserts = (design.insert for design in designs)
        depth = default_depth(block, max([i.lowest for i in inserts if i], default=0.0))
    case = Case(
        name=table.job,
        note=table.note,
        source_path=path,
        block=block,
        designs=tuple(sorted(designs, key=lambda design: design.name != "bare")),
        section_depth=depth,
        thinnest_wall=table.section.thinnest_wall,
        materials=materials,
        mesh=table.section.mesh,
        tolerance=table.section.tolerance,
    )
    for place, design in enumerate(designs):
        faults.attempt(("design", place), lambda design=design: case.section(design))  # type: ignore[misc]
    return case


def _given(table: BaseModel, made: type) -> dict[str, Any]:
    """What the file states of a part, so that what it leaves out takes the geometry's default."""
    values = table.model_dump(exclude_unset=True, include=set(made.__dataclass_fields__))  # type: ignore[attr-defined]
    if values.get("bores") and isinstance(values["bores"], list):
        values["bores"] = tuple(values["bores"])
    return values


class _Reader:
    """Makes parts of the geometry of the tables of a case file."""

    def __init__(self, table: Any, faults: Faults) -> None:
        self.table, self.faults = table, faults
        rating = getattr(table, "rating", None)
        hours = rating.hours_hot / HOUR if rating else LONGEST
        self.materials = Materials(
            table.material, faults, min(max(hours, SHORTEST), LONGEST)
        )  # what lies outside is refused with the rest of [rating]

    def block(self) -> Block | None:
        table = self.table
        ties = self._features("tie", table.tie, Tie)
        cuts = self._features("relief_cut", table.relief_cut, ReliefCut)
        given = _given(table.block, Block)
        given["wall_table"] = tuple(table.block.wall_table)
        self._check_proportions()
        return self.faults.attempt(("block",), lambda: Block(**given, ties=ties, relief_cuts=cuts))

    def _check_proportions(self) -> None:
        table = self.table.block
        share = (table.barrel_wall + table.liner) / table.bore if table.bore > 0 else 1.0
        if 0 < share < THINNEST:
            self.faults.add(
                ("block", "barrel_wall"),
                f"With the liner it is {100 * share:.1g} % of the bore of {table.bore:g} mm; at "
                f"least {100 * THINNEST:g} % is allowed. Check the units of both.",
            )

    def block_materials(self) -> dict[str, Material]:
        table = self.table.block
        parent = self.materials.named(
            table.material, ("block", "material"), "the block", table.process
        )
        materials: dict[str, Material | None] = dict.fromkeys(PARENT_PARTS, parent)
        where = ("block", "liner_material")
        if table.liner > 0:
            materials["liner"] = self.materials.named(table.liner_material, where, "the liner")
        elif table.liner_material is not None:
            self.faults.add(
                where,
                'There is no liner. Give its wall, such as liner = "2.5 mm", or leave this out.',
            )
        return {part: material for part, material in materials.items() if material is not None}

    def design(self, place: int, table: Any) -> Design:
        location = ("design", place)
        if table.depth is None:
            given = sorted(table.model_fields_set - {"name"})
            if table.name != "bare" or given:
                also = f" ({', '.join(given)} given)" if given else ""
                self.faults.add(
                    location,
                    f'Design "{table.name}" has no depth{also}. Give the depth of its insert, such '
                    'as depth = "10 mm", or name it "bare" and give nothing else.',
                )
            return Design(name=table.name)
        if table.name == "bare":
            self.faults.add(
                (*location, "name"),
                '"bare" is the block without an insert. Give this design another name, or leave '
                "out its depth.",
            )
        zones = self._features("zone", table.zone, DeeperZone, *location)
        slots = self._features("slot", table.slot, WaterSlot, *location)
        stated = {key: value for key, value in _given(table, Insert).items() if key != "register"}
        if table.register is not None:
            stated["register"] = self.faults.attempt(
                (*location, "register"), lambda: Register(**_given(table.register, Register))
            )
        insert = self.faults.attempt(location, lambda: Insert(**stated, zones=zones, slots=slots))
        material = self.materials.named(table.material, (*location, "material"), "the insert")
        return Design(name=table.name, insert=insert, insert_material=material)

    def check_names(self) -> None:
        seen: dict[str, str] = {}
        for place, design in enumerate(self.table.design):
            name = design.name.casefold()
            if name in seen:
                self.faults.add(
                    ("design", place, "name"),
                    f'Another design is named "{seen[name]}". Give each design a name of its own, '
                    "different in more than capitals.",
                    alone=True,
                )
            seen[name] = design.name

    def _features(
        self, key: str, tables: Sequence[BaseModel], make: Callable[..., _Made], *within: str | int
    ) -> tuple[_Made, ...]:
        made = []
        for place, table in enumerate(tables):
            location = (*within, key, place)
            self._check_bores(location, getattr(table, "bores", None))
            given = _given(table, make)  # type: ignore[arg-type]
            made.append(self.faults.attempt(location, lambda given=given: make(**given)))  # type: ignore[misc]
        return tuple(item for item in made if item is not None)

    def _check_bores(self, location: Location, bores: list[int] | None) -> None:
        count = self.table.block.bores
        if bores is None:
            return
        if not bores or len(set(bores)) < len(bores) or not all(1 <= b <= count for b in bores):
            self.faults.add(
                (*location, "bores"),
                f"{bores} is no list of bores of this block. Give each bore once, from 1 to "
                f"{count}, or leave the key out for all of them.",
            )

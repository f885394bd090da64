"""A block and the designs that are compared on it, and what subjects were told of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from cases.base.spoken import METRIC, Spoken
from geometry import Block, DeckSection, Insert

if TYPE_CHECKING:
    from fea.material import Material


@dataclass(frozen=True, kw_only=True, slots=True)
class Design:
    """One insert proposal; ``bare`` is the block with none."""

    name: str
    insert: Insert | None = None
    insert_material: Material | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Case:
    """A block and the designs that are compared on it."""

    name: str
    note: str
    source_path: Path
    block: Block
    designs: tuple[Design, ...]  # in the order of the file, ``bare`` first where there is one
    section_depth: float  # H, one for all designs [mm]
    thinnest_wall: float  # thinner metal is refused [mm]
    materials: Mapping[str, Material]  # of the block, by part; the insert's is in its design
    mesh: Literal["coarse", "normal", "fine"]  # to start from
    tolerance: float  # numerical error of a hot spot, as a share of its stress
    spoken: Spoken = METRIC  # the units that the file speaks
    given: Mapping[str, Any] = field(default_factory=dict)  # input of each subject, by its key

    def told(self, key: str, given: Any) -> Case:
        """The case with the input of a subject changed."""
        return replace(self, given={**self.given, key: given})

    def section(self, design: Design) -> DeckSection:
        """The block with this design's insert.

        Raises
        ------
        SectionError
            If the insert can't stand in this block.
        """
        return DeckSection(
            block=self.block,
            depth=self.section_depth,
            insert=design.insert,
            thinnest_wall=self.thinnest_wall,
        )

    def part_materials(self, design: Design) -> dict[str, Material]:
        """Material of every part that a section of this design can have."""
        materials = dict(self.materials)
        if design.insert_material is not None:
            materials["insert"] = design.insert_material
        return materials

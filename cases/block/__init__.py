"""The block, its inserts and how the section is taken: what the other subjects work on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cases.base.subject import Chapter, Solved, Subject

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from cases.base.tables import Table


class Block(Subject):
    """Block and designs; :func:`cases.block.reading.read_block` makes the case of them."""

    key = "block"
    on_page = True

    def table(self) -> type[Table]:
        """Block, ties, relief cuts, section and designs."""
        from cases.block.table import BlockKeys

        return BlockKeys

    def case_data(self, result: Solved) -> Mapping[str, Any]:
        """What the section was taken by."""
        from geometry.section import THINNEST_WALL

        case = result.case
        return {
            "job": case.name,
            "note": case.note,
            "section_depth_mm": case.section_depth,
            "thinnest_wall_mm": case.thinnest_wall,
            "thinnest_wall_lowered": case.thinnest_wall < THINNEST_WALL,
            "mesh": case.mesh,
            "tolerance": case.tolerance,
        }

    def data(self, result: Solved, design: Any) -> Mapping[str, Any]:
        """What is left of the walls, where the block is machined for an insert of the case."""
        from cases.block.walls import machined_designs, machined_notes, walls_data

        if not machined_designs(result):
            return {}
        notes = machined_notes(design.section)
        return {"walls_left": walls_data(design.section), "machined_notes": notes}

    def lines(self, result: Solved) -> Sequence[str]:
        """The same in sentences."""
        from cases.block.walls import machined_designs, machined_notes, walls_line

        designs = machined_designs(result)
        lines = [line for design in designs if (line := walls_line(design))]
        notes = [
            f"{design.name}, {note}."
            for design in designs
            for note in machined_notes(design.section)
        ]
        return ["Least wall left at the deck:", *lines, *notes] if lines else notes

    def figures(self, result: Solved) -> Iterator[tuple[str, Figure]]:
        """The section, and its inserts."""
        from cases.block.figures import inserts_figure, section_figure

        yield "section", section_figure(result.designs[0])
        if any(design.section.insert for design in result.designs):
            yield "inserts", inserts_figure(result.designs)

    def chapters(self, result: Solved) -> Sequence[Chapter]:
        """The block as it was stated."""
        from cases.block.chapter import block_chapter

        return (block_chapter(result),)

    def limits(self, result: Solved) -> Sequence[str]:
        """How draft is taken, what the section leaves out of a register, a lowered limit."""
        from cases.block.drafted import draft_limits
        from cases.block.walls import machined_designs
        from geometry.section import THINNEST_WALL

        lowest, told = result.case.thinnest_wall, draft_limits(result.case)
        inserts = [design.section.insert for design in machined_designs(result)]
        if any(insert and insert.register for insert in inserts):
            told.append(
                "A register is in the deck section alone: from the side the barrel has its wall as "
                "cast."
            )
        if lowest >= THINNEST_WALL:
            return told
        return (
            *told,
            f"The thinnest wall allowed was lowered to {lowest:g} mm for this case; the usual "
            f"limit is {THINNEST_WALL:g} mm.",
        )

    def assumed(self, result: Solved) -> Sequence[tuple[str, str]]:
        """How inserts without a register are cut in a drafted jacket."""
        from cases.block.drafted import draft_assumed

        return draft_assumed(result)


SUBJECT = Block()

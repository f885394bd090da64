"""The chapter on the block."""

from __future__ import annotations

from typing import Any

from cases.base.subject import Chapter, Solved
from cases.block.walls import machined_designs, machined_notes, walls_data
from geometry.section import THINNEST_WALL, Block


def block_chapter(result: Solved) -> Chapter:
    """The block as it was stated, and the inserts."""
    case = result.case
    return Chapter(
        key="block",
        title="The block",
        template="block/chapter.html.j2",
        finding=_stated(case.block),
        contents={
            "block": case.block,
            "materials": used_materials(case),
            "has_inserts": any(design.insert for design in case.designs),
            "lowered": case.thinnest_wall < THINNEST_WALL,
            "usual_thinnest": THINNEST_WALL,
            "walls": [(one.name, walls_data(one.section)) for one in machined_designs(result)],
            "notes": [
                (one.name, notes)
                for one in machined_designs(result)
                if (notes := machined_notes(one.section))
            ],
        },
    )


def _stated(block: Block) -> str:
    """What the block is, in one sentence."""
    several = block.bores > 1
    lined = f", a liner of {block.liner:g} mm" if block.liner else ""
    open_deck = [
        f"{count} {what}{'s' * (count > 1)}"
        for count, what in ((len(block.ties), "tie"), (len(block.relief_cuts), "relief cut"))
        if count
    ]
    told = f"; {' and '.join(open_deck)}{' a bore' * several}" if open_deck else ""
    return (
        f"{block.bores if several else 'One'} bore{'s' * several} of {block.bore:g} mm{lined} and "
        f"{block.barrel_wall:g} mm of barrel wall{told}."
    )


def used_materials(case: Any) -> list[tuple[str, Any]]:
    """(parts, material), each material that a case uses once."""
    rows: dict[Any, list[str]] = {}
    for design in case.designs:
        for part, material in case.part_materials(design).items():
            parts = rows.setdefault(material, [])
            if part not in parts and (part != "insert" or design.insert is not None):
                parts.append(part)
    return [(", ".join(parts), material) for material, parts in rows.items() if parts]

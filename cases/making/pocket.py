"""The pocket that a piece goes into, on sheets of its own: where something is milled for it.

A register is milled into the walls, ties below a ring down to its depth. Where a zone goes deeper,
the casting ends it at the floor of either: those places are told by their points too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from cases.making.dimensions import Item, Speaks, scale_words
from cases.making.drawing import pocket_of
from cases.making.make import Making
from cases.making.paper import CENTRE, HEIGHT, HIDDEN, LARGE, THICK, Stroke, Words, moved, ruled
from cases.making.points import (
    PLAN,
    ROWS_MORE,
    TABLE,
    TITLE,
    bar,
    by_bore,
    labels,
    notes,
    placed,
    rows_of,
    table,
)
from geometry.clock import format_clock
from geometry.cut_pieces import CutPiece
from geometry.plan import placed as placed_ties
from geometry.planar import Area

NOTES = 28.0
"""Room for notes below the plan. [mm]."""


def is_milled(making: Making) -> bool:
    """Whether something is milled into the block for an insert."""
    insert, block = making.design.insert, making.case.block
    assert insert is not None
    return insert.register is not None or bool(making.caps) or (
        insert.form == "ring" and bool(block.ties)
    )  # fmt: skip


def pocket_sheets(making: Making, piece: CutPiece) -> list[list[Item]]:
    """Sheets of the pocket of a piece; none where the casting's own faces are cleaned up alone."""
    if not is_milled(making):
        return []
    pocket = pocket_of(making, piece)
    steps = making.steps(piece)
    floors = {
        len(pocket) + place: cap
        for place, cap in enumerate(cap for cap, loops in steps for _ in loops)
    }
    speaks = Speaks(making.case.spoken.length)
    own = replace(piece, loops=(*pocket, *(loop for _, loops in steps for loop in loops)))
    names = {place: f"floor {speaks.size(cap)}" for place, cap in floors.items()}
    rows = rows_of(making, own, names)
    said = notes(cut_words(making, piece), complex(4, TITLE + NOTES), 145, NOTES - 2)
    if len(rows) > ROWS_MORE:
        first, *rest = by_bore(making, own, rows, f"Pocket of piece {piece.number}", NOTES)
        return [[*first, *said], *rest]
    z = np.array([of.point(t) for of in own.curves for t in np.linspace(0, 1, 9)])
    room = complex(PLAN[0].real, TITLE + NOTES), PLAN[1]
    scale, at = placed(z, room, 14.0)
    axis = making.case.block.axes[piece.bore - 1]
    spot = scale * axis + at
    items: list[Item] = [
        Words(at=complex(4, HEIGHT - 6), size=LARGE, bold=True,
              text=f"Pocket of piece {piece.number}, {scale_words(scale)}"),
        Words(at=complex(4, HEIGHT - 10.5),
              text=f"bore {piece.bore} at {format_clock(piece.clock)}; points about its axis B"),
        Stroke(loops=tuple(moved(loop, scale, at) for loop in pocket), width=THICK, closed=True),
        Stroke(loops=tuple(moved(loop, scale, at) for loop in own.loops[len(pocket):]),
               dash=HIDDEN, closed=True),
        *labels(own, scale, at),
        *bar(making, scale, complex(PLAN[1].real - 55, HEIGHT - 12)),
        *table(rows, TABLE),
        *said,
    ]  # fmt: skip
    if room[0].real < spot.real < room[1].real and room[0].imag < spot.imag < room[1].imag:
        items += [ruled(spot - 5 * way, spot + 5 * way, dash=CENTRE) for way in (1, 1j)]
        items.append(Words(at=spot + complex(1, 1), text="B"))
    return [items]


def cut_words(making: Making, piece: CutPiece) -> Iterator[str]:
    """What is milled for a piece."""
    insert = making.design.insert
    assert insert is not None
    speaks = Speaks(making.case.spoken.length)
    register = insert.register
    if register is not None:
        yield (
            f"Register {speaks.of(register.depth)} deep from A, off the barrel "
            f"{speaks.of(insert.off_barrel)}, off the outer wall {speaks.of(insert.off_outer_wall)}"
            f"; cutter of at most {speaks.of(2 * register.corner_radius)}."
        )
    ties = milled_ties(making, piece)
    if ties:
        yield (
            f"Ties milled down to {speaks.of(insert.depth)} from A, as wide as the pocket: "
            f"{', '.join(ties)}."
        )
    if making.steps(piece):
        yield "Within dashes the pocket ends at the floor that the table says."


def milled_ties(making: Making, piece: CutPiece | None = None) -> list[str]:
    """Ties below a ring, by bore and clock: those within a piece, or all."""
    insert, block = making.design.insert, making.case.block
    assert insert is not None
    if insert.form != "ring":
        return []
    found = []
    for tie in placed_ties(block.ties, block, "tie"):
        middle = tie.axis + tie.ray * (block.barrel_radius + block.jacket_radius) / 2
        if piece is None or Area(piece.loops[:1]).holds(np.array([middle]))[0]:
            found.append(f"bore {tie.bore} at {format_clock(tie.feature.clock)}")
    return found

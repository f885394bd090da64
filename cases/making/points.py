"""Points of a contour on a sheet: their table, their numbers beside the lines, further sheets.

A contour is told by coordinates of numbered points (ISO 129-1), each with what leads to the next.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from cases.making.contour import contour
from cases.making.dimensions import SCALES, Item, scale_words
from cases.making.make import Making
from cases.making.paper import (
    CENTRE,
    HEIGHT,
    LARGE,
    NORMAL,
    SMALL,
    THICK,
    Stroke,
    Words,
    folded,
    moved,
    ruled,
    wide,
)
from cases.making.passage import side_of
from geometry.cut_pieces import CORNER, CutPiece, slot_numbers
from geometry.planar import Curve, circle, line

TITLE = 21.0
"""Height of the title block. [mm]."""
PLAN = (complex(3, 84), complex(150, HEIGHT - 4))
TABLE = complex(153, HEIGHT - 4)
"""Upper left corner of the table of points. [mm]."""
ROW = 3.3
BARS = {"mm": (50.0, "50 mm"), "in": (50.8, "2 in")}
FILLET, FREE = "tie fillet", "free"
"""What lines of no side stand against: the casting beside a tie, or nothing."""


def placed(
    points: NDArray[np.complex128], room: tuple[complex, complex], margin: float
) -> tuple[float, complex]:
    """Scale and shift that bring points into a room of the sheet."""
    low = complex(points.real.min(), points.imag.min())
    high = complex(points.real.max(), points.imag.max())
    span, space = high - low, room[1] - room[0] - complex(2 * margin, 2 * margin)
    fits = [of for of in SCALES if of * span.real <= space.real and of * span.imag <= space.imag]
    scale = fits[0] if fits else min(space.real / span.real, space.imag / span.imag)
    return scale, (room[0] + room[1]) / 2 - scale * (low + high) / 2


def bar(making: Making, scale: float, at: complex = complex(4, TITLE + 5)) -> list[Item]:
    """A bar of a known length, by which a print is checked."""
    length, words = BARS[making.case.spoken.length]
    if scale > 1:
        length, words = length / 2, {"50 mm": "25 mm", "2 in": "1 in"}[words]
    end = at + scale * length
    ticks = [ruled(z - 1j, z + 1j) for z in (at, end)]
    own = Stroke(loops=((line(at, end),),), width=THICK, name="bar")
    return [own, *ticks, Words(at=at + 1.6j, text=f"{words}, {scale_words(scale)}", name="scale")]


def notes(
    texts: Iterator[str] | Sequence[str], at: complex, room: float, height: float
) -> list[Item]:
    """Notes below each other, numbered, as small as they must be."""
    texts = list(texts)
    for size in (NORMAL, 2.5, SMALL, 2.1, 1.9):
        lines = [
            (row == 0, text)
            for number, note in enumerate(texts, 1)
            for row, text in enumerate(folded(f"{number}  {note}", room - 4, size))
        ]
        lead = 1.35 * size
        if len(lines) * lead <= height:
            break
    return [
        Words(at=at + complex(0 if first else 4, -lead * (k + 0.8)), text=text, size=size,
              name="notes")
        for k, (first, text) in enumerate(lines)
    ]  # fmt: skip


def labels(
    piece: CutPiece, scale: float, at: complex, only: Collection[int] | None = None
) -> list[Item]:
    """Numbers of points beside the outline, clear of it and of each other."""
    samples = np.array([
        scale * of.point(t) + at for of in piece.curves for t in np.linspace(0, 1, 24)
    ])  # fmt: skip
    placed: list[complex] = []
    items: list[Item] = []
    number = 0
    for loop in piece.loops:
        for before, curve in zip((loop[-1], *loop[:-1]), loop, strict=True):
            number += 1
            if only is not None and number not in only:
                continue
            point = scale * curve.start + at
            normal = -1j * (before.direction(1.0) + curve.direction(0.0))
            normal /= abs(normal) or 1.0
            best, clear = point + 4 * normal, -math.inf
            across = wide(str(number), SMALL) + 0.5
            for far, turn in TRIES:
                spot = point + far * normal * np.exp(1j * math.radians(turn))
                off = np.array(placed, dtype=complex) - spot
                beside = np.maximum(np.abs(off.real) - across, np.abs(off.imag) - 2.3)
                room = min(
                    float(np.abs(samples - spot).min()) - 1.7, float(beside.min(initial=9.0))
                )
                if room > clear:
                    best, clear = complex(spot), room
                if room >= 0:
                    break
            placed.append(best)
            way = (best - point) / abs(best - point)
            items += [
                Stroke(loops=(tuple(circle(point, 0.35)),), closed=True, grey=0.0),
                ruled(point, best - 1.5 * way),
                Words(at=best - 0.85j, text=str(number), size=SMALL, anchor="middle",
                      name="point"),
            ]  # fmt: skip
    return items


TRIES = [
    (far, turn)
    for far in (3.4, 4.6, 6.2, 8.0, 10.0, 12.5, 15.0)
    for turn in (0, 25, -25, 50, -50, 75, -75, 105, -105, 140, -140, 180)
]
"""Where the number of a point may stand: how far off [mm], and turned from straight out [deg]."""

COLUMNS = (("point", 10), ("x", 21), ("y", 21), ("to the next", 21), ("turn", 18), ("side", 20))
ROWS_FIRST = 34
"""Points that a piece's own sheet has room for."""
ROWS_MORE = 48
"""Those of a sheet about one bore."""


def rows_of(making: Making, piece: CutPiece, names: Mapping[int, str]) -> list[tuple[str, ...]]:
    """Points of all loops: number, x, y, way to the next, turn, side.

    Parameters
    ----------
    making : Making
    piece : CutPiece
    names : mapping of int to str
        What stands as the side of loops that have none, by their place.
    """
    rows: list[tuple[str, ...]] = []
    for place, (corners, loop) in enumerate(zip(contour(making, piece), piece.loops, strict=True)):
        first = len(rows) + 1
        for k, (of, curve) in enumerate(zip(corners, loop, strict=True)):
            side = names.get(place) or stands(making, curve)
            last = k == len(corners) - 1
            turn = (of.turn or "-") + (f" to {first}" if last else "")
            way = of.way if of.way == "line" else f"R {of.way}"
            rows.append((str(len(rows) + 1), of.x, of.y, way, turn, side))
    return rows


def stands(making: Making, curve: Curve) -> str:
    """What a line stands against; a corner is of a piece, or of a pocket as it is milled."""
    tags = curve.tag.split("|")
    if "fillet" in tags and (tags[0] == "register" or "tie" not in tags):
        return CORNER
    if tags[0] == CORNER:
        return CORNER
    beside = "fillet" in tags or tags[0] == "step"
    return side_of(curve, making.case.block) or (FILLET if beside else FREE)


def names_of(piece: CutPiece) -> dict[int, str]:
    """What the slots of a piece are called, by the place of their loops."""
    return {place: f"slot {number}" for place, number in slot_numbers(piece).items()}


def table(rows: Sequence[tuple[str, ...]], at: complex) -> list[Item]:
    """Points with what leads to the next; nothing of none."""
    if not rows:
        return []
    items: list[Item] = []
    x = at.real
    for column, (head, width) in enumerate(COLUMNS):
        items.append(Words(at=complex(x + 0.6, at.imag - 2.6), text=head, size=SMALL, bold=True))
        for k, row in enumerate(rows):
            items.append(
                Words(at=complex(x + 0.6, at.imag - 3.4 - ROW * (k + 0.8)), text=row[column],
                      size=SMALL, name=f"cell{column}"))  # fmt: skip
        x += width
    total = sum(width for _, width in COLUMNS)
    items.append(ruled(at - 3.4j, at + complex(total, -3.4)))
    return items


def by_bore(
    making: Making,
    piece: CutPiece,
    rows: Sequence[tuple[str, ...]],
    what: str,
    foot: float = 2.0,
) -> list[list[Item]]:
    """Sheets of the points of a contour that has many, bore by bore.

    Parameters
    ----------
    making : Making
    piece : CutPiece
    rows : sequence of tuple of str
        Of its points.
    what : str
        How the sheets call it.
    foot : float
        Room left below the plans. [mm]
    """
    block = making.case.block
    starts = np.array([curve.start for curve in piece.curves])
    nearest = block.nearest_bore(starts.real, starts.imag)[0]
    pages: list[list[Item]] = []
    for bore in np.unique(nearest):
        own = np.flatnonzero(nearest == bore)
        for first in range(0, len(own), ROWS_MORE):
            some = own[first : first + ROWS_MORE]
            about = [rows[k] for k in some]
            pages.append(_about(making, piece, int(bore), some, about, what, foot))
    return pages


def _about(
    making: Making, piece: CutPiece, bore: int, own: NDArray[np.int64],
    rows: Sequence[tuple[str, ...]], what: str, foot: float,
) -> list[Item]:  # fmt: skip
    """The plan of a contour about one bore, its points numbered there."""
    block = making.case.block
    axis = block.axes[bore - 1]
    half = (block.pitch or 0.0) / 2
    near = [
        (curve,)
        for curve in piece.curves
        if abs(curve.point(0.5).real - axis) <= half
        or (bore == 1 and curve.point(0.5).real < axis)
        or (bore == block.bores and curve.point(0.5).real > axis)
    ]
    z = np.array([of.point(t) for (of,) in near for t in np.linspace(0, 1, 9)])
    room = (complex(PLAN[0].real, TITLE + foot), PLAN[1])
    z = z[np.abs(z.real - axis) <= block.outside_radius]
    scale, at = placed(z, room, 13.0)
    inside = [
        loop
        for loop in near
        if room[0].real < (scale * loop[0].start + at).real < room[1].real
        and room[0].real < (scale * loop[0].end + at).real < room[1].real
    ]
    spot = scale * axis + at
    return [
        Words(at=complex(4, HEIGHT - 6), size=LARGE, bold=True,
              text=f"{what} about bore {bore}, {scale_words(scale)}"),
        Words(at=complex(4, HEIGHT - 10.5), text=f"points about the axis B of bore {piece.bore}"),
        Stroke(loops=tuple(moved(loop, scale, at) for loop in inside), width=THICK),
        Words(at=spot + complex(1, 1), text=f"bore {bore}"),
        *(ruled(spot - 5 * way, spot + 5 * way, dash=CENTRE) for way in (1, 1j)),
        *labels(piece, scale, at, {int(k) + 1 for k in own}),
        *bar(making, scale, complex(PLAN[1].real - 55, HEIGHT - 12)),
        *table(rows, TABLE),
    ]  # fmt: skip

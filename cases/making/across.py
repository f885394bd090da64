"""Sections across a piece and the walls beside it: where it is plain, in each zone and each blend.

A section stands on a ray from the axis of a bore. What is drawn is the pocket as it is cut, by the
plan of the section, and the piece in it: a piece that is deeper than its register has a step where
the register's floor ends.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from cases.making.dimensions import Item, Speaks, dimension, scale_words, usual_scale
from cases.making.make import Making
from cases.making.paper import CENTRE, SMALL, THICK, Stroke, Words, ruled
from geometry.clock import clock_to_angle, format_clock
from geometry.cut_pieces import WITHIN, CutPiece, depth_along, middle_of
from geometry.planar import Area, polygon
from geometry.section import Block, Insert

Floats = NDArray[np.float64]
STEP = 0.05
"""Apart at which a ray is looked at before what is found is narrowed down. [mm]."""
PARTS, ROUNDS = 16, 3
"""Into how many a step is parted at a jump, and how often."""
ALIKE = 0.02
"""Depths that differ by less have one dimension. [mm]."""
CLEAR = 5.0
"""Of the slots of a piece, where it is cut across if it can be. [mm]."""
ON_RAY = 0.004
"""Places along the middle of a piece are no farther apart, as seen from a bore. [h]."""
RAY = 60
"""Places on a ray that are asked for their depth."""
WALL = 5.0
"""Of the walls beside a piece, as much as is drawn. [mm]."""
BELOW = 4.0
"""The same below it. [mm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Place:
    """Where a section is."""

    bore: int  # from 1
    clock: float  # [h]
    what: str  # "plain", "zone 1", "blend of zone 1"


@dataclass(frozen=True, kw_only=True, slots=True)
class Across:
    """What a section shows, by the distance from the axis of its bore."""

    place: Place
    under: Floats  # shape (n, 2): distance and depth of the piece's underside; 0 where none is
    top: Floats  # the same of the metal of the block beside and below, as it is cut
    bottom: Floats

    @property
    def levels(self) -> tuple[tuple[float, float, float], ...]:
        """Stretches of one depth, from the bore out: both ends and the depth. [mm]."""
        found: list[tuple[float, float, float]] = []
        for (a, one), (b, other) in pairwise(self.under.tolist()):
            if min(one, other) <= 0 or abs(one - other) > WITHIN or b - a < WITHIN:
                continue
            if found and a - found[-1][1] < WITHIN and abs(found[-1][2] - one) < WITHIN:
                found[-1] = (found[-1][0], b, found[-1][2])
            else:
                found.append((a, b, one))
        return tuple(found)

    @property
    def depths(self) -> tuple[float, ...]:
        """Unlike depths of those, in their order. [mm]."""
        found: list[float] = []
        for *_, depth in self.levels:
            if all(abs(depth - one) > ALIKE for one in found):
                found.append(depth)
        return tuple(found)


def places_of(making: Making, piece: CutPiece) -> tuple[Place, ...]:
    """Where a piece is cut across: once where it is plain, in each zone and in each blend."""
    block, insert = making.case.block, making.design.insert
    assert insert is not None
    along = middle_of(block, insert, piece)
    bores, hours = block.nearest_bore(along.real, along.imag)
    depth = depth_along(making.section.mean_block, insert, along)
    found = []
    plain = np.flatnonzero(np.abs(depth - insert.depth) < 1e-9)
    if len(plain):
        off_slots = _off_slots(piece, along[plain])
        middle = np.abs(plain - len(along) / 2)
        rows = np.stack([middle, off_slots <= CLEAR, ~_plain_across(block, insert, along[plain])])
        k = int(plain[np.lexsort(rows)[0]])
        found.append(Place(bore=int(bores[k]), clock=float(hours[k]), what="plain"))
    for number, zone in enumerate(insert.zones, 1):
        off = (zone.width / 2 + zone.blend / 2) / 30
        for bore in np.unique(bores).tolist():
            own = hours[bores == bore]
            sides = ((-off, "blend of "), (0.0, ""), (off, "blend of "))
            for by, blend in sides if zone.blend else sides[1:2]:
                at = (zone.clock + by) % 12
                away = np.abs((own - at + 6) % 12 - 6)
                if away.min() < 0.02:
                    if away.min() > ON_RAY:  # that ray passes the piece
                        at = float(own[away.argmin()])
                    found.append(Place(bore=bore, clock=at, what=f"{blend}zone {number}"))
    return tuple(found)


def _plain_across(block: Block, insert: Insert, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """Whether no zone lies on the rays through places of the middle of a piece."""
    bores, _ = block.nearest_bore(z.real, z.imag)
    axis = np.array(block.axes)[np.asarray(bores) - 1]
    ray = (z - axis) / np.abs(z - axis)
    far = np.linspace(block.barrel_radius, block.outside_radius + (block.pitch or 0.0) / 2, RAY)
    depth = depth_along(block, insert, (axis + far[:, None] * ray).ravel()).reshape(RAY, -1)
    return np.asarray((np.abs(depth - insert.depth) < WITHIN).all(axis=0))


def _off_slots(piece: CutPiece, z: NDArray[np.complex128]) -> Floats:
    """How far places of a piece stand from its slots. [mm]."""
    shares = np.linspace(0, 1, 9)
    edges = [curve.points(shares) for loop in piece.loops[1:] for curve in loop]
    if not edges:
        return np.full(len(z), np.inf)
    return np.asarray(np.abs(z[:, None] - np.concatenate(edges)).min(axis=1))


def across(making: Making, piece: CutPiece, place: Place) -> Across:
    """The section of a piece at a place."""
    insert, plan = making.design.insert, making.plan
    assert insert is not None
    block = making.section.mean_block
    axis = block.axes[place.bore - 1]
    ray = np.exp(1j * float(clock_to_angle(place.clock)))
    area = Area(piece.loops)
    steps = [(cap, Area(loops)) for cap, loops in making.steps(piece)]

    def under(r: Floats) -> Floats:
        z = axis + r * ray
        depth = depth_along(block, insert, z)
        for cap, of in steps:
            depth = np.where(of.holds(z), np.minimum(depth, cap), depth)
        return np.where(area.holds(z), depth, 0.0)

    def top(r: Floats) -> Floats:
        z = axis + r * ray
        part, before = plan.parent(z)
        taken = np.asarray(plan.taken(z, part, before))
        return np.where(before > taken, np.minimum(taken, below), below)

    def bottom(r: Floats) -> Floats:
        _, before = plan.parent(axis + r * ray)
        return np.where(before > 0, np.minimum(before, below), below)

    far = block.outside_radius + (block.pitch or 0.0)
    r = np.arange(block.bore / 2, far, STEP)
    held = np.flatnonzero(under(r) > 0)
    near = r[held[0]] if len(held) else r[0]
    # the stretch that begins at the barrel: beyond it the ray may meet the piece again
    ends = np.flatnonzero(np.diff(r[held]) > 3 * WALL)
    last = r[held[ends[0]]] if len(ends) else r[held[-1]]
    r = np.arange(near - WALL, last + WALL, STEP)
    below = max(insert.deepest, insert.lowest) + BELOW
    return Across(
        place=place, under=_corners(under, r), top=_corners(top, r), bottom=_corners(bottom, r)
    )


def _corners(of: Callable[[Floats], Floats], r: Floats) -> Floats:
    """Corners of a line with jumps, which are narrowed down to less than a micrometre."""
    value = of(r)
    at = np.flatnonzero(np.abs(np.diff(value)) > WITHIN)
    low, high, below, above = r[at], r[at + 1], value[at], value[at + 1]
    shares = np.arange(PARTS + 1) / PARTS
    for _ in range(ROUNDS if len(at) else 0):
        places = low[:, None] + (high - low)[:, None] * shares
        found = np.column_stack([below, of(places[:, 1:-1].ravel()).reshape(len(at), -1), above])
        higher = np.abs(found - below[:, None]) > np.abs(found - above[:, None])
        k, row = np.maximum(higher.argmax(axis=1), 1), np.arange(len(at))
        low, below = places[row, k - 1], found[row, k - 1]
        high, above = places[row, k], found[row, k]
    jump = np.abs(above - below) > WITHIN
    places = np.concatenate([r, low[jump], high[jump]])
    values = np.concatenate([value, below[jump], above[jump]])
    order = np.argsort(places, kind="stable")
    line = np.column_stack([places[order], values[order]])
    line = line[np.concatenate([[True], np.abs(np.diff(line, axis=0)).max(axis=1) > 1e-12])]
    before, own, after = line[:-2], line[1:-1], line[2:]
    cross = (own[:, 0] - before[:, 0]) * (after[:, 1] - own[:, 1]) - (own[:, 1] - before[:, 1]) * (
        after[:, 0] - own[:, 0]
    )
    kept = np.concatenate([[True], np.abs(cross) > 1e-7, [True]])
    return line[kept]


def section_drawing(making: Making, cut: Across, low: complex, high: complex) -> Iterator[Item]:
    """A section with its sizes, in a room of a sheet between two corners."""
    speaks, stock = Speaks(making.case.spoken.length), making.given.deck_stock
    place = cut.place
    levels = cut.levels
    first, last = float(cut.top[0, 0]), float(cut.top[-1, 0])
    deepest = max(float(cut.under[:, 1].max()), float(cut.bottom[:, 1].max()))
    room = high - low - complex(26, 28)
    scale = usual_scale(min(room.real / (last - first), room.imag / (deepest + stock)))
    left = low.real + 13 + (room.real - scale * (last - first)) / 2
    deck = high.imag - 16

    def at(r: float, depth: float) -> complex:
        return complex(left + scale * (r - first), deck - scale * depth)

    def drawn(corners: list[complex], width: float, grey: float, name: str = "") -> Stroke:
        ways = [z for k, z in enumerate(corners) if abs(z - corners[k - 1]) > 1e-6]
        return Stroke(loops=(tuple(polygon(ways)),), width=width, closed=True, grey=grey, name=name)

    where = f"bore {place.bore} at {format_clock(place.clock)}: {place.what}"
    yield Words(at=complex(low.real + 1, high.imag - 3), bold=True,
                text=f"Across, {scale_words(scale)}")  # fmt: skip
    yield Words(at=complex(low.real + 1, high.imag - 6.5), size=SMALL, text=where)
    for wall in walls(cut):
        yield drawn([at(*of) for of in wall], 0.35, 0.7)
    for body in bodies(cut, stock):
        yield drawn([at(*of) for of in body], THICK, 0.93, "body")
    yield ruled(at(first, 0) - 3, at(last, 0) + 4, dash=CENTRE)
    yield Words(at=at(last, 0) + complex(4.5, -0.8), text="A")
    inner, outer = levels[0][0], levels[-1][1]
    over = complex(0, scale * stock + 3)
    yield from dimension(at(inner, 0) + over, at(outer, 0) + over, speaks.size(outer - inner, 3))
    depths = cut.depths
    for k, depth in enumerate(depths[:2]):
        x = at(first, 0).real - 5 if k == 0 else at(last, 0).real + 4
        yield from dimension(
            complex(x, deck), complex(x, deck - scale * depth), speaks.size(depth, 2)
        )
    if len(levels) > 1 and len(depths) > 1:
        y = at(0, deepest).imag - 4
        long = max(levels, key=lambda of: of[2])
        yield from dimension(complex(at(long[0], 0).real, y), complex(at(long[1], 0).real, y),
                             speaks.size(long[1] - long[0], 3))  # fmt: skip


def walls(cut: Across) -> Iterator[list[tuple[float, float]]]:
    """Polygons of the metal of the block, stretch by stretch: distance and depth. [mm]."""
    top: list[tuple[float, float]] = []
    foot: list[tuple[float, float]] = []
    for a, b in pairwise(np.unique(np.concatenate([cut.top[:, 0], cut.bottom[:, 0]])).tolist()):
        if b - a < WITHIN:
            continue
        high, low = (
            float(np.interp((a + b) / 2, line[:, 0], line[:, 1])) for line in (cut.top, cut.bottom)
        )
        if low - high > WITHIN:
            top += [(a, high), (b, high)]
            foot += [(a, low), (b, low)]
        elif top:
            yield [*top, *foot[::-1]]
            top, foot = [], []
    if top:
        yield [*top, *foot[::-1]]


def bodies(cut: Across, stock: float) -> Iterator[list[tuple[float, float]]]:
    """Polygons of the piece, with its stock above the deck: distance and depth. [mm]."""
    own: list[tuple[float, float]] = []
    for (a, one), (b, other) in pairwise(cut.under.tolist()):
        if one > 0 and other > 0 and b - a > 0:
            own += [(a, one), (b, other)]
        elif own and other <= 0:
            yield [(own[0][0], -stock), *own, (own[-1][0], -stock)]
            own = []
    if own:
        yield [(own[0][0], -stock), *own, (own[-1][0], -stock)]

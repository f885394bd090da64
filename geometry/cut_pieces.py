"""The pieces of an insert as they are cut: closed loops of lines and arcs, corners rounded.

What :func:`geometry.outline.draw_section` draws fills the pocket from corner to corner; here each
corner has the arc that the insert is given (:mod:`geometry.rounding`), and lines that only part
regions of unlike depth are gone. Broken edges are a note on a drawing, not a line of it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.faces import Outline
from geometry.outline import draw_section, loops_around
from geometry.planar import Curve
from geometry.section import Block, DeckSection, Insert
from geometry.section_mesh import ProfileDepth, UniformDepth

CORNER = "corner"
"""Tag of the arc that the insert has for a corner."""
STEP = 0.1
"""Apart on the middle of an insert at which is asked whose it is. [mm]."""
ALIKE = 1e-6
"""Pieces whose points differ by less from a move along the bank are one shape. [mm]."""
WITHIN = 1e-3
"""Depths that differ by less are one. [mm]."""
VOLUME_STEP = 0.13
"""Root of the area that each place stands for over which a volume is summed. [mm]."""
LEAST_PLACES = 30_000
"""Over the box of a piece, however small."""
EVENLY = 1.32471795724474602596 ** -np.array([1.0, 2.0])
"""Steps of places that fill a square evenly, along no line more than along others: the sequence R2
of M. Roberts, by the root of x^3 = x + 1 (from memory). [1]."""
MOST_SWEEP = 0.7 * math.pi
"""Of an arc that is put together again. [rad]."""

Loop = tuple[Curve, ...]


@dataclass(frozen=True, kw_only=True)
class CutPiece:
    """One piece of an insert in plan, metal on the left of its loops."""

    number: int  # by bore, then in clock order, from 1
    bore: int  # nearest bore, from 1
    clock: float  # of its middle, about that bore [h]
    length: float  # along its middle [mm]
    loops: tuple[Loop, ...]  # the outer one, then holes

    @cached_property
    def area(self) -> float:
        """In plan. [mm2]."""
        return sum(planar.signed_area(loop) for loop in self.loops)

    @cached_property
    def perimeter(self) -> float:
        """Of all loops. [mm]."""
        return sum(curve.length for loop in self.loops for curve in loop)

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Of all loops."""
        return tuple(curve for loop in self.loops for curve in loop)


def cut_pieces(section: DeckSection) -> tuple[CutPiece, ...]:
    """The pieces of a section's insert, by number; none of a bare block.

    A ring is drawn without the ties below it, at whose fillets a section goes around it by some
    hundredths of a millimetre.

    Raises
    ------
    SectionError
        Where the section can't be built.
    """
    draw_section(section)
    outline = _insert_outline(section)
    edges = _insert_edges(outline)
    if not edges:
        return ()
    metal = planar.Area([edges])
    arcs, slivers = _corners(outline)
    lacking = [planar.Area([sliver]) for sliver in slivers]

    def within(z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        held = metal.holds(z)
        for area in lacking:
            held &= ~area.holds(z)
        return held

    loops = [_joined(loop) for loop in loops_around([*edges, *arcs], within)]
    loops = [_eased_back(_eased_back(loop), -1) for loop in loops]
    assert section.insert is not None
    return _numbered(section.block, section.insert, _grouped(loops))


def pocket_loops(section: DeckSection) -> list[tuple[Loop, ...]]:
    """What an insert goes into, as it is cut: outer loops, each with the holes in it."""
    assert section.insert is not None
    whole = replace(section, insert=replace(section.insert, slots=()))
    return _grouped(_around(_insert_edges(_insert_outline(whole))))


def as_cast(section: DeckSection, depth: float) -> DeckSection:
    """A section whose insert fills the jacket as cast, between its ties, down to a depth [mm]."""
    assert section.insert is not None
    cast = replace(
        section.insert, depth=depth, form="pieces", width=None, register=None, zones=(), slots=()
    )
    return replace(section, insert=cast)


def _insert_outline(section: DeckSection) -> Outline:
    """A section's outline; of a ring without the ties below it."""
    if section.insert is not None and section.insert.form == "ring":
        section = replace(section, block=replace(section.block, ties=()))
    return draw_section(section)


def middle_radius(block: Block, insert: Insert) -> float:
    """Radius of the line along the middle of an insert about a bore. [mm]."""
    return block.barrel_radius + (insert.width or block.jacket) / 2


def middle_of(block: Block, insert: Insert, piece: CutPiece) -> NDArray[np.complex128]:
    """Places along the middle of the insert within a piece, counter-clockwise. [mm].

    Those of one that goes around all bores begin at 9:00 of the first.
    """
    return _along(block, insert, piece.loops)


def _along(block: Block, insert: Insert, loops: Sequence[Loop]) -> NDArray[np.complex128]:
    """Those of the line along the middle, or else of the circle through the middle of a piece."""
    held: Callable[[NDArray[np.complex128]], NDArray[np.bool_]] = planar.Area(loops[:1]).holds
    places = _middle(block, insert)
    within = held(places)
    if not within.any():  # as of one that fills a relief cut of its own
        z = np.array([curve.point(at) for curve in loops[0] for at in (0.0, 0.5)]).mean()
        axis = block.axes[int(block.nearest_bore(z.real, z.imag)[0]) - 1]
        count = math.ceil(2 * math.pi * abs(z - axis) / STEP)
        places = axis - abs(z - axis) * np.exp(2j * np.pi * np.arange(count) / count)
        within = held(places)
    begins = np.flatnonzero(within & ~np.roll(within, 1))
    first = -int(begins[0]) if len(begins) else 0
    return np.asarray(np.roll(places, first)[np.roll(within, first)])


def depth_along(block: Block, insert: Insert, z: NDArray[np.complex128]) -> NDArray[np.float64]:
    """Depth of an insert at places, where nothing below ends it. [mm]."""
    bores, _ = block.nearest_bore(z.real, z.imag)
    middle = middle_radius(block, insert)
    found = np.empty(len(z))
    for bore in np.unique(bores):
        axis = block.axes[bore - 1]
        beside = tuple(x for x in block.axes if 0.5 < abs(x - axis) / (block.pitch or 1.0) < 1.5)
        depth = ProfileDepth(insert.depth, insert.zones, math.inf, axis, beside, middle)
        at = bores == bore
        found[at] = depth(z[at].real, z[at].imag)
    return found


def is_slot(loop: Sequence[Curve]) -> bool:
    """Whether a loop of a piece is the edge of a slot."""
    return all(curve.tag.startswith("slot") for curve in loop)


def slot_numbers(piece: CutPiece) -> dict[int, int]:
    """Number of each slot of a piece, from 1, by its place among the loops."""
    places = [place for place, loop in enumerate(piece.loops) if is_slot(loop)]
    return {place: number for number, place in enumerate(places, 1)}


def caps_of(section: DeckSection) -> list[tuple[float, tuple[Loop, ...]]]:
    """Depths below which something ends an insert before its own depth [mm], and where.

    As the floor of a register, of a relief cut, or a tie under a ring. Each place is an outer loop
    and the holes in it.
    """
    insert = section.insert
    assert insert is not None
    outline = draw_section(section)
    faces: dict[float, list[Curve]] = {}
    for face in outline.faces:
        for layer in outline.regions[face.region]:
            if layer.part != "insert":
                continue
            of = layer.thickness
            cap = of.cap if isinstance(of, ProfileDepth) else math.inf
            if isinstance(of, UniformDepth) and of.thickness < insert.depth - WITHIN:
                cap = of.thickness
            if cap < insert.deepest - WITHIN:
                faces.setdefault(round(cap, 6), []).extend(
                    curve for loop in outline.loops(face) for curve in loop
                )
    return [
        (cap, group) for cap, curves in sorted(faces.items()) for group in _grouped(_around(curves))
    ]


def _around(curves: Sequence[Curve]) -> list[Loop]:
    """Loops around faces taken together, of the loops of each."""
    ways: dict[tuple[complex, complex, float], Curve] = {}
    for curve in curves:
        if ways.pop((curve.end, curve.start, -curve.bulge), None) is None:
            ways[curve.start, curve.end, curve.bulge] = curve
    edges = list(ways.values())
    return [_joined(loop) for loop in loops_around(edges, planar.Area([edges]).holds)]


def shifted_by(one: CutPiece, other: CutPiece) -> float | None:
    """How far along the bank a piece of the same shape stands; None of an unlike one. [mm]."""
    ends = [np.array([[of.start, of.point(0.5)] for of in piece.curves]) for piece in (one, other)]
    if ends[0].shape != ends[1].shape:
        return None
    apart = ends[1] - ends[0]
    same = np.abs(apart - apart[0, 0]).max() < ALIKE and abs(apart[0, 0].imag) < ALIKE
    return float(apart[0, 0].real) if same else None


def piece_volumes(
    section: DeckSection, pieces: Sequence[CutPiece], step: float = VOLUME_STEP
) -> tuple[float, ...]:
    """Volumes of pieces below the deck, their depth summed over their area. [mm3].

    The mean over places spread evenly, one on a square of ``step`` [mm] each or closer; of one
    depth all along the edge, that times the area.
    """
    caps = [(cap, planar.Area(loops)) for cap, loops in caps_of(section)]
    found: list[float] = []
    for piece in pieces:
        alike = (
            volume
            for other, volume in zip(pieces, found, strict=False)
            if shifted_by(other, piece) is not None
        )
        known = next(alike, None)
        found.append(_volume(section, piece, step, caps) if known is None else known)
    return tuple(found)


def _volume(
    section: DeckSection, piece: CutPiece, step: float, caps: Sequence[tuple[float, planar.Area]]
) -> float:
    insert = section.insert
    assert insert is not None
    edge = [of.points(np.linspace(0.0, 1.0, 2 + math.ceil(2 * of.length))) for of in piece.curves]
    depths = depth_along(section.mean_block, insert, np.concatenate(edge))
    if not caps and np.ptp(depths) == 0:  # a zone goes on to the edge
        return float(depths[0] * piece.area)
    z = np.concatenate([curve.points(np.linspace(0.0, 1.0, 17)) for curve in piece.loops[0]])
    low, high = complex(z.real.min(), z.imag.min()), complex(z.real.max(), z.imag.max())
    across, up = (high - low).real, (high - low).imag
    places = max(math.ceil(across * up / step**2), LEAST_PLACES)
    turns = np.arange(places)[:, None] * EVENLY % 1.0
    at = low + turns @ np.array([across, 1j * up])
    at = at[planar.Area(piece.loops).holds(at)]
    depth = depth_along(section.mean_block, insert, at)
    for cap, area in caps:
        depth = np.where(area.holds(at), np.minimum(depth, cap), depth)
    return float(depth.mean() * piece.area)


def _insert_edges(outline: Outline) -> list[Curve]:
    """Curves with insert on one side only, it on their left."""
    sides: dict[int, list[bool]] = {}
    for face in outline.faces:
        if any(layer.part == "insert" for layer in outline.regions[face.region]):
            for loop in face.loops:
                for piece, forward in loop:
                    sides.setdefault(piece, []).append(forward)
    return [
        planar.run(outline.pieces, (piece, ways[0]))
        for piece, ways in sides.items()
        if len(ways) == 1
    ]


def _corners(outline: Outline) -> tuple[list[Curve], list[list[Curve]]]:
    """Arcs of the insert's corners, and what lies between each and the pocket."""
    stretches: dict[Curve, list[Curve]] = {}
    for edge, arc in outline.rounding.corners if outline.rounding else ():
        stretches.setdefault(arc, []).append(edge)
    return (
        [arc.tagged(CORNER) for arc in stretches],
        [[*edges, arc.reversed()] for arc, edges in stretches.items()],
    )


def _eased_back(loop: Loop, way: int = 1) -> Loop:
    """A loop that goes straight on to a corner's arc where it would turn hollow just before it.

    As where the fillet of the casting ends on that of the register: no cutter enters such a turn.
    With ``way`` -1 just after an arc.
    """
    curves = list(loop) if way > 0 else [curve.reversed() for curve in loop[::-1]]
    for _ in loop:
        curves = [*curves[1:], curves[0]]
        before, step, arc = curves[-1], curves[0], curves[1]
        turn = way * np.angle(step.direction(0.0) / before.direction(1.0))
        if turn > -planar.SMOOTH or arc.tag != CORNER:
            continue
        on = before.direction(1.0)
        foot = (np.conj(on) * (arc.centre - before.end)).real
        reach = arc.radius**2 - abs(before.end + foot * on - arc.centre) ** 2
        meets = before.end + (foot + math.sqrt(max(reach, 0.0))) * on
        share = arc.share(meets)
        if reach > 0 and 0 < share < 1:
            straight = planar.line(before.end, meets, step.tag)
            curves[:2] = [straight, replace(arc.part(share, 1.0), start=meets)]
    return tuple(curves if way > 0 else [curve.reversed() for curve in curves[::-1]])


def _joined(loop: Sequence[Curve]) -> Loop:
    """A loop with pieces put together again that carry on along one line or circle."""
    curves = list(loop)
    place = 0
    while place < len(curves) and len(curves) > 2:
        one, other = curves[place - 1], curves[place]
        if _carries_on(one, other):
            sweep = one.sweep + other.sweep
            curves[place - 1] = Curve(one.start, other.end, math.tan(sweep / 4), one.tag)
            del curves[place]
        else:
            place += 1
    return tuple(curves)


def _carries_on(one: Curve, other: Curve) -> bool:
    if one.tag != other.tag or abs(one.sweep + other.sweep) > MOST_SWEEP:
        return False
    bends = [math.copysign(1, of.bulge) / of.radius if of.bulge else 0.0 for of in (one, other)]
    turn = abs(np.angle(other.direction(0.0) / one.direction(1.0)))
    return bool(abs(bends[0] - bends[1]) < 1e-7 and turn < 1e-6)


def _grouped(loops: Sequence[Loop]) -> list[tuple[Loop, ...]]:
    """Outer loops, each with the holes in it."""
    areas = [planar.signed_area(loop) for loop in loops]
    outers = [loop for loop, area in zip(loops, areas, strict=True) if area > 0]
    holes: list[list[Loop]] = [[] for _ in outers]
    around = [planar.Area([loop]) for loop in outers]
    for loop, area in zip(loops, areas, strict=True):
        if area <= 0:
            at = np.array([loop[0].point(0.5)])
            found = [k for k, of in enumerate(around) if of.holds(at)[0]]
            holes[min(found, key=lambda k: planar.signed_area(outers[k]))].append(loop)
    return [(outer, *inner) for outer, inner in zip(outers, holes, strict=True)]


def _numbered(
    block: Block, insert: Insert, groups: Sequence[tuple[Loop, ...]]
) -> tuple[CutPiece, ...]:
    found = []
    for loops in groups:
        along = _along(block, insert, loops)
        bore, hours = block.nearest_bore(along.mean().real, along.mean().imag)
        length = len(along) * float(np.median(np.abs(np.diff(along))))
        found.append((int(bore), float(hours), length, loops))
    found.sort(key=lambda of: of[:2])
    return tuple(
        CutPiece(number=number, bore=bore, clock=hours, length=length, loops=loops)
        for number, (bore, hours, length, loops) in enumerate(found, 1)
    )


def _count(block: Block, insert: Insert) -> int:
    return 2 * math.ceil(math.pi * middle_radius(block, insert) / STEP)


def _middle(block: Block, insert: Insert) -> NDArray[np.complex128]:
    """Places along the middle of the insert, around the bank from 9:00 of the first bore on."""
    radius = middle_radius(block, insert)
    count = _count(block, insert)
    half = radius * np.exp(1j * np.pi * (1 + np.arange(count // 2) / (count // 2)))
    axes = np.array(block.axes)
    below = np.concatenate([axis + half for axis in axes])
    above = np.concatenate([axis - half for axis in axes[::-1]])
    places = np.concatenate([below, above])
    return places[(np.abs(places[:, None] - axes) > radius * (1 - 1e-9)).all(axis=1)]

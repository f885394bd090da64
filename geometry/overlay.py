"""Areas of lines and arcs laid over each other: exact, face by face.

Loops may cross, touch and overlap. They are cut where they meet, and each face between the pieces
lies wholly in or out of every area, so that the area of any combination is a sum over faces.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.outline import draw_section, loops_around, planned
from geometry.planar import Curve
from geometry.section import DeckSection

Loop = tuple[Curve, ...]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Overlay:
    """Faces between curves.

    Attributes
    ----------
    at : ndarray, shape (k,)
        A point in each face, beside one of its edges; complex, x + iy. [mm]
    areas : ndarray, shape (k,)
        What each closed walk adds to the area of its face; that of a hole is negative. [mm2]
    """

    at: NDArray[np.complex128]
    areas: NDArray[np.float64]

    def area(self, within: Bools) -> float:
        """Area of the faces whose points lie within, shape (k,). [mm2]."""
        return float(self.areas[within].sum())


def overlay(curves: Iterable[Curve]) -> Overlay:
    """The faces between closed loops of curves, however they lie."""
    pieces = planar.cut(list(curves))
    if not pieces:
        return Overlay(np.empty(0, dtype=complex), np.empty(0))
    walks = planar.cycles(pieces)
    return Overlay(planar.beside(pieces, walks), np.array(planar.walk_areas(pieces, walks)))


@dataclass(frozen=True)
class Patch:
    """A connected area: its outer loop, then its holes, the area on their left."""

    loops: tuple[Loop, ...]

    @cached_property
    def area(self) -> float:
        """[mm2]."""
        return sum(planar.signed_area(loop) for loop in self.loops)

    @cached_property
    def perimeter(self) -> float:
        """Of all loops. [mm]."""
        return sum(curve.length for curve in self.curves)

    @property
    def curves(self) -> tuple[Curve, ...]:
        """Of all loops."""
        return tuple(curve for loop in self.loops for curve in loop)

    @cached_property
    def _held(self) -> planar.Area:
        return planar.Area(self.loops)

    def holds(self, z: NDArray[np.complex128]) -> Bools:
        """Whether points lie in it, shape (...)."""
        return self._held.holds(z)


def common_area(*areas: Sequence[Sequence[Curve]]) -> float:
    """What several areas, each of closed loops, have in common. [mm2].

    Examples
    --------
    >>> common_area([planar.circle(0, 5.0)], [planar.circle(4, 5.0)])  # a lens, closed form
    39.6337
    """
    faces = overlay(curve for loops in areas for loop in loops for curve in loop)
    within = np.ones(len(faces.at), dtype=bool)
    for loops in areas:
        within &= planar.Area(loops).holds(faces.at)
    return faces.area(within)


@lru_cache(maxsize=16)
def open_water(section: DeckSection) -> tuple[Patch, ...]:
    """What is open to the water at the deck: a pocket between ties, or a slot, each.

    Walls with draft stand as they do at the deck. The corners of an insert fill those of its
    pocket here; rounded they leave about 1 mm2 each.

    Raises
    ------
    SectionError
        Where the section can't be built.
    """
    section = section.at_deck
    outline, plan = draw_section(section), planned(section)
    metal = planar.Area([loop for face in outline.faces for loop in outline.loops(face)])
    loops = loops_around(outline.pieces, lambda z: plan.water(z) & ~metal.holds(z))
    return patches(loops)


def patches(loops: Sequence[Sequence[Curve]]) -> tuple[Patch, ...]:
    """Connected areas of the loops that bound them, the area on their left."""
    signed = [planar.signed_area(loop) for loop in loops]
    outers = [tuple(loop) for loop, area in zip(loops, signed, strict=True) if area > 0]
    around = [planar.Area([loop]) for loop in outers]
    holes: list[list[Loop]] = [[] for _ in outers]
    for loop, area in zip(loops, signed, strict=True):
        if area <= 0:
            at = np.array([loop[0].point(0.5)])
            found = [k for k, of in enumerate(around) if of.holds(at)[0]]
            holes[min(found, key=lambda k: planar.signed_area(outers[k]))].append(tuple(loop))
    return tuple(Patch((outer, *inner)) for outer, inner in zip(outers, holes, strict=True))


def least_distance(one: Sequence[Curve], other: Sequence[Curve]) -> float:
    """Least distance of two sets of curves; infinite where one is empty. [mm].

    It is exact for lines and arcs: at an end of either, between feet that face each other on the
    line of two centres, or on the normal of a line through a centre.
    """
    if not one or not other:
        return math.inf
    if len(planar.cut([*one, *other])) != len(planar.cut(list(one))) + len(planar.cut(list(other))):
        return 0.0
    return min(_apart(a, b) for a in one for b in other)


def distance_to(curve: Curve, z: complex) -> float:
    """Least distance of a point from a curve. [mm]."""
    ends = min(abs(z - curve.start), abs(z - curve.end))
    if curve.bulge and z == curve.centre:
        return curve.radius
    share = curve.share(z)
    return min(ends, abs(curve.point(share) - z)) if 0 <= share <= 1 else ends


def _apart(a: Curve, b: Curve) -> float:
    """Least distance of two curves that don't cross."""
    found = [
        *(distance_to(b, z) for z in (a.start, a.end)),
        *(distance_to(a, z) for z in (b.start, b.end)),
    ]
    for arc, other in ((a, b), (b, a)):
        if not arc.bulge:
            continue
        if other.bulge:
            way = other.centre - arc.centre
            if abs(way) < planar.SNAP:
                found += [distance_to(other, arc.point(at)) for at in (0.0, 0.5, 1.0)]
                continue
            ways = [way / abs(way), -way / abs(way)]
        else:
            foot = (
                other.start
                + other.direction(0)
                * ((arc.centre - other.start) * other.direction(0).conjugate()).real
            )
            if abs(foot - arc.centre) < planar.SNAP:
                continue
            ways = [(foot - arc.centre) / abs(foot - arc.centre)]
            ways.append(-ways[0])
        for direction in ways:
            z = arc.centre + arc.radius * direction
            if 0 <= arc.share(z) <= 1:
                found.append(distance_to(other, z))
    return min(found)


def turned(loop: Sequence[Curve], by: complex, to: complex, over: bool = False) -> Loop:
    """A loop turned by a unit number, then moved; turned over, about the x axis, before.

    Counter-clockwise stays counter-clockwise.
    """
    if over:
        loop = [
            Curve(of.end.conjugate(), of.start.conjugate(), of.bulge, of.tag)
            for of in reversed(loop)
        ]
    return tuple(replace(of, start=of.start * by + to, end=of.end * by + to) for of in loop)

"""Faces between lines and arcs, with the layers of metal on each and named edges."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.planar import Curve, Half
from geometry.rounding import Rounding
from geometry.section_mesh import Corner, Layer

Layers = tuple[Layer, ...]

REFLEX = math.radians(185)
"""Metal that fills more than this around a point on its edge makes a sharp corner. [rad]."""

FREE_EDGES = {
    "barrel": "jacket",
    "jacket": "jacket",
    "tie": "jacket",
    "fillet": "jacket",
    "reach": "jacket",
    "register": "jacket",
    "relief": "relief cut",
    "slot": "slot",
    "outside": "outside",
}


@dataclass(frozen=True)
class Face:
    """A connected area of one region: its outer loop, then its holes, metal on the left."""

    region: int
    loops: tuple[tuple[Half, ...], ...]


@dataclass(frozen=True)
class Outline:
    """A section as faces between shared lines and arcs."""

    pieces: tuple[Curve, ...]
    names: tuple[str, ...]  # the edge name of each piece
    faces: tuple[Face, ...]
    regions: tuple[Layers, ...]
    corners: tuple[Corner, ...]
    open_area: float = 0.0  # water seen at the deck [mm2]
    cuts: tuple[tuple[int, int], ...] = ()  # piece and face of lines that end within a face
    rounding: Rounding | None = None  # of the insert as it is cut

    def loops(self, face: Face) -> list[list[Curve]]:
        """The curves of a face, loop by loop, metal on the left."""
        return [[planar.run(self.pieces, half) for half in loop] for loop in face.loops]

    def area(self, face: Face) -> float:
        """Area of a face, exact. [mm2]."""
        return sum(planar.signed_area(loop) for loop in self.loops(face))

    def part_area(self, part: str) -> float:
        """Plan area of all metal of a part. [mm2]."""
        return sum(
            self.area(face)
            for face in self.faces
            if any(layer.part == part for layer in self.regions[face.region])
        )

    @cached_property
    def insert_area(self) -> float:
        """Plan area of the insert. [mm2]."""
        return self.part_area("insert")


def outline_from_curves(
    curves: Sequence[Curve],
    layers_at: Callable[[NDArray[np.complex128]], Sequence[Layers]],
    water_at: Callable[[NDArray[np.complex128]], NDArray[np.bool_]] | None = None,
    removed: Callable[[Sequence[Curve]], NDArray[np.bool_]] | None = None,
) -> Outline:
    """Faces of any set of curves.

    Parameters
    ----------
    curves : sequence of Curve
        Everything across which the layers may change; they may cross, touch and overlap. The
        tag of a free edge becomes its name.
    layers_at : callable
        Layers of metal at points, complex array (n,); the empty tuple where there is none.
    water_at : callable, optional
        Whether a point without metal counts as open water.
    removed : callable, optional
        Which pieces to leave out, after all is cut; the faces on both sides become one.

    Returns
    -------
    Outline
        Neighbouring areas with equal layers are one face; curves inside a face are gone.
    """
    pieces = planar.cut(curves)
    if removed is not None:
        pieces = [p for p, out in zip(pieces, removed(pieces).tolist(), strict=True) if not out]
    walks = planar.cycles(pieces)
    labels, water = _label_walks(pieces, walks, layers_at, water_at)
    areas = planar.walk_areas(pieces, walks)
    open_area = sum(area for area, wet in zip(areas, water, strict=True) if wet)
    side = {half: label for walk, label in zip(walks, labels, strict=True) for half in walk}
    kept = [i for i in range(len(pieces)) if side[i, True] != side[i, False]]
    borders = {i: (side[i, True], side[i, False]) for i in kept}
    merged, merged_borders = _merge_runs([pieces[i] for i in kept], [borders[i] for i in kept])
    return _faces(merged, merged_borders, open_area)


def _label_walks(
    pieces: Sequence[Curve],
    walks: Sequence[Sequence[Half]],
    layers_at: Callable[[NDArray[np.complex128]], Sequence[Layers]],
    water_at: Callable[[NDArray[np.complex128]], NDArray[np.bool_]] | None,
) -> tuple[list[Layers], list[bool]]:
    """Layers to the left of each walk, judged beside the middle of its longest piece."""
    z = planar.beside(pieces, walks)
    labels = list(layers_at(z))
    if water_at is None:
        return labels, [False] * len(labels)
    wet = water_at(z)
    return labels, [bool(w) and not label for w, label in zip(wet, labels, strict=True)]


def _merge_runs(
    pieces: list[Curve], borders: list[tuple[Layers, Layers]]
) -> tuple[list[Curve], list[tuple[Layers, Layers]]]:
    """Pieces joined again where they carry on along one line or circle past a needless point."""
    at: dict[complex, list[int]] = {}
    for i, piece in enumerate(pieces):
        at.setdefault(piece.start, []).append(i)
        at.setdefault(piece.end, []).append(i)
    alive = dict(enumerate(zip(pieces, borders, strict=True)))
    many = planar.Curves.of(pieces)
    curvature = (np.sign(many.bulge) / many.radius).tolist()
    for z, touching in at.items():
        if len(touching) != 2 or touching[0] == touching[1]:
            continue
        i, j = touching
        (a, sides_a), (b, sides_b) = alive[i], alive[j]
        if a.tag != b.tag:
            continue
        bend_a, bend_b = curvature[i], curvature[j]
        if a.end != z:
            a, sides_a, bend_a = a.reversed(), sides_a[::-1], -bend_a
        if b.start != z:
            b, sides_b, bend_b = b.reversed(), sides_b[::-1], -bend_b
        if sides_a != sides_b or abs(bend_a - bend_b) >= 1e-9:
            continue
        straight = abs(cmath.phase(b.direction(0) / a.direction(1))) < 1e-7
        sweep = a.sweep + b.sweep
        if not straight or abs(sweep) > 0.7 * math.pi or a.start == b.end:
            continue
        alive[i] = (Curve(a.start, b.end, math.tan(sweep / 4), a.tag), sides_a)
        curvature[i] = bend_a
        del alive[j]
        at[b.end] = [i if k == j else k for k in at[b.end]]
    return [piece for piece, _ in alive.values()], [sides for _, sides in alive.values()]


def _faces(pieces: list[Curve], borders: list[tuple[Layers, Layers]], open_area: float) -> Outline:
    walks = planar.cycles(pieces)
    areas = planar.walk_areas(pieces, walks)

    def left(half: Half) -> Layers:
        return borders[half[0]][0 if half[1] else 1]

    regions: dict[Layers, int] = {}
    outers = [k for k, walk in enumerate(walks) if areas[k] > 0 and left(walk[0])]
    holes: dict[int, list[int]] = {k: [] for k in outers}
    rows = planar.boxes(pieces)
    box = {}
    for k in outers:
        own = rows[[i for i, _ in walks[k]]]
        box[k] = (*own[:, :2].min(axis=0).tolist(), *own[:, 2:].max(axis=0).tolist())
    within = [k for k, walk in enumerate(walks) if areas[k] <= 0 and left(walk[0])]
    for k, z in zip(within, planar.beside(pieces, [walks[k] for k in within]), strict=True):
        around = [
            j
            for j in outers
            if areas[j] > -areas[k]
            and box[j][0] < z.real < box[j][2]
            and box[j][1] < z.imag < box[j][3]
            and left(walks[j][0]) == left(walks[k][0])
        ]
        if len(around) > 1:
            loops = ([planar.run(pieces, half) for half in walks[j]] for j in around)
            around = [j for j, loop in zip(around, loops, strict=True) if planar.inside([loop], z)]
        holes[min(around, key=lambda j: areas[j])].append(k)
    faces = tuple(
        Face(
            regions.setdefault(left(walks[k][0]), len(regions)),
            tuple(tuple(walks[j]) for j in (k, *holes[k])),
        )
        for k in outers
    )
    names = tuple(_edge_name(p.tag, *sides) for p, sides in zip(pieces, borders, strict=True))
    corners = _sharp_corners(pieces, borders)
    return Outline(tuple(pieces), names, faces, tuple(regions), corners, open_area)


def _edge_name(tag: str, left: Layers, right: Layers) -> str:
    if not left or not right:
        return FREE_EDGES.get(tag.split("|")[0], tag)
    parts = [{layer.part for layer in side} for side in (left, right)]
    if ("insert" in parts[0]) != ("insert" in parts[1]):
        return "insert fit"
    if ("liner" in parts[0]) != ("liner" in parts[1]):
        return "liner fit"
    return "step"


def _sharp_corners(
    pieces: Sequence[Curve], borders: Sequence[tuple[Layers, Layers]]
) -> tuple[Corner, ...]:
    """Points of a free edge around which metal fills more than a straight angle."""
    stars: dict[complex, list[tuple[float, bool, bool]]] = {}
    many = planar.Curves.of(pieces)
    ways = (np.angle(way).tolist() for way in (many.direction(0), -many.direction(1)))
    for piece, out, back, (left, right) in zip(pieces, *ways, borders, strict=True):
        stars.setdefault(piece.start, []).append((out, bool(left), bool(right)))
        stars.setdefault(piece.end, []).append((back, bool(right), bool(left)))
    corners = []
    for z, star in stars.items():
        star.sort()
        open_ = sum(
            (after[0] - before[0]) % math.tau
            for before, after in zip(star, [*star[1:], star[0]], strict=True)
            if not before[1]
        )
        if 0 < open_ < math.tau - REFLEX:
            corners.append(Corner(z.real, z.imag, math.degrees(math.tau - open_)))
    return tuple(corners)

"""A straight crack in a section: its path through the metal, and a mesh opened along it.

The path is drawn into the outline once, as a line that elements follow, with a node wherever a
tip will stand. :func:`opened` then parts the nodes up to a tip, so one mesh serves every length.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.faces import Face, Layers, Outline
from geometry.parted import part_off
from geometry.planar import SNAP, Curve, Half
from geometry.refusals import SectionError
from geometry.section_mesh import TRIANGLE_SIDES, SectionMesh
from geometry.sizing import SizeWishes

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

PATH = "crack path"
"""Name of the edge that a mesh has along the path of a crack."""

PER_CLEAR = 24.0
"""Elements aimed at from a tip to the nearest border on its way, if all were of the tip's size."""

GRADING_AT_TIP = 0.3
"""How fast elements may grow away from a tip. [mm/mm]."""

_ON_LINE = 1e-5  # nodes nearer than this to the path lie on it [mm]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of a crack's path, through one face of the outline."""

    start: float  # way from the mouth [mm]
    end: float  # [mm]
    face: int  # index into ``outline.faces``
    layers: Layers


@dataclass(frozen=True, slots=True)
class CrackPath:
    """The straight way that a crack can take through metal that may crack.

    Attributes
    ----------
    mouth : complex
        Where it starts, on an edge of the outline. [mm]
    direction : complex
        Unit vector into the metal.
    parts : frozenset of str
        That may crack. Where others lie over them in plan, those stay whole.
    stretches : tuple of Stretch
        In the order of the way.
    beyond : Layers
        What stands where the way ends: other metal, or metal that is not as deep as at the mouth;
        empty where that is no metal at all.
    """

    mouth: complex
    direction: complex
    parts: frozenset[str]
    stretches: tuple[Stretch, ...]
    beyond: Layers

    @property
    def length(self) -> float:
        """Way from the mouth to where this metal ends. [mm]."""
        return self.stretches[-1].end

    @property
    def borders(self) -> Floats:
        """Where the metal that cracks changes, mouth and end included. [mm]."""
        metal = [
            [layer for layer in stretch.layers if layer.part in self.parts]
            for stretch in self.stretches
        ]
        changes = [
            after.start
            for after, one, other in zip(self.stretches[1:], metal[:-1], metal[1:], strict=True)
            if one != other
        ]
        return np.array([0.0, *changes, self.length])

    @property
    def end(self) -> str:
        """What the way ends at, in words."""
        ours = [layer for layer in self.beyond if layer.part in self.parts]
        if ours:
            return f"the edge of the deep metal, beyond which only some {ours[0].part} goes on"
        return f"the {self.beyond[0].part}" if self.beyond else "a free edge"

    def at(self, way: float) -> complex:
        """Place at a way from the mouth [mm]."""
        return self.mouth + way * self.direction


def stretches_along(outline: Outline, start: complex, direction: complex) -> list[Stretch]:
    """Every stretch of metal along a straight line, in order; gaps are what is left between.

    Parameters
    ----------
    outline : Outline
    start : complex
        [mm]
    direction : complex
        Unit vector.
    """
    reach = 2 * max(abs(piece.start - start) for piece in outline.pieces)
    ray = planar.line(start, start + reach * direction, PATH)
    crossed = [
        ((end - start) / direction).real
        for piece in planar.cut([ray, *outline.pieces])
        if piece.tag == PATH
        for end in (piece.start, piece.end)
    ]
    found = []
    for low, high in pairwise(sorted(crossed)):
        if high - low < 10 * SNAP:
            continue
        face = _face_at(outline, start + (low + high) / 2 * direction)
        if face is not None:
            layers = outline.regions[outline.faces[face].region]
            found.append(Stretch(low, high, face, layers))
    return found


def trace_path(
    outline: Outline, mouth: complex, direction: complex, parts: Collection[str]
) -> CrackPath:
    """Follow a straight crack through the metal of some parts, until that ends or gets shallower.

    Where less of the depth goes on, as at the wall of a pocket, the rest is open: there the crack
    has broken through.

    Parameters
    ----------
    outline : Outline
    mouth : complex
        Where it starts: on an edge of the outline, or on a border within it. [mm]
    direction : complex
        Unit vector, which way it runs.
    parts : collection of str
        Parts that may crack. Where others lie over them in plan, those stay whole.

    Raises
    ------
    SectionError
        If none of these parts stands where the crack would start.
    """
    stretches: list[Stretch] = []
    way = depth = 0.0
    beyond: Layers = ()
    for stretch in stretches_along(outline, mouth, direction):
        if stretch.start - way > 10 * SNAP:
            break
        at = mouth + (stretch.start + stretch.end) / 2 * direction
        here = sum(
            float(layer.thickness(np.array(at.real), np.array(at.imag)))
            for layer in stretch.layers
            if layer.part in parts
        )
        depth = depth if stretches else here
        if here == 0 or here < depth - SNAP:
            beyond = stretch.layers
            break
        stretches.append(stretch)
        way = stretch.end
    if not stretches:
        raise SectionError(
            f"A crack from ({mouth.real:.2f}, {mouth.imag:.2f}) mm would start where there is no "
            f"metal of the {' or '.join(sorted(parts))} ahead of it. Choose another place."
        )
    return CrackPath(mouth, direction, frozenset(parts), tuple(stretches), beyond)


def _face_at(outline: Outline, z: complex) -> int | None:
    """Face that holds a point."""
    for number, face in enumerate(outline.faces):
        if planar.inside(outline.loops(face), np.array([z]))[0]:
            return number
    return None


def with_path(outline: Outline, path: CrackPath, tips: Sequence[float]) -> Outline:
    """The outline with a crack's path drawn in, for the mesher to follow.

    Parameters
    ----------
    outline : Outline
        The one that the path was traced in.
    path : CrackPath
    tips : sequence of float
        Ways from the mouth where there must be a node; the path ends at the last. [mm]
    """
    pieces, names = list(outline.pieces), list(outline.names)
    loops = [list(face.loops) for face in outline.faces]
    last = max(tips)
    borders = [way for way in (0.0, *(s.end for s in path.stretches)) if way <= last + SNAP]
    vertex = {way: _with_vertex(pieces, names, loops, path.at(way)) for way in borders}
    cuts = []
    ways = sorted(
        {*borders, *(way for way in tips if np.abs(np.array(borders) - way).min() > SNAP)}
    )
    for start, end in pairwise(ways):
        middle = (start + end) / 2
        face = next(s.face for s in path.stretches if s.start < middle < s.end)
        first, second = (vertex.get(way, path.at(way)) for way in (start, end))
        cuts.append((len(pieces), face))
        pieces.append(planar.line(first, second, PATH))
        names.append(PATH)
    faces = tuple(
        Face(face.region, tuple(of)) for face, of in zip(outline.faces, loops, strict=True)
    )
    return replace(outline, pieces=tuple(pieces), names=tuple(names), faces=faces, cuts=tuple(cuts))


def _with_vertex(
    pieces: list[Curve], names: list[str], loops: list[list[tuple[Half, ...]]], z: complex
) -> complex:
    """The end of a piece at a point of the outline; the piece there is cut in two if need be.

    Raises
    ------
    SectionError
        If the point lies on no piece.
    """
    ends = np.array([end for piece in pieces for end in (piece.start, piece.end)])
    nearest = int(np.argmin(np.abs(ends - z)))
    if abs(ends[nearest] - z) < 10 * SNAP:
        return complex(ends[nearest])
    feet = [min(max(piece.share(z), 0.0), 1.0) for piece in pieces]
    away = [abs(piece.point(foot) - z) for piece, foot in zip(pieces, feet, strict=True)]
    number, new = int(np.argmin(away)), len(pieces)
    if away[number] > 10 * SNAP:
        raise SectionError(
            f"A crack from ({z.real:.2f}, {z.imag:.2f}) mm would start inside the metal, "
            f"{away[number]:.3f} mm from its nearest edge. Choose a place on an edge."
        )
    first = pieces[number].part(0.0, feet[number])
    pieces.append(replace(pieces[number].part(feet[number], 1.0), start=first.end))
    pieces[number] = first
    names.append(names[number])

    def halves(half: Half) -> list[Half]:
        i, forward = half
        if i != number:
            return [half]
        return [(i, True), (new, True)] if forward else [(new, False), (i, False)]

    for of in loops:
        of[:] = [tuple(part for half in loop for part in halves(half)) for loop in of]
    return first.end


def tip_sizes(path: CrackPath, tips: Sequence[float], fineness: float = 1.0) -> SizeWishes:
    """Element sizes at the tips of a crack: as fine as the metal around them is narrow.

    Parameters
    ----------
    path : CrackPath
    tips : sequence of float
        Ways from the mouth. [mm]
    fineness : float
        Scales the sizes.
    """
    ways = np.asarray(tips, dtype=float)
    clear = np.abs(path.borders[:, None] - ways).min(axis=0)
    size = fineness * clear / PER_CLEAR
    return SizeWishes(np.array([path.at(way) for way in ways]), size, GRADING_AT_TIP)


def tied_at_sides(mesh: SectionMesh, part: str) -> SectionMesh:
    """A part that hangs together with the metal beside it, and no longer with metal below it.

    Parameters
    ----------
    mesh : SectionMesh
        All in one piece; where the part lies over other metal, they share the strain.
    part : str

    Returns
    -------
    SectionMesh
        Where they lie over one another each has triangles and nodes of its own; along the sides
        where both touch they share their nodes.
    """
    parted = part_off(mesh, part)
    joint = parted.joint
    number = np.arange(len(parted.mesh.points))
    number[joint.own] = joint.other
    kept, packed = np.unique(number[parted.mesh.triangles], return_inverse=True)
    new = np.full(len(number), -1)
    new[kept] = np.arange(len(kept))
    return replace(
        parted.mesh,
        points=parted.mesh.points[kept],
        triangles=packed.reshape(-1, 6),
        edges={name: new[number[sides]] for name, sides in parted.mesh.edges.items()},
    )


@dataclass(frozen=True, eq=False, slots=True)
class Cracked:
    """A mesh opened along a crack.

    Attributes
    ----------
    mesh : SectionMesh
        Both faces of the crack have nodes of their own, behind the tip.
    tip : int
        Its node.
    region : int
        Index into ``mesh.regions`` of the metal around the tip.
    direction : complex
        The way that the crack runs.
    faces : mapping of int to str
        Name of the edge that both faces have in each region they lie in.
    """

    mesh: SectionMesh
    tip: int
    region: int
    direction: complex
    faces: Mapping[int, str]


def opened(mesh: SectionMesh, path: CrackPath, length: float) -> Cracked:
    """Part the nodes along a crack's path, from the mouth to a tip.

    The mouth opens if it lies on a free edge. Metal that goes on beyond it, and metal of other
    parts anywhere along the way that is bonded there, holds the faces together. The mid-side
    nodes next to the tip move to a quarter of their side, so that strain can go as one over the
    root of the distance (Barsoum, *Int. J. Numer. Methods Eng.* 10 (1976) 25-37, from memory).

    Parameters
    ----------
    mesh : SectionMesh
        Of an outline that :func:`with_path` drew.
    path : CrackPath
    length : float
        One of the tips that the outline was drawn with. [mm]

    Raises
    ------
    ValueError
        If there is no node at the tip.
    """
    z = ((mesh.points @ [1, 1j]) - path.mouth) / path.direction
    may = np.array([all(layer.part in path.parts for layer in row) for row in mesh.regions])
    cracks = np.flatnonzero(may[mesh.region])
    tip, split = _tip_and_split(mesh, z, cracks, length)

    twin = np.arange(len(z))
    twin[split] = len(z) + np.arange(np.count_nonzero(split))
    left = cracks[(z[mesh.triangles[cracks, :3]].mean(axis=1).imag > 0)]
    left = left[split[mesh.triangles[left]].any(axis=1)]
    triangles = mesh.triangles.copy()
    triangles[left] = twin[triangles[left]]
    on_left = np.zeros(len(z), dtype=bool)
    on_left[mesh.triangles[left][:, 3:]] = True
    edges = {
        name: np.where(on_left[of[:, 2:]], twin[of], of)
        for name, of in mesh.edges.items()
        if name != PATH
    }
    region_of = np.full(len(z), -1)
    region_of[mesh.triangles[cracks][:, 3:]] = mesh.region[cracks][:, None]
    behind = mesh.edges[PATH][split[mesh.edges[PATH][:, 2]]]
    faces = {}
    for region in np.unique(region_of[behind[:, 2]]):
        lower = behind[region_of[behind[:, 2]] == region]
        faces[int(region)] = f"crack faces {region}"
        edges[faces[int(region)]] = np.concatenate([lower, twin[lower]])

    return Cracked(
        mesh=replace(
            mesh,
            points=_quarter_points(mesh, cracks, tip, split, twin),
            triangles=triangles,
            edges=edges,
        ),
        tip=tip,
        region=int(mesh.region[cracks[(mesh.triangles[cracks] == tip).any(axis=1)][0]]),
        direction=path.direction,
        faces=faces,
    )


def _tip_and_split(
    mesh: SectionMesh, z: NDArray[np.complexfloating], cracks: Integers, length: float
) -> tuple[int, NDArray[np.bool_]]:
    """The node at the tip of a crack, and which nodes behind it part.

    Parameters
    ----------
    mesh : SectionMesh
    z : ndarray, shape (n,)
        Nodes as seen from the mouth, the way of the crack along +x. [mm]
    cracks : ndarray of int, shape (k,)
        Triangles of metal that cracks.
    length : float
        [mm]
    """
    ours, held = np.zeros((2, len(z)), dtype=bool)
    ours[mesh.triangles[cracks]] = True
    held[np.delete(mesh.triangles, cracks, axis=0)] = True
    on = np.zeros(len(z), dtype=bool)
    on[mesh.edges[PATH]] = True
    on &= ours & (np.abs(z.imag) < _ON_LINE)
    at = np.flatnonzero(on & (np.abs(z.real - length) < _ON_LINE))
    if len(at) != 1:
        raise ValueError(f"the mesh has no node at {length:g} mm along the crack's path.")
    uses = np.bincount(mesh.triangles[cracks][:, 3:].ravel(), minlength=len(z))
    sides = mesh.triangles[cracks][:, TRIANGLE_SIDES].reshape(-1, 3)
    free = np.zeros(len(z), dtype=bool)
    free[sides[uses[sides[:, 2]] == 1]] = True
    split = on & (z.real < length - _ON_LINE) & ~held & (free | (z.real > _ON_LINE))
    return int(at[0]), split


def _quarter_points(
    mesh: SectionMesh, cracks: Integers, tip: int, split: NDArray[np.bool_], twin: Integers
) -> Floats:
    """Nodes and twins, with the mid-side nodes around a tip at a quarter of their sides."""
    points = np.concatenate([mesh.points, mesh.points[split]])
    sides = mesh.triangles[cracks][:, TRIANGLE_SIDES].reshape(-1, 3)
    around = sides[(sides[:, :2] == tip).any(axis=1)]
    around = np.concatenate([around, twin[around]])
    ends = np.where(around[:, 0] == tip, around[:, 1], around[:, 0])
    points[around[:, 2]] = points[tip] + (points[ends] - points[tip]) / 4
    return points

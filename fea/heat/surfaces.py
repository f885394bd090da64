"""Walls and faces of a section's metal by where their heat goes.

Which metal is under which film follows from where each layer begins and ends:

========================  ======================================================================
film                      acts on
========================  ======================================================================
gas                       walls of the edges "bore" and "other bores"; mean over the cycle, all
                          bores fire in turn
coolant                   every other wall that no metal stands against, undersides of the parts
                          that are named, floors of relief cuts
outside                   walls of the edge "outside"
head                      faces that begin at the deck
========================  ======================================================================

Which parts have an underside is told from outside. Other metal goes on below the section's depth
and passes no heat there. Where a layer ends exactly where another begins there is neither water
nor heat between them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.quadrature import in_triangles, on_sides
from geometry.section_mesh import TRIANGLE_SIDES, Layer, SectionMesh, common_depth

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

GAS_EDGES = ("bore", "other bores")
_FLUSH = 1e-9  # metal closer than this in depth touches [mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class Underside:
    """Lower faces of a part, wet by the coolant."""

    part: str
    path: str  # what the way of the heat there is called
    at_depth: bool  # the part ends where the section does; else metal goes on there, and it is dry


def paths_of(undersides: Iterable[Underside] = ()) -> tuple[str, ...]:
    """Ways of heat into the metal and out of it, with those of undersides.

    Examples
    --------
    >>> paths_of()
    ('gas', 'jacket', 'relief cuts', 'head', 'outside')
    """
    below = dict.fromkeys(underside.path for underside in undersides)
    return ("gas", "jacket", "relief cuts", *below, "head", "outside")


@dataclass(frozen=True, eq=False, slots=True)
class Surface:
    """Sides or faces of metal on one path of the heat.

    Attributes
    ----------
    path : str
        One of :func:`paths_of`.
    nodes : ndarray, shape (k, p)
        Three of each side, or six of each face.
    squares : ndarray, shape (p (p + 1) / 2, k)
        Integrals of products of two nodes' functions, ∫ N_a N_b dF, in the order of
        ``np.tril_indices``. [mm2]
    area : ndarray, shape (n,)
        Share of each node of the mesh. [mm2]
    """

    path: str
    nodes: Integers
    squares: Array
    area: Array


_Found = tuple[str, Integers, Array, Array]
"""Path, nodes (k, p), squares (p (p + 1) / 2, k) and areas (p, k) of sides or faces."""


def find_surfaces(
    mesh: SectionMesh,
    undersides: Sequence[Underside] = (),
    paths: Collection[str] | None = None,
) -> tuple[Surface, ...]:
    """Walls and faces of the metal by the path of their heat; the module says which is which.

    Parameters
    ----------
    mesh : SectionMesh
        Whole, or with parts cut loose; where bodies lie over one another in plan, their triangles
        are the same.
    undersides : sequence of Underside
    paths : collection of str, optional
        Those of :func:`paths_of` that are asked for; all if left out.
    """
    paths = paths_of(undersides) if paths is None else paths
    beside = _Neighbours(mesh)
    found = [*_walls(mesh, beside, paths), *_faces(mesh, beside, undersides, paths)]
    surfaces = []
    for path in paths:
        for corners in (3, 6):
            members = [of for at, *of in found if at == path and of[0].shape[1] == corners]
            if members:
                nodes, squares, areas = zip(*members, strict=True)
                where = np.concatenate(nodes)
                area = np.zeros(len(mesh.points))
                np.add.at(area, where, np.concatenate(areas, axis=1).T)
                surfaces.append(Surface(path, where, np.concatenate(squares, axis=1), area))
    return tuple(surfaces)


class _Neighbours:
    """What stands over and beside each triangle, in any body.

    Attributes
    ----------
    stacks : list of tuple of int
        Regions that lie over one another somewhere; the first is empty.
    over : ndarray, shape (m,)
        Stack at each triangle, itself included.
    across : ndarray, shape (m, 3)
        Stack beyond each of its sides; 0 where there is no metal.
    """

    def __init__(self, mesh: SectionMesh) -> None:
        triangles, region = mesh.triangles, mesh.region
        _, spot = np.unique(mesh.points @ [1, 1j], return_inverse=True)
        middle = spot[triangles[:, 3:]]
        # triangles at one place share all of their mid-side nodes; the sums of two places differ
        _, place = np.unique(
            mesh.points[triangles[:, 3:]].sum(axis=1) @ [1, 1j], return_inverse=True
        )
        order = np.lexsort((region, place))
        first = np.searchsorted(place[order], place[order])
        key = np.zeros(place.max() + 1, dtype=np.int64)
        base = len(mesh.regions) + 1
        np.add.at(key, place[order], (region[order] + 1) * base ** (np.arange(len(order)) - first))
        keys, stack = np.unique(np.append(0, key), return_inverse=True)
        self.stacks = [_digits(int(of), base) for of in keys]
        stack = stack[1:]
        low, high = np.full(len(spot), len(place)), np.full(len(spot), -1)
        np.minimum.at(low, middle, place[:, None])
        np.maximum.at(high, middle, place[:, None])
        beyond = low[middle] + high[middle] - place[:, None]
        self.over = stack[place]
        self.across = np.where(low[middle] == high[middle], 0, stack[beyond])


def _digits(number: int, base: int) -> tuple[int, ...]:
    """Regions of a key: its digits less one, lowest first."""
    regions = []
    while number:
        number, digit = divmod(number, base)
        regions.append(digit - 1)
    return tuple(regions)


def _walls(mesh: SectionMesh, beside: _Neighbours, paths: Collection[str]) -> Iterator[_Found]:
    """Walls that no metal stands against."""
    gas, outside, cut = (_on(mesh, *names) for names in (GAS_EDGES, ("outside",), ("relief cut",)))
    count = len(beside.stacks)
    pairs = mesh.region[:, None] * count + beside.across
    for pair in np.unique(pairs):
        index, across = divmod(int(pair), count)
        if index in beside.stacks[across]:
            continue
        others = [layer for other in beside.stacks[across] for layer in mesh.regions[other]]
        triangle, side = np.nonzero(pairs == pair)
        sides = mesh.triangles[triangle[:, None], TRIANGLE_SIDES[side]]
        middle = sides[:, 2]
        wet = ~(gas | outside)[middle]
        pocket = cut[middle] | any(layer.top > 0 for layer in others)
        for path, chosen in (
            ("gas", gas[middle]),
            ("outside", outside[middle]),
            ("relief cuts", wet & pocket),
            ("jacket", wet & ~pocket),
        ):
            if path not in paths or not chosen.any():
                continue
            places = on_sides(mesh.points, sides[chosen])
            depth = np.zeros_like(places.x)
            for layer in mesh.regions[index]:
                depth += _free_depth(layer, others, places.x, places.y)
            if depth.any():
                yield path, sides[chosen], places.squares(depth), places.shares(depth)


def _on(mesh: SectionMesh, *names: str) -> NDArray[np.bool_]:
    """Whether each node is the middle of a side of these edges."""
    found = np.zeros(len(mesh.points), dtype=bool)
    for name in names:
        found[mesh.edges.get(name, np.zeros((0, 3), dtype=np.int64))[:, 2]] = True
    return found


def _free_depth(layer: Layer, others: Sequence[Layer], x: Array, y: Array) -> Array:
    """Depth of a layer's wall at points beyond which there is none of the others. [mm]."""
    free = layer.thickness(x, y)
    for other in others:
        free = free - common_depth(layer, other, x, y)
    return np.where(free > _FLUSH, free, 0.0)


def _faces(
    mesh: SectionMesh,
    beside: _Neighbours,
    undersides: Sequence[Underside],
    paths: Collection[str],
) -> Iterator[_Found]:
    """Faces of layers, seen from above or below."""
    full = _section_depth(mesh)
    count = len(beside.stacks)
    pairs = mesh.region * count + beside.over
    for pair in np.unique(pairs):
        index, over = divmod(int(pair), count)
        stack = [layer for other in beside.stacks[over] for layer in mesh.regions[other]]
        faces = [
            (path, layer, under)
            for layer in mesh.regions[index]
            for path, under in (
                ("relief cuts" if layer.top > 0 else "head", None),
                *((under.path, under) for under in undersides if under.part == layer.part),
            )
            if path in paths
        ]
        if not faces:
            continue
        nodes = mesh.triangles[pairs == pair]
        places = in_triangles(mesh.points, nodes, order=4)
        for path, layer, under in faces:
            bare = _bare_face(layer, stack, under, full, places.x, places.y).astype(float)
            if bare.any():
                yield path, nodes, places.squares(bare), places.shares(bare)


def _bare_face(
    layer: Layer, stack: Sequence[Layer], under: Underside | None, full: float, x: Array, y: Array
) -> NDArray[np.bool_]:
    """Whether points of a layer's upper face, or its underside, are clear of other metal there."""
    bottom = layer.top + layer.thickness(x, y)
    if under is None:
        bottoms = [other.top + other.thickness(x, y) for other in stack]
        return ~np.any([np.abs(at - layer.top) < _FLUSH for at in bottoms], axis=0)
    clear = ~np.any([np.abs(other.top - bottom) < _FLUSH for other in stack], axis=0)
    return clear & (under.at_depth | (bottom < full - _FLUSH))


def _section_depth(mesh: SectionMesh) -> float:
    """Depth of the deepest metal. [mm]."""
    depths = [0.0]
    for index, layers in enumerate(mesh.regions):
        x, y = mesh.points[mesh.triangles[mesh.region == index]].reshape(-1, 2).T
        depths += [layer.top + layer.thickness(x, y).max(initial=0.0) for layer in layers]
    return float(max(depths))

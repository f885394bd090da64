"""How fine the mesh must be where: wall thickness, curvature, and smooth grading between.

Of a single solve: every wall gets 3.4 elements through its thickness, every arc 32 a turn, sizes
grow by 0.4 mm per mm; past the firing bore and its neighbours' near walls everything may be
coarser.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import find_objects, label
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from geometry.planar import Curve, Curves, Half
from geometry.runs import runs

FACING = 0.7
"""Cosine between a wall's normal and the way straight across it. Nearer 1 sees fewer walls."""


@dataclass(frozen=True)
class EdgeSamples:
    """Points along the borders of faces, each seen from one face."""

    z: NDArray[np.complex128]  # (n,) [mm]
    inward: NDArray[np.complex128]  # (n,) unit normal into the face
    face: NDArray[np.int64]  # (n,)
    piece: NDArray[np.int64]  # (n,)
    from_start: NDArray[np.float64]  # (n,) length along the piece from its start [mm]


def sample_edges(
    pieces: Sequence[Curve], faces: Sequence[Sequence[Half]], spacing: float
) -> EdgeSamples:
    """Points about ``spacing`` apart [mm] along every half that borders a face."""
    face = np.repeat(np.arange(len(faces)), [len(halves) for halves in faces])
    piece, forward = np.array([half for halves in faces for half in halves]).T
    many = Curves.of(pieces)[piece]
    counts = np.maximum(3, np.ceil(many.length / spacing).astype(int))
    of, nth = runs(0, counts)
    at = (nth + 0.5) / counts[of]
    sampled = many[of]
    inward = 1j * sampled.direction(at) * np.where(forward[of] == 1, 1, -1)
    return EdgeSamples(sampled.points(at), inward, face[of], piece[of], at * many.length[of])


def _along(
    pieces: Sequence[Curve], borders: NDArray[np.int64], some: NDArray[np.int64], limit: float
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """Shortest ways along border pieces from the ends of some pieces to all ends.

    Returns
    -------
    way : ndarray, shape (k, ends)
    row : ndarray of int, shape (ends,)
        Row of each end in ``way``.
    ends : ndarray of int, shape (n, 2)
        End numbers of each piece.
    """
    number: dict[complex, int] = {}
    ends = np.array(
        [
            (number.setdefault(c.start, len(number)), number.setdefault(c.end, len(number)))
            for c in pieces
        ]
    )
    lengths = Curves.of(pieces).length[borders]
    rows, columns = ends[borders].T
    graph = coo_array((lengths, (rows, columns)), shape=(len(number), len(number)))
    first = np.unique(ends[some])
    row = np.zeros(len(number), dtype=np.int64)
    row[first] = np.arange(len(first))
    return dijkstra(graph.tocsr(), directed=False, indices=first, limit=limit), row, ends


def walls(
    pieces: Sequence[Curve], samples: EdgeSamples, reach: float, wedge: float
) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """Thickness of the wall at each sample and the sample across it.

    Parameters
    ----------
    pieces : sequence of Curve
    samples : EdgeSamples
    reach : float
        Walls thicker than this are not looked for. [mm]
    wedge : float
        Two samples belong to one wedge, not to a wall, where the way along the border between
        them is shorter than this many times the distance across.

    Returns
    -------
    thickness : ndarray, shape (n,)
        Infinite where there is no opposite side within reach. [mm]
    across : ndarray of int, shape (n,)
        -1 where there is none.
    """
    z, inward, piece = samples.z, samples.inward, samples.piece
    apart_faces = 2 * reach * samples.face  # a third coordinate: no pair across faces
    tree = cKDTree(
        np.column_stack([z.real, z.imag, apart_faces]), balanced_tree=False, compact_nodes=False
    )
    i, j = tree.query_pairs(reach, output_type="ndarray").T
    for sign, side in ((1, 0), (-1, 1)):
        gap = z[j] - z[i]
        off = (sign * gap * inward[(i, j)[side]].conj()).real
        facing = off > FACING * np.abs(gap)
        i, j = i[facing], j[facing]
    apart = np.abs(z[j] - z[i])
    between, row, ends = _along(pieces, np.unique(piece), piece[i], limit=4 * wedge * reach)
    way = np.full(len(i), np.inf)
    same = piece[i] == piece[j]
    way[same] = np.abs(samples.from_start[i] - samples.from_start[j])[same]
    lengths = Curves.of(pieces).length[piece]
    to_ends = samples.from_start, lengths - samples.from_start
    for side_i, side_j in np.ndindex(2, 2):
        link = between[row[ends[piece[i], side_i]], ends[piece[j], side_j]]
        way = np.minimum(way, to_ends[side_i][i] + link + to_ends[side_j][j])
    wall = way > wedge * apart
    i, j, apart = i[wall], j[wall], apart[wall]
    thickness = np.full(len(z), np.inf)
    across = np.full(len(z), -1)
    order = np.argsort(-apart, kind="stable")
    for a, b in ((i, j), (j, i)):
        np.minimum.at(thickness, a, apart)
        across[a[order]] = np.where(apart[order] == thickness[a[order]], b[order], across[a[order]])
    return thickness, across


@dataclass(frozen=True)
class SizeGrid:
    """Element sizes on a square grid, to be interpolated between its points."""

    origin: complex  # [mm]
    step: float  # [mm]
    size: NDArray[np.float64]  # (nx, ny) [mm]


@dataclass(frozen=True)
class SizeWishes:
    """Element sizes wished for at places, such as a solution asks for."""

    z: NDArray[np.complex128]  # (n,) [mm]
    size: NDArray[np.float64]  # (n,) [mm]
    grading: float  # how fast elements may grow away from there [mm/mm]


def spread(
    z: NDArray[np.complex128],
    size: NDArray[np.float64],
    grading: float,
    largest: NDArray[np.float64] | float,
    origin: complex,
    step: float,
    shape: tuple[int, int],
) -> NDArray[np.float64]:
    """Size at every grid point: the least of each wish plus ``grading`` times its distance.

    Parameters
    ----------
    z, size : ndarray, shape (n,)
        Places and the element sizes wished for there. [mm]
    grading : float
        Size per distance; 0 makes the least wish the largest size anywhere. [mm/mm]
    largest : float or ndarray of the grid's shape
        Upper limit. [mm]
    origin, step, shape
        The grid. [mm]

    Returns
    -------
    ndarray, shape ``shape``
        Sizes are taken in steps of 12 %, the lower one. Distances are those of steps along and
        across the grid, up to 8 % more than straight ones. [mm]
    """
    if grading == 0:
        return np.minimum(np.full(shape, size.min()), largest)
    column = np.clip(np.rint((z.real - origin.real) / step).astype(int), 0, shape[0] - 1)
    row = np.clip(np.rint((z.imag - origin.imag) / step).astype(int), 0, shape[1] - 1)
    wished = 1.12 ** np.floor(np.log(size) / np.log(1.12))
    near, diagonal = grading * step, grading * step * math.sqrt(2)
    if len(z) == 1:
        along, across = (
            np.abs(np.arange(shape[0]) - column)[:, None],
            np.abs(np.arange(shape[1]) - row),
        )
        both = np.minimum(along, across)
        return np.minimum(wished + near * (along + across - 2 * both) + diagonal * both, largest)
    result = np.full(shape, np.inf)
    np.minimum.at(result, (column, row), wished)
    for lines in (result, result[::-1]):  # swept across, there and back
        for before, line in pairwise(lines):
            np.minimum(line, before + near, out=line)
    result = np.ascontiguousarray(result.T)
    for lines in (result, result[::-1]):  # up and down
        for before, line in pairwise(lines):
            further = before + diagonal
            np.minimum(line, before + near, out=line)
            np.minimum(line[1:], further[:-1], out=line[1:])
            np.minimum(line[:-1], further[1:], out=line[:-1])
    result = result.T
    return np.minimum(result, largest)


TILE = 4
"""Grid steps along the side of the tiles that patches are made of."""


def patches(wishes: SizeWishes, grid: SizeGrid) -> list[SizeGrid]:
    """Finer grids where wishes are too small for the steps of a grid to follow.

    Parameters
    ----------
    wishes : SizeWishes
    grid : SizeGrid
        Made with the same wishes.

    Returns
    -------
    list of SizeGrid
        One for each group of small wishes, a tile wider than the group on every side. The least
        of the sizes of all grids over a place counts.
    """
    small = wishes.size < 1.5 * grid.step
    z, size = wishes.z[small], wishes.size[small]
    if not z.size:
        return []
    tile = TILE * grid.step
    offset = (z - grid.origin) / tile + (1 + 1j)
    place = np.stack([offset.real, offset.imag]).astype(int)
    taken = np.zeros(place.max(axis=1) + 2, dtype=bool)
    taken[tuple(place)] = True
    groups, _ = label(taken, structure=np.ones((3, 3)))
    group_of = groups[tuple(place)]
    found = []
    for number, box in enumerate(find_objects(groups), 1):
        here = group_of == number
        low = grid.origin + tile * complex(box[0].start - 2, box[1].start - 2)
        step = float(np.clip(0.5 * size[here].min(), grid.step / 32, grid.step / 4))
        nx, ny = (math.ceil((side.stop - side.start + 2) * tile / step) + 1 for side in box)
        finer = spread(z[here], size[here], wishes.grading, np.inf, low, step, (nx, ny))
        found.append(SizeGrid(low, step, finer))
    return found

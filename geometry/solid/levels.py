"""Levels: surfaces over the whole plan, between which every column has its slabs.

All columns have the same number of levels, so that their prisms meet. A level lies at the depth of
a surface where a column has it, and runs on smoothly elsewhere. Depths that differ by design get
levels of their own; the underside of an insert gets one that follows its zones, and more where that
passes the depth of a tie beside it on both sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from geometry.clock import clock_of, format_clock
from geometry.refusals import SectionError
from geometry.section_mesh import SectionMesh
from geometry.solid.columns import SAME, Column, Columns, Surface

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

STEP = 0.5
"""Height of a step where an insert's underside passes a depth that has a level of its own. [mm]."""

APART = 1.0
"""Levels are kept this far apart where nothing holds them nearer. [mm]."""

FADES = 12.0
"""Length over which a level runs out to its usual depth, away from where it is held. [mm]."""

SHARES_INSIDE = 1e-6
"""Share of the way to a triangle's middle at which its nodes are looked at: zones end in lines."""


@dataclass(frozen=True, eq=False, slots=True)
class Levels:
    """Depths of levels and the levels of every slab.

    Attributes
    ----------
    depth : ndarray, shape (levels, n)
        At the nodes of the plan, increasing. [mm]
    usual : ndarray, shape (levels,)
        Depth that the level has where nothing bends it. [mm]
    slabs : list of tuple of str and two ndarrays, shapes (k,)
        Part, and triangles (k,), top level (k,) and bottom level (k,).
    """

    depth: Floats
    usual: Floats
    slabs: list[tuple[str, Integers, Integers, Integers]]


def levels_of(columns: Columns, mesh: SectionMesh) -> Levels:
    """Levels for the columns of a plan on its mesh.

    Parameters
    ----------
    columns : Columns
    mesh : SectionMesh
        Of their outline.

    Raises
    ------
    SectionError
        If two surfaces that meet can't be told apart.
    """
    z: NDArray[np.complex128] = mesh.points @ np.array([1, 1j])
    constants = _constants(columns.columns)
    drapes = _drapes(columns, mesh, z, constants)
    keys = np.array(sorted({*(RANKS * 2 * j for j in range(len(constants))), *drapes.keys}))
    held, usual = _held(columns, mesh, z, constants, drapes, keys)
    depth = _spread(mesh, held, usual)
    slabs = []
    for number, column in enumerate(columns.columns):
        triangles = np.flatnonzero(mesh.region == number)
        for slab in column:
            key = [np.full(len(triangles), _key(constants, end)) for end in (slab.top, slab.bottom)]
            if drapes.keys and slab.part == "insert":
                key[1] = drapes.key[triangles]
            top, bottom = (np.searchsorted(keys, some) for some in key)
            slabs.append((slab.part, triangles, top, bottom))
    return Levels(depth, usual, slabs)


RANKS = 1000
"""Keys of levels, in their order: 2 j RANKS for constant j, (2 j - 1) RANKS and a rank for draped
undersides between the one before and constant j."""


def _key(constants: Floats, surface: Surface) -> int:
    return RANKS * 2 * int(np.argmin(np.abs(constants - surface.depth)))


def _constants(regions: Sequence[Column]) -> Floats:
    """Usual depths of all surfaces but draped undersides, those that are one given once."""
    draped = any(slab.bottom.kind == "insert" for column in regions for slab in column)
    found = sorted(
        {surface.depth for column in regions for surface in _held_surfaces(column, draped)}
    )
    kept: list[float] = []
    for depth in found:
        if not kept or depth - kept[-1] >= SAME:
            kept.append(depth)
    return np.array(kept)


@dataclass(frozen=True, eq=False, slots=True)
class _Drapes:
    """Undersides of an insert with zones.

    Attributes
    ----------
    height : ndarray, shape (m, 6)
        Depth at the nodes of each triangle, NaN where it has no insert. [mm]
    key : ndarray, shape (m,)
        Of the level; -1 without an insert.
    """

    height: Floats
    key: Integers

    @property
    def keys(self) -> set[int]:
        """Those of all levels that an underside uses."""
        return set(self.key[self.key >= 0].tolist())


def _drapes(
    columns: Columns, mesh: SectionMesh, z: NDArray[np.complex128], constants: Floats
) -> _Drapes:
    regions = columns.columns
    m = len(mesh.triangles)
    if not any(slab.bottom.kind == "insert" for column in regions for slab in column):
        return _Drapes(np.full((m, 6), np.nan), np.full(m, -1))
    height, seat = np.full((m, 6), np.nan), np.full(m, np.inf)
    for number, column in enumerate(regions):
        if not column or column[0].part != "insert":
            continue
        here = np.flatnonzero(mesh.region == number)
        at = z[mesh.triangles[here]]
        at = at + SHARES_INSIDE * (at[:, :3].mean(axis=1, keepdims=True) - at)
        flat = columns.depth(column[0].bottom, at.ravel())
        height[here] = flat.reshape(-1, 6)
        if len(column) > 1 and column[1].top.depth > 0:
            seat[here] = column[1].top.depth
    stands = np.isfinite(height[:, 0])
    place = np.full(m, -1)
    seated = stands & (height.mean(axis=1) > seat - STEP)
    place[seated] = RANKS * 2 * np.abs(constants - seat[seated, None]).argmin(axis=1)
    height[seated] = seat[seated, None]
    height = np.where(seated[:, None], height, np.minimum(height, seat[:, None] - STEP))

    free = np.flatnonzero(stands & ~seated)
    piece = np.full(m, -1)
    piece[free] = _pieces(mesh.triangles[free], height[free])
    between, steps = _between(columns, mesh, z, constants, piece, height)
    place[free], height[free] = _placed(mesh, free, piece, height, constants, between, steps)
    return _Drapes(height, place)


def _pieces(triangles: Integers, height: Floats) -> Integers:
    """Number of the stretch of underside of each triangle: of one run, without a step."""
    sides = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])
    middle = triangles[:, sides[:, 2]].ravel()
    ends = triangles[:, sides[:, :2]].reshape(-1, 2)
    owner = np.repeat(np.arange(len(triangles)), 3)
    at_ends = height[:, sides[:, :2]].reshape(-1, 2)
    turned = ends[:, 0] > ends[:, 1]
    at_ends[turned] = at_ends[turned][:, ::-1]
    order = np.argsort(middle, kind="stable")
    first, second = order[:-1], order[1:]
    both = middle[first] == middle[second]
    first, second = first[both], second[both]
    smooth = (np.abs(at_ends[first] - at_ends[second]) < SAME).all(axis=1)
    links = sparse.coo_array(
        (np.ones(smooth.sum()), (owner[first[smooth]], owner[second[smooth]])),
        shape=(len(triangles), len(triangles)),
    )
    return connected_components(links, directed=False)[1].astype(np.int64)


def _between(
    columns: Columns,
    mesh: SectionMesh,
    z: NDArray[np.complex128],
    constants: Floats,
    piece: Integers,
    height: Floats,
) -> tuple[Integers, NDArray[np.bool_]]:
    """Of each piece the last constant above it, the first below it, and one at its own depth.

    Shape (pieces, 3); a constant counts where both have a node, -1 is none. And whether a piece
    steps down from another, (pieces, pieces).
    """
    count = int(piece.max()) + 1
    n = len(constants)
    found = np.stack(
        [np.full(count, 0), np.full(count, n - 1), np.full(count, -1)], axis=1
    )  # fmt: skip
    deepest, lowest = np.full((count, len(z)), -np.inf), np.full((count, len(z)), np.inf)
    here = piece >= 0
    who = np.repeat(piece[here], 6)
    np.maximum.at(deepest, (who, mesh.triangles[here].ravel()), height[here].ravel())
    np.minimum.at(lowest, (who, mesh.triangles[here].ravel()), height[here].ravel())
    for number, column in enumerate(columns.columns):
        nodes = np.unique(mesh.triangles[mesh.region == number])
        for surface in _held_surfaces(column):
            j = int(np.argmin(np.abs(constants - surface.depth)))
            for k in range(count):
                meets = nodes[np.isfinite(lowest[k, nodes])]
                if not meets.size or j in (0, n - 1):
                    continue
                if (deepest[k, meets] > constants[j] + SAME).any():
                    found[k, 0] = max(found[k, 0], j)
                if (lowest[k, meets] < constants[j] - SAME).any():
                    found[k, 1] = min(found[k, 1], j)
                if (np.abs(deepest[k, meets] - constants[j]) <= SAME).any():
                    found[k, 2] = j
    deeper = (lowest[:, None] > deepest[None] + SAME) & np.isfinite(lowest[:, None])
    deeper &= np.isfinite(deepest[None])
    steps: NDArray[np.bool_] = deeper.any(axis=2)
    for placed in np.flatnonzero(found[:, 2] >= 0):
        on = found[placed, 2]
        found[steps[:, placed], 0] = np.maximum(found[steps[:, placed], 0], on)
        found[steps[placed], 1] = np.minimum(found[steps[placed], 1], on)
    return found, steps


def _held_surfaces(column: Column, draped: bool = True) -> list[Surface]:
    """Surfaces of a column but the underside of its insert, where that is draped."""
    ends = [
        (slab.top,) if draped and slab.part == "insert" else (slab.top, slab.bottom)
        for slab in column
    ]
    return [surface for both in ends for surface in both]


def _placed(
    mesh: SectionMesh,
    free: Integers,
    piece: Integers,
    height: Floats,
    constants: Floats,
    between: Integers,
    steps: NDArray[np.bool_],
) -> tuple[Integers, Floats]:
    """Key of the level of each free triangle's underside, and its depth there."""
    own, deep = piece[free], height[free].copy()
    mean = deep.mean(axis=1)
    place = np.full(len(free), -1)
    above, below, on = between.T
    fits = np.where(on >= 0, (above < on) & (on < below), above < below)
    wanted = [k for k in range(len(between)) if fits[k] and on[k] < 0]
    gap_of: dict[int, int] = {}
    while wanted:
        gaps = range(1, len(constants))
        most = max(gaps, key=lambda p: sum(bool(above[k] < p <= below[k]) for k in wanted))
        gap_of |= {k: most for k in wanted if above[k] < most <= below[k]}
        wanted = [k for k in wanted if k not in gap_of]
    for k, q in np.argwhere(steps).tolist() * 2:  # the deeper one comes no sooner
        if k in gap_of and q in gap_of and gap_of[k] < gap_of[q]:
            gap_of[k] = min(gap_of[q], int(below[k]))
            gap_of[q] = min(gap_of[q], gap_of[k])
    for k in range(len(between)):
        here = own == k
        if not fits[k]:
            gap = np.clip(np.searchsorted(constants, mean[here]), above.min() + 1, None)
            place[here] = RANKS * (2 * gap - 1)
            low, high = constants[gap - 1, None], constants[gap, None]
            deep[here] = np.clip(deep[here], low + STEP, high - STEP)
        elif on[k] >= 0:
            place[here] = RANKS * 2 * on[k]
        else:
            place[here] = RANKS * (2 * gap_of[k] - 1)
    return _ranked(mesh.triangles[free], place, deep), deep


def _ranked(triangles: Integers, place: Integers, deep: Floats) -> Integers:
    """Keys raised by a rank where stretches of one gap meet in a step: the deeper comes after."""
    smooth = _pieces(triangles, deep)
    rank = np.zeros(int(smooth.max()) + 1, dtype=np.int64)
    order = np.argsort(triangles, axis=None, kind="stable")
    node, owner = triangles.ravel()[order], order // 6
    at = deep.ravel()[order]
    for _ in range(len(rank)):
        changed = False
        for shift in range(1, 12):
            same = (node[shift:] == node[:-shift]) & (place[owner[shift:]] == place[owner[:-shift]])
            a, b = np.flatnonzero(same), np.flatnonzero(same) + shift
            for one, other in ((a, b), (b, a)):
                deeper = at[one] > at[other] + SAME
                who, least = smooth[owner[one[deeper]]], rank[smooth[owner[other[deeper]]]] + 1
                raised = rank.copy()
                np.maximum.at(raised, who, least)
                changed |= bool((raised != rank).any())
                rank = raised
        if not changed:
            break
    return place + rank[smooth]


def _held(
    columns: Columns,
    mesh: SectionMesh,
    z: NDArray[np.complex128],
    constants: Floats,
    drapes: _Drapes,
    keys: Integers,
) -> tuple[Floats, Floats]:
    """Depths at which levels are held (levels, n), NaN where not; usual depths (levels,)."""
    held = np.full((len(keys), len(z)), np.nan)
    plain = held.copy()
    usual = np.zeros(len(keys))
    usual[np.searchsorted(keys, RANKS * 2 * np.arange(len(constants)))] = constants
    held[[0, -1]] = plain[[0, -1]] = constants[[0, -1], None]
    for number, column in enumerate(columns.columns):
        nodes = np.unique(mesh.triangles[mesh.region == number])
        for surface in _held_surfaces(column, bool(drapes.keys)):
            key = _key(constants, surface)
            level, flat = int(np.searchsorted(keys, key)), constants[key // RANKS // 2]
            if level in (0, len(keys) - 1):
                continue
            depth, before = columns.depth(surface, z[nodes]), held[level, nodes]
            nearer = ~(np.abs(before - flat) <= np.abs(depth - flat))
            held[level, nodes] = np.where(nearer, depth, before)
            plain[level, nodes] = flat
    for key in drapes.keys:
        level, here = int(np.searchsorted(keys, key)), drapes.key == key
        nodes, depth = mesh.triangles[here].ravel(), drapes.height[here].ravel()
        held[level, nodes] = plain[level, nodes] = depth
        if (key // RANKS) % 2:
            usual[level] = np.median(depth)
    return _in_order(held, plain, z), usual


def _in_order(held: Floats, plain: Floats, z: NDArray[np.complex128]) -> Floats:
    """Held depths, without the fillets where these would cross another level."""
    least = np.full(held.shape[1], -np.inf)
    crossed = np.zeros(held.shape[1], dtype=bool)
    for row in held:
        there = ~np.isnan(row)
        crossed |= there & (row < least + 0.5 * SAME)
        least = np.where(there, row, least)
    held = np.where(crossed, plain, held)
    least = np.full(held.shape[1], -np.inf)
    for row in held:
        there = ~np.isnan(row)
        if (crossed := there & (row < least + 0.5 * SAME)).any():
            node = int(np.argmax(crossed))
            raise SectionError(
                f"at {format_clock(float(clock_of(z.real, z.imag)[node]))}, {abs(z[node]):.3g} mm "
                f"from the axis of the bore that fires, depths of {row[node]:.4g} mm and "
                f"{least[node]:.4g} mm meet that the solid's layers can't tell apart. Make zones, "
                "ties and cuts there the same depth, or give the zone a blend.", "insert",
            )  # fmt: skip
        least = np.where(there, row, least)
    return held


def _spread(mesh: SectionMesh, held: Floats, usual: Floats) -> Floats:
    """Depths of all levels at all nodes: as held, else smooth, and in order."""
    depth = np.repeat(usual[:, None], held.shape[1], axis=1)
    for level, row in enumerate(held):
        there = ~np.isnan(row)
        if (np.abs(row[there] - usual[level]) > SAME).any() and not there.all():
            depth[level] = usual[level] + _faded(mesh, there, row - usual[level])
        depth[level, there] = row[there]
    n = len(depth)
    is_held = ~np.isnan(held)
    above, below = np.zeros((2, *depth.shape), dtype=np.int64)
    for level in range(1, n):
        above[level] = np.where(is_held[level - 1], level - 1, above[level - 1])
    below[-1] = n - 1
    for level in range(n - 2, -1, -1):
        below[level] = np.where(is_held[level + 1], level + 1, below[level + 1])
    every = np.arange(depth.shape[1])
    for level in range(1, n - 1):
        up, down = above[level], below[level]
        room = held[down, every] - held[up, every]
        gap = np.minimum(APART, room / (down - up))
        low = np.maximum(held[up, every] + (level - up) * gap, depth[level - 1] + gap)
        high = held[down, every] - (down - level) * gap
        clipped = np.minimum(np.maximum(depth[level], low), high)
        depth[level] = np.where(is_held[level], depth[level], clipped)
    return depth


def _faded(mesh: SectionMesh, there: NDArray[np.bool_], value: Floats) -> Floats:
    """A field (n,) with given values at some nodes that fades out smoothly away from them.

    Solves u - FADES^2 div grad u = 0 on the triangles of :func:`stiffness`.
    """
    stiff, mass = stiffness(mesh)
    matrix = (FADES**2 * stiff + mass).tocsr()
    known, free = np.flatnonzero(there), np.flatnonzero(~there)
    field = np.where(there, value, 0.0)
    right = -(matrix[free][:, known] @ field[known])
    field[free] = splu(matrix[free][:, free].tocsc()).solve(right)
    return field


def stiffness(mesh: SectionMesh) -> tuple[sparse.csr_array, sparse.csr_array]:
    """Matrices of grad u . grad v and of u v, lumped, on linear triangles, four to each of a mesh.

    Parameters
    ----------
    mesh : SectionMesh
        Of n nodes.

    Returns
    -------
    stiff, mass : sparse array, shape (n, n)
    """
    parts = mesh.triangles[:, [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]]].reshape(-1, 3)
    corner = mesh.points[parts]
    opposite = np.roll(corner, -2, axis=1) - np.roll(corner, -1, axis=1)
    (ax, ay), (bx, by) = opposite[:, 0].T, opposite[:, 1].T
    area = 0.5 * np.abs(ax * by - ay * bx)
    stiff = np.einsum("mid,mjd->mij", opposite, opposite) / (4 * area[:, None, None])
    mass = np.eye(3) * (area / 3)[:, None, None]
    n = len(mesh.points)
    at = np.repeat(parts, 3, axis=1).ravel(), np.tile(parts, (1, 3)).ravel()
    return tuple(sparse.csr_array((of.ravel(), at), shape=(n, n)) for of in (stiff, mass))

"""Solids of simple shape: a sheet of quadratic triangles, drawn up through levels and bent.

A sheet is made of the unit square; where it goes in space is told by a function of its two
parameters and of the height, so that sides are as curved as their nodes are.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from geometry.section_mesh import TRIANGLE_SIDES
from geometry.solid import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Bend = Callable[[Array, Array, Array], tuple[Array, Array, Array]]
Where = Callable[[Array, Array, Array], NDArray[np.bool_]]


def graded(x: Array, cells: int, power: float) -> Array:
    """Values from 0 to 1 raised to a power at the ends of cells, even within each."""
    ends = np.linspace(0, 1, cells + 1)
    return np.interp(x, ends, ends**power)


def grid(nx: int, ny: int) -> tuple[Array, Integers]:
    """Nodes of the unit square, shape (n, 2), and its triangles, shape (m, 6), two a cell."""
    x, y = np.linspace(0, 1, 2 * nx + 1), np.linspace(0, 1, 2 * ny + 1)
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    i, j = (of.ravel() for of in np.meshgrid(range(nx), range(ny), indexing="ij"))

    def node(a: int, b: int) -> Integers:
        return (2 * i + a) * (2 * ny + 1) + 2 * j + b

    lower = [node(0, 0), node(2, 0), node(0, 2), node(1, 0), node(1, 1), node(0, 1)]
    upper = [node(2, 2), node(0, 2), node(2, 0), node(1, 2), node(1, 1), node(2, 1)]
    return points, np.concatenate([np.stack(lower, axis=1), np.stack(upper, axis=1)])


def draw_up(points: Array, triangles: Integers, levels: Sequence[float] | Array) -> SolidMesh:
    """Prisms of a sheet, shape (n, 2), between rising levels, all of the part "block".

    The faces below are "floor", those above "deck", those round about "around".
    """
    n, heights = len(points), np.asarray(levels, dtype=float)
    z = np.sort(np.concatenate([heights, (heights[1:] + heights[:-1]) / 2]))
    nodes = np.concatenate([np.column_stack([points, np.full(n, at)]) for at in z])
    layers = range(len(heights) - 1)

    def up(of_sheet: Integers) -> Integers:
        return np.concatenate(
            [np.hstack([of_sheet + (2 * layer + k) * n for k in range(3)]) for layer in layers]
        )

    prisms = up(triangles)
    sides = triangles[:, TRIANGLE_SIDES].reshape(-1, 3)
    uses = np.bincount(sides[:, 2], minlength=n)
    return SolidMesh(
        points=nodes,
        prisms=prisms,
        part=np.zeros(len(prisms), dtype=np.int64),
        parts=("block",),
        sides={"around": up(sides[uses[sides[:, 2]] == 1])},
        flats={
            "floor": triangles[:, [0, 2, 1, 5, 4, 3]],
            "deck": triangles + 2 * len(layers) * n,
        },
    )


def named(mesh: SolidMesh, names: Mapping[str, Where]) -> SolidMesh:
    """The same with faces that stand around named by where their middles are, (x, y, z)."""
    faces = mesh.sides["around"]
    middle = mesh.points[faces[:, 5]].T
    found = {name: faces[where(*middle)] for name, where in names.items()}
    return replace(mesh, sides={**mesh.sides, **found})


def bent(mesh: SolidMesh, to: Bend) -> SolidMesh:
    """The same with its nodes moved."""
    return replace(mesh, points=np.stack(to(*mesh.points.T), axis=1))


def bent_box(
    nx: int, ny: int, levels: Sequence[float] | Array, to: Bend, names: Mapping[str, Where]
) -> SolidMesh:
    """A box of cells bent; names are told by where faces are before."""
    return bent(named(draw_up(*grid(nx, ny), levels), names), to)


def quarter_disc(around: int, rings: int) -> tuple[Array, Integers]:
    """A quarter of the unit disc: a square core, and rings that are finer outwards.

    Parameters
    ----------
    around : int
        Cells along half of the arc.
    rings : int
        Cells from the core to the arc.
    """
    points, triangles = grid(around, around)
    s, t = points.T
    # the core bulges a little, so that no corner of it is flat
    core = 0.45 * points * (1 - 0.12 * np.stack([t, s], axis=1) ** 2)
    sheets, cells = [core], [triangles]
    ring, ring_cells = grid(rings, around)
    outwards, along = ring.T
    outwards = 1 - graded(1 - outwards, rings, 2)
    edge = 0.45 * np.stack([1 + 0 * along, along * (1 - 0.12)], axis=1)
    edge[:, 0] *= 1 - 0.12 * along**2
    edge[:, 1] = 0.45 * along * (1 - 0.12)
    angle = np.pi / 4 * along
    arc = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    first = edge + (arc - edge) * outwards[:, None]
    sheets += [first, first[:, ::-1]]
    cells += [ring_cells, ring_cells[:, [0, 2, 1, 5, 4, 3]]]
    offsets = np.cumsum([0, *(len(sheet) for sheet in sheets[:-1])])
    every = np.concatenate(sheets)
    _, kept, number = np.unique(np.round(every, 9), axis=0, return_index=True, return_inverse=True)
    joined = np.concatenate([of + offset for of, offset in zip(cells, offsets, strict=True)])
    return every[kept], number.reshape(-1)[joined]

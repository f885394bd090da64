"""Small solids of simple shape, each a sheet of quadratic triangles drawn up through levels."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from geometry.section_mesh import TRIANGLE_SIDES
from geometry.solid.mesh import SolidMesh


def grid(nx: int, ny: int) -> tuple[np.ndarray, np.ndarray]:
    """Nodes of the unit square, shape (n, 2), and its triangles of six nodes, two a cell."""
    x, y = np.linspace(0, 1, 2 * nx + 1), np.linspace(0, 1, 2 * ny + 1)
    points = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    i, j = (of.ravel() for of in np.meshgrid(range(nx), range(ny), indexing="ij"))

    def node(a, b):
        return (2 * i + a) * (2 * ny + 1) + 2 * j + b

    lower = [node(0, 0), node(2, 0), node(0, 2), node(1, 0), node(1, 1), node(0, 1)]
    upper = [node(2, 2), node(0, 2), node(2, 0), node(1, 2), node(1, 1), node(2, 1)]
    return points, np.concatenate([np.stack(lower, axis=1), np.stack(upper, axis=1)])


def draw_up(
    points: np.ndarray,
    triangles: np.ndarray,
    levels: Sequence[float],
    part: Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray] | None = None,
    parts: Sequence[str] = ("block",),
) -> SolidMesh:
    """Prisms of a sheet between rising levels.

    The face below is "floor", that above "deck", the outer sides "around"; other names by
    :func:`named`.
    """
    n = len(points)
    z = np.sort(np.concatenate([levels, (np.asarray(levels)[1:] + np.asarray(levels)[:-1]) / 2]))
    nodes = np.concatenate([np.column_stack([points, np.full(n, at)]) for at in z])
    layers = range(len(levels) - 1)
    prisms = np.concatenate(
        [np.hstack([triangles + (2 * layer + k) * n for k in range(3)]) for layer in layers]
    )
    sides = triangles[:, TRIANGLE_SIDES].reshape(-1, 3)
    uses = np.bincount(sides[:, 2], minlength=n)
    free = sides[uses[sides[:, 2]] == 1]
    around = np.concatenate(
        [np.hstack([free + (2 * layer + k) * n for k in range(3)]) for layer in layers]
    )
    turned = triangles[:, [0, 2, 1, 5, 4, 3]]
    middle = nodes[prisms].mean(axis=1)
    return SolidMesh(
        points=nodes,
        prisms=prisms,
        part=np.zeros(len(prisms), dtype=np.int64) if part is None else part(*middle.T),
        parts=tuple(parts),
        sides={"around": around},
        flats={"floor": turned, "deck": triangles + 2 * len(layers) * n},
    )


def named(mesh: SolidMesh, names: Mapping[str, Callable[..., np.ndarray]]) -> SolidMesh:
    """The same with its outer sides and flats named by where their middles are."""
    faces = mesh.sides["around"]
    middle = mesh.points[faces[:, 5]].T
    sides = {name: faces[where(*middle)] for name, where in names.items()}
    return replace(mesh, sides={**mesh.sides, **sides})


def moved(mesh: SolidMesh, to: Callable[[np.ndarray], np.ndarray]) -> SolidMesh:
    """The same with its nodes, shape (n, 3), elsewhere."""
    return replace(mesh, points=to(mesh.points))

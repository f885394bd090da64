"""Prism meshes of plain bodies: a grid in plan, level by level."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from geometry.solid import SolidJoint, SolidMesh, joint_of

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Place = Callable[[Array, Array], tuple[Array, Array]]

_SAME = 1e-7  # nodes nearer than this are one [mm]
_LOWER = np.array([[0, 0], [2, 0], [2, 2], [1, 0], [2, 1], [1, 1]])
_UPPER = np.array([[0, 0], [2, 2], [0, 2], [1, 1], [1, 2], [0, 1]])
# ends and middle of a cell's side with the metal on the left, by the wall of the grid it lies on
_WALLS = {
    "u0": [[0, 2], [0, 0], [0, 1]],
    "u1": [[2, 0], [2, 2], [2, 1]],
    "v0": [[0, 0], [2, 0], [1, 0]],
    "v1": [[2, 2], [0, 2], [1, 2]],
}


def polar(r: Array, angle: Array) -> tuple[Array, Array]:
    """x, y of radii and angles [rad]."""
    return r * np.cos(angle), r * np.sin(angle)


def plain(x: Array, y: Array) -> tuple[Array, Array]:
    """x, y as they are."""
    return x, y


def grid_solid(
    part: str,
    u: ArrayLike,
    v: ArrayLike,
    z: ArrayLike,
    place: Place = polar,
    names: Mapping[str, str] | None = None,
) -> SolidMesh:
    """A body over a grid, each cell two triangles.

    Parameters
    ----------
    part : str
    u, v, z : array_like
        Rising corners of the cells, and levels from below. [mm, rad]
    place : callable
        From u and v to x and y, not mirrored; what comes to lie on one place is joined.
    names : mapping of str to str, optional
        Names of the walls ``u0 u1 v0 v1`` and of the faces ``below above``; those left out have
        none.

    Returns
    -------
    SolidMesh
    """
    u, v, z = (_halved(of) for of in (u, v, z))
    plan = np.stack([of.ravel() for of in place(*np.meshgrid(u, v, indexing="ij"))], axis=1)
    number = cKDTree(plan).query_ball_point(plan, _SAME)
    _, number = np.unique([min(of) for of in number], return_inverse=True)
    first = np.unique(number, return_index=True)[1]
    plan, count = plan[first], len(first)
    number = number.reshape(len(u), len(v))
    cells = np.stack(
        np.meshgrid(np.arange(0, len(u) - 1, 2), np.arange(0, len(v) - 1, 2), indexing="ij"),
        axis=-1,
    )

    def at(corner: Integers, offsets: ArrayLike) -> Integers:
        places = corner.reshape(-1, 1, 2) + np.asarray(offsets)
        return number[places[..., 0], places[..., 1]]

    levels = count * np.arange(0, len(z) - 1, 2)

    def raised(nodes: Integers) -> Integers:
        up = levels[:, None, None] + nodes
        return np.concatenate([up, up + count, up + 2 * count], axis=2).reshape(
            -1, 3 * nodes.shape[1]
        )

    triangles = np.concatenate([at(cells, _LOWER), at(cells, _UPPER)])
    prisms = raised(triangles)
    walls = {"u0": cells[:1], "u1": cells[-1:], "v0": cells[:, :1], "v1": cells[:, -1:]}
    names = names or {}
    sides: dict[str, Integers] = {}
    for wall, corners in walls.items():
        if wall in names:
            faces = raised(at(corners, _WALLS[wall]))
            name = names[wall]
            sides[name] = np.concatenate([sides[name], faces]) if name in sides else faces
    below = triangles[:, [0, 2, 1, 5, 4, 3]]
    flats = {"below": below, "above": triangles + count * (len(z) - 1)}
    return SolidMesh(
        np.column_stack([np.tile(plan, (len(z), 1)), np.repeat(z, count)]),
        prisms,
        np.zeros(len(prisms), dtype=np.int64),
        (part,),
        sides,
        {names[face]: flats[face] for face in flats if face in names},
    )


def _halved(corners: ArrayLike) -> Array:
    """Corners with the middles between."""
    corners = np.asarray(corners, dtype=float)
    both = np.empty(2 * len(corners) - 1)
    both[::2], both[1::2] = corners, (corners[1:] + corners[:-1]) / 2
    return both


def side_by_side(*meshes: SolidMesh) -> SolidMesh:
    """Bodies in one mesh, node by node of their own; faces of one name are put together."""
    start = np.cumsum([0, *(len(mesh.points) for mesh in meshes)])[:-1]
    parts = tuple(dict.fromkeys(part for mesh in meshes for part in mesh.parts))

    def gathered(of: Callable[[SolidMesh], Mapping[str, Integers]]) -> dict[str, Integers]:
        found: dict[str, list[Integers]] = {}
        for mesh, first in zip(meshes, start, strict=True):
            for name, faces in of(mesh).items():
                found.setdefault(name, []).append(faces + first)
        return {name: np.concatenate(faces) for name, faces in found.items()}

    return SolidMesh(
        np.concatenate([mesh.points for mesh in meshes]),
        np.concatenate([mesh.prisms + first for mesh, first in zip(meshes, start, strict=True)]),
        np.concatenate(
            [np.array([parts.index(name) for name in mesh.parts])[mesh.part] for mesh in meshes]
        ),
        parts,
        gathered(lambda mesh: mesh.sides),
        gathered(lambda mesh: mesh.flats),
    )


def joined_at(
    mesh: SolidMesh, walls: Sequence[str], against: Sequence[str], faces: Sequence[str] = ()
) -> SolidJoint:
    """The joint of a body along named walls and faces across, found by where nodes lie.

    Parameters
    ----------
    mesh : SolidMesh
        Bodies side by side; the names are of one of them alone.
    walls, faces : sequence of str
    against : sequence of str
        What each of them is against, walls first.
    """
    quads = [mesh.sides[name] for name in walls]
    triangles = [mesh.flats[name] for name in faces]
    own = np.unique(np.concatenate([of.ravel() for of in (*quads, *triangles)]))
    tree = cKDTree(mesh.points)
    other = np.arange(len(mesh.points))
    for node, near in zip(own, tree.query_ball_point(mesh.points[own], _SAME), strict=True):
        (other[node],) = set(near) - {node}
    sides = [
        np.repeat(name, len(of)) for name, of in zip(against, (*quads, *triangles), strict=True)
    ]
    return joint_of(
        mesh.points,
        np.concatenate([*quads, np.zeros((0, 9), dtype=np.int64)]),
        np.concatenate([*sides[: len(walls)], np.zeros(0, dtype=str)]),
        np.concatenate([*triangles, np.zeros((0, 6), dtype=np.int64)]),
        np.concatenate([*sides[len(walls) :], np.zeros(0, dtype=str)]),
        other,
    )

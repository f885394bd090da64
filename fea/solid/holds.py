"""The unknowns that keep the bodies of a solid from moving as a whole."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

_RANK = 1e-6  # share of a unit vector that counts as a new direction


def body_holds(mesh: SolidMesh, bodies: Integers, supported: Integers) -> Integers:
    """Unknowns that take what rigid motion the supports leave to each body.

    Parameters
    ----------
    mesh : SolidMesh
    bodies : ndarray, shape (m,)
        Number of the connected body of each prism.
    supported : ndarray, shape (s,)
        Unknowns that are supported.

    Returns
    -------
    ndarray, shape (h,)
    """
    held: list[int] = []
    is_supported = np.zeros(mesh.points.size, dtype=bool)
    is_supported[supported] = True
    for body in range(int(bodies.max()) + 1):
        nodes = np.unique(mesh.prisms[bodies == body])
        points = mesh.points[nodes] - mesh.points[nodes].mean(axis=0)
        points /= np.sqrt((points**2).sum(axis=1).max())
        at_supports = is_supported.reshape(-1, 3)[nodes]
        some = at_supports.any(axis=1)
        fixed_rows = _rigid_motion(points[some])[at_supports[some]]
        values, vectors = np.linalg.eigh(fixed_rows.T @ fixed_rows)
        taken = vectors[:, values > _RANK**2 * max(1, len(fixed_rows))]
        places = _far_apart(points)
        rows = _rigid_motion(points[places]).reshape(9, 6)
        while taken.shape[1] < 6:
            rest = rows - rows @ taken @ taken.T
            best = int(np.argmax(np.linalg.norm(rest, axis=1)))
            taken = np.column_stack([taken, rest[best] / np.linalg.norm(rest[best])])
            held.append(3 * int(nodes[places[best // 3]]) + best % 3)
    return np.array(held, dtype=np.int64)


def _far_apart(points: Array) -> Integers:
    """Three of the points that lie far from each other and from one line."""
    first = int(np.argmax((points**2).sum(axis=1)))
    second = int(np.argmax(((points - points[first]) ** 2).sum(axis=1)))
    area = np.cross(points - points[first], points[second] - points[first])
    third = int(np.argmax((area**2).sum(axis=1)))
    return np.array([first, second, third])


def _rigid_motion(points: Array) -> Array:
    """Displacement of three translations and three rotations at points (k, 3), (k, 3, 6)."""
    x, y, z = points.T
    motion = np.zeros((len(points), 3, 6))
    motion[:, range(3), range(3)] = 1
    motion[:, 1, 3], motion[:, 2, 3] = -z, y
    motion[:, 2, 4], motion[:, 0, 4] = -x, z
    motion[:, 0, 5], motion[:, 1, 5] = -y, x
    return motion

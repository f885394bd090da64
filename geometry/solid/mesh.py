"""A solid in quadratic prisms, as plain arrays with names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from geometry.rounding import Rounding
from geometry.section_mesh import TRIANGLE_SIDES

PRISM_SIDES = np.concatenate([TRIANGLE_SIDES, TRIANGLE_SIDES + 6, TRIANGLE_SIDES + 12], axis=1)
"""Nodes of a prism's upright faces in the order of ``SolidMesh.sides``, shape (3, 9)."""

PRISM_FLATS = np.array([[0, 2, 1, 5, 4, 3], [12, 13, 14, 15, 16, 17]])
"""Nodes of its lower and upper face, counter-clockwise seen from outside, shape (2, 6)."""


@dataclass(frozen=True, eq=False, slots=True)
class SolidMesh:
    """Prisms with curved triangles below and above, their sides quadratic in height too.

    x and y are those of the section; z is up with the deck at 0, so that depth is -z. A prism has
    18 nodes: the six of its lower triangle (v0 v1 v2 m01 m12 m20, counter-clockwise seen from
    above), six half-way up in the same order, six of its upper triangle.

    Attributes
    ----------
    points : ndarray, shape (n, 3)
        Nodes, each used by a prism. [mm]
    prisms : ndarray, shape (m, 18)
    part : ndarray of int, shape (m,)
        Index into ``parts``.
    parts : tuple of str
    sides : mapping of str to ndarray, shape (k, 9)
        Named upright faces: along the lower edge first end, second end, middle; the three half-way
        up; the three above. Metal is on the left of the way from first end to second, seen from
        above.
    flats : mapping of str to ndarray, shape (k, 6)
        Named faces across, as triangles of six nodes, counter-clockwise seen from outside the
        metal.
    rims : ndarray, shape (r, 3)
        Ends and middle node of edges that stay re-entrant and sharp: stress has no finite value
        there.
    rounding : Rounding or None
        Of the insert as it is cut.
    plan : ndarray, shape (n, 2), optional
        Where the plan is drawn with the column of each node; columns of leaning walls lean. [mm]
    leans_to : float
        Depth down to which walls with draft lean; they stand upright with 0. [mm]
    leans_least : float
        Share of their lean that walls have at a few places, where prisms would be squeezed flat; 1
        where it is none.
    coarseness : float
        How far off what is solved on it is, over what it is on a fine one that looks as smooth. [1]
    """

    points: NDArray[np.float64]
    prisms: NDArray[np.int64]
    part: NDArray[np.int64]
    parts: tuple[str, ...]
    sides: Mapping[str, NDArray[np.int64]] = field(default_factory=dict)
    flats: Mapping[str, NDArray[np.int64]] = field(default_factory=dict)
    rims: NDArray[np.int64] = field(default_factory=lambda: np.zeros((0, 3), dtype=np.int64))
    rounding: Rounding | None = None
    plan: NDArray[np.float64] | None = None
    leans_to: float = 0.0
    leans_least: float = 1.0
    coarseness: float = 1.0

    @property
    def drawn(self) -> NDArray[np.float64]:
        """Where the plan is drawn with the column of each node, (n, 2). [mm]."""
        return self.points[:, :2] if self.plan is None else self.plan


def node_jacobians(points: NDArray[np.float64], prisms: NDArray[np.int64]) -> NDArray[np.float64]:
    """Jacobian determinants of prisms at their 18 nodes, from triangles of unit legs, height 2.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [mm]
    prisms : ndarray of int, shape (m, 18)

    Returns
    -------
    ndarray, shape (m, 18)
        [mm3]
    """
    r, s = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]]).T
    zero = np.zeros(6)
    by_r = np.array(
        [4 * r + 4 * s - 3, 4 * r - 1, zero, 4 - 8 * r - 4 * s, 4 * s, -4 * s]
    )  # (node, place)
    by_s = np.array([4 * r + 4 * s - 3, zero, 4 * s - 1, -4 * r, 4 * r, 4 - 4 * r - 8 * s])
    by_t = np.array([[-1.5, -0.5, 0.5], [2, 0, -2], [-0.5, 0.5, 1.5]])
    at = points[prisms].reshape(-1, 3, 6, 3)  # prism, line, node, component
    along = (
        np.einsum("mlni,np->mlpi", at, by_r),
        np.einsum("mlni,np->mlpi", at, by_s),
        np.einsum("mlni,lq->mqni", at, by_t),
    )
    return np.linalg.det(np.stack(along, axis=-1)).reshape(-1, 18)


def prism_volumes(mesh: SolidMesh) -> NDArray[np.float64]:
    """Volume of each prism, its sides taken as parabolas, shape (m,). [mm3]."""
    lower, upper = (mesh.points[mesh.prisms[:, start : start + 6]] for start in (0, 12))
    corner, middle = lower[:, :3, :2], lower[:, 3:, :2]
    nxt = np.roll(corner, -1, axis=1)
    area = _cross(corner, nxt).sum(axis=1) / 2
    area += 2 / 3 * _cross(middle - (corner + nxt) / 2, nxt - corner).sum(axis=1)
    high = (upper - lower)[:, :3, 2].mean(axis=1)
    return np.asarray(area * high)


def _cross(one: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0])

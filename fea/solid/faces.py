"""Named faces of a solid: where they are integrated, and the nodal forces of what acts on them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.shapes import shapes as triangle_shapes
from fea.solid.shapes import (
    LINE_POINTS,
    LINE_WEIGHTS,
    TRIANGLE_POINTS,
    TRIANGLE_WEIGHTS,
    line_shapes,
    side_shapes,
)
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Traction = Callable[[Array, Array], Array]
"""t(place, normal) -> force per area [MPa]; all of shape (3, ...), the normal out of metal."""


@dataclass(frozen=True, eq=False, slots=True)
class FacePlaces:
    """Quadrature points on faces of one kind.

    Attributes
    ----------
    nodes : ndarray, shape (k, p)
        Of each face: 9 of a side, 6 of a flat.
    place : ndarray, shape (3, q, k)
        x, y, z. [mm]
    shapes : ndarray, shape (q, k, p)
        Value of each node's function.
    normal : ndarray, shape (3, q, k)
        Unit vector out of the metal.
    area : ndarray, shape (q, k)
        Share of the area. [mm2]
    """

    nodes: Integers
    place: Array
    shapes: Array
    normal: Array
    area: Array

    def shares(self, factor: Array) -> Array:
        """Integrals of a factor, shape (..., q, k), times each node's function, (..., k, p)."""
        return np.einsum("...qk,qkp->...kp", factor * self.area, self.shapes)


def face_places(mesh: SolidMesh, name: str, reach: float | None = None) -> tuple[FacePlaces, ...]:
    """Quadrature points of all faces of a name, upright ones and those across.

    Parameters
    ----------
    mesh : SolidMesh
    name : str
        Of ``mesh.sides``, ``mesh.flats`` or both.
    reach : float, optional
        Only what lies no deeper below the deck: an upright face is cut there, a face across
        counts by its quadrature points. [mm]

    Raises
    ------
    ValueError
        If no face has the name.
    """
    if name not in mesh.sides and name not in mesh.flats:
        known = ", ".join(sorted({*mesh.sides, *mesh.flats}))
        raise ValueError(f'no face is named "{name}". Choose from {known}.')
    lowest = -np.inf if reach is None else -reach
    found = []
    if len(sides := mesh.sides.get(name, ())):
        found.append(_on_sides(mesh.points, np.asarray(sides), lowest))
    if len(flats := mesh.flats.get(name, ())):
        places = _on_flats(mesh.points, np.asarray(flats))
        places.area[places.place[2] < lowest] = 0
        found.append(places)
    return tuple(found)


def named_nodes(mesh: SolidMesh, name: str) -> Integers:
    """Nodes of all faces of a name, in ascending order.

    Raises
    ------
    ValueError
        If no face has the name.
    """
    return np.unique(np.concatenate([of.nodes.ravel() for of in face_places(mesh, name)]))


def face_work(mesh: SolidMesh, name: str, traction: Traction, reach: float | None = None) -> Array:
    """Nodal forces of L(v) = ∫ T·v dA on the faces of a name.

    Parameters
    ----------
    mesh : SolidMesh
    name : str
    traction : callable
        Force per area at a place with outward normal. [MPa]
    reach : float, optional
        Depth to which it acts. [mm]

    Returns
    -------
    ndarray, shape (n, 3)
        [N]

    Raises
    ------
    ValueError
        If no face has the name.
    """
    forces = np.zeros((len(mesh.points), 3))
    for places in face_places(mesh, name, reach):
        of_faces = places.shares(np.asarray(traction(places.place, places.normal)))
        np.add.at(forces, places.nodes, np.moveaxis(of_faces, 0, -1))
    return forces


def _on_sides(points: Array, nodes: Integers, lowest: float) -> FacePlaces:
    along = np.broadcast_to(LINE_POINTS[:, None], (len(LINE_POINTS), len(nodes)))
    start = _crossing(points[nodes, 2], lowest)  # (q, k): zeta from which on the face counts
    half = (1 - start) / 2
    up = 1 - half * (1 - LINE_POINTS[:, None, None])
    reference = np.stack(np.broadcast_arrays(along, up), axis=-1)
    weights = half * np.multiply.outer(LINE_WEIGHTS, LINE_WEIGHTS)[..., None]
    values, derivatives = side_shapes(reference.reshape(-1, len(nodes), 2))
    return _places(points, nodes, values, derivatives, weights.reshape(-1, len(nodes)))


def _crossing(z: Array, lowest: float) -> Array:
    """Zeta at which each line up a face, through a quadrature point along it, passes a height.

    Parameters
    ----------
    z : ndarray, shape (k, 9)
        Heights of the faces' nodes. [mm]
    lowest : float
        The height. [mm]

    Returns
    -------
    ndarray, shape (q, k)
        -1 where all of the line is above, 1 where none is.
    """
    across, _ = line_shapes(LINE_POINTS)
    low, middle, high = np.einsum("qa,kla->lqk", across[:, [0, 2, 1]], z.reshape(-1, 3, 3))
    slope, bend = (high - low) / 2, (high + low) / 2 - middle
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(np.maximum(slope**2 - 4 * bend * (middle - lowest), 0))
        crossing = -2 * (middle - lowest) / (slope + root)
    crossing = np.where(np.minimum(low, high) >= lowest, -1.0, np.clip(crossing, -1, 1))
    return np.where(np.maximum(low, high) <= lowest, 1.0, crossing)


def _on_flats(points: Array, nodes: Integers) -> FacePlaces:
    values, derivatives = triangle_shapes(TRIANGLE_POINTS)
    k = len(nodes)
    return _places(
        points,
        nodes,
        np.repeat(values[:, None], k, axis=1),
        np.repeat(derivatives[:, None], k, axis=1),
        np.repeat(TRIANGLE_WEIGHTS[:, None], k, axis=1),
    )


def _places(
    points: Array, nodes: Integers, values: Array, derivatives: Array, weights: Array
) -> FacePlaces:
    """Places of shape functions (q, k, p), their derivatives (q, k, 2, p), weights (q, k)."""
    corners = points[nodes]
    first, second = np.einsum("qkdp,kpi->dqki", derivatives, corners)
    normal = np.cross(first, second)
    length = np.linalg.norm(normal, axis=-1)
    return FacePlaces(
        nodes,
        np.einsum("qkp,kpi->iqk", values, corners),
        values,
        np.moveaxis(normal / length[..., None], -1, 0),
        length * weights,
    )

"""Strain in the surface of a metal, from the surface's own displacement.

What a strain gauge would read. How far a face is stretched within itself follows from the nodes
that lie in it, so that nothing has to be carried on from inside the metal to where stress is
steepest; with the traction across the face it gives the stress there. It is best known at the
points of the reduced quadrature of a face, two by two of an upright one, three of one across. About
each corner a quadratic is fitted to what is known in the faces around it and in those around them,
as far as they go on without an edge; other nodes of a face take the mean of their corners'.
Measured on one-bore blocks beside meshes of half the size: walls of cuts and roots of ties lie
within 4 %, where a quadratic through the metal overshot by 2 to 4 % and fell short by 6 to 10 %.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from skfem import MeshTri
from skfem.quadrature import get_quadrature

from fea.shapes import NODES as TRIANGLE_NODES
from fea.shapes import shapes as triangle_shapes
from fea.solid.shapes import side_shapes
from fea.solid.topology import Surface

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SMOOTH = np.cos(np.deg2rad(35.0))
"""Faces whose normals at a node differ by more have an edge there."""
UPRIGHT = 0.9
"""Steepest slope of the normal of an upright face: where its edges lean, they may be bent."""
FACING = np.cos(np.deg2rad(75.0))
"""Points of a face that has turned further from the corner's are left out."""
LOCALITY = 1.5
"""Weight exp(-LOCALITY d^2) of a point at distance d, measured by the mean square of a patch."""
DAMPING = 1e-4
"""Share of the mean square that quadratic terms pay in a fit, where a patch can't tell them."""
LEAST_DAMPING = 1e-9
"""The same of linear terms."""
_AT_ONCE = 500  # patches fitted together
_GAUSS = np.sqrt(1 / 3)


@dataclass(frozen=True, eq=False, slots=True)
class FaceKind:
    """Faces of one shape.

    Attributes
    ----------
    points : ndarray, shape (q, 2)
        Where strain is best known, in the reference face.
    nodes : ndarray, shape (p, 2)
        Its nodes.
    shapes : callable
        Values and derivatives of their functions.
    corners : tuple of int
        Those of the nodes that are corners.
    between : tuple of tuple of int, one for each node
        Corners that it lies between.
    upright : bool
    """

    points: Array
    nodes: Array
    shapes: Callable[[Array], tuple[Array, Array]]
    corners: tuple[int, ...]
    between: tuple[tuple[int, ...], ...]
    upright: bool


SIDES = FaceKind(
    points=np.array([[a, b] for b in (-_GAUSS, _GAUSS) for a in (-_GAUSS, _GAUSS)]),
    nodes=np.array([[a, b] for b in (-1.0, 0.0, 1.0) for a in (-1.0, 1.0, 0.0)]),
    shapes=side_shapes,
    corners=(0, 1, 6, 7),
    between=((0,), (1,), (0, 1), (0, 6), (1, 7), (0, 1, 6, 7), (6,), (7,), (6, 7)),
    upright=True,
)
FLATS = FaceKind(
    points=get_quadrature(MeshTri.elem, 2)[0].T,
    nodes=TRIANGLE_NODES,
    shapes=triangle_shapes,
    corners=(0, 1, 2),
    between=((0,), (1,), (2,), (0, 1), (1, 2), (2, 0)),
    upright=False,
)


@dataclass(frozen=True, eq=False, slots=True)
class Points:
    """Where faces of one kind are gauged.

    Attributes
    ----------
    nodes : ndarray, shape (f, p)
        Of each face.
    ways : ndarray, shape (f, q, 2, 3)
        Unit vectors in the face, across each other.
    slopes : ndarray, shape (f, q, 2, p)
        Derivative of each node's function along each of them. [1/mm]
    """

    nodes: Integers
    ways: Array
    slopes: Array

    def only(self, some: Integers) -> Points:
        """Those of some faces."""
        return Points(self.nodes[some], self.ways[some], self.slopes[some])

    def strain(self, displacement: Array) -> Array:
        """Strain in faces along both ways and the tensor's shear between, shape (3, f q)."""
        f, q, _, p = self.slopes.shape
        moved = displacement[self.nodes].swapaxes(1, 2)
        along = (self.ways.reshape(f, 2 * q, 3) @ moved).reshape(f, q, 2, p)
        first, second = np.einsum("fqwp,fqwp->wfq", along, self.slopes).reshape(2, -1)
        shear = np.einsum("fqwp,fqwp->fq", along, self.slopes[:, :, ::-1]).ravel() / 2
        return np.stack([first, second, shear])


class Gauges:
    """Strain in the surface at its nodes.

    Where faces meet at an edge a node counts once for each side of it.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        Nodes of a mesh. [mm]
    surface : Surface
        Of a metal.

    Attributes
    ----------
    nodes : ndarray, shape (e,)
        Into ``points``, in ascending order.
    frames : ndarray, shape (e, 3, 3)
        Two unit vectors in the surface and the normal out of the metal, row by row.
    """

    def __init__(self, points: Array, surface: Surface) -> None:
        kinds = [
            _gauged(points, faces, kind)
            for faces, kind in ((surface.sides, SIDES), (surface.flats, FLATS))
            if len(faces)
        ]
        self._points = [of for of, *_ in kinds]
        nodes = np.concatenate([of for _, of, _, _ in kinds])
        order = np.argsort(nodes, kind="stable")
        self.nodes = nodes[order]
        self.frames = np.concatenate([of for _, _, of, _ in kinds])[order]
        weights = sparse.block_diag([of for *_, of in kinds], format="csr")
        self._weights = sparse.csr_array(weights)[order]

    def only(self, some: Integers) -> Gauges:
        """Some of them, into ``nodes`` in ascending order."""
        weights = self._weights[some]
        asked, place = np.unique(weights.indices, return_inverse=True)
        kinds, points, start, count = [], np.zeros(weights.shape[1], dtype=np.int64), 0, 0
        for of in self._points:
            faces, each = of.slopes.shape[:2]
            here = asked[(asked >= start) & (asked < start + faces * each)] - start
            own = np.unique(here // each)
            kinds.append(of.only(own))
            at = (start + each * own[:, None] + np.arange(each)).ravel()
            points[at] = count + np.arange(len(at))
            start, count = start + faces * each, count + len(at)
        fewer = copy(self)
        fewer.nodes, fewer.frames, fewer._points = self.nodes[some], self.frames[some], kinds
        fewer._weights = sparse.csr_array(
            (weights.data, points[asked][place.ravel()], weights.indptr),
            shape=(len(some), count),
        )
        return fewer

    def renumbered(self, number: Integers) -> Gauges:
        """The same where each node of a mesh has another number."""
        other, nodes = copy(self), number[self.nodes]
        order = np.argsort(nodes, kind="stable")
        other.nodes, other.frames = nodes[order], self.frames[order]
        other._weights = sparse.csr_array(self._weights[order])
        other._points = [Points(number[of.nodes], of.ways, of.slopes) for of in self._points]
        return other

    def strain(self, displacement: Array) -> Array:
        """Strain along the first and second vector of each frame, and shear between, (3, e).

        Parameters
        ----------
        displacement : ndarray, shape (n, 3)
            [mm]
        """
        known = np.concatenate([of.strain(displacement) for of in self._points], axis=1)
        return np.asarray((self._weights @ known.T).T)


def _gauged(
    points: Array, faces: Integers, kind: FaceKind
) -> tuple[Points, Integers, Array, sparse.csr_array]:
    """Faces of one kind: their points, gauges' nodes and frames, and weights of the points."""
    place, normal, slopes = within(points, faces, *kind.shapes(kind.points))
    _, at_nodes, _ = within(points, faces, *kind.shapes(kind.nodes))
    sheet = _sheets(faces, at_nodes)
    count = int(sheet.max()) + 1
    nodes = np.zeros(count, dtype=np.int64)
    nodes[sheet] = faces
    facing = np.zeros((count, 3))
    np.add.at(facing, sheet, at_nodes)
    facing /= np.linalg.norm(facing, axis=1, keepdims=True)
    weights = _weights(sheet, kind, points[nodes], facing, place, normal)
    ways = _frames(normal, kind.upright)[..., :2, :]
    known = Points(faces, ways, ways @ slopes.swapaxes(-1, -2))
    return known, nodes, _frames(facing, kind.upright), weights


def _weights(
    sheet: Integers, kind: FaceKind, at: Array, facing: Array, place: Array, normal: Array
) -> sparse.csr_array:
    """Weights of points (f q) in what gauges (e) read.

    Parameters
    ----------
    sheet : ndarray of int, shape (f, p)
        Gauge of each face at each of its nodes.
    kind : FaceKind
    at, facing : ndarray, shape (e, 3)
        Places of gauges, and the normals there.
    place, normal : ndarray, shape (f, q, 3)
        Of the points.
    """
    count, (faces, q) = len(at), place.shape[:2]
    pairs = [
        sheet[:, [node, corner]] for node, of in enumerate(kind.between) for corner in of
    ]  # each gauge, and a corner's whose fit it takes
    takes = np.unique(np.concatenate(pairs), axis=0)
    share = 1 / np.bincount(takes[:, 0], minlength=count)
    takes = takes[np.argsort(takes[:, 1], kind="stable")]
    corners, start, times = np.unique(takes[:, 1], return_index=True, return_counts=True)
    ends = sheet[:, kind.corners].ravel()
    number = np.repeat(np.arange(faces), len(kind.corners))
    meet = sparse.csr_array((np.ones(len(ends)), (ends, number)), shape=(count, faces))
    around = sparse.csr_array(meet[corners] @ meet.T @ meet)

    sizes = np.diff(around.indptr)
    order = np.argsort(sizes, kind="stable")
    rows, columns, values = [], [], []
    for some in np.split(order, range(_AT_ONCE, len(order), _AT_ONCE)):
        nth = np.arange(int(sizes[some].max()))
        there = nth < sizes[some][:, None]
        begins = around.indptr[some][:, None]
        members = around.indices[np.where(there, begins + nth, begins)]
        patch = np.repeat(np.arange(len(some)), times[some])
        own = np.concatenate([np.arange(start[c], start[c] + times[c]) for c in some])
        gauge = takes[own, 0]
        found = _fit(
            at[corners[some]], facing[corners[some]], place[members], normal[members], there,
            patch, at[gauge], facing[gauge],
        ) * share[gauge][:, None]  # fmt: skip
        column = (q * members[..., None] + np.arange(q)).reshape(len(some), -1)[patch]
        kept = found != 0
        rows.append(np.broadcast_to(gauge[:, None], kept.shape)[kept])
        columns.append(column[kept])
        values.append(found[kept])
    return sparse.csr_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(count, faces * q),
    )


def _fit(
    centre: Array, facing: Array, place: Array, normal: Array, there: NDArray[np.bool_],
    number: Integers, at: Array, at_facing: Array,
) -> Array:  # fmt: skip
    """Weights of points in the value of a quadratic at places.

    Parameters
    ----------
    centre, facing : ndarray, shape (b, 3)
        Of each patch, and the normal there.
    place, normal : ndarray, shape (b, f, q, 3)
        Of the points.
    there : ndarray of bool, shape (b, f)
        Which faces a patch has.
    number : ndarray of int, shape (c,)
        Patch that each place takes.
    at, at_facing : ndarray, shape (c, 3)
        Places, and the normal there.

    Returns
    -------
    ndarray, shape (c, f q)
    """
    b = len(centre)
    off = _laid_out(centre[:, None, None], facing[:, None, None], place, normal).reshape(b, -1, 2)
    real = np.repeat(there, place.shape[2], axis=1)
    face = real & ((normal * facing[:, None, None]).sum(axis=-1) > FACING).reshape(b, -1)
    real = np.where(face.sum(axis=1)[:, None] < _quadratic(off[:1]).shape[-1], real, face)
    spread = np.einsum("bk,bki,bkj->bij", real * 1.0, off, off) / real.sum(axis=1)[:, None, None]
    spread += LEAST_DAMPING * np.trace(spread, axis1=1, axis2=2)[:, None, None] * np.eye(2)
    even = np.linalg.inv(np.linalg.cholesky(spread))
    off = off @ even.swapaxes(1, 2)
    weight = np.exp(-LOCALITY * (off**2).sum(axis=2)) * real
    known = _quadratic(off)
    weighted = known * weight[..., None]
    equations = weighted.swapaxes(1, 2) @ known
    trace = np.trace(equations, axis1=1, axis2=2)[:, None]
    equations[:, range(1, 3), range(1, 3)] += LEAST_DAMPING * trace
    equations[:, range(3, 6), range(3, 6)] += DAMPING * trace
    fits = np.linalg.solve(equations, weighted.swapaxes(1, 2))  # (b, 6, f q)
    away = _laid_out(centre[number], facing[number], at, at_facing)
    away = (even[number] @ away[..., None])[..., 0]
    return np.asarray((_quadratic(away)[:, None] @ fits[number])[:, 0])


def _laid_out(centre: Array, facing: Array, place: Array, normal: Array) -> Array:
    """Places about a centre, their surface laid out flat by arcs, shape (..., 2). [mm]."""
    off = place - centre
    turned = np.arccos(np.clip((normal * facing).sum(axis=-1), -1, 1)) / 2
    arc = np.linalg.norm(off, axis=-1) / np.sinc(turned / np.pi)
    ways = _frames(facing, False)[..., :2, :]
    flat = (ways * off[..., None, :]).sum(axis=-1)
    length = np.linalg.norm(flat, axis=-1)
    return np.asarray(flat * (arc / np.where(length > 0, length, 1.0))[..., None])


def _quadratic(off: Array) -> Array:
    """Terms of a quadratic, shape (..., 6), at places, shape (..., 2)."""
    x, y = np.moveaxis(off, -1, 0)
    return np.stack([x**0, x, y, x * x, y * y, x * y], axis=-1)


def within(
    points: Array, faces: Integers, values: Array, derivatives: Array
) -> tuple[Array, Array, Array]:
    """Places and normals, (f, q, 3), and slopes of functions within the faces, (f, q, p, 3)."""
    corners = points[faces]
    ways = np.einsum("qdp,fpi->fqdi", derivatives, corners)
    normal = np.cross(ways[:, :, 0], ways[:, :, 1])
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    dual = np.linalg.solve(np.einsum("fqdi,fqei->fqde", ways, ways), ways)
    slopes = np.einsum("qdp,fqdi->fqpi", derivatives, dual)
    return np.einsum("qp,fpi->fqi", values, corners), normal, slopes


def _frames(normal: Array, upright: bool) -> Array:
    """Two unit vectors across a normal, and the normal, shape (..., 3, 3).

    Those of an upright face are level and up it, others x and y tilted with the face: each kind
    turns evenly from one face to the next.
    """
    x, y, z = np.moveaxis(normal, -1, 0)
    steep = upright & (np.abs(z) < UPRIGHT)
    sign = np.where(z < 0, -1.0, 1.0)
    tilt = 1 / (1 + sign * z)
    run = np.where(steep, np.hypot(x, y), 1.0)
    level = np.stack([-y / run, x / run, 0 * z], axis=-1)
    tilted = np.stack([1 - x * x * tilt, -x * y * tilt, -sign * x], axis=-1)
    first = np.where(steep[..., None], level, tilted)
    return np.stack([first, np.cross(normal, first), normal], axis=-2)


def _sheets(faces: Integers, normal: Array) -> Integers:
    """Number of the sheet that each face is of at each of its nodes, shape (f, p).

    Faces at a node are of one sheet if they go on without an edge.
    """
    f, p = faces.shape
    one = np.arange(f * p)
    _, node = np.unique(faces, return_inverse=True)
    has = sparse.csr_array((np.ones(f * p), (one, node.ravel())))
    beside = sparse.coo_array(has @ has.T)
    ways = normal.reshape(-1, 3)
    smooth = (ways[beside.row] * ways[beside.col]).sum(axis=1) > SMOOTH
    joined = sparse.csr_array(
        (np.ones(smooth.sum()), (beside.row[smooth], beside.col[smooth])), shape=(f * p, f * p)
    )
    return np.asarray(connected_components(joined, directed=False)[1]).reshape(f, p)

"""Strain along the edges of a metal, from the displacement of their own nodes.

Where two faces meet at an edge that juts out, such as the side and the underside of a tie, stress
along it is all that the tractions leave open, and how far the edge itself is stretched says it. The
faces on either side know less of it: their strain has to be carried on to where it ends, and falls
short. Beside an independent model (tests/verification/test_governing_spots.py) the side edges of
undersides of ties were 20 to 22 % too low by their faces, and are 7 to 13 % by the edge on the same
mesh, 3 to 7 % on a finer one; edges of the bore at the deck 1 to 5, and 0 to 3 %.

A quadratic edge knows its strain best at the two points of the reduced quadrature. About each
corner along an edge a quadratic is fitted to those of the two pieces that meet there; the node in
the middle of a piece takes the mean of its corners'.
"""

from __future__ import annotations

from copy import copy

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fea.solid.gauges import FLATS, SIDES, SMOOTH, within
from fea.solid.shapes import line_shapes
from fea.solid.topology import Surface

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SIDE_EDGES = ((0, 2, 1), (6, 8, 7), (0, 3, 6), (1, 4, 7))
FLAT_EDGES = ((0, 3, 1), (1, 4, 2), (2, 5, 0))
"""End, middle and end of each edge of a face, among its nodes."""
_GAUSS = np.sqrt(1 / 3)
_AT_POINTS = line_shapes(np.array([-_GAUSS, _GAUSS]))


class EdgeGauges:
    """Strain along edges at their nodes, but where they end or meet others.

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
    ways : ndarray, shape (e, 3)
        Unit vectors along the edge.
    """

    def __init__(self, points: Array, surface: Surface) -> None:
        pieces = _pieces(points, surface)
        corners, pairs = _corners(points, pieces)
        known = _points_of(points, pieces)
        nodes, ways, weights = _read(points, pieces, corners, pairs)
        order = np.argsort(nodes)
        self.nodes, self.ways = nodes[order], ways[order]
        self._reads = sparse.csr_array(sparse.csr_array(weights @ known)[order])

    def only(self, some: Integers) -> EdgeGauges:
        """Some of them, into ``nodes`` in ascending order."""
        fewer = copy(self)
        fewer.nodes, fewer.ways, fewer._reads = self.nodes[some], self.ways[some], self._reads[some]
        return fewer

    def renumbered(self, number: Integers, count: int) -> EdgeGauges:
        """The same where each node has another number, of so many of a mesh."""
        other, nodes = copy(self), number[self.nodes]
        order = np.argsort(nodes)
        other.nodes, other.ways = nodes[order], self.ways[order]
        reads = self._reads[order]
        columns = 3 * number[reads.indices // 3] + reads.indices % 3
        other._reads = sparse.csr_array(
            (reads.data, columns, reads.indptr), shape=(len(nodes), 3 * count)
        )
        return other

    def strain(self, displacement: Array) -> Array:
        """Strain along each, shape (e,).

        Parameters
        ----------
        displacement : ndarray, shape (n, 3)
            [mm]
        """
        return np.asarray(self._reads @ displacement.ravel())


def _pieces(points: Array, surface: Surface) -> Integers:
    """End, middle and end of every element's edge at which two faces meet and jut out, (k, 3)."""
    edges, normals, inward = [], [], []
    for faces, kind, ends in (
        (surface.sides, SIDES, SIDE_EDGES), (surface.flats, FLATS, FLAT_EDGES)
    ):  # fmt: skip
        _, normal, _ = within(points, faces, *kind.shapes(kind.nodes))
        centre = points[faces[:, kind.corners]].mean(axis=1)
        for piece in ends:
            edges.append(faces[:, piece])
            normals.append(normal[:, piece[1]])
            inward.append(centre - points[faces[:, piece[1]]])
    edge, normal, into = (np.concatenate(of) for of in (edges, normals, inward))
    order = np.argsort(edge[:, 1], kind="stable")
    _, times = np.unique(edge[:, 1], return_counts=True)
    first = np.cumsum(times) - times
    one, other = order[first[times == 2]], order[first[times == 2] + 1]
    bent = (normal[one] * normal[other]).sum(axis=1) < SMOOTH
    out = (into[one] * normal[other]).sum(axis=1) < 0
    return edge[one[bent & out]]


def _corners(points: Array, pieces: Integers) -> tuple[Integers, Integers]:
    """Nodes at which two pieces go on smoothly, (c,), and those two, (c, 2)."""
    ends = pieces[:, [0, 2]].ravel()
    order = np.argsort(ends, kind="stable")
    corner, times = np.unique(ends, return_counts=True)
    first = np.cumsum(times) - times
    pairs = np.stack([order[first[times == 2]], order[first[times == 2] + 1]], axis=1) // 2
    corner = corner[times == 2]
    away = points[pieces[pairs, 1]] - points[corner][:, None]
    away /= np.linalg.norm(away, axis=-1, keepdims=True)
    smooth = -(away[:, 0] * away[:, 1]).sum(axis=1) > SMOOTH
    return corner[smooth], pairs[smooth]


def _points_of(points: Array, pieces: Integers) -> sparse.csr_array:
    """Strain at the two points of each piece of displacements, shape (2 k, 3 n)."""
    _, slopes = _AT_POINTS
    way = np.einsum("qp,kpi->kqi", slopes, points[pieces])
    by = slopes[None, :, :, None] * (way / (way**2).sum(axis=-1, keepdims=True))[:, :, None]
    k = len(pieces)
    rows = np.broadcast_to(np.arange(2 * k).reshape(k, 2, 1, 1), by.shape)
    columns = np.broadcast_to(3 * pieces[:, None, :, None] + np.arange(3), by.shape)
    return sparse.csr_array(
        (by.ravel(), (rows.ravel(), columns.ravel())), shape=(2 * k, points.size)
    )


def _read(
    points: Array, pieces: Integers, corners: Integers, pairs: Integers
) -> tuple[Integers, Array, sparse.csr_array]:
    """Nodes that are read (e,), ways along the edge there, and weights of the points (e, 2 k)."""
    k = len(pieces)
    values, _ = _AT_POINTS
    place = np.einsum("qp,kpi->kqi", values, points[pieces])
    at = points[corners][:, None]
    sign = np.array([-1.0, 1.0])
    off = sign[:, None] * np.linalg.norm(place[pairs] - at[:, None], axis=-1)  # (c, 2, 2)
    size = np.abs(off).max(axis=(1, 2))
    terms = (off.reshape(-1, 4) / size[:, None])[..., None] ** np.arange(3)
    fits = np.linalg.pinv(terms)  # (c, 3, 4)
    middles = sign * np.linalg.norm(points[pieces[pairs, 1]] - at, axis=-1) / size[:, None]
    columns = (2 * pairs[..., None] + np.arange(2)).reshape(-1, 4)
    at_middles = (middles[..., None] ** np.arange(3)) @ fits  # (c, 2, 4)

    times = np.bincount(pairs.ravel(), minlength=k)
    lone = np.flatnonzero(times == 0)
    share = 1 / np.maximum(times, 1)
    rows = np.concatenate(
        [np.repeat(np.arange(len(corners)), 4), len(corners) + np.repeat(pairs, 4),
         len(corners) + np.repeat(lone, 2)]
    )  # fmt: skip
    weights = np.concatenate(
        [fits[:, 0].ravel(), (at_middles * share[pairs][..., None]).ravel(),
         np.full(2 * len(lone), 0.5)]
    )  # fmt: skip
    column = np.concatenate(
        [columns.ravel(), np.repeat(columns, 2, axis=0).ravel(),
         (2 * lone[:, None] + np.arange(2)).ravel()]
    )  # fmt: skip
    nodes = np.concatenate([corners, pieces[:, 1]])
    before, after = points[pieces[pairs, 1]].swapaxes(0, 1)
    ways = np.concatenate([after - before, points[pieces[:, 2]] - points[pieces[:, 0]]])
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    read = sparse.csr_array((weights, (rows, column)), shape=(len(nodes), 2 * k))
    return nodes, ways, read

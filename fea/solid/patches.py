"""Stress on the surface of a metal: a quadratic fitted to the Barlow points about each corner.

At the surface an average over prisms sees one side alone, and what is carried on linearly from
their Barlow points misses how steep stress rises there. About each corner of a prism on the
surface a quadratic is fitted to what is known in the prisms around it and in those around them
(superconvergent patch recovery, Zienkiewicz & Zhu, *Int. J. Numer. Methods Eng.* 33 (1992)
1331-1364, from memory).
Other nodes of a face take the mean of their two corners' quadratics. Of this the traction across
the surface counts; how the surface is stretched is better known by :mod:`fea.solid.gauges`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

CORNERS = [0, 1, 2, 12, 13, 14]
"""Corners of a prism among its nodes."""
LOCALITY = 3.0
"""Weight exp(-LOCALITY d^2) of a point at distance d, each axis measured by its mean square."""
LEAST_WEIGHT = 1e-3
"""Points of less weight are left out."""
DAMPING = 1e-4
"""Share of the mean square that quadratic terms pay in a fit.

Keeps it definite where a patch is one prism thick and can't tell all of them apart.
"""
LEAST_DAMPING = 1e-9
"""The same of linear terms, for patches that can't tell even these apart."""
_AT_ONCE = 100  # patches fitted together


def surface_rows(
    points: Array, prisms: Integers, places: Array, surface: Integers
) -> sparse.csr_array:
    """Values at the surface nodes of values at Barlow points.

    Parameters
    ----------
    points : ndarray, shape (k, 3)
        Nodes of a part. [mm]
    prisms : ndarray, shape (m, 18)
        Its prisms.
    places : ndarray, shape (m, 6, 3)
        Their Barlow points. [mm]
    surface : ndarray, shape (t, 6)
        Its surface in triangles of six nodes.

    Returns
    -------
    csr_array, shape (k, 6 m)
        Rows of nodes that aren't on the surface are empty.
    """
    k, m = len(points), len(prisms)
    corners = prisms[:, CORNERS]
    has = sparse.csr_array(
        (np.ones(corners.size), corners.ravel(), np.arange(0, corners.size + 1, 6)), shape=(m, k)
    )
    of_corner = sparse.csr_array(has.T)
    vertices = np.unique(surface[:, :3])
    around = sparse.csr_array(of_corner[vertices] @ has @ of_corner)
    ends = np.stack([surface[:, [0, 1, 2, 0, 1, 2]], surface[:, [0, 1, 2, 1, 2, 0]]], axis=2)
    nodes = surface[:, [0, 1, 2, 3, 4, 5]]
    pairs = np.unique(np.stack([ends, nodes[..., None] + 0 * ends], axis=-1).reshape(-1, 2), axis=0)
    share = 1 / np.maximum(np.bincount(pairs[:, 1], minlength=k), 1)
    start = np.searchsorted(pairs[:, 0], vertices, "left")
    stop = np.searchsorted(pairs[:, 0], vertices, "right")

    counts, takes = np.diff(around.indptr), stop - start
    order = np.lexsort((takes, counts))  # alike ones together, as they are filled up to the most
    rows, columns, values = [], [], []
    for some in np.split(order, range(_AT_ONCE, len(order), _AT_ONCE)):
        at, there = _filled_up(around.indptr[some], counts[some])
        members = around.indices[at]
        centre = points[vertices[some]]
        off = (places[members] - centre[:, None, None]).reshape(len(some), -1, 3)
        real = np.repeat(there, 6, axis=1)
        scale = np.sqrt((off**2 * real[..., None]).sum(axis=1) / real.sum(axis=1)[:, None])
        off /= scale[:, None]
        weight = np.exp(-LOCALITY * (off**2).sum(axis=2)) * real
        weight[weight < LEAST_WEIGHT * weight.max(axis=1)[:, None]] = 0
        known = _quadratic(off)
        weighted = known * weight[..., None]
        normal = weighted.swapaxes(1, 2) @ known
        trace = np.trace(normal, axis1=1, axis2=2)[:, None]
        normal[:, range(1, 4), range(1, 4)] += LEAST_DAMPING * trace
        normal[:, range(4, 10), range(4, 10)] += DAMPING * trace
        own, asked = _filled_up(start[some], takes[some])
        node = pairs[own, 1]
        away = _quadratic((points[node] - centre[:, None]) / scale[:, None])
        fits = np.linalg.solve(normal, away.swapaxes(1, 2)).swapaxes(1, 2)  # (b, t, 10)
        found = fits @ weighted.swapaxes(1, 2) * share[node][..., None]
        column = (6 * members[..., None] + np.arange(6)).reshape(len(some), 1, -1)
        kept = asked[..., None] & (weight > 0)[:, None]
        rows.append(np.broadcast_to(node[..., None], kept.shape)[kept])
        columns.append(np.broadcast_to(column, kept.shape)[kept])
        values.append(found[kept])
    return sparse.csr_array(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(k, 6 * m)
    )


def _filled_up(start: Integers, count: Integers) -> tuple[Integers, NDArray[np.bool_]]:
    """Places of so many from each start on, shape (b, most), and which are real, not the first."""
    nth = np.arange(int(count.max()))
    there = nth < count[:, None]
    return start[:, None] + nth * there, there


def _quadratic(off: Array) -> Array:
    """Terms of a quadratic, shape (..., 10), at places, shape (..., 3)."""
    x, y, z = np.moveaxis(off, -1, 0)
    return np.stack([x**0, x, y, z, x * x, y * y, z * z, x * y, y * z, z * x], axis=-1)

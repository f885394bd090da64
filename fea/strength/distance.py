r"""Critical distance: what a steep stress does to metal, by its mean over a length of the metal.

Where stress falls off within a fraction of a millimetre, or has no finite peak, the value at the
surface says little of what the metal bears. What counts is the stress a little way in: at the point
L/2 from the root (point method), or its mean over 2L (line method), with

.. math:: L = \frac{1}{\pi} \left(\frac{\Delta K_{th}}{\Delta\sigma_0}\right)^2

of the threshold of a long crack and the fatigue strength of plain metal, both as ranges at the same
load ratio. At a long crack both methods give the threshold again, in plain metal the strength.

The line method is used here, the point method stands beside it as a witness: both are said to be
good to about 20 %, and a mean asks less of a mesh than the stress at a point.

References
----------
.. [1] Taylor, *Int. J. Fatigue* 21 (1999) 413-420, and *The Theory of Critical Distances*, 2007
   (both from memory). The same L, and both methods, are quoted by Klusak & Kozakova, *Procedia
   Structural Integrity* 68 (2025) 660-665 (its introduction was read).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from fea.shapes import shapes
from fea.stress import LayerStress
from geometry.section_mesh import TRIANGLE_SIDES, SectionMesh, bodies_of

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

POINTS = 12
"""Gauss points along a way, in the root of the distance: closest where stress is steepest, and
exact where it grows without bound as the inverse root."""
NEAREST = 24
"""Triangles that are looked at for each point, the nearest first."""
OUTSIDE = 0.05
"""How far outside a triangle a point may lie, over its size: sides are curved, ways straight."""
TURNS = 4
"""Newton's steps to the place in a curved triangle."""


def critical_distance(threshold: ArrayLike, stress_range: ArrayLike) -> Array:
    r"""Length L of a metal.

    .. math:: L = \frac{1}{\pi} \left(\frac{\Delta K_{th}}{\Delta\sigma_0}\right)^2

    Parameters
    ----------
    threshold : array_like, shape (...)
        Range of stress intensity below which a long crack does not grow. [MPa sqrt(m)]
    stress_range : array_like, shape (...)
        That plain metal bears, at the same load ratio; fully reversed it is twice the amplitude.
        [MPa]

    Returns
    -------
    ndarray, shape (...)
        [mm]

    Raises
    ------
    ValueError
        If one is not positive.

    References
    ----------
    .. [1] As in the module.

    Examples
    --------
    >>> round(float(critical_distance(5.0, 200.0)), 6)
    0.198944
    """
    threshold, stress_range = np.asarray(threshold, float), np.asarray(stress_range, float)
    if not ((threshold > 0).all() and (stress_range > 0).all()):
        raise ValueError("a threshold and a range of stress must be positive.")
    return np.asarray(1000 / np.pi * (threshold / stress_range) ** 2)


@dataclass(frozen=True, eq=False, slots=True)
class Ways:
    """Straight ways into the metal, ready to be read in any stress of the same layers.

    Attributes
    ----------
    length : ndarray, shape (w,)
        Critical distance L of each; it is twice as long. [mm]
    whole : ndarray of bool, shape (w,)
        Whether all of it lies in its own metal.
    size : ndarray, shape (w,)
        Of the largest element that it crosses. [mm]
    line, point : csr_array, shape (w, N)
        Mean over 2L, and value at L/2, of what is known at the N nodes of all layers, one layer
        after the other. Of a way that leaves its metal, as far as it goes.
    layer, element : ndarray, shape (w, POINTS)
        Where its points are: place among the layers, and triangle of the mesh.
    weight : ndarray, shape (w, POINTS, 6)
        Of the nodes of that triangle in the mean.
    """

    length: Array
    whole: Flags
    size: Array
    line: sparse.csr_array
    point: sparse.csr_array
    layer: Integers
    element: Integers
    weight: Array

    def raw_mean(self, layers: Sequence[LayerStress]) -> Array:
        """Mean over 2L of the stress of the displacement, not smoothed, shape (3, w). [MPa].

        Parameters
        ----------
        layers : sequence of LayerStress
            In the order that the ways were made of.
        """
        mean = np.zeros((3, *self.element.shape))
        for number in np.unique(self.layer):
            here = self.layer == number
            elements, place = np.unique(self.element[here], return_inverse=True)
            raw = layers[number].raw_of(elements)[:, place.ravel()]
            mean[:, here] = np.einsum("spa,pa->sp", raw, self.weight[here])
        total: Array = mean.sum(axis=2)
        return total


def stacked(layers: Sequence[LayerStress]) -> Array:
    """Recovered stress of all layers, one after the other, shape (N, 3). [MPa]."""
    return np.concatenate([layer.stress.T for layer in layers])


def ways_into(
    mesh: SectionMesh,
    layers: Sequence[LayerStress],
    metals: Mapping[str, str],
    *,
    layer: ArrayLike,
    node: ArrayLike,
    direction: ArrayLike,
    length: ArrayLike,
) -> Ways:
    """Ways from nodes into the metal.

    A way goes on through regions and parts of the same metal and the same body, in the part that it
    begins in where that is there.

    Parameters
    ----------
    mesh : SectionMesh
    layers : sequence of LayerStress
    metals : mapping of str to str
        Name of the metal of each part.
    layer, node : array_like of int, shape (w,)
        Place among the layers, and node of the mesh, that each begins at.
    direction : array_like, shape (w, 2)
        Unit vectors, such as :func:`inward` gives.
    length : array_like, shape (w,)
        Critical distance. [mm]
    """
    layer, node = np.asarray(layer, np.int64), np.asarray(node, np.int64)
    direction, length = np.asarray(direction, float), np.asarray(length, float)
    along, share = np.polynomial.legendre.leggauss(POINTS)
    root = (along + 1) / 2
    along, share = root**2, root * share
    start = mesh.points[node]
    reach = np.append(2 * along, 0.5)  # in critical distances: the mean, then the point
    places = start[:, None] + reach[:, None] * (length[:, None] * direction)[:, None]
    offsets = np.concatenate([[0], np.cumsum([len(of.nodes) for of in layers])])
    body = bodies_of(mesh.triangles, len(mesh.points))
    body_of = np.empty(len(mesh.points), dtype=np.int64)
    body_of[mesh.triangles] = body[:, None]

    shape = (len(node), len(reach))
    owner, element = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    columns, values = np.zeros((*shape, 6), np.int64), np.zeros((*shape, 6))
    inside = np.zeros(shape, dtype=bool)
    parts = np.array([of.part for of in layers])
    kinds = np.array([metals[part] for part in parts])
    for part, of_body in {
        (parts[one], int(body_of[at])) for one, at in zip(layer, node, strict=True)
    }:
        mine = np.flatnonzero((parts[layer] == part) & (body_of[node] == of_body))
        allowed = sorted(  # its own part is asked first
            np.flatnonzero(kinds == metals[part]).tolist(), key=lambda k: parts[k] != part
        )
        triangles, holder, rows = _held(layers, allowed, body, of_body)
        found, weights, ok = _located(mesh, triangles, places[mine].reshape(-1, 2))
        found, ok = found.reshape(len(mine), -1), ok.reshape(len(mine), -1)
        owner[mine], element[mine], inside[mine] = holder[found], triangles[found], ok
        values[mine] = weights.reshape(len(mine), -1, 6)
        columns[mine] = offsets[holder[found]][..., None] + rows[found]
    total = int(offsets[-1])
    weighed = np.where(inside[:, :-1], share, 0.0)
    sums = weighed.sum(axis=1, keepdims=True)
    weighed = np.divide(weighed, sums, out=np.zeros_like(weighed), where=sums > 0)
    weight = values[:, :-1] * weighed[..., None]
    sizes = _sizes(mesh, element)
    return Ways(
        length=length,
        whole=np.asarray(inside.all(axis=1)),
        size=np.where(inside, sizes, 0.0).max(axis=1, initial=0.0),
        line=_matrix(columns[:, :-1], weight, total),
        point=_matrix(columns[:, -1:], values[:, -1:] * inside[:, -1:, None], total),
        layer=owner[:, :-1],
        element=element[:, :-1],
        weight=weight,
    )


def inward(mesh: SectionMesh) -> Array:
    """Unit vector into the metal at each node of a free edge, shape (n, 2); 0 at the others.

    Normal to the edge; at a corner the mean of both sides.

    Parameters
    ----------
    mesh : SectionMesh
    """
    sides = mesh.triangles[:, TRIANGLE_SIDES].reshape(-1, 3)
    uses = np.bincount(sides[:, 2], minlength=len(mesh.points))
    sides = sides[uses[sides[:, 2]] == 1]
    first, last, middle = (mesh.points[sides[:, k]] for k in range(3))
    found = np.zeros((len(mesh.points), 2))
    for nodes, tangent in (
        (sides[:, 0], 4 * middle - 3 * first - last),
        (sides[:, 1], 3 * last + first - 4 * middle),
        (sides[:, 2], last - first),
    ):
        normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)  # the metal is on the left
        np.add.at(found, nodes, normal / np.linalg.norm(normal, axis=1, keepdims=True))
    long = np.linalg.norm(found, axis=1, keepdims=True)
    return np.divide(found, long, out=np.zeros_like(found), where=long > 1e-9)


def _held(
    layers: Sequence[LayerStress], allowed: Sequence[int], body: Integers, of_body: int
) -> tuple[Integers, Integers, Integers]:
    """Triangles of a body that some layers have, the layer of each, and its rows there (m, 6)."""
    triangles: list[Integers] = []
    holder: list[Integers] = []
    rows: list[Integers] = []
    seen = np.zeros(len(body), dtype=bool)
    for number in allowed:
        mine = np.flatnonzero((body[layers[number].elements] == of_body)
                              & ~seen[layers[number].elements])  # fmt: skip
        elements = layers[number].elements[mine]
        seen[elements] = True
        triangles.append(elements)
        holder.append(np.full(len(elements), number))
        rows.append(layers[number].triangles[mine])
    return np.concatenate(triangles), np.concatenate(holder), np.concatenate(rows)


def _located(
    mesh: SectionMesh, triangles: Integers, places: Array
) -> tuple[Integers, Array, Flags]:
    """Which of some triangles holds each place (p,), weights of its nodes (p, 6), and if any."""
    from scipy.spatial import cKDTree

    corners = mesh.points[mesh.triangles[triangles, :3]]
    count = min(NEAREST, len(triangles))
    _, near = cKDTree(corners.mean(axis=1)).query(places, k=count)
    near = near.reshape(len(places), -1)
    origin = corners[near, 0]
    (ax, ay), (bx, by) = (
        np.moveaxis(corners[near, k] - origin, -1, 0) for k in (1, 2)
    )  # each (p, count)
    x, y = np.moveaxis(places[:, None] - origin, -1, 0)
    area = ax * by - ay * bx
    r, s = (x * by - y * bx) / area, (ax * y - ay * x) / area
    out = -np.minimum(np.minimum(r, s), 1 - r - s)
    best = np.argmin(out, axis=1)
    every = np.arange(len(places))
    found = near[every, best]
    reference = np.stack([r[every, best], s[every, best]], axis=1)
    nodes = mesh.points[mesh.triangles[triangles[found]]]  # (p, 6, 2)
    for _ in range(TURNS):
        value, slope = shapes(reference)
        off = places - np.einsum("pa,pax->px", value, nodes)
        jacobian = np.einsum("pda,pax->pxd", slope, nodes)
        step = np.linalg.solve(jacobian, off[..., None])[..., 0]
        reference = reference + np.clip(step, -0.5, 0.5)
    inside = -np.minimum(reference.min(axis=1), 1 - reference.sum(axis=1)) <= OUTSIDE
    return found, shapes(reference)[0], inside


def _sizes(mesh: SectionMesh, elements: Integers) -> Array:
    from fea.hotspots import element_size

    flat = elements.ravel()
    return element_size(mesh.points[mesh.triangles[flat, :3]]).reshape(elements.shape)


def _matrix(columns: Integers, values: Array, total: int) -> sparse.csr_array:
    rows = len(columns)
    per_row = columns.shape[1] * columns.shape[2]
    starts = np.arange(0, rows * per_row + 1, per_row)
    return sparse.csr_array((values.ravel(), columns.ravel(), starts), shape=(rows, total))

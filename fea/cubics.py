"""Smooth strain: around each vertex of a region a cubic is fitted to the nodal displacement.

No patch reaches beyond its region. The fit is linear: what a mesh makes of any displacement is a
pair of sparse matrices (:class:`Slopes`), worth making where many displacements are asked for.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from geometry.runs import runs
from geometry.section_mesh import TRIANGLE_SIDES

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Complexes = NDArray[np.complex128]  # x + iy

_TERMS, _CUBIC = 10, range(6, 10)  # terms of a cubic in the plane, and those of degree three
_PRODUCTS = ((0, "x"), (0, "y"), (1, "x"), (1, "y"), (2, "y"),
             (3, "x"), (3, "y"), (5, "x"), (5, "y"))  # each term from an earlier one  # fmt: skip
_AT_ONCE = 1000  # patches fitted together
LOCALITY = 3.0
"""Weight exp(-LOCALITY d^2 / s^2) of a node at distance d in a patch of mean square size s^2.

Measured on an eccentric ring and on a hole in a plate: even weights flatten the peak at a free
edge, narrower ones let the noise of single triangles through.
"""
DAMPING = 1e-6
"""Share of the mean square that cubic terms pay in a fit.

Keeps a fit definite where the patch is a strip one triangle wide, or a single triangle, which
can't tell all cubic terms apart; a quadratic displacement is still met exactly.
"""


def recovered_strain(
    points: Array, displacement: Array, triangles: Integers, region: Integers
) -> tuple[Array, Integers, Integers]:
    """Smooth strain at the nodes, region by region.

    Parameters
    ----------
    points, displacement : ndarray, shape (n, 2)
        [mm]
    triangles : ndarray, shape (m, 6)
    region : ndarray, shape (m,)
        Region of each triangle; a node on a border gets one value in each region.

    Returns
    -------
    strain : ndarray, shape (3, k)
        xx, yy and tensor xy at each pair of region and node, sorted by region, then node.
    node : ndarray, shape (k,)
        Node of each pair.
    local : ndarray, shape (m, 6)
        Triangles by pairs.
    """
    on = _numbered(len(points), triangles, region)
    place, u = (np.ascontiguousarray(of).view(complex)[on.node, 0] for of in (points, displacement))
    cubics = _Cubics(place, u, on)
    strain = np.empty((3, len(on.node)))
    strain[:, on.vertex] = cubics.at_centre()
    one, other = (cubics.strain(ends, on.middle) for ends in on.ends.T)
    strain[:, on.middle] = 0.5 * (one + other)
    return strain, on.node, on.local


@dataclass(frozen=True, eq=False, slots=True)
class _Numbered:
    """Pairs of region and node, sorted by region, then node."""

    node: Integers  # of each pair, shape (k,)
    local: Integers  # triangles by pairs, shape (m, 6)
    vertex: Integers  # pairs at corners, shape (v,)
    corners: Integers  # of each triangle, by place in ``vertex``, shape (m, 3)
    at_border: NDArray[np.bool_]  # whether a vertex is on its region's border, shape (v,)
    middle: Integers  # pairs amid a side
    ends: Integers  # of each of those sides, by place in ``vertex``, shape (., 2)


def _numbered(n: int, triangles: Integers, region: Integers) -> _Numbered:
    key = region[:, None] * n + triangles
    present = np.zeros((int(region.max()) + 1) * n, dtype=bool)
    present[key] = True
    pairs = np.flatnonzero(present)
    node = pairs % n
    number_of = np.empty(len(present), dtype=np.int64)
    number_of[pairs] = np.arange(len(pairs))
    local = number_of[key]

    ends, middles = local[:, TRIANGLE_SIDES[:, :2]], local[:, 3:]
    is_vertex = np.zeros(len(node), dtype=bool)
    is_vertex[local[:, :3]] = True
    vertex, number = np.flatnonzero(is_vertex), np.cumsum(is_vertex) - 1
    uses = np.bincount(middles.ravel(), minlength=len(node))
    at_border = np.zeros(len(vertex), dtype=bool)
    at_border[number[ends[uses[middles] == 1]]] = True
    middle = np.flatnonzero(~is_vertex)
    sides = np.empty((len(node), 2), dtype=np.int64)
    sides[middles] = ends
    corners = number[local[:, :3]]
    return _Numbered(node, local, vertex, corners, at_border, middle, number[sides[middle]])


_FEW = 5
"""Triangles that don't pin down a cubic."""


def _patches_of(on: _Numbered) -> list[tuple[Integers, Integers]]:
    """Vertices (v,) and their patches of pairs (v, count), as many alike together.

    Where a vertex is on the region's border, or few triangles touch it, its patch takes in the
    triangles around those as well.
    """
    local, corners, n = on.local, on.corners, len(on.vertex)
    around = sparse.csr_array(_incidence(corners, n).T)
    degree = np.diff(around.indptr)
    wide = on.at_border | (degree < _FEW)

    # going round a vertex, each triangle adds the next corner and two mid-side nodes
    adds = np.stack([local[:, [1, 2, 0]], local[:, 3:], local[:, [4, 5, 3]]], axis=2)
    adds = adds.reshape(-1, 3)
    patches: list[tuple[Integers, Integers]] = []
    inner = np.flatnonzero(~wide)
    for group in _alike(degree[inner]):
        vertex = inner[group]
        at = around.indptr[vertex][:, None] + np.arange(degree[vertex[0]])
        ring = adds[around.data[at]].reshape(len(vertex), -1)
        patches.append((vertex, np.column_stack([on.vertex[vertex], ring])))

    outer = np.flatnonzero(wide)
    around.data[:] = 1
    second_ring = around[outer] @ _incidence(corners, n, 1) @ around
    members = second_ring @ _incidence(local, len(on.node), 1)
    counts = np.diff(members.indptr)
    for group in _alike(counts):
        at = members.indptr[group][:, None] + np.arange(counts[group[0]])
        patches.append((outer[group], members.indices[at]))
    return patches


def _weighted(off: Complexes) -> tuple[Array, Array, Array]:
    """Terms of a cubic at places off a vertex (v, count), weighted, and by what.

    Returns
    -------
    terms : ndarray, shape (10, v, count)
    root : ndarray, shape (v, count)
        Of the weights.
    scale : ndarray, shape (v, 1)
        Length that the terms are over. [mm]
    """
    square = off.real**2 + off.imag**2
    mean_square = np.einsum("kn->k", square)[:, None] / off.shape[1]
    scale = np.sqrt(mean_square)
    root = np.exp(square * (-LOCALITY / 2 / mean_square))
    terms = np.empty((_TERMS, *off.shape))
    _monomials(off.real / scale, off.imag / scale, root, out=terms)
    return terms, root, scale


def _damp(equations: Array) -> None:
    """Make cubic terms pay, in normal equations (10, ., v)."""
    damping = DAMPING * sum(equations[k, k] for k in range(_TERMS))
    for k in _CUBIC:
        equations[k, k] += damping


class _Cubics:
    """A cubic displacement about each vertex, fitted to the nodes of the triangles around it."""

    def __init__(self, place: Complexes, u: Complexes, on: _Numbered) -> None:
        n = len(on.vertex)
        self._place, self._u = place, u
        self._centre = place[on.vertex]
        self._scale = np.empty(n)
        self._coefficients = np.empty((_TERMS - 1, 2, n))
        for some in _batches(_patches_of(on)):
            self._fit(some)

    def _fit(self, patches: Sequence[tuple[Integers, Integers]]) -> None:
        """Weighted least squares about vertices (k,), each to its row of nodes (k, count)."""
        vertex = np.concatenate([about for about, _ in patches])
        equations = np.empty((_TERMS, _TERMS + 2, len(vertex)))
        np.concatenate(
            [self._normal(*patch).transpose(1, 2, 0) for patch in patches], axis=2, out=equations
        )
        _damp(equations)
        self._coefficients[..., vertex] = _solved(equations)[1:] / self._scale[vertex]

    def _normal(self, vertex: Integers, nodes: Integers) -> Array:
        """Normal equations of the same with their right-hand sides, shape (k, 10, 12)."""
        terms, root, scale = _weighted(self._place[nodes] - self._centre[vertex, None])
        known = np.empty((_TERMS + 2, *nodes.shape))
        known[:_TERMS] = terms
        moved = self._u[nodes]
        np.multiply(moved.real, root, out=known[_TERMS])
        np.multiply(moved.imag, root, out=known[_TERMS + 1])
        known = known.swapaxes(0, 1)
        self._scale[vertex] = scale[:, 0]
        normal: Array = known[:, :_TERMS] @ known.swapaxes(1, 2)
        return normal

    def at_centre(self) -> Array:
        """Strain xx, yy, xy at every vertex, shape (3, n)."""
        (ux, vx), (uy, vy) = self._coefficients[:2]
        return np.stack([ux, vy, (uy + vx) / 2])

    def strain(self, vertex: Integers, node: Integers) -> Array:
        """Strain xx, yy, xy of the cubics of some vertices, each at its node, shape (3, k)."""
        off = (self._place[node] - self._centre[vertex]) / self._scale[vertex]
        x, y = off.real.copy(), off.imag.copy()
        a, b, aa, ab, bb, aaa, aab, abb, bbb = np.take(self._coefficients, vertex, axis=2)
        ux, vx = a + 2 * x * aa + y * ab + 3 * x * x * aaa + 2 * x * y * aab + y * y * abb
        uy, vy = b + x * ab + 2 * y * bb + x * x * aab + 2 * x * y * abb + 3 * y * y * bbb
        return np.stack([ux, vy, (uy + vx) / 2])


@dataclass(frozen=True, eq=False, slots=True)
class Slopes:
    """What recovery makes of any displacement of the nodes of a mesh.

    Attributes
    ----------
    along : tuple of two sparse arrays, shape (k, n)
        Slope along x, and along y, at each pair of region and node. [1/mm]
    node : ndarray of int, shape (k,)
    local : ndarray of int, shape (m, 6)
        As :func:`recovered_strain` has them.
    """

    along: tuple[sparse.csr_array, sparse.csr_array]
    node: Integers
    local: Integers

    def strain(self, displacement: Array) -> Array:
        """As :func:`recovered_strain`, of a displacement of shape (n, 2) [mm]; (3, k)."""
        (ux, vx), (uy, vy) = ((of @ displacement).T for of in self.along)
        return np.stack([ux, vy, (uy + vx) / 2])


def slopes_of(points: Array, triangles: Integers, region: Integers) -> Slopes:
    """The matrices of a mesh, as :func:`recovered_strain` takes it."""
    on = _numbered(len(points), triangles, region)
    place = np.ascontiguousarray(points).view(complex)[on.node, 0]
    # each vertex asks its own cubic, each middle half of those of its two ends
    rows = np.concatenate([on.vertex, on.middle, on.middle])
    asked = np.concatenate([np.arange(len(on.vertex)), *on.ends.T])
    off = place[rows] - place[on.vertex[asked]]
    share = np.where(np.arange(len(rows)) < len(on.vertex), 1.0, 0.5)
    by_vertex = np.argsort(asked, kind="stable")
    count = np.bincount(asked, minlength=len(on.vertex))
    first = np.cumsum(count) - count
    found: list[tuple[Array, Array, Integers, Integers]] = []
    for vertex, nodes in _patches_of(on):
        terms, root, scale = _weighted(place[nodes] - place[on.vertex[vertex], None])
        terms = terms.swapaxes(0, 1)
        equations = np.concatenate([terms @ terms.swapaxes(1, 2), terms * root[:, None]], axis=2)
        equations = np.ascontiguousarray(equations.transpose(1, 2, 0))
        _damp(equations)
        fitted = _solved(equations)[1:] / scale[:, 0]
        of, at = runs(first[vertex], count[vertex])
        at = by_vertex[at]
        slopes = np.einsum("skj,kcj->sjc", _slopes_at(off[at] / scale[of, 0]), fitted[..., of])
        x, y = slopes * share[at, None]
        columns = on.node[nodes[of]]
        found.append((x.ravel(), y.ravel(), np.repeat(rows[at], x.shape[1]), columns.ravel()))
    x, y, row, column = (np.concatenate(of) for of in zip(*found, strict=True))
    shape = len(on.node), len(points)
    along = tuple(
        sparse.csr_array(sparse.coo_array((of, (row, column)), shape=shape)) for of in (x, y)
    )
    return Slopes((along[0], along[1]), on.node, on.local)


def _slopes_at(off: Complexes) -> Array:
    """Slopes along x and y of the terms of a cubic but the first, shape (2, 9, k)."""
    x, y, none, one = off.real, off.imag, np.zeros(len(off)), np.ones(len(off))
    return np.stack(
        [
            [one, none, 2 * x, y, none, 3 * x * x, 2 * x * y, y * y, none],
            [none, one, none, x, 2 * y, none, x * x, 2 * x * y, 3 * y * y],
        ]
    )


def _incidence(numbers: Integers, columns: int, value: int | None = None) -> sparse.csr_array:
    """Which numbers (rows, k) each row names, shape (rows, columns); by place, or a fixed value."""
    rows, k = numbers.shape
    places = np.arange(rows * k) if value is None else np.full(rows * k, value)
    return sparse.csr_array(
        (places, numbers.ravel(), np.arange(0, rows * k + 1, k)), shape=(rows, columns)
    )


def _alike(counts: Integers) -> Iterator[Integers]:
    """Places of equal counts, a few hundred at a time, so that their arrays stay near."""
    order = np.argsort(counts, kind="stable")
    for group in np.split(order, np.flatnonzero(np.diff(counts[order])) + 1):
        for start in range(0, len(group), _AT_ONCE):
            yield group[start : start + _AT_ONCE]


def _batches(
    patches: Sequence[tuple[Integers, Integers]],
) -> Iterator[list[tuple[Integers, Integers]]]:
    """Patches of any count side by side, about as many vertices at a time as are fitted best."""
    batch: list[tuple[Integers, Integers]] = []
    vertices = 0
    for patch in patches:
        if batch and vertices + len(patch[0]) > _AT_ONCE:
            yield batch
            batch, vertices = [], 0
        batch.append(patch)
        vertices += len(patch[0])
    if batch:
        yield batch


def _monomials(x: Array, y: Array, times: Array, out: Array) -> None:
    """Terms of a cubic times a factor, shape (10, patches, nodes); x, y, times (patches, nodes)."""
    out[0] = times
    for k, (of, by) in enumerate(_PRODUCTS, 1):
        np.multiply(out[of], x if by == "x" else y, out=out[k])


def _solved(equations: Array) -> Array:
    """Solutions of many small symmetric positive definite systems, eliminated side by side.

    Parameters
    ----------
    equations : ndarray, shape (n, n + k, systems)
        Matrices and k right-hand sides; overwritten. What is below the diagonal isn't read.

    Returns
    -------
    ndarray, shape (n, k, systems)
    """
    n = len(equations)
    for k in range(n):
        row = equations[k]
        shares = row[k + 1 : n] / row[k]
        for i, share in enumerate(shares, k + 1):
            equations[i, i:] -= share * row[i:]
    for k in reversed(range(n)):
        row = equations[k]
        for i in range(k + 1, n):
            row[n:] -= row[i] * equations[i, n:]
        row[n:] /= row[k]
    return equations[:, n:]

"""Stress: raw from the displacement, and recovered part by part with a smooth displacement.

The displacement of quadratic triangles is more accurate at their nodes than its derivatives are
anywhere. Around each vertex of a region a cubic is fitted to the nodal displacement, and its
gradient taken (polynomial preserving recovery, Zhang & Naga, *SIAM J. Sci. Comput.* 26 (2005)
1192-1213, reference from memory). No patch reaches beyond its region, so that nothing is
averaged across a change of material or a step of thickness.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from fea.elasticity import hooke
from fea.model import Solution
from fea.shapes import NODES, shapes
from geometry.section_mesh import TRIANGLE_SIDES, Depth

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Complexes = NDArray[np.complex128]  # x + iy

_TERMS, _CUBIC = 10, range(6, 10)  # terms of a cubic in the plane, and those of degree three
_PRODUCTS = ((0, "x"), (0, "y"), (1, "x"), (1, "y"), (2, "y"),
             (3, "x"), (3, "y"), (5, "x"), (5, "y"))  # each term from an earlier one  # fmt: skip
_AT_ONCE = 1000  # patches fitted together
_BY_R, _BY_S = shapes(NODES)[1].transpose(1, 2, 0)  # each (6 shapes, 6 places)
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


@dataclass(frozen=True, eq=False)
class LayerStress:
    """Stress of one part's layer over one region.

    Attributes
    ----------
    part : str
    region : int
        Index into ``mesh.regions``.
    nodes : ndarray, shape (k,)
        Nodes of the region, into ``mesh.points``.
    triangles : ndarray, shape (m, 6)
        Triangles of the region, into ``nodes``.
    elements : ndarray, shape (m,)
        The same triangles, into ``mesh.triangles``.
    stress : ndarray, shape (3, k)
        Recovered sxx, syy, sxy. [MPa]
    thickness : ndarray, shape (k,)
        Depth of this layer. [mm]
    depth : callable
        The same at any place (x, y). [mm]
    solution : Solution
        What the stress was recovered from.
    """

    part: str
    region: int
    nodes: Integers
    triangles: Integers
    elements: Integers
    stress: Array
    thickness: Array
    depth: Depth
    solution: Solution

    @property
    def raw(self) -> Array:
        """Stress of the displacement at the nodes of each triangle, shape (3, m, 6). [MPa]."""
        return self.raw_of(self.elements)

    def raw_of(self, elements: Integers) -> Array:
        """The same of any triangles with the layer's part in them.

        Parameters
        ----------
        elements : ndarray, shape (c,)
            Into ``mesh.triangles``.

        Returns
        -------
        ndarray, shape (3, c, 6)
            [MPa]
        """
        mesh = self.solution.model.mesh
        triangles = mesh.triangles[elements]
        strain = raw_strain(mesh.points, self.solution.displacement, triangles)
        return _stress(self.solution, self.part, strain, triangles)


def _stress(solution: Solution, part: str, strain: Array, nodes: Integers) -> Array:
    """Stress of one part, shape (3, ...), of strains at some nodes, shape (...)."""
    material = solution.model.materials[part]
    stress = hooke(strain, material.lam, material.mu)
    if solution.temperature is not None:
        temperature = solution.temperature[nodes]
        stress *= material.stiffness_share(temperature)
        stress[:2] -= material.thermal_stress(temperature)
    return stress


def raw_strain(points: Array, displacement: Array, triangles: Integers) -> Array:
    """Strain of the displacement at the six nodes of each triangle.

    Parameters
    ----------
    points, displacement : ndarray, shape (n, 2)
        [mm]
    triangles : ndarray, shape (m, 6)

    Returns
    -------
    ndarray, shape (3, m, 6)
        xx, yy and tensor xy.
    """
    nodal = np.stack([of[triangles] for of in (*points.T, *displacement.T)])
    (xr, yr, ur, vr), (xs, ys, us, vs) = nodal @ _BY_R, nodal @ _BY_S
    area = xr * ys - xs * yr
    strain = np.empty((3, *triangles.shape))
    np.divide(ur * ys - us * yr, area, out=strain[0])
    np.divide(vs * xr - vr * xs, area, out=strain[1])
    np.divide(us * xr - ur * xs + vr * ys - vs * yr, 2 * area, out=strain[2])
    return strain


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
    n = len(points)
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
    place, u = (np.ascontiguousarray(of).view(complex)[node, 0] for of in (points, displacement))
    cubics = _Cubics(place, u, local, number[local[:, :3]], at_border)

    strain = np.empty((3, len(node)))
    strain[:, vertex] = cubics.at_centre()
    middle = np.flatnonzero(~is_vertex)
    sides = np.empty((len(node), 2), dtype=np.int64)
    sides[middles] = ends
    one_end, other_end = number[sides[middle]].T
    strain[:, middle] = 0.5 * (cubics.strain(one_end, middle) + cubics.strain(other_end, middle))
    return strain, node, local


class _Cubics:
    """A cubic displacement about each vertex, fitted to the nodes of the triangles around it.

    Where the vertex is on the region's border, or few triangles touch it, the patch takes in the
    triangles around those as well.
    """

    _FEW = 5  # triangles that don't pin down a cubic

    def __init__(
        self,
        place: Complexes,
        u: Complexes,
        local: Integers,
        corners: Integers,
        at_border: NDArray[np.bool_],
    ) -> None:
        n = len(at_border)
        around = sparse.csr_array(_incidence(corners, n).T)
        degree = np.diff(around.indptr)
        wide = at_border | (degree < self._FEW)
        self._place, self._u = place, u
        self._centre = np.zeros(n, dtype=complex)
        self._centre[corners] = place[local[:, :3]]
        self._scale = np.empty(n)
        self._coefficients = np.empty((_TERMS - 1, 2, n))

        # going round a vertex, each triangle adds the next corner and two mid-side nodes
        adds = np.stack([local[:, [1, 2, 0]], local[:, 3:], local[:, [4, 5, 3]]], axis=2)
        adds = adds.reshape(-1, 3)
        own = np.empty(n, dtype=np.int64)
        own[corners] = local[:, :3]
        patches: list[tuple[Integers, Integers]] = []
        inner = np.flatnonzero(~wide)
        for group in _alike(degree[inner]):
            vertex = inner[group]
            at = around.indptr[vertex][:, None] + np.arange(degree[vertex[0]])
            ring = adds[around.data[at]].reshape(len(vertex), -1)
            patches.append((vertex, np.column_stack([own[vertex], ring])))

        outer = np.flatnonzero(wide)
        around.data[:] = 1
        second_ring = around[outer] @ _incidence(corners, n, 1) @ around
        members = second_ring @ _incidence(local, len(place), 1)
        counts = np.diff(members.indptr)
        for group in _alike(counts):
            at = members.indptr[group][:, None] + np.arange(counts[group[0]])
            patches.append((outer[group], members.indices[at]))
        for some in _batches(patches):
            self._fit(some)

    def _fit(self, patches: Sequence[tuple[Integers, Integers]]) -> None:
        """Weighted least squares about vertices (k,), each to its row of nodes (k, count)."""
        vertex = np.concatenate([about for about, _ in patches])
        equations = np.empty((_TERMS, _TERMS + 2, len(vertex)))
        np.concatenate(
            [self._normal(*patch).transpose(1, 2, 0) for patch in patches], axis=2, out=equations
        )
        damping = DAMPING * sum(equations[k, k] for k in range(_TERMS))
        for k in _CUBIC:
            equations[k, k] += damping
        self._coefficients[..., vertex] = _solved(equations)[1:] / self._scale[vertex]

    def _normal(self, vertex: Integers, nodes: Integers) -> Array:
        """Normal equations of the same with their right-hand sides, shape (k, 10, 12)."""
        off = self._place[nodes] - self._centre[vertex, None]
        square = off.real**2 + off.imag**2
        mean_square = np.einsum("kn->k", square)[:, None] / nodes.shape[1]
        scale = np.sqrt(mean_square)
        root = np.exp(square * (-LOCALITY / 2 / mean_square))  # of the weight
        known = np.empty((_TERMS + 2, *nodes.shape))
        _monomials(off.real / scale, off.imag / scale, root, out=known[:_TERMS])
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


def recover(solution: Solution) -> tuple[LayerStress, ...]:
    """Stress of every layer of every region.

    Where the solution has a temperature, moduli are those at the node's own, and the thermal
    stress of :mod:`fea.heat.thermal` is taken out.

    Parameters
    ----------
    solution : Solution

    Returns
    -------
    tuple of LayerStress
        Region by region, and in each in the order of its layers.
    """
    mesh = solution.model.mesh
    strain, node, local = recovered_strain(
        mesh.points, solution.displacement, mesh.triangles, mesh.region
    )
    found = []
    for index, layers in enumerate(mesh.regions):
        elements = np.flatnonzero(mesh.region == index)
        if not len(elements):
            continue
        triangles = local[elements]
        first, last = int(triangles.min()), int(triangles.max()) + 1
        nodes = node[first:last]
        for layer in layers:
            found.append(
                LayerStress(
                    part=layer.part,
                    region=index,
                    nodes=nodes,
                    triangles=triangles - first,
                    elements=elements,
                    stress=_stress(solution, layer.part, strain[:, first:last], nodes),
                    thickness=layer.thickness(*mesh.points[nodes].T),
                    depth=layer.thickness,
                    solution=solution,
                )
            )
    return tuple(found)


def hoop(stress: Array, x: ArrayLike, y: ArrayLike) -> Array:
    r"""Normal stress along the circle about the bore axis, tension positive.

    .. math:: \sigma_{\theta\theta} = t \cdot \sigma\, t, \qquad t = (-y, x)/r

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]
    x, y : array_like, shape (...)
        Position from the bore axis. [mm]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, stress at a point
       (from memory).

    Examples
    --------
    >>> hoop(np.array([[100.0, 100.0], [0.0, 0.0], [0.0, 0.0]]), [50, 0], [0, 50])
    array([  0., 100.])
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    sxx, syy, sxy = stress
    along: Array = (sxx * y**2 + syy * x**2 - 2 * sxy * x * y) / (x**2 + y**2)
    return along


def radial(stress: Array, x: ArrayLike, y: ArrayLike) -> Array:
    r"""Normal stress along the line from the bore axis, :math:`n\cdot\sigma\,n, n = (x, y)/r`.

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]
    x, y : array_like, shape (...)
        From the bore axis. [mm]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    Examples
    --------
    >>> radial(np.array([[100.0, 100.0], [0.0, 0.0], [0.0, 0.0]]), [50, 0], [0, 50])
    array([100.,   0.])
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    sxx, syy, sxy = stress
    outward: Array = (sxx * x**2 + syy * y**2 + 2 * sxy * x * y) / (x**2 + y**2)
    return outward


def principal(stress: Array) -> tuple[Array, Array, Array]:
    r"""Principal stresses in the plane, and the direction of the largest.

    .. math:: \sigma_{1,2} = \tfrac12(\sigma_{xx} + \sigma_{yy})
              \pm \sqrt{\tfrac14(\sigma_{xx} - \sigma_{yy})^2 + \sigma_{xy}^2}

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    largest, smallest : ndarray, shape (...)
        [MPa]
    angle : ndarray, shape (...)
        Direction of the largest, from +x, -90 < angle <= 90. [deg]

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, Mohr's circle
       (from memory).

    Examples
    --------
    >>> [float(v) for v in principal(np.array([0.0, 0.0, 30.0]))]
    [30.0, -30.0, 45.0]
    """
    sxx, syy, sxy = stress
    return *extremes(stress), np.rad2deg(np.arctan2(sxy, (sxx - syy) / 2)) / 2


def extremes(stress: Array) -> tuple[Array, Array]:
    """Largest and smallest principal stress in the plane, as :func:`principal`.

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    largest, smallest : ndarray, shape (...)
        [MPa]
    """
    sxx, syy, sxy = stress
    middle, spread = (sxx + syy) / 2, np.hypot((sxx - syy) / 2, sxy)
    return middle + spread, middle - spread


def von_mises(stress: Array) -> Array:
    r"""Equivalent stress in plane stress.

    .. math:: \sqrt{\sigma_{xx}^2 - \sigma_{xx}\sigma_{yy} + \sigma_{yy}^2 + 3\sigma_{xy}^2}

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] von Mises, *Göttinger Nachrichten* (1913) 582-592, with sigma_z = 0 (from memory).

    Examples
    --------
    >>> float(von_mises(np.array([100.0, 100.0, 0.0])))
    100.0
    """
    sxx, syy, sxy = stress
    equivalent: Array = np.sqrt(sxx**2 - sxx * syy + syy**2 + 3 * sxy**2)
    return equivalent

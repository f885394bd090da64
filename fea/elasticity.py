r"""Plane stress of a section whose thickness varies from place to place.

Find the displacement u with a(u, v) = L(v) for every v that respects the supports,

.. math::

    a(u, v) = \int \sum_l t_l\, \sigma_l(u) : \varepsilon(v) \,dA, \qquad
    \sigma_l = \lambda_l \operatorname{tr}\varepsilon\, I + 2 \mu_l \varepsilon, \qquad
    L(v) = \int T \cdot v \,ds,

l the layers of metal at a place, t their thickness [mm], lambda and mu their plane-stress pair
[MPa], T the force per length of an edge [N/mm]: T = -q n for gas of line load q on an edge with
outward normal n. Layers that lie over one another share the strain, so only the sums of t lambda
and t mu enter.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import CellBasis

Array = NDArray[np.float64]
Traction = Callable[[Array, Array, Array, Array], Array]
"""t(x, y, nx, ny) -> force per length on an edge, shape (2, ...) [N/mm]; n points out of metal."""

_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(4)
_S, _S_WEIGHT = (1 + _GAUSS) / 2, _GAUSS_WEIGHT / 2


def hooke(strain: Array, lam: float, mu: float) -> Array:
    """Stress of a strain, sigma = lam tr(eps) I + 2 mu eps.

    Parameters
    ----------
    strain : ndarray, shape (3, ...)
        xx, yy and the tensor component xy (half the shear angle).
    lam, mu : float
        Plane-stress pair. [MPa]

    Returns
    -------
    ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Examples
    --------
    >>> hooke(np.array([1e-3, 0.0, 0.0]), lam=30e3, mu=25e3)
    array([80., 30.,  0.])
    """
    xx, yy, xy = strain
    trace = lam * (xx + yy)
    return np.stack([trace + 2 * mu * xx, trace + 2 * mu * yy, 2 * mu * xy])


def stiffness(basis: CellBasis, lam: Array, mu: Array) -> sparse.csc_array:
    r"""Matrix of a(u, v), its lower triangle.

    For the shape functions :math:`N_a, N_b` of two nodes, a comma for a derivative,

    .. math::

        K_{ab} = \int \begin{pmatrix}
            (\lambda + 2\mu) N_{a,x} N_{b,x} + \mu N_{a,y} N_{b,y} &
            \lambda N_{a,x} N_{b,y} + \mu N_{a,y} N_{b,x} \\
            \lambda N_{a,y} N_{b,x} + \mu N_{a,x} N_{b,y} &
            (\lambda + 2\mu) N_{a,y} N_{b,y} + \mu N_{a,x} N_{b,x}
        \end{pmatrix} dA .

    Parameters
    ----------
    basis : skfem.CellBasis
        Vector basis of quadratic triangles.
    lam, mu : ndarray, shape (triangles, points)
        Sums over the layers of t lambda and t mu at the quadrature points. [N/mm]

    Returns
    -------
    scipy.sparse.csc_array
        Lower triangle, rows sorted. [N/mm]
    """
    nodes = basis.Nbfun // 2
    gradients = [np.ascontiguousarray(basis.basis[2 * a][0].grad[0]) for a in range(nodes)]
    lam, mu = lam * basis.dx, mu * basis.dx
    local = np.empty((nodes, nodes, 2, 2, basis.nelems))
    for a, (ax, ay) in enumerate(gradients):
        direct_x, direct_y = (lam + 2 * mu) * ax, (lam + 2 * mu) * ay
        cross_x, cross_y = lam * ax, lam * ay
        shear_x, shear_y = mu * ax, mu * ay
        for b, (bx, by) in enumerate(gradients[: a + 1]):
            local[a, b, 0, 0] = (direct_x * bx + shear_y * by).sum(axis=1)
            local[a, b, 0, 1] = (cross_x * by + shear_y * bx).sum(axis=1)
            local[a, b, 1, 0] = (cross_y * bx + shear_x * by).sum(axis=1)
            local[a, b, 1, 1] = (direct_y * by + shear_x * bx).sum(axis=1)
    i, j = np.tril_indices(basis.Nbfun)
    dofs = basis.element_dofs
    triplets = (
        local[i // 2, j // 2, i % 2, j % 2].ravel(),
        (np.maximum(dofs[i], dofs[j]).ravel(), np.minimum(dofs[i], dofs[j]).ravel()),
    )
    matrix = sparse.coo_array(triplets, shape=(basis.N, basis.N)).tocsc()
    matrix.sort_indices()
    return matrix


def edge_points(ends: Array, s: Array = _S) -> tuple[Array, Array]:
    """Points on quadratic edges and their derivative by the parameter s from 0 to 1.

    Parameters
    ----------
    ends : ndarray, shape (2, 3, k)
        First end, second end and mid-side node of each edge. [mm]
    s : ndarray, shape (points,) or (points, k)

    Returns
    -------
    points, derivative : ndarray, shape (2, points, k)
    """
    s = s[:, None] if s.ndim == 1 else s
    first, second, middle = ends[:, 0, None], ends[:, 1, None], ends[:, 2, None]
    points = first * (1 - s) * (1 - 2 * s) + second * s * (2 * s - 1) + middle * 4 * s * (1 - s)
    derivative = first * (4 * s - 3) + second * (4 * s - 1) + middle * (4 - 8 * s)
    return points, derivative


def edge_work(ends: Array, traction: Traction) -> Array:
    """Nodal forces of L(v) = ∫ T·v ds on edges with the metal to their left.

    The integrand of a uniform line load is a cubic in the edge's parameter, so that the forces
    on a closed edge balance to rounding.

    Parameters
    ----------
    ends : ndarray, shape (2, 3, k)
        First end, second end and mid-side node of each edge, metal on the left. [mm]
    traction : callable
        Force per length at a place with outward normal n. [N/mm]

    Returns
    -------
    ndarray, shape (2, 3, k)
        Forces on the three nodes of each edge. [N]
    """
    (x, y), (dx, dy) = edge_points(ends)
    length = np.hypot(dx, dy)
    forces = np.asarray(traction(x, y, dy / length, -dx / length)) * length * _S_WEIGHT[:, None]
    shapes = np.stack([(1 - _S) * (1 - 2 * _S), _S * (2 * _S - 1), 4 * _S * (1 - _S)])
    work: Array = np.einsum("ns,isk->ink", shapes, forces)
    return work

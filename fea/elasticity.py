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

Array = NDArray[np.float64]
Traction = Callable[[Array, Array, Array, Array], Array]
"""t(x, y, nx, ny) -> force per length on an edge, shape (2, ...) [N/mm]; n points out of metal."""

_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(4)
S, S_WEIGHT = (1 + _GAUSS) / 2, _GAUSS_WEIGHT / 2
"""Places of the quadrature along a side, 0 to 1, and their weights, shape (points,)."""
S_SHAPES = np.stack([(1 - S) * (1 - 2 * S), S * (2 * S - 1), 4 * S * (1 - S)])
"""Functions of first end, second end and mid-side node there, shape (3, points)."""


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


def gradient_products(gradients: Array, weights: Array) -> Array:
    r"""Integrals of products of the shape functions' derivatives, triangle by triangle.

    .. math:: H_{ab,ij} = \int t\, N_{a,i} N_{b,j} \,dA

    They are all of a layer's stiffness that does not depend on what it is made of
    (:func:`plane_stress`), and are proportional to a uniform thickness.

    Parameters
    ----------
    gradients : ndarray, shape (nodes, 2, points, triangles)
        At the quadrature points. [1/mm]
    weights : ndarray, shape (points, triangles)
        t dA. [mm^3]

    Returns
    -------
    ndarray, shape (2, 2, pairs, triangles)
        By i, j, and pair a >= b in the order of ``np.tril_indices``. [mm]
    """
    nodes, _, _, triangles = gradients.shape
    products = np.empty((2, 2, nodes * (nodes + 1) // 2, triangles))
    for a in range(nodes):
        pairs = slice(a * (a + 1) // 2, (a + 1) * (a + 2) // 2)
        weighted = gradients[a] * weights
        np.einsum("iqm,bjqm->ijbm", weighted, gradients[: a + 1], out=products[:, :, pairs])
    return products


def plane_stress(products: Array, lam: float, mu: float) -> Array:
    r"""Stiffness between pairs of nodes, from the products of their gradients.

    .. math::

        a(N_b e_j, N_a e_i) =
            \lambda H_{ab,ij} + \mu \left(H_{ab,ji} + \delta_{ij} \sum_k H_{ab,kk}\right),

    which is ∫ σ(u) : ε(v) dA where the moduli are the same everywhere.

    Parameters
    ----------
    products : ndarray, shape (2, 2, ...)
        :func:`gradient_products`, or their sums over triangles.
    lam, mu : float
        Plane-stress pair.

    Returns
    -------
    ndarray, shape (2, 2, ...)
        By i, j.
    """
    stiffness: Array = lam * products + mu * products.swapaxes(0, 1)
    shear = mu * (products[0, 0] + products[1, 1])
    stiffness[0, 0] += shear
    stiffness[1, 1] += shear
    return stiffness


def edge_points(ends: Array, s: Array = S) -> tuple[Array, Array]:
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
    forces = np.asarray(traction(x, y, dy / length, -dx / length)) * length * S_WEIGHT[:, None]
    work: Array = np.einsum("ns,isk->ink", S_SHAPES, forces)
    return work

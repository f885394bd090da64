r"""Elasticity in space.

Find the displacement u with a(u, v) = L(v) for every v that respects the supports,

.. math::

    a(u, v) = \int \sigma(u) : \varepsilon(v) \,dV, \qquad
    \sigma = \lambda \operatorname{tr}\varepsilon\, I + 2 \mu\, \varepsilon, \qquad
    L(v) = \int T \cdot v \,dA + \int 3K (\alpha (T - 20) + m) \operatorname{div} v \,dV,

lambda and mu Lame's constants, 3K = 3 lambda + 2 mu [MPa], T = -p n under a pressure p on a face
with outward normal n, m the misfit strain of a part.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.material import REFERENCE, Material

Array = NDArray[np.float64]

COMPONENTS = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))
"""xx, yy, zz, xy, yz, zx."""


def lame(material: Material) -> tuple[float, float]:
    """Lame's constants lambda = E nu / ((1 + nu)(1 - 2 nu)) and mu at 20 degC. [MPa]."""
    nu = material.poisson
    return 2 * material.mu * nu / (1 - 2 * nu), material.mu


def hooke(strain: Array, lam: float, mu: float) -> Array:
    """Stress of a strain, sigma = lam tr(eps) I + 2 mu eps.

    Parameters
    ----------
    strain : ndarray, shape (6, ...)
        xx, yy, zz and the tensor components xy, yz, zx.
    lam, mu : float
        Lame's constants. [MPa]

    Returns
    -------
    ndarray, shape (6, ...)
        [MPa]

    Examples
    --------
    >>> hooke(np.array([1e-3, 0, 0, 0, 0, 0]), lam=30e3, mu=25e3)
    array([80., 30., 30.,  0.,  0.,  0.])
    """
    stress = 2 * mu * strain
    stress[:3] += lam * (strain[0] + strain[1] + strain[2])
    return stress


def thermal_stress(material: Material, temperature: ArrayLike) -> Array:
    r"""Pressure on all sides that keeps a body at the size of the drawing.

    .. math:: \frac{E(T)\, (\alpha\, (T - 20) + m)}{1 - 2 \nu}, \quad m \text{ the misfit}

    Parameters
    ----------
    material : Material
    temperature : array_like, shape (...)
        [degC]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, ch. 13 (from memory).
    """
    rise = np.asarray(temperature, dtype=float) - REFERENCE
    held = material.youngs_modulus / (1 - 2 * material.poisson)
    free = material.expansion * rise + material.misfit
    return np.asarray(held * free * material.stiffness_share(temperature))


def solid_stiffness(products: Array, lam: Array, mu: Array) -> Array:
    r"""Stiffness between pairs of nodes, from the integrals of products of their gradients.

    .. math::

        a(N_b e_j, N_a e_i) =
            \lambda H_{ab,ij} + \mu \left(H_{ab,ji} + \delta_{ij} \sum_k H_{ab,kk}\right),
        \quad H_{ab,ij} = \int N_{a,i} N_{b,j} \,dV

    Parameters
    ----------
    products : ndarray, shape (3, 3, ...)
        H by i, j. [mm]
    lam, mu : ndarray, shape (...)
        Lame's constants. [MPa]

    Returns
    -------
    ndarray, shape (3, 3, ...)
        By i, j. [N/mm]
    """
    stiffness: Array = lam * products + mu * products.swapaxes(0, 1)
    shear = mu * (products[0, 0] + products[1, 1] + products[2, 2])
    for i in range(3):
        stiffness[i, i] += shear
    return stiffness

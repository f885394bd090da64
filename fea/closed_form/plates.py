"""Holes and notches in plates."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.closed_form.states import PolarState

Array = NDArray[np.float64]


def kirsch_plate(
    r: ArrayLike,
    theta: ArrayLike,
    hole_radius: float,
    tension: float,
    *,
    youngs_modulus: float,
    poisson: float,
) -> PolarState:
    r"""Endless plate with a round hole, pulled along x.

    With :math:`\rho = a/r` and :math:`\kappa = (3-\nu)/(1+\nu)`,

    .. math::
        \sigma_r &= \tfrac{S}{2}[1 - \rho^2 + (1 - 4\rho^2 + 3\rho^4) \cos 2\theta] \\
        \sigma_\theta &= \tfrac{S}{2}[1 + \rho^2 - (1 + 3\rho^4) \cos 2\theta] \\
        \tau_{r\theta} &= -\tfrac{S}{2}[1 + 2\rho^2 - 3\rho^4] \sin 2\theta \\
        u_r &= \tfrac{S r}{8\mu}[\kappa - 1 + 2\rho^2
               + 2(1 + (\kappa + 1)\rho^2 - \rho^4) \cos 2\theta] \\
        u_\theta &= -\tfrac{S r}{4\mu}[1 + (\kappa - 1)\rho^2 + \rho^4] \sin 2\theta

    Parameters
    ----------
    r, theta : array_like, shapes that broadcast to (...)
        Radius from the hole's centre [mm] and angle from the pull [rad].
    hole_radius : float
        [mm]
    tension : float
        Stress S far from the hole. [MPa]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    PolarState
        Arrays of shape (...).

    References
    ----------
    .. [1] Kirsch, *Z. VDI* 42 (1898); Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed.,
       1970, art. 35 (number from memory). The displacement is derived by integrating the
       strains.

    Examples
    --------
    >>> hole = kirsch_plate(1, [0, np.pi / 2], 1, 1, youngs_modulus=1, poisson=0.3)
    >>> [round(float(v), 9) for v in (*hole.hoop, *hole.growth)]
    [-1.0, 3.0, 3.0, -1.0]
    """
    r = np.asarray(r, dtype=float)
    theta = np.asarray(theta, dtype=float)
    rho2 = (hole_radius / r) ** 2
    cos, sin = np.cos(2 * theta), np.sin(2 * theta)
    kappa = (3 - poisson) / (1 + poisson)
    shear_modulus = youngs_modulus / (2 * (1 + poisson))
    half = tension / 2
    return PolarState(
        half * (1 - rho2 + (1 - 4 * rho2 + 3 * rho2**2) * cos),
        half * (1 + rho2 - (1 + 3 * rho2**2) * cos),
        -half * (1 + 2 * rho2 - 3 * rho2**2) * sin,
        half
        * r
        / (4 * shear_modulus)
        * (kappa - 1 + 2 * rho2 + 2 * (1 + (kappa + 1) * rho2 - rho2**2) * cos),
        -half * r / (2 * shear_modulus) * (1 + (kappa - 1) * rho2 + rho2**2) * sin,
    )


def inglis_tip(tension: float, across: float, along: float) -> float:
    r"""Stress at the tip of an elliptic hole in an endless plate, :math:`S(1 + 2A/B)`.

    Parameters
    ----------
    tension : float
        Stress S far from the hole. [MPa]
    across, along : float
        Half-axes A across the pull and B along it. [mm]

    Returns
    -------
    float
        Stress along the edge at the two ends of the axis across the pull. [MPa]

    References
    ----------
    .. [1] Inglis, *Trans. Inst. Naval Architects* 55 (1913).

    Examples
    --------
    >>> inglis_tip(1, 2, 1), inglis_tip(1, 1, 2)
    (5.0, 2.0)
    """
    return tension * (1 + 2 * across / along)


def opposite_notches_factor(notch_radius: float, width: float) -> float:
    r"""Stress concentration of two opposite semicircular edge notches in a pulled strip.

    .. math:: K_t = 3.065 - 3.472 x + 1.009 x^2 + 0.405 x^3, \qquad x = 2r/D

    Parameters
    ----------
    notch_radius, width : float
        r and the full width D. [mm]

    Returns
    -------
    float
        Largest stress over the mean stress of the net section, ``P / ((D - 2 r) t)``.

    Raises
    ------
    ValueError
        Unless 0 <= 2 r < D.

    References
    ----------
    .. [1] Pilkey, *Peterson's Stress Concentration Factors*, chart 2.3; a very small notch has
       3.065 (Ling 1947).

    Examples
    --------
    >>> round(opposite_notches_factor(1, 5), 4)
    1.8636
    """
    x = 2 * notch_radius / width
    if not 0 <= x < 1:
        raise ValueError(f"2 r / D = {x:g} must be at least 0 and below 1.")
    return 3.065 - 3.472 * x + 1.009 * x**2 + 0.405 * x**3


def single_notch_factor(notch_radius: float, width: float) -> float:
    r"""Stress concentration of one semicircular edge notch in a pulled strip.

    .. math:: K_t = 3.065 - 8.871 x + 14.036 x^2 - 7.219 x^3, \qquad x = r/D

    Parameters
    ----------
    notch_radius, width : float
        r and the full width D. [mm]

    Returns
    -------
    float
        Largest stress over the mean stress of the net section, ``P / ((D - r) t)``, with the
        load through the centre of the net section. Finite elements are 5 % below the polynomial
        at D = 10 r, 4 % above it at D = 2.5 r and meet it at D = 4 r.

    Raises
    ------
    ValueError
        Unless 0 <= r < D.

    References
    ----------
    .. [1] Pilkey, *Peterson's Stress Concentration Factors*, chart 2.9.

    Examples
    --------
    >>> round(single_notch_factor(1, 4), 4)
    1.6117
    """
    x = notch_radius / width
    if not 0 <= x < 1:
        raise ValueError(f"r / D = {x:g} must be at least 0 and below 1.")
    return 3.065 - 8.871 * x + 14.036 * x**2 - 7.219 * x**3

"""Conduction through cylinders, fins and plates, and the stress that it makes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from fea.closed_form.states import RingState, require_rising

Array = NDArray[np.float64]


def heated_ring(
    r: ArrayLike,
    a: float,
    b: float,
    difference: float,
    *,
    expansion: float,
    youngs_modulus: float,
    poisson: float,
) -> RingState:
    r"""Free ring that is warmer inside, T = dT ln(b/r) / ln(b/a): conduction from bore to outside.

    .. math::
        \sigma_\theta = \frac{E \alpha\,\Delta T}{2 \ln(b/a)} \left[1 - \ln\frac{b}{r}
            - \frac{a^2}{b^2 - a^2}\left(1 + \frac{b^2}{r^2}\right) \ln\frac{b}{a}\right],\quad
        \sigma_r = \frac{E \alpha\,\Delta T}{2 \ln(b/a)} \left[-\ln\frac{b}{r}
            - \frac{a^2}{b^2 - a^2}\left(1 - \frac{b^2}{r^2}\right) \ln\frac{b}{a}\right]

    Parameters
    ----------
    r : array_like, shape (...)
        Radius. [mm]
    a, b : float
        Inner and outer radius. [mm]
    difference : float
        dT, how much warmer the bore is than the outside. [K]
    expansion : float
        alpha. [1/K]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    RingState
        Arrays of shape (...); the growth is from the temperature of the outside.

    Raises
    ------
    ValueError
        Unless 0 < a < b.

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, thermal stress, long
       circular cylinder, with the factor 1 / (1 - nu) of plane strain left out (from memory;
       equal to the quadrature of the general solution).

    Examples
    --------
    >>> alloy = {"expansion": 22e-6, "youngs_modulus": 70000, "poisson": 0.33}
    >>> ring = heated_ring([50, 80], 50, 80, 100, **alloy)
    >>> [round(float(v), 4) for v in ring.hoop]
    [-88.8894, 65.1106]
    >>> round(float(ring.growth[0]), 8)
    0.04650755
    """
    require_rising(a=a, b=b)
    r = np.asarray(r, dtype=float)
    whole, part = np.log(b / a), np.log(b / r)
    share = a**2 / (b**2 - a**2) * whole
    factor = youngs_modulus * expansion * difference / (2 * whole)
    radial = factor * (-part - share * (1 - b**2 / r**2))
    hoop = factor * (1 - part - share * (1 + b**2 / r**2))
    free = expansion * difference * part / whole
    return RingState(radial, hoop, r * ((hoop - poisson * radial) / youngs_modulus + free))


@dataclass(frozen=True, slots=True)
class CylinderHeat:
    """Heat through rings within one another."""

    heat: float  # outward, for each mm of depth [W/mm]
    faces: tuple[tuple[float, float], ...]  # of each ring, inner and outer face [degC]


def composite_cylinder(
    radii: ArrayLike,
    conductivities: ArrayLike,
    *,
    inside: tuple[float, float],
    outside: tuple[float, float],
    contact_resistance: float = 0.0,
) -> CylinderHeat:
    r"""Rings within one another, between a film in the bore and one outside.

    .. math::
        q' = 2 \pi (T_i - T_o) \Big/ \left(\frac{1}{r_0 h_i}
             + \sum_{j=1}^{n} \frac{\ln(r_j / r_{j-1})}{k_j}
             + \sum_{j=1}^{n-1} \frac{R_c}{r_j} + \frac{1}{r_n h_o}\right)

    Parameters
    ----------
    radii : array_like, shape (n + 1,)
        Rising. [mm]
    conductivities : array_like, shape (n,)
        Of each ring. [W/(mm K)]
    inside, outside : (float, float)
        Film coefficient [W/(mm2 K)] and temperature [degC].
    contact_resistance : float
        R_c of each joint between two rings. [mm2 K/W]

    Returns
    -------
    CylinderHeat

    Raises
    ------
    ValueError
        Unless the radii are positive and rise.

    References
    ----------
    .. [1] Incropera & DeWitt, *Fundamentals of Heat and Mass Transfer*, radial systems.

    Examples
    --------
    >>> films = {"inside": (6e-4, 900.0), "outside": (3e-3, 90.0)}
    >>> wall = composite_cylinder([50, 56, 70], [0.05, 0.15], contact_resistance=50, **films)
    >>> round(wall.heat, 5)
    119.07129
    >>> [round(t, 3) for face in wall.faces for t in face]
    [268.307, 225.354, 208.433, 180.242]
    """
    r, k = np.asarray(radii, dtype=float), np.asarray(conductivities, dtype=float)
    require_rising(**{f"r{i}": float(radius) for i, radius in enumerate(r)})
    walls = np.log(r[1:] / r[:-1]) / (2 * np.pi * k)
    joints = contact_resistance / (2 * np.pi * r[1:-1])
    first, last = (1 / (2 * np.pi * r[i] * film[0]) for i, film in ((0, inside), (-1, outside)))
    heat = (inside[1] - outside[1]) / (first + walls.sum() + joints.sum() + last)
    faces = []
    at = inside[1] - heat * first
    for wall, joint in zip(walls, [*joints, 0.0], strict=True):
        faces.append((float(at), float(at - heat * wall)))
        at -= heat * (wall + joint)
    return CylinderHeat(float(heat), tuple(faces))


def straight_fin(x: ArrayLike, length: float, m: float) -> Array:
    r"""Straight fin with a film on its faces and a dry tip: share of the excess at its foot.

    .. math:: \frac{T - T_\infty}{T_b - T_\infty} = \frac{\cosh m (L - x)}{\cosh m L},\qquad
              q = k A\, m \tanh(m L)\, (T_b - T_\infty)

    Parameters
    ----------
    x : array_like, shape (...)
        From the foot. [mm]
    length : float
        L. [mm]
    m : float
        sqrt(h P / (k A)); for films on both faces of a plate t thick sqrt(2 h / (k t)). [1/mm]

    Returns
    -------
    ndarray, shape (...)

    References
    ----------
    .. [1] Incropera & DeWitt, *Fundamentals of Heat and Mass Transfer*, table 3.4, case B.

    Examples
    --------
    >>> straight_fin([0.0, 50.0], length=50.0, m=0.02)
    array([1.   , 0.648])
    """
    share: Array = np.cosh(m * (length - np.asarray(x, dtype=float))) / np.cosh(m * length)
    return share


def annular_fin(r: ArrayLike, a: float, b: float, m: float) -> Array:
    r"""Round plate with a film on its faces and a dry rim: share of the excess at its hole.

    .. math:: \frac{T - T_\infty}{T_b - T_\infty} =
              \frac{I_0(m r) K_1(m b) + K_0(m r) I_1(m b)}{I_0(m a) K_1(m b) + K_0(m a) I_1(m b)}

    Parameters
    ----------
    r : array_like, shape (...)
        [mm]
    a, b : float
        Radius of the hole and of the rim. [mm]
    m : float
        sqrt(2 h / (k t)) for a film h on both faces. [1/mm]

    Returns
    -------
    ndarray, shape (...)

    Raises
    ------
    ValueError
        Unless 0 < a < b.

    References
    ----------
    .. [1] Incropera & DeWitt, *Fundamentals of Heat and Mass Transfer*, annular fin.

    Examples
    --------
    >>> m = (2 * 2e-3 / (0.15 * 10)) ** 0.5
    >>> round(90 + 90 * float(annular_fin(60, 50, 90, m)), 4)
    141.1093
    """
    require_rising(a=a, b=b)

    z = m * np.append(a, r)
    excess = special.iv(0, z) * special.kv(1, m * b) + special.kv(0, z) * special.iv(1, m * b)
    share: Array = (excess[1:] / excess[0]).reshape(np.shape(r))
    return share


def cooled_plate(
    x: float, y: float, width: float, height: float, biot: float, terms: int = 40
) -> float:
    r"""Plate warm at its foot, insulated on its left, with a film on its right and its top.

    Share of the foot's excess over the film's surroundings, with the roots of
    :math:`\lambda \tan \lambda = Bi`:

    .. math::
        \sum_\lambda \frac{2 \sin\lambda}{\lambda + \sin\lambda \cos\lambda}
        \cos\frac{\lambda x}{w}\,
        \frac{\lambda \cosh\frac{\lambda (h - y)}{w} + Bi \sinh\frac{\lambda (h - y)}{w}}
             {\lambda \cosh\frac{\lambda h}{w} + Bi \sinh\frac{\lambda h}{w}}

    Parameters
    ----------
    x, y : float
        From the lower left corner; the series converges above the foot. [mm]
    width, height : float
        w and h. [mm]
    biot : float
        Bi, film coefficient x w / conductivity.
    terms : int
        Terms of the series.

    References
    ----------
    .. [1] NAFEMS, *The Standard NAFEMS Benchmarks*, TNSB Rev 3, 1990, T4, is one such plate;
       the series is derived by separation of variables.

    Examples
    --------
    >>> round(100 * cooled_plate(600, 200, 600, 1000, 750 * 0.6 / 52), 6)
    18.253757
    """
    low = np.pi * np.arange(terms)
    high = low + np.pi / 2
    for _ in range(60):  # halving
        middle = (low + high) / 2
        below = middle * np.sin(middle) < biot * np.cos(middle)
        below ^= np.arange(terms) % 2 == 1
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    root, up, whole = low, low * (height - y) / width, low * height / width
    # cosh and sinh over exp(whole), which would overflow by itself
    fall = (root + biot) * np.exp(up - whole) + (root - biot) * np.exp(-up - whole)
    fall /= (root + biot) + (root - biot) * np.exp(-2 * whole)
    weight = 2 * np.sin(root) / (root + np.sin(root) * np.cos(root))
    return float((weight * np.cos(root * x / width) * fall).sum())

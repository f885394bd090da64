"""Closed forms of plane elasticity and of heat: what the solver is measured against.

Plain functions on arrays, in mm, N, MPa, W and degC; tension positive, a pressure pushes on the
metal. All elasticity is plane stress. ``a`` and ``b`` are the inner and outer radius of a ring
throughout, polar angles are counter-clockwise from +x. No function knows the finite element code.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RingState:
    """Stress and displacement of a ring that stays round."""

    radial: Array  # stress [MPa]
    hoop: Array  # stress [MPa]
    growth: Array  # radial displacement, outward positive [mm]


@dataclass(frozen=True, slots=True)
class PolarState:
    """Stress and displacement in polar coordinates."""

    radial: Array  # stress [MPa]
    hoop: Array  # stress [MPa]
    shear: Array  # stress [MPa]
    growth: Array  # radial displacement, outward positive [mm]
    sliding: Array  # displacement around the axis, counter-clockwise positive [mm]


def _require_rising(**radii: float) -> None:
    values = list(radii.values())
    if not (values[0] > 0 and all(low < high for low, high in pairwise(values))):
        given = ", ".join(f"{name} = {value:g}" for name, value in radii.items())
        raise ValueError(f"radii must be positive and rise in this order, but got {given} mm.")


def lame_ring(
    r: ArrayLike,
    a: float,
    b: float,
    *,
    p_in: float = 0.0,
    p_out: float = 0.0,
    youngs_modulus: float,
    poisson: float,
) -> RingState:
    r"""Ring under pressure in its bore and on its outside.

    .. math::
        \sigma_{r,\theta} = A \mp \frac{B}{r^2},\quad
        A = \frac{p_i a^2 - p_o b^2}{b^2 - a^2},\quad
        B = \frac{(p_i - p_o)\, a^2 b^2}{b^2 - a^2},\quad
        u = \frac{1}{E}\left[(1 - \nu) A r + (1 + \nu) \frac{B}{r}\right]

    Parameters
    ----------
    r : array_like, shape (...)
        Radius. [mm]
    a, b : float
        Inner and outer radius. [mm]
    p_in, p_out : float
        Pressure in the bore and on the outside. [MPa]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    RingState
        Arrays of shape (...).

    Raises
    ------
    ValueError
        Unless 0 < a < b.

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, thick cylinder
       (art. 28, number from memory).

    Examples
    --------
    >>> ring = lame_ring([50, 80], 50, 80, p_in=10, youngs_modulus=70000, poisson=0.33)
    >>> [round(float(v), 5) for v in ring.hoop]
    [22.82051, 12.82051]
    >>> round(float(ring.growth[0]), 8)
    0.01865751
    """
    _require_rising(a=a, b=b)
    r = np.asarray(r, dtype=float)
    mean = (p_in * a**2 - p_out * b**2) / (b**2 - a**2)
    spread = (p_in - p_out) * a**2 * b**2 / (b**2 - a**2) / r**2
    growth = r * ((1 - poisson) * mean + (1 + poisson) * spread) / youngs_modulus
    return RingState(mean - spread, mean + spread, growth)


def joint_pressure(
    a: float,
    c: float,
    b: float,
    *,
    p_in: float,
    p_out: float = 0.0,
    inner: tuple[float, float],
    outer: tuple[float, float],
    thickness_ratio: float = 1.0,
) -> float:
    r"""Pressure between two bonded rings of unlike material, unlike thickness, or both.

    The radial force per length and the displacement go through the joint at ``c``; with
    :math:`q` on the inner ring's face the outer ring carries :math:`q\,t_1/t_2`.

    .. math::
        q = \frac{\dfrac{2 a^2 c\, p_i}{E_1 (c^2 - a^2)} + \dfrac{2 b^2 c\, p_o}{E_2 (b^2 - c^2)}}
                 {k_1 + k_2\, t_1 / t_2},\quad
        k_1 = \frac{c}{E_1}\left(\frac{c^2 + a^2}{c^2 - a^2} - \nu_1\right),\quad
        k_2 = \frac{c}{E_2}\left(\frac{b^2 + c^2}{b^2 - c^2} + \nu_2\right)

    The two rings then follow from :func:`lame_ring`: ``(a, c)`` under ``p_in`` and ``q``,
    ``(c, b)`` under ``q * thickness_ratio`` and ``p_out``.

    Parameters
    ----------
    a, c, b : float
        Radii of the bore, the joint and the outside. [mm]
    p_in, p_out : float
        Pressure on the inner ring's bore and on the outer ring's outside. [MPa]
    inner, outer : (float, float)
        Young's modulus [MPa] and Poisson's ratio of each ring.
    thickness_ratio : float
        t1 / t2, the inner ring's thickness over the outer's.

    Returns
    -------
    float
        Pressure on the outer face of the inner ring. [MPa]

    Raises
    ------
    ValueError
        Unless 0 < a < c < b.

    References
    ----------
    .. [1] Timoshenko, *Strength of Materials*, Part II, compound cylinders; the thickness step
       is derived from the same two conditions.

    Examples
    --------
    >>> q = joint_pressure(45, 55, 80, p_in=9, inner=(110000, 0.26), outer=(72000, 0.33))
    >>> round(q, 6)
    3.812511
    >>> alloy = (70000, 0.33)
    >>> q = joint_pressure(50, 60, 90, p_in=10, inner=alloy, outer=alloy, thickness_ratio=8 / 20)
    >>> round(q, 6)
    7.116222
    """
    _require_rising(a=a, c=c, b=b)
    return _closing_pressure(a, c, b, 0.0, p_in, p_out, inner, outer, thickness_ratio)


def _closing_pressure(
    a: float,
    c: float,
    b: float,
    misfit: float,
    p_in: float,
    p_out: float,
    inner: tuple[float, float],
    outer: tuple[float, float],
    thickness_ratio: float,
) -> float:
    """Pressure, less than 0 for a pull, that makes both rings one radius at the joint. [MPa]."""
    (e1, nu1), (e2, nu2) = inner, outer
    k1 = c / e1 * ((c**2 + a**2) / (c**2 - a**2) - nu1)
    k2 = c / e2 * ((b**2 + c**2) / (b**2 - c**2) + nu2)
    from_bore = 2 * a**2 * c * p_in / (e1 * (c**2 - a**2))
    from_outside = 2 * b**2 * c * p_out / (e2 * (b**2 - c**2))
    return (misfit + from_bore + from_outside) / (k1 + k2 * thickness_ratio)


def power_law_ring(
    r: ArrayLike,
    a: float,
    b: float,
    exponent: float,
    *,
    p_in: float = 0.0,
    p_out: float = 0.0,
    youngs_modulus: float,
    poisson: float,
) -> RingState:
    r"""Ring whose out-of-plane thickness follows a power of the radius, :math:`t \propto r^m`.

    .. math::
        u = \sum_{i=1,2} C_i r^{s_i},\quad
        s = -\tfrac{m}{2} \pm \sqrt{\tfrac{m^2}{4} + 1 - \nu m},\quad
        \sigma_r = \frac{E}{1-\nu^2} \sum_i C_i (s_i + \nu) r^{s_i - 1},\quad
        \sigma_\theta = \frac{E}{1-\nu^2} \sum_i C_i (1 + \nu s_i) r^{s_i - 1}

    Parameters
    ----------
    r : array_like, shape (...)
        Radius. [mm]
    a, b : float
        Inner and outer radius. [mm]
    exponent : float
        m; 0 is a ring of one thickness.
    p_in, p_out : float
        Pressure on the faces as they stand, of the thickness there. [MPa]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    RingState
        Arrays of shape (...).

    Raises
    ------
    ValueError
        Unless 0 < a < b.

    References
    ----------
    .. [1] Stodola, *Steam and Gas Turbines*, 1927; Timoshenko, *Strength of Materials*, Part II,
       disk of variable thickness.

    Examples
    --------
    >>> ring = power_law_ring(
    ...     [50, 70, 90], 50, 90, -1.5, p_in=10, youngs_modulus=70000, poisson=0.33
    ... )
    >>> [round(float(v), 5) for v in ring.hoop]
    [28.36525, 17.52823, 13.08205]
    >>> round(float(ring.growth[0]), 8)
    0.02261803
    """
    _require_rising(a=a, b=b)
    x = np.asarray(r, dtype=float)[..., None] / a
    root = np.sqrt(exponent**2 / 4 + 1 - poisson * exponent)
    s = -exponent / 2 + np.array([root, -root])
    stiffness = youngs_modulus / (1 - poisson**2)
    at_edges = np.stack([s + poisson, (s + poisson) * (b / a) ** (s - 1)])
    share = np.linalg.solve(stiffness * at_edges, [-p_in, -p_out])
    strain = share * x ** (s - 1)
    return RingState(
        stiffness * (strain @ (s + poisson)),
        stiffness * (strain @ (1 + poisson * s)),
        a * (share * x**s).sum(axis=-1),
    )


def ring_harmonic(
    r: ArrayLike,
    theta: ArrayLike,
    a: float,
    b: float,
    n: int,
    *,
    p_in: float = 0.0,
    p_out: float = 0.0,
    youngs_modulus: float,
    poisson: float,
) -> PolarState:
    r"""Ring under a pressure :math:`p \cos n\theta` in its bore, on its outside, or both.

    Michell's stress function of order n,

    .. math::
        \varphi = (A r^n + B r^{-n} + C r^{n+2} + D r^{2-n}) \cos n\theta

    with the four constants from :math:`\sigma_r = -p \cos n\theta`, :math:`\tau_{r\theta} = 0` on
    both edges. The radial displacement integrates :math:`\varepsilon_r` over r, the other one
    follows from :math:`\varepsilon_\theta`; for n >= 2 neither holds rigid motion.

    Parameters
    ----------
    r, theta : array_like, shapes that broadcast to (...)
        Radius [mm] and angle [rad].
    a, b : float
        Inner and outer radius. [mm]
    n : int
        Order, 2 or more.
    p_in, p_out : float
        Amplitude of the pressure on the inner and the outer edge. [MPa]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    PolarState
        Arrays of shape (...).

    Raises
    ------
    ValueError
        Unless 0 < a < b and n >= 2.

    References
    ----------
    .. [1] Michell, *Proc. London Math. Soc.* 31 (1899); Timoshenko & Goodier, *Theory of
       Elasticity*, 3rd ed., 1970, general solution in polar coordinates.

    Examples
    --------
    >>> ring = ring_harmonic(
    ...     [50, 80], 0, 50, 80, 2, p_in=10, youngs_modulus=70000, poisson=0.33
    ... )
    >>> [round(float(u), 7) for u in ring.growth], round(float(ring.hoop[0]), 4)
    ([0.1147797, 0.1115069], -94.1552)
    """
    _require_rising(a=a, b=b)
    if n < 2:
        raise ValueError(f"n must be 2 or more, but got {n}: lower orders move the whole ring.")
    r = np.asarray(r, dtype=float)[..., None]
    nu = poisson
    power = np.array([n, -n, n + 2, 2 - n])
    scale = np.array([b, a, b, a])  # each term stays of order 1 within the ring at any n
    edges = np.array([[a], [b]])
    at_edges = (edges / scale) ** (power - 2)
    radial = power - n**2
    hoop = power * (power - 1)
    shear = n * (power - 1)
    system = np.concatenate([radial * at_edges, shear * at_edges])
    share = np.linalg.solve(system, [-p_in, -p_out, 0, 0])
    stress = share * (r / scale) ** (power - 2)
    growth = r[..., 0] * (stress @ ((radial - nu * hoop) / (power - 1))) / youngs_modulus
    hoop_strain = stress @ (hoop - nu * radial) / youngs_modulus
    cos, sin = np.cos(n * np.asarray(theta)), np.sin(n * np.asarray(theta))
    return PolarState(
        stress @ radial * cos,
        stress @ hoop * cos,
        stress @ shear * sin,
        growth * cos,
        (r[..., 0] * hoop_strain - growth) / n * sin,
    )


def eccentric_bore_hoop(
    theta: ArrayLike,
    inner_radius: float,
    outer_radius: float,
    offset: float,
    *,
    p_in: float = 0.0,
    p_out: float = 0.0,
) -> tuple[Array, Array]:
    r"""Stress along the inner and along the outer edge of a ring whose bore is off centre.

    .. math::
        \sigma_i = -p_i + 2(p_i - p_o)\, g_i
            \frac{2k_i/r_i + r_i/e - a^2 g_i}{1/r_i^2 + 1/r_o^2},\quad
        \sigma_o = -p_o + 2(p_i - p_o)\, g_o
            \frac{r_o/e - 2k_o/r_o + a^2 g_o}{1/r_i^2 + 1/r_o^2}

    with :math:`k_i = (r_o^2 - r_i^2 - e^2)/(2e)`, :math:`k_o = k_i + e`,
    :math:`a^2 = k_i^2 - r_i^2` and :math:`g = 1/(r (k + r\cos\theta))` for each circle.

    Parameters
    ----------
    theta : array_like, shape (...)
        Angle about each circle's own centre: 0 on the thick side, pi on the thin one. [rad]
    inner_radius, outer_radius : float
        [mm]
    offset : float
        Distance e between the two centres. [mm]
    p_in, p_out : float
        Pressure in the bore and on the outside. [MPa]

    Returns
    -------
    inner, outer : ndarray, shape (...)
        Stress along the edge. [MPa]

    Raises
    ------
    ValueError
        Unless the bore lies within the outer circle and 0 < offset.

    References
    ----------
    .. [1] Jeffery, *Phil. Trans. R. Soc. A* 221 (1921) 265-293.

    Examples
    --------
    >>> inner, outer = eccentric_bore_hoop([np.pi, 0], 50, 80, 15, p_in=10)
    >>> [round(float(v), 5) for v in (*inner, *outer)]
    [37.44414, 18.2777, 36.06904, 5.40273]
    """
    ri, ro, e = inner_radius, outer_radius, offset
    if not (ri > 0 and 0 < e < ro - ri):
        raise ValueError(
            f"offset = {e:g} mm must be above 0 and below {ro - ri:g} mm "
            "(outer_radius - inner_radius)."
        )
    cos = np.cos(np.asarray(theta, dtype=float))
    ki = (ro**2 - ri**2 - e**2) / (2 * e)
    ko = ki + e
    a2 = ki**2 - ri**2
    gi = 1 / (ri * (ki + ri * cos))
    go = 1 / (ro * (ko + ro * cos))
    factor = 2 * (p_in - p_out) / (1 / ri**2 + 1 / ro**2)
    inner = -p_in + factor * gi * (2 * ki / ri + ri / e - a2 * gi)
    outer = -p_out + factor * go * (ro / e - 2 * ko / ro + a2 * go)
    return inner, outer


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


def squeezed_ring(
    r: ArrayLike,
    theta: ArrayLike,
    a: float,
    b: float,
    load: float,
    *,
    youngs_modulus: float,
    poisson: float,
) -> PolarState:
    r"""Thick ring squeezed by two opposite point loads on its outside, at angles 0 and pi.

    The loads are the series :math:`\sigma_r(b) = -\frac{P}{\pi b}[1 + 2 \sum_{n\,even} \cos
    n\theta]`, each term answered by :func:`lame_ring` or :func:`ring_harmonic`. The stress of a
    solid disc under the same loads is known in closed form (two simple radial fields and a
    uniform tension :math:`P/(\pi b)`); it is added, and its own series taken away term by term,
    so that the rest converges like :math:`(a/b)^{2n}` up to the outer edge. The displacement is
    the plain series: it converges within the ring and on the outer edge away from the loads.

    Parameters
    ----------
    r, theta : array_like, shapes that broadcast to (...)
        Radius [mm] and angle from the loads [rad].
    a, b : float
        Inner and outer radius. [mm]
    load : float
        Each load P over the thickness of the ring, inward positive. [N/mm]
    youngs_modulus, poisson : float
        [MPa], [-]

    Returns
    -------
    PolarState
        Arrays of shape (...). Under the loads themselves the stress is not finite.

    Raises
    ------
    ValueError
        Unless 0 < a < b.

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, art. 43 (ring) and
       art. 41 (disc), numbers from memory. Their table for a/b = 0.5 is about 0.1 to 0.5 %
       short of the series.

    Examples
    --------
    >>> ring = squeezed_ring(
    ...     [0.5, 0.5, 1], [0, np.pi / 2, np.pi / 2], 0.5, 1, np.pi / 2, youngs_modulus=1,
    ...     poisson=0.3,
    ... )
    >>> [round(float(v), 4) for v in ring.hoop[:2]], round(float(ring.hoop[2]), 3)
    ([10.1554, -8.8988], 2.928)
    """
    _require_rising(a=a, b=b)
    r, theta = np.broadcast_arrays(np.asarray(r, dtype=float), np.asarray(theta, dtype=float))
    mean = load / (np.pi * b)
    round_part = lame_ring(r, a, b, p_out=mean, youngs_modulus=youngs_modulus, poisson=poisson)
    radial, hoop = round_part.radial + mean, round_part.hoop + mean
    shear, growth, sliding = np.zeros_like(r), round_part.growth.copy(), np.zeros_like(r)
    for n in range(2, 402, 2):
        ring = ring_harmonic(
            r, theta, a, b, n, p_out=2 * mean, youngs_modulus=youngs_modulus, poisson=poisson
        )
        disc_radial, disc_hoop, disc_shear = _disc_harmonic(r / b, theta, n, 2 * mean)
        radial += ring.radial - disc_radial
        hoop += ring.hoop - disc_hoop
        shear += ring.shear - disc_shear
        growth += ring.growth
        sliding += ring.sliding
    x, y = r * np.cos(theta), r * np.sin(theta)
    sxx, syy, sxy = _squeezed_disc(x, y, b, load)
    cos, sin = np.cos(theta), np.sin(theta)
    radial += sxx * cos**2 + syy * sin**2 + 2 * sxy * sin * cos
    hoop += sxx * sin**2 + syy * cos**2 - 2 * sxy * sin * cos
    shear += (syy - sxx) * sin * cos + sxy * (cos**2 - sin**2)
    return PolarState(radial, hoop, shear, growth, sliding)


def _disc_harmonic(rho: Array, theta: Array, n: int, p: float) -> tuple[Array, Array, Array]:
    """Radial, hoop and shear stress of a solid disc under p cos(n theta), rho = r / b."""
    inner, outer = p / 2 * rho ** (n - 2), p / 2 * rho**n
    cos, sin = np.cos(n * theta), np.sin(n * theta)
    return (
        (-n * inner + (n - 2) * outer) * cos,
        (n * inner - (n + 2) * outer) * cos,
        n * (inner - outer) * sin,
    )


def _squeezed_disc(x: Array, y: Array, b: float, load: float) -> tuple[Array, Array, Array]:
    """sxx, syy, sxy of a solid disc squeezed by two loads at (b, 0) and (-b, 0)."""
    sxx = syy = np.full_like(x, load / (np.pi * b))
    sxy = np.zeros_like(x)
    for end in (b, -b):
        dx = x - end
        far = dx**2 + y**2
        with np.errstate(divide="ignore", invalid="ignore"):
            field = -2 * load / np.pi * np.abs(dx) / far**2
        sxx = sxx + field * dx**2
        syy = syy + field * y**2
        sxy = sxy + field * dx * y
    return sxx, syy, sxy


@dataclass(frozen=True, slots=True)
class ThinRing:
    """Answers of a thin ring squeezed by two opposite loads."""

    moment_at_load: float  # opens the ring under the load: tension inside [N mm/mm]
    moment_across: float  # 90 deg from the loads; negative: tension outside [N mm/mm]
    diameter_along: float  # change of the diameter between the loads [mm]
    diameter_across: float  # change of the diameter across [mm]


def thin_squeezed_ring(radius: float, wall: float, load: float, youngs_modulus: float) -> ThinRing:
    r"""Thin inextensible ring squeezed by two opposite loads.

    .. math::
        M_0 = \frac{P R}{\pi},\quad M_{90} = -P R\left(\frac12 - \frac1\pi\right),\quad
        \Delta_0 = -\left(\frac\pi4 - \frac2\pi\right)\frac{P R^3}{E I},\quad
        \Delta_{90} = \left(\frac2\pi - \frac12\right)\frac{P R^3}{E I}

    Parameters
    ----------
    radius, wall : float
        Mean radius R and radial wall h, I = h^3/12 for one mm of depth. [mm]
    load : float
        Each load P over the depth of the ring. [N/mm]
    youngs_modulus : float
        [MPa]

    Returns
    -------
    ThinRing
        Good to 1 % for R/h above 40.

    References
    ----------
    .. [1] Timoshenko, *Strength of Materials*; *Roark's Formulas for Stress and Strain*, ring
       table (from memory); derived again from the energy of bending.

    Examples
    --------
    >>> ring = thin_squeezed_ring(radius=1, wall=12 ** (1 / 3), load=1, youngs_modulus=1)
    >>> [round(v, 4) for v in (ring.moment_at_load, ring.moment_across)]
    [0.3183, -0.1817]
    >>> [round(v, 4) for v in (ring.diameter_along, ring.diameter_across)]
    [-0.1488, 0.1366]
    """
    flexibility = load * radius**3 / (youngs_modulus * wall**3 / 12)
    return ThinRing(
        load * radius / np.pi,
        -load * radius * (1 / 2 - 1 / np.pi),
        -(np.pi / 4 - 2 / np.pi) * flexibility,
        (2 / np.pi - 1 / 2) * flexibility,
    )


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


def ring_conformability(
    order: int,
    *,
    radius: float,
    radial_width: float,
    axial_height: float,
    youngs_modulus: float,
    tangential_force: float,
) -> float:
    r"""Largest amplitude of one order of a bore's shape that a piston ring can follow.

    .. math:: A_n = \frac{F_t r^3}{E I (n^2 - 1)^2}, \qquad I = h t^3 / 12

    A thin ring of even wall pressure, no gap, no gas behind it, one order at a time: several
    together can leak where each alone would not.

    Parameters
    ----------
    order : int
        n, 2 or more.
    radius : float
        r, of the bore. [mm]
    radial_width, axial_height : float
        t and h. [mm]
    youngs_modulus : float
        E. [MPa]
    tangential_force : float
        F_t, that closes the gap. [N]

    Returns
    -------
    float
        Radial. [mm]

    Raises
    ------
    ValueError
        If the order is below 2, or another value is not positive.

    References
    ----------
    .. [1] Mueller, *MTZ* 31 (1970), for the form; equal to the thin-ring limit of Michell's
       solution (:func:`ring_harmonic`) within 1 %, derived.

    Examples
    --------
    >>> ring = dict(radial_width=3.3, axial_height=1.2, youngs_modulus=120e3, tangential_force=20)
    >>> [round(ring_conformability(n, radius=41.35, **ring), 5) for n in (2, 3, 4)]
    [0.36433, 0.05123, 0.01457]
    """
    if order < 2:
        raise ValueError(f"order {order} is below 2: a ring follows any shift of the bore.")
    values = (radius, radial_width, axial_height, youngs_modulus, tangential_force)
    if not all(value > 0 for value in values):
        raise ValueError(f"a ring's sizes, modulus and force must be positive, not {values}.")
    stiffness = youngs_modulus * axial_height * radial_width**3 / 12
    return tangential_force * radius**3 / (stiffness * (order**2 - 1) ** 2)


def fitted_pressure(
    a: float,
    c: float,
    b: float,
    *,
    overlap: float,
    inner: tuple[float, float],
    outer: tuple[float, float],
    p_in: float = 0.0,
    p_out: float = 0.0,
    expansion: tuple[float, float] = (0.0, 0.0),
    rise: tuple[float, float] = (0.0, 0.0),
    thickness_ratio: float = 1.0,
) -> float:
    r"""Pressure between two rings, or a disc and a ring, that lie in one another and may part.

    The free joint surfaces would overlap by :math:`\delta + w`; what presses them apart by it is

    .. math::
        q = \max\left(0,\ \frac{\delta + c\,(\alpha_1 T_1 - \alpha_2 T_2) + w}
                 {k_1 + k_2\, t_1 / t_2}\right),\quad
        w = \frac{2 a^2 c\, p_i}{E_1 (c^2 - a^2)} + \frac{2 b^2 c\, p_o}{E_2 (b^2 - c^2)}

    with :math:`k_1, k_2` of :func:`joint_pressure`. So with a clearance :math:`-\delta` the rings
    meet at :math:`p_i = -\delta E_1 (c^2 - a^2) / (2 a^2 c)`, and each is alone before.

    Parameters
    ----------
    a, c, b : float
        Radii of the bore, the joint and the outside; a = 0 for a disc. [mm]
    overlap : float
        Outer radius of the inner ring less inner radius of the outer; less than 0 is clearance.
        [mm]
    inner, outer : (float, float)
        Young's modulus [MPa] and Poisson's ratio of each ring.
    p_in, p_out : float
        Pressure in the bore and on the outside. [MPa]
    expansion, rise : (float, float)
        Expansion [1/K] and rise of temperature [K] of the inner and of the outer ring.
    thickness_ratio : float
        t1 / t2, the inner ring's thickness over the outer's.

    Returns
    -------
    float
        Pressure on the outer face of the inner ring. [MPa]

    Raises
    ------
    ValueError
        Unless 0 <= a < c < b.

    References
    ----------
    .. [1] Timoshenko, *Strength of Materials*, Part II, 3rd ed., 1956, shrink-fit stresses (from
       memory); temperature, thickness step and clearance are derived from the same condition.

    Examples
    --------
    >>> iron, alloy = (110000, 0.26), (72400, 0.33)
    >>> fit = {"overlap": 0.05, "inner": iron, "outer": alloy}
    >>> round(fitted_pressure(45, 52, 75, **fit), 5)
    9.16679
    >>> fitted_pressure(45, 52, 75, **fit, expansion=(11e-6, 21.5e-6), rise=(100, 100))
    0.0
    """
    if a != 0:
        _require_rising(a=a, c=c, b=b)
    else:
        _require_rising(c=c, b=b)
    misfit = overlap + c * (expansion[0] * rise[0] - expansion[1] * rise[1])
    pressure = _closing_pressure(a, c, b, misfit, p_in, p_out, inner, outer, thickness_ratio)
    return max(0.0, pressure)


@dataclass(frozen=True, slots=True)
class PinInHole:
    """A pin pressed against the side of a hole that is a little wider."""

    load: float  # per depth [N/mm]
    half_angle: float  # of contact, either side of the load [rad]
    peak: float  # largest pressure [MPa]


def pin_in_hole(
    half_angle: float, radius: float, clearance: float, youngs_modulus: float
) -> PinInHole:
    r"""Load and largest pressure of a pin and a wide plate that touch over a given angle.

    Same material, no friction, the load at the middle of the pin, plane stress. With
    :math:`b = \tan(\varepsilon/2)`,

    .. math::
        \frac{E\, \Delta R}{Q} = \frac{2 (1 - b^2)}{\pi b^2}
            - \frac{\ln(b^2 + 1)}{\pi b^2 (b^2 + 1)},\qquad
        \frac{R\, p_0}{Q} = \frac{2 b}{\pi \sqrt{b^2 + 1}}
            + \frac{1}{2 \pi b^2 (b^2 + 1)} \ln\frac{\sqrt{b^2 + 1} + b}{\sqrt{b^2 + 1} - b},

    which for a small angle are those of Hertz, :math:`a^2 = 4 Q R^2/(\pi E^* \Delta R)` and
    :math:`p_0 = 2 Q/(\pi a)` with :math:`E^* = E/2`.

    Parameters
    ----------
    half_angle : float
        Of contact, either side of the load. [rad]
    radius : float
        Of the hole. [mm]
    clearance : float
        Radius of the hole less that of the pin. [mm]
    youngs_modulus : float
        [MPa]

    Raises
    ------
    ValueError
        If the angle is so large that no load makes the contact so wide.

    References
    ----------
    .. [1] Persson, *On the stress distribution of cylindrical elastic bodies in contact*, 1964.
    .. [2] Ciavarella & Decuzzi, *Int. J. Solids Struct.* 38 (2001) 4507-4523 (both from memory;
       a series for both bodies confirms them, see the tests).

    Examples
    --------
    >>> pin = pin_in_hole(0.02, radius=10, clearance=0.1, youngs_modulus=70000)
    >>> round(float(pin.peak * np.pi * 10 * 0.02 / (2 * pin.load)), 3)  # over that of Hertz
    1.0
    """
    b = np.tan(half_angle / 2)
    root = np.sqrt(b**2 + 1)
    per_load = (2 * (1 - b**2) - np.log(root**2) / root**2) / (np.pi * b**2)
    if not per_load > 0:
        raise ValueError(f"half_angle = {half_angle:g} rad is wider than any load can press it.")
    load = youngs_modulus * clearance / per_load
    share = 2 * b / (np.pi * root) + np.log((root + b) / (root - b)) / (2 * np.pi * b**2 * root**2)
    return PinInHole(load, half_angle, float(share * load / radius))


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
    _require_rising(a=a, b=b)
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
    _require_rising(**{f"r{i}": float(radius) for i, radius in enumerate(r)})
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
    _require_rising(a=a, b=b)

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

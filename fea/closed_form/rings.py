"""Rings under pressure, pressed by harmonics of it, and squeezed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.closed_form.states import PolarState, RingState, require_rising

Array = NDArray[np.float64]


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
    require_rising(a=a, b=b)
    r = np.asarray(r, dtype=float)
    mean = (p_in * a**2 - p_out * b**2) / (b**2 - a**2)
    spread = (p_in - p_out) * a**2 * b**2 / (b**2 - a**2) / r**2
    growth = r * ((1 - poisson) * mean + (1 + poisson) * spread) / youngs_modulus
    return RingState(mean - spread, mean + spread, growth)


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
    require_rising(a=a, b=b)
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
    require_rising(a=a, b=b)
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
    require_rising(a=a, b=b)
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

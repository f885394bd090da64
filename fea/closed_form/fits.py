"""Rings that press on one another, and a pin in a hole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fea.closed_form.states import require_rising


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
    require_rising(a=a, c=c, b=b)
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
        require_rising(a=a, c=c, b=b)
    else:
        require_rising(c=c, b=b)
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

"""Strength of notched plates by the critical distance, in closed form."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class NotchStrength:
    """Strength with the notch over that of plain metal, by stress far from the notch."""

    point: float  # stress at L / 2 from the root counts
    line: float  # mean over 2 L from the root counts


def strength_with_hole(length: float, radius: float) -> NotchStrength:
    r"""Round hole in an endless plate that is pulled.

    Kirsch's stress beside the hole, at the distance x from its edge, is
    :math:`\sigma/S = 1 + \rho^2/2 + 3\rho^4/2` with :math:`\rho = r/(r + x)`; with
    :math:`d = 2L/r` its mean over :math:`2L` is

    .. math:: \frac{\bar\sigma}{S}
        = 1 + \frac{1}{d} \left(1 - \frac{1}{2 (1 + d)} - \frac{1}{2 (1 + d)^3}\right)

    Parameters
    ----------
    length : float
        Critical distance L. [mm]
    radius : float
        [mm]

    References
    ----------
    .. [1] Kirsch, *Z. VDI* 42 (1898); the two methods as in :mod:`fea.strength.distance`; derived.

    Examples
    --------
    >>> hole = strength_with_hole(1.0, 1.0)
    >>> round(hole.point, 6), round(hole.line, 6)
    (0.658537, 0.710526)
    """
    rho, d = radius / (radius + length / 2), 2 * length / radius
    point = 1 + rho**2 / 2 + 1.5 * rho**4
    line = 1 + (1 - 0.5 / (1 + d) - 0.5 / (1 + d) ** 3) / d
    return NotchStrength(1 / point, 1 / line)


def strength_with_edge_notch(length: float, radius: float, depth: float) -> NotchStrength:
    r"""Slender notch with a round root in the edge of a wide plate that is pulled along it.

    Of a crack as deep, :math:`K = 1.1215\, S \sqrt{\pi D}`; at the distance x from the root

    .. math:: \sigma = \frac{2 K (x + r)}{\sqrt{\pi}\, (2 x + r)^{3/2}},\qquad
              \bar\sigma = \frac{2 K}{\sqrt{\pi (4 L + r)}}

    Good where the radius is small beside the depth.

    Parameters
    ----------
    length : float
        Critical distance L. [mm]
    radius, depth : float
        Of the root, and of the notch from the edge. [mm]

    References
    ----------
    .. [1] Creager & Paris, *Int. J. Fract. Mech.* 3 (1967) 247-252 (from memory); the mean is
       derived.

    Examples
    --------
    >>> notch = strength_with_edge_notch(0.5, 1.0, 4.0)
    >>> round(notch.point, 5), round(notch.line, 5)
    (0.32762, 0.3861)
    """
    over_stress = 1.1215 * np.sqrt(np.pi * depth)
    point = 2 * over_stress * (length / 2 + radius) / (np.sqrt(np.pi) * (length + radius) ** 1.5)
    line = 2 * over_stress / np.sqrt(np.pi * (4 * length + radius))
    return NotchStrength(float(1 / point), float(1 / line))


def strength_with_crack(length: float, half_length: float) -> NotchStrength:
    r"""Crack in the middle of an endless plate that is pulled across it.

    Beyond its tip :math:`\sigma/S = (a + x) / \sqrt{(a + x)^2 - a^2}`, whose mean over :math:`2L`
    is :math:`\sqrt{(a + L)/L}`: that of El Haddad, for whom the crack is longer by L.

    Parameters
    ----------
    length : float
        Critical distance L. [mm]
    half_length : float
        [mm]

    References
    ----------
    .. [1] Westergaard, *J. Appl. Mech.* 6 (1939) A49-A53; El Haddad, Topper & Smith, *Eng. Fract.
       Mech.* 11 (1979) 573-584 (both from memory).

    Examples
    --------
    >>> crack = strength_with_crack(1.0, 1.0)
    >>> round(crack.point, 6), round(crack.line, 6)
    (0.745356, 0.707107)
    """
    at = half_length + length / 2
    point = np.sqrt(at**2 - half_length**2) / at
    return NotchStrength(float(point), float(np.sqrt(length / (half_length + length))))

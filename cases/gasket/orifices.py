"""Openings as orifices: how much each lets through, side by side and one behind another.

The flow through an opening of area A under a pressure drop is C A sqrt(2 dp / rho). C comes of the
loss coefficient of a thick-edged orifice in a wide wall, so that a thin opening has that of a sharp
orifice and a deep slot that of a short tube. Drops add in series, flows add side by side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

FRICTION = 0.02
"""Of the wall of an opening, Darcy's (as Idelchik takes it)."""


def loss(depth: float, diameter: float) -> float:
    r"""Loss coefficient of an opening with sharp edges in a wide wall, by the speed in it.

    .. math:: \zeta = 0.5 + \tau + 1 + \lambda l/d,\quad
              \tau = (2.4 - l/d)\,10^{-\varphi},\quad
              \varphi = 0.25 + 0.535\,(l/d)^8 / (0.05 + (l/d)^7)

    Parameters
    ----------
    depth : float
        Of the opening, l. [mm]
    diameter : float
        Hydraulic, four times its area over its edge, d. [mm]

    References
    ----------
    .. [1] Idelchik, *Handbook of Hydraulic Resistance*, 3rd ed., ch. 4, as two public codes have it
       (opened there, not in print; a third, the Modelica standard library, has power 8 below, off
       the table of the same chapter at l/d = 2 as remembered, tau = 0.02), for Reynolds numbers
       from some 1e4 on. No open source settles it; C is by 2.2 % at most another.

    Examples
    --------
    >>> [round(loss(of, 1.0), 2) for of in (0.0, 0.5, 1.0, 2.0)]
    [2.85, 2.49, 1.76, 1.56]
    """
    ratio = depth / diameter
    short = min(ratio, 2.4)
    power = 0.25 + 0.535 * short**8 / (0.05 + short**7)
    return 1.5 + (2.4 - short) * 10**-power + FRICTION * ratio


def discharge(depth: float, diameter: float) -> float:
    """Discharge coefficient C of an opening, over its whole area.

    Examples
    --------
    >>> round(discharge(0.0, 6.0), 3), round(discharge(12.0, 6.0), 3)
    (0.592, 0.801)
    """
    return loss(depth, diameter) ** -0.5


def in_series(*passing: float) -> float:
    """C A of openings one behind another; 0 where one is shut, an infinite one counts nothing.

    Examples
    --------
    >>> round(in_series(3.0, 4.0, math.inf), 3)
    2.4
    """
    if min(passing) <= 0:
        return 0.0
    return sum(of**-2 for of in passing if math.isfinite(of)) ** -0.5


def side_by_side(passing: Iterable[float]) -> float:
    """C A of openings beside each other."""
    return sum(passing)


def flow_through(passing: float, drop: float, density: float) -> float:
    """Flow through an opening. [mm3/s].

    Parameters
    ----------
    passing : float
        C A. [mm2]
    drop : float
        Of pressure. [MPa]
    density : float
        [kg/m3]

    Examples
    --------
    >>> round(6e-5 * flow_through(0.61 * 28.274, 0.02, 965.0), 3)  # 6 mm, 20 kPa: L/min
    6.662
    """
    return 1e3 * passing * math.sqrt(2e6 * drop / density)


def drop_through(passing: float, flow: float, density: float) -> float:
    """Drop of pressure that drives a flow [mm3/s] through C A [mm2]. [MPa]."""
    return 0.5e-6 * density * (1e-3 * flow / passing) ** 2

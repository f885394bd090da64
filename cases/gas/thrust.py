"""Side thrust of the piston on the bore wall, by crank angle.

The engine is seen from the end where bore 1 is; from there the deck's 12:00 lies to the left. mm,
MPa, N, g and rpm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import ArrayLike

from cases.gas.cylinder import Array, Crank
from cases.gas.wall_load import WallLoad

if TYPE_CHECKING:
    from cases.case import Case
    from cases.gas.solve import GasLoad

Rotation = Literal["clockwise", "anticlockwise"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Piston:
    """What slides in the bore."""

    mass: float  # with pin and rings [g]
    pin_height: float  # of the crown above the pin [mm]
    rotation: Rotation = "clockwise"  # of the crank, seen from the end of bore 1


@dataclass(frozen=True, eq=False, kw_only=True)
class SideThrust:
    """Force of the piston on the bore wall at some crank angles, shape (n,) each."""

    deg: Array
    force: Array  # > 0 on the side that the firing stroke presses on [N]
    depth: Array  # of the pin below the deck [mm]
    clock: float  # of that side; a force < 0 presses on the other one [h]

    def largest(self) -> SideThrust:
        """The same at the angle of the largest force to the side of the firing stroke alone."""
        at = slice(most := int(np.argmax(self.force)), most + 1)
        return replace(self, deg=self.deg[at], force=self.force[at], depth=self.depth[at])

    def side(self) -> Array:
        """Clock position that is pressed on at each angle, shape (n,). [h]."""
        return np.where(self.force >= 0, self.clock, (self.clock + 6) % 12)


def acceleration(crank: Crank, speed: float, deg: ArrayLike) -> Array:
    r"""Acceleration of the piston, away from the head positive.

    .. math:: a = \omega^2 (c + (c^2 - s^2) / l + s^2 c^2 / l^3),
              \qquad s = R \sin\theta,\ c = R \cos\theta,\ l = \sqrt{L^2 - s^2}

    the second derivative of :meth:`Crank.depth` (derived).

    Parameters
    ----------
    crank : Crank
    speed : float
        [rpm]
    deg : array_like, shape (...)

    Returns
    -------
    ndarray, shape (...)
        [mm/s2].
    """
    theta, half = np.deg2rad(deg), crank.stroke / 2
    s, c = half * np.sin(theta), half * np.cos(theta)
    along = np.sqrt(crank.rod**2 - s**2)
    omega = 2 * math.pi * speed / 60
    return np.asarray(omega**2 * (c + (c**2 - s**2) / along + (s * c) ** 2 / along**3))


def side_thrust(load: WallLoad, piston: Piston, speed: float, deg: ArrayLike) -> SideThrust:
    r"""Side thrust of the piston at some crank angles.

    .. math:: N = (p A - m a) \tan\varphi, \qquad \sin\varphi = (R / L) \sin\theta

    Gas pushes the piston down with what it has above the crankcase, factor and scatter counted;
    part of that speeds the piston up. The rest leans on the rod. After the top the rod's big end
    is ahead on the side that the crank turns to, so the piston is pushed to the other one: crank
    clockwise from the end of bore 1, the side at 12:00. Friction, an offset pin and the piston's
    tilt are not counted; where the inertia is more than the gas, the force changes sides.

    Parameters
    ----------
    load : WallLoad
    piston : Piston
    speed : float
        [rpm]
    deg : array_like, shape (n,)
        Crank angles after the top.

    Returns
    -------
    SideThrust

    References
    ----------
    .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 2.2 and 13.6 (from
       memory).
    """
    deg = np.asarray(deg, dtype=float)
    crank = load.curve.crank
    sine = crank.stroke / 2 / crank.rod * np.sin(np.deg2rad(deg))
    inertia = 1e-6 * piston.mass * acceleration(crank, speed, deg)  # g mm/s2 are uN
    force = (load.pressure_at(deg) * crank.area - inertia) * sine / np.sqrt(1 - sine**2)
    return SideThrust(
        deg=deg,
        force=force,
        depth=load.crown_below_deck + crank.depth(deg) + piston.pin_height,
        clock=0.0 if piston.rotation == "clockwise" else 6.0,
    )


def thrust_of(case: Case, gas: GasLoad, deg: ArrayLike | None = None) -> SideThrust:
    """Side thrust in a case whose gas is known by crank angle.

    Parameters
    ----------
    case : Case
    gas : GasLoad
        Of the same case, not a static one.
    deg : array_like, shape (n,), optional
        Crank angles after the top; those of the firing stroke if left out.
    """
    from cases.gas.given import gas_given

    engine = gas_given(case).engine
    assert engine is not None
    assert gas.wall_load is not None
    angles = np.arange(0.0, 180.5, 0.5) if deg is None else deg
    return side_thrust(gas.wall_load, engine.piston, engine.engine.speed, angles)

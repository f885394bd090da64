"""A cylinder: its crank, its burn, its gas and its walls.

Crank angles are in degrees after the top of the firing stroke. mm, MPa, K, J and W.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

GAS_CONSTANT = 287.05
"""Specific gas constant of dry air: 8314.46 / 28.965 (CODATA 2018; molar mass from memory).
The charge is taken as air. [J/(kg K)]."""
ZERO_CELSIUS = 273.15  # exact: definition of the Celsius scale [K]
ATMOSPHERE = 0.101325
"""Standard atmosphere, exact (CGPM 1954). [MPa]."""

GAMMA_300, GAMMA_SLOPE = 1.38, -8e-5
"""Ratio of the specific heats at 300 K, and its change per kelvin: Gatowski et al., SAE 841359
(1984), from memory. Not sure, so an input: 1.392 and -8.13e-5 are given for it elsewhere."""
BURNED_AT_END = 0.999
"""Share that has burned when the duration ends; a = -ln(1 - share) = 6.908 (common practice)."""
WIEBE_SHAPE = 2.0
"""Wiebe's exponent m of a spark-ignition engine (common practice; Heywood 1988, sec. 9.2)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Crank:
    """Cylinder, crank and connecting rod; the rod is longer than half the stroke."""

    bore: float  # [mm]
    stroke: float  # [mm]
    rod: float  # between its eyes [mm]
    compression_ratio: float  # largest over smallest volume

    @property
    def area(self) -> float:
        """Area of the bore. [mm2]."""
        return math.pi * self.bore**2 / 4

    @property
    def swept(self) -> float:
        """Swept volume. [mm3]."""
        return self.area * self.stroke

    @property
    def clearance(self) -> float:
        """Volume above the piston at the top. [mm3]."""
        return self.swept / (self.compression_ratio - 1)

    def depth(self, deg: ArrayLike) -> Array:
        r"""Depth of the piston below its top position.

        .. math:: x = R + L - (R \cos\theta + \sqrt{L^2 - R^2 \sin^2\theta})

        Parameters
        ----------
        deg : array_like, shape (...)
            Crank angle after the top. [deg]

        Returns
        -------
        ndarray, shape (...)
            [mm].

        References
        ----------
        .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 2.2.

        Examples
        --------
        >>> Crank(bore=86, stroke=86, rod=143.5, compression_ratio=10).depth([0, 90, 180])
        array([ 0.     , 49.59401, 86.     ])
        """
        theta, crank = np.deg2rad(deg), self.stroke / 2
        reach = crank * np.cos(theta) + np.sqrt(self.rod**2 - (crank * np.sin(theta)) ** 2)
        return np.asarray(crank + self.rod - reach)

    def volume(self, deg: ArrayLike) -> Array:
        """Volume of the gas, shape (...). [mm3]."""
        return self.clearance + self.area * self.depth(deg)

    def motion(self, deg: float) -> tuple[float, float]:
        """Volume [mm3] and its change with the crank angle [mm3/deg] at one angle."""
        theta, crank = math.radians(deg), self.stroke / 2
        sine, cosine = crank * math.sin(theta), crank * math.cos(theta)
        along = math.sqrt(self.rod**2 - sine**2)
        volume = self.clearance + self.area * (crank + self.rod - cosine - along)
        return volume, self.area * (sine + sine * cosine / along) * math.pi / 180


@dataclass(frozen=True, kw_only=True, slots=True)
class Burn:
    r"""Wiebe's burn, x = 1 - exp(-a z^(m+1)), z the share of the duration that is over.

    References
    ----------
    .. [1] Heywood, *Internal Combustion Engine Fundamentals*, 1988, sec. 9.2; Stone,
       *Introduction to Internal Combustion Engines* (from memory).
    """

    start: float  # [deg]
    duration: float  # [deg]
    heat: float  # [J]
    burned_at_end: float = BURNED_AT_END
    shape: float = WIEBE_SHAPE  # m

    @classmethod
    def centred(cls, centre: float, duration: float, heat: float) -> Burn:
        """The burn of which half is over at the angle ``centre`` [deg]; heat in J."""
        half = (math.log(2) / _wiebe_rate(BURNED_AT_END)) ** (1 / (WIEBE_SHAPE + 1))
        return cls(start=centre - half * duration, duration=duration, heat=heat)

    @property
    def end(self) -> float:
        """Where the duration ends; the little that is left burns after it. [deg]."""
        return self.start + self.duration

    def burned(self, deg: ArrayLike) -> Array:
        """Share that has burned, shape (...).

        Examples
        --------
        >>> burn = Burn(start=-20, duration=40, heat=1000.0)
        >>> burn.burned([-20, 0, 20, 90])
        array([0.     , 0.57831, 0.999  , 1.     ])
        """
        z = np.maximum((np.asarray(deg, dtype=float) - self.start) / self.duration, 0.0)
        return 1 - np.exp(-_wiebe_rate(self.burned_at_end) * z ** (self.shape + 1))

    def rate(self, deg: float) -> float:
        """Heat set free at one angle. [J/deg]."""
        z = (deg - self.start) / self.duration
        if z <= 0:
            return 0.0
        a, m = _wiebe_rate(self.burned_at_end), self.shape
        return self.heat * a * (m + 1) * z**m * math.exp(-a * z ** (m + 1)) / self.duration


def _wiebe_rate(burned_at_end: float) -> float:
    """Wiebe's a = -ln(1 - share burned at the end)."""
    return -math.log1p(-burned_at_end)


@dataclass(frozen=True, kw_only=True, slots=True)
class Capacity:
    """Ratio of the specific heats, linear in the temperature; cv = R / (gamma - 1)."""

    gamma_300: float = GAMMA_300
    slope: float = GAMMA_SLOPE  # [1/K]

    def gamma(self, temperature: float) -> float:
        """Ratio of the specific heats at a temperature [K]."""
        return self.gamma_300 + self.slope * (temperature - 300.0)

    def cv(self, temperature: float) -> float:
        """Specific heat at constant volume. [J/(kg K)]."""
        return GAS_CONSTANT / (self.gamma(temperature) - 1)

    def energy(self, low: float, high: float) -> float:
        """Internal energy from one temperature to another, the integral of cv. [J/kg].

        Examples
        --------
        >>> Capacity(gamma_300=1.4, slope=0.0).energy(300.0, 400.0)
        71762.5
        """
        if self.slope == 0:
            return self.cv(low) * (high - low)
        share = (self.gamma(high) - 1) / (self.gamma(low) - 1)
        return GAS_CONSTANT / self.slope * math.log(share)


@dataclass(frozen=True, kw_only=True, slots=True)
class Walls:
    """What the gas gives heat to, head, piston and bore alike."""

    temperature: float  # [K]
    speed: float  # of the crank [rpm]


def woschni(bore: float, pressure: ArrayLike, temperature: ArrayLike, velocity: ArrayLike) -> Array:
    r"""Film coefficient between gas and wall.

    .. math:: h = 3.26\, B^{-0.2} p^{0.8} T^{-0.55} w^{0.8}

    in W/(m2 K), with m, kPa, K and m/s.

    Parameters
    ----------
    bore : float
        [mm]
    pressure, temperature, velocity : array_like, shape (...)
        Of the gas. [MPa], [K], [m/s]

    Returns
    -------
    ndarray, shape (...)
        [W/(mm2 K)].

    References
    ----------
    .. [1] Woschni, SAE 670931, 1967; Heywood, *Internal Combustion Engine Fundamentals*, 1988,
       sec. 12.4 (constants from memory).

    Examples
    --------
    >>> float(1e6 * woschni(100.0, 5.0, 2000.0, 20.0))
    790.04
    """
    p, t, w = (np.asarray(value, dtype=float) for value in (pressure, temperature, velocity))
    film = 3.26e-6 * (bore / 1000) ** -0.2 * (1000 * p) ** 0.8 * t**-0.55 * w**0.8
    return np.asarray(film)

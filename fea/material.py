"""What a part is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Points = tuple[tuple[float, float], ...]
"""Temperature [degC] and a value there; linear between, constant beyond."""
Ranges = tuple[tuple[float, float, float], ...]
"""Temperature [degC], least and most of a value there; linear between, constant beyond."""
LEAST_LEFT = 0.05
"""Share of a strength at 20 degC that is left at the least, however hot."""

REFERENCE = 20.0
"""Temperature at which metal has the size of the drawing, and the modulus given. [degC]."""
ABSOLUTE_ZERO = -273.15  # [degC], by the definition of the scale


@dataclass(frozen=True, slots=True)
class Fatigue:
    """The straight line, in logarithms, of amplitude against cycles to failure at 20 degC.

    Basquin: amplitude = strength (cycles / at)^exponent, of stress that is fully reversed.

    Raises
    ------
    ValueError
        If the strength or its cycles are not positive, the exponent not negative, the scatter not
        from 0 to below 1, or the thresholds not positive and rising.
    """

    strength: float  # amplitude that half of the bars survive [MPa]
    cycles: float  # that they survive it for
    exponent: float  # of the line through that point, negative
    scatter: float  # standard deviation of the strength as a share of it
    # range of stress intensity that a long crack bears fully reversed: least, usual and most, as
    # far as it is known; None where it is not [MPa sqrt(m)]
    threshold: tuple[float, float, float] | None = None

    def __post_init__(self) -> None:
        for name in ("strength", "cycles"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"Fatigue.{name} = {value:g} must be positive.")
        if not (math.isfinite(self.exponent) and self.exponent < 0):
            raise ValueError(
                f"Fatigue.exponent = {self.exponent:g} must be negative: less stress is borne for "
                "more cycles."
            )
        if not 0 <= self.scatter < 1:
            raise ValueError(f"Fatigue.scatter = {self.scatter:g} is outside 0 to below 1.")
        if self.threshold and not 0 < self.threshold[0] <= self.threshold[1] <= self.threshold[2]:
            raise ValueError(
                f"Fatigue.threshold = {', '.join(f'{of:g}' for of in self.threshold)} must be "
                "positive, the least, the usual and the largest value in this order."
            )


@dataclass(frozen=True, slots=True)
class Material:
    """A linear elastic material that conducts and expands, with its plane-stress pair.

    Raises
    ------
    ValueError
        If Young's modulus or the density is not positive, Poisson's ratio not from 0 to below 0.5,
        expansion or conductivity negative, if the points at temperatures don't rise in temperature
        or have a value that is not positive, if the tensile strength is below the yield strength
        somewhere, or if the fatigue strength is not below the tensile strength.

    Examples
    --------
    >>> steel = Material("steel", 210_000.0, 0.3, expansion=12e-6)
    >>> round(steel.lam), round(steel.mu)
    (69231, 80769)
    >>> round(float(steel.thermal_stress(120.0)))
    360
    """

    name: str
    youngs_modulus: float  # at 20 degC [MPa]
    poisson: float
    source: str = ""
    expansion: float = 0.0  # from 20 degC [1/K]
    conductivity: float = 0.0  # [W/(mm K)]
    softening: Points = ()  # Young's modulus as a share of that at 20 degC, by temperature
    yield_points: Points = ()  # yield strength by temperature [MPa]
    tensile_points: Points = ()  # ultimate tensile strength by temperature [MPa]
    strength_range: Ranges = ()  # what strengths when hot may be, over those points
    kept_points: Points = ()  # share of its strengths at 20 degC that is left once it was hot
    fatigue: Fatigue | None = None
    density: float | None = None  # None where it is not known [g/mm3]
    cast: bool = False  # so that pores of its own casting weaken it
    process: str = ""  # how it is made; empty where that is not told
    notes: tuple[str, ...] = ()  # what is to be said where its strengths count
    from_memory: tuple[int, int] = (0, 0)  # numbers of its strengths that are, and all of them
    unsure: float = 0.0  # share that its strengths on record may be off by, either way
    misfit: float = 0.0  # strain at 20 degC by which it is larger than the room it is held in

    def __post_init__(self) -> None:
        if not (math.isfinite(self.youngs_modulus) and self.youngs_modulus > 0):
            raise ValueError(
                f"{self.name}: youngs_modulus = {self.youngs_modulus:g} MPa must be positive."
            )
        if not 0 <= self.poisson < 0.5:
            raise ValueError(f"{self.name}: poisson = {self.poisson:g} is outside 0 to 0.5.")
        for name, unit in (("expansion", "1/K"), ("conductivity", "W/(mm K)")):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{self.name}: {name} = {value:g} {unit} must not be negative.")
        if self.density is not None and not (math.isfinite(self.density) and self.density > 0):
            raise ValueError(f"{self.name}: density = {self.density:g} g/mm3 must be positive.")
        for name in ("softening", "yield_points", "tensile_points"):
            self._check_points(name, getattr(self, name))
        if self.yield_points and self.tensile_points:
            for temperature, _ in (*self.yield_points, *self.tensile_points):
                least = _between(self.yield_points, temperature)
                most = _between(self.tensile_points, temperature)
                if most < least:
                    raise ValueError(
                        f"{self.name}: the tensile strength of {most:g} MPa at {temperature:g} "
                        f"degC is below the yield strength of {least:g} MPa. Metal yields before "
                        "it breaks: exchange the two, or correct one."
                    )
        if self.fatigue and self.tensile_points:
            most = self.tensile_strength(REFERENCE)
            if self.fatigue.strength >= most:
                raise ValueError(
                    f"{self.name}: the fatigue strength of {self.fatigue.strength:g} MPa is not "
                    f"below the tensile strength of {most:g} MPa. It is an amplitude, half of the "
                    "stress range."
                )

    def _check_points(self, name: str, points: Points) -> None:
        for temperature, value in points:
            if not (math.isfinite(temperature) and temperature >= ABSOLUTE_ZERO):
                raise ValueError(
                    f"{self.name}: {name} at {temperature:g} degC, which is no temperature above "
                    f"{ABSOLUTE_ZERO:g} degC."
                )
            if not (math.isfinite(value) and value > 0):
                raise ValueError(
                    f"{self.name}: {name} = {value:g} at {temperature:g} degC must be positive."
                )
        for (low, _), (high, _) in pairwise(points):
            if not low < high:
                raise ValueError(
                    f"{self.name}: {name} at {low:g} degC stands before {high:g} degC. Give the "
                    "temperatures in rising order, each once."
                )

    @property
    def lam(self) -> float:
        """Plane-stress E nu / (1 - nu^2), from sigma_z = 0 in Hooke's law. [MPa]."""
        return self.youngs_modulus * self.poisson / (1 - self.poisson**2)

    @property
    def mu(self) -> float:
        """Shear modulus E / (2 (1 + nu)). [MPa]."""
        return self.youngs_modulus / (2 * (1 + self.poisson))

    def stiffness_share(self, temperature: ArrayLike) -> Array:
        """Young's modulus over that at 20 degC, shape (...), of temperatures (...) [degC].

        Poisson's ratio is taken as constant, so lam and mu change alike. 1 without ``softening``.
        """
        if not self.softening:
            return np.ones(np.shape(temperature))
        return _between(self.softening, temperature)

    def yield_strength(self, temperature: ArrayLike) -> Array:
        """Yield strength, shape (...), at temperatures (...) [degC]. [MPa].

        Beyond the last point it falls on as between the last two, as metal doesn't stay as strong;
        a strength that is known at one temperature only is the same at all.

        Raises
        ------
        ValueError
            If the material has no ``yield_points``.
        """
        if not self.yield_points:
            raise ValueError(f"{self.name}: no yield strength is known.")
        return _falling(self.yield_points, temperature)

    def tensile_strength(self, temperature: ArrayLike) -> Array:
        """Ultimate tensile strength, shape (...), at temperatures (...) [degC]. [MPa].

        Beyond the last point as :meth:`yield_strength`.

        Raises
        ------
        ValueError
            If the material has no ``tensile_points``.
        """
        if not self.tensile_points:
            raise ValueError(f"{self.name}: no tensile strength is known.")
        return _falling(self.tensile_points, temperature)

    def strength_drawn(self, drawn: ArrayLike, temperature: ArrayLike) -> Array:
        """Strength over that of the points, where it is somewhere in the range of what it may be.

        Parameters
        ----------
        drawn : array_like, shape (...)
            -1 is the least, 0 the points, 1 the most.
        temperature : array_like, shape (...)
            [degC]

        Returns
        -------
        ndarray, shape (...)
            1 without ``strength_range``.
        """
        drawn, temperature = np.asarray(drawn, float), np.asarray(temperature, float)
        if not self.strength_range:
            return np.ones(np.broadcast_shapes(drawn.shape, temperature.shape))
        at, low, high = np.array(self.strength_range).T
        least, most = np.interp(temperature, at, low), np.interp(temperature, at, high)
        return 1 + np.where(drawn < 0, (1 - least) * drawn, (most - 1) * drawn)

    def kept(self, temperature: ArrayLike) -> Array:
        """Share of the strengths at 20 degC that is left there of metal that has been hot.

        Parameters
        ----------
        temperature : array_like, shape (...)
            That it has been at. [degC]

        Returns
        -------
        ndarray, shape (...)
            1 where it is not known. Beyond the last point as :meth:`yield_strength`.
        """
        if not self.kept_points:
            return np.ones(np.shape(temperature))
        return _falling(self.kept_points, temperature)

    def thermal_stress(self, temperature: ArrayLike) -> Array:
        r"""Pressure on all sides that keeps a plate at the size of the drawing.

        .. math:: \frac{E(T)\, (\alpha\, (T - 20) + m)}{1 - \nu}
                  = 2 (\lambda + \mu) \frac{E(T)}{E(20)} (\alpha\, (T - 20) + m), \quad
                  m \text{ the misfit}

        Parameters
        ----------
        temperature : array_like, shape (...)
            [degC]

        Returns
        -------
        ndarray, shape (...)
            [MPa]

        References
        ----------
        .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, thermal stress, plane
           stress (from memory).
        """
        rise = np.asarray(temperature, dtype=float) - REFERENCE
        held = 2 * (self.lam + self.mu) * (self.expansion * rise + self.misfit)
        return np.asarray(held * self.stiffness_share(temperature))


def _falling(points: Points, temperature: ArrayLike) -> Array:
    """A strength: beyond the last point it falls on as between the last two, to ``LEAST_LEFT``."""
    found = _between(points, temperature)
    if len(points) < 2:
        return found
    (before, higher), (last, lower) = points[-2:]
    slope = (lower - higher) / (last - before)
    hotter = np.maximum(np.asarray(temperature, dtype=float) - last, 0)
    fallen = lower + min(slope, 0.0) * hotter
    return np.asarray(
        np.where(hotter > 0, np.maximum(fallen, min(lower, LEAST_LEFT * points[0][1])), found)
    )


def _between(points: Points, temperature: ArrayLike) -> Array:
    at, values = np.array(points).T
    return np.asarray(np.interp(np.asarray(temperature, dtype=float), at, values))

"""What takes heat to metal and from it: films, and heat that hangs on the wall as boiling does."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.heat.surfaces import Underside, paths_of
from fea.material import ABSOLUTE_ZERO

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Film:
    """A surface that takes heat in proportion to how much warmer it is than its surroundings.

    Raises
    ------
    ValueError
        If the coefficient is negative, or the temperature below absolute zero.
    """

    coefficient: float  # [W/(mm2 K)]; 2000 W/(m2 K) are 2e-3
    temperature: float  # [degC]

    def __post_init__(self) -> None:
        _require_coefficient("film coefficient", self.coefficient)
        if not (math.isfinite(self.temperature) and self.temperature >= ABSOLUTE_ZERO):
            raise ValueError(
                f"film temperature {self.temperature:g} degC is not above absolute zero, "
                f"{ABSOLUTE_ZERO:g} degC."
            )

    def at(self, wall: Array) -> tuple[Array, Array]:
        """Coefficient and temperature at walls of temperatures [degC], each of their shape."""
        return np.full_like(wall, self.coefficient), np.full_like(wall, self.temperature)


@dataclass(frozen=True, eq=False, slots=True)
class CurvedFilm:
    """A surface that takes heat by a curve of the wall's temperature, as water does that boils.

    Between the points of the curve, and on beyond its ends, the heat flux is linear.

    Attributes
    ----------
    wall : ndarray, shape (k,)
        Rising. [degC]
    flux : ndarray, shape (k,)
        Out of the metal, rising. [W/mm2]

    Raises
    ------
    ValueError
        If there are fewer than two points, or they don't rise.
    """

    wall: Array
    flux: Array

    def __post_init__(self) -> None:
        columns = self.wall, self.flux
        rising = all(np.isfinite(of).all() and (np.diff(of) > 0).all() for of in columns)
        if len(self.wall) < 2 or self.wall.shape != self.flux.shape or not rising:
            raise ValueError("heat flux and wall temperature of a film must rise, point by point.")

    def at(self, wall: Array) -> tuple[Array, Array]:
        """Coefficient and temperature of the film that touches the curve at walls.

        Parameters
        ----------
        wall : ndarray, shape (...)
            [degC]

        Returns
        -------
        coefficient, temperature : ndarray, shape (...)
            [W/(mm2 K)], [degC]
        """
        place = np.clip(np.searchsorted(self.wall, wall), 1, len(self.wall) - 1)
        slope = (np.diff(self.flux) / np.diff(self.wall))[place - 1]
        return slope, self.wall[place] - self.flux[place] / slope

    def flux_at(self, wall: ArrayLike) -> Array:
        """Heat flux out of walls of temperatures, shape (...) [degC]. [W/mm2]."""
        at = np.asarray(wall, dtype=float)
        coefficient, temperature = self.at(at)
        return np.asarray(coefficient * (at - temperature))


@dataclass(frozen=True, slots=True, kw_only=True)
class Films:
    """What takes heat to the metal and from it; a film that is None passes none.

    Raises
    ------
    ValueError
        If the heat flux is no number, or a conductance is negative.
    """

    gas: Film | float  # film on the bores, or heat flux into them [W/mm2]
    coolant: Film | CurvedFilm | None = None
    head: Film | None = None
    outside: Film | None = None
    joints: Mapping[str, float] = field(default_factory=dict)  # by part cut loose [W/(mm2 K)]
    undersides: tuple[Underside, ...] = ()  # that the coolant wets

    def __post_init__(self) -> None:
        if not isinstance(self.gas, Film) and not math.isfinite(self.gas):
            raise ValueError(f"heat flux {self.gas:g} W/mm2 must be finite.")
        for part, conductance in self.joints.items():
            _require_coefficient(f"conductance of the joint of the {part}", conductance)

    @property
    def paths(self) -> tuple[str, ...]:
        """Ways of heat into the metal and out of it: :func:`fea.heat.paths_of`."""
        return paths_of(self.undersides)

    def of(self, path: str) -> Film | CurvedFilm | None:
        """The film on one of ``paths``; None where there is none, or a heat flux."""
        if path == "gas":
            return self.gas if isinstance(self.gas, Film) else None
        film: Film | CurvedFilm | None = getattr(
            self, path if path in ("head", "outside") else "coolant"
        )
        return film


def _require_coefficient(what: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{what} = {value:g} W/(mm2 K) must not be negative.")

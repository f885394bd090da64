"""What the gas of an engine does to the bore wall, by depth and crank angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from cases.gas.cycle import Cycle
from cases.gas.cylinder import ATMOSPHERE, ZERO_CELSIUS, Array


@dataclass(frozen=True, eq=False, kw_only=True)
class WallLoad:
    """What the gas does to the bore wall, by depth below the deck and by crank angle.

    Gas reaches down to the top ring with its whole pressure; below it the wall has the crankcase
    on both sides. Pressures here push on the wall: those of the gas, times the factor, less that
    of the crankcase.
    """

    cycle: Cycle
    top_ring: float  # below the crown [mm]
    crown_below_deck: float  # at the top; < 0 stands proud [mm]
    section_depth: float  # H [mm]
    factor: float = 1.0
    crankcase: float = ATMOSPHERE  # [MPa]

    @property
    def deg(self) -> Array:
        """Crank angles, shape (n,)."""
        return self.cycle.closed.deg

    @property
    def pressure(self) -> Array:
        """Pressure on the wall at each angle, shape (n,). [MPa]."""
        return self.factor * self.cycle.closed.pressure - self.crankcase

    @property
    def peak(self) -> float:
        """Largest pressure on the wall. [MPa]."""
        return self.factor * self.cycle.peak - self.crankcase

    def reach(self, deg: ArrayLike) -> Array:
        """Depth below the deck that the gas reaches, shape (...). [mm]."""
        below = self.cycle.engine.crank.depth(deg)
        return np.maximum(self.crown_below_deck + below + self.top_ring, 0.0)

    @cached_property
    def line_loads(self) -> Array:
        """Load on the section, integral of p(z) dz over 0..H, at each angle, shape (n,). [N/mm]."""
        return self.pressure * np.minimum(self.reach(self.deg), self.section_depth)

    @property
    def line_load(self) -> float:
        """The largest of them. [N/mm]."""
        return float(self.line_loads.max())

    @property
    def line_load_deg(self) -> float:
        """Where it is. [deg]."""
        return float(self.deg[int(np.argmax(self.line_loads))])

    def largest(self, depth: ArrayLike) -> Array:
        """Largest pressure that a depth below the deck ever sees, 0 where gas never gets.

        Parameters
        ----------
        depth : array_like, shape (k,)
            [mm]

        Returns
        -------
        ndarray, shape (k,)
            [MPa].
        """
        reach, pressure = self.reach(self.deg), self.pressure
        order = np.argsort(reach)
        deepest_first = np.maximum.accumulate(pressure[order][::-1])[::-1]
        place = np.searchsorted(reach[order], np.asarray(depth, dtype=float) - 1e-9)
        return np.append(np.maximum(deepest_first, 0.0), 0.0)[place]

    @cached_property
    def film(self) -> tuple[float, float]:
        """Mean film coefficient [W/(mm2 K)] of the section, and the gas temperature [degC] to it.

        Means over the whole cycle and the depth 0..H, in which only what the gas reaches counts;
        the temperature is weighed with the film. Heat of friction, and what comes through the
        rings, is not in it.
        """
        deg, _, hot, film = self.cycle.whole
        reached = film * np.minimum(self.reach(deg), self.section_depth) / self.section_depth
        total = float(np.trapezoid(reached, deg))
        return total / 720, float(np.trapezoid(reached * hot, deg)) / total - ZERO_CELSIUS

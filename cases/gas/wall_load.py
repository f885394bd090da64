"""What the gas does to the bore wall, by depth and crank angle."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from cases.gas.curve import PressureCurve
from cases.gas.cycle import Cycle
from cases.gas.cylinder import ATMOSPHERE, ZERO_CELSIUS, Array
from cases.gas.usual import RING_HEAT

GROWS_OVER = 12.0
"""Length of wall over which what the gas does to a place changes by its own size; the wall of a
barrel bends over about as much, 0.8 of the root of its radius times its thickness. [mm]."""
MISSED = 0.01
"""Share of a stress that a place may have more between two of the angles solved."""
FINE, WIDE = 0.5, 2.0
"""Steps in which angles to solve are looked for, and over which slopes are read, so wide that the
noise of a sensor doesn't count. [deg]."""
LEAST = 0.02  # pressure over its peak below which a slope is not read any more
RING_BELT = 3.0
"""Depth of the lowest ring below the crown, over that of the top ring (common practice, no
source)."""
LEVELS = 241  # depths of a mean over the section
RINGS = 13  # places in the belt that stand for it
CYCLE = 720.0  # of a four-stroke engine [deg]


@dataclass(frozen=True, eq=False, kw_only=True)
class WallLoad:
    """What the gas does to the bore wall, by depth below the deck and by crank angle.

    Gas reaches down to the top ring with its whole pressure; below it the wall has the crankcase
    on both sides. Pressures here push on the wall: those of the gas, times the factor, less that
    of the crankcase.
    """

    curve: PressureCurve  # of the mean cycle
    top_ring: float  # below the crown [mm]
    crown_below_deck: float  # at the top; < 0 stands proud [mm]
    section_depth: float  # H [mm]
    factor: float = 1.0  # of detonation and scatter
    crankcase: float = ATMOSPHERE  # [MPa]
    cycle: Cycle | None = None  # of an engine whose cycle is worked out
    ring_heat: float = RING_HEAT  # share of the piston's heat that goes through its rings

    def of(self, cycle: Cycle) -> WallLoad:
        """The load of another cycle of the same engine."""
        return replace(self, curve=cycle.curve, cycle=cycle)

    @property
    def deg(self) -> Array:
        """Crank angles, shape (n,)."""
        return self.curve.deg

    @property
    def pressure(self) -> Array:
        """Pressure on the wall at each angle, shape (n,). [MPa]."""
        return self.factor * self.curve.pressure - self.crankcase

    @property
    def peak(self) -> float:
        """Largest pressure on the wall. [MPa]."""
        return self.factor * self.curve.peak - self.crankcase

    def pressure_at(self, deg: ArrayLike) -> Array:
        """Pressure on the wall at any angles of the curve, shape (...). [MPa]."""
        return np.asarray(np.interp(np.asarray(deg, dtype=float), self.deg, self.pressure))

    def reach(self, deg: ArrayLike) -> Array:
        """Depth below the deck that the gas reaches, shape (...). [mm]."""
        below = self.curve.crank.depth(deg)
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

    def angles_to_solve(self, depth: float) -> Array:
        r"""Crank angles whose solutions show the largest stress of every place down to a depth.

        From the top, or the peak where that comes before it, to where the gas reaches somewhat
        below ``depth``: before the top the ring stands as high as after it, under less pressure,
        and later only deeper wall is bared. A stress is the pressure times a function of the
        reach, f = p g(r), and between two angles h apart its peak is missed by at most
        h^2 \|f''\| / 8. With g that changes by its own size over a length,

        .. math:: h = \sqrt{8 \epsilon / \kappa} (\hat p / p)^{1/2}, \quad \kappa =
                  |p''|/p + 2 |p' r'| / (p \ell) + (r'/\ell)^2 + |r''|/\ell

        with the share :math:`\epsilon` of ``MISSED`` and the length :math:`\ell` of
        ``GROWS_OVER``. What is pulled hardest late, under little pressure, governs nothing; so the
        step widens as the pressure falls from its peak. The angles of the peak and of most line
        load are among them.

        Parameters
        ----------
        depth : float
            Below the deck, of the deepest place of interest. [mm]

        Returns
        -------
        ndarray, shape (k,)
            Rising; some 12 to 16 down to a usual section depth, 20 to twice that. [deg]
        """
        first = min(0.0, self.curve.peak_deg)
        below = self.reach(self.deg) >= depth + GROWS_OVER / 2
        reached = self.deg[(self.deg >= first) & below]
        last = float(reached[0]) if len(reached) else 180.0
        known = sorted({first, self.curve.peak_deg, self.line_load_deg})
        known += [last] if last > known[-1] else []
        deg = np.union1d(np.arange(first, known[-1], FINE), known)
        passed = np.append(0.0, np.cumsum(np.diff(deg) * self._density((deg[1:] + deg[:-1]) / 2)))
        stops = passed[np.searchsorted(deg, known)]
        wanted = [
            np.linspace(low, high, math.ceil(high - low) + 1) for low, high in pairwise(stops)
        ]
        return np.unique(np.interp(np.concatenate(wanted), passed, deg).round(9))

    def _density(self, deg: Array) -> Array:
        """Angles to solve for each degree, at some angles, shape (n,)."""
        pressure = [self.pressure_at(deg + turn) for turn in (-WIDE, 0.0, WIDE)]
        reach = [self.reach(deg + turn) / GROWS_OVER for turn in (-WIDE, 0.0, WIDE)]
        now = np.maximum(pressure[1], LEAST * self.peak)
        (p1, p2), (r1, r2) = (
            (np.abs(after - before) / (2 * WIDE), np.abs(before - 2 * at + after) / WIDE**2)
            for before, at, after in (pressure, reach)
        )
        bend = p2 / now + 2 * p1 / now * r1 + r1**2 + r2
        return np.asarray(np.sqrt(bend / (8 * MISSED) * now / self.peak))

    def bared(self, deg: ArrayLike) -> Array:
        """Depth below the deck that burned gas wets: to the crown, shape (...). [mm].

        Beside the top land it is as cool as its walls (Heywood 1988, sec. 8.6, from memory).
        """
        return np.maximum(self.crown_below_deck + self.curve.crank.depth(deg), 0.0)

    def heat_by_rings(self, depth: ArrayLike) -> Array:
        r"""Heat flux into the bore through the rings, mean over a worked-out cycle.

        What the gas gives to a crown as warm as the cylinder's walls, ``ring_heat`` of it,
        where the rings stand and as long as they do, even over their belt.

        .. math:: q(z) = \frac{\beta}{\pi B} \frac{\pi B^2}{4} \overline{h (T - T_w)}\, f(z)

        with f the density of the depths at which the belt is met.

        Parameters
        ----------
        depth : array_like, shape (...)
            Below the deck. [mm]

        Returns
        -------
        ndarray, shape (...)
            [W/mm2].
        """
        assert self.cycle is not None
        deg, _, hot, film = self.cycle.whole
        step, crank = np.gradient(deg), self.curve.crank
        wall = self.cycle.engine.wall_temperature + ZERO_CELSIUS
        given = self.ring_heat * crank.area * float((film * (hot - wall) * step).sum()) / CYCLE
        belt = np.linspace(1.0, RING_BELT, RINGS) * self.top_ring
        met = (self.bared(deg)[:, None] + belt).ravel()
        # cells as wide as the places in the belt are apart, so that no depth is passed over
        edges = np.arange(0.0, met.max() + 2 * self._cell, self._cell)
        share, _ = np.histogram(met, edges, weights=np.repeat(step, RINGS) / (RINGS * CYCLE))
        middle = (edges[1:] + edges[:-1]) / 2
        flux = given / (math.pi * crank.bore) * share / self._cell
        return np.interp(np.asarray(depth, dtype=float), middle, flux, right=0.0)

    @property
    def lowest_ring(self) -> float:
        """Depth below the deck of the lowest ring at the bottom. [mm]."""
        return float(self.bared(180.0)) + RING_BELT * self.top_ring

    @property
    def _cell(self) -> float:
        """Depth over which what the rings give is a mean. [mm]."""
        return max((RING_BELT - 1) * self.top_ring / (RINGS - 1), 0.01 * self.curve.crank.stroke)

    @cached_property
    def film(self) -> tuple[float, float]:
        """Mean film coefficient [W/(mm2 K)] of the section, and the gas temperature [degC] to it.

        Of a worked-out cycle. Means over the whole cycle and the depth 0..H, in which only what the
        gas wets counts; the temperature is weighed with the film, and higher by what brings the
        heat of the rings. Heat of friction is not in it.
        """
        assert self.cycle is not None
        deg, _, hot, film = self.cycle.whole
        wetted = film * np.minimum(self.bared(deg), self.section_depth) / self.section_depth
        total = float(np.trapezoid(wetted, deg))
        depth = np.linspace(0.0, self.section_depth, LEVELS)
        rings = float(np.trapezoid(self.heat_by_rings(depth), depth)) / self.section_depth
        temperature = (float(np.trapezoid(wetted * hot, deg)) + CYCLE * rings) / total
        return total / CYCLE, temperature - ZERO_CELSIUS

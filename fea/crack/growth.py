"""Growth of a crack, cycle by cycle, from its stress intensity by length.

Lengths in mm, stress intensity in MPa sqrt(m), as growth laws are quoted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

ROOT_M = math.sqrt(1000.0)
"""1 MPa sqrt(m) in MPa sqrt(mm)."""
STEPS = 400
"""Lengths at which growth is summed, in each stretch of metal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthLaw:
    r"""Growth of a crack per cycle, by Paris; with mean stress by Walker.

    .. math:: \frac{da}{dN} = C \left(\frac{\Delta K}{(1 - R)^{1 - \gamma}}\right)^m

    for a range above the threshold, nothing below it. R is the least over the largest K; where
    the least is negative the faces meet, and the range counts from 0.

    References
    ----------
    .. [1] Paris & Erdogan, *J. Basic Eng.* 85 (1963) 528-533; Walker, ASTM STP 462 (1970) 1-14
       (from memory).
    """

    rate: float  # C: growth at a range of 1 MPa sqrt(m) [mm/cycle]
    exponent: float  # m
    threshold: float = 0.0  # at R = 0 [MPa sqrt(m)]
    threshold_fall: float = 0.0  # what R = 1 would take off it [MPa sqrt(m)]
    least_threshold: float = 0.0  # whatever R [MPa sqrt(m)]
    walker_gamma: float = 1.0  # 1: the mean stress does not count
    toughness: float | None = None  # largest K at which the rest breaks [MPa sqrt(m)]
    source: str

    def threshold_at(self, ratio: ArrayLike) -> Array:
        """Threshold at ratios R, shape (...), of which negative ones count as 0. [MPa sqrt(m)]."""
        fallen = self.threshold - self.threshold_fall * np.maximum(ratio, 0.0)
        return np.maximum(fallen, self.least_threshold)

    def effective_range(self, idle: ArrayLike, gas: ArrayLike) -> Array:
        """Range that counts, shape (...), between two K, shape (...), largest at gas.

        All in MPa sqrt(m); 0 where the crack stays shut.
        """
        idle, gas = np.maximum(idle, 0.0), np.asarray(gas, dtype=float)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(gas > idle, idle / gas, 0.0)
        return np.maximum(gas - idle, 0.0) / (1 - ratio) ** (1 - self.walker_gamma)


IIW_ALUMINIUM = GrowthLaw(
    rate=1.41e-11 * ROOT_M**3,
    exponent=3.0,
    threshold=56.7 / ROOT_M,
    threshold_fall=72.3 / ROOT_M,
    least_threshold=21.0 / ROOT_M,
    source="upper bound for aluminium in general, recommendations of the International Institute "
    "of Welding (from memory); no constants of cast alloys are at hand",
)
"""1.41e-11 for mm and N/mm^1.5, m = 3, threshold 56.7 - 72.3 R, at least 21 N/mm^1.5."""


ENDS = {
    "threshold": "stops: below the threshold", "shut": "stays shut",
    "breakthrough": "breaks through", "longest": "as far as asked", "toughness": "the rest breaks",
}  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Growth:
    """A crack from the flaw on, cycle by cycle.

    Attributes
    ----------
    length : ndarray, shape (n,)
        [mm]
    cycles : ndarray, shape (n,)
        Until that length.
    end : str
        "breakthrough", "toughness" (the rest of the wall breaks), "longest" (as far as asked),
        "threshold" (it stops growing) or "shut" (the gas does not open it).
    """

    length: Array
    cycles: Array
    end: str

    @property
    def words(self) -> str:
        """How it ends, in words."""
        return ENDS[self.end]

    @property
    def stops(self) -> bool:
        """Whether the crack stays where it ends."""
        return self.end in ("threshold", "shut")

    @property
    def life(self) -> float:
        """Cycles to its end; infinite where it stops growing before."""
        return math.inf if self.stops else float(self.cycles[-1])


def grow(
    lengths: ArrayLike,
    gas: ArrayLike,
    idle: ArrayLike,
    law: GrowthLaw,
    flaw: float,
    longest: float,
    borders: ArrayLike = (),
    end: str = "breakthrough",
) -> Growth:
    r"""Growth of a crack whose stress intensity is known at some lengths.

    K over the root of the length is interpolated by a monotone cubic within each stretch of
    metal, and goes on at its last value beyond the first and last length there; then
    :math:`N = \int da / (da/dN)` is summed by Simpson's rule.

    Parameters
    ----------
    lengths, gas, idle : array_like, shape (n,)
        Lengths [mm], and K with and without gas. [MPa sqrt(m)]
    law : GrowthLaw
    flaw, longest : float
        Where growth starts and ends. [mm]
    borders : array_like
        Lengths between the first and the last where the metal changes. [mm]
    end : str
        What it is called when the longest is reached.

    References
    ----------
    .. [1] Fritsch & Carlson, *SIAM J. Numer. Anal.* 17 (1980) 238-246 (monotone cubic).
    """
    from scipy.integrate import cumulative_simpson

    lengths, gas, idle = (np.asarray(of, dtype=float) for of in (lengths, gas, idle))
    outer = np.array([0.0, *np.ravel(borders), np.inf])
    ends = [flaw, *outer[(outer > flaw) & (outer < longest)], longest]
    way, cycles = [np.array([flaw])], [np.zeros(1)]
    for start, stop in pairwise(ends):
        own = np.searchsorted(outer, lengths) == np.searchsorted(outer, (start + stop) / 2)
        a = np.geomspace(start, stop, STEPS)
        k_gas, k_idle = (_k_at(lengths[own], of[own], a) for of in (gas, idle))
        effective = law.effective_range(k_idle, k_gas)
        ratio = np.divide(k_idle, k_gas, out=np.zeros_like(a), where=k_gas > 0)
        grows = (effective > 0) & (k_gas - np.maximum(k_idle, 0) > law.threshold_at(ratio))
        breaks = k_gas >= (law.toughness or np.inf)
        stop_at = int(np.argmax(~grows | breaks)) if (~grows | breaks).any() else STEPS
        with np.errstate(divide="ignore", over="ignore"):
            slowness = a / (law.rate * effective**law.exponent)  # by the logarithm of the length
        upto = slice(0, stop_at)
        if stop_at > 1:
            way.append(a[upto])
            summed = cumulative_simpson(slowness[upto], x=np.log(a[upto]), initial=0)
            cycles.append(cycles[-1][-1] + summed)
        if stop_at < STEPS:
            end = "toughness" if breaks[stop_at] else "shut" if k_gas[stop_at] <= 0 else "threshold"
            break
    return Growth(length=np.concatenate(way), cycles=np.concatenate(cycles), end=end)


def _k_at(lengths: Array, k: Array, a: Array) -> Array:
    """K at lengths a by a monotone cubic of K over their root."""
    from scipy.interpolate import PchipInterpolator

    shape = k / np.sqrt(lengths)
    if len(lengths) == 1:
        return shape[0] * np.sqrt(a)
    within = np.clip(a, lengths[0], lengths[-1])
    return np.asarray(PchipInterpolator(lengths, shape)(within) * np.sqrt(a))

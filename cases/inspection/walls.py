"""From readings to the wall of a bore by clock and depth, with its error.

A wall is the sum of its mean, a first order round the clock (a core that was shifted), a taper with
depth, and a rest: orders ``ORDERS`` round the clock, whose size falls with the order, and what is
rougher than they are. Readings are off by their methods. Mean, shift and taper are free; the rest
is as large as the readings show (``scatter``), found at the largest probability of what was read,
begun from what is usual as if ``AS_IF`` readings had shown that. So few readings widen the error
and don't fail: of three the shift is told by the methods' errors alone.

References
----------
.. [1] Rasmussen & Williams, *Gaussian Processes for Machine Learning*, 2006, sect. 2.7 (free terms
   beside a random rest) and eq. 5.10-5.12 (leaving one out), from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.clock import angle_to_clock, clock_to_angle

Array = NDArray[np.float64]

ORDERS = (2, 3, 4, 5, 6)
SMOOTH = 0.75
"""Share of the rest's variance that these orders have (judgement, no source)."""
USUAL = 0.3 / math.sqrt(3)
"""Scatter of a wall where nothing tells it: of 0.3 mm either way, evenly, as ``wall_tolerance`` of
the rating (common practice, no source). [mm]."""
AS_IF = 2.0  # readings that what is usual counts as
LEAST_SCATTER, MOST_SCATTER = 0.005, 3.0  # [mm]
ENOUGH, ESTIMATED, TAPERED = 3, 4, 6
"""Readings from which on mean and shift, the rest, and the taper are told."""
LEAST_SPAN = 8.0  # between the depths of readings that tell a taper [mm]
ALL_ROUND = 1.0  # error of a shift above which readings stand too much on one side [mm]
NINETY = 1.6448536269514722  # standard errors to either side that hold 90 %
OUTLIER = 3.5
"""Standard errors off what the other readings say, from which on a reading is named; one sound
reading in 2000 is."""
FREE = 4  # mean, shift, taper


@dataclass(frozen=True, kw_only=True, slots=True)
class Measured:
    """One wall of a bore, as it counts for the fit."""

    clock: float  # [h]
    depth: float  # [mm]
    wall: float  # [mm]
    error: float  # [mm]
    line: int = 0  # of the file


@dataclass(frozen=True, kw_only=True, slots=True)
class Outlier:
    """A reading that the others of its bore don't bear out."""

    reading: Measured
    off: float  # the reading less what the others say [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class Shift:
    """How far, and which way, a barrel's outside stands off the axis of its bore.

    Attributes
    ----------
    size : float
        [mm].
    low, high : float
        Between which it is, with 90 %. [mm].
    clock : float
        Where the wall is thickest by it. [h].
    clock_off : float or None
        The clock position to either side, with 90 %; None where it may be any. [h].
    """

    size: float
    low: float
    high: float
    clock: float
    clock_off: float | None


def shift_of(along: ArrayLike, covariance: ArrayLike) -> Shift:
    """A shift of its two components and what they are off by.

    Parameters
    ----------
    along : array_like, shape (2,)
        Towards 3:00 and 12:00. [mm]
    covariance : array_like, shape (2, 2)
        [mm2]
    """
    x, y = np.asarray(along, dtype=float)
    size = math.hypot(x, y)
    way = np.array([x, y]) / size if size > 0 else np.array([1.0, 0.0])
    spread = np.asarray(covariance, dtype=float)
    off = NINETY * math.sqrt(way @ spread @ way)
    across = np.array([-way[1], way[0]])
    aside = NINETY * math.sqrt(across @ spread @ across)
    return Shift(
        size=size, low=max(size - off, 0.0), high=size + off,
        clock=float(angle_to_clock(math.atan2(y, x))),
        clock_off=math.degrees(math.atan2(aside, size)) / 30 if size > off else None,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True, slots=True)
class WallFit:
    """The wall of one bore by clock and depth."""

    bore: int
    slope: float  # of the drawing's draft, which the readings are fitted beside [mm/mm]
    middle: float  # depth that mean and shift are of [mm]
    terms: tuple[float, ...]  # mean, shift towards 3:00 and 12:00, taper, the rest [mm], [mm/mm]
    covariance: tuple[tuple[float, ...], ...]
    scatter: float  # standard deviation of the rest [mm]
    told_scatter: bool  # by the readings; else the usual one
    tapered: bool  # whether the readings tell a taper
    first: tuple[tuple[float, ...], ...]  # covariance of mean and shift [mm2]
    readings: tuple[Measured, ...]
    outliers: tuple[Outlier, ...] = ()

    @property
    def mean(self) -> float:
        """[mm]."""
        return self.terms[0] + self.slope * self.middle

    @property
    def mean_error(self) -> float:
        """Standard. [mm]."""
        return math.sqrt(self.first[0][0])

    @property
    def shift(self) -> Shift:
        """Of the barrel's outside against the bore."""
        return shift_of(self.terms[1:3], np.array(self.first)[1:, 1:])

    @property
    def taper(self) -> tuple[float, float] | None:
        """Growth of the wall with depth, and its standard error. [mm/mm]."""
        if not self.tapered:
            return None
        return self.terms[3] + self.slope, math.sqrt(self.covariance[3][3])

    def at(self, clock: ArrayLike, depth: ArrayLike) -> tuple[Array, Array]:
        """Wall and its standard error, the roughness of a single place in it.

        Parameters
        ----------
        clock, depth : array_like, shapes that broadcast to (n,)
            [h], [mm]

        Returns
        -------
        wall, error : ndarray, shape (n,)
            [mm]
        """
        clock, depth = np.broadcast_arrays(np.atleast_1d(clock), np.atleast_1d(depth))
        rows = terms_at(clock, depth, self.middle)
        spread = np.einsum("ni,ij,nj->n", rows, np.array(self.covariance), rows)
        wall: Array = rows @ np.array(self.terms) + self.slope * np.asarray(depth, dtype=float)
        return wall, np.sqrt(np.maximum(spread, 0.0) + (1 - SMOOTH) * self.scatter**2)

    def tolerance(self, depth: float) -> float:
        """How much thinner or thicker the wall may be at a depth, spread evenly. [mm].

        An even spread to either side of as large a standard deviation as the error has, in the
        mean of the squares round the clock.
        """
        _, error = self.at(np.arange(0, 12, 0.25), depth)
        return float(math.sqrt(3 * np.mean(error**2)))


def terms_at(clock: ArrayLike, depth: ArrayLike, middle: float) -> Array:
    """What each term of a fit comes to at places, shape (n, terms)."""
    angle = clock_to_angle(clock)
    below = np.broadcast_to(np.asarray(depth) - middle, angle.shape)
    columns = [np.ones_like(angle), np.cos(angle), np.sin(angle), below]
    for order in ORDERS:
        columns += [np.cos(order * angle), np.sin(order * angle)]
    return np.column_stack(columns)


_FALL = np.array([1 / order**2 for order in ORDERS for _ in range(2)])
_VARIANCE = SMOOTH * _FALL / (_FALL.sum() / 2)
"""Of each term of the rest, over the scatter's square."""


@dataclass(frozen=True, slots=True)
class _Solved:
    terms: Array
    covariance: Array
    evidence: float  # logarithm of the probability of what was read
    left: Array  # readings less fit
    own: Array  # share of each reading in its own fit
    noise: Array  # variance of each reading


def _solve(rows: Array, wall: Array, error: Array, scatter: float, *, tapered: bool) -> _Solved:
    """Least squares with the rest held to its scatter, and taper to none where it isn't told."""
    noise: Array = error**2 + (1 - SMOOTH) * scatter**2
    held = np.concatenate([np.zeros(3), [0.0 if tapered else 1e12], 1 / (scatter**2 * _VARIANCE)])
    weighted = rows / noise[:, None]
    covariance = np.asarray(np.linalg.inv(rows.T @ weighted + np.diag(held)), dtype=float)
    terms: Array = covariance @ (weighted.T @ wall)
    left: Array = wall - rows @ terms
    free = held > 0
    evidence = -0.5 * (
        np.log(noise).sum() - np.linalg.slogdet(covariance)[1] - np.log(held[free]).sum()
        + (left**2 / noise).sum() + (held * terms**2).sum()
    )  # fmt: skip
    own: Array = np.einsum("ni,ij,nj->n", rows, covariance, weighted)
    return _Solved(terms, covariance, float(evidence), left, own, noise)


def _scatter_of(rows: Array, wall: Array, error: Array, *, tapered: bool) -> float:
    """The most probable scatter of the rest. [mm]."""
    from scipy.optimize import minimize_scalar

    def badness(log_scatter: float) -> float:
        scatter = math.exp(log_scatter)
        before = AS_IF * (log_scatter + USUAL**2 / scatter**2 / 2)
        return before - _solve(rows, wall, error, scatter, tapered=tapered).evidence

    ends = math.log(LEAST_SCATTER), math.log(MOST_SCATTER)
    return math.exp(minimize_scalar(badness, bounds=ends, method="bounded").x)


def fit_walls(bore: int, readings: Sequence[Measured], slope: float = 0.0) -> WallFit | None:
    """The wall of a bore of its readings; None where they are too few or on one side.

    Parameters
    ----------
    bore : int
    readings : sequence of Measured
        Of the free wall, outside the liner.
    slope : float
        How the wall grows with depth by the draft of the drawing. [mm/mm].
    """
    if len({round(of.clock, 2) for of in readings}) < ENOUGH:
        return None
    clock, depth, wall, error = np.array(
        [(of.clock, of.depth, of.wall - slope * of.depth, of.error) for of in readings]
    ).T
    middle = float(depth.mean())
    rows = terms_at(clock, depth, middle)
    tapered = len(readings) >= TAPERED and np.ptp(depth) >= LEAST_SPAN
    told = len(readings) >= ESTIMATED
    scatter = _scatter_of(rows, wall, error, tapered=tapered) if told else USUAL
    solved = _solve(rows, wall, error, scatter, tapered=tapered)
    first = solved.covariance[:3, :3]
    if not told:
        three = rows[:, :3]
        first = np.linalg.inv(three.T @ (three / error[:, None] ** 2))
    if NINETY * math.sqrt(np.linalg.eigvalsh(first[1:, 1:])[-1]) > ALL_ROUND:
        return None
    return WallFit(
        bore=bore, slope=slope, middle=middle, terms=tuple(solved.terms.tolist()), scatter=scatter,
        covariance=tuple(map(tuple, solved.covariance.tolist())), told_scatter=told,
        tapered=tapered, first=tuple(map(tuple, first.tolist())), readings=tuple(readings),
        outliers=tuple(_outliers(readings, rows, wall, solved, tapered=tapered)) if told else (),
    )  # fmt: skip


def _outliers(
    readings: Sequence[Measured], rows: Array, wall: Array, solved: _Solved, *, tapered: bool
) -> list[Outlier]:
    """Readings that the others don't bear out, the scatter told without them."""
    error = np.array([of.error for of in readings])
    off, spread = _without(solved)
    suspect = np.flatnonzero(np.abs(off) > OUTLIER / 2 * spread)
    if not len(suspect) or len(readings) - len(suspect) < ESTIMATED:
        return []
    kept = np.setdiff1d(np.arange(len(readings)), suspect)
    scatter = _scatter_of(rows[kept], wall[kept], error[kept], tapered=tapered)
    found = []
    for at in suspect.tolist():
        others = np.append(kept, at)
        off, spread = _without(
            _solve(rows[others], wall[others], error[others], scatter, tapered=tapered)
        )
        if abs(off[-1]) > OUTLIER * spread[-1]:
            found.append(Outlier(reading=readings[at], off=float(off[-1])))
    return found


def _without(solved: _Solved) -> tuple[Array, Array]:
    """Each reading less what the others say, and the standard error of that."""
    rest = np.maximum(1 - solved.own, 1e-9)
    return solved.left / rest, np.sqrt(solved.noise / rest)


def row_shift(fits: Sequence[WallFit]) -> Shift:
    """The shift that all bores have in common: the mean of theirs.

    Its interval is by the errors of the fits, or by how bores differ, whichever is wider.
    """
    each = np.array([of.terms[1:3] for of in fits])
    count = len(fits)
    spread = sum(np.array(of.first)[1:, 1:] for of in fits) / count**2
    if count > 2:
        between = np.cov(each.T) / count
        if np.trace(between) > np.trace(spread):
            spread = between
    return shift_of(each.mean(axis=0), spread)

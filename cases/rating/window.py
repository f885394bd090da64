"""The interferences that may be made: not loose, not yielding, and near the best limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from cases.rating.result import FitPoint, Window

Array = NDArray[np.float64]
Reading = Callable[[Array, Array, Array], Array]

NEAR_BEST = 0.95
"""Share of the best limit that any interference of the window reaches."""
STEP = 0.02
"""Apart at which a window is sought, between fits that are solved as if all were linear. [um]."""
SEARCHED = "the search ends there"
LOOSE, YIELDS, OUT_OF_ROUND = "loose", "yield", "out of round"
BELOW_BEST, BELOW_BARE = "5 % below the best", "no better than bare"


def margins(
    points: Sequence[FitPoint], most_out_of_round_um: float, bare: float | None
) -> dict[str, Array]:
    """What is left of each demand at each point, by its name; less than 0 where it is not met.

    A step that yields with almost no press yields whatever the interference, so it forbids none.
    """
    found: dict[str, Array] = {}
    for step in points[0].held:
        found[f"{LOOSE}, {step}"] = np.array([point.held[step] for point in points]) - 1
    for step, share in points[0].over_yield.items():
        if share < 1:
            found[f"{YIELDS}, {step}"] = 1 - np.array([point.over_yield[step] for point in points])
    if most_out_of_round_um:
        found[OUT_OF_ROUND] = 1 - np.array(
            [point.out_of_round_um / most_out_of_round_um for point in points]
        )
    if bare is not None and None not in (limits := [point.least_limit for point in points]):
        found[BELOW_BARE] = np.array(limits) / (bare or 1e-6) - 1
    return found


def straight(at: Array, solved: Array, values: Array) -> Array:
    """Values (k,) at places (k,), along straight lines between those that were solved (s,)."""
    return np.interp(at, solved, values)


def curved(at: Array, solved: Array, values: Array) -> Array:
    """The same along a smooth curve that turns nowhere but where it was solved.

    Fritsch & Carlson's (*SIAM J. Numer. Anal.* 17 (1980) 238-246, from memory), by scipy.
    """
    if len(solved) < 2:
        return straight(at, solved, values)
    from scipy.interpolate import PchipInterpolator

    return np.asarray(PchipInterpolator(solved, values)(at))


def window_with_errors(
    points: Sequence[FitPoint], most_out_of_round_um: float, bare: float | None
) -> Window | None:
    """As :func:`window_of`, each end with what a curve through the fits moves it by."""
    found = window_of(points, most_out_of_round_um, bare)
    other = window_of(points, most_out_of_round_um, bare, curved)
    if found is None or other is None:
        return found
    return replace(
        found,
        low_error_um=abs(other.low_um - found.low_um) + STEP,
        high_error_um=abs(other.high_um - found.high_um) + STEP,
    )


def window_of(
    points: Sequence[FitPoint],
    most_out_of_round_um: float,
    bare: float | None,
    read: Reading = straight,
) -> Window | None:
    """The interferences around the best limit that meet every demand; None where none does.

    Without limits, all in a row that do, about the middle of what does.

    Parameters
    ----------
    points : sequence of FitPoint
        Interference rising.
    most_out_of_round_um : float
        That the press may leave; 0 asks nothing.
    bare : float, optional
        Limit of the bare block, where it is to be passed.
    read : callable
        Values between fits that were solved.
    """
    at, least, worst = demands(points, most_out_of_round_um, bare, read)
    meets = least >= 0
    if not meets.any():
        return None
    limits = limits_at(points, at, read)
    if limits is None:
        start = int(np.median(np.flatnonzero(meets)))
        start = int(np.flatnonzero(meets)[np.argmin(np.abs(np.flatnonzero(meets) - start))])
    else:
        start = int(np.argmax(np.where(meets, limits, -1)))
        high = limits >= NEAR_BEST * limits[start]
        worst = np.where(meets & ~high, BELOW_BEST, worst)
        meets = meets & high
    low, high_ = start, start
    while low > 0 and meets[low - 1]:
        low -= 1
    while high_ < len(at) - 1 and meets[high_ + 1]:
        high_ += 1
    return Window(
        low_um=float(at[low]),
        high_um=float(at[high_]),
        low_by=str(worst[low - 1]) if low else SEARCHED,
        high_by=str(worst[high_ + 1]) if high_ < len(at) - 1 else SEARCHED,
    )


def demands(
    points: Sequence[FitPoint],
    most_out_of_round_um: float,
    bare: float | None,
    read: Reading = straight,
) -> tuple[Array, Array, NDArray[np.str_]]:
    """Interferences close by one another, what is left there of the demand met least, its name.

    Returns
    -------
    at : ndarray, shape (k,)
        [um]
    least : ndarray, shape (k,)
    worst : ndarray of str, shape (k,)
    """
    solved = np.array([point.interference_um for point in points])
    count = int(np.ceil((solved[-1] - solved[0]) / STEP)) + 1
    at = np.linspace(solved[0], solved[-1], count)
    found = margins(points, most_out_of_round_um, bare)
    if not found:
        return at, np.ones(count), np.full(count, "")
    left = np.stack([read(at, solved, one) for one in found.values()])
    return at, left.min(axis=0), np.array(list(found))[left.argmin(axis=0)]


def limits_at(points: Sequence[FitPoint], at: Array, read: Reading = straight) -> Array | None:
    """Limits at interferences [um], between those of points; None where none were sought."""
    limits = [point.least_limit for point in points]
    if None in limits:
        return None
    return read(at, _interferences(points), np.array(limits, float))


def told_at(points: Sequence[FitPoint], um: float) -> tuple[float, float] | None:
    """Limit within the stated tolerance of an interference, and what it may be off by.

    That of the stresses, and what a curve through the fits moves it by. None where no limit was
    sought.
    """
    told = [point.told for point in points]
    if None in told:
        return None
    at, solved, limits = np.array([um]), _interferences(points), np.array(told, float)
    errors = np.array([point.limit_error for point in points])
    limit, other = (float(read(at, solved, limits)[0]) for read in (straight, curved))
    return limit, float(straight(at, solved, errors)[0]) + abs(limit - other)


def _interferences(points: Sequence[FitPoint]) -> Array:
    return np.array([point.interference_um for point in points])

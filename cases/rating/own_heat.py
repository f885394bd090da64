"""A limit at its own heat: where the engine heats the block, more load heats it more.

The limit that a design has at the heat of a load is a function of that load; sought is the load
that is its own limit, by secants from the asked one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TypeVar

from cases.base.faults import RunError
from cases.gas.solve import GasLoad, at_load
from cases.life.given import Heat

T = TypeVar("T")

SAME_LOAD = 1e-2
"""Share of a load that its heat may be off by."""
MOST_HEATS = 8
"""Loads whose heat is tried, at most."""
LEAST, MOST = 0.02, 6.0
"""Loads over the asked one that stand for a limit of none, and for one beyond all that is tried."""
LARGEST_STEP = 2.5
"""Factor from one load whose heat is tried to the next, at most."""
LEAST_FALL = 0.5
"""What the logarithm of limit over load falls by with that of the load, at least."""


def at_own_heat(
    gas: GasLoad,
    heat: Heat | None,
    asked: tuple[T, float | None],
    rated: Callable[[GasLoad, float], tuple[T, float | None]],
    exactly: Callable[[T], tuple[T, float | None]] | None = None,
) -> tuple[T, tuple[str, ...]]:
    """What is found of a design at the heat of its own limit.

    Parameters
    ----------
    gas : GasLoad
        As asked.
    heat : Heat or None
    asked : tuple
        What is found at the heat of the asked load, and the limit with it, as a factor.
    rated : callable
        The same at the heat of another load, which is so many times the asked one; raises
        ``RunError`` where that can't be solved.
    exactly : callable, optional
        What is found with its limit, where ``rated`` says no more of a limit that is not that load
        than on which side of it that lies.

    Returns
    -------
    found
        That of the heat where limit and load agree; where none is found, of a heat that is more
        than that of the limit, as far as one was tried.
    notes : tuple of str
        What to tell of it.
    """
    if heat is None or not heat.follows_gas:
        return asked[0], ()
    tried = [(1.0, *asked)]
    told = ""
    while abs(_over(tried[-1])) > SAME_LOAD and len(tried) < MOST_HEATS:
        factor = _next([(math.log(one[0]), _over(one)) for one in tried])
        if factor <= LEAST:
            break
        load = at_load(gas, factor)
        if load is None:
            told = "the engine can't give the load of the limit: "
            break
        try:
            tried.append((factor, *rated(load, factor)))
        except RunError as error:
            told = f"the heat of {factor:.3g} times the asked load could not be solved ({error}): "
            break
    factor, found, limit = tried[-1]
    if abs(_over(tried[-1])) <= SAME_LOAD:
        return found, (
            f"the limit is at its own heat, of {factor:.3g} times the asked load, its band too.",
        )
    # the limit at more heat than its own is the lower one
    hotter = [one for one in tried if _over(one) <= 0]
    factor, found, limit = max(hotter, key=lambda one: one[2] or 0.0) if hotter else tried[-1]
    if exactly is not None:
        found, limit = exactly(found)
    told = told or "heat and limit don't settle: "
    less = "" if hotter else ", less than its own, and so too high"
    most = "above all that is tried" if limit is None else f"{limit:.3g} times the asked load"
    return found, (
        f"{told}the limit told, {most}, is at the heat of {factor:.3g} times the asked load{less}.",
    )


def _over(tried: tuple[float, object, float | None]) -> float:
    """Logarithm of a limit over the load whose heat it is at."""
    factor, _, limit = tried
    return math.log((MOST if limit is None else max(limit, LEAST)) / factor)


def _next(tried: Sequence[tuple[float, float]]) -> float:
    """The load whose limit would be itself, by logarithms of loads and of limits over them.

    By the secant of the last two, within what is known to be too little and too much.
    """
    at, over = tried[-1]
    slope = -1.0
    if len(tried) > 1:
        before, other = tried[-2]
        slope = min((over - other) / (at - before), -LEAST_FALL)
    step = math.log(LARGEST_STEP)
    there = at + max(-step, min(-over / slope, step))
    low = max((place for place, of in tried if of > 0), default=-math.inf)
    high = min((place for place, of in tried if of < 0), default=math.inf)
    if not low < there < high:
        there = (low + high) / 2
    return math.exp(there)

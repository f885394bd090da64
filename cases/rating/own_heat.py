"""A limit at its own heat: where the engine heats the block, more load heats it more.

The limit that a design has at the heat of a load is a function of that load; sought is the load
that is its own limit, by secants from the asked one. What was solved on the way at the heat of
other loads also tells what a draw of the band carries at the heat of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

from cases.base.faults import RunError
from cases.gas.solve import GasLoad, at_load
from cases.life.given import Heat

T = TypeVar("T")
Tried = tuple[float, T, float | None]
"""A load whose heat was tried, over the asked one; what was found, and the limit with it."""

SAME_LOAD = 1e-2
"""Share of a load that its heat may be off by."""
MOST_HEATS, MORE_HEATS, MOST_OF_ALL = 8, 4, 16
"""Loads whose heat is tried, at most; more of them each time that one is found not carried after
all; of all."""
LEAST, MOST = 0.02, 6.0
"""Loads over the asked one that stand for a limit of none, and for one beyond all that is tried."""
SLOW = 4
"""Loads whose heat was tried, from which on the next lies between too little and too much: on the
straight line from one to the other, and every third time halfway."""
END = 0.1
"""Share of the way between them that it is off both, at least."""
LARGEST_STEP = 2.5
"""Factor from one load whose heat is tried to the next, at most."""
LEAST_FALL = 0.5
"""What the logarithm of limit over load falls by with that of the load, at least."""
APART, WIDE = 1.15, 1.4
"""Factor between loads whose heats tell what heat does from one to the other, at least; and where
what lies between decides, at most: a joint that comes to press as it warms makes a kink there."""
NOT_SETTLED = "heat and limit don't settle: "
COOLER = 0.8
"""A load over that of the limit whose heat tells what less of it does, where no other does."""


@dataclass(frozen=True, eq=False, slots=True)
class OwnHeat(Generic[T]):
    """What is found of a design at the heat of its own limit."""

    found: T
    notes: tuple[str, ...] = ()  # what to tell of it
    off: float = 0.0  # share that the limit may be off by, as its heat may be
    # what was found at the heat of each load that was tried, by its factor, that of the limit
    # first; none where heat is stated, or where limit and heat don't settle
    heats: tuple[tuple[float, T], ...] = ()


def at_own_heat(
    gas: GasLoad,
    heat: Heat | None,
    asked: tuple[T, float | None],
    rated: Callable[[GasLoad, float], tuple[T, float | None]],
    carried: Callable[[T, float], tuple[T, float | None]],
    exactly: Callable[[T], tuple[T, float | None]] | None = None,
) -> OwnHeat[T]:
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
    carried : callable
        What is found at the heat of a load, told with that load as its limit: where no limit comes
        nearer to its load, as it falls by a jump when another place governs.
    exactly : callable, optional
        What is found with its limit, where ``rated`` says no more of a limit that is not that load
        than on which side of it that lies.

    Returns
    -------
    OwnHeat
        That of the heat where limit and load agree; where none is found, of the most load that is
        carried at its own heat below one that is not; where none such was tried, of a heat that is
        more than that of the limit, as far as one was.
    """
    if heat is None or not heat.follows_gas:
        return OwnHeat(asked[0])
    tried, most = [(1.0, *asked)], MOST_HEATS
    told = ""
    while True:
        told = _seek(gas, tried, rated, most) or told
        low, high = _between(tried)
        if abs(_over(tried[-1])) <= SAME_LOAD or not (low and high):
            break
        found, limit = carried(low[1], low[0])
        if limit is None or limit >= low[0] * (1 - SAME_LOAD):
            others = [(of, one) for of, one, _ in reversed(tried) if of != low[0]]
            apart = math.log(high[0] / low[0])
            settled = f"the limit is at its own heat, of {low[0]:.3g} times the asked load."
            if apart > SAME_LOAD:
                settled = f"{told or NOT_SETTLED}{_limit_words(limit)} is carried at its own heat, "
                settled += f"{high[0]:.3g} times is not."
            return OwnHeat(found, (settled,), off=apart, heats=((low[0], found), *others))
        # not carried, by a place that was not followed
        tried.remove(low)
        tried.append((low[0], found, limit))
        most = min(len(tried) + MORE_HEATS, MOST_OF_ALL)
    factor, found, limit = tried[-1]
    if abs(_over(tried[-1])) <= SAME_LOAD:
        return OwnHeat(
            found,
            (f"the limit is at its own heat, of {factor:.3g} times the asked load.",),
            off=SAME_LOAD,
            heats=tuple((of, one) for of, one, _ in reversed(tried)),
        )
    # the limit at more heat than its own is the lower one
    hotter = [one for one in tried if _over(one) <= 0]
    factor, found, limit = max(hotter, key=lambda one: one[2] or 0.0) if hotter else tried[-1]
    if exactly is not None:
        found, limit = exactly(found)
    less = "" if hotter else ", less than its own, and so too high"
    return OwnHeat(
        found,
        (
            f"{told or NOT_SETTLED}the limit told, {_limit_words(limit)}, is at the heat of "
            f"{factor:.3g} times the asked load{less}.",
        ),
    )


def _seek(
    gas: GasLoad,
    tried: list[Tried[T]],
    rated: Callable[[GasLoad, float], tuple[T, float | None]],
    most: int,
) -> str:
    """Try more heats, until a limit is at its own or lies near between two; why not, where not.

    Parameters
    ----------
    gas : GasLoad
        As asked.
    tried : list of tuple
        Those before, and then these too.
    rated : callable
        As of :func:`at_own_heat`.
    most : int
        Heats that are tried, at most, with those before.
    """
    while abs(_over(tried[-1])) > SAME_LOAD and len(tried) < most:
        low, high = _between(tried)
        if low and high and math.log(high[0] / low[0]) <= SAME_LOAD:
            break
        factor = _next(tried)
        if factor <= LEAST:
            break
        load = at_load(gas, factor)
        if load is None:
            return "the engine can't give the load of the limit: "
        try:
            tried.append((factor, *rated(load, factor)))
        except RunError as error:
            return f"the heat of {factor:.3g} times the asked load could not be solved ({error}): "
    return ""


def that_tell(
    gas: GasLoad, heats: Sequence[tuple[float, T]], heated: Callable[[GasLoad], T]
) -> tuple[list[tuple[float, T]], tuple[str, ...]]:
    """Heats that tell what heat does from load to load, that of the limit first; none if too few.

    Those ``APART`` from one another; where that leaves the limit's alone, one of less load too. Of
    less load than the limit, where weak draws break, none are more than ``WIDE`` from the next.

    Parameters
    ----------
    gas : GasLoad
        As asked.
    heats : sequence of tuple
        As of :class:`OwnHeat`.
    heated : callable
        The same of the heat of another load; raises ``RunError`` where that can't be solved.

    Returns
    -------
    heats : list of tuple
    notes : tuple of str
        That all draws of a band are at the heat of the limit, where so; else each is at its own.
        And what could not be solved between.
    """
    if not heats:
        return [], ()
    kept, limit = those_apart(heats), heats[0][0]
    why = "the engine can't give less load"
    if len(kept) == 1 and (load := at_load(gas, COOLER * limit)):
        try:
            kept.append((COOLER * limit, heated(load)))
        except RunError as error:
            why = f"no other could be solved ({error})"
    if len(kept) == 1:
        return [], (f"the draws of the band are all at the heat of the limit: {why}.",)
    notes = []
    below = sorted(factor for factor, _ in kept if factor <= limit)
    for low, high in pairwise(below):
        parts = math.ceil(math.log(high / low, WIDE) - SAME_LOAD)
        for part in range(1, parts):
            factor = low * (high / low) ** (part / parts)
            try:
                if load := at_load(gas, factor):
                    kept.append((factor, heated(load)))
            except RunError as error:
                notes.append(
                    f"the heat of {factor:.3g} times the asked load is read between others, as it "
                    f"could not be solved ({error})."
                )
    return kept, tuple(notes)


def those_apart(heats: Sequence[tuple[float, T]]) -> list[tuple[float, T]]:
    """Of some heats the first, and of the others, from the nearest on, those ``APART``."""
    kept, first = [heats[0]], heats[0][0]
    for one in sorted(heats, key=lambda other: abs(math.log(other[0] / first))):
        if all(abs(math.log(one[0] / of)) >= math.log(APART) for of, _ in kept):
            kept.append(one)
    return kept


def _over(tried: Tried[object]) -> float:
    """Logarithm of a limit over the load whose heat it is at."""
    factor, _, limit = tried
    return math.log((MOST if limit is None else max(limit, LEAST)) / factor)


def _limit_words(limit: float | None) -> str:
    return "above all that is tried" if limit is None else f"{limit:.3g} times the asked load"


def _between(tried: Sequence[Tried[T]]) -> tuple[Tried[T] | None, Tried[T] | None]:
    """The most load that is less than its limit, below the least that is more, and that one."""
    more = [one for one in tried if _over(one) < 0]
    high = min(more, key=_load, default=None)
    less = [one for one in tried if _over(one) > 0 and (high is None or one[0] < high[0])]
    return max(less, key=_load, default=None), high


def _load(tried: Tried[object]) -> float:
    return tried[0]


def _next(tried: Sequence[Tried[object]]) -> float:
    """The load whose limit would be itself, by logarithms of loads and of limits over them.

    By the secant of the last two, within what is known to be too little and too much; then by that
    of these two.
    """
    at, over = math.log(tried[-1][0]), _over(tried[-1])
    slope = -1.0
    if len(tried) > 1:
        slope = (over - _over(tried[-2])) / (at - math.log(tried[-2][0]))
        slope = min(slope, -LEAST_FALL)
    step = math.log(LARGEST_STEP)
    there = at + max(-step, min(-over / slope, step))
    low, high = _between(tried)
    least = math.log(low[0]) if low else -math.inf
    most = math.log(high[0]) if high else math.inf
    if low and high and (len(tried) >= SLOW or not least < there < most):
        share = _over(low) / (_over(low) - _over(high))
        share = 0.5 if len(tried) % 3 == 0 else min(max(share, END), 1 - END)
        there = least + share * (most - least)
    elif there >= most:
        there = most - step
    return math.exp(there)

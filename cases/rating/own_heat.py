"""A limit at its own heat: where the engine heats the block, more load heats it more.

The limit that a design has at the heat of a load is a function of that load; sought is the load
that is its own limit, by secants from the asked one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from cases.gas.solve import GasLoad, at_load
from cases.life.given import Heat

T = TypeVar("T")

SAME_LOAD = 1e-2
"""Share of a load that its heat may be off by."""
MOST_HEATS = 6
"""Loads whose heat is tried, at most."""
LEAST_HEAT = 0.1
"""Load over the asked one whose heat is the least that is tried; below it the metal is cold."""


def at_own_heat(
    gas: GasLoad,
    heat: Heat | None,
    asked: tuple[T, float | None],
    rated: Callable[[GasLoad], tuple[T, float | None]],
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
        The same at the heat of another load.

    Returns
    -------
    found
        That of the last heat.
    notes : tuple of str
        What to tell of it.
    """
    found, limit = asked
    if heat is None or not heat.follows_gas or not limit:
        return found, ()
    tried = [(1.0, limit)]
    while abs(tried[-1][1] / tried[-1][0] - 1) > SAME_LOAD and len(tried) < MOST_HEATS:
        factor = max(_next(tried), LEAST_HEAT)
        load = at_load(gas, factor)
        if load is None:
            return found, ("the engine can't give the load of the limit, so it is at less heat.",)
        found, limit = rated(load)
        if not limit:
            return found, ()
        tried.append((factor, limit))
        if factor == LEAST_HEAT:
            break
    of, limit = tried[-1]
    if abs(limit / of - 1) > SAME_LOAD and of > LEAST_HEAT:
        return found, (
            f"heat and limit don't settle: the limit is {limit:.3f} times the asked load at the "
            f"heat of {of:.3f} times it.",
        )
    return found, (f"the limit is at its own heat, of {of:.3g} times the asked load.",)


def _next(tried: list[tuple[float, float]]) -> float:
    """The load that would be its own limit, by the last two that were tried."""
    (heat, limit) = tried[-1]
    if len(tried) == 1:
        return limit
    (before, other) = tried[-2]
    slope = min((limit - other) / (heat - before), 0.5)
    return (limit - slope * heat) / (1 - slope)

"""What a design stands: the gas load at which a criterion is met, and the cycles it lasts.

The gas load is raised, fit and heat held, and contact solved again each time, until the largest
share of a strength that is used becomes one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from cases.base.faults import RunError
from cases.gas.cycle import INTAKE_RANGE, EngineError, run_engine_for
from cases.gas.solve import GasLoad
from cases.life.life import Life
from cases.life.steps import EngineState
from cases.rating.judge import MOST_SHARE, Judge, JudgedCycle, untold_strengths
from cases.rating.result import DesignRating, Stands

MOST_FACTOR = 6.0
"""Gas loads up to this many times the asked one are tried."""
LEAST_FACTOR = 0.02
"""Gas load over the asked one that is none."""
BEYOND = 1.05
"""A limit is sought this far beyond where it would be if shares grew as the gas load."""
LARGEST_STEP = 2.5
"""Factor from one gas load that is tried to the next, at most."""
NEAR = 1e-3
"""Share of a strength, and of the gas load, that a limit may be off by."""


def rate_design(judge_: Judge, life: Life) -> DesignRating:
    """What a design stands under more gas, and how long under the asked one; without a band.

    Parameters
    ----------
    judge_ : Judge
        Of the same design.
    life : Life

    Returns
    -------
    DesignRating
    """
    solved: dict[float, tuple[JudgedCycle, ...]] = {}
    notes: list[str] = []

    def used(factor: float) -> float:
        """Largest share of any strength under a gas load."""
        if factor not in solved:
            solved[factor] = tuple(judge_(cycle) for cycle in life.at_gas(factor))
        return judge_.used(solved[factor])

    limit = None
    try:
        limit = _factor_that_uses_all(used)
    except RunError as error:
        notes.append(f"no limit: another gas load could not be solved. {error}")
    asked, at_limit = solved[1.0], solved[1.0 if limit is None else limit]
    reached = None if limit is None else stands(life.load, limit)
    worst = judge_.worst(at_limit)
    governing = max(worst.values(), key=lambda one: one.share, default=None)
    lives = _life_cycles(judge_, asked)
    return DesignRating(
        limit=reached,
        tried=max(solved),
        governing=judge_.spot(at_limit, governing.layer, governing.row) if governing else None,
        used_at_limit={name: one.share for name, one in worst.items()} if reached else {},
        used={name: one.share for name, one in judge_.worst(asked).items()},
        life_cycles=lives,
        life_hours=_hours(life.load, next(iter(lives.values()))),
        spots=judge_.spots(asked),
        band=None,
        notes=(
            *untold_strengths(judge_, [one.cycle for one in asked]),
            *notes,
            *(_untold_limit(reached) if reached else []),
        ),
    )


def _life_cycles(judge_: Judge, judged: Sequence[JudgedCycle]) -> dict[EngineState, float]:
    """Cycles to the first failure of a part that can govern, by state."""
    return {
        one.cycle.engine: min(
            float(of.life_cycles.min())
            for layer, of in zip(one.cycle.gas, one.layers, strict=True)
            if layer.part in judge_.parts
        )
        for one in judged
    }


def _untold_limit(limit: Stands) -> list[str]:
    """What can't be told of a limit, in words."""
    notes = []
    if limit.factor == 0:
        notes.append("nothing is left for the gas: fit and heat alone use all of a strength.")
    if limit.pressure_mpa is None:
        least, most = (10 * end for end in INTAKE_RANGE)
        notes.append(
            "pressure, boost and power of the limit can't be told: no intake pressure from "
            f"{least:g} to {most:g} bar gives this engine that load."
        )
    return notes


def _factor_that_uses_all(used: Callable[[float], float]) -> float | None:
    """Factor on the gas load at which a share of one is used, by solving again.

    0 where it is used with no gas at all, None where not even by ``MOST_FACTOR``.
    """
    from scipy.optimize import brentq

    low = high = 1.0
    if used(1.0) < 1:
        while used(high) < 1:
            if high == MOST_FACTOR or used(high) == 0:
                return None
            low, high = high, min(high * min(BEYOND / used(high), LARGEST_STEP), MOST_FACTOR)
    else:
        while used(low) > 1:
            if low == LEAST_FACTOR:
                used(0.0)
                return 0.0
            step = min(BEYOND * used(low), LARGEST_STEP)
            low, high = max(low / step, LEAST_FACTOR), low

    def height(place: float) -> float:
        above = math.log(np.clip(used(math.exp(place)), 1 / MOST_SHARE, MOST_SHARE))
        return 0.0 if abs(above) <= NEAR else above

    found = math.exp(brentq(height, math.log(low), math.log(high), xtol=NEAR))
    used(found)
    return found


def stands(gas: GasLoad, factor: float) -> Stands:
    """A factor on the gas load as peak pressure, boost and power, as far as an engine gives it."""
    load = gas.wall_load
    if load is None:
        return Stands(factor=factor, pressure_mpa=factor * gas.peak_pressure)
    try:
        cycle = run_engine_for(
            load.cycle.engine,
            factor * gas.line_load,
            lambda cycle: replace(load, cycle=cycle).line_load,
            "N/mm",
            "load on the section",
        )
    except EngineError:
        return Stands(factor=factor, pressure_mpa=None)
    return Stands(
        factor=factor,
        pressure_mpa=replace(load, cycle=cycle).peak,
        intake_mpa=cycle.engine.intake_pressure,
        boost_mpa=cycle.boost,
        power_kw=cycle.power,
    )


def _hours(load: GasLoad, cycles: float) -> float | None:
    """Time that some cycles of a four-stroke engine take at its speed. [h]."""
    if load.wall_load is None:
        return None
    return cycles * 2 / (60 * load.wall_load.cycle.engine.speed)

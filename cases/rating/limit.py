"""What a design stands: the gas load at which a criterion is met, and the cycles it lasts.

The gas load is raised, fit and heat held, and contact solved again each time, until the largest
share of a strength that is used becomes one.
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from cases.base.faults import RunError
from cases.gas.cycle import INTAKE_RANGE
from cases.gas.solve import GasLoad, at_load
from cases.life.base import Life
from cases.life.steps import EngineState
from cases.rating.judge import MOST_SHARE, Judge, JudgedCycle, untold_strengths
from cases.rating.result import SURFACE, YIELD, DesignRating, RatedSpot, Stands
from cases.rating.steep import told_doubts
from geometry.section import Block

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
NEARLY = 2e-3
"""Share of a strength from which the last step to a limit needs no solve. Where another place
governs at the loads that were solved, half of that step may be off, which ``NEAR`` covers."""
FAR = 0.1
"""Logarithm of the share at the asked load beyond which a like design's limit is a better start."""
ROUGHLY = 0.1
"""Share that a limit of no use may be off by."""
STEEPLY = 2.0
"""Power of the gas load that the share of a state which uses less grows as, at most."""
CLOSE = 0.15
"""Logarithm of a share below which two loads tell how shares grow beside a limit: along a straight
line, as the gas adds to what fit and heat do; farther off another place may govern."""
MOST_NEAR = 12
"""Gas loads that are solved for a limit that is nearly known, at most."""
POWERS = (0.3, 6.0)
"""Powers of the gas load that shares are taken to grow as, at least and at most."""


class Tried(ABC):
    """Shares of a strength that gas loads use.

    Attributes
    ----------
    solved : mapping of float to anything
        By the factor on the gas load of the case, what was solved.
    heat_held : bool
        Whether all loads are at one heat: what breaks then under a small one mostly does with none.
    """

    solved: Mapping[float, object]
    heat_held = True

    @abstractmethod
    def used(self, factor: float) -> float:
        """Largest share of any strength under a gas load."""

    def nearest(self, factor: float) -> float:
        """The gas load that was solved and is nearest to another."""
        return min(self.solved, key=lambda one: abs(one - factor))

    def above(self, factor: float) -> float:
        """Logarithm of the largest share: above 0 more than all is used."""
        return math.log(np.clip(self.used(factor), 1 / MOST_SHARE, MOST_SHARE))

    def power(self, factor: float) -> float:
        """Power of the gas load that the share grows as near a load; 1 where none tells it."""
        near = sorted((one for one in self.solved if one > 0), key=lambda one: abs(one - factor))
        if len(near) < 2:
            return 1.0
        rise = (self.above(near[1]) - self.above(near[0])) / math.log(near[1] / near[0])
        return float(np.clip(rise, *POWERS))

    def slope(self) -> float | None:
        """Growth of the share with the factor beside the limit; None where two loads tell none."""
        near = sorted(self.solved, key=lambda one: abs(self.above(one)))[:2]
        if len(near) < 2 or any(abs(self.above(one)) > CLOSE for one in near):
            return None
        slope = (self.used(near[1]) - self.used(near[0])) / (near[1] - near[0])
        return slope if slope > 0 else None


class Loads(Tried):
    """A design under other gas loads, each solved and judged once.

    Parameters
    ----------
    judge_ : Judge
        Of the same design.
    life : Life
    state : EngineState, optional
        The only one that counts; all do if left out.

    Attributes
    ----------
    solved : dict of float to tuple of JudgedCycle
        By the factor on the gas load of the case.
    """

    def __init__(self, judge_: Judge, life: Life, state: EngineState | None = None) -> None:
        self.judge, self.life, self.state = judge_, life, state
        self.solved: dict[float, tuple[JudgedCycle, ...]] = {}
        self._used: dict[float, float] = {}

    def used(self, factor: float) -> float:
        """Largest share of any strength under a gas load.

        Raises
        ------
        RunError
            If contact is not found.
        """
        if factor not in self.solved:
            cycles = (
                self.life.at_gas(factor)
                if self.state is None
                else (self.life.cycle_at(self.state, factor),)
            )
            self.solved[factor] = tuple(self.judge(cycle) for cycle in cycles)
            self._used[factor] = self.judge.used(self.solved[factor])
        return self._used[factor]

    def governing(self, factor: float) -> tuple[str, RatedSpot] | None:
        """The criterion that uses most under a gas load that was solved, and where."""
        worst = self.judge.worst(self.solved[factor])
        if not worst:
            return None
        name = max(worst, key=lambda one: worst[one].share)
        return name, self.judge.spot(self.solved[factor], worst[name].layer, worst[name].row)

    def error(self, factor: float) -> float:
        """What a limit may be off by, as a factor on the gas load.

        That of the search, and that of the stress where it governs, the larger of what its mesh and
        what the change to that mesh tell, as far as it is known; yield is met by much metal, and no
        one place's error is its own.
        """
        off, found = NEAR, self.governing(self.nearest(factor))
        if found and not found[0].startswith(YIELD):
            spot = found[1].spot
            if spot.principal_mpa > 0 and math.isfinite(spot.error_mpa):
                share = spot.error_mpa / spot.principal_mpa
                if found[1].judged_by == SURFACE:
                    share = max(share, self.life.mesh_error(spot, found[1].state))
                off += share / self.power(factor)
        return factor * off


@dataclass(frozen=True, slots=True)
class NearLimit:
    """A limit as it was found from that of a like design."""

    factor: float | None  # None where not even ``MOST_FACTOR`` uses all
    error: float
    governs: str | None  # place, criterion and state, such as "tie 12:20, fatigue, warm"
    slope: float | None = None  # of the share by the factor there, where it was met


def limit_near(
    judge_: Judge, life: Life, start: float | None, slope: float | None = None
) -> NearLimit:
    """The gas load that uses a share of one, begun from the limit of a like design.

    State by state, as metal at another temperature has to be factored again; the one that uses
    most of the asked load first, and no other that uses less at what is found.

    Parameters
    ----------
    judge_ : Judge
    life : Life
    start : float, optional
        That limit.
    slope : float, optional
        Growth of the share with the factor there.

    Raises
    ------
    RunError
        If contact is not found.
    """
    by_state = [Loads(judge_, life, state) for state in life.engine_states]
    by_state.sort(key=lambda loads: -loads.used(1.0))
    least, of = MOST_FACTOR, by_state[0]
    found = False
    for loads in by_state:
        if found and loads.used(1.0) * max(least, 1.0) ** STEEPLY < 1:
            continue
        if found and (least == 0 or loads.used(least) < 1):
            continue
        factor = near_limit(loads, least if found else start, slope)
        if factor is not None and (not found or factor < least):
            least, of, found = factor, loads, True
    governing = of.governing(of.nearest(least))
    return NearLimit(
        factor=least if found else None,
        error=of.error(least),
        governs=f"{governing[1].spot.part} {governing[1].spot.clock}, {governing[0]}"
        if governing
        else None,
        slope=of.slope(),
    )


def near_limit(
    loads: Tried,
    start: float | None,
    slope: float | None = None,
    *,
    first: float = 1.0,
    nearly: float = NEARLY,
    narrow: float = NEARLY,
    of_no_use: float = 0.0,
) -> float | None:
    """The gas load that uses a share of one, by secants between what uses less and more.

    0 where all is used with no gas, None where not even ``MOST_FACTOR`` uses all. The ``first``
    load is tried before all; from a share that is so ``nearly`` one, the last step needs no solve,
    once two loads, or a ``slope`` that is given, tell how shares grow. Where shares jump it is the
    load that uses less, once one that uses more is within a share so ``narrow``. A limit below a
    load that is ``of_no_use`` is off by ``ROUGHLY``, at most.
    """
    factor = first
    for turn in range(MOST_NEAR):
        above, power = loads.above(factor), loads.power(factor)
        less = max((one for one in loads.solved if loads.above(one) <= 0), default=None)
        more = min((one for one in loads.solved if loads.above(one) > 0), default=None)
        if more is not None and more <= of_no_use:
            nearly, narrow = max(nearly, ROUGHLY), max(narrow, ROUGHLY)
        if len(loads.solved) == 1 and slope and abs(above) <= nearly:
            return factor + (1 - loads.used(factor)) / slope
        if abs(above) <= (nearly if len(loads.solved) > 1 else NEARLY):
            return factor * math.exp(-above / power)
        if less is None:
            assert more is not None
            if more == LEAST_FACTOR:
                return 0.0
            if loads.heat_held and math.isinf(loads.used(more)):  # as with no gas, mostly
                factor = LEAST_FACTOR
                continue
            further = more * math.exp(-min(loads.above(more) / power, math.log(LARGEST_STEP)))
            factor = max(further, LEAST_FACTOR)
        elif more is None:
            if less == MOST_FACTOR or loads.used(less) == 0:
                return None
            further = less * math.exp(min(-loads.above(less) / power, math.log(LARGEST_STEP)))
            factor = min(further, MOST_FACTOR)
        else:
            wide = math.log(more / less)
            if wide < narrow:
                return less
            low, high = loads.above(less), loads.above(more)
            halve = turn % 3 == 2 or math.isinf(loads.used(more))
            share = 0.5 if halve else float(np.clip(-low / (high - low), 0.1, 0.9))
            factor = less * math.exp(share * wide)
        if turn == 0 and start and abs(above) > FAR and (start < 1) == (above > 0):
            factor = start
        elif (straight := _straight(loads, less, more, slope)) is not None and turn % 4 != 3:
            factor = straight
    return factor


def _straight(
    loads: Tried, less: float | None, more: float | None, slope: float | None
) -> float | None:
    """Where a straight line from the load nearest to the limit meets it, between what is known."""
    nearest = min(loads.solved, key=lambda one: abs(loads.above(one)))
    slope = loads.slope() or slope
    if slope is None or abs(loads.above(nearest)) > CLOSE:
        return None
    found = nearest + (1 - loads.used(nearest)) / slope
    low, high = less or LEAST_FACTOR, more or MOST_FACTOR
    return found if low < found < high else None


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
    loads, notes = Loads(judge_, life), list[str]()
    solved, limit, unsolved = loads.solved, None, ""
    try:
        limit = factor_that_uses_all(loads)
    except RunError as error:
        unsolved = str(error)
        notes.append(f"no limit: another gas load could not be solved. {unsolved}")
    asked, at_limit = solved[1.0], solved[1.0 if limit is None else limit]
    doubts = judge_.doubts(at_limit)
    reached = None
    if limit is not None:
        found = stands(life.load, limit)
        reached = replace(found, error=loads.error(limit), at_most=bool(doubts))
    worst = judge_.worst(at_limit)
    governing = loads.governing(1.0 if limit is None else limit)
    pushes = judge_.pushed(at_limit, governing[1]) if governing else 0.0
    lives = _life_cycles(judge_, asked)
    return DesignRating(
        limit=reached,
        tried=max(solved),
        governing=governing[1] if governing else None,
        used_at_limit={name: one.share for name, one in worst.items()} if reached else {},
        used={name: one.share for name, one in judge_.worst(asked).items()},
        life_cycles=lives,
        life_hours=hours_of(life.load, next(iter(lives.values()))),
        spots=judge_.spots(asked),
        band=None,
        unsolved=unsolved,
        pushed=pushes,
        notes=(
            *_rated_about(judge_.case.block),
            *untold_strengths(judge_, [one.cycle for one in asked]),
            *(told_doubts(judge_.case.block, doubts) if doubts else ()),
            *notes,
            *(_untold_limit(reached) if reached else []),
        ),
    )


def _rated_about(block: Block) -> list[str]:
    """Which bore of several is rated, in words."""
    if block.bores == 1:
        return []
    return [f"rated about bore {block.firing_bore}, which fires; set firing_bore to rate another."]


def _life_cycles(judge_: Judge, judged: Sequence[JudgedCycle]) -> dict[EngineState, float]:
    """Cycles to the first failure of a rated place of a part that can govern, by state."""
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


class Raised(Protocol):
    """What a limit is sought of."""

    def used(self, factor: float) -> float:
        """Largest share of any strength under a gas load."""


def factor_that_uses_all(loads: Raised, start: float = 1.0) -> float | None:
    """Factor on the gas load at which a share of one is used, by solving again.

    0 where it is used with no gas at all, None where not even by ``MOST_FACTOR``.

    Parameters
    ----------
    loads : Raised
    start : float
        Factor that is tried first.
    """
    from scipy.optimize import brentq

    used = loads.used
    low = high = start
    step = 1.0  # grows: where heat and fit use nearly all, less gas hardly helps
    if used(start) < 1:
        while used(high) < 1:
            if high == MOST_FACTOR or used(high) == 0:
                return None
            step = min(max(BEYOND / used(high), step**2), LARGEST_STEP)
            low, high = high, min(high * step, MOST_FACTOR)
    else:
        while used(low) > 1:
            if low == LEAST_FACTOR:
                used(0.0)
                return 0.0
            step = min(max(BEYOND * used(low), step**2), LARGEST_STEP)
            low, high = max(low / step, LEAST_FACTOR), low

    def height(place: float) -> float:
        above = math.log(np.clip(used(math.exp(place)), 1 / MOST_SHARE, MOST_SHARE))
        return 0.0 if abs(above) <= NEAR else above

    found = math.exp(brentq(height, math.log(low), math.log(high), xtol=NEAR))
    used(found)
    return found


def stands(gas: GasLoad, factor: float) -> Stands:
    """A factor on the gas load as peak pressure, boost and power, as far as an engine gives it.

    The pressure is the peak of the mean cycle, factor of detonation and scatter taken out.
    """
    load, asked = gas.wall_load, gas.cycle
    if load is None or asked is None:
        wall = factor * gas.peak_pressure
        return Stands(factor=factor, pressure_mpa=gas.read(wall), wall_mpa=wall)
    reached = at_load(gas, factor)
    if reached is None or reached.wall_load is None or reached.cycle is None:
        return Stands(factor=factor, pressure_mpa=None)
    cycle, wall = reached.cycle, reached.wall_load.peak
    return Stands(
        factor=factor,
        pressure_mpa=gas.read(wall),
        wall_mpa=wall,
        intake_mpa=cycle.engine.intake_pressure,
        boost_mpa=cycle.boost,
        power_kw=cycle.power,
    )


def hours_of(load: GasLoad, cycles: float) -> float | None:
    """Time that some cycles of a four-stroke engine take at its speed. [h]."""
    return None if load.speed is None else cycles * 2 / (60 * load.speed)

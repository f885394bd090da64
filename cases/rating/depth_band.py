"""How far the limit by a solid is spread by what is not known, at the solid's own places.

Strengths and gas pressure are drawn as for the section (:mod:`cases.rating.band`), and each draw's
limit is sought at the places of the solid that use most, in the gas loads that were solved on the
way to the limit; where the engine heats the block, in their heat too. What needs other solids,
another fit or thinner walls, shifts the limit as it shifts the section's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.steps import EngineState
from cases.rating.band import (
    ByHeat,
    Places,
    Solved,
    band_among,
    beyond_heat,
    draw_inputs,
    draw_limits,
    straight,
)
from cases.rating.given import Rating
from cases.rating.result import PRESSURE, Band
from cases.rating.shares import wanted_cycles
from cases.rating.solid import SolidLoads
from fea.material import Material
from fea.solid.stress import SomeNodes

Array = NDArray[np.float64]

UNLIKE = 0.03
"""Gas loads nearer than this to one another count once, as a share."""


@dataclass(frozen=True, slots=True)
class _Judging:
    """What draws are judged by."""

    case: Case
    wishes: Rating
    materials: Mapping[str, Material]

    @property
    def parts(self) -> tuple[str, ...]:
        """That can govern."""
        return tuple(self.materials)

    def cycles(self, state: EngineState) -> float:
        """Cycles that the metal has to last in a state."""
        return wanted_cycles(self.case, state)


@dataclass(frozen=True, eq=False, slots=True)
class SolidDraws:
    """What the band of a limit by a solid is drawn from; the solid itself is not in it."""

    load: GasLoad
    reliability: float  # share of the draws that are to carry the limit
    judging: _Judging
    solved: Solved


def draws_of(
    loads: SolidLoads, limit: float, heats: Sequence[tuple[float, SolidLoads]] = ()
) -> SolidDraws:
    """What the band of a limit by a solid is drawn from.

    Parameters
    ----------
    loads : SolidLoads
        Of which the limit was sought.
    limit : float
        Factor on the gas load, above 0.
    heats : sequence of (float, SolidLoads)
        The solid at the heat of several gas loads, by their factors, ``loads`` among them; none
        where heat stands still.

    Raises
    ------
    RunError
        If contact is not found.
    """
    life = loads.life
    judging = _Judging(
        life.case,
        loads.wishes,
        {part: life.materials[part] for part in loads.parts},
    )
    tried = _unlike([*loads.tried, limit])
    rising = sorted(heats, key=lambda of: of[0])
    solved = Solved(
        fits=np.zeros(1),
        loads=np.array([0.0, *tried]),
        places=tuple(_read(loads, limit, tried, rising)),
        yielding=loads.yield_share * np.array([[0.0, *tried]]),
        limit=limit,
        heats=np.array([factor for factor, _ in rising] or [1.0]),
        borne=np.array(
            [loads.yield_share / of.yield_share if of.yield_share else 1.0 for _, of in rising]
            or [1.0]
        ),
    )
    return SolidDraws(life.load, loads.wishes.reliability, judging, solved)


def band_of_solid(
    draws: SolidDraws, shifts: Mapping[str, tuple[float, float, float]]
) -> tuple[Band, list[str]]:
    """The band of a limit by a solid, and what is to be told of its draws, in words.

    Parameters
    ----------
    draws : SolidDraws
    shifts : mapping of str to tuple of float
        Of the inputs that need other solids, as :class:`cases.rating.result.Band` has them.
    """
    judging, solved = draws.judging, draws.solved
    inputs, effects = draw_inputs(judging.wishes, judging, solved, list(shifts))
    alone = {name: of for name, of in effects.items() if name not in shifts}
    limits = draw_limits(judging, solved, alone)
    factor = limits / effects[PRESSURE]
    for name, three in shifts.items():
        factor = factor * np.interp(inputs[name], (-1, 0, 1), three)
    band = band_among(factor, draws.reliability, draws.load, inputs)
    return band, beyond_heat(solved, limits)


def _unlike(tried: list[float]) -> list[float]:
    """Gas loads in order, of those that are alike the first."""
    kept: list[float] = []
    for factor in sorted(of for of in tried if of > 0):
        if not kept or factor > (1 + UNLIKE) * kept[-1]:
            kept.append(factor)
    return kept


def _read(
    loads: SolidLoads, limit: float, tried: list[float], heats: Sequence[tuple[float, SolidLoads]]
) -> Iterator[Places]:
    """Stress of the places that count, part by part, with no gas and at each load and heat."""
    groups: dict[tuple[EngineState, str, int], set[int]] = {}
    hotter = (of.that_count(factor, solved=False) for factor, of in heats if of is not loads)
    for place in chain(loads.that_count(limit), *hotter):
        groups.setdefault((place.engine, place.part, place.angle), set()).add(place.row)
    for (engine, part, angle), some in groups.items():
        rows = np.array(sorted(some))
        idle = next(of for of in loads.idle(engine, limit) if of.part == part)
        solutions = [loads.life.at_gas(engine, factor, (angle,))[0] for factor in tried]
        nodes = SomeNodes(solutions[0].model.smoothing, {part: rows})
        own = np.array([idle.stress[:, rows], *(nodes.stress(of)[part] for of in solutions)])
        standing = loads.standing(engine, part, rows)
        adds = (own[-1] - own[0]) / tried[-1]
        beside = loads.beside(engine, part, rows, adds)
        # at other heats a cold solid is the same, but for what hours hot have left of its strength
        warm = heats if engine is EngineState.WARM else ()
        by_heat = ByHeat(
            temperature=np.array([of.temperature(engine, idle)[rows] for _, of in heats]),
            kept=np.array([of.kept(engine, idle)[rows] for _, of in heats]),
            idle=np.zeros((1, len(heats), 6, len(rows))),
            gas=np.zeros((1, len(heats), 6, len(rows))),
        )
        expected = straight(np.array([factor for factor, _ in warm]), np.array([0.0, *tried]))
        for at, (factor, of) in enumerate(warm):
            if of is not loads:
                still = next(one for one in of.idle(engine, factor) if one.part == part)
                (solution,) = of.life.at_gas(engine, factor, (angle,))
                by_heat.idle[0, at] = still.stress[:, rows] - own[0]
                gas = nodes.stress(solution)[part]
                by_heat.gas[0, at] = gas - np.tensordot(expected[at], own, 1)
        yield Places(
            part=part,
            state=engine,
            temperature=loads.temperature(engine, idle)[rows],
            kept=loads.kept(engine, idle)[rows],
            idle=own[None, None, 0],
            gas=own[None, None],
            standing=None if standing is None else standing[None, None],
            beside=None if beside is None else beside[None, None],
            by_heat=by_heat if heats else None,
        )

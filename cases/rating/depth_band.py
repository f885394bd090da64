"""How far the limit by a solid is spread by what is not known, at the solid's own places.

Strengths and gas pressure are drawn as for the section (:mod:`cases.rating.band`), and each draw's
limit is sought at the places of the solid that use most, in the gas loads that were solved on the
way to the limit. What needs other solids, another fit or thinner walls, shifts the limit as it
shifts the section's.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.steps import EngineState
from cases.rating.band import Places, Solved, band_among, draw_inputs, draw_limits
from cases.rating.given import Rating
from cases.rating.result import PRESSURE, Band
from cases.rating.shares import wanted_cycles
from cases.rating.solid import SolidLoads, Spotted
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


def draws_of(loads: SolidLoads, limit: float) -> SolidDraws:
    """What the band of a limit by a solid is drawn from.

    Parameters
    ----------
    loads : SolidLoads
        Of which the limit was sought.
    limit : float
        Factor on the gas load, above 0.

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
    solved = Solved(
        fits=np.zeros(1),
        loads=np.array([0.0, *tried]),
        places=tuple(_read(loads, limit, tried)),
        yielding=loads.yield_share * np.array([[0.0, *tried]]),
        limit=limit,
    )
    return SolidDraws(life.load, loads.wishes.reliability, judging, solved)


def band_of_solid(draws: SolidDraws, shifts: Mapping[str, tuple[float, float, float]]) -> Band:
    """The band of a limit by a solid.

    Parameters
    ----------
    draws : SolidDraws
    shifts : mapping of str to tuple of float
        Of the inputs that need other solids, as :class:`cases.rating.result.Band` has them.
    """
    judging, solved = draws.judging, draws.solved
    inputs, effects = draw_inputs(judging.wishes, judging, solved, list(shifts))
    alone = {name: of for name, of in effects.items() if name not in shifts}
    factor = draw_limits(judging, solved, alone) / effects[PRESSURE]
    for name, three in shifts.items():
        factor = factor * np.interp(inputs[name], (-1, 0, 1), three)
    return band_among(factor, draws.reliability, draws.load, inputs)


def _unlike(tried: list[float]) -> list[float]:
    """Gas loads in order, of those that are alike the first."""
    kept: list[float] = []
    for factor in sorted(of for of in tried if of > 0):
        if not kept or factor > (1 + UNLIKE) * kept[-1]:
            kept.append(factor)
    return kept


def _read(loads: SolidLoads, limit: float, tried: list[float]) -> Iterator[Places]:
    """Stress of the places that count, part by part, with no gas and at each load."""
    groups: dict[tuple[EngineState, str, int], list[Spotted]] = {}
    for place in loads.that_count(limit):
        groups.setdefault((place.engine, place.part, place.angle), []).append(place)
    for (engine, part, angle), some in groups.items():
        rows = np.array([place.row for place in some])
        idle = next(of for of in loads.idle(engine, limit) if of.part == part)
        solutions = [loads.life.at_gas(engine, factor, (angle,))[0] for factor in tried]
        nodes = SomeNodes(solutions[0].model.smoothing, {part: rows})
        gas = [nodes.stress(of)[part] for of in solutions]
        still, standing = idle.stress[:, rows], loads.standing(engine, part, rows)
        yield Places(
            part=part,
            state=engine,
            temperature=loads.temperature(engine, idle)[rows],
            kept=loads.kept(engine, idle)[rows],
            idle=still[None, None],
            gas=np.array([[[still, *gas]]]),
            standing=None if standing is None else standing[None, None],
        )

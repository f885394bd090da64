"""How far the limit by a solid is spread by what is not known, at the solid's own places.

Strengths and gas pressure are drawn as for the section (:mod:`cases.rating.band`), and each draw's
limit is sought at the places of the solid that use most, in the gas loads that were solved on the
way to the limit; where the engine heats the block, in their heat too. Another fit is another solid
(:mod:`cases.rating.solid_fits`); thinner walls shift the limit as they shift the section's.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.steps import EngineState
from cases.rating.band import (
    QUANTILES,
    ByHeat,
    Places,
    Solved,
    band_among,
    between,
    beyond_heat,
    draw_inputs,
    draw_limits,
    straight,
)
from cases.rating.given import Rating
from cases.rating.own_heat import those_apart
from cases.rating.result import FIT, PRESSURE, Band, FitPoint
from cases.rating.shares import wanted_cycles
from cases.rating.solid import SolidLoads
from fea.material import Material
from fea.solid.stress import PartStress, SomeNodes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Shifts = Mapping[str, tuple[float, float, float]]

LESS = 0.65
"""Gas load over the limit that tells what less of it, and less of its heat, does."""
LESS_BETWEEN = 0.45, 0.75
"""Over the limit, where one of the gas loads that are solved is to be: weak draws break there."""
UNLIKE = 0.03
"""Gas loads nearer than this to one another count once, as a share."""


@dataclass(frozen=True, slots=True)
class SolidJudging:
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
    judging: SolidJudging
    solved: Solved


@dataclass(frozen=True, eq=False, slots=True)
class OtherSolids:
    """What a solid does at several fits, without the solid.

    Parameters
    ----------
    stated_um, tolerance_um : float
        On the diameter.
    judging : SolidJudging
    points : tuple of FitPoint
        Interference rising, the stated one among them; limits with all at its middle.
    solved : tuple of Solved or None
        What draws are read from at each; None without draws, or where there is no limit to draw
        about.
    unsolved : tuple of str
        Fits that could not be solved, in words.
    """

    stated_um: float
    tolerance_um: float
    judging: SolidJudging
    points: tuple[FitPoint, ...]
    solved: tuple[Solved | None, ...]
    unsolved: tuple[str, ...] = ()

    @property
    def at_um(self) -> Array:
        """Interferences. [um]."""
        return np.array([point.interference_um for point in self.points])


def judging_of(loads: SolidLoads) -> SolidJudging:
    """What draws of a solid are judged by, without the solid."""
    life = loads.life
    materials = {part: life.materials[part] for part in loads.parts}
    return SolidJudging(life.case, loads.wishes, materials)


def draws_of(
    loads: SolidLoads, limit: float, heats: Sequence[tuple[float, SolidLoads]] = ()
) -> SolidDraws:
    """What the band of a limit by a solid is drawn from.

    At the heat of the limit the loads of other heats are solved too, as far as they are less, or
    one of about two thirds of the limit where there is none: a joint opens with the load, and what
    stress grows by is no straight line from no gas on. Read so, 90 of 100 draws of the bundled
    block, coarse and asked for 118 kW, carried 1.17 (``local``) and 0.93 (``uniform``) of that
    load; by solids about it they carry 1.05 and 0.94, and with these as much.

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
    life, judging = loads.life, judging_of(loads)
    rising = sorted(heats, key=lambda of: of[0])
    tried = [*loads.tried, limit, *(factor for factor, _ in rising if factor < limit)]
    tried = _unlike([*tried, *_less(limit, tried)])
    solved = Solved(
        fits=np.zeros(1),
        loads=np.array([0.0, *tried]),
        places=tuple(_read(loads, limit, tried, rising)),
        yielding=loads.yield_share * np.array([[0.0, *tried]]),
        limit=limit,
        heats=np.array([factor for factor, _ in rising] or [1.0]),
        borne=_borne(loads, rising),
    )
    return SolidDraws(life.load, loads.wishes.reliability, judging, solved)


def read_fit(loads: SolidLoads, limit: float) -> Solved:
    """What draws of a solid are read from at a fit, in the gas loads that were solved.

    Where a crank angle was not solved what the gas adds is in proportion. Where the engine heats
    the block, each load that was solved is at its own heat; where they are all much alike, one of
    less is solved too. The least of them, or one of less where heat stands still, is solved at the
    heat of the limit as well, as :func:`draws_of` does.

    Parameters
    ----------
    loads : SolidLoads
    limit : float
        Factor on the gas load, above 0.

    Raises
    ------
    RunError
        If contact is not found at less heat.
    """
    heats = _heats_of(loads, limit)
    if heats:
        loads = heats[0][1]
    rising = sorted(heats, key=lambda of: of[0])
    less = [factor for factor, _ in rising[:1] if factor < limit]
    tried = [*loads.tried, *([limit] if heats else []), *less]
    less += _less(limit, tried)
    tried = _unlike([*tried, *less])
    groups: dict[tuple[EngineState, str], dict[int, set[int]]] = {}
    hotter = (of.that_count(factor, solved=False) for factor, of in heats[1:])
    for place in chain(loads.that_count(limit, solved=False), *hotter):
        by_angle = groups.setdefault((place.engine, place.part), {})
        by_angle.setdefault(place.angle, set()).add(place.row)
    places = []
    for (engine, part), by_angle in groups.items():
        rows = np.concatenate([sorted(some) for some in by_angle.values()])
        idle = next(of for of in loads.idle(engine, limit) if of.part == part)

        def at_gas(
            of: SolidLoads,
            factor: float,
            engine: EngineState = engine,
            part: str = part,
            by_angle: Mapping[int, set[int]] = by_angle,
        ) -> Array:
            solved = of is loads and factor in less
            of_angles = [
                of.told(engine, factor, angle, {part: np.array(sorted(some))}, solved=solved)[part]
                for angle, some in by_angle.items()
            ]
            return np.concatenate(of_angles, axis=1)

        own = np.array([idle.stress[:, rows], *(at_gas(loads, factor) for factor in tried)])
        standing = loads.standing(engine, part, rows)
        beside = loads.beside(engine, part, rows, (own[-1] - own[0]) / tried[-1])
        places.append(
            Places(
                part=part,
                state=engine,
                temperature=loads.temperature(engine, idle)[rows],
                kept=loads.kept(engine, idle)[rows],
                idle=own[None, None, 0],
                gas=own[None, None],
                standing=None if standing is None else standing[None, None],
                beside=None if beside is None else beside[None, None],
                by_heat=_by_heat(loads, rising, engine, idle, rows, tried, own, at_gas)
                if heats
                else None,
            )
        )
    return Solved(
        fits=np.zeros(1),
        loads=np.array([0.0, *tried]),
        places=tuple(places),
        yielding=loads.yield_share * np.array([[0.0, *tried]]),
        limit=limit,
        heats=np.array([factor for factor, _ in rising] or [1.0]),
        borne=_borne(loads, rising),
    )


def _heats_of(loads: SolidLoads, limit: float) -> list[tuple[float, SolidLoads]]:
    """The same fit at heats that tell what heat does, that of the limit first; none if it doesn't.

    Raises
    ------
    RunError
        If contact is not found at less heat.
    """
    if loads.heats is None:
        return []
    own = loads.at_heat(limit)
    others = [(factor, of) for factor, of in loads.at_heats.items() if of is not own]
    kept = those_apart([(limit, own), *others])
    if len(kept) == 1:
        kept.append((LESS * limit, loads.at_heat(LESS * limit)))
    return kept


def _borne(loads: SolidLoads, heats: Sequence[tuple[float, SolidLoads]]) -> Array:
    """Yield strength of the block's metal at each heat, over that at the heat of some loads."""
    over = [loads.yield_share / of.yield_share if of.yield_share else 1.0 for _, of in heats]
    return np.array(over or [1.0])


def band_of_solid(
    draws: SolidDraws, shifts: Shifts, others: OtherSolids | None = None
) -> tuple[Band, list[str], tuple[FitPoint, ...]]:
    """The band of a limit by a solid, what is to be told of its draws, and its other fits.

    Each draw has its own limit at each fit that was solved, and between them along straight lines.
    A fit's own limit is that of draws that all have it, beside it stands that of draws within the
    stated tolerance of it: that of the stated one is the limit that is told.

    Parameters
    ----------
    draws : SolidDraws
    shifts : mapping of str to tuple of float
        Of the inputs that need other solids, as :class:`cases.rating.result.Band` has them.
    others : OtherSolids, optional
        The solid at other fits; its own shift of the fit counts where they are left out.
    """
    judging, solved = draws.judging, draws.solved
    own = _own(shifts, others)
    inputs, alone, over = _by_itself(judging, solved, own, others)
    limits = draw_limits(judging, solved, alone)
    if others is None:
        band = band_among(limits * over, draws.reliability, draws.load, inputs, own)
        return band, beyond_heat(solved, limits), ()
    each = _at_fits(others, alone, over, limits * over)
    fits = _told_fits(others, each, inputs)
    stated = _within(others, each, inputs, others.stated_um)
    band = band_among(stated, draws.reliability, draws.load, inputs, own)
    return band, beyond_heat(solved, limits), fits


def bands_at(
    draws: SolidDraws, shifts: Shifts, others: OtherSolids, stated_um: Sequence[float]
) -> list[Band]:
    """The band of the limit at each of several stated fits, read between those that were solved.

    Parameters
    ----------
    draws : SolidDraws
        Of the fit that ``others`` calls the stated one.
    shifts : mapping of str to tuple of float
    others : OtherSolids
    stated_um : sequence of float
        On the diameter, each within a tolerance of which its draws are.
    """
    judging, solved = draws.judging, draws.solved
    inputs, alone, over = _by_itself(judging, solved, _own(shifts, others), others)
    stated = draw_limits(judging, solved, alone) * over
    each = _at_fits(others, alone, over, stated)
    return [
        band_among(_within(others, each, inputs, um), draws.reliability, draws.load, {})
        for um in stated_um
    ]


def fits_of_solid(others: OtherSolids, shifts: Shifts) -> tuple[FitPoint, ...]:
    """Other fits of a solid, as of :func:`band_of_solid`, where the stated one has no band."""
    judging = others.judging
    solved = next((of for of in others.solved if of), None)
    if solved is None:
        return others.points
    inputs, alone, over = _by_itself(judging, solved, _own(shifts, others), others)
    return _told_fits(others, _at_fits(others, alone, over), inputs)


def _own(shifts: Shifts, others: OtherSolids | None) -> Shifts:
    """What shifts a limit as the section's: all but the fit, where that is read between solids."""
    return {name: of for name, of in shifts.items() if others is None or name != FIT}


def _by_itself(
    judging: SolidJudging, solved: Solved, own: Shifts, others: OtherSolids | None
) -> tuple[dict[str, Array], dict[str, Array], Array]:
    """Draws; what of them counts at a fit that is solved; by how much the rest changes a limit."""
    swept = [FIT] if others and others.tolerance_um else []
    inputs, effects = draw_inputs(judging.wishes, judging, solved, [*own, *swept])
    alone = {name: of for name, of in effects.items() if name not in (*own, *swept)}
    over = 1 / effects[PRESSURE]
    for name, three in own.items():
        over = over * np.interp(inputs[name], (-1, 0, 1), three)
    return inputs, alone, over


def _at_fits(
    others: OtherSolids, alone: Mapping[str, Array], over: Array, stated: Array | None = None
) -> Array:
    """Limit of each draw at each fit, (draws, fits), the stated one's as given where it is."""
    found = np.empty((len(over), len(others.points)))
    like = None if stated is None else stated / over
    for at, (point, solved) in enumerate(zip(others.points, others.solved, strict=True)):
        beyond = point.tried if point.limit is None else 0.0
        found[:, at] = (
            beyond if solved is None else draw_limits(others.judging, solved, alone, like)
        )
    found *= over[:, None]
    if stated is not None:
        at = int(np.abs(others.at_um - others.stated_um).argmin())
        both = (found[:, at] > 0) & (stated > 0)
        found *= np.where(both, stated / np.where(both, found[:, at], 1.0), 1.0)[:, None]
        found[:, at] = stated
    return found


def _within(others: OtherSolids, each: Array, inputs: Mapping[str, Array], um: float) -> Array:
    """What draws of a fit [um] carry, each within the stated tolerance of it, shape (draws,)."""
    off = others.tolerance_um * inputs.get(FIT, np.zeros(len(each)))
    return np.einsum("df,df->d", between(um + off, others.at_um), each)


def _told_fits(
    others: OtherSolids, each: Array, inputs: Mapping[str, Array]
) -> tuple[FitPoint, ...]:
    """Each fit by its draws (draws, fits)."""
    lost = 1 - others.judging.wishes.reliability
    told = []
    for point, limits in zip(others.points, each.T, strict=True):
        limit = float(np.quantile(limits, lost))
        low, high = np.percentile(limits, QUANTILES[::2]).tolist()
        within = _within(others, each, inputs, point.interference_um)
        told.append(
            replace(
                point,
                limit=limit,
                limit_error=point.limit_error * limit / point.limit if point.limit else 0.0,
                tried=None,
                band=(low, high),
                within=float(np.quantile(within, lost)),
            )
        )
    return tuple(told)


def _unlike(tried: list[float]) -> list[float]:
    """Gas loads in order, of those that are alike the first."""
    kept: list[float] = []
    for factor in sorted(of for of in tried if of > 0):
        if not kept or factor > (1 + UNLIKE) * kept[-1]:
            kept.append(factor)
    return kept


def _less(limit: float, tried: Sequence[float]) -> list[float]:
    """A gas load that is less than the limit, where none of those that were tried is."""
    low, high = LESS_BETWEEN
    return [] if any(low * limit <= of <= high * limit for of in tried) else [LESS * limit]


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

        def at_gas(
            of: SolidLoads,
            factor: float,
            engine: EngineState = engine,
            part: str = part,
            angle: int = angle,
            nodes: SomeNodes = nodes,
        ) -> Array:
            (solution,) = of.life.at_gas(engine, factor, (angle,))
            return nodes.stress(solution)[part]

        yield Places(
            part=part,
            state=engine,
            temperature=loads.temperature(engine, idle)[rows],
            kept=loads.kept(engine, idle)[rows],
            idle=own[None, None, 0],
            gas=own[None, None],
            standing=None if standing is None else standing[None, None],
            beside=None if beside is None else beside[None, None],
            by_heat=_by_heat(loads, heats, engine, idle, rows, tried, own, at_gas)
            if heats
            else None,
        )


def _by_heat(
    loads: SolidLoads,
    heats: Sequence[tuple[float, SolidLoads]],
    engine: EngineState,
    idle: PartStress,
    rows: Integers,
    tried: Sequence[float],
    own: Array,
    at_gas: Callable[[SolidLoads, float], Array],
) -> ByHeat:
    """Nodes of a part at each heat, under its load; ``own`` is their stress at that of the loads.

    Parameters
    ----------
    loads : SolidLoads
    heats : sequence of (float, SolidLoads)
        By factors, rising; ``loads`` among them.
    engine : EngineState
    idle : PartStress
        Of ``loads``.
    rows : ndarray of int, shape (r,)
    tried : sequence of float
        Gas loads, l of them, rising.
    own : ndarray, shape (1 + l, 6, r)
        Stress with no gas and at each of them. [MPa]
    at_gas : callable
        The same, shape (6, r), of the solid at another heat, under a gas load. [MPa]
    """
    found = ByHeat(
        temperature=np.array([of.temperature(engine, idle)[rows] for _, of in heats]),
        kept=np.array([of.kept(engine, idle)[rows] for _, of in heats]),
        idle=np.zeros((1, len(heats), 6, len(rows))),
        gas=np.zeros((1, len(heats), 6, len(rows))),
    )
    if engine is not EngineState.WARM:
        return found  # the same, but for what hours hot have left of its strength
    expected = straight(np.array([factor for factor, _ in heats]), np.array([0.0, *tried]))
    for at, (factor, of) in enumerate(heats):
        if of is not loads:
            still = next(one for one in of.idle(engine, factor) if one.part == idle.part)
            found.idle[0, at] = still.stress[:, rows] - own[0]
            found.gas[0, at] = at_gas(of, factor) - np.tensordot(expected[at], own, 1)
    return found

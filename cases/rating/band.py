"""How far a limit is spread by what is not known: fit, walls, strength, gas, critical distance.

Stress is solved at a few fits and gas loads and read between them, at the places that use most of
their strength; thousands of draws then cost no more than arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import CaseError, RunError
from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.base import Life
from cases.life.life import FittedLife
from cases.life.steps import EngineState
from cases.rating.flaws import fatigue_left, has_pore
from cases.rating.given import Rating, rating_given
from cases.rating.judge import LEAST, LOCAL, MOST, MOST_SHARE, USUAL, Felt, Judge, JudgedCycle
from cases.rating.limit import stands
from cases.rating.result import FIT, LENGTH, LINER, PRESSURE, WALLS, Band
from cases.rating.shares import judge
from fea.material import REFERENCE, Material
from fea.strength import WROUGHT_SCATTER
from geometry.refusals import SectionError

Array = NDArray[np.float64]

LOADS = np.array([0.6, 0.8, 1.0, 1.25, 1.6])
"""Gas loads that are solved, over that of the limit."""
NEAR_WORST = 0.6
"""Places that use this share of what the worst one uses are kept, in each solved state."""
MOST_PLACES = 20
"""Places kept of a layer, at most."""
AT_ONCE = 500
"""Draws reckoned together."""
WIDEST, HALVINGS = 4.0, 11
"""How many times the limit a draw's is sought up to, and how often that is halved."""
QUANTILES = (5, 50, 95)  # [%]
SEED = 2024
PORE = "pore"
STRENGTH, HOT = "strength of {}", "hot strength of {}"


class Judging(Protocol):
    """What draws are judged by."""

    @property
    def wishes(self) -> Rating:
        """What the case asks of a rating."""

    @property
    def materials(self) -> Mapping[str, Material]:
        """By part."""

    @property
    def parts(self) -> Collection[str]:
        """That can govern."""

    def cycles(self, state: EngineState) -> float:
        """Cycles that the metal has to last in a state."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Places:
    """Stress of some nodes of a layer, in one state, at every solved fit and gas load.

    Of a section it has three components, of a solid six. Fits are those of the insert and then,
    where it is drawn, the liner's least and most.
    """

    part: str
    state: EngineState
    temperature: Array  # (k,) [degC]
    idle: Array  # (lengths, fits, 3, k) [MPa]
    gas: Array  # (lengths, fits, loads, 3, k) [MPa]
    kept: Array | float = 1.0  # (k,) share of its strength that hours hot have left cold metal
    by_distance: NDArray[np.bool_] | bool = False  # (k,) stress is a mean over that distance
    standing: Array | None = None  # (lengths, fits, 3, k) of the engine that stands cold [MPa]


@dataclass(frozen=True, eq=False, kw_only=True)
class Solved:
    """What was solved of a design around its limit."""

    fits: Array  # of the insert: off the stated interference, over its tolerance, (fits,)
    loads: Array  # factors on the gas load, from none, (loads,)
    places: tuple[Places, ...]
    yielding: Array  # share of the block's yield strength, the worst state, (fits, loads)
    limit: float = 1.0  # that they are around
    liners: bool = False  # whether the liner's least and most interference follow the fits

    @property
    def lengths(self) -> int:
        """Critical distances that the stress of some place is known for: one or three."""
        return max((len(place.idle) for place in self.places), default=1)


def thinner(case: Case, by: float) -> Case:
    """The case with every barrel wall thinner by a length [mm], at its relief cuts as well."""
    block = case.block
    changed = replace(
        block.thickened(-by),
        relief_cuts=tuple(replace(cut, radius=cut.radius - by) for cut in block.relief_cuts),
    )
    return replace(case, block=changed)


def band_of(
    judge_: Judge,
    life: Life,
    limit: float,
    other: Callable[[Case], tuple[Judge, Life]],
    liners: Sequence[Life] = (),
) -> tuple[Band, list[str]]:
    """The band of a limit, and what could not be drawn, in words.

    Interference, walls and the threshold that a critical distance is of are drawn evenly within
    their tolerance or range, thresholds of all metals alike, and so is the interference of a liner
    that is not stated, and what sources leave of the strengths when hot. Strength (lognormal, by
    material), the size of a stated pore (lognormal too) and gas pressure (normal) are drawn by
    their scatter.
    Walls count by one more solved design, all its shares of strength alike.

    Parameters
    ----------
    judge_ : Judge
    life : Life
    limit : float
        Factor on the gas load, above 0.
    other : callable
        Judge and life of the same design in another case.
    liners : sequence of Life
        The same with the least and the most that the liner may be held by; none where that is
        stated.

    Raises
    ------
    RunError
        If the design can't be solved around its limit.
    """
    wishes = rating_given(life.case)
    lives, notes = _other_fits(life)
    solved = solve_around(judge_, lives, limit, liners)
    by_walls = 0.0
    if wishes.wall_tolerance:
        try:
            by_walls = _effect_of_walls(judge_, life, limit, other, wishes.wall_tolerance)
        except (RunError, CaseError, SectionError) as error:
            notes.append(f"wall thickness is not drawn, as a thinner one can't be solved. {error}")
    drawn = [name for name, of in ((FIT, lives[1:]), (LINER, liners)) if of]
    inputs, effects = draw_inputs(wishes, judge_, solved, drawn, by_walls)
    factor = draw_limits(judge_, solved, effects) / effects[PRESSURE]
    band = band_among(
        factor, wishes.reliability, life.load, inputs, _shifts(judge_, solved, effects, by_walls)
    )
    return band, notes


def band_among(
    factor: Array,
    reliability: float,
    load: GasLoad,
    inputs: Mapping[str, Array],
    shifts: Mapping[str, tuple[float, float, float]] | None = None,
) -> Band:
    """What the limits of some draws come to.

    Parameters
    ----------
    factor : ndarray, shape (draws,)
        On the gas load, that each carries.
    reliability : float
        Share of the draws that carry the limit that is told.
    load : GasLoad
    inputs : mapping of str to ndarray, shape (draws,)
        What was drawn, by its name.
    shifts : mapping, optional
        As of :class:`cases.rating.result.Band`.
    """
    at = tuple(float(value) for value in np.percentile(factor, QUANTILES))
    known = [stands(load, value) for value in at]
    return Band(
        reliability=reliability,
        limit=float(np.quantile(factor, 1 - reliability)),
        carries=float(np.mean(factor >= 1)),
        draws=len(factor),
        factor=at,
        pressure_mpa=tuple(of.pressure_mpa for of in known),
        power_kw=tuple(of.power_kw for of in known),
        boost_mpa=tuple(of.boost_mpa for of in known),
        causes=causes_of(inputs, factor),
        known=known_of(inputs, factor, reliability),
        shifts=dict(shifts or {}),
        each=tuple(factor.tolist()),
    )


def _shifts(
    judge_: Judge, solved: Solved, effects: Mapping[str, Array], by_walls: float
) -> dict[str, tuple[float, float, float]]:
    """What each input that needs another design solved shifts the limit by, alone."""
    three = np.array([-1.0, 0.0, 1.0])
    hot = {HOT.format(of.name) for of in judge_.materials.values()}
    middle = {FIT, LINER, LENGTH, *hot}
    plain = {name: np.zeros(3) if name in middle else np.ones(3) for name in effects}
    own = {FIT: three, LINER: three, WALLS: np.exp(-by_walls * three)}
    found = {}
    for name in own.keys() & effects.keys():
        low, stated, high = draw_limits(judge_, solved, {**plain, name: own[name]})
        if stated > 0:
            found[name] = (float(low / stated), 1.0, float(high / stated))
    return dict(sorted(found.items()))


def _other_fits(life: Life) -> tuple[list[Life], list[str]]:
    """The life at the loosest, the stated and the tightest fit; alone where the fit is not drawn.

    And why it is not, where a tolerance is stated all the same, in words.
    """
    if not isinstance(life, FittedLife) or not life.fit.tolerance:
        return [life], []
    stated, tolerance = life.fit.interference, life.fit.tolerance
    if stated is None:
        return [life], ["the fit is not drawn: its tolerance is that of a common interference."]
    try:
        loose, tight = (life.with_interference(stated + by) for by in (-tolerance, tolerance))
    except RunError as error:
        return [life], [f"the fit is not drawn, as another could not be solved. {error}"]
    return [loose, life, tight], []


def drawn_by(name: str) -> np.random.Generator:
    """What draws an input: by its name, so that the draws of all designs are of the same block."""
    return np.random.default_rng([SEED, *name.encode()])


def draw_inputs(
    wishes: Rating,
    judge_: Judging,
    solved: Solved,
    read: Sequence[str],
    by_walls: float = 0.0,
) -> tuple[dict[str, Array], dict[str, Array]]:
    """What is drawn and varies, and what all of it comes to: by name, shape (draws,).

    ``read`` are those that stress is read between solved values of.
    """
    inputs, effects = {}, {}

    def evenly(name: str) -> Array:
        return drawn_by(name).uniform(-1, 1, wishes.draws)

    def normally(name: str) -> Array:
        return drawn_by(name).standard_normal(wishes.draws)

    for name in read:
        inputs[name] = effects[name] = evenly(name)
    if by_walls:
        inputs[WALLS] = evenly(WALLS)
        effects[WALLS] = np.exp(-by_walls * inputs[WALLS])
    pored = has_pore(wishes, judge_.materials["barrel"], "barrel")
    if solved.lengths > 1 or pored:
        inputs[LENGTH] = effects[LENGTH] = evenly(LENGTH)
    for material in {judge_.materials[part].name: judge_.materials[part] for part in judge_.parts
                     if part in judge_.materials}.values():  # fmt: skip
        name = STRENGTH.format(material.name)
        scatter = material.fatigue.scatter if material.fatigue else WROUGHT_SCATTER
        inputs[name] = normally(name)
        effects[name] = np.exp(scatter * inputs[name])
    for metal, warmth in sorted(_warmest(judge_, solved).items()):
        name = HOT.format(metal)
        material = next(of for of in judge_.materials.values() if of.name == metal)
        if np.ptp(material.strength_drawn([-1.0, 1.0], warmth)) > 0:
            inputs[name] = effects[name] = evenly(name)
    if pored:
        inputs[PORE] = normally(PORE)
        effects[PORE] = np.exp(wishes.pore_scatter * inputs[PORE])
    inputs[PRESSURE] = normally(PRESSURE)
    effects[PRESSURE] = np.maximum(1 + wishes.pressure_scatter * inputs[PRESSURE], 0.1)
    return {name: of for name, of in inputs.items() if np.ptp(effects[name]) > 0}, effects


def _warmest(judge_: Judging, solved: Solved) -> dict[str, float]:
    """Temperature of the hottest place that counts, by the name of its metal. [degC]."""
    found: dict[str, float] = {}
    for place in solved.places:
        name, warmth = judge_.materials[place.part].name, float(place.temperature.max())
        found[name] = max(warmth, found.get(name, warmth))
    return found


def solve_around(
    judge_: Judge, lives: Sequence[Life], limit: float, liners: Sequence[Life] = ()
) -> Solved:
    """Stress of the places that count, at each fit and gas load, and without gas.

    Parameters
    ----------
    judge_ : Judge
    lives : sequence of Life
        At the loosest, the stated and the tightest fit, or at the stated one alone.
    limit : float
        Factor on the gas load that the loads are about.
    liners : sequence of Life
        At the least and the most that the liner may be held by, or none.

    Raises
    ------
    RunError
        If one can't be solved.
    """
    loads = limit * LOADS
    judged = [
        [[judge_(cycle) for cycle in life.at_gas(load)] for load in loads]
        for life in (*lives, *liners)
    ]

    def local(cycles: Sequence[JudgedCycle]) -> float:
        """Largest share that a single place uses."""
        return max(judge_.peak(one, kind).share for one in cycles for kind in LOCAL)

    worst = np.clip(
        [[local(cycles) for cycles in by_fit] for by_fit in judged], 1 / MOST_SHARE, MOST_SHARE
    )
    by_state = [
        [[cycles[state] for cycles in by_fit] for by_fit in judged]
        for state in range(len(judged[0][0]))
    ]
    yielding = [
        [0.0, *(max(judge_.yielding(one.cycle).share for one in cycles) for cycles in by_fit)]
        for by_fit in judged
    ]
    return Solved(
        fits=np.array([0.0] if len(lives) == 1 else [-1.0, 0.0, 1.0]),
        liners=bool(liners),
        loads=np.array([0.0, *loads]),
        limit=limit,
        places=tuple(place for at in by_state for place in _places(judge_, at, worst)),
        yielding=np.array(yielding),
    )


def _places(judge_: Judge, at: Sequence[Sequence[JudgedCycle]], worst: Array) -> Iterator[Places]:
    """The places that count in one state, layer by layer; ``at`` is by fit, then by gas load."""
    first = at[0][0].cycle
    for number, layer in enumerate(first.gas):
        rows = _rows_that_count(at, number, worst)
        if layer.part in judge_.parts and len(rows):
            steep = at[0][0].felt[number].by_distance[rows].any()
            by_length = []
            for which in (LEAST, USUAL, MOST) if steep else (USUAL,):
                felt = [
                    [judge_.at_length(which).felt(one.cycle)[number] for one in by_fit]
                    if steep
                    else [one.felt[number] for one in by_fit]
                    for by_fit in at
                ]
                by_length.append(
                    [
                        [by_fit[0].idle, *(of.gas for of in by_fit), *_standing(by_fit[0])]
                        for by_fit in felt
                    ]
                )
            found = np.array(by_length)[..., rows]
            stands = bool(first.standing)
            yield Places(
                part=layer.part,
                state=first.engine,
                temperature=judge_.temperature(first, layer)[rows],
                kept=judge_.kept(first, layer)[rows],
                idle=found[:, :, 0],
                gas=found[:, :, : len(at[0]) + 1],
                standing=found[:, :, -1] if stands else None,
                by_distance=at[0][0].felt[number].by_distance[rows],
            )


def _standing(felt: Felt) -> tuple[Array, ...]:
    """Stress of the engine that stands cold, where it counts."""
    return () if felt.standing is None else (felt.standing,)


def _rows_that_count(
    at: Sequence[Sequence[JudgedCycle]], number: int, worst: Array
) -> NDArray[np.int64]:
    """Nodes of a layer that use most of a strength at some fit and gas load."""
    most: Array = np.max(
        [
            np.minimum(one.layers[number].shares[kind], MOST_SHARE) / worst[fit, load]
            for fit, by_fit in enumerate(at)
            for load, one in enumerate(by_fit)
            for kind in LOCAL
        ],
        axis=0,
    )
    order = np.argsort(-most)[:MOST_PLACES]
    return order[most[order] >= NEAR_WORST]


def _effect_of_walls(
    judge_: Judge,
    life: Life,
    limit: float,
    other: Callable[[Case], tuple[Judge, Life]],
    tolerance: float,
) -> float:
    """Logarithm of what thinner walls do to the share that is used at the limit."""
    thin_judge, thin_life = other(thinner(life.case, tolerance))
    shares = [
        of.used([of(cycle) for cycle in at.at_gas(limit)])
        for of, at in ((judge_, life), (thin_judge, thin_life))
    ]
    return float(np.log(shares[1] / shares[0]))


def draw_limits(judge_: Judging, solved: Solved, effects: Mapping[str, Array]) -> Array:
    """Gas load at which each draw uses all of a strength, over that of the case.

    By bisection: a share jumps where a place comes to be pulled.

    Parameters
    ----------
    judge_ : Judging
    solved : Solved
    effects : mapping of str to ndarray, shape (draws,)
        Of each input by its name.

    Returns
    -------
    ndarray, shape (draws,)
        0 where fit and heat alone use all of a strength.
    """
    widest = WIDEST * solved.limit
    found = []
    for start in range(0, len(effects[PRESSURE]), AT_ONCE):
        some = {name: of[start : start + AT_ONCE] for name, of in effects.items()}
        below = np.zeros(len(some[PRESSURE]))
        above = np.full(len(below), widest)
        for _ in range(HALVINGS):
            tried = (below + above) / 2
            over = used_by(judge_, solved, some, tried) >= 1
            below, above = np.where(over, below, tried), np.where(over, tried, above)
        found.append(np.where(below > 0, (below + above) / 2, 0.0))
    return np.concatenate(found)


def used_by(judge_: Judging, solved: Solved, effects: Mapping[str, Array], load: Array) -> Array:
    """Largest share of a strength that draws use at a gas load each, (draws,).

    Stress is read between the solved fits, loads and critical distances, and beyond the largest
    load, along straight lines; what the liner's interference does is added to what the insert's
    does.

    Parameters
    ----------
    judge_ : Judging
    solved : Solved
    effects : mapping of str to ndarray, shape (draws,)
        Of each input by its name; fit, walls and critical distance where they are drawn.
    load : ndarray, shape (draws,)
        Factor on the gas load.
    """
    three = np.array([-1.0, 0.0, 1.0])
    at_fit = _between(effects.get(FIT, np.zeros(len(load))), solved.fits)
    if solved.liners:
        low, stated, high = _between(effects[LINER], three).T
        at_fit[:, len(solved.fits) // 2] += stated - 1
        at_fit = np.column_stack([at_fit, low, high])
    by_length = _between(effects.get(LENGTH, np.zeros(len(load))), three)
    right = np.clip(np.searchsorted(solved.loads, load), 1, len(solved.loads) - 1)
    share = (load - solved.loads[right - 1]) / np.diff(solved.loads)[right - 1]
    at_load = np.zeros((len(load), len(solved.loads)))
    np.put_along_axis(at_load, right[:, None] - 1, 1 - share[:, None], 1)
    np.put_along_axis(at_load, right[:, None], share[:, None], 1)
    block = judge_.materials["barrel"].name
    none = np.zeros(len(load))
    used = np.einsum("df,dl,fl->d", at_fit, at_load, solved.yielding)
    hot = effects.get(HOT.format(block), none)
    warmth = _warmest(judge_, solved).get(block, REFERENCE)
    used /= effects[STRENGTH.format(block)]
    used /= judge_.materials["barrel"].strength_drawn(hot, warmth)
    for place in solved.places:
        material = judge_.materials[place.part]
        at_length = by_length if len(place.idle) > 1 else np.ones((len(load), 1))
        shares = judge(
            judge_.wishes,
            material,
            np.einsum("dn,df,nfsk->sdk", at_length, at_fit, place.idle, optimize=True),
            np.einsum("dn,df,dl,nflsk->sdk", at_length, at_fit, at_load, place.gas, optimize=True),
            place.temperature,
            cycles=judge_.cycles(place.state),
            strength=place.kept * _strength(material, effects, place.temperature),
            standing=None
            if place.standing is None
            else np.einsum("dn,df,nfsk->sdk", at_length, at_fit, place.standing, optimize=True),
            left=fatigue_left(
                judge_.wishes,
                material,
                place.part,
                place.by_distance,
                threshold=effects.get(LENGTH, none)[:, None],
                size=effects.get(PORE, none + 1)[:, None],
            ),
        ).shares
        for kind in LOCAL:
            used = np.maximum(used, shares[kind].max(axis=1))
    return used * effects.get(WALLS, np.ones(len(load)))


def _strength(material: Material, effects: Mapping[str, Array], temperature: Array) -> Array:
    """Strength of a metal that draws have over that of the judge, (draws, k)."""
    scatter = effects[STRENGTH.format(material.name)]
    hot = effects.get(HOT.format(material.name), np.zeros(len(scatter)))
    return scatter[:, None] * material.strength_drawn(hot[:, None], temperature)


def _between(drawn: Array, solved: Array) -> Array:
    """Share that each solved value has of those drawn, (draws, solved)."""
    return np.stack([np.interp(drawn, solved, row) for row in np.eye(len(solved))], 1)


def causes_of(inputs: Mapping[str, Array], result: Array) -> dict[str, float]:
    """Share of the spread that goes with each input: squared correlations, made to sum to one."""
    if not np.ptp(result):
        return {}
    squares = {
        name: float(np.corrcoef(values, result)[0, 1] ** 2) for name, values in inputs.items()
    }
    total = sum(squares.values()) or 1.0
    return {
        name: square / total for name, square in sorted(squares.items(), key=lambda item: -item[1])
    }


def known_of(inputs: Mapping[str, Array], result: Array, reliability: float) -> dict[str, float]:
    """What the limit of the wanted share would be with each input known to be at its middle.

    Over the limit as it is. The straight part of what the input does to the logarithm of a limit
    is taken out of each draw; draws that carry nothing stay as they are.

    Parameters
    ----------
    inputs : mapping of str to ndarray, shape (draws,)
        What was drawn, its middle at 0.
    result : ndarray, shape (draws,)
        Limit of each draw.
    reliability : float
        Share of the draws that are to carry the limit.
    """
    some = result > 0
    limit = float(np.quantile(result, 1 - reliability))
    if limit <= 0 or not np.ptp(result[some]):
        return {}
    logs, found = np.log(result[some]), {}
    for name, values in inputs.items():
        centred = values[some] - values[some].mean()
        slope = float(centred @ logs / (centred @ centred))
        known = result.copy()
        known[some] *= np.exp(-slope * values[some])
        found[name] = float(np.quantile(known, 1 - reliability)) / limit
    return found

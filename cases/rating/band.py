"""How far a limit is spread by what is not known: fit, walls, strength, gas, critical distance.

Stress is solved at a few fits and gas loads and read between them, at the places that use most of
their strength; thousands of draws then cost no more than arithmetic. Where the engine heats the
block, what was solved at the heat of other loads is read between too, so that each draw has the
heat of its own limit.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import CaseError, RunError
from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.base import Life, StressCycle
from cases.life.life import FittedLife
from cases.life.steps import EngineState
from cases.rating.flaws import fatigue_left, has_pore
from cases.rating.given import Rating, rating_given
from cases.rating.judge import LEAST, LOCAL, MOST, MOST_SHARE, USUAL, Judge, JudgedCycle
from cases.rating.limit import NEARLY, stands
from cases.rating.result import FIT, LENGTH, LINER, PRESSURE, WALLS, Band
from cases.rating.shares import judge
from fea.material import REFERENCE, Material
from fea.strength import WROUGHT_SCATTER
from geometry.refusals import SectionError

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

LOADS = np.array([0.6, 0.8, 1.0, 1.25, 1.6])
"""Gas loads that are solved, over that of the limit."""
BESIDE = np.array([0.8, 1.0])
"""The same where no more is asked than how a limit shifts."""
NEAR_WORST = 0.6
"""Places that use this share of what the worst one uses are kept, in each solved state."""
MOST_PLACES = 20
"""Places kept of a layer, at most."""
AT_ONCE = 500
"""Draws reckoned together."""
WIDEST, HALVINGS = 4.0, 11
"""How many times the limit a draw's is sought up to, and how often that is halved to be near it."""
MOST_TURNS, ONE_SIDED, MOST_COUNTED = 40, 3, 4.0
"""Loads that are tried for a draw, at most, some five do mostly; those after which one that is
sought on one side alone is tried at its end; a larger share, such as none has a bound, counts as
this."""
FURTHER = 1.3
"""Factor beyond the least and the largest load whose heat was solved to which heat is known."""
TOLD = 0.01
"""Share of the draws beyond that from which they are told of."""
QUANTILES = (5, 50, 95)  # [%]
SEED = 2024
PORE, CLASS = "pore", "pores of its casting class"
STRENGTH, HOT, RECORD = "strength of {}", "hot strength of {}", "strength on record of {}"


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
class ByHeat:
    """What some nodes are at the heat of each of several gas loads, under that load.

    Stress is over that at the heat of the limit.
    """

    temperature: Array  # (heats, k) [degC]
    kept: Array  # (heats, k) share of its strength that hours hot have left cold metal
    idle: Array  # (lengths, heats, 3, k) [MPa]
    gas: Array  # (lengths, heats, 3, k) [MPa]


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
    # what the case's gas load on a bore beside adds, (lengths, fits, 3, k) [MPa]
    beside: Array | None = None
    by_heat: ByHeat | None = None  # where heat follows the load


@dataclass(frozen=True, eq=False, kw_only=True)
class Solved:
    """What was solved of a design around its limit."""

    fits: Array  # of the insert: off the stated interference, over its tolerance, (fits,)
    loads: Array  # factors on the gas load, from none, (loads,)
    places: tuple[Places, ...]
    yielding: Array  # share of the block's yield strength, the worst state, (fits, loads)
    limit: float = 1.0  # that they are around
    liners: bool = False  # whether the liner's least and most interference follow the fits
    # gas loads whose heat was solved, rising; one where heat stands still
    heats: Array = field(default_factory=lambda: np.ones(1))
    # yield strength of the block's metal at each, over that at the heat of the limit
    borne: Array = field(default_factory=lambda: np.ones(1))

    @property
    def known_heat(self) -> tuple[float, float]:
        """Gas loads from and to which the heat that goes with them is known."""
        if len(self.heats) == 1:
            return 0.0, np.inf
        return float(self.heats[0] / FURTHER), float(self.heats[-1] * FURTHER)

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
    other: Callable[[Case, float], tuple[Judge, Sequence[StressCycle]]],
    liners: Sequence[Life] = (),
    heats: Sequence[tuple[float, Life]] = (),
) -> tuple[Band, list[str]]:
    """The band of a limit, and what could not be drawn, in words.

    Interference, walls and the threshold that a critical distance is of are drawn evenly within
    their tolerance or range, thresholds of all metals alike, and so are the interference of a liner
    that is not stated, what sources leave of the strengths when hot, and strengths from memory.
    Strength (lognormal, by material), the size of a stated pore (lognormal too) and gas pressure
    (normal) are drawn by their scatter; the pore of a casting class evenly too, in its logarithm.
    Walls count by one more solved design, all its shares of strength alike.

    Parameters
    ----------
    judge_ : Judge
    life : Life
    limit : float
        Factor on the gas load, above 0.
    other : callable
        Judge, and stress cycles at a factor on the gas load, of the same design in another case.
    liners : sequence of Life
        The same with the least and the most that the liner may be held by; none where that is
        stated.
    heats : sequence of (float, Life)
        The life at the heat of several gas loads, by their factors, itself among them; none where
        heat stands still.

    Raises
    ------
    RunError
        If the design can't be solved around its limit.
    """
    wishes = rating_given(life.case)
    lives, notes = _other_fits(life)
    solved = solve_around(judge_, lives, limit, liners, heats)
    by_walls, untold = _by_walls(judge_, life, limit, other)
    drawn = [name for name, of in ((FIT, lives[1:]), (LINER, liners)) if of]
    inputs, effects = draw_inputs(wishes, judge_, solved, drawn, by_walls)
    limits = draw_limits(judge_, solved, effects)
    band = band_among(
        limits / effects[PRESSURE], wishes.reliability, life.load, inputs,
        _shifts(judge_, solved, effects, by_walls),
    )  # fmt: skip
    return band, [*notes, *untold, *beyond_heat(solved, limits)]


def shifts_of(
    judge_: Judge,
    life: Life,
    limit: float,
    other: Callable[[Case, float], tuple[Judge, Sequence[StressCycle]]],
    liners: Sequence[Life] = (),
    heats: Sequence[tuple[float, Life]] = (),
    *,
    fitted: bool = True,
) -> tuple[dict[str, tuple[float, float, float]], list[str]]:
    """What other sections shift a limit by, for draws that are made elsewhere.

    And what could not be told, in words. Parameters but one are those of :func:`band_of`.

    Parameters
    ----------
    fitted : bool
        Whether other fits are among them.

    Returns
    -------
    shifts : dict of str to tuple of float
        As of :class:`cases.rating.result.Band`.

    Raises
    ------
    RunError
        If the design can't be solved around its limit.
    """
    lives, notes = _other_fits(life) if fitted else ([life], [])
    by_walls, untold = _by_walls(judge_, life, limit, other)
    drawn = [name for name, of in ((FIT, lives[1:]), (LINER, liners)) if of]
    if not (by_walls or drawn):
        return {}, [*notes, *untold]
    solved = solve_around(judge_, lives, limit, liners, heats, LOADS if drawn else BESIDE)
    _, effects = draw_inputs(rating_given(life.case), judge_, solved, drawn, by_walls)
    return _shifts(judge_, solved, effects, by_walls), [*notes, *untold]


def _by_walls(
    judge_: Judge,
    life: Life,
    limit: float,
    other: Callable[[Case, float], tuple[Judge, Sequence[StressCycle]]],
) -> tuple[float, list[str]]:
    """Logarithm of what walls that are thinner by their tolerance do to the share that governs.

    0 where it is not told; why not, in words.
    """
    tolerance = rating_given(life.case).wall_tolerance
    if not tolerance:
        return 0.0, []
    try:
        return _effect_of_walls(judge_, life, limit, other, tolerance), []
    except (RunError, CaseError, SectionError) as error:
        return 0.0, [f"wall thickness is not drawn, as a thinner one can't be solved. {error}"]


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


def beyond_heat(solved: Solved, limits: Array) -> list[str]:
    """What to tell of draws whose limit is beyond the loads whose heat is known, in words.

    Parameters
    ----------
    solved : Solved
    limits : ndarray, shape (draws,)
        As of :func:`draw_limits`.
    """
    least, most = solved.known_heat
    under = float(np.mean((limits > 0) & (limits < least)))
    over = float(np.mean(limits > (1 - 2.0**-HALVINGS) * most))
    notes = []
    if under > TOLD:
        notes.append(
            f"{100 * under:.0f} of 100 draws carry at least what is told of them: they are at the "
            f"heat of {least:.3g} times the asked load, more than their own."
        )
    if over > TOLD:
        notes.append(
            f"{100 * over:.0f} of 100 draws carry at least the {most:.3g} times the asked load "
            "that is told of them: the heat of more is not known."
        )
    return notes


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
        if material.unsure:
            record = RECORD.format(material.name)
            inputs[record] = evenly(record)
            effects[record] = 1 + material.unsure * inputs[record]
    for metal, warmth in sorted(_warmest(judge_, solved).items()):
        name = HOT.format(metal)
        material = next(of for of in judge_.materials.values() if of.name == metal)
        if np.ptp(material.strength_drawn([-1.0, 1.0], warmth)) > 0:
            inputs[name] = effects[name] = evenly(name)
    if pored:
        inputs[PORE] = normally(PORE)
        effects[PORE] = np.exp(wishes.pore_scatter * inputs[PORE])
        if wishes.pore_off > 1:
            inputs[CLASS] = evenly(CLASS)
            effects[CLASS] = wishes.pore_off ** inputs[CLASS]
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
    judge_: Judge,
    lives: Sequence[Life],
    limit: float,
    liners: Sequence[Life] = (),
    heats: Sequence[tuple[float, Life]] = (),
    about: Array = LOADS,
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
    heats : sequence of (float, Life)
        As of :func:`band_of`.
    about : ndarray
        Gas loads over that, rising.

    Raises
    ------
    RunError
        If one can't be solved.
    """
    loads = limit * about
    judged = [
        [[judge_(cycle) for cycle in life.at_gas(load)] for load in loads]
        for life in (*lives, *liners)
    ]

    stated = len(lives) // 2
    hotter = {
        factor: None if life is lives[stated] else [judge_(cycle) for cycle in life.at_gas(factor)]
        for factor, life in sorted(heats, key=lambda of: of[0])
    }
    found = Solved(
        fits=np.array([0.0] if len(lives) == 1 else [-1.0, 0.0, 1.0]),
        liners=bool(liners),
        loads=np.array([0.0, *loads]),
        limit=limit,
        places=(),
        yielding=np.array([[0.0, *(_yielding(judge_, of) for of in by_fit)] for by_fit in judged]),
        heats=np.array(list(hotter) or [1.0]),
    )
    at_load = straight(found.heats, found.loads)
    solved = [of for by_fit in judged for of in by_fit] + [of for of in hotter.values() if of]
    worst = [_most_of_a_place(judge_, cycles) for cycles in solved]
    places = [
        place
        for state in range(len(solved[0]))
        for place in _places(
            judge_,
            [[cycles[state] for cycles in by_fit] for by_fit in judged],
            [(cycles[state], most) for cycles, most in zip(solved, worst, strict=True)],
            _Heated(stated, at_load, [of[state] if of else None for of in hotter.values()]),
            loads[0],
        )
    ]
    borne = [
        was / now if of and (now := _yielding(judge_, of)) > 0 else 1.0
        for of, was in zip(hotter.values(), at_load @ found.yielding[stated], strict=False)
    ]
    return replace(found, places=tuple(places), borne=np.array(borne or [1.0]))


def _yielding(judge_: Judge, cycles: Sequence[JudgedCycle]) -> float:
    """Share of the block's yield strength, in the worst state."""
    return max(judge_.yielding(one.cycle).share for one in cycles)


def _most_of_a_place(judge_: Judge, cycles: Sequence[JudgedCycle]) -> float:
    """Largest share that a single place uses."""
    most = max(judge_.peak(one, kind).share for one in cycles for kind in LOCAL)
    return float(np.clip(most, 1 / MOST_SHARE, MOST_SHARE))


@dataclass(frozen=True, eq=False, slots=True)
class _Heated:
    """One state at the heat of each of several gas loads, under that load."""

    stated: int  # of the fits, the one that is heated so
    at_load: Array  # what each load is of those that are solved, with none, (heats, loads)
    cycles: Sequence[JudgedCycle | None]  # None at the heat that all else is solved at


def _places(
    judge_: Judge,
    at: Sequence[Sequence[JudgedCycle]],
    solved: Sequence[tuple[JudgedCycle, float]],
    heated: _Heated,
    least: float,
) -> Iterator[Places]:
    """The places that count in one state, layer by layer.

    ``at`` is by fit, then by gas load from the ``least``; ``solved`` are all, with the most that a
    place uses.
    """
    first = at[0][0]
    for number, layer in enumerate(first.cycle.gas):
        rows = _rows_that_count(solved, number)
        if layer.part not in judge_.parts or not len(rows):
            continue
        by_distance = first.felt[number].by_distance[rows]
        some = _Some(judge_, number, rows, (LEAST, USUAL, MOST) if by_distance.any() else (USUAL,))
        by_fit = np.moveaxis(np.array([[some.felt(one) for one in of] for of in at]), 2, 0)
        idle = by_fit[:, :, 0, 0]
        gas = np.concatenate([idle[:, :, None], by_fit[:, :, :, 1]], axis=2)
        beside = (by_fit[:, :, 0, -1] - idle) / least if first.cycle.beside else None
        yield Places(
            part=layer.part,
            state=first.cycle.engine,
            temperature=some.temperature(first),
            kept=some.kept(first),
            idle=idle,
            gas=gas,
            standing=by_fit[:, :, 0, 2] if first.cycle.standing else None,
            beside=beside,
            by_distance=by_distance,
            by_heat=_by_heat(some, first, gas[:, heated.stated], heated) if heated.cycles else None,
        )


@dataclass(frozen=True, eq=False, slots=True)
class _Some:
    """Some nodes of a layer."""

    judge: Judge
    layer: int  # place among the layers
    rows: Integers  # nodes of the layer, k of them
    lengths: Sequence[int]  # critical distances that they are judged by

    def felt(self, one: JudgedCycle) -> Array:
        """Stress that they are judged by, shape (lengths, states, 3, k). [MPa].

        With no gas, with gas, then where they count of the engine that stands cold, and while a
        bore beside fires.
        """
        by_length = []
        for which in self.lengths:
            layers = (
                one.felt if len(self.lengths) == 1 else self.judge.at_length(which).felt(one.cycle)
            )
            of = layers[self.layer]
            more = [state for state in (of.standing, of.beside) if state is not None]
            by_length.append([of.idle, of.gas, *more])
        return np.array(by_length)[..., self.rows]

    def temperature(self, one: JudgedCycle) -> Array:
        """(k,). [degC]."""
        return self.judge.temperature(one.cycle, one.cycle.gas[self.layer])[self.rows]

    def kept(self, one: JudgedCycle) -> Array:
        """Share of their strength that hours hot have left them cold, (k,)."""
        return self.judge.kept(one.cycle, one.cycle.gas[self.layer])[self.rows]


def _by_heat(some: _Some, first: JudgedCycle, own: Array, heated: _Heated) -> ByHeat:
    """Some nodes at each heat; ``own`` (lengths, loads, 3, k) is their stress at that of the limit.

    ``first`` is a cycle at that heat.
    """
    expected = np.einsum("hl,nlsk->hnsk", heated.at_load, own)
    idle, gas = np.zeros_like(expected), np.zeros_like(expected)
    for at, one in enumerate(heated.cycles):
        if one is not None:
            felt = some.felt(one)
            idle[at], gas[at] = felt[:, 0] - own[:, 0], felt[:, 1] - expected[at]
    cycles = [one or first for one in heated.cycles]
    return ByHeat(
        temperature=np.array([some.temperature(one) for one in cycles]),
        kept=np.array([some.kept(one) for one in cycles]),
        idle=idle.swapaxes(0, 1),
        gas=gas.swapaxes(0, 1),
    )


def _rows_that_count(solved: Sequence[tuple[JudgedCycle, float]], number: int) -> Integers:
    """Nodes of a layer that use most of a strength in what was solved, of the most of a place."""
    most: Array = np.max(
        [
            np.minimum(one.layers[number].shares[kind], MOST_SHARE) / worst
            for one, worst in solved
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
    other: Callable[[Case, float], tuple[Judge, Sequence[StressCycle]]],
    tolerance: float,
) -> float:
    """Logarithm of what thinner walls do to the share that governs at the limit.

    In the same part, by the same criterion and in the same state: what is steep elsewhere is known
    on the mesh that was refined for it, and may count with its surface on another.

    Raises
    ------
    RunError
        If thinner walls leave nothing of it, so that the two can't be compared.
    """
    thin_judge, cycles = other(thinner(life.case, tolerance), limit)
    judged = [judge_(cycle) for cycle in life.at_gas(limit)]
    name, worst = max(judge_.worst(judged).items(), key=lambda of: of[1].share)
    part = judged[0].cycle.gas[worst.layer].part
    thin = thin_judge.worst([thin_judge(cycle) for cycle in cycles], part).get(name)
    if thin is None:
        raise RunError(f"The {part} uses nothing of its strength then ({name}).")
    return float(np.log(thin.share / worst.share))


def draw_limits(
    judge_: Judging, solved: Solved, effects: Mapping[str, Array], like: Array | None = None
) -> Array:
    """Gas load at which each draw uses all of a strength, over that of the case.

    Parameters
    ----------
    judge_ : Judging
    solved : Solved
    effects : mapping of str to ndarray, shape (draws,)
        Of each input by its name.
    like : ndarray, shape (draws,), optional
        Limits of the same draws that are much like these; where the search begins.

    Returns
    -------
    ndarray, shape (draws,)
        0 where fit and heat alone use all of a strength.
    """
    widest, found = _widest(solved), []
    begun = np.full(len(effects[PRESSURE]), solved.limit) if like is None else like
    for start in range(0, len(begun), AT_ONCE):
        few = {name: of[start : start + AT_ONCE] for name, of in effects.items()}

        def used(some: Integers, load: Array, few: Mapping[str, Array] = few) -> Array:
            return used_by(judge_, solved, {name: of[some] for name, of in few.items()}, load)

        found.append(loads_that_use_all(used, begun[start : start + AT_ONCE], widest))
    return np.concatenate(found)


def loads_that_use_all(
    used: Callable[[Integers, Array], Array], first: Array, widest: float
) -> Array:
    """Loads at which shares that grow with them are one, each by itself, side by side.

    By false position, the end that stays halved (the Illinois method [1]_), and halves where that
    is slow: a share jumps where a place comes to be pulled.

    Parameters
    ----------
    used : callable
        Share of some of them, by their numbers (k,), under a load each (k,).
    first : ndarray, shape (n,)
        Loads that are tried first.
    widest : float
        Up to which they are sought.

    Returns
    -------
    ndarray, shape (n,)
        Within 2^-``HALVINGS`` of the widest; 0 where one so small uses all, the widest where even
        that doesn't.

    References
    ----------
    .. [1] Dowell & Jarratt, *BIT* 11 (1971) 168-174 (from memory).

    Examples
    --------
    >>> loads_that_use_all(lambda some, load: load**2 / np.array([4.0, 9.0])[some],
    ...                    np.array([1.0, 1.0]), 8.0).round(2)
    array([2., 3.])
    """
    near = widest * 2.0**-HALVINGS
    at, found = np.clip(first, near, widest), np.zeros(len(first))
    low, high = np.zeros(len(at)), np.full(len(at), widest)
    short, over = np.full(len(at), -1.0), np.full(len(at), np.inf)  # share less one at both
    before = np.zeros(len(at))  # on which side the last load was
    sought = np.arange(len(at))
    for turn in range(MOST_TURNS):
        here = at[sought]
        off = np.minimum(used(sought, here), MOST_COUNTED) - 1
        side = np.where(off >= 0, 1.0, -1.0)
        again = side == before[sought]
        above, below = sought[side > 0], sought[side < 0]
        high[above], over[above] = here[side > 0], off[side > 0]
        low[below], short[below] = here[side < 0], off[side < 0]
        short[sought[again & (side > 0)]] /= 2
        over[sought[again & (side < 0)]] /= 2
        before[sought] = side
        one, other = low[sought], high[sought]
        with np.errstate(invalid="ignore", divide="ignore"):
            straight_on = one - short[sought] * (other - one) / (over[sought] - short[sought])
            grown = here / (1 + off)  # as the load
        following = np.where(np.isfinite(over[sought]), straight_on, grown)
        inside = (following >= one) & (following <= other)
        held = (one > 0) & np.isfinite(over[sought])
        ends = inside & held & (np.abs(following - here) <= near / 4) & (np.abs(off) <= NEARLY)
        if turn % 4 == 3:
            inside &= ends
        following = np.where(inside, following, (one + other) / 2)
        if turn >= ONE_SIDED:
            following = np.where((one == 0) & ~ends, near, following)
            following = np.where(np.isinf(over[sought]) & ~ends, widest, following)
        none = (side > 0) & (here <= near)
        beyond = (side < 0) & (here >= widest)
        ends |= (other - one <= near) | none | beyond
        told = np.where(none, 0.0, np.where(beyond, widest, following))
        found[sought[ends]] = told[ends]
        at[sought] = following
        sought = sought[~ends]
        if not len(sought):
            break
    found[sought] = at[sought]
    return found


def _widest(solved: Solved) -> float:
    """Gas load up to which the limit of a draw is sought."""
    return min(WIDEST * solved.limit, solved.known_heat[1])


def used_by(judge_: Judging, solved: Solved, effects: Mapping[str, Array], load: Array) -> Array:
    """Largest share of a strength that draws use at a gas load each, (draws,).

    Stress is read between the solved fits, loads and critical distances, and beyond the largest
    load, along straight lines, and so is what the heat of each load adds to it; what the liner's
    interference does is added to what the insert's does.

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
    at_fit = between(effects.get(FIT, np.zeros(len(load))), solved.fits)
    if solved.liners:
        low, stated, high = between(effects[LINER], three).T
        at_fit[:, len(solved.fits) // 2] += stated - 1
        at_fit = np.column_stack([at_fit, low, high])
    by_length = between(effects.get(LENGTH, np.zeros(len(load))), three)
    at_load = straight(load, solved.loads)
    at_heat = straight(np.clip(load, *solved.known_heat), solved.heats)
    block = judge_.materials["barrel"].name
    none = np.zeros(len(load))
    used = np.einsum("df,dl,fl->d", at_fit, at_load, solved.yielding)
    used /= np.maximum(at_heat @ solved.borne, 1 / MOST_SHARE)
    hot = effects.get(HOT.format(block), none)
    warmth = _warmest(judge_, solved).get(block, REFERENCE)
    used /= effects[STRENGTH.format(block)] * effects.get(RECORD.format(block), 1.0)
    used /= judge_.materials["barrel"].strength_drawn(hot, warmth)
    for place in solved.places:
        material = judge_.materials[place.part]
        at_length = by_length if len(place.idle) > 1 else np.ones((len(load), 1))
        idle = np.einsum("dn,df,nfsk->sdk", at_length, at_fit, place.idle, optimize=True)
        gas = np.einsum("dn,df,dl,nflsk->sdk", at_length, at_fit, at_load, place.gas, optimize=True)
        temperature, kept = place.temperature, place.kept
        if place.by_heat:
            temperature, kept = at_heat @ place.by_heat.temperature, at_heat @ place.by_heat.kept
            for stress, more in ((idle, place.by_heat.idle), (gas, place.by_heat.gas)):
                stress += np.einsum("dn,dh,nhsk->sdk", at_length, at_heat, more, optimize=True)
        shares = judge(
            judge_.wishes,
            material,
            idle,
            gas,
            temperature,
            cycles=judge_.cycles(place.state),
            strength=kept * _strength(material, effects, temperature),
            standing=None
            if place.standing is None
            else np.einsum("dn,df,nfsk->sdk", at_length, at_fit, place.standing, optimize=True),
            beside=None
            if place.beside is None
            else idle
            + np.einsum("dn,df,d,nfsk->sdk", at_length, at_fit, load, place.beside, optimize=True),
            left=fatigue_left(
                judge_.wishes,
                material,
                place.part,
                place.by_distance,
                threshold=effects.get(LENGTH, none)[:, None],
                size=(effects.get(PORE, none + 1) * effects.get(CLASS, none + 1))[:, None],
            ),
        ).shares
        for kind in LOCAL:
            used = np.maximum(used, shares[kind].max(axis=1))
    return used * effects.get(WALLS, np.ones(len(load)))


def _strength(material: Material, effects: Mapping[str, Array], temperature: Array) -> Array:
    """Strength of a metal that draws have over that of the judge, (draws, k)."""
    scatter = effects[STRENGTH.format(material.name)]
    scatter = scatter * effects.get(RECORD.format(material.name), 1.0)
    hot = effects.get(HOT.format(material.name), np.zeros(len(scatter)))
    return scatter[:, None] * material.strength_drawn(hot[:, None], temperature)


def straight(at: Array, solved: Array) -> Array:
    """Share that each solved value has, along straight lines, beyond the ends too.

    Parameters
    ----------
    at : ndarray, shape (k,)
    solved : ndarray, shape (s,)
        Rising.

    Returns
    -------
    ndarray, shape (k, s)
    """
    if len(solved) == 1:
        return np.ones((len(at), 1))
    right = np.clip(np.searchsorted(solved, at), 1, len(solved) - 1)
    share = (at - solved[right - 1]) / np.diff(solved)[right - 1]
    shares = np.zeros((len(at), len(solved)))
    np.put_along_axis(shares, right[:, None] - 1, 1 - share[:, None], 1)
    np.put_along_axis(shares, right[:, None], share[:, None], 1)
    return shares


def between(drawn: Array, solved: Array) -> Array:
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

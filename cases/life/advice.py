"""Between which interferences an insert neither comes loose nor asks too much of the block."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from cases.life.given import LIGHT
from cases.life.joint import joint_state
from cases.life.life import FittedLife
from cases.life.result import OUT_OF_ROUND, YIELD, FitAdvice, SolvedStep
from cases.life.steps import HONED, PRESSED, LoadStep
from fea.bore import BoreShape, bore_growth

MOST_FITS = 5
"""Fits that are solved until one step meets a limit, at most."""
NEAR_HOLD, NEAR_YIELD, NEAR_FIT, NO_FIT = 0.1, 0.02, 0.1, 0.005
"""Share of the hold, of yield and of the stated interference that is near enough, and of the last
that is none."""
SURE_HOLD, SURE_YIELD = 2.0, 0.95
"""Hold over the goal, and share of yield with more press than stated, that need no solve where the
change of the press is but added to a step: that hold comes out up to 1.5 times too high, that share
1 % too low to 14 % too high."""
LARGEST_SEARCH = 8.0
"""Interferences are sought up to this many times the stated one, or up to a light press if that is
more."""


def advise(life: FittedLife, steps: Sequence[SolvedStep]) -> FitAdvice | None:
    """Interferences between which the insert holds and the block stands the press.

    None where there is no common interference, or nothing that it decides.

    Parameters
    ----------
    life : FittedLife
        As stated, all steps solved.
    steps : sequence of SolvedStep
        What they did.

    Raises
    ------
    RunError
        If another fit that is needed can't be solved.
    """
    stated, sides = life.fit.interference, life.fit.sides
    if not stated or stated < 0:
        return None
    if any(sides[part].bonded for part in life.touched):
        return None
    if all(side.friction == 0 for side in sides.values()):
        return None
    others = _OtherFits(life, stated, steps)
    least, least_step = _least(others)
    most, limit, anyway = _most(others)
    tolerance = 1000 * life.fit.tolerance
    return FitAdvice(
        least_um=None if least is None else 1000 * least + tolerance,
        searched_um=1000 * others.searched,
        least_step=least_step,
        most_um=None if most is None else 1000 * most - tolerance,
        most_by=limit.by,
        most_step=limit.step,
        yields_anyway=anyway,
    )


def yields_anyway(advice: FitAdvice) -> list[str]:
    """Steps that yield whatever the interference, in words."""
    return [
        f"{name}: with almost no press the block is stressed to {share:.2f} times its yield "
        f"strength already (all but {100 * advice.yield_leaves_out:g} % of its metal stays below "
        "that), so no interference keeps it below yield; the most that is advised leaves this "
        "step out."
        for name, share in advice.yields_anyway.items()
    ]


@dataclass(frozen=True, slots=True)
class _Limit:
    """What forbids more interference, and the step in which it does."""

    by: str  # ``YIELD`` or ``OUT_OF_ROUND``
    step: LoadStep


class _OtherFits:
    """A life at other interferences, each step solved once.

    Parameters
    ----------
    life : FittedLife
    stated : float
        Common interference on the diameter, above 0. [mm]
    steps : sequence of SolvedStep
        What the steps of ``life`` did.

    Attributes
    ----------
    searched : float
        Largest interference that is looked at. [mm]
    in_proportion : bool
        Whether the press is the only load of the pressed step, so that it scales with the fit.
    used_as_stated : dict of _Limit to float
        Share of each limit that is used up at the stated interference.
    """

    def __init__(self, life: FittedLife, stated: float, steps: Sequence[SolvedStep]) -> None:
        self.life, self.fit, self.stated = life, life.fit, stated
        self.searched = max(LARGEST_SEARCH * stated, LIGHT)
        self.lives = {stated: life}
        self.in_proportion = (
            life.touched <= set(life.fit.pressed)
            and not life.given.liner_interference
            and not life.given.liner_opens
        )
        different = [step for step in steps if step.name != HONED]
        self.joints = {step.name: step.joint for step in different if step.joint}
        self.used_as_stated = {_Limit(YIELD, step.name): step.over_yield for step in different}
        if life.fit.most_out_of_round:
            for step in different:
                if step.name == PRESSED:
                    limit = _Limit(OUT_OF_ROUND, PRESSED)
                    self.used_as_stated[limit] = self._out_of_round(step.bore)

    def hold(self, step: LoadStep, interference: float) -> float:
        """Of the piece that has least in a step, at an interference [mm]. [N]."""
        if self.in_proportion and step == PRESSED:
            return self.joints[step].least_hold_n * interference / self.stated
        life = self._at(interference, step)
        return joint_state(life, life.solved[step]).least_hold_n

    def added_hold(self, step: LoadStep, interference: float) -> float:
        """The same as if the further press only added to the step. [N]."""
        if not self.in_proportion:
            return 0.0
        further = interference / self.stated - 1
        return min(
            piece.hold_n + further * pressed.hold_n
            for piece, pressed in zip(
                self.joints[step].pieces, self.joints[PRESSED].pieces, strict=True
            )
        )

    def used(self, limit: _Limit, interference: float) -> float:
        """Share of a limit that is used up at an interference [mm]."""
        life = self._at(interference, limit.step)
        if limit.by == OUT_OF_ROUND:
            return self._out_of_round(bore_growth(life.solution(limit.step)))
        return life.share_of_yield(limit.step, life.stress_of(limit.step))

    def added_yield(self, step: LoadStep, interference: float) -> float:
        """Share of yield in a step as if the further press only added to it.

        Infinite with less press than stated, as what opens and slides more is not bounded so.
        """
        if not self.in_proportion or interference < self.stated:
            return np.inf
        further = interference / self.stated - 1
        added = [
            replace(layer, stress=layer.stress + further * pressed.stress)
            for layer, pressed in zip(
                self.life.stress_of(step), self.life.stress_of(PRESSED), strict=True
            )
        ]
        return self.life.share_of_yield(step, added)

    def _at(self, interference: float, step: LoadStep) -> FittedLife:
        """The life at an interference [mm], solved as far as a step at least."""
        if interference not in self.lives:
            self.lives[interference] = self.life.with_interference(interference, step)
        self.lives[interference].solve_like(self.life, step)
        return self.lives[interference]

    def _out_of_round(self, bore: BoreShape) -> float:
        return bore.out_of_round_um / (1000 * self.fit.most_out_of_round)


def _least(others: _OtherFits) -> tuple[float | None, LoadStep]:
    """Least interference that holds in every step, and the step that sets it.

    From the step that is loosest as stated, on to any that is looser at what is found.
    """
    goal, stated = others.fit.least_hold, others.stated
    holds = {name: joint.least_hold_n for name, joint in others.joints.items()}

    def holding(step: LoadStep, solved: dict[float, float]) -> float | None:
        """Interference from which on a step holds, from holds that are known."""
        hold = partial(others.hold, step)
        return meeting_fit(hold, goal, solved, stated, others.searched, NEAR_HOLD)

    step = min(holds, key=lambda name: holds[name])
    found = holding(step, {stated: holds[step]})
    rest = [name for name in holds if name != step]
    while found is not None and rest:
        at = max(found, NO_FIT * stated)
        unsure = [name for name in rest if others.added_hold(name, at) < SURE_HOLD * goal]
        there = {name: others.hold(name, at) for name in unsure}
        short = [name for name in unsure if there[name] < (1 - NEAR_HOLD) * goal]
        if not short:
            break
        step = min(short, key=lambda name: there[name])
        rest.remove(step)
        more = holding(step, {stated: holds[step], at: there[step]})
        found = None if more is None else max(found, more)
    return found, step


def _most(others: _OtherFits) -> tuple[float | None, _Limit, dict[LoadStep, float]]:
    """Most interference, the limit that sets it, and the share of what yields at any.

    Limits of the press come first, as they cost least, then those that are used up most.
    """
    anyway: dict[LoadStep, float] = {}
    as_stated = others.used_as_stated
    limits = sorted(as_stated, key=lambda limit: (limit.step != PRESSED, -as_stated[limit]))
    most, set_by = others.searched, None
    for limit in limits:
        if not as_stated[limit]:
            continue
        found, at_least = _met(others, limit, most, known=set_by is not None)
        if found == 0 and limit.by == YIELD:
            anyway[limit.step] = at_least
        elif found is not None and found < most:
            most, set_by = found, limit
    return (most, set_by, anyway) if set_by else (None, limits[0], anyway)


def _met(
    others: _OtherFits, limit: _Limit, most: float, *, known: bool
) -> tuple[float | None, float]:
    """Interference below ``most`` at which a limit is met, None where none; its least share.

    The share is that of the least interference that was solved. ``known`` says whether ``most``
    itself is a limit, beyond which nothing is sought.
    """
    share, step = others.used_as_stated[limit], limit.step
    if others.in_proportion and step == PRESSED:
        return others.stated / share, share
    if others.added_yield(step, most) < SURE_YIELD:
        return None, share
    solved = {others.stated: share}
    used = partial(others.used, limit)
    if known:
        solved[most] = used(most)
        if solved[most] < 1:
            return None, share
    found = meeting_fit(used, 1.0, solved, others.stated, most, NEAR_YIELD)
    return found, solved[min(solved)]


def meeting_fit(
    value: Callable[[float], float],
    goal: float,
    solved: dict[float, float],
    stated: float,
    largest: float,
    near: float,
) -> float | None:
    """Interference from which on a value that grows with it passes a goal, by lines through fits.

    0 where almost none passes the goal, None where not even the largest does.

    Parameters
    ----------
    value : callable
        Of an interference [mm].
    goal : float
    solved : dict of float to float
        Values that are known by interference [mm]; filled with what is solved on the way.
    stated, largest : float
        Interference of the case, and the largest that is looked at. [mm]
    near : float
        Share of the goal that is near enough.
    """
    enough = len(solved) + MOST_FITS
    while True:
        found, told = _next_fit(sorted(solved.items()), goal, stated, largest)
        if found is None or told or len(solved) >= enough:
            return found
        solved[found] = value(found)
        if abs(solved[found] - goal) <= near * goal:
            return found


def _next_fit(
    points: Sequence[tuple[float, float]], goal: float, stated: float, largest: float
) -> tuple[float | None, bool]:
    """Interference to be tried next, or None, and whether that is told already.

    ``points`` are interferences, rising, each with its value.
    """
    under = [point for point in points if point[1] < goal]
    over = [point for point in points if point[1] >= goal and point > (under or [(0.0, 0.0)])[-1]]
    if under and over:
        (low, at_low), (high, at_high) = under[-1], over[0]
        found = low + (high - low) * (goal - at_low) / (at_high - at_low)
        return found, min(found - low, high - found) < NEAR_FIT * stated
    if len(points) == 1:
        share = goal / points[0][1] if points[0][1] > 0 else LARGEST_SEARCH
        times = float(np.clip(share, 1 / LARGEST_SEARCH, LARGEST_SEARCH))
        return min(stated * times, largest), False
    if over:
        found = over[0][0] / LARGEST_SEARCH
        return (0.0, True) if found < NO_FIT * stated else (found, False)
    if points[-1][0] < largest:
        (low, at_low), (high, at_high) = points[-2:]
        rise = (at_high - at_low) / (high - low)
        further = high + (goal - at_high) / rise if rise > 0 else np.inf
        return min(max(further, 1.1 * high), largest), False
    return None, True

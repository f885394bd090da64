"""Between which interferences an insert neither comes loose nor asks too much of the block."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from cases.life.given import LIGHT, InsertFit
from cases.life.result import OUT_OF_ROUND, YIELD, FitAdvice
from cases.life.steps import HONED, PRESSED
from fea.bore import BoreShape, bore_growth

if TYPE_CHECKING:
    from cases.life.life import Life
    from cases.life.result import Step

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


def advise(life: Life, steps: Sequence[Step], yielding: Mapping[str, float]) -> FitAdvice | None:
    """Interferences between which the insert holds and the block stands the press.

    None where there is no common interference, or nothing that it decides.

    Parameters
    ----------
    life : Life
        As stated, all steps solved.
    steps : sequence of Step
        What they did.
    yielding : mapping
        Share of yield by step.

    Raises
    ------
    RunError
        If another fit that is needed can't be solved.
    """
    fit = life.fit
    if life.fitted is None or fit is None or not fit.interference or fit.interference < 0:
        return None
    pressed = next(step for step in steps if step.name == PRESSED)
    assert pressed.joint is not None
    if pressed.joint.bonded or all(side.friction == 0 for side in fit.sides.values()):
        return None
    return _OtherFits(life, fit, steps, yielding).advice()


def yields_anyway(advice: FitAdvice) -> list[str]:
    """Steps that yield whatever the interference, in words."""
    return [
        f"{name}: with almost no press the block is stressed to {share:.2f} times its yield "
        f"strength already (all but {100 * advice.yield_leaves_out:g} % of its metal stays below "
        "that), so no interference keeps it below yield; the most that is advised leaves this "
        "step out."
        for name, share in advice.yields_anyway.items()
    ]


class _OtherFits:
    """A life at other interferences, each step solved once, and the advice that follows.

    Parameters
    ----------
    life : Life
    fit : InsertFit
        As stated.
    steps : sequence of Step
    yielding : mapping
        Share of yield by step.
    """

    def __init__(
        self, life: Life, fit: InsertFit, steps: Sequence[Step], yielding: Mapping[str, float]
    ) -> None:
        assert life.parted is not None
        assert fit.interference is not None
        self.life, self.fit, self.stated = life, fit, fit.interference
        self.searched = max(LARGEST_SEARCH * self.stated, LIGHT)
        self.lives = {self.stated: life}
        self.in_proportion = (
            set(life.parted.joint.against) <= set(fit.pressed) and not life.given.liner_interference
        )
        self.joints = {step.name: step.joint for step in steps if step.joint and step.name != HONED}
        self.used_as_stated = {(YIELD, name): yielding[name] for name in self.joints}
        if fit.most_out_of_round:
            pressed = next(step for step in steps if step.name == PRESSED)
            self.used_as_stated[OUT_OF_ROUND, PRESSED] = self._out_of_round(pressed.bore)

    def advice(self) -> FitAdvice:
        """The least that holds in every step, the most that no limit of any step forbids."""
        least, least_step = self._least()
        most, (most_by, most_step), anyway = self._most()
        tolerance = 1000 * self.fit.tolerance
        return FitAdvice(
            least_um=None if least is None else 1000 * least + tolerance,
            searched_um=1000 * self.searched,
            least_step=least_step,
            most_um=None if most is None else 1000 * most - tolerance,
            most_by=most_by,
            most_step=most_step,
            yields_anyway=anyway,
        )

    def _least(self) -> tuple[float | None, str]:
        """From the step that is loosest as stated, on to any that is looser at what is found."""
        goal = self.fit.least_hold
        holds = {name: joint.least_hold_n for name, joint in self.joints.items()}
        step = min(holds, key=lambda name: holds[name])
        solved = {self.stated: holds[step]}
        found = self._holding(step, solved)
        rest = set(holds) - {step}
        while found is not None and rest:
            at = max(found, NO_FIT * self.stated)
            unsure = [name for name in rest if self._added_hold(name, at) < SURE_HOLD * goal]
            there = {name: self._hold(name, at) for name in unsure}
            short = [name for name in unsure if there[name] < (1 - NEAR_HOLD) * goal]
            if not short:
                break
            step = min(short, key=lambda name: there[name])
            rest.remove(step)
            solved = {self.stated: holds[step], at: there[step]}
            more = self._holding(step, solved)
            found = None if more is None else max(found, more)
        return found, step

    def _holding(self, step: str, solved: dict[float, float]) -> float | None:
        """Interference from which on a step holds, from holds that are known by interference."""
        hold, goal = partial(self._hold, step), self.fit.least_hold
        return _meeting(hold, goal, solved, self.stated, self.searched, NEAR_HOLD)

    def _most(self) -> tuple[float | None, tuple[str, str], dict[str, float]]:
        """Most interference, the limit and the step that set it, and what yields at any."""
        anyway: dict[str, float] = {}
        limits = sorted(
            self.used_as_stated,
            key=lambda limit: (limit[1] != PRESSED, -self.used_as_stated[limit]),
        )
        most, by = self.searched, None
        for limit in limits:
            as_stated = self.used_as_stated[limit]
            if not as_stated:
                continue
            name = limit[1]
            if self.in_proportion and name == PRESSED:
                found: float | None = self.stated / as_stated
            elif self._added_yield(name, most) < SURE_YIELD:
                continue
            else:
                solved = {self.stated: as_stated}
                if by:
                    solved[most] = self._used(limit, most)
                    if solved[most] < 1:
                        continue
                used = partial(self._used, limit)
                found = _meeting(used, 1.0, solved, self.stated, most, NEAR_YIELD)
                if found == 0 and limit[0] == YIELD:
                    anyway[name] = solved[min(solved)]
                    continue
            if found is not None and found < most:
                most, by = found, limit
        return (most, by, anyway) if by else (None, limits[0], anyway)

    def _at(self, interference: float, step: str) -> Life:
        if interference not in self.lives:
            self.lives[interference] = self.life.with_interference(interference, step)
        self.lives[interference].solve_like(self.life, step)
        return self.lives[interference]

    def _hold(self, step: str, interference: float) -> float:
        """Of the piece that has least in a step. [N]."""
        if self.in_proportion and step == PRESSED:
            return self.joints[step].least_hold_n * interference / self.stated
        life = self._at(interference, step)
        fitted = life.states[step].fitted
        assert fitted is not None
        return life.joint_state(fitted).least_hold_n

    def _added_hold(self, step: str, interference: float) -> float:
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

    def _used(self, limit: tuple[str, str], interference: float) -> float:
        """Share of a limit that is used up in its step."""
        by, step = limit
        life = self._at(interference, step)
        if by == OUT_OF_ROUND:
            return self._out_of_round(bore_growth(life.states[step].solution))
        return life.share_of_yield(step, life.stress_of(step))

    def _out_of_round(self, bore: BoreShape) -> float:
        return bore.out_of_round_um / (1000 * self.fit.most_out_of_round)

    def _added_yield(self, step: str, interference: float) -> float:
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


def _meeting(
    value: Callable[[float], float],
    goal: float,
    solved: dict[float, float],
    stated: float,
    largest: float,
    near: float,
) -> float | None:
    """Interference from which on a value that grows with it passes a goal, by lines through fits.

    ``solved`` is filled with what is solved on the way. 0 where almost none passes the goal, None
    where not even the largest does.
    """
    enough = len(solved) + MOST_FITS
    while True:
        points = sorted(solved.items())
        under = [point for point in points if point[1] < goal]
        over = [
            point for point in points if point[1] >= goal and point > (under or [(0.0, 0.0)])[-1]
        ]
        if under and over:
            (low, at_low), (high, at_high) = under[-1], over[0]
            found = low + (high - low) * (goal - at_low) / (at_high - at_low)
            if min(found - low, high - found) < NEAR_FIT * stated:
                return found
        elif len(points) == 1:
            share = goal / points[0][1] if points[0][1] > 0 else LARGEST_SEARCH
            found = min(stated * float(np.clip(share, 1 / LARGEST_SEARCH, LARGEST_SEARCH)), largest)
        elif over:
            found = over[0][0] / LARGEST_SEARCH
            if found < NO_FIT * stated:
                return 0.0
        elif points[-1][0] < largest:
            (low, at_low), (high, at_high) = points[-2:]
            rise = (at_high - at_low) / (high - low)
            further = high + (goal - at_high) / rise if rise > 0 else np.inf
            found = min(max(further, 1.1 * high), largest)
        else:
            return None
        if len(solved) >= enough:
            return found
        solved[found] = value(found)
        if abs(solved[found] - goal) <= near * goal:
            return found

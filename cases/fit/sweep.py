"""A fitted design at other interferences: what holds, what yields, and what gas it stands.

The joint is condensed once, so another interference costs its contact only, begun from that of the
next one; its limit is begun from that one's, and from how shares grow there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cases.base.faults import RunError
from cases.case import Case
from cases.fit.result import FitPoint, FitSweep, Window
from cases.fit.window import NEAR_BEST, window_of
from cases.life.given import LIGHT
from cases.life.joint import joint_state
from cases.life.life import FittedLife, life_of
from cases.life.steps import HONED, PRESSED
from cases.rating.judge import Judge
from cases.rating.limit import MOST_FACTOR, limit_near
from cases.rating.solve import judge_of
from cases.stress.result import DesignResult
from fea.bore import bore_growth

SOLVED = 12
"""Fits that are solved of a design, the stated one among them."""
FOR_WINDOW = 3
"""Of these at the ends and in the middle of the window."""
HEAVIER = 1.5
"""Times the press of a fit that the next heavier one has."""
HEAVIEST, PAST_YIELD = 8.0, 1.05
"""No fit presses more than this many times the stated one or, if that is more, a light press, nor
this much beyond where the press alone yields."""
HARDLY = 0.1
"""Share of the press of the stated fit that hardly presses."""
OF_USE = 0.5
"""Share of the best limit below which a fit is of no use."""
BEYOND_ASKED = 1.5
"""Interferences are looked at up to this many times the stated one with its tolerance, at least."""
NEW = 0.2
"""Nearer to a fit that is solved than this, another is the same. [um]."""


def sweep(
    life: FittedLife,
    solved: DesignResult,
    case: Case,
    *,
    rated: bool,
    limit: float | None = None,
) -> FitSweep | None:
    """A design at interferences from almost none up to where the press alone would yield.

    None where no interference is common to its sides.

    Parameters
    ----------
    life : FittedLife
        As stated, all steps solved.
    solved : DesignResult
        The same design in one piece.
    case : Case
    rated : bool
        Whether to find limits too.
    limit : float, optional
        Of the stated fit, as far as it is known: that of the sweep is begun from it.
    """
    stated = life.fit.interference
    if not stated or stated < 0:
        return None
    judge = judge_of(case, life.design, solved, life) if rated else None
    fits = _Fits(life, stated, judge, limit)
    _out_from(stated, fits)
    fits.fill(SOLVED - FOR_WINDOW)
    if window := fits.window():
        fits.add(window.low_um / 1000)
        fits.add(window.high_um / 1000)
    if window := fits.window():
        fits.add(window.nominal_um / 1000)
    fits.fill(SOLVED)
    return FitSweep(
        asked_um=1000 * stated,
        per_side=life.fit.per_side,
        tolerance_um=1000 * life.fit.tolerance,
        flattened_um=1000 * life.fit.flattened,
        most_out_of_round_um=1000 * life.fit.most_out_of_round,
        ring_mm=_ring(life),
        rated=rated,
        points=fits.in_order(),
        one_piece=_one_piece(life, solved, case) if rated else None,
        unsolved=tuple(fits.unsolved),
    )


class _Fits:
    """A life at other interferences, each begun from the nearest that is solved.

    Parameters
    ----------
    life : FittedLife
    stated : float
        Its common interference on the diameter. [mm]
    judge : Judge, optional
        Where limits are sought.
    limit : float, optional
        Of that life, about.

    Attributes
    ----------
    points : dict of float to FitPoint
        By interference [mm].
    unsolved : list of str
        Those that could not be solved, in words.
    """

    def __init__(
        self, life: FittedLife, stated: float, judge: Judge | None, limit: float | None
    ) -> None:
        self.life, self.judge, self.lives = life, judge, {stated: life}
        self.tried = 1
        self.unsolved: list[str] = []
        self._slopes: dict[float, float | None] = {}  # of shares by the gas load at limits
        self.points = {stated: self._point(life, stated, limit)}

    def in_order(self) -> tuple[FitPoint, ...]:
        """All points, interference rising."""
        return tuple(self.points[one] for one in sorted(self.points))

    def add(self, interference: float) -> None:
        """Solve another interference [mm]; one that can't be solved is told."""
        near = min(self.lives, key=lambda one: abs(one - interference))
        if 1000 * abs(near - interference) < NEW:
            return
        self.tried += 1
        try:
            life = self.lives[near].with_interference(interference)
            start, slope = self.points[near].limit, self._slopes.get(near)
            self.points[interference] = self._point(life, interference, start, slope)
        except RunError as error:
            self.unsolved.append(f"{1000 * interference:.1f} um could not be solved. {error}")
            return
        self.lives[interference] = life

    def fill(self, count: int) -> None:
        """Solve more fits, where they are most in doubt, until so many were tried."""
        while self.tried < count and (gap := _most_in_doubt(self.in_order())):
            self.add(gap)

    def window(self) -> Window | None:
        """As far as it is told without the bare block."""
        return window_of(self.in_order(), 1000 * self.life.fit.most_out_of_round, None)

    def past_use(self, interference: float) -> bool:
        """Whether a fit that is solved has a low limit, or, where none is sought, yields."""
        point = self.points.get(interference)
        if point is None:
            return False
        if self.judge is None:
            return max(point.over_yield.values()) > 1
        best = max(one.least_limit or 0.0 for one in self.points.values())
        return (point.least_limit or 0.0) < OF_USE * best

    def _point(
        self,
        life: FittedLife,
        interference: float,
        start: float | None,
        slope: float | None = None,
    ) -> FitPoint:
        """A fit that is solved; its limit begun from that of another one."""
        different = [step for step in life.steps if step != HONED]
        joints = {step: joint_state(life, life.solved[step]) for step in different}
        asked = life.fit.holds and not any(joint.bonded for joint in joints.values())
        point = FitPoint(
            interference_um=1000 * interference,
            held={step: joint.held_share for step, joint in joints.items()} if asked else {},
            over_yield={
                step: life.share_of_yield(step, life.stress_of(step)) for step in different
            },
            out_of_round_um=bore_growth(life.solution(PRESSED)).out_of_round_um,
        )
        if self.judge is not None:
            found = limit_near(self.judge, life, start, slope)
            self._slopes[interference] = found.slope
            point = replace(
                point,
                limit=found.factor,
                limit_error=found.error,
                tried=MOST_FACTOR if found.factor is None else None,
                governs=found.governs,
            )
        life.forget()
        return point


def _out_from(stated: float, fits: _Fits) -> None:
    """Solve a fit that hardly presses, and heavier ones on to where a limit falls or metal yields.

    Heavier by steps, to where the press alone yields, in proportion, at most.
    """
    life = fits.life
    flattened, share = life.fit.flattened, fits.points[stated].over_yield[PRESSED]
    pressing = max(stated - flattened, 0.0)
    at_yield = pressing / share if pressing and share else 0.0
    least = BEYOND_ASKED * (stated + life.fit.tolerance)
    heaviest = max(LIGHT, HEAVIEST * pressing)
    most = flattened + max(min(PAST_YIELD * at_yield, heaviest), least)
    fits.add(flattened + HARDLY * (pressing or LIGHT))
    at = flattened + (pressing or HARDLY * LIGHT)
    while at < most:
        at = min(flattened + HEAVIER * (at - flattened), most)
        fits.add(at)
        if at > least and fits.past_use(at):
            break


def _most_in_doubt(points: Sequence[FitPoint]) -> float | None:
    """Interference [mm] amid the gap that is widest, or over which a limit changes most.

    Gaps between limits that are low count by their width alone. None where all are narrow.
    """
    at = np.array([point.interference_um for point in points])
    wide = np.diff(at)
    if not len(wide) or wide.max() < 2 * NEW:
        return None
    doubt = wide / (at[-1] - at[0])
    limits = np.array([point.least_limit or 0.0 for point in points])
    if best := limits.max():
        useful = np.maximum(limits[1:], limits[:-1]) > NEAR_BEST * best
        doubt += np.where(useful, np.abs(np.diff(limits)) / best, -0.5 * doubt)
    middle = int(np.argmax(np.where(wide < 2 * NEW, -1, doubt)))
    return float(at[middle] + at[middle + 1]) / 2000


def _ring(life: FittedLife) -> float | None:
    """Diameter that a round insert is fitted on: its outside, or its hole if it has no more. [mm].

    None for pieces.
    """
    block = life.case.block
    if block.bores > 1 or len(life.pieces) > 1:
        return None
    if block.ties and life.design.insert and life.design.insert.form != "ring":
        return None
    outside = "outer wall" in life.fit.pressed and "outer wall" in life.touched
    return 2 * (block.jacket_radius if outside else block.barrel_radius)


def _one_piece(life: FittedLife, solved: DesignResult, case: Case) -> float | None:
    """Limit of the same insert in one piece with the block; None where none is found."""
    given = replace(life.given, fits={})
    whole = life_of(case.told("life", given), life.design, solved.mesh, life.load)
    return limit_near(judge_of(case, life.design, solved, whole), whole, None).factor

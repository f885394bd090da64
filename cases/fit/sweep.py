"""A fitted design at other interferences: what holds, what yields, and what gas it stands.

The joint is condensed once, so another interference costs its contact only, begun from that of the
next one; its limit is begun from that one's, and from how shares grow there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cases.case import Case
from cases.fit.result import FitSweep
from cases.life.joint import joint_state
from cases.life.life import FittedLife, bore_of, life_of
from cases.life.steps import HONED, PRESSED
from cases.rating.judge import Judge
from cases.rating.limit import MOST_FACTOR, limit_near
from cases.rating.other_fits import OtherFits
from cases.rating.result import FitPoint, SolidRating
from cases.rating.solve import judge_of
from cases.stress.result import DesignResult

SOLVED = 12
"""Fits that are solved of a design, the stated one among them."""
FOR_WINDOW = 3
"""Of these at the ends and in the middle of the window."""
NEW = 0.2
"""Nearer to a fit that is solved than this, another is the same. [um]."""
OF_USE = 0.5
"""Share of the best limit below which a fit is of no use."""
BEYOND_ASKED = 1.5
"""Interferences are looked at up to this many times the stated one with its tolerance, at least."""


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
    if stated is None or not life.fit.swept:
        return None
    judge = judge_of(case, life.design, solved, life) if rated else None
    fits = _Fits(life, stated, judge, limit)
    fits.out()
    fits.fill(SOLVED - FOR_WINDOW)
    fits.ends()
    fits.middle()
    fits.fill(SOLVED)
    return _sweep_of(
        life, fits.in_order(), fits.unsolved, rated=rated,
        one_piece=_one_piece(life, solved, case) if rated else None,
    )  # fmt: skip


def told_by_solid(life: FittedLife, solid: SolidRating) -> FitSweep:
    """What a design's solid does at other interferences.

    Parameters
    ----------
    life : FittedLife
        As stated.
    solid : SolidRating
        With its fits.
    """
    return _sweep_of(life, solid.fits, solid.unsolved, by_solid=True)


def _sweep_of(
    life: FittedLife,
    points: tuple[FitPoint, ...],
    unsolved: Sequence[str],
    *,
    rated: bool = True,
    one_piece: float | None = None,
    by_solid: bool = False,
) -> FitSweep:
    return FitSweep(
        asked_um=1000 * (life.fit.interference or 0.0),
        per_side=life.fit.per_side,
        tolerance_um=1000 * life.fit.tolerance,
        flattened_um=1000 * life.fit.flattened,
        most_out_of_round_um=1000 * life.fit.most_out_of_round,
        ring_mm=_ring(life),
        compound=life.fit.compound,
        rated=rated,
        points=points,
        one_piece=one_piece,
        unsolved=tuple(unsolved),
        by_solid=by_solid,
    )


class _Fits(OtherFits):
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
    """

    def __init__(
        self, life: FittedLife, stated: float, judge: Judge | None, limit: float | None
    ) -> None:
        self.life, self.judge, self.lives = life, judge, {stated: life}
        self._slopes: dict[float, float | None] = {}  # of shares by the gas load at limits
        first = self._point(life, stated, limit)
        super().__init__(
            life.fit, first, limited=judge is not None, of_use=OF_USE, beyond=BEYOND_ASKED,
            nearest_um=NEW,
        )  # fmt: skip

    def point(self, interference: float, near: float) -> FitPoint:
        """Another fit, its steps and its limit begun from those of one that is solved."""
        life = self.lives[near].with_interference(interference)
        start, slope = self.points[near].limit, self._slopes.get(near)
        found = self._point(life, interference, start, slope)
        self.lives[interference] = life
        return found

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
            out_of_round_um=bore_of(life, PRESSED).out_of_round_um,
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


def _ring(life: FittedLife) -> float | None:
    """Diameter that a round insert is fitted on: its outside, or its hole if it has no more. [mm].

    None for pieces.
    """
    block = life.case.block
    if block.bores > 1 or len(life.pieces) > 1:
        return None
    if block.ties and life.design.insert and life.design.insert.form != "ring":
        return None
    outside = "outer wall" in life.fit.common and "outer wall" in life.touched
    return 2 * (block.jacket_radius if outside else block.barrel_radius)


def _one_piece(life: FittedLife, solved: DesignResult, case: Case) -> float | None:
    """Limit of the same insert in one piece with the block; None where none is found."""
    given = replace(life.given, fits={})
    whole = life_of(case.told("life", given), life.design, solved.mesh, life.load)
    return limit_near(judge_of(case, life.design, solved, whole), whole, None).factor

"""What a design stands, with the band of its limit."""

from __future__ import annotations

from dataclasses import replace

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.life.life import FittedLife, Life, OnePieceLife
from cases.life.refine import life_like
from cases.rating.band import band_of
from cases.rating.given import rating_given
from cases.rating.judge import Judge
from cases.rating.limit import rate_design
from cases.rating.result import DesignRating
from cases.stress.result import DesignResult
from cases.stress.solve import Stage, solve_section
from geometry.outline import draw_section


def rate(
    case: Case, design: Design, solved: DesignResult, life: Life, stage: Stage
) -> DesignRating:
    """What a design stands, with the band of its limit.

    Parameters
    ----------
    case : Case
    design : Design
    solved : DesignResult
        Of the same design.
    life : Life
        Of the same design; where it is fitted, on a mesh of its own.
    stage : callable
        Told "rating" and "band".
    """

    def other(changed: Case) -> tuple[Judge, Life]:
        outline = draw_section(changed.section(design))
        if isinstance(life, FittedLife):
            lived: Life = life_like(life, changed, outline)
            return judge_of(changed, design, solved, lived), lived
        again = solve_section(changed, design, outline, life.load.line_load)
        lived = OnePieceLife(changed, design, again.mesh, life.load)
        return judge_of(changed, design, again, lived), lived

    with stage("rating"):
        judge = judge_of(case, design, solved, life)
        rating = rate_design(judge, life)
    if not rating_given(case).draws or rating.limit is None or rating.limit.factor == 0:
        return rating
    try:
        with stage("band"):
            band, untold = band_of(judge, life, rating.limit.factor, other)
    except RunError as error:
        note = f"no band: the design could not be solved around its limit. {error}"
        return replace(rating, notes=(*rating.notes, note))
    return replace(rating, band=band, notes=(*rating.notes, *untold))


def judge_of(case: Case, design: Design, solved: DesignResult, life: Life) -> Judge:
    """The judge of a design, blind where the end of a bonded joint has no finite stress."""
    if isinstance(life, FittedLife):
        return Judge(case, design, life.mesh, life.bond_ends())
    found = [(spot.x_mm, spot.y_mm) for spot in solved.hot_spots if spot.sharp]
    return Judge(case, design, life.mesh, found)

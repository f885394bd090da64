"""What a design stands, with the band of its limit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.gas.solve import GasLoad, at_load
from cases.life.base import Life, StressCycle
from cases.life.given import Heat
from cases.life.life import FittedLife, life_of
from cases.life.liner import (
    at_interference,
    counted_interference,
    liner_range,
    liner_unknown,
    stand_in_words,
)
from cases.life.refine import life_in, life_like
from cases.rating.band import band_of, shifts_of
from cases.rating.depth_band import (
    OtherSolids,
    Shifts,
    SolidDraws,
    band_of_solid,
    draws_of,
    fits_of_solid,
)
from cases.rating.given import rating_given
from cases.rating.judge import COUNTS, ROUGH, Judge
from cases.rating.limit import rate_design, stands
from cases.rating.own_heat import OwnHeat, at_own_heat, that_tell
from cases.rating.result import SURFACE, Band, DesignRating, SolidRating, Stands
from cases.rating.solid import rate_solid
from cases.rating.solid_fits import is_swept, other_solids, solids_in_tolerance
from cases.solid.life import SolidLife
from cases.stress.result import DesignResult
from cases.stress.solve import Stage, solve_section, untold
from geometry.outline import draw_section

T = TypeVar("T")

MOST_TURNS = 8
"""Times that a design is rated again with more places judged by the critical distance."""


@dataclass(frozen=True, eq=False, slots=True)
class BySolid:
    """What a design stands by its solid, without the solid."""

    rating: SolidRating
    draws: SolidDraws | None = None  # None where there are none, or no limit to draw about
    # at other fits; None where no interference is common to its sides, or none of them is drawn
    others: OtherSolids | None = None
    swept: bool = True  # whether those tell its window, and not only draws within its tolerance


def rate(
    case: Case,
    design: Design,
    solved: DesignResult,
    life: Life,
    stage: Stage,
    *,
    by_solid: BySolid | None = None,
) -> tuple[DesignRating, Shifts | None]:
    """What a design stands by its section, and the band of its limit.

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
    by_solid : BySolid, optional
        What its solid told, of the same design. Where that has draws, they need the shifts of the
        section alone, which gets no band of its own. Where the engine heats the block, the section
        is at the heat of the solid's limit then, and its own is not sought.

    Returns
    -------
    rating : DesignRating
    shifts : mapping or None
        Of the inputs that need other sections, as :class:`cases.rating.result.Band` has them; None
        without draws, or without a limit.
    """

    def other(changed: Case, factor: float) -> tuple[Judge, Sequence[StressCycle]]:
        outline = draw_section(changed.section(design))
        if isinstance(life, FittedLife) and life.pieces:
            fitted = life_like(life, changed, outline, factor)
            return judge_of(changed, design, solved, fitted), fitted.at_gas(1.0)
        again = solve_section(changed, design, outline, life.load.line_load)
        lived = alike_heated(life_of(changed, design, again.mesh, life.load), life)
        return judge_of(changed, design, again, lived), lived.at_gas(factor)

    def lined(interference: float) -> Life:
        changed = at_interference(case, interference)
        if isinstance(life, FittedLife) and life.pieces:
            return life_in(life, changed)
        return alike_heated(life_of(changed, design, solved.mesh, life.load), life)

    unknown = liner_unknown(case)
    with stage("rating"):
        if unknown:
            life = lined(counted_interference(case))
        judge, rating = rate_settled(judge_of(life.case, design, solved, life), life)

        begun, heats = life, list[tuple[float, Life]]()

        def rated(heat: GasLoad, _: float) -> tuple[tuple[Judge, Life, DesignRating], float | None]:
            hotter = begun.heated_by(heat)
            found = rate_settled(judge_of(hotter.case, design, solved, hotter), hotter)
            return (found[0], hotter, found[1]), _limit_of(found[1])

        def carried(
            found: tuple[Judge, Life, DesignRating], factor: float
        ) -> tuple[tuple[Judge, Life, DesignRating], float | None]:
            limit = stands(begun.load, factor)
            if at_its_heat := found[2].limit:
                error = at_its_heat.error * factor / at_its_heat.factor
                limit = replace(limit, error=error, at_most=at_its_heat.at_most)
            return (found[0], found[1], replace(found[2], limit=limit)), factor

        if not rating.unsolved:
            first = (judge, life, rating), _limit_of(rating)
            own = as_the_solid(life.load, life.given.heat, by_solid, rated) or at_own_heat(
                life.load, life.given.heat, first, rated, carried
            )
            judge, life, hot = own.found
            heats = [(factor, lived) for factor, (_, lived, _) in own.heats]
            rating = replace(
                hot, used=rating.used, life_cycles=rating.life_cycles, life_hours=rating.life_hours,
                spots=rating.spots, limit=less_sure(hot.limit, own.off),
                notes=(*hot.notes, *own.notes),
            )  # fmt: skip
    if unknown:
        note = f"the liner's interference is not stated: it is rated at {stand_in_words(case)}."
        rating = replace(rating, notes=(note, *rating.notes))
    if not rating_given(case).draws or rating.limit is None or rating.limit.factor == 0:
        return rating, None
    band: Band | None = None
    try:
        with stage("band"):
            low, high = liner_range(case) if unknown else (0.0, 0.0)
            liners = [lined(low), lined(high)] if low < high else []
            heats, at_heat = that_tell(life.load, heats, begun.heated_by)
            around = judge, life, rating.limit.factor, other, liners, heats
            if by_solid and by_solid.draws:
                shifts, untold = shifts_of(*around, fitted=by_solid.others is None)
            else:
                band, untold = band_of(*around)
                shifts = band.shifts
    except RunError as error:
        note = f"no band: the design could not be solved around its limit. {error}"
        return replace(rating, notes=(*rating.notes, note)), None
    nominal, notes = rating.limit, (*rating.notes, *at_heat, *untold)
    if band is None:
        return replace(rating, notes=notes), shifts
    limit = reliable(nominal, band, life.load)
    return replace(rating, limit=limit, nominal=nominal, band=band, notes=notes), shifts


def as_the_solid(
    gas: GasLoad,
    heat: Heat | None,
    by_solid: BySolid | None,
    rated: Callable[[GasLoad, float], tuple[T, float | None]],
) -> OwnHeat[T] | None:
    """What is found of a section at the heat of the solid's limit.

    None where heat stands still, and where there is no limit to be found of one of the two.

    Parameters
    ----------
    gas : GasLoad
        As asked.
    heat : Heat or None
    by_solid : BySolid or None
    rated : callable
        As of :func:`cases.rating.own_heat.at_own_heat`.
    """
    limit = by_solid.rating.limit if by_solid and by_solid.draws else None
    if limit is None or heat is None or not heat.follows_gas:
        return None
    load = at_load(gas, limit.factor)
    if load is None:
        return None
    try:
        found, told = rated(load, limit.factor)
    except RunError:
        return None
    if not told:
        return None
    note = (
        f"by the section, the limit is at the heat of {limit.factor:.3g} times the asked load, "
        "that of the solid's limit."
    )
    return OwnHeat(found, (note,), heats=((limit.factor, found),))


def less_sure(limit: Stands | None, off: float) -> Stands | None:
    """A limit that may be off by a further share."""
    return limit and replace(limit, error=limit.error + off * limit.factor)


def reliable(nominal: Stands, band: Band, load: GasLoad) -> Stands:
    """The limit that the wanted share of the draws carry, off by as large a share."""
    return replace(
        stands(load, band.limit),
        error=nominal.error * band.limit / nominal.factor,
        at_most=nominal.at_most,
    )


def _limit_of(rating: DesignRating) -> float | None:
    """Of a design, as a factor; None where it is beyond all that is tried.

    Raises
    ------
    RunError
        If it could not be solved.
    """
    if rating.unsolved:
        raise RunError(rating.unsolved)
    return rating.limit.factor if rating.limit else None


def alike_heated(life: Life, like: Life) -> Life:
    """A life with its warm steps heated as those of another are."""
    return life if like.heating is like.load else life.heated_by(like.heating)


def rate_by_solid(life: SolidLife, stage: Stage = untold, *, swept: bool = True) -> BySolid:
    """What a design stands by its solid, what its band is drawn from, and its other fits.

    Parameters
    ----------
    life : SolidLife
    stage : callable
        Told "solid rating" and, where other fits are solved, "other fits".
    swept : bool
        Whether its window is sought where it is fitted; else the ends of its tolerance are solved,
        for its draws.
    """
    with stage("solid rating"):
        solid, loads, heats = rate_solid(life)
        draws = None
        if loads.wishes.draws and solid.limit is not None and solid.limit.factor > 0:
            try:
                heats, at_heat = that_tell(life.load, heats, loads.heated_by)
                draws = draws_of(loads, solid.limit.factor, heats)
                solid = replace(solid, notes=(*solid.notes, *at_heat))
            except RunError as error:
                note = f"no band by the solid: it could not be solved around its limit. {error}"
                solid = replace(solid, notes=(*solid.notes, note))
    if solid.untold or not is_swept(loads.life) or not (swept or draws):
        return BySolid(solid, draws)
    with stage("other fits"):
        try:
            others = (other_solids if swept else solids_in_tolerance)(loads, solid.limit)
        except RunError as error:
            note = f"no other fit by the solid: {error}"
            return BySolid(replace(solid, notes=(*solid.notes, note)), draws)
    return BySolid(solid, draws, others, swept)


def with_solid_rating(
    rating: DesignRating, shifts: Shifts | None, by_solid: BySolid
) -> DesignRating:
    """A rating with what the solid stands beside it, and its band where there are draws."""
    solid, draws, others = by_solid.rating, by_solid.draws, by_solid.others
    known = shifts is not None
    shifts = shifts or {}
    if others:
        solid = replace(solid, unsolved=others.unsolved)
    if draws is None or solid.limit is None:
        fits = fits_of_solid(others, shifts) if others else ()
        return replace(rating, solid=replace(solid, fits=fits))
    band, beyond, fits = band_of_solid(draws, shifts, others)
    limit = reliable(solid.limit, band, draws.load)
    notes = (*solid.notes, *beyond)
    fits = fits if by_solid.swept else ()
    solid = replace(solid, limit=limit, nominal=solid.limit, band=band, notes=notes, fits=fits)
    if not known:
        what = "walls are" if others else "fit and walls are"
        note = f"{what} not drawn, as the section has no band that tells what they do."
        solid = replace(solid, notes=(*solid.notes, note))
    return replace(rating, solid=solid)


def rate_settled(judge: Judge, life: Life) -> tuple[Judge, DesignRating]:
    """A rating by no stress whose error is above ``ROUGH`` of it, and the judge that gave it.

    Places that count and are found to be so are judged by the critical distance from then on.
    """
    rating = rate_design(judge, life)
    for _ in range(MOST_TURNS):
        rough = rough_places(rating)
        if not rough:
            break
        judge = judge.with_steep(rough)
        rating = rate_design(judge, life)
    return judge, rating


def rough_places(rating: DesignRating) -> list[tuple[float, float]]:
    """Places x, y that count, judged by a stress at the place that is not settled. [mm]."""
    spots = [*rating.spots, *([rating.governing] if rating.governing else [])]
    worst = max((spot.share for spot in rating.spots), default=0.0)
    return [
        (one.spot.x_mm, one.spot.y_mm)
        for one in spots
        if one.judged_by == SURFACE
        and one.error_mpa > ROUGH * one.spot.principal_mpa
        and (one is rating.governing or one.share >= COUNTS * worst)
    ]


def judge_of(case: Case, design: Design, solved: DesignResult, life: Life) -> Judge:
    """The judge of a design, told where stress is steep: ends of a joint or bond, sharp spots."""
    if isinstance(life, FittedLife) and life.fit.sides:
        places = [*life.bond_ends(), *joint_ends(life), *life.sharp_places()]
        return Judge(case, design, life.mesh, places)
    found = [(spot.x_mm, spot.y_mm) for spot in solved.hot_spots if spot.sharp]
    return Judge(case, design, life.mesh, found)


def joint_ends(life: FittedLife) -> list[tuple[float, float]]:
    """Places x, y where a joint ends, or where a rounded edge begins to stand off. [mm]."""
    pairs = life.cold.pairs
    ends = np.bincount(pairs.sides.ravel(), minlength=len(pairs.own)) == 1
    off = pairs.gap > 0
    ends[pairs.sides[off[pairs.sides].any(axis=1)]] = True
    at = life.mesh.points[pairs.own[ends & ~off]]
    return [(float(x), float(y)) for x, y in at]

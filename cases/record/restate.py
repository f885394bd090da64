"""The limits of a rating, restated by the shop's engines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from cases.base.subject import Work
from cases.gas.solve import GasLoad
from cases.rating.given import rating_given
from cases.rating.limit import stands
from cases.rating.result import FATIGUE, DesignRating, is_rated, rating_of
from cases.rating.shares import wanted_cycles
from cases.record.built import built_of
from cases.record.distortion import distortion_factor
from cases.record.engines import Engine, Prediction, engines_of
from cases.record.given import record_given
from cases.record.posterior import Posterior, posterior_of, shifts_of
from cases.record.result import RecordFinding, Restated, Success
from cases.record.success import failing_share, weibull_equivalents, weibull_slope
from cases.store.file import opened
from cases.stress.result import DesignResult

KINDS = ("design", "run", "opened", "distortion")
"""Of lines that say something of strength or distortion."""
TOLD = (0.05, 0.5, 0.95)


def restate(work: Work, store: Path) -> RecordFinding:
    """What a record says of the limits that were found.

    Raises
    ------
    CaseError, RunError
        If it can't be read.
    """
    with opened(store) as record:
        jobs, _ = record.counts()
        kept = list(record.jobs(KINDS))
        job = record_given(work.case).job
        own = None if job is None else record.job(job)
    engines, silent = engines_of(kept)
    ratios = {
        of.number: float(lines[-1].said["ratio"].inside)
        for of in kept
        if (lines := of.standing("distortion"))
    }
    told, unbanded = [], []
    for design in filter(is_rated, work.designs):
        if prediction := prediction_for(work.case, design):
            told.append(_restated(work, design, prediction, engines))
        else:
            unbanded.append(design.name)
    return RecordFinding(
        store=store,
        jobs=jobs,
        engines=tuple(engines),
        silent=silent,
        designs=tuple(told),
        unbanded=tuple(unbanded),
        built=None if own is None else built_of(own, work.case, work.designs),
        ratios=ratios,
        distortion=distortion_factor(list(ratios.values()), TOLD),
    )


def prediction_for(case: object, design: DesignResult) -> Prediction | None:
    """What a rating predicts of a design, for the record; None without a band, or with a zero one.

    The slope is Basquin's of the metal at the place that governs, where fatigue does.
    """
    rating = rating_of(design)
    band = rating.told_band
    if band is None or not 0 < band.factor[0] < band.factor[1] < band.factor[2]:
        return None
    part, kind, state = _governs(rating)
    slope = 0.0
    if kind == FATIGUE:
        fatigue = design.solution.model.materials[part].fatigue
        slope = -fatigue.exponent if fatigue else 0.0
    return Prediction(
        factor=band.factor,
        pressure_mpa=None if None in band.pressure_mpa else band.pressure_mpa,  # type: ignore[arg-type]
        power_kw=None if None in band.power_kw else band.power_kw,  # type: ignore[arg-type]
        cycles=wanted_cycles(case, state),  # type: ignore[arg-type]
        slope=slope,
    )


def _governs(rating: DesignRating) -> tuple[str, str, object]:
    if rating.solid and rating.solid.governing:
        spot = rating.solid.governing
        return spot.part, spot.criterion, spot.state
    assert rating.governing is not None  # where there is a band there is a limit
    return rating.governing.spot.part, rating.governing.kind, rating.governing.state


def _restated(
    work: Work, design: DesignResult, told: Prediction, engines: Sequence[Engine]
) -> Restated:
    rating = rating_of(design)
    band, limit = rating.told_band, rating.stands
    assert band is not None
    before, after = posterior_of([], told.spread), posterior_of(engines, told.spread)
    gas: GasLoad = work.found["gas"]
    reached = None
    if limit is not None:
        times = _times(before, after, 1 - band.reliability)
        reached = replace(
            stands(gas, limit.factor * times), error=limit.error * times, at_most=limit.at_most
        )
    restated = tuple(
        factor * _times(before, after, share)
        for factor, share in zip(band.factor, TOLD, strict=True)
    )
    return Restated(
        design=design.name,
        shop_factor=tuple(after.factor(share) for share in TOLD),
        prior_factor=tuple(before.factor(share) for share in TOLD),
        shifts=tuple(shifts_of(engines, after)),
        limit=limit,
        restated=reached,
        band=band.factor,
        restated_band=restated,
        band_mpa=told.pressure_mpa,
        restated_band_mpa=_known([stands(gas, factor).pressure_mpa for factor in restated]),
        success=_success(work, told, engines, gas.speed),
    )


def _known(values: Sequence[float | None]) -> tuple[float, ...] | None:
    known = tuple(value for value in values if value is not None)
    return known if len(known) == len(values) else None


def _times(before: Posterior, after: Posterior, share: float) -> float:
    """What the engines multiply the load by that an engine carries less than with a probability.

    1 without engines, so that the band as drawn is what is restated.
    """
    return after.capacity(share) / before.capacity(share)


def _success(
    work: Work, told: Prediction, engines: Sequence[Engine], speed: float | None
) -> Success | None:
    """What engines say that live, at the asked load; None where none ran so.

    Those that cracked count as failed at whatever load, which claims no more than is known.
    """
    failed = sum(engine.cracked for engine in engines)
    asked = 1 / told.factor[1]
    lives = [
        cycles
        for engine in engines
        if not engine.cracked
        and (cycles := sum(number for share, number in engine.runs if share >= asked))
    ]
    if not lives:
        return None
    least = min(lives)
    slope = weibull_slope(told.spread, told.slope) if told.slope else 1.0
    pull = rating_given(work.case).pull
    return Success(
        engines=len(lives),
        cycles=least,
        pulls=None if speed is None else least / (pull * speed / 120),
        share=failing_share(len(lives) + failed, failed=failed),
        by_life=None if failed else failing_share(weibull_equivalents(lives, least, slope)),
        slope=slope,
        failed=failed,
    )

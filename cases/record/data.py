"""What the record said, for ``results.json``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from cases.base.data import fields_of, plain
from cases.rating.result import is_rated
from cases.record.built import Built
from cases.record.restate import prediction_for
from cases.record.result import RecordFinding, Restated, record_of
from cases.stress.result import CaseResult, DesignResult


def record_dict(found: RecordFinding) -> dict[str, Any]:
    """The shop's engines, why others say nothing, and the job as built."""
    engines = [
        {
            "job": engine.job,
            "design": engine.design,
            "found": engine.words,
            "log_load_sound": _finite(engine.low),
            "log_load_cracked": _finite(engine.high),
            "spread": engine.spread,
        }
        for engine in found.engines
    ]
    told: dict[str, Any] = {
        "record": {
            "jobs": found.jobs,
            "engines": engines,
            "silent": dict(found.silent),
            "percent": [5, 50, 95],
            "distortion_factor": found.distortion,
            "distortion_ratios": dict(found.ratios),
        }
    }
    if found.built:
        told["built"] = _built_dict(found.built)
    return plain(told)  # type: ignore[no-any-return]


def _built_dict(built: Built) -> dict[str, Any]:
    names = ("part", "drawn_um", "measured_um", "pieces")
    return {
        **fields_of(built),
        "sides": [dict(zip(names, side, strict=True)) for side in built.sides],
        "pieces": [
            dict(zip(("piece", "part", "measured_um"), piece, strict=True))
            for piece in built.pieces
        ],
        "orders": [fields_of(one) for one in built.orders],
    }


def _finite(value: float) -> float | None:
    return value if abs(value) < float("inf") else None


def design_dict(result: CaseResult, design: DesignResult) -> Mapping[str, Any]:
    """What is predicted of a design, for the record to keep, and its limit as restated by it."""
    if not is_rated(design):
        return {}
    told: dict[str, Any] = {}
    if prediction := prediction_for(result.case, design):
        told["predicted"] = plain({"percent": [5, 50, 95], **fields_of(prediction)})
    if found := record_of(result):
        for restated in found.designs:
            if restated.design == design.name:
                told["restated"] = plain(_restated_dict(restated, found))
    return told


def _restated_dict(restated: Restated, found: RecordFinding) -> dict[str, Any]:
    shifts = {
        engine.job: shift for engine, shift in zip(found.engines, restated.shifts, strict=True)
    }
    return {
        "percent": [5, 50, 95],
        "shop_factor": restated.shop_factor,
        "prior_factor": restated.prior_factor,
        "limit": fields_of(restated.restated) if restated.restated else None,
        "unstated_limit": fields_of(restated.limit) if restated.limit else None,
        "band_factor": restated.restated_band,
        "unstated_band_factor": restated.band,
        "band_mpa": restated.restated_band_mpa,
        "unstated_band_mpa": restated.band_mpa,
        "shifts": shifts,
        "success": asdict(restated.success) if restated.success else None,
    }

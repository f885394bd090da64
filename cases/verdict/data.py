"""The verdict for ``results.json``."""

from __future__ import annotations

import math
from typing import Any

from cases.base.data import fields_of, plain
from cases.verdict.result import Row, Verdict
from cases.verdict.words import paragraph, sentence


def verdict_dict(verdict: Verdict) -> dict[str, Any]:
    """The verdict as numbers, the unit in each key, and text, in the units of the case."""
    choice, row = verdict.choice, verdict.row
    return plain(  # type: ignore[no-any-return]
        _told(
            verdict,
            {
                "status": choice.status,
                "design": choice.design,
                "share": row.share,
                "reliability": verdict.reliability,
                "draws": verdict.draws,
                "wanted_bar": verdict.wanted_bar,
                "wanted_kw": verdict.wanted_kw,
                "no_difference_to": choice.alike,
                "taken_for": choice.alike_by or None,
                "hold_too": choice.also,
                "sentence": sentence(verdict),
                "paragraph": paragraph(verdict),
                "rows": [_row(one) for one in verdict.rows],
                "spread_by": [fields_of(one) for one in verdict.spreading],
                "assumed": [fields_of(one) for one in verdict.assumed],
                "measure_first": [fields_of(one) for one in verdict.measure_first],
                "heat_flags": verdict.flags,
                "worse_bores": verdict.worse_bores,
            },
        )
    )


def _told(verdict: Verdict, found: Any) -> Any:
    """Numbers as they are, texts in the units of the case."""
    if isinstance(found, str):
        return verdict.told(found)
    if isinstance(found, dict):
        return {key: _told(verdict, value) for key, value in found.items()}
    if isinstance(found, list | tuple):
        return [_told(verdict, value) for value in found]
    return found


def _row(row: Row) -> dict[str, Any]:
    told = fields_of(row)
    del told["each"]
    return told | {
        "places": [fields_of(place) for place in row.places],
        "fit": fields_of(row.fit) if row.fit else None,
        "drop_in": fields_of(row.drop_in) if row.drop_in else None,
        "distortion": fields_of(row.distortion) if row.distortion else None,
        **{
            key: None if value is not None and math.isinf(value) else value
            for key, value in told.items()
            if key.startswith("life_") and not isinstance(value, str)
        },
        "no_harm": row.life_cycles is not None and math.isinf(row.life_cycles),
    }

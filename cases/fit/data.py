"""The fit advice for ``results.json``."""

from __future__ import annotations

import math
from typing import Any

from cases.base.data import plain
from cases.fit.result import FitAdvice, FitSweep
from cases.life.given import InsertCompound

BY_LIMIT, BY_HOLD = "limit", "hold and yield only"
"""What a window is judged by."""
SOLID, SECTION = "solid", "section"
"""What it stands on: limits, hold, yield and roundness."""


def advice_dict(sweep: FitSweep, advice: FitAdvice) -> dict[str, Any]:
    """The window, what it is worth, and what was solved for it; interferences on the diameter."""
    window = advice.window
    return plain(  # type: ignore[no-any-return]
        {
            "judged_by": BY_LIMIT if sweep.rated else BY_HOLD,
            "limits_by": SOLID if sweep.by_solid else SECTION,
            "asked_um": sweep.asked_um,
            "asked_per_side_um": sweep.asked_um / 2,
            "inside": advice.inside,
            "nominal_um": window.nominal_um if window else None,
            "nominal_per_side_um": window.nominal_um / 2 if window else None,
            "low_um": window.low_um if window else None,
            "low_error_um": window.low_error_um if window else None,
            "low_by": window.low_by if window else None,
            "high_um": window.high_um if window else None,
            "high_error_um": window.high_error_um if window else None,
            "high_by": window.high_by if window else None,
            "total_tolerance_um": window.total_um if window else None,
            "limit_at_nominal": advice.limit_at_nominal,
            "limit_at_nominal_error": advice.limit_at_nominal_error,
            "limit_as_asked": sweep.asked.told,
            "best_um": advice.best_um,
            "limit_best": advice.limit_best,
            "at_most": advice.at_most,
            "limit_bare": advice.limit_bare,
            "limit_one_piece": sweep.one_piece,
            "none_because": advice.why_none or None,
            "would_change_it": advice.cure or None,
            "iso": advice.iso,
            "iso_diameter_mm": sweep.ring_mm,
            "iso_least_um": advice.iso_least_um,
            "iso_most_um": advice.iso_most_um,
            "milled_um": advice.milled_um,
            "match_machine": advice.match_machine,
            "flattened_um": sweep.flattened_um,
            "compound": _compound(sweep.compound),
            "by_interference": [
                {
                    "interference_um": point.interference_um,
                    "limit": point.limit,
                    "limit_error": point.limit_error,
                    "limit_5_to_95": point.band,
                    "limit_in_tolerance": point.within,
                    "tried_factor": point.tried,
                    "governs": point.governs,
                    "held_share": None if point.least_held == math.inf else point.least_held,
                    "over_yield": max(point.over_yield.values()),
                    "out_of_round_um": point.out_of_round_um,
                }
                for point in sweep.points
            ],
            "unsolved": sweep.unsolved,
        }
    )


def _compound(compound: InsertCompound | None) -> dict[str, Any] | None:
    """What a joint is filled with, its strengths at 20 degC."""
    if compound is None:
        return None
    return {
        "tensile_strength_mpa": compound.tension[0][1],
        "shear_strength_mpa": compound.shear[0][1],
        "largest_gap_um": 1000 * compound.largest_gap,
    }

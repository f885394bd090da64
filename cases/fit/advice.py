"""Which interference to make, and what it is worth against the bare block."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cases.fit.iso import nearest_fit
from cases.fit.result import FitAdvice, FitSweep, sweep_of
from cases.rating.result import is_rated, rating_of
from cases.rating.window import SEARCHED, demands, limits_at, told_at, window_with_errors
from cases.stress.result import CaseResult, DesignResult

MILLED = 0.04
"""Spread of the interference on the diameter that milling both pieces leaves, each to 10 um either
way (common practice, no source). [mm]."""
UNFILLED = "the compound fills no more"
CURES = {
    "tie": "clearance at the ends of the insert ([design.fit.ties]), deeper or wider ties, larger "
    "fillets at their roots",
    "barrel": "a deeper zone or more of the insert's face behind the place that governs",
    "outer wall": "clearance against the outer wall ([design.fit.outer_wall])",
    "insert": "larger radii in the insert, or a stronger material",
}
"""What takes load off the part that governs (common practice, no source)."""


def advice_of(result: CaseResult, design: DesignResult) -> FitAdvice | None:
    """Which interference to make of a design; None where none is common to its sides."""
    sweep = sweep_of(design)
    if sweep is None:
        return None
    limit = rating_of(design).limit if is_rated(design) else None
    at_most = limit is not None and limit.at_most and not sweep.by_solid
    return replace(advise(sweep, bare_limit(result, by_solid=sweep.by_solid)), at_most=at_most)


def bare_limit(result: CaseResult, *, by_solid: bool) -> float | None:
    """The limit of the bare block, or how far none was found; None where it is not rated.

    Parameters
    ----------
    result : CaseResult
    by_solid : bool
        By its solid, None where there is none; else by its section.
    """
    for design in result.designs:
        if design.section.insert is None and is_rated(design):
            rating = rating_of(design)
            of = rating.solid if by_solid else rating
            if of is not None:
                return of.tried if of.limit is None else of.limit.factor
    return None


def advise(sweep: FitSweep, bare: float | None) -> FitAdvice:
    """Which interference to make.

    Parameters
    ----------
    sweep : FitSweep
    bare : float, optional
        Limit of the bare block, which is to be passed.
    """
    out_of_round = sweep.most_out_of_round_um
    passed = bare if sweep.rated else None
    window = window_with_errors(sweep.points, out_of_round, passed)
    if window and sweep.compound and window.low_um < 0 and window.low_by == SEARCHED:
        window = replace(window, low_by=UNFILLED)
    at, least, worst = demands(sweep.points, out_of_round, None)
    limits = limits_at(sweep.points, at)
    best = None
    if limits is not None:
        best = int(np.argmax(np.where(least >= 0, limits, -1) if (least >= 0).any() else limits))
    iso = at_nominal = None
    if window:
        iso = nearest_fit(sweep.ring_mm, window.nominal_um) if sweep.ring_mm else None
        at_nominal = told_at(sweep.points, window.nominal_um)
    why = cure = ""
    if window is None:
        why, cure = _why_none(sweep, passed, at, least, worst, best)
    return FitAdvice(
        window=window,
        why_none=why,
        cure=cure,
        limit_at_nominal=at_nominal[0] if at_nominal else None,
        limit_at_nominal_error=at_nominal[1] if at_nominal else None,
        best_um=None if best is None else float(at[best]),
        limit_best=None if best is None or limits is None else float(limits[best]),
        limit_bare=passed,
        milled_um=2 * sweep.tolerance_um if sweep.tolerance_um else 1000 * MILLED,
        iso=iso.name if iso else None,
        iso_least_um=iso.least_um if iso else None,
        iso_most_um=iso.most_um if iso else None,
        inside=window is not None and window.low_um <= sweep.asked_um <= window.high_um,
    )


def _why_none(
    sweep: FitSweep,
    bare: float | None,
    at: np.ndarray,
    least: np.ndarray,
    worst: np.ndarray,
    best: int | None,
) -> tuple[str, str]:
    """Why no interference will do, and what would change it, in words."""
    from_to = f"from {at[0]:.0f} to {at[-1]:.0f} um"
    if (least >= 0).any() and best is not None and bare is not None:
        limits = limits_at(sweep.points, at)
        assert limits is not None
        near = min(sweep.points, key=lambda one: abs(one.interference_um - at[best]))
        part = next((part for part in CURES if (near.governs or "").startswith(part)), None)
        return (
            f"no interference {from_to} is better than the bare block: the best, {at[best]:.0f} "
            f"um, stands {limits[best]:.2f} times the asked gas load, the bare block {bare:.2f}; "
            f"{near.governs} governs",
            CURES[part] if part else "",
        )
    near_to = int(np.argmax(least))
    kind, _, step = str(worst[near_to]).partition(", ")
    words = {
        "loose": f"no interference {from_to} meets every demand: at {at[near_to]:.0f} um, where "
        f"least is missed, a piece is loose ({step})",
        "yield": f"no interference {from_to} meets every demand: at {at[near_to]:.0f} um, where "
        f"least is missed, the block yields ({step})",
        "out of round": f"no interference {from_to} meets every demand: at {at[near_to]:.0f} um, "
        "where least is missed, the press leaves the bore out of round",
    }  # fmt: skip
    cures = {
        "loose": "more friction, or a retaining compound in the joint",
        "yield": "a stronger block, or less that presses on the part that yields",
        "out of round": "a deeper cut of the hone, or clearance where the wall is thin",
    }
    return words[kind], cures[kind]

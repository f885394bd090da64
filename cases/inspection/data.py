"""What was found on the block, for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.base.data import fields_of, plain
from cases.inspection.accept import least_walls, rulings, word_of
from cases.inspection.given import Inspection
from cases.inspection.places import place_of
from cases.inspection.walls import Shift, WallFit, row_shift
from geometry.clock import format_clock


def inspection_dict(found: Inspection) -> dict[str, Any]:
    """Walls, shift, taper and scatter by bore, readings beside the drawing, and the verdict."""
    told: dict[str, Any] = {
        "readings": len(found.readings.rows) if found.readings else 0,
        "not_measured": found.readings.empty if found.readings else 0,
        "by_bore": [_bore(found, fit) for fit in found.fits],
        "as_drawn": found.few,
        "row_shift": _shift(row_shift(found.fits)) if found.fits else None,
        "relief_cuts": [
            {
                "bore": of.bore, "clock": format_clock(of.clock), "drawn_mm": of.drawn,
                "found_mm": of.drawn + of.off, "error_mm": of.error,
            }
            for of in found.cuts
        ],
        "liner_readings_mm": [of.wall for of in found.liner],
        "bore_mm": found.bore,
        "liner_left_mm": found.liner_left,
        "notes": found.notes,
    }  # fmt: skip
    ruled = rulings(found)
    if ruled:
        told["verdict"] = word_of(ruled)
        told["rulings"] = [fields_of(of) for of in ruled]
    return plain(told)  # type: ignore[no-any-return]


def _bore(found: Inspection, fit: WallFit) -> dict[str, Any]:
    least = next((of for of in least_walls(found) if of.bore == fit.bore), None)
    taper = fit.taper
    outliers = {of.reading.line: of.off for of in fit.outliers}
    return {
        "bore": fit.bore,
        "mean_mm": fit.mean - found.off_wall,
        "mean_error_mm": fit.mean_error,
        "at_depth_mm": fit.middle,
        "shift": _shift(fit.shift),
        "taper_mm_per_mm": taper[0] if taper else None,
        "taper_error_mm_per_mm": taper[1] if taper else None,
        "scatter_mm": fit.scatter,
        "scatter_of_readings": fit.told_scatter,
        "tolerance_mm": fit.tolerance(found.depth),
        "least": least and {
            "clock": format_clock(least.clock), "depth_mm": least.depth, "wall_mm": least.wall,
            "error_mm": least.error, "drawn_mm": least.drawn - found.off_wall,
        },
        "readings": [
            {
                "line": of.line, "clock": format_clock(of.clock), "depth_mm": of.depth,
                "wall_mm": of.wall, "error_mm": of.error,
                "drawn_mm": place_of(found.drawn, fit.bore, of.clock, of.depth).wall,
                "off_the_others_mm": outliers.get(of.line),
            }
            for of in fit.readings
        ],
    }  # fmt: skip


def _shift(shift: Shift) -> dict[str, Any]:
    return {
        "size_mm": shift.size, "low_mm": shift.low, "high_mm": shift.high,
        "thickest": format_clock(shift.clock), "thickest_off_hours": shift.clock_off,
    }  # fmt: skip

"""The depth section for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.depth.result import DepthResult
from geometry.clock import format_clock


def depth_dict(result: DepthResult, name: str) -> dict[str, Any]:
    """What ``results.json`` says of a design's depth section, the unit in each key.

    Parameters
    ----------
    result : DepthResult
    name : str
        Of the design.

    Raises
    ------
    KeyError
        If there is no such design.
    """
    design = {one.name: one for one in result.designs}[name]
    found: dict[str, Any] = {
        "clock": format_clock(result.clock),
        "clock_hours": result.clock,
        "floor_mm": result.floor,
        "walls": [
            {
                "top_mm": w.top,
                "bottom_mm": w.bottom,
                "barrel_wall_mm": w.outer - result.liner_radius,
            }
            for w in result.walls
        ],
        "insert_depth_mm": design.insert_depth,
        "wall_share": design.wall_share,
        "block_backing_mpa_per_mm": result.backing,
        "block_backing_depth_mm": result.backing_depth,
        "insert_backing_mpa_per_mm": design.backing,
        "growth_um": design.growth_um,
        "growth_at_mm": design.growth_at_mm,
        "hoop_mpa": design.hoop_mpa,
        "hoop_at_mm": design.hoop_at_mm,
        "mean_hoop_mpa": design.mean_hoop_mpa,
        "peak_factor": design.peak_factor,
        "deck_mpa": design.deck_mpa,
        "peak_mpa": design.peak_mpa,
        "by_depth": {
            "depth_mm": result.depth_mm,
            "row_top_mm": result.row_mm[0],
            "row_bottom_mm": result.row_mm[1],
            "pressures": {
                one.name: {
                    "pressure_mpa": one.by_depth(result.depth_mm),
                    "growth_um": design.curves[one.name].growth_um,
                    "bore_hoop_mpa": design.curves[one.name].bore_hoop_mpa,
                    "barrel_hoop_mpa": design.curves[one.name].barrel_hoop_mpa,
                }
                for one in result.pressures
            },
        },
    }
    if design.sweep is not None:
        sweep = design.sweep
        found["insert_depths"] = {
            "least_gain_per_mm": result.least_gain,
            "depth_mm": sweep.depth_mm,
            "growth_um": sweep.growth_um,
            "hoop_mpa": sweep.hoop_mpa,
            "enough_growth_mm": sweep.enough_growth_mm,
            "enough_hoop_mm": sweep.enough_hoop_mm,
        }
    if design.solid is not None:
        by_solid = design.solid
        found["insert_depths_solid"] = {
            "least_gain_per_mm": by_solid.least_gain,
            "gain_per_mm": by_solid.gain,
            "deeper_pays": by_solid.pays,
            "bare_mpa": by_solid.bare_mpa,
            "tried": [
                {
                    "insert_depth_mm": one.depth_mm, "part": one.spot.part,
                    "clock": one.spot.clock, "depth_mm": one.spot.depth_mm,
                    "principal_mpa": one.spot.principal_mpa, "error_mpa": one.spot.error_mpa,
                }
                for one in by_solid.tried
            ],
            "notes": by_solid.notes,
        }  # fmt: skip
    return found

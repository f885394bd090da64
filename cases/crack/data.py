"""A crack for ``results.json``."""

from __future__ import annotations

from typing import Any

import numpy as np

from cases.crack.given import CrackInput
from cases.crack.result import CrackResult, CrackSeries, SolidCrack
from geometry.clock import format_clock


def crack_dict(result: CrackResult, name: str) -> dict[str, Any]:
    """What ``results.json`` says of the crack in a design, the unit in each key.

    Parameters
    ----------
    result : CrackResult
    name : str
        Of the design.

    Raises
    ------
    KeyError
        If there is no such design.
    """
    series = {one.design: one for one in result.series}[name]
    given, place, law = result.given, result.place, result.given.law
    return {
        "part": place.part,
        "clock": format_clock(place.clock_hours),
        "clock_hours": place.clock_hours,
        "x_mm": place.mouth.real,
        "y_mm": place.mouth.imag,
        "direction_deg": float(np.angle(place.direction, deg=True)),
        "chosen": place.chosen,
        "gas_in_crack": given.gas_in_crack,
        "flaw_mm": given.flaw,
        "speed_rpm": given.speed,
        "law": {
            "rate_mm_per_cycle_at_1_mpa_sqrt_m": law.rate,
            "exponent": law.exponent,
            "threshold_mpa_sqrt_m": law.threshold,
            "walker_gamma": law.walker_gamma,
            "toughness_mpa_sqrt_m": law.toughness,
            "source": law.source,
        },
        "notes": list(result.notes),
        **_series_dict(series, given),
    }


def _series_dict(series: CrackSeries, given: CrackInput) -> dict[str, Any]:
    growth = series.crack_growth
    return {
        "wall_mm": series.path.length,
        "length_mm": series.length,
        "k1_mpa_sqrt_m": series.k1,
        "k2_mpa_sqrt_m": series.k2,
        "kink_deg": series.kink_deg,
        "idle_k1_mpa_sqrt_m": series.idle_k1,
        "idle_step": series.idle_step or None,
        "shut": bool(series.shut.all()),
        "ends": growth.end,
        "end_mm": growth.length[-1],
        "cycles": None if growth.stops else growth.life,
        "hours": None if growth.stops else growth.life / given.cycles_per_hour,
        "unknowns": series.unknowns,
        **({"solid": _solid_dict(series.solid, given)} if series.solid else {}),
    }


def _solid_dict(solid: SolidCrack, given: CrackInput) -> dict[str, Any]:
    growth = solid.crack_growth
    return {
        "state": "as made" if solid.as_made else "one piece",
        "depth_mm": solid.depth_mm,
        "depths_mm": solid.depths_mm,
        "flaw_k1_by_depth_mpa_sqrt_m": solid.flaw_by_depth,
        "largest_k1_mpa_sqrt_m": solid.largest_k1,
        "idle_k1_mpa_sqrt_m": solid.idle_k1,
        "ends": growth.end,
        "end_mm": growth.length[-1],
        "cycles": None if growth.stops else growth.life,
        "hours": None if growth.stops else growth.life / given.cycles_per_hour,
    }

"""."""

from __future__ import annotations

from typing import Any

import numpy as np

from cases.case import Case

EVERY = 10
"""One in so many values of a cycle is written: about one a degree."""


def _pressure(case: Case) -> dict[str, Any]:
    """Where the gas load comes from; with an engine its cycle and what of it reaches the wall."""
    if case.wall_load is None:
        return {
            "from": "peak pressure",
            "peak_mpa": case.peak_pressure / case.pressure_factor,
            "factor": case.pressure_factor,
            "line_load_n_per_mm": case.line_load,
        }
    load = case.wall_load
    cycle, depth = load.cycle, np.linspace(0, 2 * case.section_depth, 101)
    every = slice(None, None, EVERY)
    return {
        "from": "engine" if case.wanted_power is None else "wanted power",
        "peak_mpa": cycle.peak,
        "at_deg": cycle.peak_deg,
        "factor": load.factor,
        "imep_mpa": cycle.imep,
        "bmep_mpa": cycle.bmep,
        "indicated_power_kw": cycle.indicated_power,
        "power_kw": cycle.power,
        "torque_nm": cycle.torque,
        "intake_pressure_mpa": cycle.engine.intake_pressure,
        "boost_mpa": cycle.boost,
        "hottest_gas_k": cycle.closed.temperature.max(),
        "wall_heat_w": cycle.wall_heat,
        "gas_film_w_per_m2k": 1e6 * load.film[0],
        "gas_temperature_degc": load.film[1],
        "energy_error": cycle.closed.energy_error,
        "line_load_n_per_mm": load.line_load,
        "line_load_at_deg": load.line_load_deg,
        "assumed": case.assumed,
        "by_crank": {
            "deg": load.deg[every],
            "pressure_mpa": cycle.closed.pressure[every],
            "temperature_k": cycle.closed.temperature[every],
            "line_load_n_per_mm": load.line_loads[every],
        },
        "by_depth": {"depth_mm": depth, "largest_wall_pressure_mpa": load.largest(depth)},
    }


def _asked(case: Case) -> dict[str, Any]:
    """The gas load that a design is asked to bear."""
    cycle = case.wall_load.cycle if case.wall_load else None
    return {
        "peak_mpa": case.peak_pressure,
        "line_load_n_per_mm": case.line_load,
        **({"boost_mpa": cycle.boost, "power_kw": cycle.power} if cycle else {}),
    }

"""The gas load for ``results.json``."""

from __future__ import annotations

from typing import Any

import numpy as np

from cases.case import Case
from cases.gas.given import gas_given
from cases.gas.solve import GasLoad

EVERY = 10
"""One in so many values of a cycle is written: about one a degree."""


def pressure_dict(case: Case, gas: GasLoad) -> dict[str, Any]:
    """Where the gas load comes from; with an engine its cycle and what of it reaches the wall."""
    if gas.wall_load is None:
        return {
            "from": "peak pressure",
            "peak_mpa": gas.peak_pressure / gas.factor,
            "factor": gas.factor,
            "line_load_n_per_mm": gas.line_load,
        }
    load, given = gas.wall_load, gas_given(case)
    cycle, depth = load.cycle, np.linspace(0, 2 * case.section_depth, 101)
    every = slice(None, None, EVERY)
    return {
        "from": "engine" if gas.wanted_power is None else "wanted power",
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
        "assumed": [words for _, words in given.engine.assumed] if given.engine else [],
        "by_crank": {
            "deg": load.deg[every],
            "pressure_mpa": cycle.closed.pressure[every],
            "temperature_k": cycle.closed.temperature[every],
            "line_load_n_per_mm": load.line_loads[every],
        },
        "by_depth": {"depth_mm": depth, "largest_wall_pressure_mpa": load.largest(depth)},
    }


def asked_dict(gas: GasLoad) -> dict[str, Any]:
    """The gas load that a design is asked to bear."""
    cycle = gas.wall_load.cycle if gas.wall_load else None
    return {
        "peak_mpa": gas.peak_pressure,
        "line_load_n_per_mm": gas.line_load,
        **({"boost_mpa": cycle.boost, "power_kw": cycle.power} if cycle else {}),
    }

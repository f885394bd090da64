"""The gas load for ``results.json``."""

from __future__ import annotations

from typing import Any

import numpy as np

from cases.case import Case
from cases.gas.cycle import Cycle
from cases.gas.given import all_assumed, gas_given
from cases.gas.solve import GasLoad
from cases.gas.thrust import thrust_of
from cases.gas.trace import SPREAD
from cases.gas.wall_load import WallLoad

STEP = 1.0
"""A cycle is written at about so many degrees. [deg]."""


def pressure_dict(case: Case, gas: GasLoad) -> dict[str, Any]:
    """Where the gas load comes from; by crank angle what of it reaches the wall."""
    given = gas_given(case)
    load, cycle = gas.wall_load, gas.cycle
    if load is None:
        return {
            "from": "peak pressure",
            "peak_mpa": gas.peak_pressure / gas.factor,
            "factor": gas.factor,
            "line_load_n_per_mm": gas.line_load,
        }
    origin = "trace" if given.trace else "peak pressure"
    if cycle is not None:
        origin = "engine" if gas.wanted_power is None else "wanted power"
    depth = np.linspace(0, 2 * case.section_depth, 101)
    return {
        "from": origin,
        "peak_mpa": load.curve.peak,
        "at_deg": load.curve.peak_deg,
        "as_read_mpa": gas.read(gas.peak_pressure),
        "reads": "absolute" if gas.absolute else "gauge",
        "factor": load.factor,
        **_scatter_dict(gas),
        **(_cycle_dict(cycle, load) if cycle else {}),
        "line_load_n_per_mm": load.line_load,
        "line_load_at_deg": load.line_load_deg,
        "thrust": _thrust_dict(case, gas),
        "assumed": [words for _, words in all_assumed(given)],
        "by_crank": _by_crank(load, cycle),
        "by_depth": {"depth_mm": depth, "largest_wall_pressure_mpa": load.largest(depth)},
    }


def _scatter_dict(gas: GasLoad) -> dict[str, Any]:
    of = gas.scatter
    if of is None:
        return {}
    return {
        "scatter": {
            "cycles": of.cycles,
            "mean_peak_mpa": of.mean,
            "deviation_mpa": of.deviation,
            "share": of.share,
            "deviations_counted": SPREAD,
            "factor": of.allowance,
        }
    }


def _cycle_dict(cycle: Cycle, load: WallLoad) -> dict[str, Any]:
    return {
        "imep_mpa": cycle.imep,
        "bmep_mpa": cycle.bmep,
        "indicated_power_kw": cycle.indicated_power,
        "power_kw": cycle.power,
        "torque_nm": cycle.torque,
        "intake_pressure_mpa": cycle.engine.intake_pressure,
        "boost_mpa": cycle.boost,
        "hottest_gas_k": cycle.closed.temperature.max(),
        "wall_heat_w": cycle.wall_heat,
        "fuel_power_kw": cycle.fuel_power,
        "wall_heat_share": cycle.wall_share,
        "friction_share": cycle.friction_share,
        "gas_film_w_per_m2k": 1e6 * load.film[0],
        "gas_temperature_degc": load.film[1],
        "energy_error": cycle.closed.energy_error,
    }


def _thrust_dict(case: Case, gas: GasLoad) -> dict[str, Any]:
    most = thrust_of(case, gas).largest()
    return {
        "most_n": float(most.force[0]),
        "at_deg": float(most.deg[0]),
        "clock_hours": most.clock,
        "pin_depth_mm": float(most.depth[0]),
    }


def _by_crank(load: WallLoad, cycle: Cycle | None) -> dict[str, Any]:
    every = slice(None, None, max(round(STEP / float(np.median(np.diff(load.deg)))), 1))
    hot = {"temperature_k": cycle.closed.temperature[every]} if cycle else {}
    return {
        "deg": load.deg[every],
        "pressure_mpa": load.curve.pressure[every],
        **hot,
        "line_load_n_per_mm": load.line_loads[every],
    }


def asked_dict(gas: GasLoad) -> dict[str, Any]:
    """The gas load that a design is asked to bear."""
    cycle = gas.cycle
    return {
        "peak_mpa": gas.peak_pressure,
        "line_load_n_per_mm": gas.line_load,
        **({"boost_mpa": cycle.boost, "power_kw": cycle.power} if cycle else {}),
    }

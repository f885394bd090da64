"""What the terminal says of the gas."""

from __future__ import annotations

from cases.base.subject import Solved
from cases.gas.solve import gas_of


def cycle_line(result: Solved) -> list[str]:
    """What the engine's cycle comes to; nothing without an engine."""
    load = gas_of(result).wall_load
    if load is None:
        return []
    cycle = load.cycle
    return [
        f"Gas: {10 * cycle.engine.intake_pressure:.2f} bar absolute in the intake and "
        f"{cycle.power:.0f} kW; {10 * cycle.peak:.0f} bar at {cycle.peak_deg:.0f} deg after the "
        f"top, most load on the section at {load.line_load_deg:.0f} deg. Detonation is not covered."
    ]

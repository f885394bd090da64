"""The coolant for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.base.subject import Solved
from cases.coolant.given import coolant_of


def coolant_dict(result: Solved) -> dict[str, Any]:
    """Film, boiling point and critical heat flux, the unit in each key; nothing without."""
    film = coolant_of(result)
    if film is None:
        return {}
    given = film.given
    return {
        "coolant_film": {
            "glycol_share": given.glycol,
            "pressure_mpa_absolute": given.pressure,
            "temperature_degc": given.temperature,
            "flow_l_per_min": None if given.flow is None else 60e-6 * given.flow,
            "speed_m_per_s": film.speed,
            "reynolds": film.reynolds,
            "nusselt": film.nusselt,
            "convection_w_per_m2k": 1e6 * film.convection,
            "boils_at_degc": film.boils_at,
            "critical_flux_mw_per_m2": film.critical_flux,
            "critical_wall_degc": film.critical_wall,
            "by_wall": {
                "wall_degc": film.curve.wall,
                "flux_mw_per_m2": film.curve.flux,
            },
        }
    }

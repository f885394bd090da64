"""Gaskets for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.gasket.result import BoreWater, DesignWater, GasketWater
from geometry.clock import format_clock

L_PER_MIN = 60e-6  # in 1 mm3/s


def water_dict(found: DesignWater) -> list[dict[str, Any]]:
    """Of each gasket over a design, the unit in each key."""
    return [_gasket(one) for one in found.gaskets]


def _flow(one: GasketWater) -> dict[str, Any]:
    """Through the whole block; nothing where no flow is stated."""
    if one.flow is None or one.bare_flow is None:
        return {}
    return {
        "flow_l_per_min": L_PER_MIN * one.flow,
        "bare_flow_l_per_min": L_PER_MIN * one.bare_flow,
        "pressure_lost_mpa": one.lost,
        "bare_pressure_lost_mpa": one.bare_lost,
    }


def _bore_flow(of: BoreWater) -> dict[str, Any]:
    if of.flow is None or of.bare_flow is None:
        return {}
    return {
        "flow_l_per_min": L_PER_MIN * of.flow,
        "bare_flow_l_per_min": L_PER_MIN * of.bare_flow,
        "hole_speed_m_per_s": of.hole_speed,
        "jacket_speed_m_per_s": of.jacket_speed,
    }


def _gasket(one: GasketWater) -> dict[str, Any]:
    lands = one.lands
    return {
        "gasket": one.gasket,
        "open_area_mm2": one.open,
        "bare_open_area_mm2": one.bare,
        "blocked_area_mm2": sum(of.blocked for of in one.holes),
        "holes": [
            {
                "number": of.number,
                "name": of.name,
                "bore": of.bore,
                "clock": format_clock(of.clock),
                "radius_mm": of.radius,
                "vent": of.vent,
                "area_mm2": of.area,
                "bare_open_area_mm2": of.bare,
                "open_area_mm2": of.open,
                "blocked_area_mm2": of.blocked,
                "blocked": of.is_blocked,
            }
            for of in one.holes
        ],
        "by_bore": [
            {
                "bore": of.bore,
                "open_area_mm2": of.open,
                "bare_open_area_mm2": of.bare,
                "blocked_area_mm2": of.blocked,
                "holes": of.holes,
                "holes_blocked": of.holes_blocked,
                **_bore_flow(of),
            }
            for of in one.bores
        ],
        **_flow(one),
        "least_land": {
            "slot_to_joint_mm": lands.slot_to_joint,
            "slot_to_slot_mm": lands.slot_to_slot,
            "slot_to_bead_mm": lands.slot_to_bead,
            "joint_to_bead_mm": lands.joint_to_bead,
        },
        "idle_deck_openings": list(one.idle),
        "notes": list(one.notes),
    }

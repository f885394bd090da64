"""Slots that are proposed, for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.gasket.data import water_dict
from cases.slots.result import SlotsFound
from geometry.clock import format_clock


def slots_dict(found: SlotsFound) -> dict[str, Any]:
    """Slots, what they open and what they cost, the unit in each key."""
    return {
        "design": found.design,
        "slots": [
            {
                "clock": format_clock(of.clock),
                "width_mm": of.width,
                "arc_deg": of.arc,
                "radius_mm": of.radius,
                "bores": None if of.bores is None else list(of.bores),
            }
            for of in found.slots
        ],
        "count": found.count,
        "area_mm2": found.area,
        "why_none": found.why_none or None,
        "missed": [
            {
                "gasket": of.gasket,
                "hole": of.hole.number,
                "asked_share": of.asked,
                "reached_share": of.reached,
            }
            for of in found.missed
        ],
        "worst_stress": [
            {
                "of": of.name,
                "block_mpa": of.block,
                "insert_mpa": of.insert,
                "where": of.where,
            }
            for of in found.strengths
        ],
        "gaskets": water_dict(found.water) if found.water else [],
        "text": found.text,
    }

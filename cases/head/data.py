"""The head for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.base.data import fields_of
from cases.base.faults import Refusal
from cases.head.given import head_given
from cases.head.lines import case_clamp, first_lines, lifts_first
from cases.head.result import DeckInDepth, DeckState, DesignHead
from cases.stress.data import spot_dict
from cases.stress.result import CaseResult, DesignResult


def clamp_dict(result: CaseResult) -> dict[str, Any]:
    """What ``results.json`` says of the head of a case, the unit in each key; nothing without."""
    given, clamp = head_given(result.case), case_clamp(result)
    if given is None or clamp is None:
        return {}
    return {
        "head": {
            "first": first_lines(result),
            "bolt_preload_n": given.bolt_preload,
            "bolt_clock_hours": given.bolt_clocks,
            "bolt_circle_mm": given.bolt_circle,
            "bolts": clamp.bolts,
            "about_bore": clamp.about,
            "shared": clamp.shared,
            "clamp_n": clamp.load,
            "fire_ring_share": given.fire_ring_share,
            "fire_ring_diameter_mm": given.fire_ring_diameter,
            "fire_ring_width_mm": given.fire_ring_width,
            "fire_ring_n": clamp.ring_load,
            "fire_ring_n_per_mm": clamp.ring_line,
            "fire_ring_mpa": clamp.ring_pressure,
            "gasket_friction": given.gasket_friction,
            "gasket_step_um": 1000 * given.gasket_step,
            "water_pressure_mpa": given.water_pressure,
            "sealed_area_mm2": clamp.sealed_area,
            "lifts_at_mpa": clamp.lifts_at,
            "fire_ring_lifts_at_mpa": clamp.ring_lifts_at,
            "left_at_asked": clamp.left,
            "assumed": [words for _, words in given.assumed],
        }
    }


def head_dict(result: CaseResult, design: DesignResult, head: DesignHead) -> dict[str, Any]:
    """What ``results.json`` says of the head on a design."""
    pressed = head.pressed
    return {
        "lifts_first": lifts_first(result, design),
        "land_area_mm2": head.land_area_mm2,
        "land_mpa": head.land_pressure_mpa,
        "fire_ring_friction_n_per_mm": head.ring_friction_n_per_mm,
        "friction_used": head.slips,
        "deck": {
            way.replace(" ", "_"): {
                **_state_dict(state),
                "worst_change": head.worst_change(way),
                "limit_change": head.limit_change(way),
            }
            for way, state in head.states.items()
        },
        "wall_mpa": dict(head.wall_mpa),
        "wall_at_gas_mpa": dict(head.wall_at_gas_mpa),
        "von_mises_mpa": head.von_mises_mpa,
        "clamped_von_mises_mpa": head.clamped_von_mises_mpa,
        "clamping_growth_at_most_um": head.most_growth_um,
        "insert": {
            "area_mm2": pressed.area_mm2,
            "down_n": pressed.down_n,
            "water_n": pressed.water_n,
            "friction_n": pressed.friction_n,
            "hold_n": pressed.hold_n,
            "hold_step": pressed.hold_step,
            "wanting_n": pressed.wanting_n,
        }
        if pressed
        else None,
        **_in_depth_dict(head.in_depth),
    }


def _in_depth_dict(found: DeckInDepth | Refusal | None) -> dict[str, Any]:
    """What ``results.json`` says of the head on the solid; nothing without one."""
    if isinstance(found, Refusal):
        return {"in_depth_refused": found.text}
    if found is None:
        return {}
    return {
        "in_depth": {
            "engine": found.engine,
            "gasket_step_um": found.step_allowed_um,
            "loses_seal": found.loses_seal,
            "insert_gives_way": found.insert_gives_way,
            "states": [
                fields_of(load) | {"steps": [fields_of(step) for step in load.steps]}
                for load in found.loads
            ],
            "worst_mpa": {way.replace(" ", "_"): mpa for way, mpa in found.worst_mpa.items()},
            "friction_used": found.friction_used,
        }
    }


def _state_dict(state: DeckState) -> dict[str, Any]:
    worst = spot_dict(state.worst) if state.worst else None
    if worst:
        del worst["settled"], worst["exponent"]  # no mesh was refined for it
    return {
        "worst": worst,
        "mean_growth_um": state.bore.mean_growth_um,
        "out_of_round_um": state.bore.out_of_round_um,
    }

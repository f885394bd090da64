"""The solid of a design for ``results.json``."""

from __future__ import annotations

from typing import Any

from cases.base.data import fields_of
from cases.solid.hot import DepthHeat, HotPlace
from cases.solid.result import DesignSolid, SolidState


def solid_dict(found: DesignSolid) -> dict[str, Any]:
    """States, their spots and growth, and solid over section, the unit in each key."""
    states = {"one_piece": found.one_piece, "as_made": found.as_made}
    return {
        "setting": found.setting,
        **{name: _state(state) for name, state in states.items() if state is not None},
        **({"heat": _heat(found.heat)} if found.heat else {}),
        **({"as_made_refused": found.untold} if found.untold else {}),
        "ratio": found.ratio,
    }


def _heat(heat: DepthHeat) -> dict[str, Any]:
    mean, most = heat.section_above_k or (None, None)
    return {
        "hottest": [_place(of) for of in heat.hottest],
        "most_to_coolant": heat.wettest and _place(heat.wettest),
        "paths_w": heat.paths_w,
        "section_above_k": mean,
        "section_above_most_k": most,
        "flags": [fields_of(flag) for flag in heat.flags],
    }


def _place(of: HotPlace) -> dict[str, Any]:
    found = fields_of(of)
    flux = found.pop("flux_w_per_mm2")
    return found | ({} if flux is None else {"flux_mw_per_m2": flux})


def _state(state: SolidState) -> dict[str, Any]:
    return {
        "worst": [fields_of(spot) | {"ratio": spot.ratio} for spot in state.worst],
        "crank_angles_deg": state.angles_deg,
        "growth_um": state.growth_um,
        "growth_crank_angle_deg": state.growth_crank_angle_deg,
        "deck_shift_um": state.shift_um,
        "unknowns": state.unknowns,
        "seconds": state.seconds,
        **({"joint": [fields_of(side) for side in state.joint]} if state.joint else {}),
        "checks": {name: of for name, of in fields_of(state.checks).items() if of is not None},
    }

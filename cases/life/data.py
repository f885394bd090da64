"""The load steps for ``results.json``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cases.base.data import fields_of
from cases.life.flags import Flag
from cases.life.result import JointState, Piece, PieceState, Service
from cases.life.steps import TAIL, LoadStep
from cases.stress.data import spot_dict
from fea.contact import Pairs
from fea.heat import HeatField, WallPeak
from geometry.clock import clock_of
from geometry.section_mesh import SectionMesh


def life_dict(service: Service, flags: Sequence[Flag]) -> dict[str, Any]:
    """Load steps, cycles, pieces and flags, the unit in each key."""
    pressed = {
        piece.number: piece
        for step in service.steps
        if step.name is LoadStep.PRESSED and step.joint
        for piece in step.joint.pieces
    }
    return {
        "steps": [
            {
                "step": step.name,
                "gas": step.name.gas,
                "hot_spots": [spot_dict(spot) for spot in step.hot_spots],
                "bore": fields_of(step.bore),
                "over_yield": step.over_yield,
                "yield_leaves_out": TAIL,
                "contact": _joint(service.mesh, service.pairs, step.joint)
                if service.pairs and step.joint
                else None,
                "liner_contact": [fields_of(liner) for liner in step.liners] or None,
                "heat": _heat(service.heat) if service.heat and step.name.warm else None,
                "piston_ring": fields_of(step.ring) if step.ring else None,
            }
            for step in service.steps
        ],
        "ranges": [
            {
                "part": cycle.spot.part,
                "clock": cycle.spot.clock,
                "x_mm": cycle.spot.x_mm,
                "y_mm": cycle.spot.y_mm,
                "hot_in": cycle.hot_in,
                "idle_mpa": cycle.idle_mpa,
                "gas_mpa": cycle.gas_mpa,
                "beside_mpa": cycle.beside_mpa,
                "range_mpa": cycle.range_mpa,
                "mean_mpa": cycle.mean_mpa,
            }
            for cycle in service.ranges
        ],
        "pieces": [_piece(piece, pressed.get(piece.number)) for piece in service.pieces],
        "notes": service.notes,
        "flags": [fields_of(flag) for flag in flags],
        "step_unknowns": service.unknowns,
    }


def _piece(piece: Piece, pressed: PieceState | None) -> dict[str, Any]:
    """A piece; what presses on it, and what holds it, when it is pressed in."""
    return {
        "number": piece.number,
        "clock": piece.clock,
        "clock_hours": piece.clock_hours,
        "bore": piece.bore,
        "length_mm": piece.length_mm,
        "mass_g": piece.mass_g,
        "pressing_force_n": pressed.pressing_force_n if pressed else None,
        "hold_n": pressed.hold_n if pressed else None,
    }


def _joint(mesh: SectionMesh, pairs: Pairs, joint: JointState) -> dict[str, Any]:
    contact = joint.contact
    x, y = mesh.points[pairs.own].T
    cured = joint.intact_share + joint.broken_share > 0
    return {
        "iterations": joint.iterations,
        "open_share": joint.open_share,
        "open_share_error": joint.open_share_error,
        "slip_share": joint.slip_share,
        "intact_share": joint.intact_share,
        "broken_share": joint.broken_share,
        "hold_n": joint.hold_n,
        "least_hold_n": joint.least_hold_n,
        "sides": [fields_of(side) for side in joint.sides],
        "cuts": [fields_of(cut) for cut in joint.cuts],
        "pieces": [fields_of(piece) for piece in joint.pieces],
        "tie_faces": [fields_of(face) for face in joint.tie_faces],
        "pairs": {
            "x_mm": x,
            "y_mm": y,
            "clock_hours": clock_of(x, y),
            "against": pairs.against,
            "pressure_mpa": contact.pressure,
            "gap_um": 1000 * contact.gap,
            "slip_um": 1000 * contact.slip,
            "closed": contact.closed,
            "sticks": contact.sticks,
            "intact": contact.intact if cured else None,
            "broken": contact.broken if cured else None,
        },
    }


def _heat(heat: HeatField) -> dict[str, Any]:
    return {
        "heat_w": heat.heat,
        "joint_heat_w": heat.joint_heat,
        "bore_degc": heat.around_bore(),
        "hottest": [fields_of(heat.hottest(part)) for part in heat.mesh.parts],
        "walls": [_wall(wall) for wall in heat.walls.values()],
    }


def _wall(wall: WallPeak) -> dict[str, Any]:
    """Where most heat leaves the metal on a path."""
    return {
        "path": wall.path,
        "flux_mw_per_m2": wall.flux,
        "wall_degc": wall.temperature_degc,
        "x_mm": wall.x_mm,
        "y_mm": wall.y_mm,
    }

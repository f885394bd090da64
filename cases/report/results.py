"""What a run leaves behind: ``results.json``, and everything else through its own writer."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np

from cases import __version__
from cases.base.cautions import CAUTIONS, RATING_CAUTIONS
from cases.base.figures import design_keys, write_pictures
from cases.case import Case
from cases.crack.solve import crack_dict
from cases.depth.solve import depth_dict
from cases.life.life import JointState, Service
from cases.life.steps import TAIL, WARM, WARM_GAS
from cases.rating.judge import FATIGUE, DesignRating, RatedSpot, known_strengths
from cases.rating.words import governing_name, lives_of
from cases.report.page import write_report
from cases.run import CaseResult, DesignResult
from cases.stress.vtu import write_vtu
from fea.hotspots import HotSpot
from fea.material import Material
from geometry.clock import clock_of
from geometry.section import THINNEST_WALL

EVERY = 10
"""One in so many values of a cycle is written: about one a degree."""


def results_dict(result: CaseResult) -> dict[str, Any]:
    """The content of ``results.json``: plain numbers, text and lists, the unit in each key.

    Numbers are rounded to seven digits.
    """
    case = result.case
    crack = crack_dict(result.crack) if result.crack else None
    cracks = crack.pop("designs") if crack else {}
    results = {
        "hoopclock": __version__,
        "job": case.name,
        "note": case.note,
        "section_depth_mm": case.section_depth,
        "peak_pressure_mpa": case.peak_pressure,
        "pressurised_depth_mm": case.pressurised_depth,
        "line_load_n_per_mm": case.line_load,
        "pressure": _pressure(case),
        "thinnest_wall_mm": case.thinnest_wall,
        "thinnest_wall_lowered": case.thinnest_wall < THINNEST_WALL,
        "mesh": case.mesh,
        "tolerance": case.tolerance,
        "designs": [
            {
                **_design(design),
                "pressure": _asked(case),
                **_rated(design),
                **({"depth": depth_dict(result.depth, design.name)} if result.depth else {}),
                **({"crack": {**crack, **cracks[design.name]}} if crack else {}),
            }
            for design in result.designs
        ],
        "cautions": [
            *CAUTIONS,
            *(RATING_CAUTIONS if any(design.rating for design in result.designs) else ()),
        ],
    }
    return _plain(results)  # type: ignore[no-any-return]


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


def _rated(design: DesignResult) -> dict[str, Any]:
    if design.rating is None:
        return {}
    return {"rating": rating_dict(design.rating, design.solution.model.materials)}


def rating_dict(rating: DesignRating, materials: Mapping[str, Material]) -> dict[str, Any]:
    """The rating of a design as plain numbers, text and lists.

    What is infinite is None and said beside it: ``no_harm`` of a life, ``no_bound`` of a share of
    strength, where the mean stress reaches the tensile strength. Any other life of None could not
    be judged, for want of a fatigue strength.

    Parameters
    ----------
    rating : DesignRating
    materials : mapping
        Of the design, by part.
    """
    lives = lives_of(rating, materials)
    found = {
        "estimate": True,
        "limit": _fields(rating.limit) if rating.limit else None,
        "tried_factor": rating.tried,
        "governs": governing_name(rating),
        "governing": _rated_spot(rating.governing, materials) if rating.governing else None,
        "used": _finite(rating.used),
        "used_at_limit": _finite(rating.used_at_limit),
        "no_bound": [name for name, share in rating.used.items() if math.isinf(share)],
        "life_cycles": _finite(lives),
        "no_harm": {state: cycles == math.inf for state, cycles in lives.items()},
        **_finite({"life_hours": None if None in lives.values() else rating.life_hours}),
        "spots": [_rated_spot(spot, materials) for spot in rating.spots],
        "band": {"percent": [5, 50, 95], **_fields(rating.band)} if rating.band else None,
        "notes": rating.notes,
    }
    return _plain(found)  # type: ignore[no-any-return]


def _finite(values: Mapping[str, float | None]) -> dict[str, float | None]:
    """Values with None for those that are infinite."""
    return {name: None if value == math.inf else value for name, value in values.items()}


def _rated_spot(rated: RatedSpot, materials: Mapping[str, Material]) -> dict[str, Any]:
    """A rated spot with the shares of the strengths that are on record."""
    known = known_strengths(materials[rated.spot.part])
    shares = {kind: rated.shares[kind] for kind in known}
    life = rated.life_cycles if FATIGUE in known else None
    place = _spot(rated.spot)
    del place["settled"], place["exponent"]  # no mesh was refined for it
    return {
        **place,
        "state": rated.state,
        "criterion": rated.kind,
        "shares": _finite(shares),
        "no_bound": [kind for kind, share in shares.items() if math.isinf(share)],
        "mean_mpa": rated.mean_mpa,
        "amplitude_mpa": rated.amplitude_mpa,
        "temperature_degc": rated.temperature_degc,
        **_finite({"reversed_mpa": rated.reversed_mpa, "life_cycles": life}),
        "no_harm": life == math.inf,
    }


def _design(design: DesignResult) -> dict[str, Any]:
    checks = _fields(design.checks)
    model = design.solution.model
    return {
        "design": design.name,
        "hot_spots": [_spot(spot) for spot in design.hot_spots],
        "bore": _fields(design.bore),
        "coolant": {
            "open_area_mm2": design.open_area_mm2,
            "insert_area_mm2": design.insert_area_mm2,
        },
        "materials": {
            part: {
                "name": material.name,
                "youngs_modulus_mpa": material.youngs_modulus,
                "poisson": material.poisson,
                "source": material.source,
            }
            for part, material in model.materials.items()
        },
        "mesh": {
            "nodes": len(design.mesh.points),
            "elements": len(design.mesh.triangles),
            "unknowns": 2 * len(design.mesh.points),
        },
        "passes": [
            {
                "unknowns": one.unknowns,
                "worst_mpa": next(
                    (spot.principal_mpa for spot in one.hot_spots if not spot.sharp), None
                ),
                "settled_spots": sum(spot.settled for spot in one.hot_spots),
                "spots": len(one.hot_spots),
            }
            for one in design.passes
        ],
        "solver": model.factor.name,
        "checks": {name: value for name, value in checks.items() if value is not None},
        "seconds": design.seconds,
        **(_service(design.service) if design.service else {}),
    }


def _fields(item: Any) -> dict[str, Any]:
    """A dataclass as a dictionary, not those within it."""
    return {field.name: getattr(item, field.name) for field in fields(item)}


def _spot(spot: HotSpot) -> dict[str, Any]:
    """A hot spot without its numbers within the program."""
    return {name: value for name, value in _fields(spot).items() if name not in ("region", "node")}


def _service(service: Service) -> dict[str, Any]:
    return {
        "steps": [
            {
                "step": step.name,
                "gas": step.gas,
                "hot_spots": [_spot(spot) for spot in step.hot_spots],
                "bore": _fields(step.bore),
                "over_yield": service.yielding[step.name],
                "yield_leaves_out": TAIL,
                "contact": None if step.joint is None else _joint(service, step.joint),
                "heat": _heat(service) if step.name in (WARM, WARM_GAS) else None,
                "piston_ring": _fields(service.ring[step.name])
                if step.name in service.ring
                else None,
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
                "range_mpa": cycle.range_mpa,
                "mean_mpa": cycle.mean_mpa,
            }
            for cycle in service.ranges
        ],
        "fit_advice": _fields(service.advice) if service.advice else None,
        "notes": service.notes,
    }


def _joint(service: Service, joint: JointState) -> dict[str, Any]:
    assert service.pairs is not None
    pairs, contact = service.pairs, joint.contact
    x, y = service.mesh.points[pairs.own].T
    return {
        "iterations": joint.iterations,
        "open_share": joint.open_share,
        "slip_share": joint.slip_share,
        "hold_n": joint.hold_n,
        "least_hold_n": joint.least_hold_n,
        "sides": [_fields(side) for side in joint.sides],
        "pieces": [_fields(piece) for piece in joint.pieces],
        "tie_faces": [_fields(face) for face in joint.tie_faces],
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
        },
    }


def _heat(service: Service) -> dict[str, Any]:
    assert service.heat is not None
    heat = service.heat
    parts = sorted({layer.part for layers in heat.mesh.regions for layer in layers})
    return {
        "heat_w": heat.heat,
        "joint_heat_w": heat.joint_heat,
        "bore_degc": heat.around_bore(),
        "hottest": [_fields(heat.hottest(part)) for part in parts],
    }


def _plain(value: Any) -> Any:
    """Numbers of any kind as plain Python ones, arrays and tuples as lists."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value


def write_outputs(result: CaseResult, folder: str | Path, executor: Executor | None = None) -> None:
    """Write pictures, ``report.html``, a ``.vtu`` per design and ``results.json``.

    Parameters
    ----------
    result : CaseResult
    folder : str or Path
        Must exist and be empty.
    executor : concurrent.futures.Executor, optional
        Helps to draw.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    folder = Path(folder)
    write_pictures(result, folder, executor)
    write_report(result, folder)
    keys = design_keys(result)
    for design in result.designs:
        write_vtu(design, folder / f"{keys[design.name]}.vtu")
    files = sorted(path.name for path in folder.iterdir())
    text = json.dumps({**results_dict(result), "files": files}, indent=1, allow_nan=False)
    (folder / "results.json").write_text(text + "\n", encoding="utf-8")

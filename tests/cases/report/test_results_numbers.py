"""Every leaf of ``results.json`` against the object it came from, in the unit that its key names.

A key that is not known here fails: it has to name its source first.
"""

from __future__ import annotations

import cmath
import json
import math

import numpy as np
from readback import Mirror, Quantity, faults_of_json
from shaken import with_gas
from thrust_by_hand import most_thrust

from cases.base.version import __version__
from cases.fit.advice import advise
from cases.fit.result import sweep_of
from cases.gas.given import gas_given
from cases.gas.solve import gas_of
from cases.head.given import head_given
from cases.head.lines import first_lines
from cases.life.result import service_of
from cases.rating.result import rating_of
from cases.report.page import all_cautions
from cases.report.rated import inputs_hash
from cases.report.results import results_dict
from cases.stress.displaced import displaced
from geometry.clock import format_clock


def q(value, unit):
    return Quantity(value, unit)


def on_wall(result):
    """Pressure on the wall [MPa] and load on the section [N/mm] by crank angle, by hand.

    Gas times the case's factor, less the crankcase's atmosphere.
    """
    load = gas_of(result).wall_load
    pressure = 1.1 * load.cycle.closed.pressure - 0.101325
    reach = np.minimum(load.reach(load.cycle.closed.deg), result.case.section_depth)
    return pressure, pressure * reach


def asked(result):
    run = gas_of(result).wall_load.cycle
    pressure, loads = on_wall(result)
    return {
        "peak_mpa": q(max(pressure), "MPa"),
        "line_load_n_per_mm": q(max(loads), "N per mm"),
        "boost_mpa": q(run.engine.intake_pressure - 0.101325, "MPa"),
        "power_kw": q(160.0, "kW"),
    }


def of_gas(result):
    depth, load = result.case.section_depth, gas_of(result).wall_load
    run = load.cycle
    deg, (pressure, loads) = run.closed.deg, on_wall(result)
    levels = np.linspace(0, 2 * depth, 101)
    largest = [max(pressure[load.reach(deg) >= one - 1e-9], default=0.0) for one in levels]
    return {
        "peak_pressure_mpa": q(max(pressure), "MPa"),
        "pressurised_depth_mm": q(max(loads) / max(pressure), "mm"),
        "line_load_n_per_mm": q(max(loads), "N per mm"),
        "pressure": {
            "from": "wanted power",
            "peak_mpa": q(max(run.closed.pressure), "MPa"),
            "at_deg": q(run.closed.peak_deg, "deg"),
            "as_read_mpa": q(max(run.closed.pressure) - 0.101325, "MPa"),
            "reads": "gauge",
            "factor": q(1.1, ""),
            "imep_mpa": q(run.imep, "MPa"),
            "bmep_mpa": q(run.bmep, "MPa"),
            "indicated_power_kw": q(160.0 / run.engine.mechanical_efficiency, "kW"),
            "power_kw": q(160.0, "kW"),
            "torque_nm": q(160e3 / (2 * math.pi * 7000 / 60), "N m"),
            "intake_pressure_mpa": q(run.engine.intake_pressure, "MPa"),
            "boost_mpa": q(run.engine.intake_pressure - 0.101325, "MPa"),
            "hottest_gas_k": q(max(run.closed.temperature), "K"),
            "wall_heat_w": q(run.wall_heat, "W"),
            "fuel_power_kw": fuel_power(run),
            "wall_heat_share": 1e-3 * run.engine.cylinders * run.wall_heat / fuel_power(run),
            "friction_share": 160 * (1 / run.engine.mechanical_efficiency - 1) / fuel_power(run),
            "gas_film_w_per_m2k": q(load.film[0], "W/(mm2 K)"),
            "gas_temperature_degc": q(load.film[1], "degC"),
            "energy_error": run.closed.energy_error,
            "line_load_n_per_mm": q(max(loads), "N per mm"),
            "line_load_at_deg": q(deg[np.argmax(loads)], "deg"),
            "thrust": dict(
                zip(("most_n", "at_deg", "pin_depth_mm"), most_thrust(result), strict=True),
                clock_hours=0.0,
            ),
            "assumed": [words for _, words in gas_given(result.case).engine.assumed],
            "by_crank": {
                "deg": q(deg[::10], "deg"),
                "pressure_mpa": q(run.closed.pressure[::10], "MPa"),
                "temperature_k": q(run.closed.temperature[::10], "K"),
                "line_load_n_per_mm": q(loads[::10], "N per mm"),
            },
            "by_depth": {
                "depth_mm": q(levels, "mm"),
                "largest_wall_pressure_mpa": q(np.array(largest), "MPa"),
            },
        },
    }


def of_block(result):
    return {
        "job": "Two bores, read back (invented)",
        "note": "Invented for a test.",
        "section_depth_mm": q(result.case.section_depth, "mm"),
        "thinnest_wall_mm": q(1.5, "mm"),
        "thinnest_wall_lowered": False,
        "mesh": "coarse",
        "tolerance": 0.2,
    }


def spot(one, *but):
    return Mirror(one, but=("region", "node", *but))


def of_stress(result, design):
    metals = design.solution.model.materials
    checks = design.checks
    return {
        "hot_spots": [spot(one) for one in design.hot_spots],
        "bore": Mirror(design.bore),
        "coolant": {
            "open_area_mm2": q(design.open_area_mm2, "mm2"),
            "insert_area_mm2": q(design.insert_area_mm2, "mm2"),
            "displaced_mm3": displaced(design).water_mm3,
            "covered_barrel_mm2": q(displaced(design).barrel_mm2, "mm2"),
        },
        "materials": {
            part: {
                "name": metal.name, "youngs_modulus_mpa": q(metal.youngs_modulus, "MPa"),
                "poisson": metal.poisson, "source": metal.source,
            }
            for part, metal in metals.items()
        },
        "mesh": {
            "nodes": len(design.mesh.points), "elements": len(design.mesh.triangles),
            "unknowns": design.solution.displacement.size,
        },
        "passes": [
            {
                "unknowns": one.unknowns,
                "worst_mpa": q(next(s.principal_mpa for s in one.hot_spots if not s.sharp), "MPa"),
                "settled_spots": len([s for s in one.hot_spots if s.settled]),
                "spots": len(one.hot_spots),
            }
            for one in design.passes
        ],
        "solver": design.solution.model.factor.name, "stopped": design.stopped,
        "checks": {
            "reaction_ratio": checks.reaction_ratio, "cut_force_ratio": checks.cut_force_ratio,
        },
        "seconds": dict(design.seconds),
    }  # fmt: skip


def joint(service, one):
    pairs, contact = service.pairs, one.contact
    x, y = service.mesh.points[pairs.own].T
    holds = [piece.hold_n for piece in one.pieces]
    cured = one.intact_share + one.broken_share > 0
    return {
        "iterations": one.iterations, "open_share": q(one.open_share, ""),
        "open_share_error": one.open_share_error,
        "slip_share": q(one.slip_share, ""), "intact_share": q(one.intact_share, ""),
        "broken_share": q(one.broken_share, ""),
        "hold_n": q(sum(holds), "N"), "least_hold_n": q(min(holds), "N"),
        "sides": [Mirror(side) for side in one.sides],
        "cuts": [Mirror(cut) for cut in one.cuts],
        "pieces": [Mirror(piece) for piece in one.pieces],
        "tie_faces": [Mirror(face) for face in one.tie_faces],
        "pairs": {
            "x_mm": q(x, "mm"), "y_mm": q(y, "mm"),
            "clock_hours": np.degrees(np.arctan2(x, y)) % 360 / 30,
            "against": pairs.against, "pressure_mpa": q(contact.pressure, "MPa"),
            "gap_um": q(contact.gap, "mm"), "slip_um": q(contact.slip, "mm"),
            "closed": contact.closed, "sticks": contact.sticks,
            "intact": contact.intact if cured else None,
            "broken": contact.broken if cured else None,
        },
    }  # fmt: skip


def heat(field):
    mesh, warmth = field.mesh, field.temperature
    places = []
    for part in sorted({layer.part for layers in mesh.regions for layer in layers}):
        of_part = [part in (layer.part for layer in layers) for layers in mesh.regions]
        nodes = np.unique(mesh.triangles[np.array(of_part)[mesh.region]])
        x, y = mesh.points[nodes[np.argmax(warmth[nodes])]]
        hours = math.degrees(math.atan2(x, y)) % 360 / 30
        places.append({
            "part": part, "temperature_degc": q(warmth[nodes].max(), "degC"),
            "clock": format_clock(hours), "clock_hours": q(hours, "hours"),
            "radius_mm": q(math.hypot(x, y), "mm"), "x_mm": q(x, "mm"), "y_mm": q(y, "mm"),
        })  # fmt: skip
    return {
        "heat_w": dict(field.heat), "joint_heat_w": dict(field.joint_heat),
        "bore_degc": q(field.around_bore(), "degC"), "hottest": places,
        "walls": [
            {
                "path": path, "flux_mw_per_m2": q(wall.flux, "MW/m\u00b2"),
                "wall_degc": q(wall.temperature_degc, "degC"), "x_mm": q(wall.x_mm, "mm"),
                "y_mm": q(wall.y_mm, "mm"),
            }
            for path, wall in field.walls.items()
        ],
    }  # fmt: skip


def fuel_power(run):
    """Of all cylinders, each firing every second turn. [kW]."""
    engine = run.engine
    fuel = run.closed.burn.heat / engine.combustion_efficiency
    return 1e-3 * engine.cylinders * fuel * engine.speed / 60 / 2


def pressed_in(service):
    """What presses on each piece as it is pressed in, by its number."""
    if not service.pieces:
        return []
    (step,) = [step for step in service.steps if step.name == "pressed in"]
    return sorted(step.joint.pieces, key=lambda piece: piece.number)


def of_life(result, design):
    service = service_of(design)
    return {
        "steps": [
            {
                "step": step.name, "gas": step.name.endswith("at gas"),
                "hot_spots": [spot(one) for one in step.hot_spots], "bore": Mirror(step.bore),
                "over_yield": step.over_yield, "yield_leaves_out": 0.002,
                "contact": step.joint and joint(service, step.joint),
                "liner_contact": [Mirror(liner) for liner in step.liners] or None,
                "heat": heat(service.heat) if step.name in ("warm", "warm at gas") else None,
                "piston_ring": Mirror(step.ring) if step.ring
                else None,
            }
            for step in service.steps
        ],
        "ranges": [
            {
                "part": one.spot.part, "clock": one.spot.clock, "x_mm": q(one.spot.x_mm, "mm"),
                "y_mm": q(one.spot.y_mm, "mm"), "hot_in": one.hot_in,
                "idle_mpa": q(one.idle_mpa, "MPa"), "gas_mpa": q(one.gas_mpa, "MPa"),
                "beside_mpa": q(one.beside_mpa, "MPa"),
                "range_mpa": q(np.ptp(ends := [one.idle_mpa, one.gas_mpa, one.beside_mpa]), "MPa"),
                "mean_mpa": q((max(ends) + min(ends)) / 2, "MPa"),
            }
            for one in service.ranges
        ],
        "pieces": [
            Mirror(
                piece, but=("body",),
                also={
                    "pressing_force_n": q(held.pressing_force_n, "N"),
                    "hold_n": q(held.hold_n, "N"),
                },
            )
            for piece, held in zip(service.pieces, pressed_in(service), strict=True)
        ],
        "notes": service.notes, "step_unknowns": service.unknowns,
        "flags": [{"kind": flag.kind, "words": flag.words} for flag in service.flags],
    }  # fmt: skip


def pulls(result, rating):
    """Of twelve seconds, unless the case says how long they are."""
    hours = finite(rating.life_hours)
    return None if hours is None else 3600 * hours / result.case.given["rating"].pull


def of_fit(result, design):
    sweep = sweep_of(design)
    if sweep is None:
        return {}
    advice = advise(sweep, bare_of(result))
    window = advice.window
    low, high = (window.low_um, window.high_um) if window else (None, None)
    middle = (low + high) / 2 if window else None

    def um(value):
        return q(value, "um") if value is not None else None

    return {
        "fit_advice": {
            "judged_by": "limit" if sweep.rated else "hold and yield only",
            "limits_by": "section",
            "asked_um": um(sweep.asked_um), "asked_per_side_um": um(sweep.asked_um / 2),
            "inside": bool(window and low <= sweep.asked_um <= high),
            "nominal_um": um(middle), "nominal_per_side_um": um(middle / 2 if window else None),
            "low_um": um(low), "low_by": window.low_by if window else None,
            "high_um": um(high), "high_by": window.high_by if window else None,
            "low_error_um": um(window.low_error_um if window else None),
            "high_error_um": um(window.high_error_um if window else None),
            "limit_at_nominal_error": advice.limit_at_nominal_error,
            "limit_as_asked": sweep.asked.within,
            "total_tolerance_um": um(high - low if window else None),
            "limit_at_nominal": advice.limit_at_nominal, "best_um": um(advice.best_um),
            "limit_best": advice.limit_best,
            "at_most": bool(sweep.rated and rating_of(design).limit.at_most),
            "limit_bare": bare_of(result) if sweep.rated else None,
            "limit_one_piece": sweep.one_piece, "none_because": advice.why_none or None,
            "would_change_it": advice.cure or None, "iso": advice.iso,
            "iso_diameter_mm": q(sweep.ring_mm, "mm"), "iso_least_um": um(advice.iso_least_um),
            "iso_most_um": um(advice.iso_most_um),
            "milled_um": um(2 * sweep.tolerance_um or 40.0),
            "match_machine": bool(window and high - low < (2 * sweep.tolerance_um or 40.0)),
            "flattened_um": um(sweep.flattened_um),
            "compound": None,
            "by_interference": [
                {
                    "interference_um": um(one.interference_um), "limit": one.limit,
                    "limit_error": one.limit_error, "tried_factor": one.tried,
                    "limit_5_to_95": list(one.band), "limit_in_tolerance": one.within,
                    "governs": one.governs, "held_share": min(one.held.values()),
                    "over_yield": max(one.over_yield.values()),
                    "out_of_round_um": um(one.out_of_round_um),
                }
                for one in sweep.points
            ],
            "unsolved": list(sweep.unsolved),
        }
    }  # fmt: skip


def bare_of(result):
    (bare,) = (one for one in result.designs if one.name == "bare")
    return rating_of(bare).limit.factor


def finite(value):
    return None if value is not None and math.isinf(value) else value


def rated_spot(one, metals):
    metal = metals[one.spot.part]
    known = [
        kind
        for kind, there in (
            ("fatigue", metal.fatigue and metal.tensile_points), ("yield", metal.yield_points),
            ("tensile strength", metal.tensile_points),
        )
        if there
    ]  # fmt: skip
    life = one.life_cycles if "fatigue" in known else None
    return Mirror(
        one.spot,
        but=("region", "node", "settled", "exponent", "error_mpa"),
        also={
            "judged_by": one.judged_by, "error_mpa": q(one.error_mpa, "MPa"),
            "length_mm": None if one.length_mm is None else q(one.length_mm, "mm"),
            "point_share": None if one.point_share is None else finite(one.point_share),
            "state": one.state, "criterion": one.kind,
            "shares": {kind: finite(one.shares[kind]) for kind in known},
            "no_bound": [kind for kind in known if math.isinf(one.shares[kind])],
            "mean_mpa": q(one.mean_mpa, "MPa"), "amplitude_mpa": q(one.amplitude_mpa, "MPa"),
            "temperature_degc": q(one.temperature_degc, "degC"),
            "been_degc": None if one.been_degc is None else q(one.been_degc, "degC"),
            "reversed_mpa": q(finite(one.reversed_mpa), "MPa"),
            "life_cycles": q(finite(life), "cycles"), "no_harm": life == math.inf,
        },
    )  # fmt: skip


def walls(rating):
    """Limits with walls at their least and most, over that at the middle."""
    found = rating.band.shifts.get("wall thickness")
    return found and [found[0], found[2]]


def of_rating(result, design):
    rating, metals = rating_of(design), design.solution.model.materials
    used = rating.used_at_limit or rating.used
    return {
        "rating": {
            "estimate": True,
            "stands_on": "section",
            "limit": Mirror(
                rating.limit,
                also={
                    "low": rating.band.pressure_mpa[0],
                    "median": rating.band.pressure_mpa[1],
                    "high": rating.band.pressure_mpa[-1],
                    "nominal": False,
                    "nominal_factor": (rating.nominal or rating.limit).factor,
                    "reliability": rating.band.reliability,
                    "carries": rating.band.carries,
                },
            ),
            "tried_factor": rating.tried,
            "governs": max(used, key=used.get),
            "governing": rated_spot(rating.governing, metals),
            "used": {name: finite(share) for name, share in rating.used.items()},
            "used_at_limit": {name: finite(share) for name, share in rating.used_at_limit.items()},
            "no_bound": [name for name, share in rating.used.items() if math.isinf(share)],
            "life_cycles": {name: finite(one) for name, one in rating.life_cycles.items()},
            "no_harm": {name: math.isinf(one) for name, one in rating.life_cycles.items()},
            "life_hours": q(finite(rating.life_hours), "hours"),
            "life_pulls": pulls(result, rating),
            "next_bore_pushes": rating.pushed,
            "spots": [rated_spot(one, metals) for one in rating.spots],
            "band": Mirror(
                rating.band,
                also={"percent": [5, 50, 95], "walls_low_high": walls(rating)},
                but=("limit", "shifts", "each", "known"),
            ),
            "notes": rating.notes,
        }
    }


def of_depth(result, design):
    found = result.found["depth"]
    (one,) = (one for one in found.designs if one.name == design.name)
    factor = one.hoop_mpa / one.mean_hoop_mpa
    told = {
        "clock": format_clock(found.clock), "clock_hours": q(found.clock, "hours"),
        "floor_mm": q(100.0, "mm"),
        "walls": [
            {"top_mm": q(wall.top, "mm"), "bottom_mm": q(wall.bottom, "mm"),
             "barrel_wall_mm": q(wall.outer - (40.0 + 2.0), "mm")}
            for wall in found.walls
        ],
        "insert_depth_mm": q(one.insert_depth, "mm"), "wall_share": q(one.wall_share, ""),
        "block_backing_mpa_per_mm": q(found.backing, "MPa per mm"),
        "block_backing_depth_mm": q(found.backing_depth, "mm"),
        "insert_backing_mpa_per_mm": q(one.backing, "MPa per mm"),
        "growth_um": q(one.growth_um, "um"), "growth_at_mm": q(one.growth_at_mm, "mm"),
        "hoop_mpa": q(one.hoop_mpa, "MPa"), "hoop_at_mm": q(one.hoop_at_mm, "mm"),
        "mean_hoop_mpa": q(one.mean_hoop_mpa, "MPa"), "peak_factor": factor,
        "deck_mpa": q(one.deck_mpa, "MPa"),
        "peak_mpa": q(None if one.deck_mpa is None else factor * one.deck_mpa, "MPa"),
        "by_depth": {
            "depth_mm": q(found.depth_mm, "mm"),
            "row_top_mm": q(np.minimum(*found.row_mm), "mm"),
            "row_bottom_mm": q(np.maximum(*found.row_mm), "mm"),
            "pressures": {
                name: {
                    "pressure_mpa": q(next(p for p in found.pressures if p.name == name)
                                      .by_depth(found.depth_mm), "MPa"),
                    "growth_um": q(curves.growth_um, "um"),
                    "bore_hoop_mpa": q(curves.bore_hoop_mpa, "MPa"),
                    "barrel_hoop_mpa": q(curves.barrel_hoop_mpa, "MPa"),
                }
                for name, curves in one.curves.items()
            },
        },
    }  # fmt: skip
    if one.sweep is not None:
        told["insert_depths"] = {
            "least_gain_per_mm": found.least_gain, "depth_mm": q(one.sweep.depth_mm, "mm"),
            "growth_um": q(one.sweep.growth_um, "um"), "hoop_mpa": q(one.sweep.hoop_mpa, "MPa"),
            "enough_growth_mm": q(one.sweep.enough_growth_mm, "mm"),
            "enough_hoop_mm": q(one.sweep.enough_hoop_mm, "mm"),
        }  # fmt: skip
    return {"depth": told}


def of_crack(result, design):
    found = result.found["crack"]
    (one,) = (one for one in found.series if one.design == design.name)
    place, law = found.place, found.given.law
    cycles = None if one.crack_growth.end in ("shut", "threshold") else one.crack_growth.cycles[-1]
    x, y = place.mouth.real, place.mouth.imag
    return {
        "crack": {
            "part": place.part, "clock": format_clock(place.clock_hours),
            "clock_hours": place.clock_hours, "x_mm": q(x, "mm"), "y_mm": q(y, "mm"),
            "direction_deg": q(math.degrees(cmath.phase(place.direction)), "deg"),
            "chosen": place.chosen, "gas_in_crack": False, "flaw_mm": q(0.5, "mm"),
            "speed_rpm": q(6000.0, "rpm"),
            "law": {
                "rate_mm_per_cycle_at_1_mpa_sqrt_m": law.rate, "exponent": law.exponent,
                "threshold_mpa_sqrt_m": q(law.threshold, "MPa \u221am"),
                "walker_gamma": law.walker_gamma,
                "toughness_mpa_sqrt_m": q(law.toughness, "MPa \u221am"), "source": law.source,
            },
            "notes": found.notes, "wall_mm": q(one.path.stretches[-1].end, "mm"),
            "length_mm": q(one.length, "mm"), "k1_mpa_sqrt_m": q(one.k1, "MPa \u221am"),
            "k2_mpa_sqrt_m": q(one.k2, "MPa \u221am"), "kink_deg": q(one.kink_deg, "deg"),
            "idle_k1_mpa_sqrt_m": q(one.idle_k1, "MPa \u221am"), "idle_step": one.idle_step or None,
            "shut": bool((one.k1 + one.idle_k1 <= 0).all()), "ends": one.crack_growth.end,
            "end_mm": q(one.crack_growth.length[-1], "mm"), "cycles": q(cycles, "cycles"),
            "hours": q(None if cycles is None else cycles / (6000 * 30), "hours"),
            "unknowns": one.unknowns,
        }
    }  # fmt: skip


def of_clamp(result):
    """Four bolts about each of two bores, two of them one with the neighbour's; 36 kN each."""
    load, area = 3 * 36e3, math.pi / 4 * 84**2
    ring = 0.55 * load
    return {
        "head": {
            "first": first_lines(result), "bolt_preload_n": q(36e3, "N"),
            "bolt_clock_hours": [1.5, 4.5, 7.5, 10.5], "bolt_circle_mm": q(124.0, "mm"),
            "bolts": 6, "about_bore": 4, "shared": 2, "clamp_n": q(load, "N"),
            "fire_ring_share": 0.55, "fire_ring_diameter_mm": q(84.0, "mm"),
            "fire_ring_width_mm": q(3.0, "mm"), "fire_ring_n": q(ring, "N"),
            "fire_ring_n_per_mm": q(ring / (math.pi * 84), "N per mm"),
            "fire_ring_mpa": q(ring / (math.pi * 84 * 3), "MPa"), "gasket_friction": 0.15,
            "gasket_step_um": q(30, "um"),
            "water_pressure_mpa": q(0.2, "MPa"), "sealed_area_mm2": q(area, "mm2"),
            "lifts_at_mpa": q(load / area, "MPa"), "fire_ring_lifts_at_mpa": q(ring / area, "MPa"),
            "left_at_asked": max(0.0, 1 - max(on_wall(result)[0]) * area / load),
            "assumed": [words for _, words in head_given(result.case).assumed],
        }
    }  # fmt: skip


def of_head(result, design):
    head = design.found["head"]
    free = head.states["free"].worst.principal_mpa
    pressed, limit = head.pressed, rating_of(design).limit.wall_mpa
    return {
        "head": {
            "lifts_first": limit > 3 * 36e3 / (math.pi / 4 * 84**2),
            "land_area_mm2": q(head.land_area_mm2, "mm2"),
            "land_mpa": q(head.land_pressure_mpa, "MPa"),
            "fire_ring_friction_n_per_mm": q(head.ring_friction_n_per_mm, "N per mm"),
            "friction_used": head.slips,
            "deck": {
                way.replace(" ", "_"): {
                    "worst": Mirror(
                        state.worst, but=("region", "node", "settled", "exponent")
                    ),
                    "mean_growth_um": q(state.bore.mean_growth_um, "um"),
                    "out_of_round_um": q(state.bore.out_of_round_um, "um"),
                    "worst_change": state.worst.principal_mpa / free - 1,
                    "limit_change": free / state.worst.principal_mpa - 1,
                }
                for way, state in head.states.items()
            },
            "wall_mpa": dict(head.wall_mpa), "wall_at_gas_mpa": dict(head.wall_at_gas_mpa),
            "von_mises_mpa": q(head.von_mises_mpa, "MPa"),
            "clamped_von_mises_mpa": q(head.clamped_von_mises_mpa, "MPa"),
            "clamping_growth_at_most_um": q(head.most_growth_um, "um"),
            "insert": None if pressed is None else {
                "area_mm2": q(pressed.area_mm2, "mm2"), "down_n": q(pressed.down_n, "N"),
                "water_n": q(pressed.water_n, "N"), "friction_n": q(pressed.friction_n, "N"),
                "hold_n": q(pressed.hold_n, "N"), "hold_step": pressed.hold_step,
                "wanting_n": q(max(0, pressed.down_n - pressed.water_n - pressed.hold_n), "N"),
            },
        }
    }  # fmt: skip


def of_predicted(result, design):
    """What the shop's record keeps of a rating."""

    def all_known(values):
        return None if None in values else np.array(values)

    rating = rating_of(design)
    band, told = rating.told_band, rating.solid.governing if rating.solid else rating.governing
    part, kind = (told.part, told.criterion) if rating.solid else (told.spot.part, told.kind)
    fatigue = design.solution.model.materials[part].fatigue
    wishes = result.case.given["rating"]
    return {
        "predicted": {
            "percent": [5, 50, 95], "factor": band.factor,
            "pressure_mpa": q(all_known(band.pressure_mpa), "MPa"),
            "power_kw": q(all_known(band.power_kw), "kW"),
            "cycles": q(wishes.cycles if told.state == "warm" else wishes.cold_cycles, "cycles"),
            "slope": -fatigue.exponent if kind == "fatigue" else 0.0,
        }
    }  # fmt: skip


CASE = (of_gas, of_block, of_clamp)


def of_bores(_, design):
    ranked = design.found.get("bores", ())
    return {"ranked_bores": [Mirror(of) for of in ranked]} if ranked else {}


DESIGN = (
    of_bores,
    of_stress,
    of_life,
    of_rating,
    of_fit,
    of_head,
    of_depth,
    of_crack,
    of_predicted,
)


def wanted_of(result):
    """What ``results.json`` has to say, put together from the objects."""
    whole = {
        "hoopclock": __version__, "inputs_hash": inputs_hash(result.case),
        "cautions": all_cautions(result),
    }  # fmt: skip
    for of in CASE:
        whole |= of(result)
    whole["designs"] = []
    for design in result.designs:
        told = {"design": design.name, "pressure": asked(result)}
        for of in DESIGN:
            told |= of(result, design)
        whole["designs"].append(told)
    return whole


def test_every_leaf_is_that_of_its_object(told_result):
    found = json.loads(json.dumps(results_dict(told_result), allow_nan=False))
    del found["verdict"]  # read back in test_verdict_numbers.py
    faults = faults_of_json(found, wanted_of(told_result))
    assert not faults, "\n".join(faults[:40])


def test_a_stated_peak_is_told_as_it_was_stated(told_result):
    found = results_dict(with_gas(told_result, 12.0, 1.25, 21.4))
    wanted = {"from": "peak pressure", "peak_mpa": 12.0, "factor": 1.25}
    line = {"line_load_n_per_mm": q(15 * 21.4, "N per mm")}
    assert not faults_of_json(found["pressure"], wanted | line)
    assert found["peak_pressure_mpa"] == 15.0
    assert not faults_of_json(found["designs"][0]["pressure"], {"peak_mpa": 15.0} | line)

"""Every number of the page against the object it came from, in the unit that its heading names.

A table or a column that is not known here fails: it has to name its source first.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from fit_words import fit_sentences
from readback import (
    DASH,
    NUMBER,
    Page,
    Quantity,
    Told,
    fault_of_cell,
    fault_of_sentence,
    faults_of_table,
    numbers_left,
    told,
)
from shaken import LIVES, POINTS, SWEEPS, with_gas, with_rating, with_sweep
from thrust_by_hand import most_thrust

import cases
from cases.block.chapter import used_materials
from cases.fit.advice import advise
from cases.fit.result import sweep_of
from cases.gas.solve import gas_of
from cases.life.result import service_of
from cases.rating.given import rating_given
from cases.rating.result import DISTANCE, SURFACE, rating_of
from cases.rating.words import haigh_spot
from cases.rating.worth import worths_of
from cases.report import page as report
from cases.report.page import write_report
from cases.stress.displaced import displaced
from cases.stress.spots import labelled_spots
from cases.stress.traces import barrel_face, plain_wall, stress_at_cut
from cases.stress.why import crack_direction, place_of
from cases.subjects import SUBJECTS
from fea.equilibrium import CUT_FORCE_LIMIT, REACTION_LIMIT
from fea.strength import critical_distance, strength_at, temperature_share
from geometry.clock import format_clock
from geometry.section import DeeperZone, Insert, WaterSlot

VERDICT = "verdict"  # read back in test_verdict_numbers.py
OWN = ("barrel", "tie", "outer wall")
KINDS = ("fatigue", "tensile strength", "yield")


def q(value, unit="", digits=None):
    """A quantity; None, which is to be left out, where there is none."""
    return None if value is None else Quantity(float(value), unit, digits)


def thousand(value):
    return None if value is None else 1000 * value


def bare_of(result):
    """The design that others are set against."""
    return next(one for one in result.designs if one.name == "bare")


def worst(design, parts):
    """The spot pulled hardest of some parts."""
    spots = [spot for spot in design.hot_spots if spot.part in parts and not spot.sharp]
    return max(spots, key=lambda spot: spot.principal_mpa, default=None)


def over(now, before):
    """How much more one is than another, signed."""
    return q(now / before - 1)


def mpa(spot):
    return None if spot is None else q(spot.principal_mpa, "MPa")


def marked(spot):
    """Stress at a glance, with a star where its error is not within the tolerance."""
    return None if spot is None else told("#" if spot.settled else "#*", mpa(spot))


def percent(value):
    return told("#", q(value))


def bounded(value, unit=""):
    return "no bound" if math.isinf(value) else q(value, unit)


def cycles(value):
    """A life as it may be told."""
    if value is None or math.isinf(value):
        return "not judged" if value is None else "no harm"
    if value > 1e10:
        return "beyond 1e10"
    return q(value, "cycles", 2) if value >= 1000 else "below 1000: outside the line"


# --- what stands in each table: rows, heading by heading ---


def at_a_glance(result, table):
    rows = []
    block = result.case.block
    for design in result.designs:
        spot = worst(design, OWN)
        where = place_of(block, spot)
        rows.append({
            "design": design.name,
            "worst place in the block": f"{spot.part}, {spot.clock}"
            + (f" ({where})" if where != spot.part else ""),
            "stress there": marked(spot),
            "worst in the liner": marked(worst(design, ("liner",))),
            "worst in the insert": marked(worst(design, ("insert",))),
            "mean bore growth": q(design.bore.mean_growth_um, "um"),
            "out of round": q(design.bore.out_of_round_um, "um"),
            "open water": q(design.open_area_mm2, "mm2"),
            "insert": q(design.insert_area_mm2, "mm2"),
        })  # fmt: skip
    return rows


def cycle(result):
    gas = gas_of(result)
    load, run, engine = gas.wall_load, gas.wall_load.cycle, gas.wall_load.cycle.engine
    force, deg, pin = most_thrust(result)
    return {
        "intake": told(
            "# absolute, # of boost, #: found for the # that are wanted",
            q(engine.intake_pressure, "MPa"), q(engine.intake_pressure - 0.101325, "MPa"),
            q(engine.intake_temperature, "degC"), q(gas.wanted_power * 1000, "W"),
        ),
        "crank": told(
            "stroke #, rod #, compression ratio #, #; the top ring lies # below the crown, the "
            "crown # below the deck at the top",
            q(84, "mm"), q(140, "mm"), q(9), q(7000, "rpm"), q(load.top_ring, "mm"),
            q(load.crown_below_deck, "mm"),
        ),
        "burn": told(
            "air over fuel #, #, # of it set free over #, half of it by # after the top",
            q(12), q(43000, "J/g"), q(engine.combustion_efficiency),
            q(engine.burn_duration, "deg"), q(engine.burn_centre, "deg"),
        ),
        "power": told(
            "# and # of # cylinders; mean effective pressure # indicated, # brake (mechanical "
            "efficiency #, volumetric #)",
            q(160e3, "W"), q(160e3 / (2 * math.pi * 7000 / 60), "N m"), q(engine.cylinders),
            q(run.imep, "MPa"), q(run.bmep, "MPa"), q(engine.mechanical_efficiency),
            q(engine.volumetric_efficiency),
        ),
        "side thrust": told(
            "# of the piston on the wall at 12:00, # after the top, its pin # below the deck; the "
            "section doesn't see it",
            q(force, "N"), q(deg, "deg"), q(pin, "mm"),
        ),
        "hottest": told("#, mean of the gas", q(run.closed.temperature.max(), "K")),
        "heat to the walls": told(
            "# of one cylinder while the gas is closed in, # of the fuel's, and friction #; a "
            "coolant takes # to # at full load, exhaust ports and friction included (Heywood 1988, "
            "from memory), or # at high speed to # at low (lecture notes on heat balances, "
            "opened); over the whole cycle the section sees # at #",
            q(run.wall_heat, "W"),
            q(run.closed.wall_heat[-1] / run.closed.burn.heat * run.engine.combustion_efficiency),
            q(
                160e3 * (1 / engine.mechanical_efficiency - 1)
                / (run.engine.cylinders * run.engine.speed / 120)
                * engine.combustion_efficiency / run.closed.burn.heat
            ),
            q(17), q(0.26), q(0.25), q(0.35),
            Quantity(load.film[0], "W/(mm2 K)"), q(load.film[1], "degC"),
        ),
        "energy balance": told(
            "closes within # of the burn's heat", q(abs(run.closed.energy_error))
        ),
    }  # fmt: skip


def block(result):
    """Straight from the text of the case file."""
    found = {
        "bores": told("#, pitch #; bore # fires", q(2), q(96, "mm"), q(2)),
        "bore": q(80, "mm"),
        "liner wall": q(2, "mm"),
        "barrel wall": q(7, "mm"),
        "water jacket": told("# wide", q(9, "mm")),
        "outer wall": q(8, "mm"),
        "ties": told(
            "12:20: # wide, # deep; 6:20: # wide, # deep",
            q(8, "mm"), q(12, "mm"), q(9, "mm"), q(10, "mm"),
        ),
        "relief cuts": told(
            "1:15: # wide, centre # from the bore axis, # deep",
            q(15, "mm"), q(55, "mm"), q(20, "mm"),
        ),
        "section depth H": told("#, one for all designs", q(result.case.section_depth, "mm")),
    }  # fmt: skip
    for parts, metal in used_materials(result.case):
        found[parts] = told(
            f"{metal.name}: Young's modulus #, Poisson's ratio # ({metal.source})",
            q(metal.youngs_modulus, "MPa"), q(metal.poisson),
        )  # fmt: skip
    return found


def inserts(result, table):
    return [
        {"design": "deep", "form": "pieces", "depth": q(8, "mm"), "width": "the whole jacket",
         "deeper zones": "none", "water slots": "none"}
    ]  # fmt: skip


def water(result, table):
    first = bare_of(result)
    return [
        {
            "design": design.name,
            "insert depth": q(8, "mm") if design.section.insert else None,
            "insert metal": q(design.insert_area_mm2, "mm2"),
            "open water": q(design.open_area_mm2, "mm2"),
            f"open water against {first.name}": None if design is first
            else over(design.open_area_mm2, first.open_area_mm2),
            "water displaced [cm3]": f"{displaced(design).water_mm3 / 1e3:.1f}"
            if design.section.insert else None,
            "barrel wall covered [cm2]": f"{displaced(design).barrel_mm2 / 100:.1f}"
            if design.section.insert else None,
            f"worst stress in the block against {first.name}": None if design is first
            else over(worst(design, OWN).principal_mpa, worst(first, OWN).principal_mpa),
        }
        for design in result.designs
    ]  # fmt: skip


def fit(result, table):
    pressed = told("# interference (# per side), friction #", q(40, "um"), q(20, "um"), q(0.12))
    return [
        {"design": "deep", "against the barrel": pressed, "against the outer wall": pressed,
         "against the ties": pressed, "tolerance": told("\u00b1#", q(4, "um")),
         "roughness Rz, insert and block": [q(3.2, "um"), q(4.8, "um")],
         "flattened": q(0.8 * 8.0, "um"), "crept when hot": q(0.15),
         "held against": told("#, #", q(50, "g"), q(20, "N"))}
    ]  # fmt: skip


def known(value, error, unit=""):
    """A number, with its error where it has one."""
    return [q(of, unit) for of in (value, error) if of is not None]


def steps(result, table):
    rows = []
    for design in result.designs:
        service = service_of(design)
        for place, step in enumerate(service.steps):
            joint, pulled = step.joint, [worst(step, p) for p in (OWN, ("liner",), ("insert",))]
            block_, liner, insert = (
                [mpa(spot), q(spot.error_mpa, "MPa")] if spot and spot.principal_mpa >= 0.5
                else None for spot in pulled
            )  # fmt: skip
            holds = [piece.hold_n for piece in joint.pieces] if joint else []
            rows.append({
                "design": "" if place else design.name, "step": step.name,
                "block": block_, "liner": liner, "insert": insert,
                "share of yield": q(step.over_yield),
                "mean growth": known(step.bore.mean_growth_um, step.bore.growth_error_um, "um"),
                "out of round": known(
                    step.bore.out_of_round_um, step.bore.out_of_round_error_um, "um"
                ),
                "joint open": known(joint.open_share, joint.open_share_error) if joint else None,
                "sliding": q(joint.slip_share) if joint else None,
                "hold of all pieces": q(sum(holds), "N") if joint else None,
                "of the least": q(min(holds), "N") if joint else None,
            })  # fmt: skip
    return rows


def pieces(result, table):
    rows = []
    for design in result.designs:
        for place, piece in enumerate(service_of(design).pieces):
            rows.append({
                "design": "" if place else design.name, "number": q(piece.number),
                "bore": q(piece.bore), "clock": piece.clock, "length": q(piece.length_mm, "mm"),
                "mass": q(piece.mass_g, "g"),
                "must hold": q(max(20.0, piece.mass_g * 50 * 9.80665e-3), "N"),
            })  # fmt: skip
    return rows


def fits_of(result):
    """Each swept design with its sweep and advice, what is outside its window first."""
    found = []
    for design in result.designs:
        if sweep := sweep_of(design):
            limit = rating_of(bare_of(result)).limit.factor
            found.append((design, sweep, advise(sweep, limit)))
    return sorted(found, key=lambda one: one[2].inside)


def which_fit(result, table):
    rows = []
    for design, sweep, advice in fits_of(result):
        window = advice.window
        ends = (window.low_um, window.high_um) if window else None
        middle = (ends[0] + ends[1]) / 2 if ends else None
        leaves = 2 * sweep.tolerance_um or 40.0
        row = {
            "design": design.name, "asked": q(sweep.asked_um, "um"),
            "flattened by roughness": q(sweep.flattened_um, "um"),
            "window from": q(ends[0], "um") if ends else "none",
            "less:": window.low_by if window else "",
            "to": q(ends[1], "um") if ends else "none",
            "more:": window.high_by if window else "",
            "make": q(middle, "um"), "per side": q(middle and middle / 2, "um"),
            "tolerance in all": q(ends[1] - ends[0], "um") if ends else None,
            "milling leaves": q(leaves, "um"),
            "machine": "to size",
            "ISO 286": f"{advice.iso}: {advice.iso_least_um} to {advice.iso_most_um} um"
            if advice.iso else None,
        }  # fmt: skip
        if ends is None:
            row["machine"] = DASH
        elif ends[1] - ends[0] < leaves:
            row["machine"] = "to match"
        if sweep.rated:
            row |= {
                "limit there": q(advice.limit_at_nominal), "as asked": q(sweep.asked.within),
                "bare": q(rating_of(bare_of(result)).limit.factor),
                "in one piece": q(sweep.one_piece),
            }  # fmt: skip
        rows.append(row)
    return rows


def each_fit(result, table):
    rows = []
    for design, sweep, _ in fits_of(result):
        for place, one in enumerate(sweep.points):
            held = min(one.held.values(), default=None)
            row = {
                "design": "" if place else design.name,
                "interference": q(one.interference_um, "um"),
                "least hold over what it must be": q(held, "", 2),
                "share of yield": q(max(one.over_yield.values())),
                "out of round pressed in": q(one.out_of_round_um, "um"),
            }
            if sweep.rated:
                limit = told("beyond #", q(one.tried)) if one.limit is None else q(one.limit)
                row |= {
                    "limit": limit, "error": q(one.limit_error), "governs": one.governs,
                    "in tolerance": DASH if one.within is None else q(one.within),
                }  # fmt: skip
            rows.append(row)
    return rows


def hottest(heat, part):
    """Largest temperature of a part, straight from the field."""
    mesh = heat.mesh
    of_part = [part in (layer.part for layer in layers) for layers in mesh.regions]
    nodes = mesh.triangles[np.array(of_part)[mesh.region]]
    return q(heat.temperature[nodes].max(), "degC")


def heat(result, table):
    rows = []
    for design in result.designs:
        field = service_of(design).heat
        into = field.joint_heat.get("insert")
        row = {
            "design": design.name,
            "of it through the insert": None if into is None else q(into, "W"),
            "hottest barrel": hottest(field, "barrel"),
            "hottest insert": hottest(field, "insert") if design.section.insert else None,
        }
        wet = [
            of for path, of in field.walls.items() if path not in ("gas", "head", "outside")
        ]  # fmt: skip
        most = max(wet, key=lambda of: of.flux)
        row["most from a wet wall"] = q(most.flux, "MW/m\u00b2")
        row["wall there"] = q(most.temperature_degc, "degC")
        for path in {p for d in result.designs for p, w in service_of(d).heat.heat.items() if w}:
            row[path] = q(field.heat[path], "W") if field.heat[path] else None
        rows.append(row)
    return rows


def ranges(result, table):
    rows, block_ = [], result.case.block
    for design in result.designs:
        seen: dict = {}
        cycles_ = sorted(
            service_of(design).ranges,
            key=lambda one: -np.ptp([one.idle_mpa, one.gas_mpa, one.beside_mpa]),
        )
        place = 0
        for one in cycles_:
            key = (one.spot.part, one.hot_in)
            seen[key] = seen.get(key, 0) + 1
            if seen[key] > (2 if one.hot_in.endswith("at gas") else 1):
                continue
            rows.append({
                "design": "" if place else design.name, "part": one.spot.part,
                "clock": one.spot.clock, "place": place_of(block_, one.spot),
                "hot in": one.hot_in, "no gas": q(one.idle_mpa, "MPa"),
                "at gas": q(one.gas_mpa, "MPa"), "next bore": q(one.beside_mpa, "MPa"),
                "range": q(np.ptp(ends := [one.idle_mpa, one.gas_mpa, one.beside_mpa]), "MPa"),
                "mean": q((max(ends) + min(ends)) / 2, "MPa"),
            })  # fmt: skip
            place += 1
    return rows


def ring(result, table):
    rows = []
    for design in result.designs:
        service, place = service_of(design), 0
        for step in service.steps:
            if step.ring is None:
                continue
            follow = step.ring
            row = {"design": "" if place else design.name, "step": step.name}
            for order in map(str, range(2, 9)):
                ratio = step.bore.orders_um[order] / follow.largest_um[order]
                row[order] = told("# !" if ratio > 1 else "#", q(ratio))
            least = follow.least_pressure
            row["all: least pressure"] = told("# !" if least < 0 else "#", q(least))
            with_gas = follow.least_pressure_with_gas
            row["with gas"] = (
                "–" if with_gas is None else told("# !" if with_gas < 0 else "#", q(with_gas))
            )
            rows.append(row)
            place += 1
    return rows


def governs(rating):
    used = rating.used_at_limit or rating.used
    return max(used, key=used.get)


def by_distance(rated):
    return f", by {DISTANCE}" if rated.length_mm is not None else ""


def limits(result, table):
    gas = gas_of(result)
    rows = [{
        "design": "asked", "times the gas load": q(1), "its error": None,
        "peak": q(gas.wall_load.cycle.peak - 0.101325, "MPa"),
        "boost": q(gas.wall_load.cycle.boost, "MPa"), "power": q(160e3, "W"),
        "governs": None, "place": None, "by": None,
    }]  # fmt: skip
    for design in result.designs:
        rating = rating_of(design)
        limit, spot = rating.limit, rating.governing.spot
        rows.append({
            "design": design.name,
            "times the gas load": told("at most #", q(limit.factor)) if limit.at_most
            else q(limit.factor),
            "its error": q(limit.error),
            "peak": q(limit.pressure_mpa, "MPa"), "boost": q(limit.boost_mpa, "MPa"),
            "power": q(thousand(limit.power_kw), "W"), "governs": f"{spot.part} {spot.clock}",
            "place": place_of(result.case.block, spot),
            "by": governs(rating) + by_distance(rating.governing),
        })  # fmt: skip
    return rows


def lives(result, table):
    rows = []
    for design in result.designs:
        rating = rating_of(design)
        warm = rating.life_cycles["warm"]
        hours = cycles(warm)
        if isinstance(hours, Quantity):
            hours = told("#", q(rating.life_hours, "h", 2))
        elif warm < 1000:
            hours = DASH
        elif math.isfinite(warm):
            hours = "beyond 1e10 cycles"
        rows.append({
            "design": design.name, "warm": cycles(warm), "cold": cycles(rating.life_cycles["cold"]),
            "warm, at 7000 rpm and full load": hours,
        })  # fmt: skip
    return rows


def bands(result, table):
    def three(values, unit=""):
        known = [place for place, one in enumerate(values) if one is not None]
        words = [
            "#" if one is not None else "below" if place < known[0] else "beyond"
            for place, one in enumerate(values)
        ]
        return told(f" {DASH} ".join(words), *(q(one, unit) for one in values if one is not None))

    rows, ends = [], f"5 % {DASH} 50 % {DASH} 95 %"
    for design in result.designs:
        band = rating_of(design).band
        cause = max(band.causes, key=band.causes.get)
        power = [thousand(one) for one in band.power_kw]
        rows.append({
            "design": design.name, f"times the gas load {ends}": three(band.factor),
            f"power {ends}": three(power, "W"), f"peak {ends}": three(band.pressure_mpa, "MPa"),
            "draws that carry what is asked": q(band.carries),
            "spread most by": told(f"{cause}, # of the spread", q(band.causes[cause])),
        })  # fmt: skip
    return rows


def judged(one):
    if one.judged_by == SURFACE:
        return SURFACE
    return told(
        f"{DISTANCE}, L = #; at L/2 # of {one.kind}", q(one.length_mm, "mm"), q(one.point_share)
    )


def places(result, table):
    (design,) = (one for one in result.designs if table.title.endswith(one.name))
    rows, dots, at = [], 0, haigh_spot(result.case, design)
    for rank, one in enumerate(rating_of(design).spots, 1):
        drawn = one.spot.part in OWN and one.state == at.state
        dots += drawn
        rows.append({
            "rank": q(rank), "dot": q(dots) if drawn else None,
            "part": one.spot.part, "clock": one.spot.clock,
            "place": place_of(result.case.block, one.spot),
            "state": told(f"{one.state}, #", q(one.temperature_degc, "degC")),
            "mean \u00b1 amplitude": [q(one.mean_mpa, "MPa"), q(one.amplitude_mpa, "MPa")],
            "reversed": bounded(one.reversed_mpa, "MPa"), "error": q(one.error_mpa, "MPa"),
            "life": cycles(one.life_cycles), "judged by": judged(one),
        })  # fmt: skip
        metal = design.solution.model.materials[one.spot.part]
        known = (metal.fatigue and metal.tensile_points, metal.tensile_points, metal.yield_points)
        for heading, kind, there in zip(("fatigue", "tensile", "yield"), KINDS, known, strict=True):
            rows[-1][heading] = bounded(one.shares[kind]) if there else None
        if not known[0]:
            rows[-1] |= {"reversed": None, "life": "not judged"}
    return rows


def strengths(result, table):
    wishes, rows = rating_given(result.case), []
    for parts, metal in used_materials(result.case):
        warmth = max(
            (spot.temperature_degc for design in result.designs
             for spot in rating_of(design).spots if spot.spot.part in parts.split(", ")),
            default=20.0,
        )  # fmt: skip
        quality = wishes.casting_quality if metal.cast else 1.0
        line = metal.fatigue
        for kind, points, name in (
            ("yield", metal.yield_points, metal.name),
            ("tensile strength", metal.tensile_points, parts),
            ("fatigue", (), ""),
        ):
            cold = points[0][1] if points else None
            counted = quality * np.interp(warmth, *zip(*points, strict=True)) if points else None
            words = ""
            if kind == "fatigue" and line:
                cold = line.strength
                down = quality * temperature_share(metal, warmth)
                counted = down * strength_at(
                    wishes.cycles, line.strength, line.cycles, line.exponent
                )
                words = told(
                    "amplitude borne # times on record, # times counted; scatter #, Basquin's "
                    "exponent #",
                    q(line.cycles), q(wishes.cycles), q(line.scatter), q(line.exponent),
                )  # fmt: skip
            hot = [q(value, unit) for at, strength in points[1:]
                   for value, unit in ((strength, "MPa"), (at, "degC"))]  # fmt: skip
            rows.append({
                "material": name, "strength": kind,
                "on record 20 degC": "not known" if cold is None else q(cold, "MPa"),
                "when hot [MPa at degC]": Told(
                    ", ".join(["# at #"] * (len(hot) // 2)),
                    tuple(Quantity(one.value) for one in hot)),
                "counted": "not judged" if counted is None else q(counted, "MPa"),
                "at": None if counted is None else q(warmth, "degC"),
                "cycles, scatter": words,
            })  # fmt: skip
        rows.append(None)
    return rows


def by_depth(result, table):
    rows = []
    for one in result.found["depth"].designs:
        factor = one.hoop_mpa / one.mean_hoop_mpa
        deck = one.deck_mpa
        rows.append({
            "design": one.name, "insert here": q(one.insert_depth, "mm") if one.insert_depth
            else None,
            "wall carries of the gas": percent(one.wall_share), "growth": q(one.growth_um, "um"),
            "at depth": q(one.growth_at_mm, "mm"), "hoop stress": q(one.hoop_mpa, "MPa"),
            "at depth (2)": q(one.hoop_at_mm, "mm"), "over its mean down to H": q(factor),
            "deck section here": q(deck, "MPa"),
            "times that": None if deck is None else q(factor * deck, "MPa"),
        })  # fmt: skip
    return rows


def enough(result, table):
    rows = []
    for one in result.found["depth"].designs:
        if one.sweep is None:
            continue
        growth, hoop = (
            told("over #", Quantity(float(one.sweep.depth_mm[-1]), "mm"))
            if value is None else q(value, "mm")
            for value in (one.sweep.enough_growth_mm, one.sweep.enough_hoop_mm)
        )  # fmt: skip
        least = one.sweep.enough_hoop_mm
        pays = least is None or least > one.insert_depth + 0.5
        rows.append({
            "design": one.name, "as drawn": q(one.insert_depth, "mm"),
            "enough for growth": growth, "enough for stress": hoop,
            "so": "deeper still pays here" if pays else "deeper buys less than what is asked",
        })  # fmt: skip
    return rows


def deck_states(result, table):
    rows = []
    for design in result.designs:
        states = design.found["head"].states
        free = states["free"].worst.principal_mpa
        for way, state in states.items():
            worst = state.worst
            held = way != "free"
            rows.append({
                "design": "" if held else design.name, "deck": way,
                "worst place": f"{worst.part} {worst.clock}",
                "worst": q(worst.principal_mpa, "MPa"), "error": q(worst.error_mpa, "MPa"),
                "mean growth": q(state.bore.mean_growth_um, "um"),
                "out of round": q(state.bore.out_of_round_um, "um"),
                "change of worst": q(worst.principal_mpa / free - 1) if held else None,
                "change of limit": q(free / worst.principal_mpa - 1) if held else None,
            })  # fmt: skip
    return rows


def gasket(result, table):
    return [
        {
            "design": design.name, "gasket beside the rings": q(head.land_area_mm2, "mm2"),
            "pressure there": q(head.land_pressure_mpa, "MPa"),
            "friction around the ring": q(head.ring_friction_n_per_mm, "N per mm"),
            "friction used": q(head.slips), "barrel, no gas": q(head.wall_mpa["barrel"], "MPa"),
            "barrel at gas": q(head.wall_at_gas_mpa["barrel"], "MPa"),
            "von Mises": q(head.von_mises_mpa, "MPa"),
            "clamped": q(head.clamped_von_mises_mpa, "MPa"),
        }
        for design in result.designs
        for head in (design.found["head"],)
    ]  # fmt: skip


def crack(result, table):
    found, rows = result.found["crack"], []
    first = found.series[0]
    for one in found.series:
        k1 = one.idle_k1 + one.k1
        row = {
            "design": one.design, "at the flaw": q(k1[0], "MPa \u221am"),
            "largest": q(max(k1), "MPa \u221am"),
            f"of {first.design}'s range": None if one is first else q(max(one.k1) / max(first.k1)),
            "no gas, at the flaw": q(one.idle_k1[0], "MPa \u221am"),
            "does the design shut it?": "yes, at every length" if (k1 <= 0).all()
            else "at some lengths" if (k1 <= 0).any() else "no",
        }  # fmt: skip
        end, length = one.crack_growth.end, q(one.crack_growth.length[-1], "mm")
        row["how it ends"] = {
            "breakthrough": "breaks through",
            "longest": told("reaches #, as far as asked", length),
            "toughness": told("the rest breaks at #", length),
            "shut": told("stays shut at #", length),
            "threshold": told("stops at #, below the threshold", length),
        }[end]
        stops = end in ("shut", "threshold")
        row["cycles"] = None if stops else q(one.crack_growth.cycles[-1], "cycles")
        row["hours at 6000 rpm"] = (
            None if stops else q(one.crack_growth.cycles[-1] / (6000 * 30), "h", 3)
        )
        rows.append(row)
    return rows


def spots(result, table):
    (design,) = (one for one in result.designs if one.name == table.title)
    rows, seen = [], {}
    on_maps = labelled_spots(design)
    for rank, spot in enumerate(design.hot_spots, 1):
        seen[spot.part] = seen.get(spot.part, 0) + 1
        named = [at for at, one in enumerate(on_maps, 1) if one is spot]
        if not (named or rank <= 8 or seen[spot.part] <= 3 or spot.sharp):
            continue
        error = told(
            "#" if spot.settled else "# error not within the tolerance yet",
            q(spot.error_mpa, "MPa"),
        )  # fmt: skip
        rows.append({
            "on the maps": q(named[0]) if named else None, "part": spot.part, "clock": spot.clock,
            "place": place_of(result.case.block, spot), "radius": q(spot.radius_mm, "mm"),
            "principal": q(spot.principal_mpa, "MPa"), "hoop": q(spot.hoop_mpa, "MPa"),
            "von Mises": q(spot.von_mises_mpa, "MPa"), "error": error,
            "crack would run": crack_direction(spot).words,
        })  # fmt: skip
        if spot.sharp:
            for name in ("principal", "hoop", "von Mises", "error", "crack would run"):
                rows[-1][name] = re.compile("no finite|Sharp corner")
    return rows


def shape(result, table):
    return [
        {
            "design": design.name, "mean growth": q(design.bore.mean_growth_um, "um"),
            "out of round": q(design.bore.out_of_round_um, "um"),
            **{f"order {order}": q(design.bore.orders_um[str(order)], "um")
               for order in range(2, 7)},
        }
        for design in result.designs
    ]  # fmt: skip


def checks(result, table):
    rows = [{
        "design": "must be",
        "hold reactions over gas load": told("0, at most #", q(REACTION_LIMIT)),
        "force across a cut over gas load": told("1 within #", q(CUT_FORCE_LIMIT)),
        "nodes": "", "triangles": "", "seconds": "",
    }]  # fmt: skip
    return rows + [
        {
            "design": design.name,
            "hold reactions over gas load": q(design.checks.reaction_ratio),
            "force across a cut over gas load": q(design.checks.cut_force_ratio),
            "nodes": q(len(design.mesh.points)), "triangles": q(len(design.mesh.triangles)),
            "seconds": q(design.seconds["total"], "s"),
        }
        for design in result.designs
    ]  # fmt: skip


TABLES = {
    ("evidence", "At a glance"): at_a_glance,
    ("block", ""): block,
    ("block", "The inserts"): inserts,
    ("gas", "The cycle"): cycle,
    ("water", ""): water,
    ("life", "The fit"): fit,
    ("life", "Step by step"): steps,
    ("life", "The pieces"): pieces,
    ("fit", "Interference on the diameter"): which_fit,
    ("fit", "Each fit that was solved"): each_fit,
    ("life", "Heat Heat into the section"): heat,
    ("life", "The cycle of each hot spot"): ranges,
    ("life", "Can the ring follow?"): ring,
    ("rating", "The limit of each design"): limits,
    ("rating", ""): lives,
    ("rating", "How sure the limits are"): bands,
    ("rating", "The places that use most"): places,
    ("rating", "The strengths it rests on"): strengths,
    ("head", "The deck in its plane"): deck_states,
    ("head", "The gasket on each deck"): gasket,
    ("depth", "By depth"): by_depth,
    ("depth", "How deep the insert pays"): enough,
    ("crack", "Stress intensity"): crack,
    ("numbers", "Shape of the bore"): shape,
    ("numbers", ""): spots,
    ("checks", ""): checks,
}  # fmt: skip
"""Reader of each table by chapter and by how its title begins, longer beginnings first."""


def reader_of(table):
    fitting = [
        (title, reader) for (chapter, title), reader in TABLES.items()
        if chapter == table.chapter and table.title.startswith(title)
    ]  # fmt: skip
    return max(fitting, key=lambda one: len(one[0]), default=("", None))[1]


def page_of(result, folder):
    """The page, pictures left out."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(report, "_data_address", lambda path: path.name)
        path = write_report(result, folder)
    return Page(path.read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def page(told_result, tmp_path_factory):
    return page_of(told_result, tmp_path_factory.mktemp("page"))


@pytest.mark.parametrize(
    ("changes", "each"), [*((one, {}) for one in SWEEPS), *(({}, one) for one in POINTS)]
)
def test_whatever_is_advised_is_that_of_its_object(told_result, changes, each, tmp_path):
    result = with_sweep(told_result, each, **changes)
    page = page_of(result, tmp_path)
    tables = [one for one in page.tables if one.chapter == "fit"]
    assert len(tables) == 2
    for table in tables:
        faults = faults_of_table(table, reader_of(table)(result, table))
        assert not faults, "\n".join(faults)
    prose = " ".join(page.prose["fit"])
    for one in fit_sentences(result):
        assert not fault_of_sentence(prose, one)


@pytest.mark.parametrize("changes", LIVES)
def test_however_long_a_life_it_is_that_of_its_object(told_result, changes, tmp_path):
    result = with_rating(told_result, **changes)
    tables = page_of(result, tmp_path).tables
    (table,) = (one for one in tables if one.chapter == "rating" and not one.title)
    faults = faults_of_table(table, lives(result, table))
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize("at_most", [True, False])
def test_a_limit_below_what_is_asked_is_said_to_be_at_most_that(told_result, at_most, tmp_path):
    limit = replace(rating_of(told_result.designs[0]).limit, factor=0.8, at_most=at_most)
    result = with_rating(told_result, limit=limit)
    prose = " ".join(page_of(result, tmp_path).prose["rating"])
    assert ("at most 80 % of it" in prose) is at_most
    assert "80 % of it" in prose


def test_a_stated_peak_is_told_as_it_was_stated(told_result, tmp_path):
    prose = page_of(with_gas(told_result, 12.0, 1.25, 21.4), tmp_path).prose
    for chapter, wanted in (
        ("evidence", told("block under # of gas in bore # of #", q(15, "MPa"), q(2), q(2))),
        ("gas", told("The peak of # is the case's own; the case multiplies it by #. It is taken to "
                     "reach # down at once, # of bore wall",
                     q(12, "MPa"), q(1.25), q(21.4, "mm"), q(15 * 21.4, "N per mm"))),
    ):  # fmt: skip
        assert not fault_of_sentence(" ".join(prose[chapter]), wanted)


def test_every_number_of_every_table_is_that_of_its_object(page, told_result):
    faults, used = [], set()
    for table in page.tables:
        if table.chapter == VERDICT:
            continue
        reader = reader_of(table)
        used.add(reader)
        where = f"{table.chapter}: {table.title[:40]}"
        if reader is None:
            faults.append(f"{where}: no source is known of this table")
        elif table.keyed:
            faults += faults_of_keys(table, reader(told_result))
        else:
            wanted = reader(told_result, table)
            kept = [place for place, row in enumerate(wanted) if row is not None]
            if len(wanted) == len(table.rows):
                table.rows = [table.rows[place] for place in kept]
            unit = "W" if "[W]" in table.title else ""
            faults += faults_of_table(table, [wanted[place] for place in kept], unit)
    assert not faults, "\n".join(faults)
    assert used == set(TABLES.values())  # each was seen


def faults_of_keys(table, wanted):
    """What is wrong with a table of a key and what is said of it in each row."""
    found = dict(table.rows)
    if found.keys() != wanted.keys():
        return [f"{table.title}: no source of {sorted(found.keys() ^ wanted.keys())}"]
    return [
        f"{table.title}, {key}: {fault}"
        for key in found
        if (fault := fault_of_cell(found[key], wanted[key]))
    ]


# --- sentences ---


def head(result):
    yield told(
        "The top # of the block under gas that peaks at # in bore # of #. # designs: deep, bare.",
        q(result.case.section_depth, "mm"), q(gas_of(result).peak_pressure, "MPa"), q(2), q(2),
        q(2),
    )  # fmt: skip
    yield from first_said(result)


def gas_said(result):
    gas = gas_of(result)
    load, run = gas.wall_load, gas.wall_load.cycle
    yield told(
        "peaks at # absolute, # after the top; the case multiplies its pressure by #.",
        q(run.closed.pressure.max(), "MPa"), q(run.closed.peak_deg, "deg"), q(1.1),
    )  # fmt: skip
    yield told(
        "loaded most at #, by # of bore wall, as if the peak on the wall reached # down",
        q(run.closed.deg[load.line_loads.argmax()], "deg"), q(load.line_loads.max(), "N per mm"),
        q(gas.pressurised_depth, "mm"),
    )  # fmt: skip
    capacity = run.engine.capacity
    yield told(
        "specific heats is # at # and changes by # per kelvin",
        q(capacity.gamma_300), q(300, "K"), q(capacity.slope),
    )  # fmt: skip


def why_said(result):
    first = bare_of(result)
    spot, face = worst(first, OWN), barrel_face(first)
    plain_hoop = np.median(face.hoop_mpa[plain_wall(result.case.block, face)])
    wall = np.median(face.wall_mm[plain_wall(result.case.block, face)])
    left = 55.0 - 15.0 / 2 - 42.0  # centre of the cut less half its width less the liner
    yield told(
        f"in the {spot.part} at {spot.clock}, at the {place_of(result.case.block, spot)}, # from "
        "the bore axis. It is pulled with #",
        q(spot.radius_mm, "mm"), mpa(spot),
    )  # fmt: skip
    yield told(
        "The pocket leaves # of barrel wall where the plain wall has #: #. Below the pocket, # "
        "down,",
        q(left, "mm"), q(wall, "mm"), q(left / wall), q(20, "mm"),
    )  # fmt: skip
    yield told("Stress. # against # in the plain wall", mpa(spot), q(plain_hoop, "MPa"))
    yield told("bores): # as much", q(spot.principal_mpa / plain_hoop, "times"))
    across = math.radians(spot.principal_angle_deg + 90)
    run = math.cos(across) * spot.x_mm + math.sin(across) * spot.y_mm
    off = math.degrees(math.acos(min(1.0, abs(run) / math.hypot(spot.x_mm, spot.y_mm))))
    yield told("(# off the radius)", q(off, "deg"))
    liner = worst(first, ("liner",))
    if liner.principal_mpa > spot.principal_mpa:
        yield told(f"The liner carries more, # at {liner.clock}", mpa(liner))


def block_said(result):
    yield told(
        "# bores of #, a liner of # and # of barrel wall; # ties and # relief cut a bore.",
        q(2), q(80, "mm"), q(2, "mm"), q(7, "mm"), q(2), q(1),
    )  # fmt: skip


def changes_said(result):
    first, block = bare_of(result), result.case.block
    was = worst(first, OWN)
    (cut,) = block.relief_cuts
    others = [design for design in result.designs if design is not first]
    yield told(
        "Worst stress of the block against bare, cold and in one piece: "
        + ", ".join(f"{design.name} #" for design in others),
        *(over(worst(design, OWN).principal_mpa, was.principal_mpa) for design in others),
    )
    for design in result.designs:
        if design is first:
            continue
        at_cut, spot = stress_at_cut(design, cut, 2), worst(design, OWN)
        bore, before = design.bore, first.bore
        yield told(
            f"{design.name}: at the relief cut 1:15 the stress goes from # to # MPa (#).",
            q(was.principal_mpa),
            q(at_cut),
            over(at_cut, was.principal_mpa),
        )
        where = place_of(block, spot)
        where = f" ({where})" if where != spot.part else ""
        yield told(
            f"is then in the {spot.part} at {spot.clock}{where} with # (#).",
            mpa(spot),
            over(spot.principal_mpa, was.principal_mpa),
        )
        yield told(
            "The bore grows # on average (#) and goes # out of round (#).",
            q(bore.mean_growth_um, "um"), over(bore.mean_growth_um, before.mean_growth_um),
            q(bore.out_of_round_um, "um"), over(bore.out_of_round_um, before.out_of_round_um),
        )  # fmt: skip


def water_said(result):
    left = [q(design.open_area_mm2, "mm2") for design in result.designs]
    names = " #, ".join(design.name for design in result.designs)
    yield told(f"Open water at the deck: {names} #.", *left)
    yield told("whole deck, all # bores", q(2))


def fit_said(result):
    (row,) = which_fit(result, None)
    yield told("To make, on the diameter: deep # to #.", q(row["window from"].value), row["to"])
    yield from fit_sentences(result)
    yield told("stays below yield in all but # of the block's metal", q(0.002))
    yield told("the limit is above the bare block's and within # of the best", q(0.05))
    ((_, _, advice),) = fits_of(result)
    window = advice.window
    errors = q(window.low_error_um), q(window.high_error_um, "um")
    yield told("the ends of the window may be off by # and # (deep)", *errors)


def flags_said(result):
    """A stated film of the coolant, beside which the hottest wet wall would boil: told once."""
    told_ = [(design, flag) for design in result.designs for flag in service_of(design).flags]
    for design, flag in told_[:1]:
        assert {of.kind for _, of in told_} == {flag.kind} == {"boiling"}
        field = service_of(design).heat
        wall = max(
            (of for path, of in field.walls.items() if path not in ("gas", "head", "outside")),
            key=lambda of: of.temperature_degc,
        )
        yield told("the wall is at # at the", q(wall.temperature_degc, "degC"))
        yield told(
            "where water boils (# at # above the atmosphere)", q(121.96, "degC"), q(0.11, "MPa")
        )


def life_said(result):
    first = bare_of(result)
    yield from flags_said(result)
    yield told("that all but # of the block's metal stays below", q(0.002))
    yield told(
        "Out of round by the section, in the mean over its depth: "
        + ", ".join(f"{design.name} # warm at gas" for design in result.designs),
        *(q(service_of(design).step("warm at gas").bore.out_of_round_um, "um")
          for design in result.designs),
    )  # fmt: skip
    for design in result.designs:
        yield from (told(note) for note in service_of(design).notes)
    for design in result.designs:
        if design is first:
            continue
        hot = [hottest(service_of(one).heat, "barrel").value for one in (design, first)]
        now, was = (worst(service_of(one).steps[-1], OWN) for one in (design, first))
        more = "hotter" if hot[0] >= hot[1] else "cooler"
        yield told(
            f"{design.name} runs the barrel # {more}; its worst stress of the block, cold at gas, "
            "changes by #",
            q(abs(hot[0] - hot[1]), "K"), over(now.principal_mpa, was.principal_mpa),
        )  # fmt: skip
    faces = [
        (face.open_share, design.name, face.name, step.name)
        for design in result.designs for step in service_of(design).steps if step.joint
        for face in step.joint.tie_faces
        if face.bore == design.section.block.firing_bore
    ]  # fmt: skip
    share, name, face, step = max(faces)
    yield told(f"Open most: {name}, {face}, {step}, #.", q(share))


def rating_said(result):
    wishes = rating_given(result.case)
    limits_ = [rating_of(design).limit for design in result.designs]
    named = zip([design.name for design in result.designs], limits_, strict=True)
    pushed = [(design.name, rating_of(design).pushed) for design in result.designs]
    yield told(
        f"of what its own gas pulls there: {', '.join(f'{name} #' for name, _ in pushed)}.",
        *(q(of) for _, of in pushed),
    )
    yield told(
        "Limits: " + ", ".join(f"{n} {'at most ' * of.at_most}#" for n, of in named) + ".",
        *(q(of.pressure_mpa, "MPa") for of in limits_),
    )
    yield told("what is rated is the mean cycle times # for detonation", q(1.1))
    for design in result.designs:
        limit = rating_of(design).limit
        if limit.factor < 1:
            at = "at most" if limit.at_most else "at"
            yield told(f"{design.name} {at} # of it", q(limit.factor))
        yield from (told(note) for note in rating_of(design).notes)
    yield told("at work, wanted # cycles; cold is full load before it is warm, wanted #.",
               q(1e7), q(1e5))  # fmt: skip
    yield told("for # cycles warm and # cycles cold", q(1e7), q(1e5))
    line = result.case.materials["barrel"].fatigue
    yield told("a tenth more stress takes # of it", q(1 - 1.1 ** (1 / line.exponent)))
    yield told("drawn at random together, # times:", q(2400))
    yield told("no intake pressure from # to # bar gives this engine", q(0.2), q(6))
    yield told("met when all but # of the block's metal", q(0.002))
    cast = [metal.name for _, metal in used_materials(result.case) if metal.cast]
    yield told(
        f"casting quality: # of every strength of {', '.join(cast)} is", q(wishes.casting_quality)
    )
    name, worths = worths_of(result.case, result.designs)
    assert len(worths) == 5
    for one in worths:
        of_limit = "not known" if one.percent is None else "# of the limit"
        known = [] if one.percent is None else [q(one.percent / 100)]
        yield told(f"{one.words} ({of_limit})", *known)
    yield told("The limit above is what # of the same draws carry.", q(0.9))
    yield told("A limit is the load that # of # draws carry.", q(90), q(100))
    if speed := gas_of(result).speed:
        hours = 1e7 * 2 / (60 * speed)
        yield told(
            "What is wanted of the warm engine is # h at # and that load, # pulls of # s.",
            q(hours), q(speed, "rpm"), q(3600 * hours / 12, "", 2), q(12),
        )  # fmt: skip
    yield told("at gas and back counts # times, its damage", q(1000))
    yield told("with an interference of # on the diameter", q(30, "\u00b5m"))
    yield told("where a stress is not known to #, the value", q(0.1))
    counts = np.sum([metal.from_memory for _, metal in used_materials(result.case)], axis=0)
    yield told("# of # strength numbers from memory.", *(q(int(count)) for count in counts))
    for _, metal in used_materials(result.case):
        if metal.fatigue and metal.fatigue.threshold:
            line = metal.fatigue
            borne = 2 * strength_at(wishes.cycles, line.strength, line.cycles, line.exponent)
            low, usual, high = critical_distance(line.threshold, borne)
            yield told(f"L of {metal.name} # (# to #)", q(usual, "mm"), q(low), q(high))
    rows = {
        metal.name: (parts, metal) for parts, metal in used_materials(result.case)
        if metal.fatigue and metal.tensile_points
    }  # fmt: skip
    for name, (parts, metal) in rows.items():
        warmth = max(
            (spot.temperature_degc for design in result.designs
             for spot in rating_of(design).spots if spot.spot.part in parts.split(", ")),
            default=20.0,
        )  # fmt: skip
        points = metal.tensile_points
        left = np.interp(warmth, *zip(*points, strict=True)) / points[0][1]
        yield told(
            f"heat: # of the fatigue strength of {name} at #, as much", q(left), q(warmth, "degC")
        )


def depth_said(result):
    found = result.found["depth"]
    yield told(
        f"at {format_clock(found.clock)}, where the bare block is pulled hardest: liner and wall "
        "as they stand there, thinned to # by a relief cut # deep, from the deck down to the "
        "crankcase floor at #.",
        q(5.5, "mm"), q(20, "mm"), q(100, "mm"),
    )  # fmt: skip
    growth = [max(one.curves["envelope"].growth_um) for one in found.designs]
    hoop = [max(one.curves["envelope"].barrel_hoop_mpa) for one in found.designs]
    reached = ", ".join(f"# ({one.name})" for one in found.designs)
    yield told(
        f"growth would reach {reached}, and the wall's stress {', '.join('#' * len(hoop))} MPa.",
        *(q(one, "um") for one in growth),
        *(q(one) for one in hoop),
    )
    yield told("no further millimetre takes off # of the bare value", q(found.least_gain))
    swept = [one for one in found.designs if one.sweep]
    enough = [one.sweep.enough_hoop_mm for one in swept]
    words = (f"{one.name} {'deeper still pays' if one.sweep.enough_hoop_mm is None else '#'}"
             for one in swept)  # fmt: skip
    yield told(
        f"Deep enough for stress: {', '.join(words)}.",
        *(q(at, "mm") for at in enough if at is not None),
    )
    yield told(
        "Behind the wall stand # that it moves, down to #, from the block itself",
        q(found.backing, "MPa per mm"), q(found.backing_depth, "mm"),
    )  # fmt: skip
    for one in swept:
        yield told(
            f'#, in the mean, from the insert "{one.name}" down to #', q(one.backing, "MPa per mm"),
            q(one.insert_depth, "mm"),
        )  # fmt: skip


def crack_said(result):
    found = result.found["crack"]
    place, law = found.place, found.given.law
    yield told(
        f"in the {place.part} at {format_clock(place.clock_hours)}, # from the bore axis",
        q(abs(place.mouth), "mm"),
    )
    yield told(place.chosen)
    yield told("Along its way the metal is # thick", q(found.series[0].path.length, "mm"))
    yield told("growth from a flaw of #", q(0.5, "mm"))
    ends = "; ".join(f"{one.design} {one.told_growth.words}" for one in found.series)
    yield told(f"A crack of #: {ends}.", q(0.5, "mm"))
    yield told(
        "Growth per cycle is # at a range of #, and goes with the range to the power # (Paris)",
        q(law.rate, "mm", 3), q(1, "MPa \u221am"), q(law.exponent),
    )  # fmt: skip
    yield told("below # nothing grows", q(law.threshold, "MPa \u221am", 3))
    yield from (told(note) for note in found.notes)


def first_said(result):
    """What the head says first: 3 of 4 bolts' load on a fire ring of 84 mm, gains off the bare."""
    lifts = 3 * 36e3 / (math.pi / 4 * 84**2)
    bare = bare_of(result).found["head"].states
    beaten = [
        (design, limit) for design in result.designs
        if (limit := rating_of(design).limit.wall_mpa) > lifts
    ]  # fmt: skip
    if beaten:
        yield told(
            f"The head lifts at #, below the limit of "
            f"{', '.join(f'{design.name} (#)' for design, _ in beaten)}:",
            q(lifts, "MPa"), *(q(limit, "MPa") for _, limit in beaten),
        )  # fmt: skip
    yield told(
        "# of friction around the fire ring (here #) took # to # off the worst stress of two bare "
        "blocks and # to # off that with an insert", q(30, "N per mm"),
        q(bare_of(result).found["head"].ring_friction_n_per_mm), q(17), q(0.21), q(2), q(0.06),
    )  # fmt: skip
    for design in result.designs:
        if design is not bare_of(result):
            friction, free = (
                design.found["head"].states[way].worst.principal_mpa
                / bare[way].worst.principal_mpa for way in ("by friction", "free")
            )  # fmt: skip
            yield told(
                f"{design.name} takes # to # off bare's, not # (held over all its depth, as in "
                "this section, #)", q(100 * (1 - free * 0.98 / 0.79)), q(1 - free * 0.94 / 0.83),
                q(1 - free), q(1 - friction),
            )  # fmt: skip


def pressed_sentences(result):
    """What the gasket does to an insert, and what is left for a hone."""
    for design in result.designs:
        head = design.found["head"]
        if head.pressed is None:
            continue
        pressed = head.pressed
        yield told(
            f"{design.name}: the gasket presses the insert down with # (the water lifts it with #) "
            "and would hold it sideways with # more;",
            q(pressed.down_n, "N"), q(pressed.water_n, "N"), q(pressed.friction_n, "N"),
        )  # fmt: skip
        yield told(f"Its fit holds # at the least ({pressed.hold_step})", q(pressed.hold_n, "N"))
        wanting = pressed.down_n - pressed.water_n - pressed.hold_n
        if wanting > 0:
            yield told("# too little", q(wanting, "N"))
    head = result.designs[0].found["head"]
    yield told(
        "Hone with a plate that clamps alike: # a bolt, # under the fire ring, # on the rest.",
        q(36e3, "N"), q(0.55 * 3 * 36e3 / (math.pi * 84 * 3), "MPa"),
        q(head.land_pressure_mpa, "MPa"),
    )  # fmt: skip
    yield told("Clamping may add up to # to the mean", q(head.most_growth_um, "um"))


def head_said(result):
    area = math.pi / 4 * 84**2
    peak = gas_of(result).peak_pressure
    yield from first_said(result)
    yield told("The head lifts at # on the wall.", q(3 * 36e3 / area, "MPa"))
    yield told(
        "The head lifts at # on the wall: 6 bolts are tightened to # each; 4 stand about bore 2, "
        "which fires, 2 of them shared", q(3 * 36e3 / area, "MPa"), q(36e3, "N"),
    )  # fmt: skip
    yield told("That clamps it with #, which gas on the # within", q(3 * 36e3, "N"),
               q(area, "mm2"))  # fmt: skip
    yield told("which carries # of the load, is unloaded at #", q(0.55),
               q(0.55 * 3 * 36e3 / area, "MPa"))  # fmt: skip
    yield told("The asked # leave # of the clamp load.", q(peak, "MPa"),
               q(max(0, 1 - peak * area / (3 * 36e3))))  # fmt: skip
    yield told("the gasket holds with # times what still presses", q(0.15))
    yield from pressed_sentences(result)


def limits_said(result):
    yield told("stands for the top # (H)", q(result.case.section_depth, "mm"))


SAID = {
    "evidence": head, "block": block_said, "gas": gas_said, "why": why_said,
    "changes": changes_said, "water": water_said, "life": life_said, "rating": rating_said,
    "fit": fit_said, "head": head_said, "depth": depth_said, "crack": crack_said,
    "limits": limits_said,
}  # fmt: skip


def written_out():
    """Numbers that the words of the templates hold themselves."""
    folder = Path(cases.__file__).parent
    texts = [path.read_text(encoding="utf-8") for path in folder.rglob("*.html.j2")]
    texts += [path.read_text(encoding="utf-8") for path in (
        folder / "base/cautions.py", folder / "stress/chapters.py", folder / "report/page.py",
        folder / "rating/words.py")]  # fmt: skip
    plain_ = re.sub(r"{[{%#].*?[}%#]}|<[^>]*>", " ", " ".join(texts), flags=re.DOTALL)
    return {match["number"] for match in NUMBER.finditer(plain_)}


def test_every_number_of_every_sentence_is_that_of_its_object(page, told_result):
    assumed = [words for one in SUBJECTS for _, words in one.assumed(told_result)]
    faults, literal = [], written_out()
    unsaid = set(SAID) - set(page.prose)
    assert not unsaid
    for chapter, pieces in page.prose.items():
        if chapter == VERDICT:
            continue
        text = "  \u2022 ".join(pieces)
        sentences = list(SAID[chapter](told_result)) if chapter in SAID else []
        faults += [
            f"{chapter}: {fault}" for one in sentences if (fault := fault_of_sentence(text, one))
        ]
        sentences += [told(words) for words in assumed]
        text = re.sub(r"(?<=section )\d+|(?<!\S)\d+(?=\. [A-Z])", "~", text)  # of chapters
        faults += [
            f"{chapter}: no source of {number}"
            for number in numbers_left(text, sentences) if number not in literal
        ]  # fmt: skip
    assert not faults, "\n".join(faults)


def test_a_block_told_with_all_its_features(told_result, tmp_path):
    """Zones, slots and walls by clock position, as they are stated; nothing is solved."""
    insert = Insert(
        depth=8.5, width=6.25,
        zones=(DeeperZone(clock=1.5, width=26.0, depth=16.0, blend=7.0),
               DeeperZone(clock=8.0, width=21.0, depth=14.5)),
        slots=(WaterSlot(clock=4.5, width=4.75, arc=31.0), WaterSlot(clock=10.0, width=5.5)),
        fills_relief_cuts=False,
    )  # fmt: skip
    deep, bare = told_result.designs
    deep = replace(deep, section=replace(deep.section, insert=insert))
    walls = replace(told_result.case.block, wall_table=((0.0, 7.5), (4.0, 6.75), (8.0, 9.25)))
    result = replace(told_result, designs=(deep, bare), case=replace(told_result.case, block=walls))
    tables = page_of(result, tmp_path).tables
    (table,) = (one for one in tables if one.title == "The inserts")
    wanted = {
        "design": "deep", "depth": q(8.5, "mm"),
        "form": "pieces",
        "width": told("#, clear of the relief cuts", q(6.25, "mm")),
        "deeper zones": told(
            "1:30: # deep over #, run out over # more each way; 8:00: # deep over #",
            q(16, "mm"), q(26, "deg"), q(7), q(14.5, "mm"), q(21, "deg"),
        ),
        "water slots": told(
            "4:30: # by #; 10:00: # round", q(4.75, "mm"), q(31, "deg"), q(5.5, "mm")
        ),
    }  # fmt: skip
    assert not faults_of_table(table, [wanted])
    (table,) = (one for one in tables if one.chapter == "block" and one.keyed)
    wall = told("# to #, by clock position", q(6.75), q(9.25, "mm"))
    assert not fault_of_cell(dict(table.rows)["barrel wall"], wall)
    (table,) = (one for one in tables if one.chapter == "water")
    wanted = water(told_result, table)
    wanted[0]["insert depth"] = told("# to #", q(8.5, "mm"), q(16, "mm"))
    assert not faults_of_table(table, wanted)

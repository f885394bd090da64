"""A row of the verdict: one design, of what was found of it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.fit.data import advice_dict
from cases.fit.result import FitAdvice, sweep_of
from cases.gas.given import gas_given
from cases.gas.solve import gas_of
from cases.gasket.result import water_of
from cases.life.given import InsertFit, life_given
from cases.life.result import RingFollow, Service, flags_of, is_lived, service_of
from cases.life.ring import ring_follow
from cases.life.steps import COLD_GAS, PRESSED, WARM_GAS, EngineState
from cases.making.make import made_of
from cases.rating.depth_words import told_lives
from cases.rating.given import rating_given
from cases.rating.limit import MOST_FACTOR, hours_of, stands
from cases.rating.result import DesignRating, Stands, rating_of
from cases.rating.shares import wanted_cycles
from cases.rating.words import governing_name
from cases.record.result import record_of
from cases.solid.heat import WATER_FACES
from cases.solid.result import solid_of
from cases.stress.displaced import displaced
from cases.stress.result import CaseResult, DesignResult
from cases.verdict.choose import status_of
from cases.verdict.result import Distortion, DropIn, FitToMake, GoverningPlace, Row
from fea.bore import shape_of
from fea.material import Material
from geometry.section import Block
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]

DOUBTS = ("crisis", "metal")
"""Kinds of heat flags by which no limit holds for sure."""
PER_SIDE, ON_DIAMETER = "per side", "on the diameter"
MOST_PLACES = 3
APART = 4.0
"""Places of a section nearer than this are one. [mm]."""


def row_of(result: CaseResult, design: DesignResult, advice: FitAdvice | None) -> Row:
    """One design.

    Parameters
    ----------
    result : CaseResult
    design : DesignResult
        Rated.
    advice : FitAdvice or None
        Which interference to make of it; None where none is common to its sides.
    """
    case, rating = result.case, rating_of(design)
    limit, band = rating.stands, rating.told_band
    tried = rating.solid.tried if rating.solid else rating.tried
    judged = bool(rating.solid.governing if rating.solid else rating.used)
    solved = rating.solid is not None or not rating.unsolved
    beyond = tried if limit is None and judged and solved and tried >= 0.99 * MOST_FACTOR else None
    flags = {flag.kind for flag in flags_of(design)}
    doubts = tuple(kind for kind in DOUBTS if kind in flags)
    share = band.carries if band else None
    at_most = bool(limit and limit.at_most)
    low, _, high = band.pressure_mpa if band else (None, None, None)
    boost_low, _, boost_high = band.boost_mpa if band else (None, None, None)
    power_low, _, power_high = band.power_kw if band else (None, None, None)
    fit = life_given(case).fits.get(design.name)
    state, criterion = _governs(rating)
    return Row(
        design=design.name,
        status=status_of(
            share,
            rating_given(case).reliability,
            limit.factor if limit else None,
            beyond=beyond is not None,
            doubtful=bool(doubts) or at_most,
        ),
        share=share,
        by="solid" if rating.solid else "section",
        limit_factor=limit.factor if limit else None,
        limit_bar=_bar(limit.pressure_mpa if limit else None),
        limit_low_bar=_bar(low),
        limit_high_bar=_bar(high),
        restated_bar=_restated(result, design),
        at_most=at_most,
        beyond=beyond,
        boost_bar=_bar(limit.boost_mpa if limit else None),
        boost_low_bar=_bar(boost_low),
        boost_high_bar=_bar(boost_high),
        power_kw=limit.power_kw if limit else None,
        power_low_kw=power_low,
        power_high_kw=power_high,
        state=state,
        criterion=criterion,
        places=_places(rating),
        **_life(result, design),
        held="" if design.section.insert is None else _held(fit),
        fit=_fit(result, design, advice),
        unfit=advice.why_none if advice else "",
        drop_in=_drop_in(case, design, fit, advice),
        distortion=_distortion(result, design, fit),
        **_hottest(design),
        open_water_mm2=design.open_area_mm2,
        **_gasket(design),
        **_water(result, design),
        **_metal(_drawn(case, design).insert_material, design),
        machined=_machined(design, fit, advice),
        doubts=doubts,
        error=_share_of_error(limit),
        each=band.each if band else (),
    )


def _bar(mpa: float | None) -> float | None:
    return None if mpa is None else 10 * mpa


def _restated(result: CaseResult, design: DesignResult) -> float | None:
    """The limit by the shop's own engines; None where none say anything. [bar]."""
    found = record_of(result)
    if found is None or not found.engines:
        return None
    limits = {of.design: of.restated for of in found.designs}
    limit = limits.get(design.name)
    return _bar(limit.pressure_mpa) if limit else None


def _share_of_error(limit: Stands | None) -> float:
    """Numerical error of a limit, as a share of it."""
    return limit.error / limit.factor if limit and limit.factor else 0.0


def _drawn(case: Any, design: DesignResult) -> Any:
    return next(one for one in case.designs if one.name == design.name)


def _governs(rating: DesignRating) -> tuple[str, str]:
    """State of the engine and criterion that govern the limit."""
    if rating.solid:
        spot = rating.solid.governing
        return (str(spot.state), spot.criterion) if spot else ("", "")
    name = governing_name(rating)
    if name is None:
        return "", ""
    criterion, _, state = name.partition(", ")
    return state, criterion


def _places(rating: DesignRating) -> tuple[GoverningPlace, ...]:
    """Where a design governs, and the places that come next."""
    if rating.solid:
        return tuple(
            GoverningPlace(
                part=of.part, clock=of.clock, depth_mm=of.depth_mm, x_mm=of.x_mm, y_mm=of.y_mm,
                share=of.share,
            )
            for of in rating.solid.places
        )  # fmt: skip
    first = [rating.governing] if rating.governing else []
    next_ = [of for of in rating.spots if not any(_same(of.spot, one.spot) for one in first)]
    return tuple(
        GoverningPlace(
            part=of.spot.part, clock=of.spot.clock, depth_mm=None, x_mm=of.spot.x_mm,
            y_mm=of.spot.y_mm, share=of.share,
        )
        for of in [*first, *next_][:MOST_PLACES]
    )  # fmt: skip


def _same(one: Any, other: Any) -> bool:
    return math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm) < APART


def _life(result: CaseResult, design: DesignResult) -> dict[str, Any]:
    """The least life of cold and warm at the wanted load: cycles, hours and pulls."""
    lives = told_lives(rating_of(design), design.solution.model.materials)
    known = {state: cycles for state, cycles in lives.items() if cycles is not None}
    if not known:
        return {}
    state = min(known, key=lambda one: known[one])
    cycles = known[state]
    hours = hours_of(gas_of(result), cycles)
    return {
        "life_cycles": cycles,
        "life_hours": hours,
        "life_pulls": None if hours is None else 3600 * hours / rating_given(result.case).pull,
        "life_state": str(state),
        "wanted_cycles": wanted_cycles(result.case, EngineState(state)),
    }


def _held(fit: InsertFit | None) -> str:
    """How an insert is held, in words."""
    if fit is None or not fit.sides:
        return "one piece with the block"
    bonded = [part for part, side in fit.sides.items() if side.bonded]
    pressed = [
        part for part, side in fit.sides.items() if side.interference > 0 and not side.bonded
    ]
    clear = [part for part, side in fit.sides.items() if side.interference < 0 and not side.bonded]
    words = [
        *([f"bonded to {_and(bonded)}"] if bonded else []),
        *([f"pressed between {_and(pressed)}"] if len(pressed) > 1 else []),
        *([f"pressed on {_and(pressed)}"] if len(pressed) == 1 else []),
        *([f"clear of {_and(clear)}"] if clear else []),
    ]
    if fit.compound:
        words.append("with a retaining compound")
    return ", ".join(words) or "slipped in"


def _and(parts: list[str]) -> str:
    named = ["ties" if part == "tie" else part for part in parts]
    return " and ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)


def _fit(result: CaseResult, design: DesignResult, advice: FitAdvice | None) -> FitToMake | None:
    """The interference to make."""
    sweep = sweep_of(design)
    if advice is None or advice.window is None or sweep is None:
        return None
    ring = sweep.ring_mm is not None or bool(
        design.section.insert and design.section.insert.form == "ring"
    )
    times = 1.0 if ring else 0.5
    window = advice.window
    return FitToMake(
        low_um=times * window.low_um,
        nominal_um=times * window.nominal_um,
        high_um=times * window.high_um,
        measured=ON_DIAMETER if ring else PER_SIDE,
        iso=advice.iso,
        stated_um=times * sweep.asked_um,
        inside=advice.inside,
        matched=advice.match_machine,
        limit_bar=_bar(
            None
            if advice.inside or advice.limit_at_nominal is None
            else stands(gas_of(result), advice.limit_at_nominal).pressure_mpa
        ),
    )


def _drop_in(
    case: Case, design: DesignResult, fit: InsertFit | None, advice: FitAdvice | None
) -> DropIn | None:
    """Whether it goes in by its weight, at the temperatures of ``[making]``, of the fit to make."""
    if fit is None or not fit.common:
        return None
    sweep = sweep_of(design)
    told: dict[str, Any] = {"design": design.name}
    if advice and advice.window and sweep:
        told["fit_advice"] = advice_dict(sweep, advice)
        life, nominal = life_given(case), advice.window.nominal_um / 1000
        fits = {**life.fits, design.name: fit.with_interference(nominal)}
        case = replace(case, given={**case.given, "life": replace(life, fits=fits)})
    made = made_of(case, design.name, {"designs": [told]}, "")
    if not made.passages:
        return None
    return DropIn(
        drops_in=made.drops_in,
        block_degc=made.given.block_temperature,
        insert_degc=made.given.insert_temperature,
        least_um=1000 * made.least,
        asked_um=1000 * made.given.least_clearance,
    )


def _machined(
    design: DesignResult, fit: InsertFit | None, advice: FitAdvice | None
) -> tuple[str, ...]:
    """What has to be machined, in words; nothing of the bare block."""
    insert, block = design.section.insert, design.section.block
    if insert is None:
        return ()
    words = []
    if insert.form == "ring":
        milled = max(insert.depth, insert.register.depth if insert.register else 0.0)
        count = len(block.ties)
        words.append(f"{count} tie{'s' * (count > 1)} of a bore milled down by {milled:g} mm")
    register = insert.register
    if register:
        taken = [
            f"{width:g} mm off the {wall}"
            for width, wall in (
                (insert.off_barrel, "barrel"),
                (insert.off_outer_wall, "outer wall"),
            )
            if width
        ]
        words.append(f"a register {register.depth:g} mm deep, {' and '.join(taken) or 'clean up'}")
    elif fit is not None and fit.pressed:
        words.append(f"faces of the jacket finished to the fit, {insert.deepest:g} mm deep")
    if advice and advice.match_machine:
        words.append("each piece cut to its pocket")
    return tuple(words)


def _distortion(
    result: CaseResult, design: DesignResult, fit: InsertFit | None
) -> Distortion | None:
    """Of the bore at gas, warm where there is heat, down to where the top ring turns."""
    ring, service = life_given(result.case).piston_ring, _service(design)
    pressed = service.step(PRESSED) if service else None
    press: dict[str, Any] = {}
    if pressed and fit:
        press = {
            "pressed_um": pressed.bore.out_of_round_um,
            "hone_takes_um": 1000 * fit.most_out_of_round,
        }
    solid = solid_of(design)
    if solid and solid.as_made:
        state = solid.as_made
        shapes = [shape_of(growth) for growth in state.growth_by_depth]
        swept = swept_levels(result.case, state.depth_mm)
        worst = max(swept, key=lambda level: shapes[level].out_of_round_um)
        behind = _behind_ring(result, state.depth_mm)
        follow = [
            ring_follow(shapes[level], ring, result.case.block.bore, float(behind[level]))
            for level in swept
            if ring
        ]
        warm = life_given(result.case).heat is not None
        return Distortion(
            out_of_round_um=shapes[worst].out_of_round_um,
            depth_mm=float(state.depth_mm[worst]),
            state=str(WARM_GAS if warm else COLD_GAS),
            **_ring(follow),
            **press,
        )
    step = (service.step(WARM_GAS) or service.step(COLD_GAS)) if service else None
    if step is None:
        return None
    return Distortion(
        out_of_round_um=step.bore.out_of_round_um,
        depth_mm=None,
        state=str(step.name),
        **_ring([step.ring] if step.ring else []),
        **press,
    )


def _ring(follow: list[RingFollow]) -> dict[str, Any]:
    """Whether the ring follows all that it meets; nothing where the case states none."""
    if not follow:
        return {}
    return {
        "ring_follows": all(of.least_pressure >= 0 for of in follow),
        "ring_follows_with_gas": all((of.least_pressure_with_gas or 0.0) >= 0 for of in follow),
    }


def _behind_ring(result: CaseResult, depth: Array) -> Array:
    """Gas behind the top ring as it runs over each depth, shape (d,). [MPa]."""
    gas = gas_of(result)
    if gas.wall_load:
        return gas.wall_load.largest(depth)
    return np.full(len(depth), gas.line_load / result.case.section_depth)


def _service(design: DesignResult) -> Service | None:
    return service_of(design) if is_lived(design) else None


def swept_levels(case: Case, depth_mm: Array) -> list[int]:
    """Levels of a solid's bore, at depths (d,), that the top ring runs over."""
    engine = gas_given(case).engine
    if engine is None:
        return list(range(len(depth_mm)))
    top = engine.top_ring + engine.crown_below_deck
    bottom = top + engine.engine.crank.stroke
    inside = (depth_mm >= top - 1e-6) & (depth_mm <= bottom)
    return [int(level) for level in np.flatnonzero(inside)] or [len(depth_mm) - 1]


def _hottest(design: DesignResult) -> dict[str, Any]:
    """Hottest place of barrel and insert, warm; by the solid where its heat is known."""
    solid, service = solid_of(design), _service(design)
    if solid and solid.heat:
        known = {of.part: of.temperature_degc for of in solid.heat.hottest}
        by = "solid"
    elif service and service.heat:
        parts = service.heat.mesh.parts
        known = {part: service.heat.hottest(part).temperature_degc for part in parts}
        by = "section"
    else:
        return {}
    told = {f"hottest_{part}_degc": known.get(part) for part in ("barrel", "insert")}
    return {**told, "hottest_by": by}


def _gasket(design: DesignResult) -> dict[str, Any]:
    """What the gasket that suits a design least leaves open; nothing where the case has none."""
    found = water_of(design)
    if found is None:
        return {}
    worst = found.worst
    return {
        "gasket": worst.gasket, "through_gasket_mm2": worst.open, "through_bare_mm2": worst.bare,
    }  # fmt: skip


def _water(result: CaseResult, design: DesignResult) -> dict[str, Any]:
    """Wetted barrel of the bore that fires, water that metal takes the place of."""
    solid = solid_of(design)
    if not result.case.block.jacket:
        return {}
    found = {}
    if solid:
        found["wetted_barrel_mm2"] = wetted_barrel(solid.shown.mesh, result.case.block)
    if design.section.insert is not None:
        found["displaced_mm3"] = displaced(design).water_mm3
    return found


def _metal(material: Material | None, design: DesignResult) -> dict[str, Any]:
    """Pieces of an insert, and what all of them weigh."""
    if design.section.insert is None:
        return {}
    service = _service(design)
    if service and service.pieces:
        masses = [piece.mass_g for piece in service.pieces]
        whole = None if None in masses else sum(of for of in masses if of is not None)
        return {"pieces": len(masses), "mass_g": whole}
    if material and material.density:
        return {"mass_g": material.density * displaced(design).insert_mm3}
    return {}


def wetted_barrel(mesh: SolidMesh, block: Block) -> float:
    """Upright area of the barrel that fires under water. [mm2]."""
    barrel = np.zeros(len(mesh.points), dtype=bool)
    barrel[mesh.prisms[mesh.part == mesh.parts.index("barrel")]] = True
    total = 0.0
    for name in WATER_FACES:
        if name in mesh.sides:
            faces = mesh.sides[name]
            own = faces[barrel[faces[:, 5]]]  # the middle of a face is a node of one part alone
            first, second, middle = (mesh.points[own[:, k]] for k in (0, 1, 2))
            above = mesh.points[own[:, 6:9]][..., 2].mean(axis=1)
            long = np.linalg.norm((middle - first)[:, :2], axis=1)
            long += np.linalg.norm((second - middle)[:, :2], axis=1)
            high = above - mesh.points[own[:, :3]][..., 2].mean(axis=1)
            total += float((long * high)[block.about_firing(middle[:, 0])].sum())
    return total

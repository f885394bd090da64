"""What a setting comes to: a quick look at its section, and its solid, which judges.

Both are found in processes of their own; what comes back is small and goes through JSON.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.figures import new_figure, round_up, triangulated
from cases.base.parts import PARENT_PARTS
from cases.base.subject import Progress
from cases.bores.choose import worst_by_section
from cases.bores.given import every_bore, firing
from cases.case import Case
from cases.dials.plan import ACROSS, Mark, Shade, on_grid, picture_address, ray_at
from cases.dials.turn import only
from cases.fit.figures import fits_figure
from cases.fit.result import sweep_of
from cases.gas.solve import gas_load
from cases.life.figures import pressure_around
from cases.life.given import life_given
from cases.life.heat import conducting
from cases.life.result import is_lived, service_of
from cases.life.steps import LoadStep
from cases.rating.words import of_hundred
from cases.report.in_units import draw_in
from cases.report.pictures import in_style
from cases.run import EVERY_BORE, rated_alone
from cases.solid.given import Setting
from cases.solid.result import SolidState, solid_of
from cases.stress.result import CaseResult, DesignResult
from cases.stress.solve import quick_section
from cases.stress.spots import rated_spots, rated_worst
from cases.stress.traces import barrel_face
from cases.stress.why import place_of
from cases.verdict.read import verdict_of
from cases.verdict.result import Row, Verdict
from cases.verdict.words import (
    fit_words,
    governs_words,
    limit_words,
    nominal_words,
    sentence,
    short_life,
)
from fea.stress import principal
from geometry.clock import clock_of, clock_to_angle
from geometry.drawing import View, view_of

if TYPE_CHECKING:
    from fea.heat import HeatField

Floats = NDArray[np.float64]

EVERY = 0.1
"""Steps of the clock that stress, temperature and contact are told at. [h]."""
PIXELS = 620
"""Width of the colours over a plan."""
NEAREST = 20.0
"""A place of the wall takes the stress of nodes so near. [mm]."""
COLOURS = "cividis"
"""Dark to light in even steps, told apart by the colour-blind too."""
MARKED = 4
"""Places that are numbered."""
PULL_OFF, GROWTH_OFF = 0.10, 0.005
"""Shares by which a quick look at one coarse mesh may be off, at the least."""


Around = Mapping[str, tuple[float | None, ...]]
"""Values about the bore that fires by what they are, each ``EVERY`` of the clock."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Quick:
    """The section, one piece with its insert and cold, on one coarse mesh."""

    words: str
    marks: tuple[Mark, ...]
    around: Around
    stress_mpa: float
    error_mpa: float
    growth_um: float
    growth_error_um: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Colours:
    """What a plan is coloured by, of the same section."""

    stress: Shade
    temperature: Shade | None  # None where the case has no heat
    around: Around


@dataclass(frozen=True, kw_only=True, slots=True)
class Fit:
    """Which interference to make of a design."""

    words: str  # low, nominal and high, or why none will do
    outside: str  # of which fit limit and life are, where the stated one is none to be made
    picture: str  # limit against interference, as an address that holds it


@dataclass(frozen=True, kw_only=True, slots=True)
class Judged:
    """The solid, fitted and rated."""

    setting: str  # "coarse" or "fine"
    status: str
    share: float | None  # of the draws that carry the wanted load
    limit_bar: float | None
    limit_factor: float | None
    sentence: str
    cells: Mapping[str, str]  # of its row, by heading
    numbers: Mapping[str, float | None]  # the same that can be compared, by heading
    marks: tuple[Mark, ...]
    flags: tuple[str, ...]
    around: Around
    clock: float  # of the worst place [h]
    place: tuple[float, float] | None  # radius and depth of it [mm]
    down: Shade | None  # stress from deck to floor there
    bore: int  # that fires
    ranked: bool  # whether that is the worst by the section, as the case states none
    fit: Fit | None  # None where it was not asked for, or nothing is fitted


def quick_look(raw: Mapping[str, Any], path: Path, name: str, bore: int) -> Quick:
    """A quick look at the section of a design while some bore fires.

    Raises
    ------
    CaseError, RunError
        If it can't be read or solved.
    """
    case, solved = _looked(json.dumps(raw), path, name, bore)
    worst = rated_worst(solved, PARENT_PARTS)
    told, growth = case.spoken.told, solved.bore.mean_growth_um
    off = GROWTH_OFF * abs(growth)
    words = [f"Bore grows {growth:.2f} +- {_up(off, 2)} um."]
    pull = error = math.nan
    if worst is not None:
        place = place_of(case.block, worst)
        at = "" if worst.clock in place else f" {worst.clock}"
        pull, error = worst.principal_mpa, max(worst.error_mpa, PULL_OFF * worst.principal_mpa)
        words.insert(0, f"Worst pull {pull:.1f} +- {_up(error, 1)} MPa, {place}{at}.")
    spots = rated_spots(solved, PARENT_PARTS)[:MARKED]
    return Quick(
        words=told(" ".join(words)),
        marks=tuple(
            Mark(of.x_mm, of.y_mm, told(f"{of.part} {of.clock}: {of.principal_mpa:.0f} MPa"))
            for of in spots
        ),
        around={"stress": _plain(barrel_face(solved, count=round(12 / EVERY)).hoop_mpa)},
        stress_mpa=pull, error_mpa=error, growth_um=growth, growth_error_um=off,
    )  # fmt: skip


def colours(raw: Mapping[str, Any], path: Path, name: str, bore: int) -> Colours:
    """What a plan is coloured by: pull and temperature of the section that was looked at.

    Raises
    ------
    CaseError, RunError
        If it can't be read or solved.
    """
    case, solved = _looked(json.dumps(raw), path, name, bore)
    view, heat = view_of(case.block), _heat(case, solved)
    return Colours(
        stress=_stress_shade(solved, view),
        temperature=None if heat is None else _heat_shade(heat, view),
        around={} if heat is None else {"temperature": _plain(_around_heat(solved, heat))},
    )


@lru_cache(maxsize=1)
def _looked(text: str, path: Path, name: str, bore: int) -> tuple[Case, DesignResult]:
    """A design with some bore firing, and its section on one coarse mesh; the last is kept.

    Parameters
    ----------
    text : str
        The content of the case, as JSON.
    path, name, bore
        Of the case, its design, and the bore that fires.
    """
    case = firing(only(json.loads(text), path, name), bore)
    (design,) = case.designs
    return case, quick_section(case, design, gas_load(case).line_load, bore, meshes=1)


def _up(error: float, places: int) -> str:
    """An error, no smaller than it is."""
    return f"{math.ceil(error * 10**places) / 10**places:.{places}f}"


def judge(
    tell: Progress, raw: Mapping[str, Any], path: Path, name: str, setting: Setting, fits: bool
) -> Judged:
    """A design by its solid, as :func:`cases.run.solve_case` rates it.

    Parameters
    ----------
    tell : callable
        Told each stage as it begins.
    raw, path, name
        Of the case and its design.
    setting : str
        Of the solid.
    fits : bool
        Whether the window of its fit is sought too.

    Raises
    ------
    CaseError, RunError
        If it can't be read or solved.
    """
    case = only(raw, path, name)
    if ranked := every_bore(case):
        tell(name, EVERY_BORE)
        case = firing(case, worst_by_section(case))
    result = rated_alone(case, setting, progress=tell, fits=fits)
    verdict = verdict_of(result)
    if verdict is None:
        raise RunError("What it carries was not found.")
    return _judged(result, verdict, setting, ranked)


def _judged(result: CaseResult, verdict: Verdict, setting: Setting, ranked: bool) -> Judged:
    (design,), row = result.designs, verdict.row
    told = verdict.both
    solid = solid_of(design)
    state = (solid.as_made or solid.shown) if solid else None
    first = row.places[0] if row.places else None
    clock = float(clock_of(first.x_mm, first.y_mm)) if first else 12.0
    place = None
    if first and first.depth_mm is not None:
        place = (math.hypot(first.x_mm, first.y_mm), first.depth_mm)
    cells, numbers = _cells(row, verdict)
    return Judged(
        setting=setting, status=row.status, share=row.share, limit_bar=row.limit_bar,
        limit_factor=row.limit_factor, sentence=sentence(verdict),
        cells={name: told(of) for name, of in cells.items()}, numbers=numbers,
        marks=tuple(
            Mark(of.x_mm, of.y_mm, told(f"{of.words}: {100 * of.share:.0f} % of its strength"))
            for of in row.places[:MARKED]
        ),
        flags=tuple(map(told, verdict.flags)),
        around={what: _plain(of) for what, of in _around_solid(design, state).items()},
        clock=clock, place=place,
        down=_down_shade(result.case, design, state, clock) if state else None,
        bore=result.case.block.firing_bore, ranked=ranked, fit=_fit(result, verdict),
    )  # fmt: skip


def _fit(result: CaseResult, verdict: Verdict) -> Fit | None:
    """Which interference to make; None where nothing is fitted."""
    (design,), row = result.designs, verdict.row
    words = fit_words(row.fit) if row.fit else row.unfit and f"none will do: {row.unfit}"
    sweep = sweep_of(design)
    if not words or sweep is None:
        return None
    with in_style():
        figure = fits_figure(result)
        draw_in(figure, result.case)
        picture = picture_address(figure)
    outside = ""
    if row.fit and not row.fit.inside:
        outside = (
            f"Limit and life are of the stated {row.fit.stated_um:.1f} um {row.fit.measured}, "
            f"outside of that{nominal_words(row.fit)}."
        )
    return Fit(words=verdict.both(words), outside=verdict.both(outside), picture=picture)


def _cells(row: Row, verdict: Verdict) -> tuple[dict[str, str], dict[str, float | None]]:
    """What is told of a design in a row, and the numbers behind it that are set beside others."""
    share = None if row.share is None else 100 * row.share
    bore = row.distortion
    cells = {
        "verdict": row.status,
        "carries": limit_words(row) or (f"over {row.beyond:.1f} times" if row.beyond else ""),
        "of 100 draws": ""
        if row.share is None
        else f"{of_hundred(row.share, verdict.reliability)}, {100 * verdict.reliability:g} asked",
        "governs": governs_words(row),
        "lasts": _lasts(row),
        "out of round": "" if bore is None else f"{bore.out_of_round_um:.0f} um",
        "hottest barrel": ""
        if row.hottest_barrel_degc is None
        else f"{row.hottest_barrel_degc:.0f} degC",
        "open water": f"{row.open_water_mm2:.0f} mm2",
        "insert": "" if row.mass_g is None else f"{row.mass_g:.0f} g",
    }
    numbers = {
        "carries": row.limit_bar, "of 100 draws": share,
        "out of round": bore.out_of_round_um if bore else None,
        "hottest barrel": row.hottest_barrel_degc, "open water": row.open_water_mm2,
        "insert": row.mass_g,
    }  # fmt: skip
    return cells, numbers


def _lasts(row: Row) -> str:
    """How long it lasts, with its unit."""
    told = short_life(row)
    counted = row.life_hours is None and math.isfinite(row.life_cycles or math.inf)
    return f"{told} cycles" if counted and told not in ("", "minutes") else told


def _plain(values: Sequence[float] | Floats) -> tuple[float | None, ...]:
    return tuple(None if math.isnan(of) else round(float(of), 2) for of in values)


def _heat(case: Case, solved: DesignResult) -> HeatField | None:
    """Steady temperature of the section in one piece; None where the case has no heat."""
    heat = life_given(case).heat
    if heat is None:
        return None
    (design,) = case.designs
    materials = case.part_materials(design)
    return conducting(heat, gas_load(case), solved.mesh, materials, ()).solve()


def _around_heat(solved: DesignResult, heat: HeatField) -> Floats:
    """Hottest of the barrel by the clock. [degC]."""
    nodes = np.unique(np.concatenate([of.nodes for of in solved.stresses if of.part == "barrel"]))
    return _largest_around(solved.mesh.points[nodes], heat.temperature[nodes])


def _largest_around(points: Floats, values: Floats) -> Floats:
    """Largest of values at places about the firing bore, in each step of the clock."""
    count = round(12 / EVERY)
    at = np.round(clock_of(points[:, 0], points[:, 1]) / EVERY).astype(int) % count
    found = np.full(count, -np.inf)
    np.maximum.at(found, at, values)
    found[~np.isfinite(found)] = np.nan
    return found


def _around_solid(design: DesignResult, state: SolidState | None) -> dict[str, Floats]:
    """Stress of the barrel over all its depth, and what presses on it, by the clock."""
    found: dict[str, Floats] = {}
    if state is not None:
        for field in state.fields:
            if field.part == "barrel":
                points = state.mesh.points[field.nodes]
                own = np.hypot(points[:, 0], points[:, 1]) < design.section.block.jacket_radius
                found["stress"] = _largest_around(points[own], field.principal[own])
    if (solid := solid_of(design)) and solid.heat:
        found["temperature"] = np.array(
            [np.nan if of is None else of for of in solid.heat.barrel_degc]
        )
    if is_lived(design):
        service = service_of(design)
        step = service.step(LoadStep.WARM_GAS) or service.step(LoadStep.COLD_GAS)
        if step is not None and step.joint is not None and service.pairs is not None:
            hours, pressure = pressure_around(design, step, "barrel")
            known = np.isfinite(hours)
            count = round(12 / EVERY)
            at = np.round(hours[known] / EVERY).astype(int) % count
            sums, many = (np.bincount(at, weights, count) for weights in (pressure[known], None))
            found["contact"] = np.where(many > 0, sums / np.maximum(many, 1), np.nan)
    return found


def _stress_shade(solved: DesignResult, view: View) -> Shade:
    """Largest principal stress over the plan, the insert over the floors of cuts."""
    order = sorted(solved.stresses, key=lambda layer: layer.part == "insert")
    near = [
        view.holds(solved.mesh.points[layer.nodes], margin=1.05)[layer.triangles].any(axis=1)
        for layer in order
    ]
    values = [principal(layer.stress)[0] for layer in order]
    high = round_up(max(float(np.quantile(np.concatenate(values), 0.995)), 1e-9))
    fields = [
        (solved.mesh.points[layer.nodes], layer.triangles[kept], value)
        for layer, kept, value in zip(order, near, values, strict=True)
        if kept.any()
    ]
    return Shade(_picture(fields, view, 0.0, high), 0.0, high, "MPa", "quick look, largest pull")


def _heat_shade(heat: HeatField, view: View) -> Shade:
    """Temperature over the plan."""
    points = heat.mesh.points
    triangles = heat.mesh.triangles
    near = view.holds(points, margin=1.05)[triangles].any(axis=1)
    used = np.unique(triangles[near])
    low, high = (float(of) for of in (heat.temperature[used].min(), heat.temperature[used].max()))
    low, high = 10 * math.floor(low / 10), 10 * math.ceil(high / 10)
    picture = _picture([(points, triangles[near], heat.temperature)], view, low, high)
    return Shade(picture, low, high, "degC", "quick look, temperature")


def _picture(
    fields: Sequence[tuple[Floats, NDArray[np.int64], Floats]], view: View, low: float, high: float
) -> str:
    """Values on quadratic triangles as colours over a view, clear where there are none."""
    figure = new_figure(PIXELS / 100, PIXELS / 100 * view.half_height / view.half_width)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(-view.half_width, view.half_width)
    axes.set_ylim(-view.half_height, view.half_height)
    for points, triangles, values in fields:
        mesh, used = triangulated(points, triangles)
        axes.tripcolor(mesh, values[used], shading="gouraud", cmap=COLOURS, vmin=low, vmax=high)
    return picture_address(figure)


def _down_shade(case: Case, design: DesignResult, state: SolidState, clock: float) -> Shade | None:
    """Largest principal stress from deck to floor at a clock position.

    Each place has the mean of the nodes of the solid that are nearest to it.
    """
    from scipy.spatial import cKDTree

    section = design.section
    metal = on_grid(section, ray_at(section, clock).strips)
    nodes = np.concatenate([field.nodes for field in state.fields])
    values = np.concatenate([field.principal for field in state.fields])
    rows, columns = np.nonzero(metal)
    radius = section.block.bore / 2 + ACROSS * (columns + 0.5)
    angle = float(clock_to_angle(clock))
    places = np.stack(
        [radius * math.cos(angle), radius * math.sin(angle), -ACROSS * (rows + 0.5)], axis=1
    )
    away, nearest = cKDTree(state.mesh.points[nodes]).query(places, k=6)
    weights = 1 / np.maximum(away, 0.05) ** 2
    stress = (weights * values[nearest]).sum(axis=1) / weights.sum(axis=1)
    known = away[:, 0] < NEAREST
    if not known.any():
        return None
    field = np.full(metal.shape, np.nan)
    field[rows[known], columns[known]] = stress[known]
    high = round_up(max(float(np.quantile(stress[known], 0.998)), 1e-9))
    figure = new_figure(metal.shape[1] / 20, metal.shape[0] / 20)
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.imshow(field, cmap=COLOURS, vmin=0.0, vmax=high, aspect="auto")
    return Shade(picture_address(figure), 0.0, high, "MPa", "judged, largest pull")

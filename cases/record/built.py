"""A job as it was built, against what was predicted of it.

The design that the job made is solved once more with the interference that was measured, piece by
piece and side by side; a piece that was not measured has the mean of those that were: beside the
drawn one, under ``as built``. What the press did to the bore that fires was measured across
diameters: half the change of one is the mean of the radius at its two ends, so orders that are odd
don't show, and the same is taken of the predictions. The section's is a mean over its depth; the
solid's, where the run has one, is taken at the depth of each reading. Readings within the section's
depth are averaged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import CaseError, Fault, closest
from cases.bores.given import every_bore
from cases.case import Case, Design
from cases.life.given import MeasuredPiece, life_given
from cases.life.result import is_lived, service_of
from cases.life.steps import PRESSED
from cases.record.given import record_given
from cases.solid.given import solid_given, with_solid
from cases.solid.result import solid_of
from cases.store.file import Job, Line, opened
from cases.store.kinds import STAGES, inside_of, interference_of
from cases.stress.result import DesignResult
from geometry.clock import clock_to_angle
from geometry.cut_pieces import cut_pieces

Array = NDArray[np.float64]

AS_BUILT = "as built"
BEFORE, AFTER = STAGES[:2]
HALF_TURN = 6.0  # [h]
APART = 1.0  # places on the outline of a piece [mm]
HIGHEST = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltOrder:
    """One order of the bore's distortion by the press."""

    order: int
    measured_um: float  # amplitude
    predicted_um: float
    ratio: float  # of what of it lies as predicted
    solid_um: float | None = None  # predicted by the solid
    solid_ratio: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A job as built.

    Attributes
    ----------
    sides : tuple of (str, float, float, int)
        Part that a side stands against, its drawn and its measured interference on the diameter
        [um], and how many pieces were measured.
    pieces : tuple of (int, str, float)
        Number of a measured piece, the part that it stands against, its interference. [um]
    clock_hours, measured_um, predicted_um : tuple of float
        By the end of each measured diameter that comes first: radial growth by the press, the mean
        of both ends. Empty where no bore was measured before and after.
    solid_um : tuple of float
        The same as the solid has it; empty where there is none.
    ratio : float or None
        Measured over predicted, by least squares: by the solid where there is one.
    section_ratio : float or None
        By the section.
    """

    job: str
    design: str
    bore: int
    sides: tuple[tuple[str, float, float, int], ...]
    pieces: tuple[tuple[int, str, float], ...]
    clock_hours: tuple[float, ...]
    measured_um: tuple[float, ...]
    predicted_um: tuple[float, ...]
    solid_um: tuple[float, ...]
    ratio: float | None
    section_ratio: float | None
    orders: tuple[BuiltOrder, ...]
    depths: tuple[float, float] | None  # that readings were taken between [mm]


def with_built(case: Case) -> Case:
    """A case with the design that its job made as it was built beside it; else as it is.

    Raises
    ------
    CaseError
        If the case has no such design, it isn't fitted, or no bore of several is stated to fire.
    RunError
        If the record can't be read.
    """
    given = record_given(case)
    if given.store is None or given.job is None:
        return case
    with opened(given.store) as record:
        job = record.job(given.job)
    sides, made = measured_sides(job, case.block.firing_bore), job.standing("design")
    if not sides or not made:
        return case
    if every_bore(case):
        text = f"Job {job.number} was measured bore by bore: state the bore that fires."
        raise CaseError(str(case.source_path), [Fault("block.firing_bore", text)])
    drawn = _design(case, job, made[-1])
    life = life_given(case)
    if drawn.name not in life.fits:
        text = f"Its pieces were measured, and {drawn.name} has no [design.fit] in this case."
        raise CaseError(str(case.source_path), [Fault("record.job", text, job.number)])
    fit = life.fits[drawn.name]
    pieces = measured_pieces(case, drawn, job)
    changed = {
        part: replace(side, interference=float(np.mean(sides[part])))
        if part in sides and not side.bonded
        else side
        for part, side in fit.sides.items()
    }
    built = replace(
        fit,
        sides=changed,
        pressed=tuple(part for part in fit.pressed if part not in sides),
        filled=tuple(part for part in fit.filled if part not in sides),
        tolerance=0.0,
        pieces=pieces,
    )
    name = f"{drawn.name} {AS_BUILT}"
    case = replace(
        case.told("life", replace(life, fits={**life.fits, name: built})),
        designs=(*case.designs, replace(drawn, name=name)),
    )
    return with_solid(case, solid_given(case).setting, lived=solid_given(case).setting is not None)


def measured_pieces(case: Case, design: Design, job: Job) -> tuple[MeasuredPiece, ...]:
    """Pieces of a design that a job measured, each with its interference by side.

    Raises
    ------
    CaseError
        If the design has no piece of a number that was measured.
    """
    cut = {piece.number: piece for piece in cut_pieces(case.section(design))}
    sides: dict[int, dict[str, list[float]]] = {}
    for line in job.standing("piece"):
        number = int(line.said["piece"].inside)
        if number not in cut:
            text = (
                f"Line {line.number} of the job is of piece {number}, and {design.name} has "
                f"{len(cut)} of them, counted by bore and then in clock order."
            )
            raise CaseError(str(case.source_path), [Fault("record.job", text, job.number)])
        by_side = sides.setdefault(number, {})
        by_side.setdefault(str(line.said["side"].inside), []).append(interference_of(line.said))
    return tuple(
        MeasuredPiece(
            number=number,
            outline=tuple(
                (at.real, at.imag)
                for curve in cut[number].curves
                for at in curve.points(
                    np.linspace(0, 1, max(2, int(curve.length / APART) + 1))
                ).tolist()
            ),
            sides={part: float(np.mean(fits)) for part, fits in by_side.items()},
        )
        for number, by_side in sorted(sides.items())
    )


def _design(case: Case, job: Job, line: Line) -> Design:
    name, names = line.said["design"].typed, [design.name for design in case.designs]
    if name not in names:
        near = closest(name, names)
        guess = f" Did you mean {near}?" if near else ""
        text = f"The job made {name}, and this case has no such design.{guess}"
        raise CaseError(str(case.source_path), [Fault("record.job", text, job.number)])
    return case.designs[names.index(name)]


def measured_sides(job: Job, bore: int) -> dict[str, list[float]]:
    """Interferences of the pieces about a bore, by the part that they stand against. [mm]."""
    sides: dict[str, list[float]] = {}
    for line in job.standing("piece"):
        if line.said["bore"].inside == bore:
            sides.setdefault(str(line.said["side"].inside), []).append(interference_of(line.said))
    return sides


def built_of(job: Job, case: Case, designs: Sequence[DesignResult]) -> Built | None:
    """A job as built, of a solved case; None where it made none of its designs, or isn't fitted."""
    made = job.standing("design")
    if not made:
        return None
    name = made[-1].said["design"].typed
    by_name = {design.name: design for design in designs}
    solved = by_name.get(f"{name} {AS_BUILT}", by_name.get(name))
    step = service_of(solved).step(PRESSED) if solved and is_lived(solved) else None
    if solved is None or step is None:
        return None
    bore, drawn = case.block.firing_bore, life_given(case).fits.get(name)
    sides = tuple(
        (part, 1000 * drawn.sides[part].interference, 1000 * float(np.mean(fits)), len(fits))
        for part, fits in measured_sides(job, bore).items()
        if drawn and part in drawn.sides
    )
    grown = pressed_diameters(job, bore, case.section_depth)
    clocks, measured = by_clock(grown)
    depths = [depth for _, depth in grown]
    ends = np.stack([clocks, clocks + HALF_TURN]) if clocks.size else np.empty((2, 0))
    predicted = np.interp(ends, step.bore.clock_hours, step.bore.growth_um, period=12.0).mean(
        axis=0
    )
    solid = _by_solid(solved, grown)
    section_ratio = _along(measured, predicted)
    built = life_given(case).fits.get(solved.name)
    return Built(
        job=job.number,
        design=solved.name,
        bore=bore,
        sides=sides,
        clock_hours=tuple(clocks.tolist()),
        measured_um=tuple(measured.tolist()),
        predicted_um=tuple(predicted.tolist()),
        solid_um=() if solid is None else tuple(solid.tolist()),
        ratio=section_ratio if solid is None else _along(measured, solid),
        section_ratio=section_ratio,
        orders=orders_of(clocks, measured, predicted, solid),
        depths=(min(depths), max(depths)) if depths else None,
        pieces=tuple(
            (piece.number, part, 1000 * interference)
            for piece in (built.pieces if built else ())
            for part, interference in piece.sides.items()
        ),
    )


def _by_solid(solved: DesignResult, grown: Mapping[tuple[float, float], float]) -> Array | None:
    """What the solid has of measured diameters, by clock, each at its depth; None without. [um]."""
    found = solid_of(solved)
    state = found.as_made if found else None
    if state is None or state.pressed_by_depth is None:
        return None
    press, hours = state.pressed_by_depth, np.arange(360) / 30
    told = {}
    for clock, depth in grown:
        ring = [np.interp(depth, state.depth_mm, press[:, at]) for at in range(360)]
        ends = np.interp([clock, clock + HALF_TURN], hours, ring, period=12.0)
        told[clock, depth] = float(ends.mean())
    return by_clock(told)[1]


def pressed_diameters(job: Job, bore: int, deepest: float) -> dict[tuple[float, float], float]:
    """What the press did to a bore, where it was measured before and after.

    Parameters
    ----------
    deepest : float
        Readings below it don't count. [mm]

    Returns
    -------
    dict
        By clock of a diameter's first end [h] and depth [mm]: half the change of it. [um]
    """
    read: dict[str, dict[tuple[float, float], list[float]]] = {BEFORE: {}, AFTER: {}}
    for line in job.standing("bore"):
        value = inside_of(line.said)
        if value["bore"] == bore and value["stage"] in read and float(value["depth"]) <= deepest:
            place = float(value["clock"]) % HALF_TURN, float(value["depth"])
            read[str(value["stage"])].setdefault(place, []).append(float(value["diameter"]))
    return {
        place: 500 * float(np.mean(read[AFTER][place]) - np.mean(read[BEFORE][place]))
        for place in sorted(read[BEFORE].keys() & read[AFTER].keys())
    }


def by_clock(grown: Mapping[tuple[float, float], float]) -> tuple[Array, Array]:
    """Clock positions, rising [h], and the mean over depths at each, shapes (k,)."""
    told: dict[float, list[float]] = {}
    for (clock, _), growth in grown.items():
        told.setdefault(clock, []).append(growth)
    clocks = sorted(told)
    return np.array(clocks), np.array([float(np.mean(told[clock])) for clock in clocks])


def _along(measured: Array, predicted: Array) -> float | None:
    """Ratio by which a prediction comes nearest to what was measured."""
    square = float(predicted @ predicted) if predicted.size else 0.0
    return float(measured @ predicted) / square if square else None


def orders_of(
    clocks: Array, measured: Array, predicted: Array, solid: Array | None = None
) -> tuple[BuiltOrder, ...]:
    """Mean and even orders of all, as many as the measured diameters can tell apart.

    Parameters
    ----------
    clocks, measured, predicted : ndarray, shape (k,)
        As of :class:`Built`.
    solid : ndarray, shape (k,), optional
    """
    highest = min(2 * ((clocks.size - 1) // 2), HIGHEST)
    orders = range(0, highest + 1, 2) if clocks.size else range(0)
    angle = clock_to_angle(clocks)
    columns = [turn(order * angle) for order in orders for turn in _turns(order)]
    if not columns:
        return ()
    shapes = [measured, predicted, *([] if solid is None else [solid])]
    basis = np.stack(columns, axis=1)
    found = np.linalg.lstsq(basis, np.stack(shapes, axis=1), rcond=None)[0]
    told, at = [], 0
    for order in orders:
        many = len(_turns(order))
        one, *others = found[at : at + many].T
        at += many
        size = [float(np.hypot.reduce(of)) if order else float(of[0]) for of in (one, *others)]
        ratio = [_along(one, of) or 0.0 for of in others]
        told.append(
            BuiltOrder(
                order=order,
                measured_um=size[0],
                predicted_um=size[1],
                ratio=ratio[0],
                solid_um=None if solid is None else size[2],
                solid_ratio=None if solid is None else ratio[1],
            )
        )
    return tuple(told)


def _turns(order: int) -> tuple[np.ufunc, ...]:
    return (np.cos, np.sin) if order else (np.cos,)

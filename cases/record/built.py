"""A job as it was built, against what was predicted of it.

The design that the job made is solved once more with the interference that was measured, side by
side of the joint the mean of its pieces: beside the drawn one, under ``as built``. What the press
did to the bore that fires was measured across diameters: half the change of one is the mean of the
radius at its two ends, so orders that are odd don't show, and the same is taken of the prediction.
That is the section's, a mean over its depth; readings within that depth are averaged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import CaseError, Fault, closest
from cases.bores.given import every_bore
from cases.case import Case, Design
from cases.life.given import life_given
from cases.life.result import is_lived, service_of
from cases.life.steps import PRESSED
from cases.record.given import record_given
from cases.store.file import Job, Line, opened
from cases.store.kinds import STAGES, inside_of, interference_of
from cases.stress.result import DesignResult
from geometry.clock import clock_to_angle

Array = NDArray[np.float64]

AS_BUILT = "as built"
BEFORE, AFTER = STAGES[:2]
HALF_TURN = 6.0  # [h]
HIGHEST = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltOrder:
    """One order of the bore's distortion by the press."""

    order: int
    measured_um: float  # amplitude
    predicted_um: float
    ratio: float  # of what of it lies as predicted


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A job as built.

    Attributes
    ----------
    sides : tuple of (str, float, float, int)
        Part that a side stands against, its drawn and its measured interference on the diameter
        [um], and how many pieces were measured.
    clock_hours, measured_um, predicted_um : tuple of float
        By the end of each measured diameter that comes first: radial growth by the press, the mean
        of both ends. Empty where no bore was measured before and after.
    ratio : float or None
        Measured over predicted, by least squares.
    """

    job: str
    design: str
    bore: int
    sides: tuple[tuple[str, float, float, int], ...]
    clock_hours: tuple[float, ...]
    measured_um: tuple[float, ...]
    predicted_um: tuple[float, ...]
    ratio: float | None
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
        tolerance=max(float(np.ptp(fits)) / 2 for fits in sides.values()),
    )
    name = f"{drawn.name} {AS_BUILT}"
    return replace(
        case.told("life", replace(life, fits={**life.fits, name: built})),
        designs=(*case.designs, replace(drawn, name=name)),
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
    clocks, measured, depths = pressed_diameters(job, bore, case.section_depth)
    ends = np.stack([clocks, clocks + HALF_TURN]) if clocks.size else np.empty((2, 0))
    predicted = np.interp(ends, step.bore.clock_hours, step.bore.growth_um, period=12.0).mean(
        axis=0
    )
    return Built(
        job=job.number,
        design=solved.name,
        bore=bore,
        sides=sides,
        clock_hours=tuple(clocks.tolist()),
        measured_um=tuple(measured.tolist()),
        predicted_um=tuple(predicted.tolist()),
        ratio=_along(measured, predicted),
        orders=orders_of(clocks, measured, predicted),
        depths=depths,
    )


def pressed_diameters(
    job: Job, bore: int, deepest: float
) -> tuple[Array, Array, tuple[float, float] | None]:
    """What the press did to a bore, where it was measured before and after.

    Parameters
    ----------
    deepest : float
        Readings below it don't count. [mm]

    Returns
    -------
    clocks : ndarray, shape (k,)
        Of the diameters' first ends, rising. [h]
    growth : ndarray, shape (k,)
        Half the change of the diameter, the mean over depths. [um]
    depths : (float, float) or None
        Least and largest that count. [mm]
    """
    read: dict[str, dict[tuple[float, float], list[float]]] = {BEFORE: {}, AFTER: {}}
    for line in job.standing("bore"):
        value = inside_of(line.said)
        if value["bore"] == bore and value["stage"] in read and float(value["depth"]) <= deepest:
            place = float(value["clock"]) % HALF_TURN, float(value["depth"])
            read[str(value["stage"])].setdefault(place, []).append(float(value["diameter"]))
    both = sorted(read[BEFORE].keys() & read[AFTER].keys())
    grown: dict[float, list[float]] = {}
    for place in both:
        change = np.mean(read[AFTER][place]) - np.mean(read[BEFORE][place])
        grown.setdefault(place[0], []).append(500 * float(change))
    clocks = np.array(sorted(grown))
    depths = [depth for _, depth in both]
    return (
        clocks,
        np.array([float(np.mean(grown[clock])) for clock in clocks.tolist()]),
        (min(depths), max(depths)) if depths else None,
    )


def _along(measured: Array, predicted: Array) -> float | None:
    """Ratio by which a prediction comes nearest to what was measured."""
    square = float(predicted @ predicted) if predicted.size else 0.0
    return float(measured @ predicted) / square if square else None


def orders_of(clocks: Array, measured: Array, predicted: Array) -> tuple[BuiltOrder, ...]:
    """Mean and even orders of both, as many as the measured diameters can tell apart.

    Parameters
    ----------
    clocks, measured, predicted : ndarray, shape (k,)
        As of :func:`pressed_diameters`.
    """
    highest = min(2 * ((clocks.size - 1) // 2), HIGHEST)
    orders = range(0, highest + 1, 2) if clocks.size else range(0)
    angle = clock_to_angle(clocks)
    columns = [turn(order * angle) for order in orders for turn in _turns(order)]
    if not columns:
        return ()
    basis = np.stack(columns, axis=1)
    both = np.linalg.lstsq(basis, np.stack([measured, predicted], axis=1), rcond=None)[0]
    told, at = [], 0
    for order in orders:
        many = len(_turns(order))
        one, other = both[at : at + many].T
        at += many
        told.append(
            BuiltOrder(
                order=order,
                measured_um=float(np.hypot.reduce(one)) if order else float(one[0]),
                predicted_um=float(np.hypot.reduce(other)) if order else float(other[0]),
                ratio=_along(one, other) or 0.0,
            )
        )
    return tuple(told)


def _turns(order: int) -> tuple[np.ufunc, ...]:
    return (np.cos, np.sin) if order else (np.cos,)

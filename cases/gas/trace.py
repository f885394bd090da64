"""A measured trace of the cylinder's pressure: its cycles, their mean and the scatter of peaks.

Columns of text: the crank angle, then the pressure, a column for each cycle where there are more;
cycles may stand one under another too, the angle running on or beginning anew. The unit of each
column stands in the heading, such as ``angle [deg]; pressure [bar abs]``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cases.base.units import PRESSURE
from cases.gas.curve import PressureCurve
from cases.gas.cylinder import ATMOSPHERE, Array, Crank

CYCLE = 720.0  # two turns of a four-stroke engine [deg]
COARSEST = 5.0
"""Largest step between two angles: a burn lasts some 40 degrees. [deg]."""
GAP = 1.5
"""A step of more than so many times the usual one is a gap."""
PEAK_WITHIN = (-30.0, 90.0)
"""Where a cycle can peak: from early burn to late burn or plain compression. [deg]."""
PEAKS = (0.5, 50.0)
"""Mean peaks of any cylinder, from plain compression to a record; absolute. [MPa]."""
SPIKE = 2.5
"""A cycle that peaks at so many times the mean is a fault of the sensor, not of the burn."""
SPREAD = 3.0
"""Standard deviations above the mean peak that are counted: one cycle in 740 of a normal scatter
peaks higher (common practice for a peak to design by, no source)."""
FEWEST = 20  # cycles below which a scatter is hardly known (common practice, no source)
LARGEST = 100_000_000  # of a file [bytes]

_NUMBER = re.compile(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?", re.ASCII)
_FIRST_NUMBER = re.compile(r"^\s*\"?[+-]?[.,]?\d", re.MULTILINE)
_ANGLE_UNIT = re.compile(r"°|(?<![a-z])deg")


class TraceError(ValueError):
    """A trace can't be used; the message says why, and what would mend it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Scatter:
    """Peaks of the measured cycles."""

    cycles: int
    mean: float  # of the peaks, absolute [MPa]
    deviation: float  # standard, of the peaks [MPa]
    of_mean: float  # peak of the mean cycle, which is lower where peaks fall at unlike angles [MPa]

    @property
    def share(self) -> float:
        """Standard deviation over the mean."""
        return self.deviation / self.mean

    @property
    def allowance(self) -> float:
        """What the mean cycle is multiplied by: mean and ``SPREAD`` deviations over its peak."""
        return (self.mean + SPREAD * self.deviation) / self.of_mean


@dataclass(frozen=True, eq=False, kw_only=True)
class Trace:
    """The mean cycle of a trace."""

    deg: Array  # after the top of the firing stroke, from -360 up, (n,)
    pressure: Array  # absolute, (n,) [MPa]
    scatter: Scatter | None  # None of one cycle
    cycles: int
    absolute: bool  # what the sensor reads; else above the atmosphere
    told: bool  # whether the heading says which
    turned: bool  # whether its angles count the firing top as 360

    def curve(self, crank: Crank) -> PressureCurve:
        """Of a crank."""
        most = int(np.argmax(self.pressure))
        return PressureCurve(
            crank=crank, deg=self.deg, pressure=self.pressure,
            peak=float(self.pressure[most]), peak_deg=float(self.deg[most]),
        )  # fmt: skip


def read_trace(path: Path, absolute: bool | None = None) -> Trace:
    """Read a trace.

    Parameters
    ----------
    path : Path
    absolute : bool, optional
        Whether it reads absolute pressure, where its heading doesn't say; if neither does, it is
        taken to read above the atmosphere, which is the heavier load.

    Raises
    ------
    TraceError
        If it can't be read or is no trace of whole cycles.
    """
    try:
        if path.stat().st_size > LARGEST:
            raise TraceError(f"It is larger than {LARGEST // 10**6} MB. Give fewer cycles.")
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise TraceError(
            f"There is no file {path.name} beside the case file. Give its path from there."
        ) from None
    except UnicodeDecodeError:
        raise TraceError("It is not text in UTF-8. Save the columns as plain text.") from None
    except OSError as error:
        raise TraceError(f"It can't be read: {error.strerror}.") from None
    headings, rows, first = _columns(text)
    unit, said = _units(headings)
    if said is not None and absolute is not None and said != absolute:
        raise TraceError(
            f"Its heading says {_named(said)}, reference says {_named(absolute)}. Leave one out."
        )
    deg, pressure = rows[:, 0], rows[:, 1:] * PRESSURE.units[unit]
    reads = said if said is not None else bool(absolute)
    pressure = pressure if reads else pressure + ATMOSPHERE
    _check_pressure(pressure, rows[:, 1:], first, unit)
    return _trace(deg, pressure, first, reads, said is not None or absolute is not None)


def _named(absolute: bool) -> str:
    return "absolute" if absolute else "gauge"


def _columns(text: str) -> tuple[list[str], Array, int]:
    """Headings, values (rows, columns), and the number of the first line of values."""
    lines = text.splitlines()
    start = next((row for row, line in enumerate(lines) if _FIRST_NUMBER.match(line)), None)
    if start is None:
        raise TraceError("There are no numbers in it. Give a heading and two columns.")
    split = next((sign for sign in "\t;" if sign in lines[start]), ",")
    if start == 0:
        raise TraceError(
            "It has no heading, so nothing says its units. Put one above the numbers, such as "
            "angle [deg];pressure [bar abs]."
        )
    headed = [line.split(split) for line in lines[:start] if line.strip()]
    values, wide = [], 0
    for row, line in enumerate(lines[start:], start + 1):
        if not line.strip():
            continue
        cells = [cell.strip(' "') for cell in line.rstrip().rstrip(split).split(split)]
        wide = wide or len(cells)
        if wide < 2:
            raise TraceError(
                f"Line {row} has one column. Give the angle and the pressure, parted by comma, "
                "semicolon or tab."
            )
        if len(cells) != wide or not all(map(_NUMBER.fullmatch, cells)):
            raise TraceError(
                f'Line {row} has a gap: "{line.strip():.40}" is not {wide} numbers. Fill or take '
                "out what is missing, cycle by cycle."
            )
        values.append([float(cell.replace(",", ".")) for cell in cells])
    names = [" ".join(row[at] for row in headed if at < len(row)) for at in range(wide)]
    return names, np.array(values), start + 1


def _units(headings: Sequence[str]) -> tuple[str, bool | None]:
    """Unit of the pressure, and whether it is absolute, where that is said."""
    angle = headings[0].lower()
    if not _ANGLE_UNIT.search(angle):
        raise TraceError(
            f'The heading "{headings[0].strip():.40}" gives no unit of the crank angle that is '
            "read. Give degrees, and write it like angle [deg]."
        )
    found = {_pressure_unit(one) for one in headings[1:] if one.strip()}
    if len(found) != 1 or None in found:
        words = ", ".join(f'"{one.strip():.40}"' for one in headings[1:3])
        raise TraceError(
            f"The heading {words} gives no unit of the pressure, or several. Write it like "
            f"pressure [bar abs]; allowed are {', '.join(PRESSURE.units)}, with abs or gauge "
            "behind."
        )
    (one,) = found
    assert one is not None
    return one


def _pressure_unit(heading: str) -> tuple[str, bool | None] | None:
    """Unit and reference that the words of a heading give, such as "bar(a)", "psig", "kPa abs"."""
    unit: str | None = None
    said: bool | None = None
    known = {one.lower(): one for one in PRESSURE.units}
    for word in re.findall(r"[a-z]+", heading.lower()):
        if word in known:
            unit = known[word]
        elif word[:-1] in known and word[-1] in "ag":
            unit, said = known[word[:-1]], word[-1] == "a"
        elif word in ("abs", "absolute", "gauge") or (unit and word in ("a", "g", "relative")):
            said = word.startswith("a")
    return None if unit is None else (unit, said)


def _check_pressure(pressure: Array, written: Array, first: int, unit: str) -> None:
    if pressure.min() >= 0:
        return
    row, column = np.unravel_index(int(np.argmin(pressure)), pressure.shape)
    raise TraceError(
        f"Row {row + 1} of its numbers, line {first + row}, is a negative absolute pressure, "
        f"{10 * pressure[row, column]:.4g} bar: {written[row, column]:g} {unit} stands there. "
        "Shift the sensor's zero, or say in the heading whether it is abs or gauge."
    )


def _trace(deg: Array, pressure: Array, first: int, absolute: bool, told: bool) -> Trace:
    """The mean cycle of angles as written (rows,) and absolute pressures (rows, columns)."""
    running, step = _running(deg, first)
    if running[-1] - running[0] + step < CYCLE - 0.01 * step:
        raise TraceError(
            f"It covers {running[-1] - running[0]:g} degrees, less than one cycle. Give at least "
            f"one whole cycle of {CYCLE:g} degrees, two turns of a four-stroke engine."
        )
    top, turned = _top(running, pressure.mean(axis=1))
    cycles = _cycles(running - top, pressure, step)
    grid = np.arange(-CYCLE / 2, CYCLE / 2, step)
    curves = np.array([np.interp(grid, at, of, period=CYCLE) for at, of in cycles])
    mean, peaks = curves.mean(axis=0), np.array([of.max() for _, of in cycles])
    _check_peaks(peaks, float(mean.max()))
    scatter = None
    if len(peaks) > 1:
        scatter = Scatter(
            cycles=len(peaks), mean=float(peaks.mean()), deviation=float(peaks.std(ddof=1)),
            of_mean=float(mean.max()),
        )  # fmt: skip
    return Trace(
        deg=grid, pressure=mean, scatter=scatter, cycles=len(peaks), absolute=absolute, told=told,
        turned=turned,
    )  # fmt: skip


def _running(deg: Array, first: int) -> tuple[Array, float]:
    """Angles that run on from cycle to cycle, and the usual step between them."""
    turn = np.diff(deg)
    step = float(np.median(turn)) if len(turn) else 0.0
    if step <= 0:
        raise TraceError("Its crank angles don't rise. Give them in order of time.")
    if step > COARSEST:
        raise TraceError(
            f"Its crank angles are {step:g} degrees apart. At most {COARSEST:g} are allowed: "
            "a peak would fall between them."
        )
    anew = (turn < 0) & (np.abs(turn + CYCLE) <= GAP * step)
    turn = turn + CYCLE * anew
    wrong = np.flatnonzero((turn <= 0) | (turn > GAP * step))
    if len(wrong):
        at = int(wrong[0])
        what = "a gap" if turn[at] > 0 else "an angle out of order"
        raise TraceError(
            f"Line {first + at + 1} has {what}: the crank angle goes from {deg[at]:g} to "
            f"{deg[at + 1]:g} degrees, the usual step is {step:g}. Angles must rise evenly; a new "
            f"cycle may begin anew after {CYCLE:g} degrees."
        )
    return deg[0] + np.append(0.0, np.cumsum(turn)), step


def _top(running: Array, pressure: Array) -> tuple[float, bool]:
    """Angle, as written, of a firing top, and whether that is 360."""
    at = float(running[int(np.argmax(pressure))]) % CYCLE
    low, high = PEAK_WITHIN
    for top in (0.0, CYCLE / 2, CYCLE):
        if low <= at - top <= high:
            return top, top == CYCLE / 2
    raise TraceError(
        f"It peaks at {at:g} degrees, and a cylinder does so from {-low:g} before to {high:g} "
        "degrees after a top. Count the crank angle from the top of the firing stroke."
    )


def _cycles(deg: Array, pressure: Array, step: float) -> list[tuple[Array, Array]]:
    """Angles and pressure of each whole cycle, cut at gas exchange where that leaves any.

    One cycle that begins elsewhere is whole as it stands, angles of either end side by side.
    """
    start = (np.ceil((deg[0] - 1e-6 * step) / CYCLE + 0.5) - 0.5) * CYCLE
    whole = int((deg[-1] + step - start) / CYCLE + 1e-3)
    if whole < 1:
        start, whole = deg[0], int((deg[-1] + step - deg[0]) / CYCLE + 1e-3)
    found = []
    for number in range(whole):
        low = start + number * CYCLE
        inside = (deg >= low - 1e-6 * step) & (deg < low + CYCLE - 1e-6 * step)
        found += [(deg[inside], column) for column in pressure[inside].T]
    return found


def _check_peaks(peaks: Array, mean: float) -> None:
    least, most = PEAKS
    if not least <= mean <= most:
        raise TraceError(
            f"Its mean cycle peaks at {10 * mean:.4g} bar absolute, outside {10 * least:g} to "
            f"{10 * most:g} bar. Check the unit in its heading."
        )
    worst = int(np.argmax(peaks))
    if peaks[worst] > SPIKE * float(np.median(peaks)):
        raise TraceError(
            f"Cycle {worst + 1} peaks at {10 * peaks[worst]:.0f} bar absolute, {SPIKE:g} times the "
            f"median of {10 * float(np.median(peaks)):.0f} bar or more: a fault of the sensor, or "
            "detonation that no block is rated for. Take that cycle out."
        )

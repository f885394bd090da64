"""From a job's lines to what its engine says of strength.

Fatigue wears an engine in proportion to its cycles and to a power of its load (Miner's rule,
Palmgren 1924 and Miner 1945; Basquin 1910: from memory): all of its runs together use as much as
the predicted cycles at one load, its *used* load, over the limit that half the draws carry.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from cases.store.file import Job, Line
from cases.store.kinds import CRACK, KNOWN, cycles_of

NORMAL_95 = 1.6448536269514722
"""95 % of a normal distribution stay below so many standard deviations (any table of it)."""
USUAL_SLOPE = 0.1
"""Of a limit against cycles on logarithms, where a prediction tells none: Basquin exponents of
aluminium are 0.05 to 0.15 (common practice, no source)."""
USUAL_CYCLES = 1e7


@dataclass(frozen=True, slots=True, kw_only=True)
class Prediction:
    """What was predicted of a design: three values each, what 5, 50 and 95 % of draws stay below.

    Attributes
    ----------
    factor : tuple of float
        On the gas load of the case.
    pressure_mpa, power_kw : tuple of float or None
        The same as peaks of the mean cycle and as power; None where they can't be told.
    cycles : float
        That the limit is for.
    slope : float
        Of the logarithm of the limit against that of the cycles, positive; 0 where no cycles count.
    """

    factor: tuple[float, ...]
    pressure_mpa: tuple[float, ...] | None
    power_kw: tuple[float, ...] | None
    cycles: float
    slope: float

    @property
    def spread(self) -> float:
        """Standard deviation of the logarithm of the limit, by its outer values."""
        return math.log(self.factor[2] / self.factor[0]) / (2 * NORMAL_95)


@dataclass(frozen=True, slots=True, kw_only=True)
class Engine:
    """What one engine says: the logarithm of its used load, over its predicted limit.

    Attributes
    ----------
    low : float
        That it was last seen sound at; minus infinity where it never was.
    high : float
        That it was seen cracked at; infinite of one that lives, ``low`` where the moment is known.
    spread : float
        Of its predicted limit.
    runs : tuple of (float, float)
        Load over the predicted limit, and cycles, of each run that it was last seen sound after.
    """

    job: str
    design: str
    low: float
    high: float
    spread: float
    runs: tuple[tuple[float, float], ...] = ()

    @property
    def cracked(self) -> bool:
        """Whether it failed."""
        return math.isfinite(self.high)

    @property
    def words(self) -> str:
        """What became of it."""
        if not self.cracked:
            return "sound"
        return "cracked then" if self.low == self.high else "found cracked"


def prediction_of(line: Line) -> Prediction | str:
    """What a design's line predicts, or why it can't be used."""
    said = line.said
    if "predicted" in said:
        found = json.loads(str(said["predicted"].inside))
        told = Prediction(
            factor=tuple(found["factor"]),
            pressure_mpa=_three(found["pressure_mpa"]),
            power_kw=_three(found["power_kw"]),
            cycles=found["cycles"],
            slope=found["slope"],
        )
    elif "limit" in said:
        low, middle, high = (float(said[name].inside) for name in ("low", "limit", "high"))
        told = Prediction(
            factor=(low / middle, 1.0, high / middle),
            pressure_mpa=(low, middle, high),
            power_kw=None,
            cycles=float(said["limit_cycles"].inside) if "limit_cycles" in said else USUAL_CYCLES,
            slope=USUAL_SLOPE,
        )
    else:
        return "no limit was predicted of its design"
    if not 0 < told.factor[0] < told.factor[1] < told.factor[2]:
        return "the band of its predicted limit is no band: part of it is zero"
    return told


def _three(values: Sequence[float | None] | None) -> tuple[float, ...] | None:
    if values is None or None in values:
        return None
    return tuple(float(value) for value in values if value is not None)


def load_share(line: Line, told: Prediction) -> float | None:
    """Load of a run over the predicted limit; None where the two can't be compared.

    Between and beyond the three told values factor and pressure, or power, are in proportion on
    logarithms.
    """
    name, limits = ("peak", told.pressure_mpa) if "peak" in line.said else ("power", told.power_kw)
    if limits is None or not 0 < limits[0] < limits[1] < limits[2]:
        return None
    place = math.log(float(line.said[name].inside))
    known = [math.log(value) for value in limits]
    factors = [math.log(value) for value in told.factor]
    at = 0 if place < known[1] else 1
    slope = (factors[at + 1] - factors[at]) / (known[at + 1] - known[at])
    return math.exp(factors[1] + slope * (place - known[1]) - factors[1])


def used_load(runs: Iterable[tuple[float, float]], cycles: float, slope: float) -> float:
    r"""Logarithm of the load that uses as much in ``cycles`` as some runs together.

    .. math:: y = k \ln \sum_j \frac{n_j}{N} x_j^{1/k}

    The largest of the loads where the slope k is 0; minus infinity of no run.

    Parameters
    ----------
    runs : iterable of (float, float)
        Load x over the predicted limit, and cycles n.
    cycles : float
        N that the limit is for.
    slope : float
        k.

    Examples
    --------
    >>> used_load([(1.0, 1e7)], 1e7, 0.1)
    0.0
    >>> used_load([(0.8, 1e6)], 1e7, 0.1) == used_load([(0.8, 5e5), (0.8, 5e5)], 1e7, 0.1)
    True
    """
    runs = list(runs)
    if not runs:
        return -math.inf
    if slope == 0:
        return max(math.log(share) for share, _ in runs)
    terms = [math.log(number / cycles) + math.log(share) / slope for share, number in runs]
    top = max(terms)
    return slope * (top + math.log(sum(math.exp(term - top) for term in terms)))


def engine_of(job: Job) -> Engine | str:
    """What a job's engine says of strength, or why it says nothing.

    It lives up to where it was last opened with no crack: what ran since may have cracked it
    unseen. A leak and a loose piece are no crack. It ends at its first crack.
    """
    designs = job.standing("design")
    if not designs:
        return "no design is on record"
    told = prediction_of(designs[-1])
    if isinstance(told, str):
        return told
    runs: list[tuple[float, float]] = []
    sound, seen, low, high = -math.inf, 0, -math.inf, math.inf
    opened = False
    for line in job.standing():
        if line.kind == "run":
            share, cycles = load_share(line, told), cycles_of(line.said)
            if share is None or cycles is None:
                return f"the load of line {line.number} can't be set against its predicted limit"
            runs.append((share, cycles))
        elif line.kind == "opened":
            opened = True
            used = used_load(runs, told.cycles, told.slope)
            if line.said["found"].inside != CRACK:
                sound, seen = used, len(runs)
                continue
            known = "moment" in line.said and line.said["moment"].inside == KNOWN
            low, high = (used, used) if known else (sound, used)
            break
    if not runs:
        return "no run is on record"
    if not opened:
        return "it was never opened"
    if not math.isfinite(high):
        low = sound
    if not math.isfinite(max(low, high if math.isfinite(high) else low)):
        return "it was opened before its first run only"
    return Engine(
        job=job.number,
        design=designs[-1].said["design"].typed,
        low=low,
        high=high,
        spread=told.spread,
        runs=tuple(runs[:seen]),
    )


def engines_of(jobs: Iterable[Job]) -> tuple[list[Engine], dict[str, str]]:
    """What the engines of all jobs say, and why others say nothing, by job."""
    engines, silent = [], {}
    for job in jobs:
        found = engine_of(job)
        if isinstance(found, Engine):
            engines.append(found)
        else:
            silent[job.number] = found
    return engines, silent

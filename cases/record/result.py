"""What the record said of a rated case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from cases.rating.result import Stands
from cases.record.built import Built
from cases.record.engines import Engine

if TYPE_CHECKING:
    from cases.stress.result import CaseResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Success:
    """What engines say that live, of a design at the asked load."""

    engines: int  # that ran at no less of their predicted limits
    cycles: float  # at such loads, of the one that has fewest
    pulls: float | None  # the same; None where the speed isn't known
    share: float  # that fails at most in as many, with ``CONFIDENCE``
    by_life: float | None  # the same, longer runs counted for more; None where some failed
    slope: float  # Weibull's, by which they are
    failed: int = 0  # beside them, at whatever load


@dataclass(frozen=True, slots=True, kw_only=True)
class Restated:
    """The limit of a design, with what the shop's engines say.

    Three values each: what 5, 50 and 95 % stay below.
    """

    design: str
    shop_factor: tuple[float, ...]  # on strength
    prior_factor: tuple[float, ...]  # the same before any engine
    shifts: tuple[float, ...]  # of each engine: the shop's factor with it over without it, less 1
    limit: Stands | None  # unstated
    restated: Stands | None
    band: tuple[float, ...]  # factor on the gas load, unstated
    restated_band: tuple[float, ...]
    band_mpa: tuple[float, ...] | None  # the same as peaks of the mean cycle, where they are known
    restated_band_mpa: tuple[float, ...] | None
    success: Success | None  # None where none that lives ran so hard


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFinding:
    """What a record said of a case."""

    store: Path
    jobs: int
    engines: tuple[Engine, ...]  # that say something of strength
    silent: Mapping[str, str]  # why others don't, by job
    designs: tuple[Restated, ...]  # with a band, in the order of the case
    unbanded: tuple[str, ...] = ()  # rated designs that have no band to restate
    built: Built | None = None  # the job that the case is of
    ratios: Mapping[str, float] = field(default_factory=dict)  # of distortion, by job
    distortion: tuple[float, ...] = (1.0, 1.0, 1.0)  # what 5, 50, 95 % of the factor stay below

    @property
    def cracked(self) -> int:
        """How many cracked."""
        return sum(engine.cracked for engine in self.engines)


def record_of(result: CaseResult) -> RecordFinding | None:
    """What a record said of a solved case, if one was asked."""
    found = result.found.get("record")
    return found if isinstance(found, RecordFinding) else None

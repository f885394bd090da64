"""The gas load, as a case file states it: a measured trace, an engine, or a peak pressure."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.gas.cycle import Engine
from cases.gas.cylinder import ATMOSPHERE
from cases.gas.thrust import Piston
from cases.gas.trace import Scatter, Trace


@dataclass(frozen=True, kw_only=True, slots=True)
class EngineInput:
    """An engine, and what it is to give."""

    engine: Engine  # its intake pressure is 0 where it is not stated
    power: float | None  # wanted, to find the boost for [kW]
    top_ring: float  # below the piston crown [mm]
    crown_below_deck: float  # at the top [mm]
    piston: Piston
    ring_heat: float  # share of the piston's heat that its rings bring to the bore
    crankcase: float = ATMOSPHERE  # absolute [MPa]
    speed_stated: bool = True
    assumed: tuple[
        tuple[str, str], ...
    ] = ()  # keys that the case leaves out, and what stands for it


@dataclass(frozen=True, kw_only=True, slots=True)
class GasInput:
    """What a case states of its gas: a trace, a peak pressure or an engine that gives it."""

    peak_pressure: float = 0.0  # stated, above the atmosphere, without the factor [MPa]
    pressurised_depth: float | None = None  # that the peak is on at once; None: by crank angle [mm]
    factor: float = 1.0  # of detonation
    trace: Trace | None = None
    engine: EngineInput | None = None  # None where the peak is on a stated depth
    absolute: bool = False  # what a sensor reads, and a limit is told in; else gauge
    assumed: tuple[tuple[str, str], ...] = ()  # keys of [gas]

    @property
    def scatter(self) -> Scatter | None:
        """Of the peaks of a trace of several cycles."""
        return self.trace.scatter if self.trace else None


def gas_given(case: Case) -> GasInput:
    """What a case states of its gas."""
    return case.given["gas"]  # type: ignore[no-any-return]


def all_assumed(given: GasInput) -> tuple[tuple[str, str], ...]:
    """Keys of a case that it leaves out, with their table, and what stands for them."""
    engine = given.engine.assumed if given.engine else ()
    return (
        *((f"gas.{key}", words) for key, words in given.assumed),
        *((f"engine.{key}", words) for key, words in engine),
    )

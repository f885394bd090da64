"""The gas load, as a case file states it: a peak pressure, or an engine."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.gas.cycle import Engine
from cases.gas.cylinder import ATMOSPHERE


@dataclass(frozen=True, kw_only=True, slots=True)
class EngineInput:
    """An engine, and what it is to give."""

    engine: Engine  # its intake pressure is 0 where a power is wanted
    power: float | None  # wanted, to find the boost for [kW]
    top_ring: float  # below the piston crown [mm]
    crown_below_deck: float  # at the top [mm]
    crankcase: float = ATMOSPHERE  # absolute [MPa]
    assumed: tuple[
        tuple[str, str], ...
    ] = ()  # keys that the case leaves out, and what stands for it


@dataclass(frozen=True, kw_only=True, slots=True)
class GasInput:
    """What a case states of its gas: a peak pressure or an engine."""

    peak_pressure: float = 0.0  # without the factor; not of an engine [MPa]
    pressurised_depth: float | None = None  # None: all of H [mm]
    factor: float = 1.0  # of detonation or scatter
    engine: EngineInput | None = None


def gas_given(case: Case) -> GasInput:
    """What a case states of its gas."""
    return case.given["gas"]  # type: ignore[no-any-return]

"""The gas load on the section: of a trace, a peak pressure, or an engine's cycle."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cases.base.faults import CaseError, Fault
from cases.base.subject import Solved
from cases.case import Case
from cases.gas.curve import PressureCurve
from cases.gas.cycle import Cycle, EngineError, run_engine, run_engine_for
from cases.gas.cylinder import ATMOSPHERE
from cases.gas.given import EngineInput, GasInput, gas_given
from cases.gas.trace import Scatter
from cases.gas.wall_load import WallLoad

DETONATION = 1.3
"""Factor that a limit is also told for where a case gives none (common practice, no source)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class GasLoad:
    """What the gas does to the bore wall that fires."""

    peak_pressure: float  # on the wall, with the case's factor and scatter [MPa]
    pressurised_depth: float  # from the deck down; by crank angle that over which the peak pressure
    # would load the section as its worst crank angle does [mm]
    factor: float = 1.0  # of detonation and scatter, in ``peak_pressure`` already
    wall_load: WallLoad | None = None  # by crank angle; None of a static load
    wanted_power: float | None = None  # that its boost was found for [kW]
    scatter: Scatter | None = None  # of the cycles of a trace
    absolute: bool = False  # what a sensor reads; else above the atmosphere
    speed: float | None = None  # where the case states it [rpm]

    @property
    def line_load(self) -> float:
        """Load on the bore wall, q = integral of p(z) dz over 0..H. [N/mm]."""
        return self.peak_pressure * self.pressurised_depth

    @property
    def cycle(self) -> Cycle | None:
        """The cycle of an engine, where it is worked out."""
        return self.wall_load.cycle if self.wall_load else None

    @property
    def detonation(self) -> float:
        """The case's own part of the factor."""
        return self.factor / (self.scatter.allowance if self.scatter else 1.0)

    @property
    def smooth(self) -> bool:
        """Whether neither scatter nor a factor of detonation is counted."""
        return self.factor == 1

    def read(self, wall: float, factor: float | None = None) -> float:
        """Peak of the mean cycle, as a sensor reads it, that puts a pressure on the wall.

        Factor and scatter, which raise the one to the other, are taken out.

        Parameters
        ----------
        wall : float
            Peak on the wall. [MPa]
        factor : float, optional
            In place of the load's own.

        Returns
        -------
        float
            [MPa]; at least 0.
        """
        behind = self.wall_load.crankcase if self.wall_load else 0.0
        air = ATMOSPHERE if self.wall_load else 0.0
        gauge = (wall + behind) / (factor or self.factor) - air
        return max(gauge + (ATMOSPHERE if self.absolute else 0.0), 0.0)


def at_load(gas: GasLoad, factor: float) -> GasLoad | None:
    """The load of the cycle that loads the section a factor as much; None where none does.

    The same engine with more or less in the intake. Of a worked-out cycle only.

    Parameters
    ----------
    gas : GasLoad
    factor : float
        On the line load.
    """
    load, asked = gas.wall_load, gas.cycle
    if load is None or asked is None:
        return None
    try:
        cycle = run_engine_for(
            asked.engine,
            factor * gas.line_load,
            lambda one: load.of(one).line_load,
            "N/mm",
            "load on the section",
        )
    except EngineError:
        return None
    other = load.of(cycle)
    return replace(
        gas,
        peak_pressure=other.peak,
        pressurised_depth=other.line_load / other.peak,
        wall_load=other,
        wanted_power=None,
    )


def gas_of(result: Solved) -> GasLoad:
    """The gas load of a solved case."""
    return result.found["gas"]  # type: ignore[no-any-return]


def gas_load(case: Case) -> GasLoad:
    """The gas load of a case; an engine's cycle is run.

    Raises
    ------
    CaseError
        If the engine can't give what is asked of it, or its gas doesn't load the wall.
    """
    given = gas_given(case)
    if given.pressurised_depth is not None:
        return GasLoad(
            peak_pressure=given.peak_pressure * given.factor,
            pressurised_depth=given.pressurised_depth,
            factor=given.factor,
            absolute=given.absolute,
        )
    assert given.engine is not None
    scatter = given.scatter
    factor = given.factor * (scatter.allowance if scatter else 1.0)
    load = _wall_load(case, given, given.engine, factor)
    return GasLoad(
        peak_pressure=load.peak,
        pressurised_depth=load.line_load / load.peak,
        factor=factor,
        wall_load=load,
        wanted_power=given.engine.power,
        scatter=scatter,
        absolute=given.absolute,
        speed=given.engine.engine.speed if given.engine.speed_stated else None,
    )


def _wall_load(case: Case, given: GasInput, engine: EngineInput, factor: float) -> WallLoad:
    """What the gas does to the bore wall by crank angle."""
    cycle = None
    if given.trace is not None:
        curve = given.trace.curve(engine.engine.crank)
    elif given.peak_pressure:
        curve = _shape(case, engine).scaled(given.peak_pressure + ATMOSPHERE)
    else:
        cycle = _cycle(case, engine)
        curve = cycle.curve
    load = WallLoad(
        curve=curve,
        top_ring=engine.top_ring,
        crown_below_deck=engine.crown_below_deck,
        section_depth=case.section_depth,
        factor=factor,
        crankcase=engine.crankcase,
        cycle=cycle,
        ring_heat=engine.ring_heat,
    )
    if load.line_load <= 0:
        text = (
            f"The gas peaks at {10 * curve.peak:.2f} bar, which is not above the crankcase's "
            f"{10 * load.crankcase:g} bar, so nothing loads the wall. Give more "
            f"{'intake_pressure' if cycle else 'pressure'}, or less crankcase_pressure."
        )
        raise CaseError(str(case.source_path), [Fault("engine", text)])
    return load


def _shape(case: Case, given: EngineInput) -> PressureCurve:
    """The cycle whose shape a stated peak has."""
    try:
        return run_engine(given.engine).curve
    except EngineError as error:
        raise _refused(case, error) from None


def _cycle(case: Case, given: EngineInput) -> Cycle:
    """The cycle of an engine, as its intake pressure or its power asks."""
    try:
        if given.power is None:
            return run_engine(given.engine)
        return run_engine_for(given.engine, given.power, lambda one: one.power, "kW", "power")
    except EngineError as error:
        raise _refused(case, error) from None


def _refused(case: Case, error: EngineError) -> CaseError:
    path = f"engine.{error.key}" if error.key else "engine"
    return CaseError(str(case.source_path), [Fault(path, str(error))])

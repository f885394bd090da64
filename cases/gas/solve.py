"""The gas load on the section: of a stated peak, or of an engine's cycle."""

from __future__ import annotations

from dataclasses import dataclass

from cases.base.faults import CaseError, Fault
from cases.base.subject import Solved
from cases.case import Case
from cases.gas.cycle import EngineError, run_engine, run_engine_for
from cases.gas.given import EngineInput, gas_given
from cases.gas.wall_load import WallLoad


@dataclass(frozen=True, kw_only=True, slots=True)
class GasLoad:
    """What the gas does to the bore wall that fires."""

    peak_pressure: float  # on the wall, with the case's factor [MPa]
    pressurised_depth: float  # from the deck down; of an engine that over which its peak pressure
    # would load the section as its worst crank angle does [mm]
    factor: float = 1.0  # in ``peak_pressure`` already
    wall_load: WallLoad | None = None  # of an engine
    wanted_power: float | None = None  # that its boost was found for [kW]

    @property
    def line_load(self) -> float:
        """Load on the bore wall, q = integral of p(z) dz over 0..H. [N/mm]."""
        return self.peak_pressure * self.pressurised_depth


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
    if given.engine is None:
        depth = given.pressurised_depth
        return GasLoad(
            peak_pressure=given.peak_pressure * given.factor,
            pressurised_depth=case.section_depth if depth is None else depth,
            factor=given.factor,
        )
    load = _wall_load(case, given.engine, given.factor)
    return GasLoad(
        peak_pressure=load.peak,
        pressurised_depth=load.line_load / load.peak,
        factor=given.factor,
        wall_load=load,
        wanted_power=given.engine.power,
    )


def _wall_load(case: Case, given: EngineInput, factor: float) -> WallLoad:
    """What the engine does to the bore wall."""
    try:
        if given.power is None:
            cycle = run_engine(given.engine)
        else:
            cycle = run_engine_for(
                given.engine, given.power, lambda cycle: cycle.power, "kW", "power"
            )
    except EngineError as error:
        path = f"engine.{error.key}" if error.key else "engine"
        raise CaseError(str(case.source_path), [Fault(path, str(error))]) from None
    load = WallLoad(
        cycle=cycle,
        top_ring=given.top_ring,
        crown_below_deck=given.crown_below_deck,
        section_depth=case.section_depth,
        factor=factor,
        crankcase=given.crankcase,
    )
    if load.line_load <= 0:
        text = (
            f"The gas peaks at {10 * cycle.peak:.2f} bar, which is not above the crankcase's "
            f"{10 * load.crankcase:g} bar, so nothing loads the wall. Give more "
            "intake_pressure, or less crankcase_pressure."
        )
        raise CaseError(str(case.source_path), [Fault("engine", text)])
    return load

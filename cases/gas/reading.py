"""From the tables of a case file to its gas."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.gas.cycle import HOTTEST_GAS, Engine
from cases.gas.cylinder import Capacity, Crank
from cases.gas.given import EngineInput, GasInput
from cases.gas.table import LEAST_PRESSURISED, EngineTable


def read_gas(table: Any, case: Case, faults: Faults) -> GasInput:
    """What a case states of its gas, checked; no cycle is run.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    gas = table.gas
    _check_pressure(table, faults)
    if table.engine is None and gas.pressurised_depth is not None:
        faults.between(
            ("gas", "pressurised_depth"), gas.pressurised_depth, LEAST_PRESSURISED,
            case.section_depth, "mm",
            "The gas load is counted down to the section depth; leave pressurised_depth out for "
            "the whole of it, or give a deeper section.",
        )  # fmt: skip
    return GasInput(
        peak_pressure=gas.peak_pressure or 0.0,
        pressurised_depth=gas.pressurised_depth,
        factor=gas.pressure_factor,
        engine=_engine(table, faults) if table.engine else None,
    )


def _check_pressure(table: Any, faults: Faults) -> None:
    """Whether the peak pressure is known, in one way."""
    gas, engine = table.gas, table.engine
    if engine is None:
        if gas.peak_pressure is None:
            faults.add(
                ("gas",),
                "The peak pressure is missing. Give peak_pressure, such as peak_pressure = "
                '"150 bar", or describe the engine under a heading [engine].',
            )
        else:
            faults.within(("gas",), gas)
        return
    for key in ("peak_pressure", "pressurised_depth"):
        if getattr(gas, key) is not None:
            faults.add(
                ("gas", key),
                f"The [engine] says it too. Leave out {key}, or the whole of [engine].",
            )


def _engine(whole: Any, faults: Faults) -> EngineInput | None:
    table = whole.engine
    before = len(faults.found)
    _check_engine(table, faults)
    if len(faults.found) > before:
        return None
    same = (
        "speed", "intake_temperature", "air_fuel_ratio", "fuel_heating_value",
        "combustion_efficiency", "burn_duration", "burn_centre", "wall_temperature",
        "mechanical_efficiency", "volumetric_efficiency", "intake_closing",
    )  # fmt: skip
    crank = Crank(
        bore=whole.block.bore,
        stroke=table.stroke,
        rod=table.rod,
        compression_ratio=table.compression_ratio,
    )
    engine = Engine(
        crank=crank,
        cylinders=table.cylinders or whole.block.bores,
        intake_pressure=table.intake_pressure or 0.0,
        capacity=Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope),
        **{key: getattr(table, key) for key in same},
    )
    return EngineInput(
        engine=engine,
        power=table.power,
        top_ring=table.top_ring,
        crown_below_deck=table.crown_below_deck,
        crankcase=table.crankcase_pressure,
        assumed=_assumed(table),
    )


def _check_engine(table: EngineTable, faults: Faults) -> None:
    if (table.intake_pressure is None) == (table.power is None):
        faults.add(
            ("engine",),
            ("Neither intake_pressure nor power is" if table.power is None else
             "Both intake_pressure and power are")
            + " given. Give one of them: the power follows from the intake pressure, or the "
            "boost from the power.",
        )  # fmt: skip
    faults.within(("engine",), table)
    faults.between(
        ("engine", "rod"), table.rod, 0.6 * table.stroke, 10 * table.stroke, "mm",
        "A rod is at least 1.2 times the crank radius long, half the stroke.",
    )  # fmt: skip
    hot = Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope).gamma(HOTTEST_GAS)
    if hot < 1.02:
        faults.add(
            ("engine", "gamma_slope"),
            f"The ratio of the specific heats would be {hot:.3f} at {HOTTEST_GAS:g} K; it must "
            "stay above 1.02. Give a slope nearer to 0.",
        )


def _assumed(table: EngineTable) -> tuple[tuple[str, str], ...]:
    """The usual values that stand for what an engine's table leaves out, in words."""
    usual = {
        "combustion_efficiency": f"combustion efficiency {100 * table.combustion_efficiency:g} %",
        "burn_duration": f"burn over {table.burn_duration:g} degrees",
        "burn_centre": f"half burned {table.burn_centre:g} degrees after the top",
        "wall_temperature": f"walls at {table.wall_temperature:g} degC",
        "mechanical_efficiency": f"mechanical efficiency {100 * table.mechanical_efficiency:g} %",
        "volumetric_efficiency": f"volumetric efficiency {100 * table.volumetric_efficiency:g} %",
        "crown_below_deck": f"crown {table.crown_below_deck:g} mm below the deck",
        "intake_closing": f"intake closed {table.intake_closing:g} degrees after the bottom",
    }
    return tuple((key, words) for key, words in usual.items() if key not in table.model_fields_set)

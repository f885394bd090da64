"""From the tables of a case file to its gas."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.base.tables import meaning
from cases.case import Case
from cases.gas.cycle import HOTTEST_GAS, Engine
from cases.gas.cylinder import ATMOSPHERE, Capacity, Crank
from cases.gas.given import EngineInput, GasInput
from cases.gas.table import LEAST_PRESSURISED, EngineTable, GasTable
from cases.gas.thrust import Piston
from cases.gas.trace import FEWEST, Trace, TraceError, read_trace
from cases.gas.usual import (
    AIR_FUEL_RATIO,
    COMPRESSION_RATIO,
    FUEL_HEATING_VALUE,
    INTAKE_PRESSURE,
    INTAKE_TEMPERATURE,
    PIN_HEIGHT_OF_BORE,
    PISTON_MASS,
    PISTON_SPEED,
    ROD_OF_STROKE,
    STROKE_OF_BORE,
    TOP_RING_OF_BORE,
)

GIVES = ("intake_pressure", "boost", "power")
"""Keys of ``[engine]`` by which its cycle gives the pressure."""
OF_CYCLE = (
    "stroke", "rod", "compression_ratio", "speed", "intake_temperature", "air_fuel_ratio",
    "fuel_heating_value", "top_ring",
)  # fmt: skip
"""What has to be stated where the cycle is worked out."""


def gives_pressure(table: Any) -> bool:
    """Whether a case file's engine gives the gas pressure, and its heat, by its cycle."""
    engine = table.engine
    return engine is not None and any(getattr(engine, key) is not None for key in GIVES)


def read_gas(table: Any, case: Case, faults: Faults) -> GasInput:
    """What a case states of its gas, checked; a trace is read, no cycle is run.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
    faults : Faults
    """
    gas: GasTable = table.gas
    _check_pressure(table, case, faults)
    trace = None
    if gas.trace is not None:
        trace = _trace(gas, case, faults)
    absolute = trace.absolute if trace else gas.reference == "absolute"
    static = gas.pressurised_depth is not None
    return GasInput(
        peak_pressure=(gas.peak_pressure or 0.0) - (ATMOSPHERE if absolute else 0.0),
        pressurised_depth=gas.pressurised_depth,
        factor=gas.pressure_factor,
        trace=trace,
        engine=None if static else _engine(table, faults),
        absolute=absolute,
        assumed=tuple(_assumed_of_gas(gas, trace)),
    )


def _check_pressure(table: Any, case: Case, faults: Faults) -> None:
    """Whether the pressure is known, in one way."""
    gas, engine = table.gas, table.engine
    ways = [key for key in ("peak_pressure", "trace") if getattr(gas, key) is not None]
    given = [key for key in GIVES if getattr(engine, key, None) is not None]
    faults.within(("gas",), gas)
    if not ways and engine is None:
        faults.add(
            ("gas",),
            "The peak pressure is missing. Give peak_pressure, such as peak_pressure = "
            '"150 bar", a measured trace, or describe the engine under a heading [engine].',
        )
    if not ways and not given and engine is not None:
        faults.add(
            ("engine",),
            "None of intake_pressure, boost and power is given. Give one of them, and the cycle is "
            "worked out; or give the pressure under [gas] as peak_pressure or a trace.",
        )
    if len(given) > 1:
        faults.add(
            ("engine",),
            f"{' and '.join(given)} are given. Give one of them: the power follows from the intake "
            "pressure or the boost, or the boost from the power.",
        )
    if gas.reference == "absolute" and gas.peak_pressure and gas.peak_pressure <= ATMOSPHERE:
        faults.add(
            ("gas", "peak_pressure"),
            "Absolute, it is no pressure above the atmosphere. Give more, or gauge as reference.",
        )
    if len(ways) > 1:
        faults.add(
            ("gas", "peak_pressure"),
            "The trace says it too. Leave out peak_pressure, or the trace.",
        )
    for key in ways if given else []:
        faults.add(
            ("gas", key),
            f"The [engine] says it too, by its {given[0]}. Leave out {key}, or {given[0]} there; "
            "the rest of [engine] may stay.",
        )
    if gas.pressurised_depth is None:
        return
    for other, words in ((engine, "[engine]"), (gas.trace, "trace")):
        if other is not None:
            faults.add(
                ("gas", "pressurised_depth"),
                f"The {words} says it too. Leave out pressurised_depth, or the whole of {words}.",
            )
            return
    faults.between(
        ("gas", "pressurised_depth"), gas.pressurised_depth, LEAST_PRESSURISED,
        case.section_depth, "mm",
        "The gas load is counted down to the section depth; leave pressurised_depth out to have "
        "the gas as the piston bares the wall, or give a deeper section.",
    )  # fmt: skip


def _trace(gas: GasTable, case: Case, faults: Faults) -> Trace | None:
    absolute = None if gas.reference is None else gas.reference == "absolute"
    try:
        return read_trace(case.source_path.parent / str(gas.trace), absolute)
    except TraceError as error:
        faults.add(("gas", "trace"), str(error), alone=True)
        return None


def _assumed_of_gas(gas: GasTable, trace: Trace | None) -> list[tuple[str, str]]:
    """How a sensor reads, how its angles count and how few its cycles are, unless it is stated."""
    found = []
    if trace is None:
        if gas.peak_pressure is not None and gas.reference is None:
            found.append(("reference", "peak_pressure is gauge, above the atmosphere"))
        return found
    if not trace.told:
        found.append(("reference", "the trace is gauge, above the atmosphere, which loads more"))
    if trace.turned:
        found.append(("trace", "its 360 degrees, near which it peaks, are the firing top"))
    if trace.scatter is None or trace.scatter.cycles < FEWEST:
        cycles = f"{trace.cycles} whole cycle{'s' if trace.cycles > 1 else ''}"
        found.append(("trace", f"{cycles} of it {'say' if trace.cycles > 1 else 'says'} how the "
                      f"engine runs; {FEWEST} and more tell their scatter"))  # fmt: skip
    return [(key, "; ".join(words for one, words in found if one == key)) for key in dict(found)]


def _engine(whole: Any, faults: Faults) -> EngineInput | None:
    table = whole.engine or EngineTable.model_validate({})
    before = len(faults.found)
    if whole.engine is not None:
        _check_engine(whole, faults)
    if len(faults.found) > before:
        return None
    bore = whole.block.bore
    stroke = table.stroke or STROKE_OF_BORE * bore
    usual = {
        "stroke": stroke,
        "rod": ROD_OF_STROKE * stroke,
        "compression_ratio": COMPRESSION_RATIO,
        "speed": float(f"{30000 * PISTON_SPEED / stroke:.3g}"),
        "intake_temperature": INTAKE_TEMPERATURE,
        "air_fuel_ratio": AIR_FUEL_RATIO,
        "fuel_heating_value": FUEL_HEATING_VALUE,
        "top_ring": TOP_RING_OF_BORE * bore,
        "piston_mass": PISTON_MASS * bore**3,
        "pin_height": PIN_HEIGHT_OF_BORE * bore,
    }
    value = {key: _value(table, key, stands) for key, stands in usual.items()}
    same = (
        "combustion_efficiency", "burn_duration", "burn_centre", "wall_temperature",
        "mechanical_efficiency", "volumetric_efficiency", "intake_closing",
    )  # fmt: skip
    crank = Crank(
        bore=bore,
        stroke=value["stroke"],
        rod=value["rod"],
        compression_ratio=value["compression_ratio"],
    )
    intake = table.intake_pressure
    if table.boost is not None:
        intake = table.boost + ATMOSPHERE
    engine = Engine(
        crank=crank,
        cylinders=table.cylinders or whole.block.bores,
        intake_pressure=intake or INTAKE_PRESSURE,
        capacity=Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope),
        speed=value["speed"],
        intake_temperature=value["intake_temperature"],
        air_fuel_ratio=value["air_fuel_ratio"],
        fuel_heating_value=value["fuel_heating_value"],
        **{key: getattr(table, key) for key in same},
    )
    return EngineInput(
        engine=engine,
        power=table.power,
        top_ring=value["top_ring"],
        crown_below_deck=table.crown_below_deck,
        piston=Piston(
            mass=value["piston_mass"], pin_height=value["pin_height"], rotation=table.rotation
        ),
        ring_heat=table.ring_heat,
        crankcase=table.crankcase_pressure,
        speed_stated=table.speed is not None,
        assumed=_assumed(whole, table, value),
    )


def _value(table: EngineTable, key: str, stands: float) -> float:
    """A key of a table, or what stands for it."""
    value = getattr(table, key)
    return stands if value is None else float(value)


def _check_engine(whole: Any, faults: Faults) -> None:
    table: EngineTable = whole.engine
    if gives_pressure(whole):
        for key in OF_CYCLE:
            if getattr(table, key) is None:
                said = meaning(EngineTable.model_fields[key])
                faults.add(("engine", key), f"It is missing. This is {said}.")
    faults.within(("engine",), table)
    if table.rod is not None and table.stroke is not None:
        faults.between(
            ("engine", "rod"), table.rod, 0.6 * table.stroke, 10 * table.stroke, "mm",
            "A rod is at least 1.2 times the crank radius long, half the stroke.",
        )  # fmt: skip
    elif table.rod is not None:
        stroke = STROKE_OF_BORE * whole.block.bore
        faults.between(
            ("engine", "rod"), table.rod, 0.6 * stroke, 10 * stroke, "mm",
            f"It goes with a stroke of {stroke:g} mm, as that is left out. Give the stroke too.",
        )  # fmt: skip
    hot = Capacity(gamma_300=table.gamma_300, slope=table.gamma_slope).gamma(HOTTEST_GAS)
    if hot < 1.02:
        faults.add(
            ("engine", "gamma_slope"),
            f"The ratio of the specific heats would be {hot:.3f} at {HOTTEST_GAS:g} K; it must "
            "stay above 1.02. Give a slope nearer to 0.",
        )


def _assumed(
    whole: Any, table: EngineTable, value: dict[str, float]
) -> tuple[tuple[str, str], ...]:
    """What stands for what an engine's table leaves out, in words, where it counts."""
    crank = {
        "stroke": f"stroke {value['stroke']:.4g} mm, of a square engine",
        "rod": f"rod {value['rod']:.4g} mm, {ROD_OF_STROKE:g} times the stroke",
        "top_ring": f"top ring {value['top_ring']:.3g} mm below the crown, "
        f"{TOP_RING_OF_BORE:g} times the bore",
        "crown_below_deck": f"crown {table.crown_below_deck:g} mm below the deck",
        "speed": f"{value['speed']:g} rpm, {PISTON_SPEED:g} m/s of mean piston speed",
        "piston_mass": f"piston of {value['piston_mass']:.3g} g",
        "pin_height": f"pin {value['pin_height']:.3g} mm below the crown",
        "rotation": f"crank {table.rotation} from the end of bore 1",
    }
    burn = {
        "compression_ratio": f"compression ratio {value['compression_ratio']:g}",
        "intake_temperature": f"charge at {value['intake_temperature']:g} degC",
        "air_fuel_ratio": f"air over fuel {value['air_fuel_ratio']:g}",
        "fuel_heating_value": f"{value['fuel_heating_value'] / 1000:g} MJ/kg",
        "combustion_efficiency": f"combustion efficiency {100 * table.combustion_efficiency:g} %",
        "burn_duration": f"burn over {table.burn_duration:g} degrees",
        "burn_centre": f"half burned {table.burn_centre:g} degrees after the top",
        "wall_temperature": f"walls at {table.wall_temperature:g} degC",
        "volumetric_efficiency": f"volumetric efficiency {100 * table.volumetric_efficiency:g} %",
        "intake_closing": f"intake closed {table.intake_closing:g} degrees after the bottom",
    }
    power = {
        "mechanical_efficiency": f"mechanical efficiency {100 * table.mechanical_efficiency:g} %",
    }
    heat = {"ring_heat": f"{100 * table.ring_heat:g} % of the piston's heat leave by its rings"}
    usual = crank
    if whole.gas.trace is None:
        usual = usual | burn
    if gives_pressure(whole):
        usual = usual | power
        if whole.heat is not None:
            usual = usual | heat
    return tuple((key, words) for key, words in usual.items() if key not in table.model_fields_set)

"""``[gas]`` and ``[engine]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from cases.base.tables import (
    Angle,
    Efficiency,
    HeatingValue,
    Length,
    Mass,
    Power,
    Pressure,
    Range,
    Speed,
    Table,
    Temperature,
    key,
)
from cases.gas.cycle import INTAKE_RANGE
from cases.gas.cylinder import ATMOSPHERE, GAMMA_300, GAMMA_SLOPE
from cases.gas.usual import (
    AIR_FUEL_RATIO,
    COMPRESSION_RATIO,
    FUEL_HEATING_VALUE,
    INTAKE_TEMPERATURE,
    PIN_HEIGHT_OF_BORE,
    PISTON_MASS,
    PISTON_SPEED,
    RING_HEAT,
    ROD_OF_STROKE,
    TOP_RING_OF_BORE,
)

INTAKE = Range(
    10 * INTAKE_RANGE[0],
    10 * INTAKE_RANGE[1],
    "bar",
    "It is absolute: boost and the pressure of the air together.",
)
PEAK = Range(
    0.1, 1000, "bar", "A cylinder at full load peaks at some 30 to 300 bar. Check the unit."
)
"""From hardly any, to see fit and heat alone, to more than any cylinder fires to."""
LEAST_PRESSURISED = 0.1  # [mm]


BOOST = Range(
    10 * (INTAKE_RANGE[0] - ATMOSPHERE),
    10 * (INTAKE_RANGE[1] - ATMOSPHERE),
    "bar",
    "It is a gauge pressure, above the standard atmosphere.",
)
BESIDE = "; needed unless peak_pressure or a trace is given"


class GasTable(Table):
    """``[gas]``."""

    peak_pressure: Annotated[Pressure, PEAK] | None = key(
        "the peak gas pressure, as measured: of the mean cycle",
        "150 bar",
        None,
        left_out="from the trace or the [engine]",
    )
    trace: str | None = key(
        "a file of measured pressure by crank angle, its path from the case file on",
        "pressure.csv",
        None,
        left_out="none",
        allowed="text in columns, the units in their heading, one or many whole cycles",
        instead_of="peak_pressure",
    )
    reference: Literal["gauge", "absolute"] | None = key(
        "what the sensor reads: gauge is above the atmosphere",
        "gauge",
        None,
        left_out="as the heading of the trace says, else gauge, which loads more",
    )
    pressurised_depth: Length | None = key(
        "the depth that all of the peak is on at once, for a static load",
        "20 mm",
        None,
        left_out="as the piston bares it, by crank angle",
        allowed=f"{LEAST_PRESSURISED:g} mm to the section depth, without an [engine]",
    )
    pressure_factor: Annotated[float, Field(strict=True, ge=1, le=5)] = key(
        "what detonation, or scatter that no trace tells, multiplies the pressure by", 1.2, 1.0
    )


class EngineTable(Table):
    """``[engine]``."""

    stroke: Annotated[Length, Range(10, 1000, "mm")] | None = key(
        "the stroke", "84 mm", None, left_out=f"that of a square engine{BESIDE}"
    )
    rod: Length | None = key(
        "the connecting rod between its eyes",
        "140 mm",
        None,
        left_out=f"{ROD_OF_STROKE:g} times the stroke{BESIDE}",
        allowed="0.6 to 10 times the stroke",
    )
    compression_ratio: Annotated[float, Field(strict=True, gt=1, le=30)] | None = key(
        "the compression ratio", 9.0, None, left_out=f"{COMPRESSION_RATIO:g}{BESIDE}"
    )
    speed: Annotated[Speed, Range(300, 25000, "rpm")] | None = key(
        "the speed of the crank",
        "7000 rpm",
        None,
        left_out=f"that of {PISTON_SPEED:g} m/s of mean piston speed{BESIDE}",
    )
    intake_pressure: Annotated[Pressure, INTAKE] | None = key(
        "the absolute pressure in the intake",
        "2.1 bar",
        None,
        left_out="from the boost, or found for the power",
    )
    boost: Annotated[Pressure, BOOST] | None = key(
        "the gauge pressure in the intake, above the standard atmosphere",
        "1.1 bar",
        None,
        left_out="it follows from the intake pressure",
        instead_of="intake_pressure",
    )
    power: Annotated[Power, Range(0.1, 1e5, "kW")] | None = key(
        "the brake power of the whole engine, to find the boost for",
        "320 kW",
        None,
        left_out="it follows from the intake pressure",
        instead_of="intake_pressure",
    )
    intake_temperature: Annotated[Temperature, Range(-60, 300, "degC")] | None = key(
        "the temperature of the charge in the intake",
        "50 degC",
        None,
        left_out=f"{INTAKE_TEMPERATURE:g} degC{BESIDE}",
    )
    air_fuel_ratio: Annotated[float, Field(strict=True, gt=1, le=100)] | None = key(
        "air over fuel by mass", 12.0, None, left_out=f"{AIR_FUEL_RATIO:g}{BESIDE}"
    )
    fuel_heating_value: Annotated[HeatingValue, Range(5, 150, "MJ/kg")] | None = key(
        "the lower heating value of the fuel",
        "43 MJ/kg",
        None,
        left_out=f"{FUEL_HEATING_VALUE / 1000:g} MJ/kg{BESIDE}",
    )
    top_ring: Annotated[Length, Range(0, 100, "mm")] | None = key(
        "the distance of the top ring below the piston crown",
        "6 mm",
        None,
        left_out=f"{TOP_RING_OF_BORE:g} times the bore{BESIDE}",
    )
    crown_below_deck: Annotated[Length, Range(-20, 50, "mm")] = key(
        "how far the crown stays below the deck at the top", "0.3 mm", 0.0
    )
    piston_mass: Annotated[Mass, Range(10, 1e5, "g")] | None = key(
        "the mass of the piston with pin and rings, for its side thrust",
        "420 g",
        None,
        left_out=f"{1e6 * PISTON_MASS:g} g for each cubic decimetre of the bore's cube",
    )
    pin_height: Annotated[Length, Range(1, 300, "mm")] | None = key(
        "the distance of the piston pin below the crown",
        "30 mm",
        None,
        left_out=f"{PIN_HEIGHT_OF_BORE:g} times the bore",
    )
    ring_heat: Efficiency = key(
        "the share of the piston's heat that its rings bring to the bore, where the engine heats "
        "the block (some 70 to 80 % without oil jets on the piston, 30 to 40 % with them)",
        "35 %",
        RING_HEAT,
    )
    rotation: Literal["clockwise", "anticlockwise"] = key(
        "how the crank turns, seen from the end of bore 1", "clockwise", "clockwise"
    )
    combustion_efficiency: Efficiency = key(
        "the share of the fuel's heat that the burn gives (a rich mixture can't burn all)",
        "85 %",
        0.9,
    )
    burn_duration: Annotated[Angle, Range(5, 180, "deg")] = key(
        "the crank angle from the start of the burn to 99.9 %", "60 deg", 60.0
    )
    burn_centre: Annotated[Angle, Range(-30, 90, "deg")] = key(
        "the crank angle after the top where half has burned", "9 deg", 9.0
    )
    wall_temperature: Annotated[Temperature, Range(0, 600, "degC")] = key(
        "the mean temperature of the walls of the cylinder", "180 degC", 180.0
    )
    mechanical_efficiency: Efficiency = key("brake power over indicated power", "85 %", 0.85)
    volumetric_efficiency: Efficiency = key(
        "the charge over what the swept volume would hold at intake density", "95 %", 0.95
    )
    intake_closing: Annotated[Angle, Range(0, 100, "deg")] = key(
        "the crank angle after the bottom where the intake closes", "50 deg", 0.0
    )
    cylinders: Annotated[int, Field(strict=True, ge=1, le=24)] | None = key(
        "the number of cylinders that give the power", 4, None, left_out="the bores"
    )
    crankcase_pressure: Annotated[Pressure, Range(0.05, 6, "bar")] = key(
        "the absolute pressure in the crankcase", "1 bar", ATMOSPHERE
    )
    gamma_300: Annotated[float, Field(strict=True, ge=1.2, le=1.67)] = key(
        "the ratio of the specific heats at 300 K", 1.38, GAMMA_300
    )
    gamma_slope: Annotated[float, Field(strict=True, ge=-1e-4, le=0)] = key(
        "its change per kelvin", -8e-5, GAMMA_SLOPE
    )


class GasKeys(Table):
    """The gas load: measured, stated, or from an engine."""

    gas: GasTable = Field(
        default_factory=lambda: GasTable.model_validate({}),
        description='the gas load, a heading [gas] with peak_pressure = "150 bar" or a trace, '
        "unless the [engine] gives it",
    )
    engine: EngineTable | None = Field(
        None,
        description="the engine: its crank, for where the gas reaches; with intake_pressure, boost "
        "or power the gas pressure too, worked out in place of peak_pressure or a trace",
    )

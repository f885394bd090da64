"""``[gas]`` and ``[engine]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from cases.base.tables import (
    Angle,
    Efficiency,
    HeatingValue,
    Length,
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


class GasTable(Table):
    """``[gas]``."""

    peak_pressure: Annotated[Pressure, PEAK] | None = key(
        "the peak gas pressure, as measured", "150 bar", None, left_out="from the [engine]"
    )
    pressurised_depth: Length | None = key(
        "the depth that the gas reaches",
        "20 mm",
        None,
        left_out="the section depth, or as the [engine] has it",
        allowed=f"{LEAST_PRESSURISED:g} mm to the section depth, without an [engine]",
    )
    pressure_factor: Annotated[float, Field(strict=True, ge=1, le=5)] = key(
        "what detonation or scatter multiplies the pressure by", 1.2, 1.0
    )


class EngineTable(Table):
    """``[engine]``."""

    stroke: Annotated[Length, Range(10, 1000, "mm")] = key("the stroke", "84 mm")
    rod: Length = key(
        "the connecting rod between its eyes", "140 mm", allowed="0.6 to 10 times the stroke"
    )
    compression_ratio: Annotated[float, Field(strict=True, gt=1, le=30)] = key(
        "the compression ratio", 9.0
    )
    speed: Annotated[Speed, Range(300, 25000, "rpm")] = key("the speed of the crank", "7000 rpm")
    intake_pressure: Annotated[Pressure, INTAKE] | None = key(
        "the absolute pressure in the intake", "2.1 bar", None, left_out="found for the power"
    )
    power: Annotated[Power, Range(0.1, 1e5, "kW")] | None = key(
        "the brake power of the whole engine, to find the boost for",
        "320 kW",
        None,
        left_out="it follows from the intake pressure",
        instead_of="intake_pressure",
    )
    intake_temperature: Annotated[Temperature, Range(-60, 300, "degC")] = key(
        "the temperature of the charge in the intake", "50 degC"
    )
    air_fuel_ratio: Annotated[float, Field(strict=True, gt=1, le=100)] = key(
        "air over fuel by mass", 12.0
    )
    fuel_heating_value: Annotated[HeatingValue, Range(5, 150, "MJ/kg")] = key(
        "the lower heating value of the fuel", "43 MJ/kg"
    )
    top_ring: Annotated[Length, Range(0, 100, "mm")] = key(
        "the distance of the top ring below the piston crown", "6 mm"
    )
    crown_below_deck: Annotated[Length, Range(-20, 50, "mm")] = key(
        "how far the crown stays below the deck at the top", "0.3 mm", 0.0
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
    """The gas load, stated or from an engine."""

    gas: GasTable = Field(
        default_factory=lambda: GasTable.model_validate({}),
        description='the gas load, a heading [gas] with peak_pressure = "150 bar", unless there is '
        "an [engine]",
    )
    engine: EngineTable | None = Field(
        None,
        description="the engine, from which the gas pressure is worked out, in place of "
        "peak_pressure and pressurised_depth",
    )

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
    Speed,
    Table,
    Temperature,
)
from cases.gas.cylinder import ATMOSPHERE, GAMMA_300, GAMMA_SLOPE


class GasTable(Table):
    """``[gas]``."""

    peak_pressure: Pressure | None = Field(
        None, description='the peak gas pressure, such as "150 bar"'
    )
    pressurised_depth: Length | None = Field(
        None, description="the depth that the gas reaches; the section depth if left out"
    )
    pressure_factor: Annotated[float, Field(strict=True, ge=1, le=5)] = Field(
        1.0,
        description="what detonation or scatter multiplies the pressure by, a plain number from 1 "
        "to 5, such as 1.2",
    )


class EngineTable(Table):
    """``[engine]``."""

    stroke: Length = Field(description='the stroke, such as "86 mm"')
    rod: Length = Field(description='the connecting rod between its eyes, such as "143 mm"')
    compression_ratio: Annotated[float, Field(strict=True, gt=1, le=30)] = Field(
        description="the compression ratio, a plain number above 1, such as 9.5"
    )
    speed: Speed = Field(description='the speed of the crank, such as "7000 rpm"')
    intake_pressure: Pressure | None = Field(
        None, description='the absolute pressure in the intake, such as "2.1 bar"'
    )
    power: Power | None = Field(
        None, description='the brake power of the engine, such as "300 kW", to find the boost for'
    )
    intake_temperature: Temperature = Field(
        description='the temperature of the charge in the intake, such as "50 degC"'
    )
    air_fuel_ratio: Annotated[float, Field(strict=True, gt=1, le=100)] = Field(
        description="air over fuel by mass, a plain number such as 12.0"
    )
    fuel_heating_value: HeatingValue = Field(
        description='the lower heating value of the fuel, such as "43 MJ/kg"'
    )
    top_ring: Length = Field(
        description='the distance of the top ring below the piston crown, such as "6 mm"'
    )
    crown_below_deck: Length = Field(
        0.0, description='how far the crown stays below the deck at the top, such as "0.5 mm"'
    )
    combustion_efficiency: Efficiency = Field(
        0.9, description='the share of the fuel\'s heat that the burn gives, such as "85 %"'
    )
    burn_duration: Angle = Field(
        60.0, description='the crank angle from the start of the burn to 99.9 %, such as "60 deg"'
    )
    burn_centre: Angle = Field(
        9.0, description='the crank angle after the top where half has burned, such as "9 deg"'
    )
    wall_temperature: Temperature = Field(
        180.0, description='the mean temperature of the walls of the cylinder, such as "180 degC"'
    )
    mechanical_efficiency: Efficiency = Field(
        0.85, description='brake power over indicated power, such as "85 %"'
    )
    volumetric_efficiency: Efficiency = Field(
        0.95,
        description='the charge over what the swept volume would hold at intake density, "95 %"',
    )
    intake_closing: Angle = Field(
        0.0, description='the crank angle after the bottom where the intake closes, "50 deg"'
    )
    cylinders: Annotated[int, Field(strict=True, ge=1, le=24)] | None = Field(
        None, description="the number of cylinders that give the power; the bores if left out"
    )
    crankcase_pressure: Pressure = Field(
        ATMOSPHERE, description='the absolute pressure in the crankcase, such as "1 bar"'
    )
    gamma_300: Annotated[float, Field(strict=True, ge=1.2, le=1.67)] = Field(
        GAMMA_300, description="the ratio of the specific heats at 300 K, such as 1.38"
    )
    gamma_slope: Annotated[float, Field(strict=True, ge=-1e-4, le=0)] = Field(
        GAMMA_SLOPE, description="its change per kelvin, a plain number such as -8e-5"
    )


class GasKeys(Table):
    """The gas load, stated or from an engine."""

    gas: GasTable = Field(
        default_factory=lambda: GasTable.model_validate({}),
        description='the gas load, a heading [gas] with peak_pressure = "150 bar"',
    )
    engine: EngineTable | None = Field(
        None, description="the engine, from which the gas pressure is worked out"
    )

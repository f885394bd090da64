"""``[material."..."]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictBool

from cases.base.tables import (
    Conductivity,
    Density,
    Expansion,
    Intensity,
    Pressure,
    Range,
    Scatter,
    Table,
    Temperature,
    key,
)

HOTTEST = 3000.0  # gas, averaged over a cycle, is far below [degC]
Strength = Annotated[Pressure, Range(1, 5000, "MPa")]


class HotTable(Table):
    """A row of ``hot`` in ``[material."..."]``."""

    temperature: Temperature = key(
        "the temperature",
        "150 degC",
        allowed=f"above 20 degC and the row before, to {HOTTEST:g} degC",
    )
    yield_strength: Strength | None = key(
        "the yield strength there", "130 MPa", None, left_out="as at 20 degC, both or neither"
    )
    tensile_strength: Strength | None = key(
        "the tensile strength there", "170 MPa", None, left_out="as at 20 degC, both or neither"
    )


class MaterialTable(Table):
    """``[material."..."]``."""

    youngs_modulus: Annotated[Pressure, Range(1, 1000, "GPa")] = key("Young's modulus", "72 GPa")
    poisson: Annotated[float, Field(strict=True, ge=0, lt=0.5)] = key("Poisson's ratio", 0.33)
    source: str = key("where the values come from", "invented", allowed="any text")
    expansion: Annotated[Expansion, Range(0.1, 100, "um/(m K)")] | None = key(
        "the thermal expansion", "21.5 um/(m K)", None, left_out="not known; heat needs it"
    )
    conductivity: Annotated[Conductivity, Range(0.1, 2000, "W/(m K)")] | None = key(
        "the thermal conductivity", "150 W/(m K)", None, left_out="not known; heat needs it"
    )
    density: Annotated[Density, Range(500, 25_000, "kg/m3")] | None = key(
        "the density",
        "2700 kg/m3",
        None,
        left_out="not known; what an insert of it weighs is not told",
    )
    yield_strength: Strength | None = key(
        "the yield strength, proof at 0.2 %", "180 MPa", None, left_out="not known, and not rated"
    )
    tensile_strength: Strength | None = key(
        "the ultimate tensile strength", "240 MPa", None, left_out="not known, and not rated"
    )
    hot: list[HotTable] = Field([], description="its strengths when hot, in rising order")
    cast: StrictBool | None = key(
        "true where it is cast, so that pores weaken it, or false",
        True,
        None,
        left_out="required with a tensile strength",
    )
    fatigue_strength: Strength | None = key(
        "the amplitude of fully reversed stress that it survives",
        "70 MPa",
        None,
        left_out="not known, and not rated",
    )
    fatigue_cycles: Annotated[float, Field(strict=True, ge=1e4, le=1e12)] | None = key(
        "the cycles that it survives it for",
        1e8,
        None,
        left_out="required with a fatigue strength",
    )
    fatigue_scatter: Scatter | None = key(
        "the standard deviation of the fatigue strength",
        "8 %",
        None,
        left_out="the usual one of cast or wrought metal",
    )
    basquin_exponent: Annotated[float, Field(strict=True, ge=-0.5, lt=0)] | None = key(
        "the slope of stress against cycles, both in logarithms",
        -0.09,
        None,
        left_out="through tensile and fatigue strength",
    )
    threshold: Annotated[Intensity, Range(0.5, 50, "MPa sqrt(m)")] | None = key(
        "the range of stress intensity that a long crack bears fully reversed, for the critical "
        "distance",
        "5 MPa sqrt(m)",
        None,
        left_out="up to 90 GPa that of aluminium, 3.5 to 7.5; else not known, and a limit that "
        "needs it is told as at most",
    )


class MaterialKeys(Table):
    """Materials of the case's own."""

    material: dict[str, MaterialTable] = Field({}, description="materials of your own")

"""``[material."..."]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictBool

from cases.base.tables import Conductivity, Expansion, Pressure, Scatter, Table, Temperature


class HotTable(Table):
    """A row of ``hot`` in ``[material."..."]``."""

    temperature: Temperature = Field(description='the temperature, such as "150 degC"')
    yield_strength: Pressure | None = Field(
        None, description='the yield strength there, such as "138 MPa"'
    )
    tensile_strength: Pressure | None = Field(
        None, description='the tensile strength there, such as "159 MPa"'
    )


class MaterialTable(Table):
    """``[material."..."]``."""

    youngs_modulus: Pressure = Field(description='Young\'s modulus, such as "70 GPa"')
    poisson: Annotated[float, Field(strict=True, ge=0, lt=0.5)] = Field(
        description="Poisson's ratio, a plain number from 0 to below 0.5, such as 0.33"
    )
    source: str = Field(description="where the values come from")
    expansion: Expansion | None = Field(
        None, description='the thermal expansion, such as "21.5 um/(m K)"'
    )
    conductivity: Conductivity | None = Field(
        None, description='the thermal conductivity, such as "151 W/(m K)"'
    )
    yield_strength: Pressure | None = Field(
        None, description='the yield strength, proof at 0.2 %, such as "207 MPa"'
    )
    tensile_strength: Pressure | None = Field(
        None, description='the ultimate tensile strength, such as "283 MPa"'
    )
    hot: list[HotTable] = Field(
        [],
        description="its strengths when hot, such as "
        '[{ temperature = "150 degC", yield_strength = "138 MPa", tensile_strength = "159 MPa" }]',
    )
    cast: StrictBool | None = Field(
        None, description="true where it is cast, so that pores weaken it, or false"
    )
    fatigue_strength: Pressure | None = Field(
        None, description='the amplitude of fully reversed stress that it survives, "90 MPa"'
    )
    fatigue_cycles: Annotated[float, Field(strict=True, ge=1e4, le=1e12)] | None = Field(
        None, description="the cycles that it survives it for, a plain number such as 5e8"
    )
    fatigue_scatter: Scatter | None = Field(
        None, description='the standard deviation of the fatigue strength, such as "8 %"'
    )
    basquin_exponent: Annotated[float, Field(strict=True, ge=-0.5, lt=0)] | None = Field(
        None, description="the slope of stress against cycles, both in logarithms, such as -0.09"
    )


class MaterialKeys(Table):
    """Materials of the case's own."""

    material: dict[str, MaterialTable] = Field({}, description="materials of your own")

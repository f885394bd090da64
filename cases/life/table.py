"""``[design.fit]``, ``[heat]`` and ``[piston_ring]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, StrictBool

from cases.base.tables import Film, Force, HeatFlux, Length, Pressure, Table, Temperature
from cases.life.given import LEAST_HOLD, MOST_OUT_OF_ROUND

Friction = Annotated[float, Field(strict=True, ge=0, le=2)]


class SideTable(Table):
    """``[design.fit.barrel]``, ``[design.fit.outer_wall]`` and ``[design.fit.ties]``."""

    interference: Length | None = Field(
        None,
        description='what is pressed away: on the diameter, or on both ends together, "20 um"',
    )
    clearance: Length | None = Field(
        None, description='what is left free, on the diameter or on both ends together, "50 um"'
    )
    bonded: StrictBool | None = Field(
        None, description="true where the side is brazed or glued and can't open"
    )
    friction: Friction | None = Field(
        None, description="Coulomb's coefficient of friction, a plain number from 0 to 2"
    )


class FitTable(SideTable):
    """``[design.fit]``."""

    tolerance: Length = Field(
        0.0, description='what the interference may be off by, to either side, such as "5 um"'
    )
    least_hold: Force = Field(
        LEAST_HOLD, description='the axial hold that every piece must keep, such as "100 N"'
    )
    most_out_of_round: Length = Field(
        MOST_OUT_OF_ROUND,
        description='the out-of-round that the press may leave for the hone, such as "30 um"',
    )
    barrel: SideTable | None = Field(None, description="the side against the barrel")
    outer_wall: SideTable | None = Field(None, description="the side against the outer wall")
    ties: SideTable | None = Field(None, description="the ends against the ties")


class HeatTable(Table):
    """``[heat]``."""

    gas_film: Film | None = Field(
        None, description='the mean film coefficient of the gas, such as "450 W/(m2 K)"'
    )
    gas_temperature: Temperature | None = Field(
        None, description='the gas temperature that goes with it, such as "800 degC"'
    )
    gas_heat_flux: HeatFlux | None = Field(
        None, description='the mean heat flux into the bore instead, such as "250 kW/m2"'
    )
    coolant_film: Film | None = Field(
        None, description='the film coefficient of the coolant, such as "5000 W/(m2 K)"'
    )
    coolant_temperature: Temperature | None = Field(
        None, description='the coolant temperature, such as "90 degC"'
    )
    head_film: Film | None = Field(
        None, description='the conductance from the deck to the head, such as "1500 W/(m2 K)"'
    )
    head_temperature: Temperature | None = Field(
        None, description='the temperature of the head at the deck, such as "110 degC"'
    )
    outside_film: Film | None = Field(
        None, description='the film coefficient of the air outside, such as "20 W/(m2 K)"'
    )
    outside_temperature: Temperature | None = Field(
        None, description='the air temperature outside, such as "60 degC"'
    )
    joint_conductance: Film | None = Field(
        None, description='that between insert and block where they touch, "8000 W/(m2 K)"'
    )
    liner_conductance: Film | None = Field(
        None, description="that between liner and barrel; left out, they are one piece"
    )


class RingTable(Table):
    """``[piston_ring]``."""

    radial_width: Length = Field(description='the radial width of the ring, such as "3.1 mm"')
    axial_height: Length = Field(description='the axial height of the ring, such as "1.2 mm"')
    youngs_modulus: Pressure = Field(description='its Young\'s modulus, such as "160 GPa"')
    tangential_force: Force = Field(
        description='the tangential force that closes its gap, such as "14 N"'
    )


class LifeKeys(Table):
    """What heats the block, and the ring that follows its bore."""

    heat: HeatTable | None = Field(None, description="what heats the block and what cools it")
    piston_ring: RingTable | None = Field(None, description="the ring that follows the bore")


class LinerKeys(Table):
    """What ``[block]`` gets."""

    liner_interference: Length | None = Field(
        None,
        description="what the liner is held by at 20 degC, pressed or cast in, on the diameter, "
        'such as "60 um"',
    )


class FitKeys(Table):
    """What ``[[design]]`` gets."""

    fit: FitTable | None = Field(
        None, description="how it is fitted, a heading [design.fit]; one piece if left out"
    )

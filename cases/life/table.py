"""``[design.fit]``, ``[heat]`` and ``[piston_ring]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StrictBool

from cases.base.tables import (
    Conductivity,
    Film,
    Force,
    HeatFlux,
    Length,
    Pressure,
    Range,
    Table,
    Temperature,
    key,
    share_within,
)
from cases.base.units import SHARE
from cases.life.given import CAST_IN, DEPOSIT, HOTTER, LINER_FRICTION, MOST_OUT_OF_ROUND, VIBRATION
from cases.materials.table import HOTTEST

LARGEST_FIT = 2000  # on the diameter; more is a slip of the pen [um]
THINNEST_RING = 0.5  # [mm]
STRONGEST_FILM = 1e6  # boiling water stays below [W/(m2 K)]

ON_DIAMETER = "A fit is stated on the diameter; for the other sign give"
Friction = Annotated[float, Field(strict=True, ge=0, le=2)]
Roughness = Annotated[Length, Range(0, 100, "um")]
"""A rough saw cut has no more."""
CREEPS = Range(0, 90, "%")


def _creep(value: object) -> float:
    return share_within(value, CREEPS, ": no press is left of more")


Creep = Annotated[float, BeforeValidator(_creep), SHARE, CREEPS]
AnyFilm = Annotated[Film, Range(0, STRONGEST_FILM, "W/(m2 K)")]
CHECK_UNIT = "Check the unit: degC, degF or K."
COLDEST = -60
OfGas = Annotated[Temperature, Range(COLDEST, HOTTEST, "degC", CHECK_UNIT)]
"""A mean over a cycle; no fuel burns hotter."""
OfCoolant = Annotated[Temperature, Range(COLDEST, 160, "degC", CHECK_UNIT)]
"""Under pressure at most (common practice, no source)."""
OfHead = Annotated[Temperature, Range(COLDEST, 600, "degC", CHECK_UNIT)]
OfAir = Annotated[Temperature, Range(COLDEST, 400, "degC", CHECK_UNIT)]

HOTTEST_COMPOUND = 600.0  # no resin holds there [degC]
CompoundStrength = Annotated[Pressure, Range(0, 200, "MPa")]

NO_FRICTION = "0; for a side, what is stated for the whole fit"
UNKNOWN = "not known: a rating runs the range that is usual for such a liner"
TO_HEAD = "no heat to the head"
TO_OUTSIDE = "no heat to the air outside"


class SideTable(Table):
    """``[design.fit.barrel]``, ``[design.fit.outer_wall]`` and ``[design.fit.ties]``."""

    interference: (
        Annotated[Length, Range(0, LARGEST_FIT, "um", f"{ON_DIAMETER} clearance.")] | None
    ) = key(
        "by how much the insert exceeds its pocket as that stands, its liner in: on the diameter, "
        "or on both ends together, at 20 degC",
        "10 um",
        None,
        left_out="clearance or bonded says it; for a side, what is stated for the whole fit",
    )
    interference_per_side: Annotated[Length, Range(0, LARGEST_FIT / 2, "um")] | None = key(
        "the same told on each side: half of what it is on the diameter",
        "10 um",
        None,
        left_out="interference says it",
        instead_of="interference",
    )
    clearance: (
        Annotated[Length, Range(0, LARGEST_FIT, "um", f"{ON_DIAMETER} interference.")] | None
    ) = key(
        "what is left free of the pocket as it stands, on the diameter or on both ends together",
        "50 um",
        None,
        left_out="none",
        instead_of="interference",
    )
    bonded: StrictBool | None = key(
        "true where the side is brazed or glued and can't open",
        True,
        None,
        left_out="false",
        instead_of="interference",
    )
    friction: Friction | None = key(
        "Coulomb's coefficient of friction", 0.15, None, left_out=NO_FRICTION
    )


class FitTable(SideTable):
    """``[design.fit]``."""

    tolerance: Annotated[Length, Range(0, 500, "um")] = key(
        "what the interference may be off by, to either side", "5 um", 0.0
    )
    vibration: Annotated[float, Field(strict=True), Range(0, 1000, "")] = key(
        "the shaking that every piece is held against, in g", 50, VIBRATION
    )
    least_hold: Annotated[Force, Range(0, 1e6, "N")] | None = key(
        "the axial hold that every piece must keep whatever its mass",
        "100 N",
        None,
        left_out="vibration times mass says it; 100 N where a density is not known",
    )
    press_creep: Creep = key(
        "the share of the press that hours hot take off, from the warm steps on", "10 %", 0.0
    )
    most_out_of_round: Annotated[Length, Range(0, 1000, "um")] = key(
        "the out-of-round that the press may leave for the hone", "30 um", MOST_OUT_OF_ROUND
    )
    barrel: SideTable | None = Field(None, description="the side against the barrel")
    outer_wall: SideTable | None = Field(None, description="the side against the outer wall")
    ties: SideTable | None = Field(None, description="the ends against the ties")


class HeatTable(Table):
    """``[heat]``."""

    gas_film: AnyFilm | None = key(
        "the film coefficient of the gas, a mean over the engine cycle",
        "220 W/(m2 K)",
        None,
        left_out="the engine's",
    )
    gas_temperature: OfGas | None = key(
        "the gas temperature that goes with it", "700 degC", None, left_out="the engine's"
    )
    gas_heat_flux: Annotated[HeatFlux, Range(0, 20_000, "kW/m2", above=True)] | None = key(
        "the mean heat flux into the bore",
        "120 kW/m2",
        None,
        left_out="film and temperature of the gas say it",
        instead_of="gas_film and gas_temperature",
    )
    deposit: Annotated[Length, Range(0, 1000, "um")] | None = key(
        "the thickness of what the burn leaves on the bore", "20 um", None, left_out="none"
    )
    deposit_conductivity: Annotated[Conductivity, Range(0.01, 10, "W/(m K)")] | None = key(
        "its conductivity",
        "0.5 W/(m K)",
        None,
        left_out=f"{1000 * DEPOSIT:g} W/(m K) (from memory: 0.2 to 2)",
    )
    coolant_film: AnyFilm | None = key(
        "the film coefficient of the coolant",
        "6000 W/(m2 K)",
        None,
        left_out="by the flow under [coolant]; no coolant without",
    )
    coolant_temperature: OfCoolant | None = key(
        "the coolant temperature", "95 degC", None, left_out="no coolant"
    )
    head_film: AnyFilm | None = key(
        "the conductance from the deck to the head", "1500 W/(m2 K)", None, left_out=TO_HEAD
    )
    head_temperature: OfHead | None = key(
        "the temperature of the head at the deck", "110 degC", None, left_out=TO_HEAD
    )
    outside_film: AnyFilm | None = key(
        "the film coefficient of the air outside", "20 W/(m2 K)", None, left_out=TO_OUTSIDE
    )
    outside_temperature: OfAir | None = key(
        "the air temperature outside", "60 degC", None, left_out=TO_OUTSIDE
    )
    joint_conductance: AnyFilm | None = key(
        "the conductance between insert and block where they touch",
        "8000 W/(m2 K)",
        None,
        left_out="required with a fit; without one they are one piece",
    )
    liner_conductance: AnyFilm | None = key(
        "the conductance between liner and barrel",
        "20000 W/(m2 K)",
        None,
        left_out="required with a liner that is pressed or slips in; else they are one piece",
    )


class RingTable(Table):
    """``[piston_ring]``."""

    radial_width: Length = key(
        "the radial width of the ring",
        "3.1 mm",
        allowed=f"{THINNEST_RING:g} mm to an eighth of the bore",
    )
    axial_height: Annotated[Length, Range(0.3, 10, "mm")] = key(
        "the axial height of the ring", "1.2 mm"
    )
    youngs_modulus: Annotated[Pressure, Range(50, 300, "GPa")] = key(
        "its Young's modulus", "160 GPa"
    )
    tangential_force: Annotated[Force, Range(0.5, 200, "N")] = key(
        "the tangential force that closes its gap", "14 N"
    )


class LifeKeys(Table):
    """What heats the block, and the ring that follows its bore."""

    heat: HeatTable | None = Field(
        None,
        description="what heats the block and what cools it; in the "
        "section it flows in its plane alone, none down the barrel, which makes its bore up to "
        f"{100 * HOTTER:.0f} % of the rise above the coolant hotter than the solid's mean over its "
        "depth; the solid conducts all ways",
    )
    piston_ring: RingTable | None = Field(None, description="the ring that follows the bore")


class LinerKeys(Table):
    """What ``[block]`` gets."""

    liner_joint: Literal["cast in", "pressed", "slip"] = key(
        "how the liner is held: cast in with a key it is one with the barrel; pressed or slip, it "
        "opens, closes and slides",
        "pressed",
        CAST_IN,
    )
    liner_interference: (
        Annotated[Length, Range(0, LARGEST_FIT, "um", f"{ON_DIAMETER} liner_clearance.")] | None
    ) = key(
        "what the liner is held by at 20 degC, pressed or cast in, on the diameter",
        "60 um",
        None,
        left_out=UNKNOWN,
    )
    liner_clearance: (
        Annotated[Length, Range(0, LARGEST_FIT, "um", f"{ON_DIAMETER} liner_interference.")] | None
    ) = key(
        "what is left free around a slip liner at 20 degC, on the diameter",
        "20 um",
        None,
        left_out=UNKNOWN,
        instead_of="liner_interference",
    )
    liner_friction: Friction = key(
        "Coulomb's coefficient of friction of a liner that is pressed or slips in",
        0.15,
        LINER_FRICTION,
    )


class HotCompoundTable(Table):
    """A row of ``hot`` in ``[design.compound]``."""

    temperature: Temperature = key(
        "the temperature",
        "150 degC",
        allowed=f"above 20 degC and the row before, to {HOTTEST_COMPOUND:g} degC",
    )
    shear_strength: CompoundStrength = key("its shear strength there", "8 MPa")
    tensile_strength: CompoundStrength = key("its tensile strength there", "6 MPa")


class CompoundTable(Table):
    """``[design.compound]``."""

    shear_strength: Annotated[Pressure, Range(0, 200, "MPa", above=True)] = key(
        "its shear strength at 20 degC, where nothing presses", "16 MPa"
    )
    tensile_strength: CompoundStrength = key("its tensile strength at 20 degC", "12 MPa")
    hot: list[HotCompoundTable] = Field(
        [], description="its strengths when hot, in rising order; none is counted above the last"
    )
    largest_gap: Annotated[Length, Range(0, 2000, "um")] = key(
        "the largest gap of a side that it fills, half of a clearance on the diameter", "150 um"
    )
    friction: Friction = key(
        "Coulomb's coefficient with it in the joint, wet or broken; that of the fit is dry", 0.1
    )


class FitKeys(Table):
    """What ``[[design]]`` gets."""

    roughness: Roughness | None = key(
        "the roughness Rz of the faces of insert and block that a fit presses together",
        "4 um",
        None,
        left_out="not known: nothing is taken off the press",
    )
    block_roughness: Roughness | None = key(
        "that of the block's faces, where it is another", "6.3 um", None, left_out="roughness"
    )
    fit: FitTable | None = Field(
        None, description="how it is fitted, a heading [design.fit]; one piece if left out"
    )
    compound: CompoundTable | None = Field(
        None, description="the retaining compound or resin in its joint, [design.compound]"
    )

"""The schema of the case file, and the wording of what is wrong against it."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StrictBool, StrictInt

from cases.depth import LEAST_GAIN
from cases.errors import Fault
from cases.fit import LEAST_HOLD, MOST_OUT_OF_ROUND, Rating
from cases.gas import ATMOSPHERE, GAMMA_300, GAMMA_SLOPE
from cases.units import (
    parse_angle,
    parse_conductivity,
    parse_expansion,
    parse_film,
    parse_force,
    parse_growth,
    parse_heat_flux,
    parse_heating_value,
    parse_intensity,
    parse_length,
    parse_power,
    parse_pressure,
    parse_share,
    parse_speed,
    parse_temperature,
)
from fea.strength import CRITERIA, MEAN_LINES
from geometry.clock import parse_clock
from geometry.section import THINNEST_WALL

TOLERANCE = 0.02  # numerical error of a hot spot, as a share of its stress
TOLERANCES = (0.003, 0.2)
FEWEST_DRAWS = 20
MOST_SCATTER = 0.3  # of fatigue strength; more is no material to rate by
RELIABILITIES = (0.5, 0.9999)
GAINS = (0.0001, 0.2)  # of another millimetre of insert, as a share

Location = tuple[str | int, ...]  # keys and 0-based positions, as pydantic gives them


def _clock(value: object) -> float:
    if not isinstance(value, str):
        raise ValueError(
            'This is no clock position. Write it in quotes, as hours and minutes: "1:30".'
        )
    return parse_clock(value)


def _tolerance(value: object) -> float:
    share = parse_share(value)
    low, high = TOLERANCES
    if not low <= share <= high:
        raise ValueError(
            f"It must be between {100 * low:g} % and {100 * high:g} %: below that the mesh can't "
            "tell, above it the stress is not worth rating."
        )
    return share


def _efficiency(value: object) -> float:
    share = parse_share(value)
    if not 0 < share <= 1:
        raise ValueError(f"{100 * share:g} % is not above 0 % and up to 100 %.")
    return share


def _share_within(value: object, low: float, high: float, why: str) -> float:
    share = parse_share(value)
    if not low <= share <= high:
        raise ValueError(f"{100 * share:g} % is outside {100 * low:g} % to {100 * high:g} %{why}.")
    return share


def _scatter(value: object) -> float:
    why = ": it is one standard deviation over the mean"
    return _share_within(value, 0.0, MOST_SCATTER, why)


def _gain(value: object) -> float:
    return _share_within(value, *GAINS, " per mm of insert")


def _reliability(value: object) -> float:
    return _share_within(value, *RELIABILITIES, "")


def _cycles(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("Give a plain number of cycles, such as 1e7.")
    if not 1e3 <= value <= 1e10:
        raise ValueError(
            f"{value:g} cycles is outside 1e3 to 1e10: fewer break by yielding, more nobody tested."
        )
    return float(value)


def _draws(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError("Give a whole number of draws, such as 2000; 0 for no band.")
    if value != 0 and not FEWEST_DRAWS <= value <= 100_000:
        raise ValueError(
            f"{value} draws are not 0, for no band, or {FEWEST_DRAWS} to 100000: fewer have no 5 %."
        )
    return value


def _design_name(value: object) -> object:
    if isinstance(value, str) and not re.fullmatch(r"\w(?:[\w .+-]{0,38}\w)?", value):
        raise ValueError(
            "A design's name also names its files: 1 to 40 letters, digits, spaces and . _ + -, "
            "with a letter or digit at each end."
        )
    return value


Length = Annotated[float, BeforeValidator(parse_length)]
Pressure = Annotated[float, BeforeValidator(parse_pressure)]
Angle = Annotated[float, BeforeValidator(parse_angle)]
Temperature = Annotated[float, BeforeValidator(parse_temperature)]
Film = Annotated[float, BeforeValidator(parse_film)]
HeatFlux = Annotated[float, BeforeValidator(parse_heat_flux)]
Conductivity = Annotated[float, BeforeValidator(parse_conductivity)]
Expansion = Annotated[float, BeforeValidator(parse_expansion)]
Force = Annotated[float, BeforeValidator(parse_force)]
Speed = Annotated[float, BeforeValidator(parse_speed)]
Power = Annotated[float, BeforeValidator(parse_power)]
HeatingValue = Annotated[float, BeforeValidator(parse_heating_value)]
Intensity = Annotated[float, BeforeValidator(parse_intensity)]
GrowthRate = Annotated[float, BeforeValidator(parse_growth)]
Efficiency = Annotated[float, BeforeValidator(_efficiency)]
Scatter = Annotated[float, BeforeValidator(_scatter)]
Reliability = Annotated[float, BeforeValidator(_reliability)]
Cycles = Annotated[float, BeforeValidator(_cycles)]
Draws = Annotated[int, BeforeValidator(_draws)]
Friction = Annotated[float, Field(strict=True, ge=0, le=2)]
Clock = Annotated[float, BeforeValidator(_clock)]
Tolerance = Annotated[float, BeforeValidator(_tolerance)]
Bores = Annotated[
    list[StrictInt] | None,
    Field(description="the bores that have it, counted from 1, such as [1, 4]; all if left out"),
]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid")


class BlockTable(_Table):
    """``[block]``."""

    bore: Length = Field(description='the finished diameter of a bore, such as "87 mm"')
    barrel_wall: Length = Field(
        description='the wall of parent metal around a bore, outside any liner, such as "6 mm"'
    )
    material: str = Field(description='the alloy of the block, such as "A356-T6"')
    liner: Length = Field(0.0, description='the wall of the liner, such as "2.5 mm"')
    liner_material: str | None = Field(None, description="the material of the liner")
    liner_interference: Length | None = Field(
        None,
        description="what the liner is held by at 20 degC, pressed or cast in, on the diameter, "
        'such as "60 um"',
    )
    wall_table: list[Annotated[tuple[Clock, Length], Field(strict=False)]] = Field(
        [], description='measured barrel walls, such as [["12:00", "6 mm"], ["4:00", "5.7 mm"]]'
    )
    jacket: Length = Field(0.0, description='the radial width of the water jacket, "9 mm"')
    outer_wall: Length = Field(0.0, description='the wall outside the jacket, such as "9 mm"')
    bores: StrictInt = Field(1, description="the number of bores in line, such as 4")
    pitch: Length = Field(0.0, description='the distance between bore axes, such as "97 mm"')
    firing_bore: StrictInt = Field(1, description="the bore that fires, counted from 1")
    valley_fillet: Length = Field(
        0.0, description='the fillet where two barrels run together, such as "3 mm"'
    )


class TieTable(_Table):
    """``[[tie]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:30"')
    width: Length = Field(description='the width between its sides, such as "8 mm"')
    depth: Length = Field(description='its depth from the deck down, such as "12 mm"')
    fillet: Length = Field(0.0, description='the fillet at its ends, such as "3 mm"')
    bores: Bores = None


class ReliefCutTable(_Table):
    """``[[relief_cut]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:30"')
    radius: Length = Field(description='from the bore axis to its centre, such as "60 mm"')
    diameter: Length = Field(description='its diameter, such as "20 mm"')
    depth: Length = Field(description='its depth from the deck down, such as "25 mm"')
    bores: Bores = None


class GasTable(_Table):
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


class EngineTable(_Table):
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


class SectionTable(_Table):
    """``[section]``."""

    depth: Length | None = Field(None, description='the section depth, such as "28 mm"')
    thinnest_wall: Length = Field(
        THINNEST_WALL, description='the thinnest metal that is let pass, such as "1.5 mm"'
    )
    mesh: Literal["coarse", "normal", "fine"] = Field(
        "normal", description="the fineness of the mesh that the solver starts from"
    )
    tolerance: Tolerance = Field(
        TOLERANCE, description='the numerical error allowed at a hot spot, such as "2 %"'
    )


class ZoneTable(_Table):
    """``[[design.zone]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "1:40"')
    width: Angle = Field(description='the angle over which it has full depth, such as "40 deg"')
    depth: Length = Field(description='its depth from the deck down, such as "18 mm"')
    blend: Angle = Field(0.0, description='the angle of its run-out at each end, "15 deg"')


class SlotTable(_Table):
    """``[[design.slot]]``."""

    clock: Clock = Field(description='the clock position of its centre, such as "4:00"')
    width: Length = Field(description='its radial width, such as "4 mm"')
    arc: Angle = Field(0.0, description='the angle between its end centres, such as "20 deg"')
    radius: Length | None = Field(
        None, description="from the bore axis to its centre line; mid-jacket if left out"
    )
    bores: Bores = None


class SideTable(_Table):
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


class HeatTable(_Table):
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


class DepthTable(_Table):
    """``[depth]``."""

    floor: Length = Field(
        description='the depth of the crankcase floor below the deck, such as "110 mm"'
    )
    clock: Clock | None = Field(
        None, description="the clock position to look at; of the worst hot spot if left out"
    )
    least_gain: Annotated[float, BeforeValidator(_gain)] = Field(
        LEAST_GAIN,
        description="what another millimetre of insert must take off, as a share of the bare "
        'growth or stress, such as "1 %"',
    )


class RingTable(_Table):
    """``[piston_ring]``."""

    radial_width: Length = Field(description='the radial width of the ring, such as "3.1 mm"')
    axial_height: Length = Field(description='the axial height of the ring, such as "1.2 mm"')
    youngs_modulus: Pressure = Field(description='its Young\'s modulus, such as "160 GPa"')
    tangential_force: Force = Field(
        description='the tangential force that closes its gap, such as "14 N"'
    )


class CrackTable(_Table):
    """``[crack]``."""

    part: Literal["barrel", "liner", "tie", "outer wall"] = Field(
        "barrel", description="the part that cracks"
    )
    clock: Clock | None = Field(
        None, description='where it starts, such as "1:30"; the worst hot spot if left out'
    )
    flaw: Length = Field(description='the depth of the flaw that grows, such as "0.5 mm"')
    longest: Length | None = Field(
        None, description='how long it may get, such as "5 mm"; the whole wall if left out'
    )
    gas_in_crack: StrictBool = Field(
        description="true where the gas gets between the faces of the crack, or false"
    )
    paris_c: GrowthRate | None = Field(
        None, description='C: growth per cycle at 1 MPa sqrt(m), such as "4.5e-7 mm/cycle"'
    )
    paris_m: Annotated[float, Field(strict=True, ge=1, le=12)] | None = Field(
        None, description="m, the exponent that goes with it, a plain number such as 3.0"
    )
    threshold: Intensity | None = Field(
        None, description='the range below which nothing grows, such as "1.8 MPa sqrt(m)"'
    )
    walker_gamma: Annotated[float, Field(strict=True, ge=0, le=1)] = Field(
        1.0, description="Walker's exponent for the mean stress, a plain number from 0 to 1"
    )
    toughness: Intensity | None = Field(
        None, description='at which the rest of the wall breaks, such as "20 MPa sqrt(m)"'
    )
    speed: Speed | None = Field(
        None, description='of the crank while it grows, "6000 rpm"; the engine\'s if left out'
    )


class DesignTable(_Table):
    """``[[design]]``."""

    name: Annotated[str, BeforeValidator(_design_name)] = Field(
        description='its name, such as "uniform"'
    )
    depth: Length | None = Field(None, description='the depth of the insert, such as "10 mm"')
    width: Length | None = Field(None, description="its radial width; the whole jacket if left out")
    material: str | None = Field(None, description='the alloy of the insert, such as "6061-T6"')
    fills_relief_cuts: StrictBool = Field(
        True, description="true, or false where the insert is cut back clear of the pockets"
    )
    fit: FitTable | None = Field(
        None, description="how it is fitted, a heading [design.fit]; one piece if left out"
    )
    zone: list[ZoneTable] = Field([], description="the deeper zones of the insert")
    slot: list[SlotTable] = Field([], description="the water slots of the insert")


class HotTable(_Table):
    """A row of ``hot`` in ``[material."..."]``."""

    temperature: Temperature = Field(description='the temperature, such as "150 degC"')
    yield_strength: Pressure | None = Field(
        None, description='the yield strength there, such as "138 MPa"'
    )
    tensile_strength: Pressure | None = Field(
        None, description='the tensile strength there, such as "159 MPa"'
    )


class MaterialTable(_Table):
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


class RatingTable(_Table):
    """``[rating]``."""

    mean_stress: Literal[MEAN_LINES] = Field(  # type: ignore[valid-type]
        "Goodman", description="the line that weighs the mean of a stress cycle"
    )
    criterion: Literal[tuple(CRITERIA)] = Field(  # type: ignore[valid-type]
        "largest principal",
        description="what makes one stress of the stresses of the plane, for fatigue",
    )
    cycles: Cycles = Field(
        Rating.cycles, description="the cycles that the warm engine has to last, such as 1e7"
    )
    cold_cycles: Cycles = Field(
        Rating.cold_cycles,
        description="those at full load before the engine is warm, such as 1e5",
    )
    casting_quality: Efficiency = Field(
        Rating.casting_quality,
        description='the strength of cast metal here over that of its table, such as "70 %"',
    )
    reliability: Reliability = Field(
        Rating.reliability,
        description='the share of parts that have the fatigue strength counted, such as "90 %"',
    )
    wall_tolerance: Length = Field(
        Rating.wall_tolerance,
        description='how much thinner or thicker the walls may be, such as "0.3 mm"',
    )
    pressure_scatter: Scatter = Field(
        Rating.pressure_scatter,
        description='the standard deviation of the gas load over its mean, such as "5 %"',
    )
    draws: Draws = Field(Rating.draws, description="how often chance is asked; 0 for no band")


class CaseTable(_Table):
    """A whole case file."""

    job: str = Field(description="the name of the job, in quotes", min_length=1, max_length=200)
    note: str = Field("", description="anything to remember, in quotes")
    block: BlockTable = Field(description="the block, a heading [block] with its keys")
    tie: list[TieTable] = Field([], description="the ties across the jacket")
    relief_cut: list[ReliefCutTable] = Field([], description="the relief cuts")
    gas: GasTable = Field(
        default_factory=lambda: GasTable.model_validate({}),
        description='the gas load, a heading [gas] with peak_pressure = "150 bar"',
    )
    engine: EngineTable | None = Field(
        None, description="the engine, from which the gas pressure is worked out"
    )
    heat: HeatTable | None = Field(None, description="what heats the block and what cools it")
    piston_ring: RingTable | None = Field(None, description="the ring that follows the bore")
    rating: RatingTable = Field(
        default_factory=lambda: RatingTable.model_validate({}),
        description="what the designs are rated by",
    )
    depth: DepthTable | None = Field(
        None, description='the barrel seen from the side, a heading [depth] with floor = "110 mm"'
    )
    crack: CrackTable | None = Field(None, description="a crack that is followed as it grows")
    section: SectionTable = Field(
        default_factory=lambda: SectionTable.model_validate({}),
        description="how the section is taken",
    )
    design: list[DesignTable] = Field(
        description='the designs to compare, such as name = "bare"', min_length=1
    )
    material: dict[str, MaterialTable] = Field({}, description="materials of your own")


_TABLES: dict[tuple[str, ...], type[BaseModel]] = {
    (): CaseTable,
    ("block",): BlockTable,
    ("tie",): TieTable,
    ("relief_cut",): ReliefCutTable,
    ("gas",): GasTable,
    ("engine",): EngineTable,
    ("section",): SectionTable,
    ("design",): DesignTable,
    ("material",): MaterialTable,
    ("material", "hot"): HotTable,
    ("heat",): HeatTable,
    ("piston_ring",): RingTable,
    ("rating",): RatingTable,
    ("depth",): DepthTable,
    ("crack",): CrackTable,
    ("design", "fit"): FitTable,
    ("design", "fit", "barrel"): SideTable,
    ("design", "fit", "outer_wall"): SideTable,
    ("design", "fit", "ties"): SideTable,
    ("design", "zone"): ZoneTable,
    ("design", "slot"): SlotTable,
}


_LISTS = ("tie", "relief_cut", "design", "zone", "slot", "hot")


def key_path(location: Location) -> str:
    """A place in the file as text, ``tie[2].width``; positions count from 1."""
    path = ""
    for key in location:
        if isinstance(key, int):
            path += f"[{key + 1}]"
        else:
            bare = key if re.fullmatch(r"[\w-]{1,60}", key) else json.dumps(key[:60])
            path += f".{bare}" if path else bare
    return path


def written(raw: Any, location: Location) -> str:
    """The value at a place in the file as it was written, if it is a single one."""
    value = _at(raw, location)
    if isinstance(value, str | bool | int | float):
        text = json.dumps(value, ensure_ascii=False)
        return text if len(text) <= 60 else text[:57] + "..."
    return "" if value is None or isinstance(value, dict | list) else str(value)


def _at(raw: Any, location: Location) -> Any:
    for key in location:
        try:
            raw = raw[key]
        except (KeyError, IndexError, TypeError):
            return None
    return raw


def closest(name: str, known: Iterable[str]) -> str:
    """The known name that is most like this one, or the empty text where none is."""
    by_lower = {item.lower(): item for item in known}
    match = difflib.get_close_matches(name.lower()[:60], by_lower, n=1)
    return by_lower[match[0]] if match else ""


def table_at(location: Location) -> type[BaseModel] | None:
    """The schema of the table at a place, if one can stand there."""
    keys = tuple(key for key in location if isinstance(key, str))
    if keys[:1] == ("material",) and len(keys) > 1:  # the second key is the material's name
        keys = ("material", *keys[2:])
    elif keys[:1] == ("material",):
        return None
    return _TABLES.get(keys)


def schema_fault(raw: Any, error: Mapping[str, Any]) -> Fault:
    """One entry of pydantic's ``ValidationError.errors()`` in words for the person who typed it."""
    location: Location = error["loc"]
    kind = error["type"]
    named = location
    while isinstance(named[-1], int):  # a row of a list is explained with the list
        named = named[:-1]
    key = str(named[-1])
    parent = table_at(named[:-1])
    field = parent.model_fields.get(key) if parent else None
    meaning = f" This is {field.description}." if field and field.description else ""
    if kind == "extra_forbidden" and parent is not None:
        known = closest(key, parent.model_fields)
        guess = f" Did you mean {known}?" if known else ""
        text = f"There is no such key.{guess} Allowed here: {', '.join(parent.model_fields)}."
    elif kind == "missing":
        text = f"It is missing.{meaning}"
    elif kind == "value_error":
        text = str(error["ctx"]["error"])
    elif kind == "list_type" and key in _LISTS:
        heading = ".".join(key for key in location if isinstance(key, str))
        text = f"Each one needs its own heading in double brackets, [[{heading}]]."
    elif kind in ("model_type", "dict_type"):
        text = f"It must be a table under its own heading in single brackets.{meaning}"
    else:
        text = f"{error['msg'].replace('Input should', 'It must')}.{meaning}"
    return Fault(key_path(location), text, written(raw, location))

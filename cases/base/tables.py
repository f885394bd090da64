"""The schema of the case file, and the wording of what is wrong against it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from cases.base.faults import Fault, Location, closest, key_path, written
from cases.base.units import (
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
from cases.block.table import (
    BlockTable,
    DesignTable,
    ReliefCutTable,
    SectionTable,
    SlotTable,
    TieTable,
    ZoneTable,
)
from cases.crack.table import CrackTable
from cases.depth.table import DepthTable
from cases.gas.table import EngineTable, GasTable
from cases.life.table import FitTable, HeatTable, RingTable, SideTable
from cases.materials.table import HotTable, MaterialTable
from cases.rating.table import RatingTable
from geometry.clock import parse_clock

MOST_SCATTER = 0.3  # of fatigue strength; more is no material to rate by


def _clock(value: object) -> float:
    if not isinstance(value, str):
        raise ValueError(
            'This is no clock position. Write it in quotes, as hours and minutes: "1:30".'
        )
    return parse_clock(value)


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
Clock = Annotated[float, BeforeValidator(_clock)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid")


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

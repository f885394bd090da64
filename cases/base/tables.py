"""The schema of the case file, and the wording of what is wrong against it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, create_model

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


def share_within(value: object, low: float, high: float, why: str) -> float:
    """A share between two others; ``why`` ends the sentence that refuses it.

    Raises
    ------
    ValueError
        If it can't be read, or lies outside them.
    """
    share = parse_share(value)
    if not low <= share <= high:
        raise ValueError(f"{100 * share:g} % is outside {100 * low:g} % to {100 * high:g} %{why}.")
    return share


def _scatter(value: object) -> float:
    why = ": it is one standard deviation over the mean"
    return share_within(value, 0.0, MOST_SCATTER, why)


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


class Table(BaseModel):
    """A table of a case file; a key that it doesn't know is a fault."""

    model_config = ConfigDict(extra="forbid")


def file_table(
    tables: Sequence[type[Table]], added: Sequence[tuple[str, type[Table]]]
) -> type[Table]:
    """The table of a whole case file.

    Parameters
    ----------
    tables : sequence of type
        Keys of the top level, subject by subject.
    added : sequence of (str, type)
        Keys that a subject adds to the table, or to each of a list of tables, under a key.

    Raises
    ------
    ValueError
        If two subjects have the same key.
    """
    owners: dict[str, str] = {}
    for table in tables:
        for key in table.model_fields:
            if key in owners:
                raise ValueError(f'"{key}" is a key of {owners[key]} and of {table.__name__}.')
            owners[key] = table.__name__
    grown: dict[str, Any] = {}
    whole = create_model("CaseTable", __base__=tuple(reversed(tables)))
    for key, more in added:
        field = whole.model_fields[key]
        kind = grown[key][0] if key in grown else field.annotation
        grown[key] = (_with_keys(kind, more), field)
    return create_model("CaseTable", __base__=whole, **grown)


def _with_keys(kind: Any, more: type[Table]) -> Any:
    """A table, or a list of tables, with further keys after its own."""
    if get_origin(kind) is list:
        return list[_with_keys(get_args(kind)[0], more)]  # type: ignore[misc]
    if both := kind.model_fields.keys() & more.model_fields.keys():
        raise ValueError(f"{', '.join(sorted(both))} stands in {kind.__name__} already.")
    return create_model(kind.__name__, __base__=(more, kind), __doc__=kind.__doc__)


def inner_table(kind: Any) -> tuple[type[Table] | None, type | None]:
    """The table that a key holds, and whether in a list or under names: ``list``, ``dict``."""
    origin, inside = get_origin(kind), get_args(kind)
    if origin in (list, dict):
        return inner_table(inside[-1])[0], origin
    if inside:
        return next((found for one in inside if (found := inner_table(one)[0])), None), None
    return (kind if isinstance(kind, type) and issubclass(kind, Table) else None), None


def table_at(whole: type[Table], location: Location) -> type[Table] | None:
    """The schema of the table at a place of a case file, if one can stand there."""
    keys = [key for key in location if isinstance(key, str)]
    table: type[Table] | None = whole
    while keys:
        field = table.model_fields.get(keys.pop(0)) if table else None
        if field is None:
            return None
        table, within = inner_table(field.annotation)
        if within is dict:
            if not keys:
                return None
            keys.pop(0)
    return table


def schema_fault(whole: type[Table], raw: Any, error: Mapping[str, Any]) -> Fault:
    """One entry of pydantic's ``ValidationError.errors()`` in words for the person who typed it."""
    location: Location = error["loc"]
    kind = error["type"]
    named = location
    while isinstance(named[-1], int):  # a row of a list is explained with the list
        named = named[:-1]
    key = str(named[-1])
    parent = table_at(whole, named[:-1])
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
    elif kind == "list_type" and field and inner_table(field.annotation)[0]:
        heading = ".".join(key for key in location if isinstance(key, str))
        text = f"Each one needs its own heading in double brackets, [[{heading}]]."
    elif kind in ("model_type", "dict_type"):
        text = f"It must be a table under its own heading in single brackets.{meaning}"
    else:
        text = f"{error['msg'].replace('Input should', 'It must')}.{meaning}"
    return Fault(key_path(location), text, written(raw, location))

"""The schema of the case file, and the wording of what is wrong against it."""

from __future__ import annotations

import json
import re
import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, Union, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, create_model
from pydantic.fields import FieldInfo

from cases.base.faults import Fault, Location, closest, key_path, written
from cases.base.units import (
    ANGLE,
    CONDUCTIVITY,
    DENSITY,
    DURATION,
    EXPANSION,
    FILM,
    FLOW,
    FORCE,
    GROWTH,
    HEAT_FLUX,
    HEATING_VALUE,
    INTENSITY,
    LENGTH,
    MASS,
    POWER,
    PRESSURE,
    SHARE,
    SPEED,
    TEMPERATURE,
    Quantity,
    parse_angle,
    parse_conductivity,
    parse_density,
    parse_duration,
    parse_expansion,
    parse_film,
    parse_flow,
    parse_force,
    parse_growth,
    parse_heat_flux,
    parse_heating_value,
    parse_intensity,
    parse_length,
    parse_mass,
    parse_power,
    parse_pressure,
    parse_share,
    parse_speed,
    parse_temperature,
)
from geometry.clock import parse_clock

if TYPE_CHECKING:
    from pydantic._internal._model_construction import ModelMetaclass
else:
    ModelMetaclass = type(BaseModel)


@dataclass(frozen=True, slots=True)
class Range:
    """Between which values a key may be, whatever stands beside it; put into its ``Annotated``.

    :meth:`cases.base.checking.Faults.within` refuses what lies outside, :mod:`cases.report.keys`
    tells it.
    """

    least: float
    most: float
    unit: str  # as it may be written in a case file; empty for a plain number
    cure: str = ""  # a sentence for who is refused
    above: bool = False  # whether the least itself is refused


@dataclass(frozen=True, slots=True)
class Kind:
    """What a key is that is written as text of a form of its own."""

    unit: str
    range: str


def key(
    what: str,
    example: object,
    default: object = ...,
    *,
    left_out: str = "",
    allowed: str = "",
    instead_of: str = "",
) -> Any:
    """A key of a table, described once for messages, reference and new cases.

    Parameters
    ----------
    what : str
        What it is, without a full stop.
    example : object
        As it may stand in a case file; the examples of all keys make one case.
    default : object
        In the inside unit; required where there is none.
    left_out : str
        What counts where it is left out, if the default doesn't say.
    allowed : str
        What it may be, in words, where that depends on other keys.
    instead_of : str
        The keys that it excludes.
    """
    words = {"left_out": left_out, "allowed": allowed, "instead_of": instead_of}
    said: dict[str, Any] = {name: text for name, text in words.items() if text}
    return Field(default, description=what, examples=[example], json_schema_extra=said)


def notes_of(field: FieldInfo) -> Iterator[Any]:
    """What is noted of a key anywhere in its type: validators, ranges, quantities."""
    yield from field.metadata
    yield from _noted(field.annotation)


def _noted(kind: Any) -> Iterator[Any]:
    if get_origin(kind) is Annotated:
        inside, *notes = get_args(kind)
        for note in notes:
            yield from notes_of(note) if isinstance(note, FieldInfo) else (note,)
        yield from _noted(inside)
    elif get_origin(kind) in (Union, types.UnionType):
        for one in get_args(kind):
            yield from _noted(one)


def range_of(field: FieldInfo) -> Range | None:
    """The range of a key, if it has one of its own."""
    return next((note for note in notes_of(field) if isinstance(note, Range)), None)


def quantity_of(field: FieldInfo) -> Quantity | None:
    """What a key measures, if it carries a unit."""
    return next((note for note in notes_of(field) if isinstance(note, Quantity)), None)


def as_toml(value: Any) -> str:
    """A value as it stands in a case file.

    Examples
    --------
    >>> as_toml([["12:00", "6 mm"], 1e7, True])
    '[["12:00", "6 mm"], 1e7, true]'
    """
    if isinstance(value, Mapping):
        return f"{{ {', '.join(f'{name} = {as_toml(one)}' for name, one in value.items())} }}"
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(as_toml, value))}]"
    if isinstance(value, float):
        text = plain_number(value)
        return text if "e" in text or "." in text else f"{text}.0"
    return json.dumps(value, ensure_ascii=False)


def plain_number(value: float) -> str:
    """A number as short as it may be written.

    Examples
    --------
    >>> plain_number(1e6), plain_number(20_000), plain_number(14.695949)
    ('1e6', '20000', '14.695949')
    """
    short = f"{value:g}"
    text = short if float(short) == value else f"{value:.12g}"
    return re.sub(r"e([+-])0*", lambda sign: f"e{sign[1].strip('+')}", text)


def meaning(field: FieldInfo) -> str:
    """What a key is, with an example; empty where nothing is said of it."""
    if not field.examples:
        return field.description or ""
    return f"{field.description}, such as {as_toml(field.examples[0])}"


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


def share_within(value: object, shares: Range, why: str) -> float:
    """A share between two others [%]; ``why`` ends the sentence that refuses it.

    Raises
    ------
    ValueError
        If it can't be read, or lies outside them.
    """
    share = parse_share(value)
    if not shares.least <= float(f"{100 * share:.12g}") <= shares.most:
        raise ValueError(
            f"{100 * share:g} % is outside {shares.least:g} % to {shares.most:g} %{why}."
        )
    return share


def _scatter(value: object) -> float:
    return share_within(value, SCATTERS, ": it is one standard deviation over the mean")


SCATTERS = Range(0, 30, "%")  # of fatigue strength; more is no material to rate by
CLOCK = Kind("hours and minutes, seen from above the deck", '"0:00" to "12:59"')

Length = Annotated[float, BeforeValidator(parse_length), LENGTH]
Pressure = Annotated[float, BeforeValidator(parse_pressure), PRESSURE]
Angle = Annotated[float, BeforeValidator(parse_angle), ANGLE]
Temperature = Annotated[float, BeforeValidator(parse_temperature), TEMPERATURE]
Film = Annotated[float, BeforeValidator(parse_film), FILM]
HeatFlux = Annotated[float, BeforeValidator(parse_heat_flux), HEAT_FLUX]
Conductivity = Annotated[float, BeforeValidator(parse_conductivity), CONDUCTIVITY]
Density = Annotated[float, BeforeValidator(parse_density), DENSITY]
Expansion = Annotated[float, BeforeValidator(parse_expansion), EXPANSION]
Force = Annotated[float, BeforeValidator(parse_force), FORCE]
Mass = Annotated[float, BeforeValidator(parse_mass), MASS]
Flow = Annotated[float, BeforeValidator(parse_flow), FLOW]
Speed = Annotated[float, BeforeValidator(parse_speed), SPEED]
Power = Annotated[float, BeforeValidator(parse_power), POWER]
HeatingValue = Annotated[float, BeforeValidator(parse_heating_value), HEATING_VALUE]
Intensity = Annotated[float, BeforeValidator(parse_intensity), INTENSITY]
Duration = Annotated[float, BeforeValidator(parse_duration), DURATION]
GrowthRate = Annotated[float, BeforeValidator(parse_growth), GROWTH]
Efficiency = Annotated[float, BeforeValidator(_efficiency), SHARE, Range(0, 100, "%", above=True)]
Scatter = Annotated[float, BeforeValidator(_scatter), SHARE, SCATTERS]
Clock = Annotated[float, BeforeValidator(_clock), CLOCK]


class _Missing:
    """An attribute that isn't there."""

    def __get__(self, *_: object) -> NoReturn:
        raise AttributeError


class _TableType(ModelMetaclass):
    """The abstract base class of a table has a method ``register``; here that is a key."""

    register = _Missing()


class Table(BaseModel, metaclass=_TableType):
    """A table of a case file; a key that it doesn't know is a fault."""

    model_config = ConfigDict(extra="forbid")

    @property
    def left_out(self) -> frozenset[str]:
        """Keys that the case doesn't state."""
        return frozenset(type(self).model_fields) - self.model_fields_set


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
    said = meaning(field) if field else ""
    this_is = f" This is {said}." if said else ""
    if kind == "extra_forbidden" and parent is not None:
        known = closest(key, parent.model_fields)
        guess = f" Did you mean {known}?" if known else ""
        text = f"There is no such key.{guess} Allowed here: {', '.join(parent.model_fields)}."
    elif kind == "missing":
        text = f"It is missing.{this_is}"
    elif kind == "value_error":
        text = str(error["ctx"]["error"])
    elif kind == "list_type" and field and inner_table(field.annotation)[0]:
        heading = ".".join(key for key in location if isinstance(key, str))
        text = f"Each one needs its own heading in double brackets, [[{heading}]]."
    elif kind in ("float_type", "int_type"):
        what = "plain" if kind == "float_type" else "whole"
        text = f"It must be a {what} number, without quotes.{this_is}"
    elif kind in ("model_type", "dict_type"):
        text = f"It must be a table under its own heading in single brackets.{this_is}"
    else:
        text = f"{error['msg'].replace('Input should', 'It must')}.{this_is}"
    return Fault(key_path(location), text, written(raw, location))

"""The reference of the keys of a case file, from the schema's own words: text, page."""

from __future__ import annotations

import textwrap
import types
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from cases.base.faults import CaseError, Fault, closest
from cases.base.tables import (
    Kind,
    Table,
    as_toml,
    inner_table,
    notes_of,
    plain_number,
    quantity_of,
    range_of,
)
from cases.base.templates import render
from cases.base.units import Quantity
from cases.subjects import case_table

WIDTH = 79  # of the text [characters]
_ENDS = ("ge", "gt", "le", "lt", "min_length", "max_length")
OWN_NAME = '"..."'  # stands for a name that the case gives


@dataclass(frozen=True, kw_only=True, slots=True)
class KeyWords:
    """What is told of a key."""

    name: str
    what: str
    unit: str  # what it measures, with the units that may be written; or what else it is
    default: str  # as it may be written, or "required", or what counts where it is left out
    range: str
    example: str  # as it stands in a case file, without the name
    instead_of: str  # keys that it excludes; may be empty
    required: bool


@dataclass(frozen=True, kw_only=True, slots=True)
class TableWords:
    """What is told of a table, or of several that have the same keys."""

    paths: tuple[str, ...]  # such as ``design.fit``; empty for the top of the file
    headings: tuple[str, ...]  # such as ``[design.fit]`` or ``[[tie]]``
    whats: tuple[str, ...]  # what each of them is
    required: bool
    many: bool  # whether it may stand there more than once
    keys: tuple[KeyWords, ...]


def key_tables(whole: type[Table] | None = None) -> tuple[TableWords, ...]:
    """Every table of a case file with its keys, in the order of the schema.

    Parameters
    ----------
    whole : type, optional
        The schema of the file; that of all subjects if left out.
    """
    return tuple(_tables(whole or case_table(), ""))


def keys_named(name: str, tables: Sequence[TableWords]) -> tuple[TableWords, ...]:
    """The tables of a name with those inside them, and the keys of that name in others.

    Parameters
    ----------
    name : str
        As in ``heat``, ``design.fit``, ``[[tie]]``, ``clock`` or ``tie.clock``.
    tables : sequence of TableWords

    Raises
    ------
    CaseError
        If there is none, with the one that is most like it.
    """
    asked = "".join(name.split()).strip("[]").lower()
    found = []
    for table in tables:
        whole = any(_within(asked, path) for path in table.paths)
        keys = tuple(
            key
            for key in table.keys
            if asked == key.name or asked in (f"{path}.{key.name}" for path in table.paths)
        )
        if whole:
            found.append(table)
        elif keys:
            found.append(replace(table, keys=keys))
    if found:
        return tuple(found)
    paths = [path for table in tables for path in table.paths if path]
    dotted = [
        f"{path}.{key.name}" for table in tables for path in table.paths for key in table.keys
    ]
    known = [*paths, *(path.rpartition(".")[2] for path in paths), *dotted]
    known += [key.name for table in tables for key in table.keys]
    guess = closest(asked, known)
    text = f"Did you mean {guess}? " if guess else ""
    tops = ", ".join(dict.fromkeys(path.partition(".")[0] for path in paths))
    text += f"Tables: {tops}; hoopclock keys without a name tells all."
    raise CaseError("hoopclock keys", [Fault(name, f"There is no such table or key. {text}")])


def keys_text(tables: Sequence[TableWords]) -> str:
    """The reference as plain text, at most ``WIDTH`` characters wide."""
    return "\n\n".join("\n".join(_table_lines(table)) for table in tables)


def write_keys_page(path: Path, tables: Sequence[TableWords]) -> None:
    """Write the reference as a page that needs nothing else.

    Raises
    ------
    OSError
        If it can't be written.
    """
    from cases.base.version import __version__

    page = render("report/keys.html.j2", tables=tables, presence=presence, version=__version__)
    path.write_text(page, encoding="utf-8")


def presence(table: TableWords) -> str:
    """Whether a table must be there, and how often it may."""
    if table.many:
        return "one or more" if table.required else "as many as there are, none if left out"
    return "required" if table.required else "may be left out"


def _within(asked: str, path: str) -> bool:
    """Whether a table is the one asked for, or inside it."""
    return bool(asked) and f".{asked}." in f".{path}."


def _tables(table: type[Table], path: str) -> Iterator[TableWords]:
    inside: dict[type[Table], list[tuple[str, FieldInfo, bool]]] = {}
    keys = []
    for name, field in table.model_fields.items():
        kind, within = inner_table(field.annotation)
        if kind is None:
            keys.append(_key(name, field))
            continue
        place = f"{path}.{name}" if path else name
        place += f".{OWN_NAME}" if within is dict else ""
        inside.setdefault(kind, []).append((place, field, within is list))
    top = ("at the top of the file, above every heading",)
    yield TableWords(
        paths=(path,), headings=(), whats=top, required=True, many=False, keys=tuple(keys)
    )
    for kind, places in inside.items():
        paths = tuple(place for place, _, _ in places)
        first, *within_it = _tables(kind, paths[0])
        yield replace(
            first,
            paths=paths,
            headings=tuple(f"[[{place}]]" if many else f"[{place}]" for place, _, many in places),
            whats=tuple(field.description or "" for _, field, _ in places),
            required=any(field.is_required() for _, field, _ in places),
            many=any(many or place.endswith(OWN_NAME) for place, _, many in places),
        )
        yield from within_it


def _key(name: str, field: FieldInfo) -> KeyWords:
    said = field.json_schema_extra
    words: dict[str, Any] = said if isinstance(said, dict) else {}
    example = field.examples[0] if field.examples else None
    return KeyWords(
        name=name,
        what=field.description or "",
        unit=_unit(field.annotation, list(notes_of(field))),
        default=_default(field, words.get("left_out", "")),
        range=words.get("allowed") or _range(field),
        example="" if example is None else as_toml(example),
        instead_of=words.get("instead_of", ""),
        required=field.is_required(),
    )


def _unit(kind: Any, notes: Sequence[Any] = ()) -> str:
    for note in notes:
        if isinstance(note, Quantity):
            return f"{note.name}: {', '.join(note.units)}"
        if isinstance(note, Kind):
            return note.unit
    origin, inside = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _unit(inside[0], inside[1:])
    if origin in (Union, types.UnionType):
        return _unit(next(one for one in inside if one is not type(None)))
    if origin is list:
        return f"a list, each {_unit(inside[0])}"
    if origin is tuple:
        return f"[{'; '.join(map(_unit, inside))}]"
    if origin is Literal:
        return "one of the words, in quotes"
    plain = {
        bool: "true or false",
        int: "a whole number, no unit",
        float: "a plain number, no unit",
        str: "text in quotes",
    }
    return plain[kind]


def _range(field: FieldInfo) -> str:
    limits, notes = range_of(field), list(notes_of(field))
    if limits is not None:
        unit = limits.unit if quantity_of(field) else ""
        low = (
            f"above {plain_number(limits.least)}"
            if limits.above
            else f"{plain_number(limits.least)}"
        )
        return f"{low} to {plain_number(limits.most)} {unit}".strip()
    for note in notes:
        if isinstance(note, Kind):
            return note.range
    ends = {name: getattr(note, name) for note in notes for name in _ENDS if hasattr(note, name)}
    if "min_length" in ends:
        return f"{ends['min_length']} to {ends['max_length']} characters"
    if ends:
        low = f"{plain_number(ends['ge'])}" if "ge" in ends else f"above {plain_number(ends['gt'])}"
        high = (
            f"{plain_number(ends['le'])}" if "le" in ends else f"below {plain_number(ends['lt'])}"
        )
        return f"{low} to {high}"
    words = _words(field.annotation)
    return ", ".join(map(as_toml, words)) if words else ""


def _words(kind: Any) -> tuple[Any, ...]:
    """All that a key may be, where they are few."""
    if get_origin(kind) is Literal:
        return get_args(kind)
    if kind is bool:
        return (True, False)
    return next((found for one in get_args(kind) if (found := _words(one))), ())


def _default(field: FieldInfo, left_out: str) -> str:
    if field.is_required():
        return "required"
    value, quantity = field.default, quantity_of(field)
    if value is None or value == []:
        return left_out
    if quantity is not None:
        limits = range_of(field)
        unit = limits.unit if limits else next(iter(quantity.units))
        value = f"{plain_number(quantity.written(value, unit))} {unit}"
    return f"{as_toml(value)}{f' ({left_out})' if left_out else ''}"


def _table_lines(table: TableWords) -> Iterator[str]:
    if table.headings:
        yield from textwrap.wrap(", ".join(table.headings), WIDTH)
        yield from _wrapped(f"{'; '.join(table.whats)} ({presence(table)})", "  ")
    else:
        yield table.whats[0].capitalize()
    for key in table.keys:
        yield ""
        yield f"  {key.name}"
        yield from _wrapped(key.what, "      ")
        for word, text in _told(key):
            yield from _wrapped(f"{word + ':':<9}{text}", "      ", " " * 15)


def _told(key: KeyWords) -> Iterable[tuple[str, str]]:
    yield "unit", key.unit
    yield "default", key.default
    yield "range", key.range
    if key.instead_of:
        yield "instead", f"of {key.instead_of}"
    yield "example", f"{key.name} = {key.example}"


def _wrapped(text: str, indent: str, more: str = "") -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=indent, subsequent_indent=more or indent,
        break_long_words=False, break_on_hyphens=False,
    )  # fmt: skip

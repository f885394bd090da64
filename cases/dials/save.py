"""What was moved put into a case file: its comments and all other keys as they were typed."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT, Table


def saved_text(text: str, before: Mapping[str, Any], after: Mapping[str, Any]) -> str:
    """A case file with what differs between two contents changed in it.

    Parameters
    ----------
    text : str
        The case file.
    before : mapping
        Its content.
    after : mapping
        What its content is to be.

    Examples
    --------
    >>> print(saved_text('depth = "5 mm"  # mine', {"depth": "5 mm"}, {"depth": "6 mm"}))
    depth = "6 mm"  # mine
    """
    document = tomlkit.parse(text)
    _change(document, before, after)
    return tomlkit.dumps(document)


def _change(place: Any, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Change a table in its document."""
    for key in [of for of in before if of not in after]:
        del place[key]
    for key, value in after.items():
        old = before.get(key)
        if key in before and old == value:
            continue
        if isinstance(old, Mapping) and isinstance(value, Mapping):
            _change(place[key], old, value)
        elif isinstance(old, list) and _rows(old) and _rows(value):
            _change_rows(place[key], old, value)
        else:
            place[key] = _item(value, isinstance(place, Table | tomlkit.TOMLDocument))


def _rows(value: Any) -> bool:
    """Whether it is a list of tables."""
    return isinstance(value, list) and bool(value) and all(isinstance(of, dict) for of in value)


def _change_rows(rows: Any, before: list[Any], after: list[Any]) -> None:
    """Change a list of tables: row by row where as many stand in it, those gone taken out."""
    while len(before) > len(after):
        at = next((of for of, row in enumerate(before) if row not in after), len(before) - 1)
        del rows[at]
        before = [*before[:at], *before[at + 1 :]]
    for row, old, new in zip(rows, before, after, strict=False):
        _change(row, old, new)
    for new in after[len(before) :]:
        rows.append(_item(new, isinstance(rows, AoT)))


def _item(value: Any, headed: bool) -> Any:
    """A value for a document; a table within a line as one, else under a heading."""
    if isinstance(value, Mapping):
        table: Any = tomlkit.table() if headed else tomlkit.inline_table()
        for key, of in value.items():
            nested = headed and not isinstance(of, Mapping)
            table[key] = _item(of, nested or (headed and len(of) > 2))
        return table
    if _rows(value) and headed:
        rows = tomlkit.aot()
        for of in value:
            rows.append(_item(of, True))
        return rows
    return value


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there as it was, or as it is to be, whenever this is ended.

    Raises
    ------
    OSError
    """
    beside = path.with_name(f".{path.name}.part")
    with beside.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    os.replace(beside, path)

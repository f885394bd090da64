"""A case to start from: every table and key, with the schema's words beside them."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from pathlib import Path

from cases.base.faults import CaseError, Fault
from cases.report.keys import OWN_NAME, WIDTH, KeyWords, TableWords, key_tables, presence

STATED = (
    "block.liner", "block.liner_material", "block.jacket", "block.outer_wall", "gas.peak_pressure",
    "design.depth", "design.material",
)  # fmt: skip
"""Keys that a start needs, though a case may leave them out."""
STATED_TABLES = ("tie", "relief_cut", "gas")
"""The same of tables."""
_HEAD = (
    "A case file to start from. Its numbers are invented and no real engine's: put your own in "
    "their place, then run hoopclock solve on it, or hoopclock rate.\n"
    "What begins with # and a key or a heading, without a space between, may be left out, and is: "
    "take out the # to state it, and that of its heading. Every number carries its unit; hoopclock "
    "keys tells all units that may be written.\n"
    'Clock positions are seen looking down on the deck, "12:00" at the datum, hours clockwise.'
)
_BARE = ("", "# The block as it is, to compare with.", "[[design]]", 'name = "bare"')


def starter_case(tables: Sequence[TableWords]) -> str:
    """The text of a case, the examples of all keys; what a start doesn't need is commented out.

    Keys that exclude others stand there as words.
    """
    lines = list(_comment(_HEAD, "# "))
    for table in tables:
        for place, path in enumerate(table.paths):
            lines += _BARE if path == "design" else ()
            lines += ["", *_table(table, place)]
    return "\n".join(lines) + "\n"


def write_starter(path: Path) -> None:
    """Write a case to start from; what is there already is never written over.

    Raises
    ------
    CaseError
        If something of that name exists, or it can't be written.
    """
    text = starter_case(key_tables())
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError:
        raise _refused(path, "It exists, and is left as it is. Choose another name.") from None
    except FileNotFoundError:
        cure = f"There is no folder {path.parent}. Make it first, or choose another."
        raise _refused(path, cure) from None
    except OSError as error:
        raise _refused(path, f"It can't be written: {error.strerror}.") from None


def _refused(path: Path, text: str) -> CaseError:
    return CaseError(str(path), [Fault("", text)])


def _table(table: TableWords, place: int) -> Iterator[str]:
    path = table.paths[place]
    stated = table.required or path in STATED_TABLES
    if table.headings:
        yield from _comment(f"{table.whats[place]} ({presence(table)})")
        heading = table.headings[place].replace(OWN_NAME, '"our casting"')
        yield heading if stated else f"#{heading}"
    for key in table.keys:
        full = f"{path}.{key.name}" if path else key.name
        yield from _key(key, stated=stated and (key.required or full in STATED))


def _key(key: KeyWords, *, stated: bool) -> Iterator[str]:
    line = f"{key.name} = {key.example}"
    words = f"{key.what}; {key.range}"
    if not key.required:
        default = key.default
        words += f"; {default if default.startswith('required') else f'left out: {default}'}"
    if key.instead_of:
        yield from _comment(f"or, instead of {key.instead_of}, {line}: {words}")
    else:
        yield from _comment(words)
        yield line if stated else f"#{line}"


def _comment(text: str, more: str = "#   ") -> Iterator[str]:
    for paragraph in text.splitlines():
        yield from textwrap.wrap(
            paragraph, WIDTH, initial_indent="# ", subsequent_indent=more,
            break_long_words=False, break_on_hyphens=False,
        )  # fmt: skip

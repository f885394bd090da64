"""A TOML file as it was typed, or a refusal in words."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from cases.base.faults import CaseError, Fault, Location, key_path

MOST_PARTS = 50  # of a dotted key; no key here has more than four
LARGEST_FILE = 1_000_000  # a case file is typed by hand; more is the wrong file [bytes]

_DOTTED = re.compile(
    rf"""(?<![\w.-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{MOST_PARTS}}}"""
)


def load_toml(path: Path) -> dict[str, Any]:
    """The content of a TOML file in UTF-8, at most ``LARGEST_FILE`` bytes.

    Raises
    ------
    CaseError
        If it can't be read, or is no TOML.
    """

    def refuse(text: str, place: str = "") -> CaseError:
        return CaseError(str(path), [Fault(place, text)])

    try:
        if not path.exists():
            raise refuse("There is no such file. Check the folder and the spelling.")
        if not path.is_file():
            raise refuse("This is not a file. Give the path of a case file, such as case.toml.")
        with path.open("rb") as file:
            content = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise refuse(f"It can't be read: {error.strerror}. Check its path and rights.") from None
    if len(content) > LARGEST_FILE:
        raise refuse(
            f"It has more than {LARGEST_FILE // 1000} kB. A case file is a few kB of typed text; "
            "is this the right file?"
        )
    if not content.strip():
        raise refuse("It is empty. hoopclock new writes a case file to start from.")
    if b"\0" in content:
        raise refuse("It is not plain text. Save the case file as UTF-8 text.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise refuse(
            "A character is not UTF-8. Save the case file as UTF-8 text.", f"line {line}"
        ) from None
    if dotted := _DOTTED.search(text):  # the parser's time grows with the square of them
        line = text[: dotted.start()].count("\n") + 1
        raise refuse(
            f"More than {MOST_PARTS} names are joined by points. No key has more than four; give "
            "each table a heading of its own, such as [block].",
            f"line {line}",
        )
    try:
        raw = tomllib.loads(text)
        endless = list(_endless(raw))
    except RecursionError:
        raise refuse("Its brackets are nested too deep.") from None
    except ValueError as error:
        where = re.search(r" \(at line (\d+), column (\d+)\)$", str(error))
        place, shown = "", ""
        if where:
            place = f"line {where[1]}, column {where[2]}"
            shown = f": {text.splitlines()[int(where[1]) - 1].strip():.60}"
        what = str(error)[: where.start()] if where else str(error)
        quotes = (
            " Text, clock positions and numbers with a unit stand in quotes: "
            'bore = "87 mm", clock = "1:40".'
        )
        raise refuse(
            f"{what}.{'' if what.startswith('Cannot') else quotes}", place + shown
        ) from None
    if endless:
        too_large = "The number is too large. A whole number has at most 18 digits."
        raise CaseError(str(path), [Fault(key_path(place), too_large) for place in endless])
    return raw


def _endless(value: Any, place: Location = ()) -> Iterator[Location]:
    """Places of whole numbers that 64 bits don't hold; TOML promises no more."""
    if isinstance(value, dict | list):
        for key, item in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _endless(item, (*place, key))
    elif isinstance(value, int) and abs(value) >= 2**63:
        yield place

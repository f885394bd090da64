"""The two ways a case can fail, each with a message for the person at the machine."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

_SHOWN = 20  # faults in one message; more can't be read at once
_LONGEST_PLACE = 200  # of a fault, its value with it [characters]
_LONGEST_TEXT = 1500  # of a fault [characters]
MORE_ROOM = (
    "End other programs, take fewer designs at a time, a coarser mesh or a larger tolerance."
)
_NO_MEMORY = re.compile(
    r"failed to map segment|cannot allocate memory|not enough memory|paging file is too small",
    re.IGNORECASE,
)
"""What loaders and libraries of several systems say where they raise no ``MemoryError``."""


def printable(text: str, most: int) -> str:
    """A text on one line: what can't be printed as its code, a long middle left out.

    Parameters
    ----------
    text : str
    most : int
        Characters kept, two thirds of them from the beginning.
    """
    if len(text) > most:
        text = f"{text[: 2 * most // 3]} ... {text[-most // 3 :]}"
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() else letter.encode("unicode_escape").decode("ascii")
        for letter in text
    )


def require_printable(source: str, key: str, path: str | Path) -> None:
    """Refuse a name that is no text, as messages and pages could not tell it.

    Raises
    ------
    CaseError
    """
    try:
        str(path).encode("utf-8")
    except UnicodeEncodeError:
        fault = Fault(key, "The name is not UTF-8. Rename it, or choose another.", f'"{path}"')
        raise CaseError(source, [fault]) from None


def memory_ran_out(error: BaseException) -> bool:
    """Whether an error, or one that it came from, is a lack of memory by another name."""
    found: BaseException | None = error
    while found is not None:
        if isinstance(found, MemoryError) or _NO_MEMORY.search(str(found)):
            return True
        found = found.__cause__ or found.__context__
    return False


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in a case file."""

    path: str  # key path such as ``tie[2].width``; may be empty
    text: str  # what is wrong, what is allowed, how to mend it
    value: str = ""  # as it stands in the file; may be empty

    def __str__(self) -> str:
        place = f"{self.path} = {self.value}" if self.value else self.path
        place, text = printable(place, _LONGEST_PLACE), printable(self.text, _LONGEST_TEXT)
        return f"  {place}\n      {text}" if place else f"  {text}"


class CaseError(ValueError):
    """The input is wrong; the message lists every fault found, with its key path and cure.

    Attributes
    ----------
    faults : tuple[Fault, ...]
        In the order of the file.
    source : str
        Path of the file.
    """

    def __init__(self, source: str, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        lines = [f"{printable(source, _LONGEST_PLACE)}: {count}.", *map(str, self.faults[:_SHOWN])]
        if len(self.faults) > _SHOWN:
            lines.append(f"  and {len(self.faults) - _SHOWN} more; mend these first.")
        if any(re.search(r"\[\d+\]", fault.path) for fault in self.faults):
            lines.append("  (Numbers in brackets count from 1, from the top of the file.)")
        self.source = source
        super().__init__("\n".join(lines))

    def __reduce__(self) -> tuple[type[CaseError], tuple[str, tuple[Fault, ...]]]:
        """So that it comes whole out of another process."""
        return CaseError, (self.source, self.faults)


class RunError(RuntimeError):
    """The input is sound but the run failed; the message names the design and the stage."""


@dataclass(frozen=True, slots=True)
class Refusal:
    """In place of a finding that could not be made: all that was found before it is kept."""

    text: str

    @classmethod
    def of(cls, error: Exception) -> Refusal:
        """Why, in words, of an error.

        Raises
        ------
        Exception
            The same, where it is of a lack of memory.
        """
        if memory_ran_out(error):
            raise error
        if isinstance(error, CaseError):
            return cls(" ".join(f"{fault.path}: {fault.text}" for fault in error.faults))
        return cls(f"{error}")


Location = tuple[str | int, ...]  # keys and 0-based positions, as pydantic gives them


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


def order_in(raw: Any, location: Location) -> tuple[int, ...]:
    """Where a place of the file stands in it, to sort by; what is missing ends its table.

    Examples
    --------
    >>> raw = {"gas": {}, "tie": [{"width": 1}, {"depth": 2}]}
    >>> order_in(raw, ("tie", 1, "depth")), order_in(raw, ("block",))
    ((1, 1, 0), (2,))
    """
    order: list[int] = []
    for key in location:
        if isinstance(raw, dict) and key in raw:
            order.append(list(raw).index(key))
            raw = raw[key]
        elif isinstance(raw, list) and isinstance(key, int) and key < len(raw):
            order.append(key)
            raw = raw[key]
        else:
            return (*order, len(raw) if isinstance(raw, dict | list) else 0)
    return tuple(order)


def _at(raw: Any, location: Location) -> Any:
    for key in location:
        try:
            raw = raw[key]
        except (KeyError, IndexError, TypeError):
            return None
    return raw


def closest(name: str, known: Iterable[str]) -> str:
    """The known name that is most like this one, or the empty text where none is."""
    import difflib

    by_lower = {item.lower(): item for item in known}
    match = difflib.get_close_matches(name.lower()[:60], by_lower, n=1)
    return by_lower[match[0]] if match else ""

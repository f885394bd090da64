"""The two ways a case can fail, each with a message for the person at the machine."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

_SHOWN = 20  # faults in one message; more can't be read at once


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in a case file."""

    path: str  # key path such as ``tie[2].width``; may be empty
    text: str  # what is wrong, what is allowed, how to mend it
    value: str = ""  # as it stands in the file; may be empty

    def __str__(self) -> str:
        place = f"{self.path} = {self.value}" if self.value else self.path
        return f"  {place}\n      {self.text}" if place else f"  {self.text}"


class CaseError(ValueError):
    """The input is wrong; the message lists every fault found, with its key path and cure.

    Attributes
    ----------
    faults : tuple[Fault, ...]
        In the order of the file.
    """

    def __init__(self, source: str, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        count = "1 fault" if len(self.faults) == 1 else f"{len(self.faults)} faults"
        lines = [f"{source}: {count}.", *map(str, self.faults[:_SHOWN])]
        if len(self.faults) > _SHOWN:
            lines.append(f"  and {len(self.faults) - _SHOWN} more; mend these first.")
        if any(re.search(r"\[\d+\]", fault.path) for fault in self.faults):
            lines.append("  (Numbers in brackets count from 1, from the top of the file.)")
        super().__init__("\n".join(lines))


class RunError(RuntimeError):
    """The input is sound but the run failed; the message names the design and the step."""

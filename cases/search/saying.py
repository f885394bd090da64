"""How far a search is, on the stream for errors."""

from __future__ import annotations

import sys
from time import monotonic

from cases.base.progress import time_left

SILENT_FOR = 3.0
"""Lines come no faster. [s]."""


class Saying:
    """Tells done, best and time left; :attr:`cases.search.seek.Tell`."""

    def __init__(self) -> None:
        self._said = -SILENT_FOR
        self._at = ""
        self._begun: dict[str, tuple[float, int]] = {}

    def __call__(self, setting: str, done: int, most: int, best: str) -> None:
        """One line, unless the last of the same kind was just said."""
        if setting == "walls":
            told = "what its walls do to the design to begin with, by its section: a minute or so"
            print(told, file=sys.stderr, flush=True)
            return
        now = monotonic()
        since, before = self._begun.setdefault(setting, (now, done))
        if setting == self._at and now - self._said < SILENT_FOR and done < most:
            return
        self._said, self._at = now, setting
        parts = [f"{setting} solids: {done} of {most} designs", best]
        if done > before and done < most:
            parts.append(time_left((now - since) / (done - before) * (most - done)))
        print(", ".join(of for of in parts if of), file=sys.stderr, flush=True)

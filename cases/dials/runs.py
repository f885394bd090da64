"""``hoopclock rate`` and ``hoopclock make`` of the case, as a shop would run them."""

from __future__ import annotations

import asyncio
import os
import sys
from collections.abc import Callable
from pathlib import Path

LAST = 40
"""Lines of what a run said that are shown."""
MAIN = "from cases.cli import main; main(prog_name='hoopclock')"


class Run:
    """One run at a time, beside the case.

    Attributes
    ----------
    lines : list of str
        The command, and what it said last.
    page : str
        What it wrote, from the folder of the results on; empty until it is there.
    """

    def __init__(self, case: Path) -> None:
        self.case = case
        self.lines: list[str] = []
        self.page = ""
        self._process: asyncio.subprocess.Process | None = None

    @property
    def results(self) -> Path:
        """Folder of the results."""
        return self.case.resolve().with_suffix("")

    @property
    def says(self) -> str:
        """How it stands, in a line."""
        if self._process is None or not self.lines:
            return ""
        what, last = self.lines[0], self.lines[-1].strip()
        if self.at_work:
            return f"{what}: {last}" if len(self.lines) > 1 else f"{what}: begun"
        return f"{what}: {'done.' if self.page else 'it failed, see below.'}"

    @property
    def at_work(self) -> bool:
        """Whether it has not ended yet."""
        return self._process is not None and self._process.returncode is None

    async def start(self, verb: str, page: str, changed: Callable[[], None], *more: str) -> None:
        """Run a verb on the case to its end.

        Parameters
        ----------
        verb : str
        page : str
            That it writes, from the folder of the results on.
        changed : callable
            Called when it has said something.
        *more : str
            Further arguments.
        """
        if self.at_work:
            return
        folder, name = self.case.resolve().parent, self.case.name
        self.lines, self.page = [f"hoopclock {verb} {name} {' '.join(more)}".strip()], ""
        self._process = await asyncio.create_subprocess_exec(
            sys.executable, "-c", MAIN, verb, name, "--out", self.results.name, *more, cwd=folder,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
            stdout=asyncio.subprocess.PIPE, stderr=asyncio.subprocess.STDOUT,
        )  # fmt: skip
        changed()
        assert self._process.stdout is not None
        async for line in self._process.stdout:
            said = [*self.lines[1:], line.decode(errors="replace").rstrip()]
            self.lines = [self.lines[0], *said[-LAST:]]
            changed()
        if await self._process.wait() == 0:
            self.page = page
        changed()

    def end(self) -> None:
        """End it where it is at work."""
        if self.at_work and self._process is not None:
            self._process.terminate()

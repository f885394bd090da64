"""How much memory is at hand, and whose turn it is where there is not enough for two."""

from __future__ import annotations

import ctypes
import gc
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

GROUP = Path("/sys/fs/cgroup")
LEFT_FREE = 300 * 2**20
"""Of what is at hand, kept for the system and the pictures. [bytes]."""


def memory_at_hand() -> int | None:
    """Memory that this process can still take; None where the system doesn't tell. [bytes].

    The least of what the system has left, of what the group of processes is let have, and of what
    this process is.
    """
    known = [of for of in (_of_system(), _of_group(), _of_process()) if of is not None]
    return max(min(known) - LEFT_FREE, 0) if known else None


def _of_system() -> int | None:
    return _told(Path("/proc/meminfo"), "MemAvailable:", 1024)


def _of_group() -> int | None:
    try:
        most, used = (
            (GROUP / name).read_text(encoding="ascii").strip()
            for name in ("memory.max", "memory.current")
        )
    except OSError:
        return None
    if most == "max":
        return None
    cached = _told(GROUP / "memory.stat", "inactive_file", 1) or 0  # given back when asked for
    return int(most) - int(used) + cached


def _of_process() -> int | None:
    most = _told(Path("/proc/self/limits"), "Max address space", 1)
    used = _told(Path("/proc/self/status"), "VmSize:", 1024)
    return None if most is None or used is None else most - used


def _told(file: Path, name: str, unit: int) -> int | None:
    """The first number on a line of a file that the system keeps; None where there is none."""
    try:
        lines = file.read_text(encoding="ascii").splitlines()
    except OSError:
        return None
    for line in lines:
        if line.startswith(name):
            value = line.removeprefix(name).split()[0]
            return unit * int(value) if value.isdigit() else None
    return None


def give_back() -> None:
    """Give back to the system what is no more in use, where its C library can.

    What hangs together in circles, and what was freed in small pieces: 0.46 of 1.25 GB once the
    fitted section of the bundled block's ``local`` is solved.
    """
    gc.collect()
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None) if os.name == "posix" else None
    if trim:
        trim(0)


@contextmanager
def memory_for(need: int) -> Iterator[int | None]:
    """Room for a task, alone among the processes of one run where there is none for two.

    Parameters
    ----------
    need : int
        Of the task. [bytes]

    Yields
    ------
    int or None
        What is at hand once it is this task's turn; None where the system doesn't tell. It may be
        less than is needed.
    """
    from filelock import FileLock

    give_back()
    free = memory_at_hand()
    if free is None or free >= 2 * need:
        yield free
        return
    with FileLock(Path(tempfile.gettempdir()) / f"hoopclock-{os.getppid()}.lock"):
        yield memory_at_hand()

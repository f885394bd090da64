"""Processes that solve designs side by side, and what they tell on the way."""

from __future__ import annotations

import mmap
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.connection import Connection
from threading import Thread

from cases.base.faults import MORE_ROOM, RunError
from cases.base.threads import one_thread

MOST = 4
LEAST_MEMORY = 10**9
"""Address space that a run needs: 0.8 to 1.3 GB at its peak, libraries with it. [bytes]."""

_SPAWN = multiprocessing.get_context("spawn")


def require_memory() -> None:
    """Refuse to start where there is no room: some libraries would end the process unheard.

    Raises
    ------
    MemoryError
        If this process can't have ``LEAST_MEMORY`` more.
    """
    try:
        mmap.mmap(-1, LEAST_MEMORY).close()
    except OSError as error:
        raise MemoryError(str(error)) from error


class Workers(ProcessPoolExecutor):
    """Spawned processes with one numeric thread each unless asked, that never outlive this one.

    Each waits at the reading end of a pipe whose writing end is here alone. That end closes when
    this process ends, however it ends, or by ``cut``; then they end, in the midst of their work.
    """

    def __init__(self, count: int) -> None:
        self._watched, self._held = _SPAWN.Pipe(duplex=False)
        self.heard, self.saying = _SPAWN.Pipe(duplex=False)
        super().__init__(
            count, mp_context=_SPAWN, initializer=_begin, initargs=(self._watched, self.saying)
        )

    def cut(self) -> None:
        """End all processes now."""
        self._held.close()


def processes_for(tasks: int) -> int:
    """How many processes help with so many tasks."""
    return min(tasks, os.cpu_count() or 1, MOST)


@contextmanager
def side_by_side(tasks: int) -> Iterator[Workers | None]:
    """As many processes as help, or None; an error in the block ends them at once.

    Raises
    ------
    RunError
        If one of them dies.
    """
    count = processes_for(tasks)
    if count < 2:
        yield None
        return
    with apart(count) as workers:
        yield workers


@contextmanager
def apart(count: int) -> Iterator[Workers]:
    """So many processes; an error in the block ends them at once.

    Raises
    ------
    RunError
        If one of them dies.
    """
    with Workers(count) as workers:
        try:
            yield workers
        except (BrokenProcessPool, BrokenPipeError) as error:  # the latter as it began
            workers.cut()
            died = "one of its processes died, as happens mostly where memory ran out."
            raise RunError(f"{died} {MORE_ROOM}") from error
        except BaseException:
            workers.cut()
            raise


@contextmanager
def relayed(
    tell: Callable[[str, str], None], executor: Executor
) -> Iterator[Callable[[str, str], None]]:
    """A callable for processes of ``Workers`` that has ``tell`` called here, in another thread.

    Those of another executor are not heard.
    """
    if not isinstance(executor, Workers):
        yield _say
        return
    listener = Thread(target=_pass_on, args=(executor.heard, tell))
    listener.start()
    try:
        yield _say
    finally:
        executor.saying.send(None)
        listener.join()


_saying: Connection | None = None  # in a worker: to the process that started it


def _begin(watched: Connection, saying: Connection) -> None:
    """What a worker does first."""
    global _saying
    _saying = saying
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt is for the process that started it
    Thread(target=_end_with, args=(watched,), daemon=True).start()
    one_thread()


def _end_with(watched: Connection) -> None:
    """End this process when the other end of a pipe is closed."""
    try:
        watched.recv()
    except (EOFError, OSError):
        os._exit(1)


def _say(name: str, stage: str) -> None:
    """Tell the process that started this one; so short a message goes through a pipe in one go."""
    if _saying:
        _saying.send((name, stage))


def _pass_on(heard: Connection, tell: Callable[[str, str], None]) -> None:
    while (message := heard.recv()) is not None:
        tell(*message)

"""Processes that solve designs side by side, and what they tell on the way."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from queue import Queue
from threading import Thread

from cases.base.threads import one_thread

MOST = 4


@contextmanager
def side_by_side(tasks: int) -> Iterator[Executor | None]:
    """Spawned processes with one numeric thread each unless asked, as many as help, or None."""
    count = min(tasks, os.cpu_count() or 1, MOST)
    if count < 2:
        yield None
        return
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=spawn, initializer=one_thread) as executor:
        yield executor


@contextmanager
def relayed(tell: Callable[[str, str], None]) -> Iterator[Callable[[str, str], None]]:
    """A callable for other processes that has ``tell`` called in this one, from another thread."""
    with multiprocessing.get_context("spawn").Manager() as manager:
        told: Queue[tuple[str, str] | None] = manager.Queue()
        listener = Thread(target=_pass_on, args=(told, tell))
        listener.start()
        try:
            yield _Teller(told)
        finally:
            told.put(None)
            listener.join()


class _Teller:
    """What a process calls to be heard in another."""

    def __init__(self, told: Queue[tuple[str, str] | None]) -> None:
        self._told = told

    def __call__(self, name: str, step: str) -> None:
        self._told.put((name, step))


def _pass_on(told: Queue[tuple[str, str] | None], tell: Callable[[str, str], None]) -> None:
    while (heard := told.get()) is not None:
        tell(*heard)

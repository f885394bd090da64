"""A warm process for one kind of work, that can be ended in the midst of it."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures.process import BrokenProcessPool
from threading import Lock
from typing import Any, TypeVar

from cases.base.faults import MORE_ROOM, RunError
from cases.base.subject import Progress
from cases.base.workers import Workers, relayed

Found = TypeVar("Found")


class EndedError(Exception):
    """The work was ended before it was done, as it is not wanted any more."""


BEHIND = 10
"""Niceness of work that lets quicker answers go first."""


def warm(wet: bool = False, behind: bool = False) -> None:
    """Load what solves, so that the first work finds it there.

    Parameters
    ----------
    wet : bool
        Whether a coolant's properties will be asked, which take seconds to load.
    behind : bool
        Whether the process lets others of the page go first, where cores are short.
    """
    yields = getattr(os, "nice", None)  # where the system has such
    if behind and yields is not None:
        yields(BEHIND)
    import cases.dials.answer
    import cases.dials.first
    from cases.stress.solve import load_mesher

    assert cases.dials.answer
    assert cases.dials.first
    load_mesher()
    if wet:
        import CoolProp.CoolProp

        assert CoolProp


class Seat:
    """One process at work; where ``spare`` is asked for, another stands by for when it is ended.

    It is begun when there is work for it, unless it is told to stand by, and then made ``ready``.
    """

    def __init__(self, spare: bool = False, ready: Callable[[], None] = warm) -> None:
        self._ready = ready
        self._lock = Lock()
        self._kept, self._closed = spare, False
        self._spare: Workers | None = None
        self._workers: Workers | None = None

    def stand_by(self) -> None:
        """Have processes ready before there is work.

        To begin them takes seconds of processor, so it is left to be done when nothing else is due.
        """
        with self._lock:
            if self._closed:
                return
            self._workers = self._workers or self._begun()
            if self._kept:
                self._spare = self._spare or self._begun()

    def run(self, work: Callable[..., Found], *args: Any, tell: Progress | None = None) -> Found:
        """Do some work in the process and wait for it.

        Parameters
        ----------
        work : callable
            With ``tell`` it is given what to tell by first.
        *args
        tell : callable, optional
            Called in another thread.

        Raises
        ------
        EndedError
            If the process was ended by :meth:`cut`.
        RunError
            If it died by itself.
        Exception
            As the work raises it.
        """
        with self._lock:
            if self._closed:
                raise EndedError
            workers = self._workers = self._workers or self._begun()
        try:
            if tell is None:
                return workers.submit(work, *args).result()
            with relayed(tell, workers) as afar:
                return workers.submit(work, afar, *args).result()
        except (BrokenProcessPool, BrokenPipeError, RuntimeError) as error:
            if self._workers is not workers:
                raise EndedError from None
            if isinstance(error, RunError):
                raise
            self.cut()
            died = "the process that solves died, as happens mostly where memory ran out."
            raise RunError(f"{died} {MORE_ROOM}") from error

    def cut(self) -> None:
        """End what is at work; where there was a spare it takes the place."""
        with self._lock:
            ended, self._workers, self._spare = self._workers, self._spare, None
        if ended is not None:
            _end(ended)

    def close(self) -> None:
        """End all processes for good."""
        with self._lock:
            self._closed = True
            ended, self._workers, spare, self._spare = self._workers, None, self._spare, None
        for workers in (ended, spare):
            if workers is not None:
                _end(workers)

    def _begun(self) -> Workers:
        workers = Workers(1)
        workers.submit(self._ready)
        return workers


def _end(workers: Workers) -> None:
    workers.cut()
    workers.shutdown(wait=False, cancel_futures=True)

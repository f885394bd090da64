"""A warm process for one kind of work, that can be ended in the midst of it."""

from __future__ import annotations

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


def warm(wet: bool = False) -> None:
    """Load what solves, so that the first work finds it there.

    Parameters
    ----------
    wet : bool
        Whether a coolant's properties will be asked, which take seconds to load.
    """
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

    It is begun ``early``, or when there is work for it, and made ``ready`` before.
    """

    def __init__(self, spare: bool, early: bool = True, ready: Callable[[], None] = warm) -> None:
        self._ready = ready
        self._lock = Lock()
        self._early, self._closed = early, False
        self._spare = self._begun() if spare else None
        self._workers: Workers | None = self._begun() if early else None

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
        """End what is at work; a process stands ready again at once where there was a spare."""
        with self._lock:
            begun = self._spare or (self._begun() if self._early else None)
            ended, self._workers = self._workers, begun
            self._spare = self._begun() if self._spare else None
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

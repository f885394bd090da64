"""Processes that solve designs side by side."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager

MOST = 4


@contextmanager
def side_by_side(tasks: int) -> Iterator[Executor | None]:
    """Spawned processes with one numeric thread each, as many as help; None where none do."""
    count = min(tasks, os.cpu_count() or 1, MOST)
    if count < 2:
        yield None
        return
    spawn = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, mp_context=spawn, initializer=_one_thread) as executor:
        yield executor


def _one_thread() -> None:
    """Keep the libraries, not loaded yet, from starting threads of their own."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
        os.environ[name] = "1"

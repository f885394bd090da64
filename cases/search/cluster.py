"""Workers of a Dask cluster in place of processes of this machine: ``--cluster ADDRESS``.

How to have one:

1. On each machine install the same hoopclock with ``pip install "hoopclock[cluster]"``.
2. On one of them run ``dask scheduler``. It tells its address, such as ``tcp://10.0.0.5:8786``.
3. On each run ``dask worker ADDRESS --nworkers 8 --nthreads 1 --memory-limit 0``, one worker for
   each core, 6 GB of memory for each: a worker solves one design at a time and needs no other
   thread.
4. Files that the case names (readings, a trace, gaskets) are read by the workers: let them be on a
   drive that all machines have under the same path. The case itself is sent.
5. ``hoopclock search CASE --cluster ADDRESS``.

Workers may come and go while a search runs. What one was at when it went is given to another; a
task that ended three workers fails. The store stays on the machine that asks. The same seed finds
the same front on any number of workers, as whole generations are told in the order they were asked.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from contextlib import contextmanager
from typing import Any

from cases.base.faults import CaseError, Fault, RunError
from cases.search.code import code_hash

ANSWERS = "10 s"
"""How long a scheduler may take to answer."""
_HOW = "hoopclock[cluster] on it and here"


class Cluster(Executor):
    """Asks the workers of a cluster; each task is refused by one that has another program."""

    def __init__(self, asked: Executor) -> None:
        self._asked = asked

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """See :meth:`concurrent.futures.Executor.submit`."""
        return self._asked.submit(by_the_same, code_hash(), fn, *args, **kwargs)


def by_the_same(code: str, work: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Do a task, if this is the program that asked for it.

    Raises
    ------
    RunError
        If it isn't.
    """
    if code_hash() != code:
        raise RunError("A worker that joined the cluster has another version of hoopclock.")
    return work(*args, **kwargs)


@contextmanager
def clustered(address: str) -> Iterator[Executor]:
    """The workers of a cluster.

    Parameters
    ----------
    address : str
        Of its scheduler.

    Raises
    ------
    CaseError
        If it is not there, has no workers, or workers that can't do the work.
    RunError
        If it is lost, or ends worker after worker.
    """
    try:
        from distributed import Client, KilledWorker
    except ImportError:
        text = 'It takes one more library: pip install "hoopclock[cluster]".'
        raise _refused(address, text) from None
    try:
        client = Client(address, timeout=ANSWERS, set_as_default=False)
    except (OSError, ValueError) as error:
        text = f"No scheduler answers there ({error}). Start one with: dask scheduler"
        raise _refused(address, text) from None
    try:
        _require_workers(client, address)
        yield Cluster(client.get_executor(pure=False))
    except KilledWorker as error:
        text = f"{error} Mostly memory ran out: give each worker 6 GB. What was found is kept."
        raise RunError(text) from error
    except CancelledError as error:
        text = f"The cluster at {address} was lost. What was found is kept; start again to go on."
        raise RunError(text) from error
    finally:
        client.close(timeout=1)


def _require_workers(client: Any, address: str) -> None:
    """Refuse a cluster without workers, or with one that can't do the work.

    Raises
    ------
    CaseError
    """
    workers = client.scheduler_info(n_workers=-1)["workers"]
    if not workers:
        text = f"It has no workers. Start some: dask worker {address} --nworkers 4 --nthreads 1"
        raise _refused(address, text)
    many = [name for name, of in workers.items() if of["nthreads"] != 1]
    if many:
        text = (
            f"Worker {many[0]} has {workers[many[0]]['nthreads']} threads, and each design needs a "
            "process of its own. Start it with --nthreads 1, and more of them by --nworkers."
        )
        raise _refused(address, text)
    try:
        codes = client.run(code_hash)
    except ImportError as error:
        text = f"A worker has no hoopclock ({error}). Install the same {_HOW}."
        raise _refused(address, text) from None
    other = [name for name, code in codes.items() if code != code_hash()]
    if other:
        text = f"Worker {other[0]} has another version of hoopclock. Install the same {_HOW}."
        raise _refused(address, text)


def _refused(address: str, text: str) -> CaseError:
    return CaseError("search", [Fault("--cluster", text, f'"{address}"')])

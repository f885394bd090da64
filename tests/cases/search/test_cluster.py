"""A search on a Dask cluster: a scheduler and two workers of their own on the loopback."""

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import contextmanager
from pathlib import Path

import pytest
from search_stubs import searched, slow_judge

from cases.base.faults import CaseError, RunError
from cases.search import cluster
from cases.search.cluster import by_the_same, clustered

TESTS = Path(__file__).parents[2]


def started(*command):
    paths = os.pathsep.join([str(TESTS.parent), str(TESTS)])
    return subprocess.Popen(
        [sys.executable, "-m", *command], env={**os.environ, "PYTHONPATH": paths},
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def worker(address, *more):
    """A worker without a nanny, which would start it again."""
    return started("distributed.cli.dask_worker", address, "--no-nanny", "--no-dashboard", *more)


@contextmanager
def ended(*processes):
    try:
        yield processes
    finally:
        for process in processes:
            process.kill()
            process.wait()


@pytest.fixture(scope="module")
def scheduler(tmp_path_factory):
    file = tmp_path_factory.mktemp("scheduler") / "scheduler.json"
    process = started(
        "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0",
        "--no-dashboard", "--scheduler-file", str(file),
    )  # fmt: skip
    with ended(process):
        for _ in range(300):
            if file.exists() and (text := file.read_text()):
                break
            time.sleep(0.1)
        yield json.loads(text)["address"]


def waited(address, count):
    """Wait until a cluster has so many workers, and none that was killed."""
    from distributed import Client

    with Client(address, timeout="30 s", set_as_default=False) as client:
        for _ in range(600):
            if len(client.scheduler_info(n_workers=-1)["workers"]) == count:
                break
            time.sleep(0.1)


def test_a_killed_worker_changes_no_front(scheduler, case_file, found, tmp_path):
    alone, _ = found
    two = worker(scheduler, "--nthreads", "1"), worker(scheduler, "--nthreads", "1")
    with ended(*two):
        waited(scheduler, 2)

        def kill_one(setting, done, *_):
            if setting == "coarse" and done >= 10:
                two[0].send_signal(signal.SIGTERM if os.name == "nt" else signal.SIGKILL)

        with clustered(scheduler) as executor:
            result = searched(
                case_file, tmp_path / "two.sqlite", executor, judging=slow_judge, tell=kill_one
            )
        assert two[0].wait(10) != 0
        assert two[1].poll() is None
    assert [of.point for of in result.seen] == [of.point for of in alone.seen]
    assert [of.point for of in result.front] == [of.point for of in alone.front]
    assert not result.failed


def test_a_cluster_that_is_not_there_is_refused(monkeypatch):
    monkeypatch.setattr(cluster, "ANSWERS", "0.5 s")
    with (
        pytest.raises(CaseError, match=r"--cluster = .*\n +No scheduler answers there"),
        clustered("tcp://127.0.0.1:9"),
    ):
        pass


def test_a_cluster_whose_workers_cannot_do_it_is_refused(scheduler):
    with pytest.raises(CaseError, match="It has no workers"), clustered(scheduler):
        pass
    with ended(worker(scheduler, "--nthreads", "2")):
        waited(scheduler, 1)
        with pytest.raises(CaseError, match="has 2 threads"), clustered(scheduler):
            pass


def test_workers_of_another_version_are_refused(scheduler, monkeypatch):
    with ended(worker(scheduler, "--nthreads", "1")):
        waited(scheduler, 1)
        monkeypatch.setattr(cluster, "code_hash", os.getpid)  # unlike in each process
        with pytest.raises(CaseError, match="another version"), clustered(scheduler):
            pass


def test_one_that_joins_later_is_refused():
    with pytest.raises(RunError, match="another version"):
        by_the_same("another", len, "")

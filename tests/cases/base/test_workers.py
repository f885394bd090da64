"""Workers: heard while they work, gone with the process that started them."""

import mmap
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import Executor

import pytest

from cases.base.faults import RunError, memory_ran_out
from cases.base.workers import Workers, relayed, require_memory, side_by_side

PATIENCE = 30.0  # for processes that must end; on a busy machine they take a second [s]

PARENT = """\
import os, time
from cases.base.workers import Workers

def pid(seconds):
    time.sleep(seconds)
    return os.getpid()

if __name__ == "__main__":
    with Workers(2) as pool:
        print(*pool.map(pid, [0.5, 0.5]), flush=True)
        pool.submit(time.sleep, 60)
        pool.submit(time.sleep, 60)
        time.sleep(60)
"""


@pytest.mark.parametrize("name", ["SIGKILL", "SIGTERM", "SIGHUP"])
def test_workers_end_with_the_process_that_started_them(tmp_path, name):
    """Workers hold its output open as long as they live."""
    if not hasattr(signal, name):
        pytest.skip("there is no such signal here")
    script = tmp_path / "parent.py"
    script.write_text(PARENT, encoding="utf-8")
    parent = subprocess.Popen([sys.executable, script], stdout=subprocess.PIPE, text=True)
    assert len(set(parent.stdout.readline().split())) == 2
    parent.send_signal(getattr(signal, name))
    parent.communicate(timeout=PATIENCE)


def write_late(path):
    time.sleep(1.0)
    path.write_text("", encoding="utf-8")


def fail_in_the_midst(path):
    with side_by_side(2) as pool:
        pool.submit(os.getpid).result()
        pool.submit(write_late, path)
        raise KeyError


def test_an_error_ends_workers_in_the_midst_of_their_work(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    with pytest.raises(KeyError):
        fail_in_the_midst(tmp_path / "late")
    assert list(tmp_path.iterdir()) == []


def kill_a_worker(pool):
    pool.submit(os._exit, 3).result()


def break_a_pipe(pool):
    raise BrokenPipeError


def with_two(work):
    with side_by_side(2) as pool:
        work(pool)


@pytest.mark.parametrize("work", [kill_a_worker, break_a_pipe])
def test_a_worker_that_dies_is_told(monkeypatch, work):
    """A pipe breaks where one dies as it begins; it is no reader of the output that left."""
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    with pytest.raises(RunError, match="one of its processes died"):
        with_two(work)


def test_what_workers_tell_is_heard_here():
    heard = []
    with Workers(2) as pool:
        with relayed(lambda *told: heard.append(told), pool) as tell:
            for number in range(50):
                pool.submit(tell, "design", f"stage {number}")
            pool.shutdown()
        assert sorted(heard) == sorted(("design", f"stage {number}") for number in range(50))


def test_another_executor_is_not_heard():
    with relayed(print, Executor()) as tell:
        tell("design", "stage")


def test_no_room_is_a_lack_of_memory(monkeypatch):
    def refuse(*_):
        raise OSError(12, "Cannot allocate memory")

    monkeypatch.setattr(mmap, "mmap", refuse)
    with pytest.raises(MemoryError):
        require_memory()


def raised(error, cause):
    try:
        raise error from cause
    except Exception as caught:
        return caught


@pytest.mark.parametrize(
    ("error", "is_memory"),
    [
        (MemoryError(), True),
        (ImportError("libgmsh.so: failed to map segment from shared object"), True),
        (raised(ImportError("numpy"), OSError("libx.so: Cannot allocate memory")), True),
        (raised(ImportError("DLL load failed"), OSError("The paging file is too small")), True),
        (raised(RuntimeError("step"), MemoryError()), True),
        (ImportError("libGLU.so.1: cannot open shared object file"), False),
        (OSError(28, "No space left on device"), False),
    ],
)
def test_a_lack_of_memory_by_any_name(error, is_memory):
    assert memory_ran_out(error) == is_memory

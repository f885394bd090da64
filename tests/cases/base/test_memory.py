"""What is at hand, and turns where it is not enough for two."""

import ctypes
import os
import subprocess
import sys
from pathlib import Path
from threading import Event, Thread

import pytest

from cases.base import memory
from cases.base.memory import give_back, memory_at_hand, memory_for

GB = 2**30


def test_no_more_than_the_machine_has():
    free = memory_at_hand()
    if free is None:
        pytest.skip("this system doesn't tell")
    assert 0 < free < os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")


def test_a_limit_on_the_process_counts():
    """3 GB of address space, of which the interpreter takes some."""
    resource = pytest.importorskip("resource")
    if not os.path.exists("/proc/self/limits"):
        pytest.skip("this system doesn't tell")
    code = "from cases.base.memory import memory_at_hand; print(memory_at_hand())"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (GB, GB)),
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert 0 < int(done.stdout) < GB


def test_what_was_freed_in_small_pieces_is_given_back():
    """120 MB in pieces of 12 kB, of which every hundredth stays."""
    statm = Path("/proc/self/statm")
    if os.name != "posix" or not statm.exists() or not hasattr(ctypes.CDLL(None), "malloc_trim"):
        pytest.skip("this C library keeps what is freed")

    def resident():
        return int(statm.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")

    pieces = [bytearray(12_000) for _ in range(10_000)]
    kept = pieces[::100]
    del pieces
    before = resident()
    give_back()
    assert len(kept) == 100
    assert before - resident() > 60e6


def test_a_limit_on_the_group_counts(tmp_path, monkeypatch):
    monkeypatch.setattr(memory, "GROUP", tmp_path)
    monkeypatch.setattr(memory, "_of_system", lambda: 9 * GB)
    (tmp_path / "memory.max").write_text(f"{4 * GB}\n")
    (tmp_path / "memory.current").write_text(f"{GB}\n")
    assert memory_at_hand() == 3 * GB - memory.LEFT_FREE
    (tmp_path / "memory.stat").write_text(f"anon 5\ninactive_file {GB // 2}\n")
    assert memory_at_hand() == 3 * GB + GB // 2 - memory.LEFT_FREE
    (tmp_path / "memory.max").write_text("max\n")
    assert memory_at_hand() == 9 * GB - memory.LEFT_FREE


def test_two_that_have_no_room_together_take_turns(monkeypatch):
    monkeypatch.setattr(memory, "memory_at_hand", lambda: 3 * GB)
    first, second, go = Event(), Event(), Event()

    def task(own):
        with memory_for(2 * GB):
            own.set()
            go.wait(30)

    one, two = (Thread(target=task, args=(own,)) for own in (first, second))
    one.start()
    assert first.wait(30)
    two.start()
    assert not second.wait(0.3)
    go.set()
    assert second.wait(30)
    one.join()
    two.join()


def test_with_room_for_two_nobody_waits(monkeypatch, tmp_path):
    monkeypatch.setattr(memory, "memory_at_hand", lambda: 5 * GB)
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path))
    with memory_for(2 * GB) as free, memory_for(2 * GB):
        assert free == 5 * GB
    assert not list(tmp_path.iterdir())

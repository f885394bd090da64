"""Killed at any moment, a writer loses no line that it said was kept."""

import random
import signal
import subprocess
import sys
import time

import pytest

from cases.store.file import opened

WRITER = """\
import sys
from pathlib import Path
from cases.record.entry import entry
from cases.store.file import opened
with opened(Path(sys.argv[1]), make=True) as record:
    print("open", flush=True)
    for turn in range(10_000):
        lines = [entry("note", {"text": "x" * 1500}, who=f"{turn}")] * 7
        print(*record.add("118", lines), flush=True)
"""


def killed(path, seed):
    """Numbers of lines that a writer said were kept before it was killed."""
    writer = subprocess.Popen(
        [sys.executable, "-c", WRITER, path], stdout=subprocess.PIPE, text=True
    )
    draw = random.Random(seed)
    said = "".join(writer.stdout.readline() for _ in range(1 + draw.randrange(3)))
    assert said.startswith("open\n")
    time.sleep(draw.uniform(0, 0.04))  # a line takes some milliseconds to keep
    writer.send_signal(signal.SIGKILL)
    said += writer.communicate()[0]
    whole = said[len("open\n") : said.rfind("\n") + 1]
    return [int(number) for number in whole.split()]


def assert_nothing_lost(path, kills):
    told, left_a_journal = [], 0
    for seed in range(kills):
        told += killed(path, seed)
        left_a_journal += path.with_name(f"{path.name}-journal").exists()
        with opened(path) as record:
            assert record.troubles() == []
            notes = record.job("118").standing("note")
        assert set(told) <= {line.number for line in notes}
        assert len(notes) % 7 == 0  # all of what is added together, or none of it
    return told, left_a_journal


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_a_dozen_kills_lose_nothing(begun):
    told, _ = assert_nothing_lost(begun, 12)
    assert told


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_two_hundred_kills_lose_nothing(begun):
    told, left_a_journal = assert_nothing_lost(begun, 220)
    assert len(told) > 7 * 100
    assert left_a_journal > 20  # that many were killed amid a write

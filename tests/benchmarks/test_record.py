"""Speed of the shop's record: pytest tests/benchmarks/test_record.py --benchmark-only -n 0.

10,000 jobs with 100,000 readings. Goals on two cores: list and show within 0.2 s, the update by all
engines within 10 s.
"""

import random

import pytest

from cases.record.engines import engines_of
from cases.record.entry import entry
from cases.record.posterior import posterior_of, shifts_of
from cases.record.restate import KINDS
from cases.record.show import job_lines, job_rows
from cases.store.file import opened

JOBS, READINGS = 10_000, 10


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    """A shop of many years, all of its lines kept in one transaction."""
    path = tmp_path_factory.mktemp("shop") / "record.sqlite"
    stamp = {"who": "R", "date": "2026-01-01", "instrument": "micrometer"}
    limit = {"design": "local", "low": "120 bar", "limit": "150 bar", "high": "185 bar"}
    wall = {"bore": "1", "clock": "1:30", "depth": "5 mm", "wall": "5.6 mm"}
    walls = [entry("reading", wall, **stamp)] * READINGS
    block, design = entry("block", {"block": "B"}, **stamp), entry("design", limit, **stamp)
    draw = random.Random(1)
    with opened(path, make=True) as record:
        connection = record._connection
        connection.execute("PRAGMA synchronous = OFF")
        for job in range(JOBS):
            peak = f"{draw.gauss(135, 15):.1f} bar"
            found = {"found": "crack", "bore": "1"} if job % 25 == 0 else {"found": "sound"}
            record.new(str(job), block)
            record.add(
                str(job),
                [
                    design, *walls, entry("run", {"peak": peak, "cycles": "1e7"}, **stamp),
                    entry("opened", found, **stamp),
                ],
            )  # fmt: skip
    return path


def test_list_of_the_newest_jobs(benchmark, store):
    def listed():
        with opened(store) as record:
            return list(job_rows(record.listed(40))), record.counts()

    rows, counts = benchmark(listed)
    assert len(rows) == 40
    assert counts == (JOBS, JOBS * (READINGS + 4))


def test_list_of_all_jobs(benchmark, store):
    def listed():
        with opened(store) as record:
            return list(job_rows(record.listed()))

    assert len(benchmark.pedantic(listed, rounds=3, warmup_rounds=1)) == JOBS


def test_show_a_job(benchmark, store):
    def shown():
        with opened(store) as record:
            return list(job_lines(record.job("5000")))

    assert len(benchmark(shown)) == READINGS + 5


def test_update_by_all_engines(benchmark, store):
    def updated():
        with opened(store) as record:
            engines, silent = engines_of(record.jobs(KINDS))
        posterior = posterior_of(engines, 0.12)
        return engines, silent, shifts_of(engines, posterior)

    engines, silent, shifts = benchmark.pedantic(updated, rounds=2)
    assert len(engines) == len(shifts) == JOBS
    assert not silent

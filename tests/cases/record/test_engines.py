"""A job's lines make one number of its engine, or an interval."""

import json
import math

import pytest

from cases.record.engines import engine_of, engines_of, used_load
from cases.record.entry import entry
from cases.store.file import Job, Line
from cases.store.kinds import Said

LIMIT = {"design": "local", "low": "120 bar", "limit": "150 bar", "high": "187.5 bar"}


def job(*lines, number="118"):
    """Lines of (kind, values), one a day."""
    kept = []
    for at, (kind, typed) in enumerate([("design", LIMIT), *lines], 1):
        new = entry(kind, typed, who="R", date=f"2026-01-{at:02d}", instrument="gauge")
        kept.append(Line(number=at, kept="", kind=kind, date=new.date, who="R", said=new.said))
    return Job(number=number, lines=tuple(kept))


def ran(peak="150 bar", cycles="1e7"):
    return "run", {"peak": peak, "cycles": cycles}


def opened(found="sound", **more):
    return "opened", {"found": found} | ({"bore": "1"} if found == "crack" else {}) | more


def test_a_sound_engine_lives_up_to_where_it_was_last_opened():
    found = engine_of(job(ran(), opened(), ran("180 bar")))
    assert found.low == pytest.approx(0)  # the predicted limit for the predicted cycles
    assert found.high == math.inf
    assert found.words == "sound"
    assert found.spread == pytest.approx(math.log(187.5 / 120) / (2 * 1.6449), rel=1e-4)


def test_a_crack_lies_between_the_last_sound_opening_and_its_own():
    found = engine_of(job(ran("120 bar"), opened(), ran(), opened("crack")))
    assert found.low == pytest.approx(math.log(120 / 150))
    assert found.high == pytest.approx(used_load([(0.8, 1e7), (1.0, 1e7)], 1e7, 0.1))
    assert found.low < found.high
    assert found.words == "found cracked"


def test_a_crack_at_a_known_moment_is_exact():
    found = engine_of(job(ran("120 bar"), opened(), ran(), opened("crack", moment="known")))
    assert found.low == found.high == pytest.approx(used_load([(0.8, 1e7), (1, 1e7)], 1e7, 0.1))


def test_what_comes_after_a_crack_is_another_engine():
    cracked = (ran(), opened("crack"))
    assert engine_of(job(*cracked, ran("200 bar"), opened())) == engine_of(job(*cracked))


@pytest.mark.parametrize("found", ["leak", "loose"])
def test_a_leak_and_a_loose_piece_are_no_crack(found):
    assert engine_of(job(ran(), opened(found))) == engine_of(job(ran(), opened()))


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ([], "no run is on record"),
        ([ran()], "it was never opened"),
        ([opened(), ran()], "opened before its first run only"),
        ([("run", {"power": "300 kW", "cycles": "1e6"}), opened()], "load of line 2 can't be set"),
    ],
)
def test_a_job_that_says_nothing_says_why(lines, why):
    engines, silent = engines_of([job(*lines)])
    assert engines == []
    assert why in silent["118"]


def test_a_corrected_run_does_not_count():
    made = job(ran("300 bar"), ran(), opened())
    first = made.lines[1]
    corrected = Line(
        number=first.number, kept="", kind="run", date=first.date, who="R", said=first.said,
        corrected_by=3,
    )  # fmt: skip
    lines = (made.lines[0], corrected, *made.lines[2:])
    assert engine_of(Job(number="118", lines=lines)).low == pytest.approx(0)


def test_a_tenth_of_the_cycles_uses_less_by_the_slope():
    found = engine_of(job(ran(cycles="1e6"), opened()))
    assert found.low == pytest.approx(-0.1 * math.log(10))  # Basquin's line at a slope of 0.1


def test_runs_add_up_by_miner():
    """Half the life at one load and half at another use the whole of it: Miner's sum is one."""
    slope, cycles = 0.08, 1e7
    loads = 1.0, 1.2
    lives = [cycles * (1 / load) ** (1 / slope) for load in loads]
    halves = [(load, life / 2) for load, life in zip(loads, lives, strict=True)]
    assert used_load(halves, cycles, slope) == pytest.approx(0, abs=1e-12)


def test_without_a_slope_the_largest_load_counts():
    assert used_load([(0.9, 1e9), (1.1, 1.0)], 1e7, 0.0) == pytest.approx(math.log(1.1))


def test_power_is_set_against_the_power_that_was_predicted():
    predicted = {
        "factor": [0.9, 1.0, 1.2], "pressure_mpa": [13.0, 15.0, 18.0],
        "power_kw": [240.0, 280.0, 350.0], "cycles": 1e7, "slope": 0.1,
    }  # fmt: skip
    line = job().lines[0]
    design = Line(
        number=1, kept="", kind="design", date="2026-01-01", who="R",
        said={"design": line.said["design"], "predicted": Said("", json.dumps(predicted))},
    )  # fmt: skip

    def used(**load):
        made = job(("run", load | {"cycles": "1e7"}), opened())
        return engine_of(Job(number="118", lines=(design, *made.lines[1:]))).low

    assert used(power="280 kW") == pytest.approx(0)
    assert used(power="350 kW") == used(peak="180 bar") == pytest.approx(math.log(1.2))
    assert used(power="240 kW") == pytest.approx(math.log(0.9))

"""How far a run is and what is left of it, by what its stages usually take."""

import io
import sys
from dataclasses import replace

import pytest

import cases.base.progress
from cases import read_case
from cases.base.progress import RunClock, RunPlan, begun, progress, time_left
from cases.cli import DEMO
from cases.run import plan_of
from cases.solid.given import with_solid

PLAN = RunPlan(
    before=["draw"],
    designs=["a", "b", "c"],
    each=[("mesh", 10.0), ("rating", 30.0)],
    once=[("crack", 5.0), ("pictures", 15.0)],
    at_once=2,
)
EVENTS = (  # a run as usual: two places for three designs
    (0.0, "a", "draw"), (0.0, "b", "draw"), (0.0, "c", "draw"),
    (0.0, "a", "mesh"), (0.0, "b", "mesh"), (10.0, "a", "rating"), (10.0, "b", "rating"),
    (40.0, "a", "done"), (40.0, "c", "mesh"), (40.0, "b", "done"), (50.0, "c", "rating"),
    (80.0, "c", "done"), (80.0, "all", "crack"), (85.0, "all", "pictures"),
)  # fmt: skip


def run(times, plan=PLAN, events=EVENTS, slower=1.0):
    """Share done and seconds left at some times of a run."""
    clock, told = RunClock(plan, 0.0), []
    waiting = [(slower * at, name, stage) for at, name, stage in events]
    for now in times:
        while waiting and waiting[0][0] <= now:
            at, name, stage = waiting.pop(0)
            clock.begin(name, stage, at)
        told.append((clock.share(now), clock.left(now)))
    return told


def test_a_run_as_usual_is_foretold():
    assert PLAN.usual() == 100.0
    times = (0.0, 5.0, 15.0, 45.0, 75.0, 90.0)
    for now, (share, left) in zip(times, run(times), strict=True):
        assert share == pytest.approx(now / 100)
        assert left == pytest.approx(100 - now)


@pytest.mark.parametrize("slower", [0.4, 3.0])
def test_what_is_left_follows_the_pace_of_what_ended(slower):
    for now in (20.0, 45.0, 60.0, 90.0):
        ((_, left),) = run([slower * now], slower=slower)
        assert slower * (100 - now) / 1.5 < left < slower * (100 - now) * 1.5


def test_a_stage_that_takes_too_long_never_says_that_it_is_done():
    told = run([45.0, 78.0, 300.0], events=EVENTS[:-3])
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert shares[-1] < 0.85
    assert told[-1][1] > 15
    assert told[-1] == pytest.approx((0.785, 21.5))  # a twentieth of its 30 s is left, and 20 s


def test_a_design_with_nothing_fitted_counts_for_less():
    plan = replace(PLAN, quick=["c"])
    assert plan.usual() == pytest.approx(40 + 0.25 * 40 + 20)
    ((_, left),) = run([45.0], plan=plan)
    assert left == pytest.approx(0.25 * (0.05 * 10 + 30) + 20)  # its mesh takes too long already


def test_stages_that_are_left_out_are_behind():
    plan = RunPlan(designs=["a"], each=[("mesh", 10.0), ("rating", 30.0)], once=[("crack", 10.0)])
    clock = RunClock(plan, 0.0)
    clock.begin("a", "mesh", 0.0)
    clock.begin("all designs", "crack", 10.0)
    assert clock.share(10.0) == pytest.approx(0.8)


def test_a_stage_that_comes_for_every_design_is_counted_each_time():
    clock = RunClock(RunPlan(once=[("crack", 10.0), ("crack", 10.0)]), 0.0)
    clock.begin("a", "crack", 0.0)
    clock.begin("b", "crack", 10.0)
    assert clock.share(10.0) == pytest.approx(0.5)


def test_nothing_is_told_to_be_left_before_a_tenth_is_done():
    clock = RunClock(PLAN, 0.0)
    clock.begin("a", "mesh", 0.0)
    assert clock.words(9.0) == ""
    clock.begin("a", "rating", 10.0)
    assert clock.words(12.0) == "about 1.5 min left"


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0.3, "about 5 s left"),
        (28.0, "about 30 s left"),
        (59.9, "about 60 s left"),
        (100.0, "about 1.5 min left"),
        (290.0, "about 5 min left"),
    ],
)
def test_what_is_left_in_words(seconds, told):
    assert time_left(seconds) == told


def test_plain_lines_break_the_silence(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    for name in ("SILENT_AT_FIRST", "SILENT_FOR"):
        monkeypatch.setattr(cases.base.progress, name, 0.01)
    with progress(PLAN) as tell:
        tell("a", "mesh")
        while stream.getvalue().count("\n") < 2:
            pass
    assert stream.getvalue().splitlines()[:2] == ["  0%  a: mesh"] * 2


def test_what_is_at_work_before_a_plan_is_told(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    for name in ("SILENT_AT_FIRST", "SILENT_FOR"):
        monkeypatch.setattr(cases.base.progress, name, 0.01)
    with begun("reading case.toml"):
        while stream.getvalue().count("\n") < 2:
            pass
    assert stream.getvalue().splitlines()[:2] == ["reading case.toml"] * 2


def test_a_short_run_says_nothing(monkeypatch):
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    with progress(PLAN) as tell:
        tell("a", "mesh")
    assert stream.getvalue() == ""


class Terminal(io.StringIO):
    """Shows what it is written, as a terminal would."""

    def isatty(self):
        return True


def test_a_terminal_has_one_line_that_goes(monkeypatch):
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    with progress(PLAN) as tell:
        tell("a", "mesh")
    assert "0%  a: mesh" in stream.getvalue()
    assert stream.getvalue().endswith("\x1b[2K")


def test_every_stage_of_a_run_is_weighed():
    case = with_solid(read_case(DEMO), "fine")
    plan = plan_of(case, True, 2)
    assert all(seconds > 0 for _, seconds in [*plan.each, *plan.once])
    assert [name for name, _ in plan.each].count("solid life") == 1
    assert plan.designs == [design.name for design in case.designs]
    assert plan.usual() > 2 * plan_of(with_solid(case, "coarse"), False, 2).usual()

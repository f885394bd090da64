"""A search whose designs are judged by a formula, in this process or in others."""

import sys
import time
from concurrent.futures import Executor, Future
from functools import partial
from pathlib import Path

from bench import BARE, BLOCK, TIES

from cases.base.faults import RunError
from cases.base.units import parse_length
from cases.read import case_of
from cases.report.rated import inputs_hash
from cases.run import rated_alone
from cases.search import seek
from cases.search.evaluate import Hands
from cases.search.found import Found
from cases.search.start import case_to_search, store_name
from cases.search.store import opened

UNIFORM = """\
[[design]]
name = "uniform"   # as it is now
material = "6061-T6"
depth = "6 mm"
[design.fit]
interference = "20 um"
friction = 0.15
ties = { clearance = "50 um" }
"""
SEARCH = """\
[search]
wanted = ["limit", "water taken"]
depth = { least = "4 mm", most = "9 mm" }
interference = { least = "10 um", most = "40 um" }
hold = ["pressed clear of the ties", "pressed all round"]
"""
CUT = """\
[[relief_cut]]
clock = "2:00"
radius = "54 mm"
diameter = "18 mm"
depth = "22 mm"
"""
TEXT = BLOCK + TIES + CUT + BARE + UNIFORM + SEARCH
FEW = 32
"""Designs that such a search judges, in place of the usual number."""
HANDS = Hands(case_of, rated_alone, inputs_hash)


class Here(Executor):
    """Does what it is asked at once."""

    def submit(self, fn, /, *args, **kwargs):
        future = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def judge(hands, task, setting, bare_mm3):
    """Deeper carries more, and so does a fit up to 25 um; the fine solid tells 5 % less."""
    table = task.design
    depth = parse_length(table["depth"])
    fit = 1000 * parse_length(table["fit"]["interference"])
    limit = (0.2 * depth**0.9 - 0.001 * (fit - 25) ** 2 + 0.1) * (
        0.95 - 0.002 * depth if setting == "fine" else 1.0
    )
    limit -= 0.1 * ("ties" not in table["fit"])
    return Found(
        limit=limit, at_least=False, limit_bar=120 * limit, low_bar=110 * limit,
        high_bar=140 * limit, share=1.0 if limit > 1 else 0.4, governs="barrel 2:00",
        hottest_degc=None, out_of_round_um=3 * depth, open_mm2=500.0, wetted_mm2=9000.0,
        taken_mm3=3000 * depth, mass_g=8 * depth, machining_mm3=10.0, doubts=(), seconds=0.0,
    )  # fmt: skip


def slow_judge(hands, task, setting, bare_mm3):
    """The same, in its time."""
    time.sleep(0.05)
    return judge(hands, task, setting, bare_mm3)


def failing_judge(hands, task, setting, bare_mm3):
    """The same, where a deep insert can't be solved."""
    if parse_length(task.design["depth"]) > 8:
        raise RunError("its solid can't be solved")
    return judge(hands, task, setting, bare_mm3)


def unjudged_finely(hands, task, setting, bare_mm3):
    """The same, where no fine solid can be solved."""
    if setting == "fine":
        raise RunError("its solid can't be solved")
    return judge(hands, task, setting, bare_mm3)


def alike_by(judging, hands, tasks, bare_mm3, shifts):
    """Designs that one coarse solid serves, each by a formula."""
    return [outcome(judging, hands, task, "coarse", bare_mm3) for task in tasks]


def fine_by(judging, hands, task, bare_mm3):
    """A design by its fine solid, by a formula."""
    return [outcome(judging, hands, task, "fine", bare_mm3)]


def outcome(judging, *asked):
    """What a formula finds, or why not."""
    try:
        return judging(*asked)
    except RunError as error:
        return str(error)


def no_walls(hands, task):
    """What walls do, by no section."""
    return {"wall thickness": (0.9, 1.0, 1.1)}


def silent(*_):
    """Tells nothing."""


def searched(path, store, executor, *, seed=1, more=0, until=None, tell=silent, judging=judge):
    """A search of a case file."""
    raw, case = case_to_search(path, HANDS, lambda case: None)
    kept = seek.judge_alike, seek.judge_fine, seek.wall_shifts, seek.USUAL
    seek.judge_alike, seek.judge_fine = partial(alike_by, judging), partial(fine_by, judging)
    seek.wall_shifts, seek.USUAL = no_walls, FEW
    try:
        with opened(store, *store_name(raw, case, HANDS)) as open_store:
            search = seek.Search(HANDS, raw, case, open_store, executor, tell)
            return search.run(seed=seed, more=more, until=until)
    finally:
        seek.judge_alike, seek.judge_fine, seek.wall_shifts, seek.USUAL = kept


if __name__ == "__main__":  # to be killed: tells each result that is kept
    searched(
        Path(sys.argv[1]), Path(sys.argv[2]), Here(), judging=slow_judge,
        tell=lambda setting, done, *_: print(setting, done, flush=True),
    )  # fmt: skip

"""What is left of a run, by what its stages usually take."""

import pytest

from cases import read_case
from cases.base.command import time_left
from cases.cli import DEMO
from cases.run import stages_of
from cases.solid.given import with_solid


@pytest.mark.parametrize(
    ("elapsed", "done", "told"),
    [
        (3.0, 4.0, ""),
        (30.0, 20.0, "about 2 min left"),
        (30.0, 50.0, "about 30 s left"),
        (60.0, 99.0, "about 5 s left"),
        (60.0, 100.0, "about 5 s left"),
    ],
)
def test_time_left_is_in_proportion_to_what_is_done(elapsed, done, told):
    assert time_left(elapsed, done, 100.0) == told


def test_every_stage_of_a_run_is_weighed():
    case = with_solid(read_case(DEMO), "fine")
    stages = stages_of(case, True)
    assert all(seconds > 0 for _, seconds in stages)
    assert [name for name, _ in stages].count("solid life") == len(case.designs)
    assert sum(seconds for _, seconds in stages) > 2 * sum(
        seconds for _, seconds in stages_of(with_solid(case, "coarse"), False)
    )

"""A depth section that can't be solved loses nothing else."""

from dataclasses import replace

import pytest
from bench import BARE, BLOCK, TIES

from cases.base.faults import CaseError, Refusal
from cases.base.subject import Work
from cases.base.templates import render
from cases.depth import SUBJECT
from cases.depth.result import depth_of
from cases.gas.solve import gas_of
from cases.report.results import results_dict
from cases.run import solve_case


def depth(*lines, floor="90 mm"):
    return "\n".join(["[depth]", f'floor = "{floor}"', *lines, ""])


@pytest.mark.parametrize(
    ("text", "path", "words"),
    [
        pytest.param(depth(floor="10 mm"), "depth.floor", "the deck section reaches 24 mm down",
                     id="floor above the section"),
        pytest.param(depth(floor="90 in"), "depth.floor", "90 in is outside 0.94488 to 39.37 in",
                     id="inches for millimetres"),
        pytest.param(depth('clock = "13:00"'), "depth.clock", "clock", id="no clock position"),
        pytest.param(depth('least_gain = "50 %"'), "depth.least_gain", "per mm of insert",
                     id="gain of half"),
    ],
)  # fmt: skip
def test_wrong_depth_is_refused(case_of, text, path, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, TIES, BARE, text)
    (fault,) = refused.value.faults
    assert fault.path == path
    assert words in fault.text


def test_what_only_stress_tells_loses_nothing(case_of):
    """A wall that carries more than a free ring does, as its gas is said to be half of what it
    is."""
    solved = solve_case(case_of(BLOCK, TIES, BARE, depth()))
    gas = gas_of(solved)
    found = SUBJECT.solve(
        Work(
            case=solved.case, tell=lambda name, stage: None, designs=solved.designs,
            found={"gas": replace(gas, peak_pressure=gas.peak_pressure / 2)},
        )
    )  # fmt: skip
    assert isinstance(found, Refusal)
    told = replace(solved, found={**solved.found, "depth": found})
    assert depth_of(told) is None
    results = results_dict(told)
    assert 'design "bare", depth section at' in results["depth_refused"]
    assert all("depth" not in design for design in results["designs"])
    (line,) = SUBJECT.lines(told)
    assert line.startswith('There is no depth section. design "bare", depth section at')
    (chapter,) = SUBJECT.chapters(told)
    page = render(chapter.template, **chapter.contents)
    assert "<b>There is no depth section.</b> design" in page
    assert "Give another clock position under [depth]" in page
    assert list(SUBJECT.figures(told)) == []


@pytest.mark.parametrize(("rate", "says"), [(False, "hoopclock rate only"), (True, "")])
def test_a_depth_section_that_is_ignored_is_said(case_of, rate, says):
    assert says in SUBJECT.ignored(case_of(BLOCK, BARE, depth()), rate)
    assert SUBJECT.ignored(case_of(BLOCK, BARE), rate) == ""

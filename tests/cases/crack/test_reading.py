"""What a crack asks of the block: told before any solving, or without losing what is solved."""

import pickle
from dataclasses import replace

import pytest
from bench import BARE, BLOCK, RING, TIES

from cases.base.faults import CaseError, Refusal, RunError
from cases.base.subject import Work
from cases.base.templates import render
from cases.crack import SUBJECT
from cases.crack.result import crack_of
from cases.gas.solve import gas_of
from cases.report.results import results_dict
from cases.run import solve_case

CUT = '[[relief_cut]]\nclock = "2:15"\nradius = "54.5 mm"\ndiameter = "18 mm"\ndepth = "16 mm"\n'


def crack(*lines, flaw="0.5 mm"):
    head = f'[crack]\nflaw = "{flaw}"\ngas_in_crack = false\nspeed = "6000 rpm"\n'
    return head + "\n".join([*lines, ""])


@pytest.mark.parametrize(
    ("texts", "path", "words"),
    [
        pytest.param((BARE, crack('part = "tie"')), "crack.part",
                     "There is no tie in this block. Choose from barrel, outer wall.",
                     id="tie of a block without"),
        pytest.param((TIES, BARE, crack('part = "tie"', 'clock = "3:00"')), "crack.clock",
                     "There is no tie at 3:00. Give a clock position where it stands",
                     id="tie where none stands"),
        pytest.param((BARE, crack('clock = "3:00"', flaw="7.3 mm")), "crack.flaw",
                     "7.3 mm leaves nothing of the wall to grow through: the metal is 8 mm thick",
                     id="flaw through the wall"),
        pytest.param((BARE, crack('clock = "3:00"', 'longest = "8.1 mm"')), "crack.longest",
                     "8.1 mm is more than the wall has", id="longer than the wall"),
        pytest.param((TIES, BARE, RING, crack('clock = "3:00"', flaw="7.3 mm")), "crack.flaw",
                     "7.3 mm leaves nothing", id="with an insert beside it"),
        pytest.param((CUT, BARE, crack('clock = "2:15"', flaw="7.3 mm")), "crack.flaw",
                     "Give at most 4.95 mm", id="shorter from the bore than from outside"),
    ],
)  # fmt: skip
def test_what_the_outline_tells_is_refused_before_any_mesh(case_of, texts, path, words):
    told = []
    with pytest.raises(CaseError) as refused:
        solve_case(case_of(BLOCK, *texts), lambda name, stage: told.append(stage), rate=True)
    assert set(told) == {"draw"}
    (fault,) = refused.value.faults
    assert fault.path == path
    assert words in fault.text


def test_a_part_without_metal_is_refused(case_of):
    ring = BLOCK.replace('jacket = "10 mm"\nouter_wall = "9 mm"\n', "")
    with pytest.raises(CaseError, match="There is no outer wall in this block"):
        solve_case(case_of(ring, BARE, crack('part = "outer wall"')), rate=True)


@pytest.fixture(scope="module")
def solved(case_of):
    """A block whose crack is longer than the wall at its worst hot spot, which none knew."""
    return solve_case(case_of(BLOCK, TIES, BARE, crack(flaw="20 mm")))


def test_what_only_stress_tells_loses_nothing(solved):
    found = SUBJECT.solve(
        Work(
            case=solved.case, found=solved.found, tell=lambda name, stage: None,
            designs=solved.designs,
        )
    )  # fmt: skip
    assert isinstance(found, Refusal)
    told = replace(solved, found={**solved.found, "crack": found})
    assert crack_of(told) is None
    results = results_dict(told)
    assert results["crack_refused"].startswith("crack.flaw: 20 mm leaves nothing of the wall")
    assert [design["design"] for design in results["designs"]] == ["bare"]
    assert all("crack" not in design for design in results["designs"])
    (line,) = SUBJECT.lines(told)
    assert line.startswith("No crack was followed. crack.flaw: 20 mm leaves nothing")
    (chapter,) = SUBJECT.chapters(told)
    page = render(chapter.template, **chapter.contents)
    assert "<b>No crack was followed.</b> crack.flaw: 20 mm leaves nothing" in page
    assert list(SUBJECT.figures(told)) == []


def test_lengths_of_all_designs_are_looked_at_first(solved, monkeypatch):
    """So that no time is lost on the first where the last can't have the crack."""
    from cases.crack import solve

    monkeypatch.setattr(solve, "crack_series", None)
    with pytest.raises(CaseError, match="20 mm leaves nothing"):
        solve.run_cracks(solved.case, gas_of(solved), solved.case.given["crack"], solved.designs)


def test_a_lack_of_memory_is_no_refusal():
    error = RunError('design "bare", crack: out')
    error.__cause__ = MemoryError()
    with pytest.raises(RunError):
        Refusal.of(error)
    assert Refusal.of(RunError("no mesh")).text == "no mesh"


def test_a_refusal_comes_whole_out_of_another_process(case_of):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, BARE, crack(flaw="0.01 mm"))
    again = pickle.loads(pickle.dumps(refused.value))
    assert str(again) == str(refused.value)
    assert again.faults == refused.value.faults


@pytest.mark.parametrize(("rate", "says"), [(False, "hoopclock rate only"), (True, "")])
def test_a_crack_that_is_ignored_is_said(case_of, rate, says):
    assert says in SUBJECT.ignored(case_of(BLOCK, BARE, crack()), rate)
    assert SUBJECT.ignored(case_of(BLOCK, BARE), rate) == ""

"""``[solid]`` of a case file: one state alone, or every one."""

import pytest
from bench import BARE, BLOCK

from cases import CaseError, with_solid
from cases.solid.given import solid_given

ONE, COLD = 'joint = "one piece"\n', 'temperature = "cold"\n'


def test_both_keys_ask_for_one_state_alone(case_of):
    assert solid_given(case_of(BLOCK, "[solid]\n", ONE, COLD, BARE)).alone
    assert not solid_given(case_of(BLOCK, BARE)).alone
    assert not solid_given(case_of(BLOCK, "[solid]\n", BARE)).alone


@pytest.mark.parametrize(("line", "other"), [(ONE, "temperature"), (COLD, "joint")])
def test_one_key_without_the_other_is_refused(case_of, line, other):
    with pytest.raises(CaseError, match=rf"solid\.{other}\n.*It is missing"):
        case_of(BLOCK, "[solid]\n", line, BARE)


@pytest.mark.parametrize("line", ['joint = "fitted"', 'temperature = "warm"', "depth = 3"])
def test_other_values_are_refused(case_of, line):
    with pytest.raises(CaseError, match=r"solid\."):
        case_of(BLOCK, f"[solid]\n{line}\n", BARE)


def test_a_run_says_how_finely(case_of):
    case = case_of(BLOCK, BARE)
    assert solid_given(case).setting is None
    fine = with_solid(case, "fine")
    assert solid_given(fine).setting == "fine"
    assert solid_given(with_solid(fine, None)).setting is None

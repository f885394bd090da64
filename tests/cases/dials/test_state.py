"""What the page must not lose: steps back, what is kept, and all of it again from its file."""

import pytest

from cases.dials.state import MOST_PAST, Setting, State, read_state, state_path, write_state

START = State(now=Setting("local"))


def test_moves_of_one_dial_are_one_step():
    state = START.moved("depth", 6.0).moved("depth", 6.1).moved("depth", 6.2)
    assert state.now.values == {"depth": 6.2}
    assert state.undone().now == START.now


def test_a_rest_ends_a_step():
    state = START.moved("depth", 6.0).rested().moved("depth", 7.0)
    assert state.undone().now.values == {"depth": 6.0}
    assert state.undone().undone().now.values == {}
    assert state.undone().undone().undone() == state.undone().undone()


def test_other_dials_are_other_steps():
    state = START.moved("depth", 6.0).moved("load", 100.0)
    assert state.undone().now.values == {"depth": 6.0}


def test_a_move_to_where_it_stands_is_none():
    state = START.moved("depth", 6.0)
    assert state.moved("depth", 6.0) is state


def test_steps_back_are_bounded():
    state = START
    for step in range(3 * MOST_PAST):
        state = state.moved("depth", float(step)).rested()
    assert len(state.past) == MOST_PAST


def test_three_are_compared_and_the_first_makes_room():
    state = START
    for number in range(4):
        state = state.moved("depth", 6.0 + number).keeping(f"try {number}")
    assert state.compared == ("try 1", "try 2", "try 3")
    assert set(state.kept) == {"try 0", "try 1", "try 2", "try 3"}
    assert state.comparing("try 0", True).compared == ("try 2", "try 3", "try 0")
    assert state.without("try 2").compared == ("try 1", "try 3")
    assert "try 2" not in state.without("try 2").kept


@pytest.mark.parametrize("name", ["", "   ", "x" * 41, "a\nb"])
def test_a_name_that_is_none_is_refused(name):
    with pytest.raises(ValueError, match="1 to 40 letters"):
        START.keeping(name)


def test_all_of_it_comes_again_from_its_file(tmp_path):
    case = tmp_path / "block.toml"
    state = (
        START.moved("depth", 6.0).moved("hold", "bonded").keeping("<b>one</b>").moved("load", 1.5)
    )
    write_state(state, case)
    found = read_state(case)
    assert found.now == state.now
    assert found.past == state.past
    assert found.kept == state.kept
    assert found.compared == state.compared


@pytest.mark.parametrize("text", ["", "{", "[]", '{"now": 3}', '{"now": {"design": "a"}}'])
def test_a_state_that_can_not_be_read_is_none(tmp_path, text):
    case = tmp_path / "block.toml"
    state_path(case).write_text(text)
    assert read_state(case) is None


def test_steps_before_a_save_go_to_what_the_file_had():
    """The file now has 6; a step back is to the 5 that it had."""
    state = START.moved("depth", 6.0).keeping("deep").rested().saved("local", {"depth": 5.0})
    assert state.now.values == {}
    assert state.kept["deep"].values == {"depth": 6.0}
    assert state.undone().now.values == {"depth": 6.0}
    assert state.undone().undone().now.values == {"depth": 5.0}

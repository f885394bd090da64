"""The window of interference in small numbers, each worked out by hand (derived)."""

from dataclasses import replace

import pytest

from cases.fit.advice import advise
from cases.fit.data import advice_dict
from cases.fit.lines import advice_words
from cases.fit.result import FitSweep
from cases.rating.result import FitPoint
from cases.rating.window import window_of


def point(um, limit, hold=10.0, yields=0.5, pressed=0.1, round_um=1.0):
    """A fit whose hold and yield are those of the warm step, the press well clear of both."""
    return FitPoint(
        interference_um=um, held={"pressed in": 9.0, "warm": hold},
        over_yield={"pressed in": pressed, "warm": yields}, out_of_round_um=round_um,
        limit=limit, limit_error=0.01, governs="tie 6:00, fatigue, warm",
    )  # fmt: skip


HILL = (point(10, 0.5), point(20, 1.0), point(30, 1.0), point(40, 0.5))


def sweep(points=HILL, **changes):
    stated = {
        "asked_um": 25.0, "per_side": False, "tolerance_um": 0.0, "flattened_um": 0.0,
        "most_out_of_round_um": 30.0, "ring_mm": None, "rated": True, "points": points,
        "one_piece": 1.4, "unsolved": (),
    }  # fmt: skip
    return FitSweep(**stated | changes)


def ends(points, bare=None, round_um=30.0):
    window = window_of(points, round_um, bare)
    return window and (window.low_um, window.high_um, window.low_by, window.high_by)


def near(*um):
    return tuple(pytest.approx(one, abs=0.05) for one in um)


def test_the_window_is_what_is_within_five_per_cent_of_the_best():
    """From 0.5 at 10 um to 1 at 20: 0.95 at 19; the same on the other side."""
    below = "5 % below the best"
    assert ends(HILL) == (*near(19.0, 31.0), below, below)


def test_a_loose_piece_takes_the_window_s_low_end():
    """Hold over what is asked 0.5 at 20 um and 1.5 at 30: 1 at 25; the best is above that."""
    points = (HILL[0], replace(HILL[1], held={"pressed in": 9.0, "warm": 0.5}),
              replace(HILL[2], held={"pressed in": 9.0, "warm": 1.5}), HILL[3])  # fmt: skip
    assert ends(points) == (*near(25.0, 31.0), "loose, warm", "5 % below the best")


def test_a_step_that_yields_takes_the_window_s_high_end():
    """All of yield at 25 um; a step that yields with hardly any press forbids none."""
    points = tuple(
        replace(one, over_yield={"pressed in": one.interference_um / 25, "warm": 1.2})
        for one in HILL
    )
    assert ends(points) == (*near(19.0, 25.0), "5 % below the best", "yield, pressed in")


def test_a_bore_pressed_out_of_round_takes_the_window_s_high_end():
    """1 um for each um: 22 um of the 22 that may be left at 22."""
    points = tuple(replace(one, out_of_round_um=one.interference_um) for one in HILL)
    assert ends(points, round_um=22.0) == (*near(19.0, 22.0), "5 % below the best", "out of round")


def test_what_is_no_better_than_bare_is_not_in_the_window():
    """Bare 0.98: passed from 19.6 um to 30.4."""
    bare = "no better than bare"
    assert ends(HILL, bare=0.98) == (*near(19.6, 30.4), bare, bare)
    assert ends(HILL, bare=1.01) is None


def test_without_limits_the_window_is_all_that_holds_and_does_not_yield():
    """Hold 1 at 15 um, yield 1 at 35; to the end of what was looked at on neither side."""
    points = tuple(
        replace(one, limit=None, held={"warm": one.interference_um / 15},
                over_yield={"warm": one.interference_um / 35})
        for one in HILL
    )  # fmt: skip
    assert ends(points) == (*near(15.0, 35.0), "loose, warm", "yield, warm")
    told = advise(sweep(points, rated=False), 0.7)
    assert (told.limit_bare, told.limit_at_nominal, told.limit_best) == (None, None, None)
    assert "by hold and yield only" in advice_words(sweep(points, rated=False), told)


def test_the_nominal_is_the_middle_and_the_tolerance_the_whole():
    found = advice_dict(sweep(), advise(sweep(), 0.7))
    assert found["nominal_um"] == pytest.approx(25.0, abs=0.05)
    assert found["nominal_per_side_um"] == pytest.approx(12.5, abs=0.03)
    assert found["total_tolerance_um"] == pytest.approx(12.0, abs=0.1)
    assert (found["limit_at_nominal"], found["limit_bare"]) == (1.0, 0.7)
    assert [one["interference_um"] for one in found["by_interference"]] == [10, 20, 30, 40]
    assert [one["limit"] for one in found["by_interference"]] == [0.5, 1.0, 1.0, 0.5]


def test_a_limit_that_was_not_reached_counts_as_far_as_it_was_sought():
    points = (HILL[0], HILL[1], replace(HILL[2], limit=None, tried=6.0), HILL[3])
    assert advise(sweep(points), 0.7).limit_best == pytest.approx(6.0)


@pytest.mark.parametrize(("asked", "inside"), [(18.0, False), (20.0, True), (32.0, False)])
def test_a_stated_fit_outside_the_window_is_said_first(asked, inside):
    told = sweep(asked_um=asked)
    advice = advise(told, 0.7)
    assert advice.inside is inside
    assert ("LIES OUTSIDE" in advice_words(told, advice)) is not inside


@pytest.mark.parametrize(
    ("tolerance", "milled", "match"), [(0.0, 40.0, True), (5.0, 10.0, False), (7.0, 14.0, True)]
)
def test_a_window_narrower_than_milling_asks_for_machining_to_match(tolerance, milled, match):
    """The window is 12 um wide; without a tolerance milling leaves 40 um in all."""
    advice = advise(sweep(tolerance_um=tolerance), 0.7)
    assert (advice.milled_um, advice.match_machine) == (milled, match)


def test_no_fit_better_than_bare_is_said_with_why_and_what_would_change_it():
    advice = advise(sweep(), 1.3)
    assert advice.window is None
    assert "no interference from 10 to 40 um is better than the bare block" in advice.why_none
    assert "tie 6:00, fatigue, warm governs" in advice.why_none
    assert "bare block 1.30" in advice.why_none
    assert "[design.fit.ties]" in advice.cure
    assert advice_dict(sweep(), advice)["nominal_um"] is None


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"held": {"warm": 0.4}}, "a piece is loose (warm)"),
        ({"out_of_round_um": 40.0}, "leaves the bore out of round"),
    ],
)
def test_demands_that_no_interference_meets_are_named(changes, words):
    points = tuple(replace(one, **changes) for one in HILL)
    advice = advise(sweep(points), 0.7)
    assert advice.window is None
    assert words in advice.why_none
    assert advice.cure


def test_a_ring_gets_the_nearest_iso_fit_and_pieces_get_none():
    """25 um at 116 mm: H7/n6 lies from -12 to 45, p6 from 2 to 59; middles 16.5 and 30.5."""
    assert advise(sweep(), 0.7).iso is None
    advice = advise(sweep(ring_mm=116.0), 0.7)
    assert (advice.iso, advice.iso_least_um, advice.iso_most_um) == ("H7/p6", 2, 59)

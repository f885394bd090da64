"""The first answer: how it is told, and (slow) how near to the verdict it is."""

import json

import numpy as np
import pytest

from cases.base.toml import load_toml
from cases.dials import first
from cases.dials.answer import judge
from cases.dials.dial import dials_of
from cases.dials.first import EDGE, few, first_answer
from cases.dials.turn import turned
from cases.read import read_case
from cases.solid.gas import Instant
from cases.verdict.result import FAILS, HOLDS, MARGINAL


@pytest.mark.parametrize(
    ("share", "used", "status", "words"),
    [
        (0.97, 0.7, HOLDS, "carried. Some 97 of 100 draws carry it, 90 are asked."),
        (0.92, 0.7, MARGINAL, "near the edge, the verdict tells. Some 92 of 100"),
        (0.86, 0.8, MARGINAL, "near the edge, the verdict tells. Some 86 of 100"),
        (0.70, 0.8, FAILS, "not carried. Some 70 of 100 draws"),
        (None, 0.99, HOLDS, "carried."),
        (None, 1.01, FAILS, "not carried."),
    ],
)
def test_it_is_told_by_the_draws_or_with_all_at_its_middle(share, used, status, words):
    assert first._status(share, used, 0.9) == status
    lead, more = first._told(share, used, 0.9, " (barrel 7:42, fatigue, cold)", 151.2)
    assert lead.startswith(f"First answer, at the wanted load: {words}")
    assert more == (
        f"With all at its middle {100 * used:.0f} % of a strength is used (barrel 7:42, fatigue, "
        "cold). Hottest barrel 151 degC."
    )


def test_few_angles_begin_with_that_of_most_pressure():
    pressed = [Instant(deg, pressure, 10.0) for deg, pressure in enumerate([1, 5, 9, 8, 7, 6, 5])]
    assert [of.deg for of in few(pressed)] == [2, 4, 6]
    assert few(pressed[:1]) == tuple(pressed[:1])


def test_alike_are_designs_that_differ_by_their_interference_alone(small):
    raw = load_toml(small)
    dials = dials_of(raw, read_case(small), "uniform")

    def key(values):
        return first._but_the_press(turned(raw, "uniform", dials, values), "uniform")

    assert key({"interference": 30.0}) == key({})
    assert key({"depth": 7.0}) != key({})
    assert key({"load": 100.0}) != key({})
    assert json.loads(key({}))[0] == "uniform"


@pytest.mark.slow  # a fitted solid, rated, and thrice at the wanted load
def test_it_is_near_to_the_verdict_and_goes_on_from_another_press(small):
    raw = load_toml(small)
    raw["rating"]["draws"] = 1000
    dials = dials_of(raw, read_case(small), "uniform")
    shares = []
    for values in ({"load": 131.0}, {"load": 131.0, "interference": 26.0}):
        made = turned(raw, "uniform", dials, values)
        found = first_answer(made, small, "uniform")
        verdict = judge(lambda *_: None, made, small, "uniform", "coarse", False)
        assert found.share == pytest.approx(verdict.share, abs=EDGE)
        assert 0.02 < found.share < 0.98, found
        hottest = np.nanmax(np.array(verdict.around["temperature"], dtype=float))
        assert f"Hottest barrel {hottest:.0f} degC" in found.more
        shares.append(found.share)
    first._AT_HAND._loads = None
    anew = first_answer(made, small, "uniform")
    assert found.used == pytest.approx(anew.used, rel=0.01)
    assert found.share == pytest.approx(anew.share, abs=0.01)
    assert shares[0] != shares[1]

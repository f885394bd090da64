"""Draws of designs are of the same block, one by one; what knowing an input is worth.

Of a lognormal limit whose logarithm is spread by 0.1 and 0.05, one in ten lies below exp(-1.2816 s)
of its middle, with s = 0.1118 of both and s = 0.05 or 0.1 with the other known (any table of
statistics; derived).
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from pulled import SWT, WROUGHT

from cases.rating.band import draw_inputs, known_of
from cases.rating.result import FIT, PRESSURE, WALLS

TENTH = 1.2816


def drawn(read, by_walls, draws=50):
    metal = replace(WROUGHT, name="one")
    judging = SimpleNamespace(
        wishes=replace(SWT, draws=draws),
        materials={"barrel": metal, "insert": replace(metal, name="two")},
        parts=("barrel", *(("insert",) if read else ())),
    )
    solved = SimpleNamespace(lengths=1, places=())
    return draw_inputs(judging.wishes, judging, solved, read, by_walls)


def test_what_two_designs_share_is_drawn_alike_whatever_else_is_drawn():
    bare, _ = drawn([], 0.0)
    fitted, _ = drawn([FIT], 0.1)
    assert {FIT, WALLS, "strength of two"} <= fitted.keys() - bare.keys()
    assert bare.keys() < fitted.keys()
    for name, values in bare.items():
        assert fitted[name] == pytest.approx(values), name
    assert abs(np.corrcoef(fitted["strength of one"], fitted["strength of two"])[0, 1]) < 0.5
    assert PRESSURE in bare


def test_what_knowing_an_input_is_worth():
    random = np.random.default_rng(5)
    inputs = {name: random.standard_normal(200_000) for name in ("large", "small")}
    result = 2 * np.exp(0.1 * inputs["large"] - 0.05 * inputs["small"])
    known = known_of(inputs, result, 0.9)
    both = math.hypot(0.1, 0.05)
    assert known["large"] == pytest.approx(math.exp(TENTH * (both - 0.05)), rel=2e-3)
    assert known["small"] == pytest.approx(math.exp(TENTH * (both - 0.1)), rel=2e-3)


def test_nothing_is_known_of_a_limit_that_is_none():
    inputs = {"one": np.linspace(-1, 1, 100)}
    assert known_of(inputs, np.zeros(100), 0.9) == {}
    assert known_of(inputs, np.full(100, 2.0), 0.9) == {}

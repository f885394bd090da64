"""Growth of a crack: a life in closed form, units, mean stress, and what ends it."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fea.crack import IIW_ALUMINIUM, ROOT_M, GrowthLaw, grow


@pytest.mark.parametrize(
    ("rate", "exponent", "stress", "first", "last", "cycles"),
    [
        pytest.param(1e-10, 3.0, 100.0, 1.0, 10.0, 55279.3, id="m = 3"),
        pytest.param(1e-10, 2.0, 100.0, 1.0, 10.0, 584292.0, id="m = 2"),
        pytest.param(4.46e-10, 3.0, 50.0, 0.5, 5.0, 140227.0, id="aluminium"),
    ],
)
def test_closed_form_life(rate, exponent, stress, first, last, cycles):
    """Paris with K = 1.12 S sqrt(pi a), integrated by hand (any text on fracture); C in m/cycle,
    lengths in mm."""
    law = GrowthLaw(rate=1000 * rate, exponent=exponent, source="a test")
    lengths = np.linspace(first, last, 10)
    k = 1.12 * stress * np.sqrt(np.pi * lengths / 1000)
    grown = grow(lengths, k, 0 * k, law, first, last)
    assert grown.life == pytest.approx(cycles, rel=3e-6)
    c, m = 1000 * rate, exponent
    per_root = c * (1.12 * stress * np.sqrt(np.pi / 1000)) ** m
    exact = (
        math.log(last / first) / per_root
        if m == 2
        else (last ** (1 - m / 2) - first ** (1 - m / 2)) / ((1 - m / 2) * per_root)
    )
    assert grown.life == pytest.approx(exact, rel=1e-6)
    assert grown.end == "breakthrough"


def test_units_of_growth():
    """1 MPa sqrt(m) = 31.623 N/mm^1.5; the constants of the IIW in both (from memory, consistent
    with one another): 1.41e-11 (mm, N/mm^1.5) and 4.46e-10 (m, MPa sqrt(m)), 1.79 MPa sqrt(m)."""
    assert pytest.approx(31.623, rel=1e-5) == ROOT_M
    assert IIW_ALUMINIUM.rate == pytest.approx(4.46e-7, rel=1e-3)
    assert IIW_ALUMINIUM.threshold == pytest.approx(1.79, abs=5e-3)
    found = IIW_ALUMINIUM.threshold_at([-1.0, 0.0, 0.3, 0.5, 1.0])
    assert found == pytest.approx([1.793, 1.793, 1.107, 0.664, 0.664], abs=1e-3)


def test_mean_stress():
    """Walker: a range of 6 at R = 0.25 counts as 6 / 0.75^0.36; shut below 0; plain for 1."""
    law = replace(IIW_ALUMINIUM, walker_gamma=0.64)
    found = law.effective_range([2.0, -3.0, -5.0, 0.0], [8.0, 4.0, -1.0, 0.0])
    assert found == pytest.approx([6 / 0.75**0.36, 4.0, 0.0, 0.0])
    assert IIW_ALUMINIUM.effective_range([2.0], [8.0]) == pytest.approx([6.0])


def test_growth_stops_and_breaks():
    law = GrowthLaw(rate=1e-7, exponent=3.0, threshold=2.0, toughness=9.0, source="a test")
    lengths, none = np.array([1.0, 2.0, 4.0]), np.zeros(3)
    small = grow(lengths, [1.0, 3.0, 5.0], none, law, 1.0, 5.0)
    assert (small.end, small.life, small.cycles[-1]) == ("threshold", math.inf, 0.0)
    falling = grow(lengths, [3.0, 2.5, 1.0], none, law, 1.0, 5.0)
    assert falling.end == "threshold"
    assert 2 < falling.length[-1] < 4
    assert falling.cycles[-1] > 0
    held = grow(lengths, [3.0, 3.0, 3.0], [1.5, 1.5, 1.5], law, 1.0, 5.0)
    assert held.end == "threshold"
    assert grow(lengths, -none - 1, none, law, 1.0, 5.0).end == "shut"
    tough = grow(lengths, [5.0, 7.0, 11.0], none, law, 1.0, 5.0)
    assert tough.end == "toughness"
    assert 2 < tough.length[-1] < 4


def test_growth_across_a_border():
    """Two metals with a K of their own: the cycles of each, one after the other."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, source="a test")
    lengths = np.array([1.0, 2.0, 2.9, 3.1, 4.0, 5.0])
    root = np.sqrt(lengths)
    gas = np.where(lengths < 3, 4 * root, 2 * root)
    grown = grow(lengths, gas, 0 * gas, law, 1.0, 5.0, borders=[3.0])
    exact = (math.log(3) / 16 + math.log(5 / 3) / 4) / 1e-7
    assert grown.life == pytest.approx(exact, rel=1e-6)

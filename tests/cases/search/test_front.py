"""Fronts, their measure and their bend."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cases.search.front import hypervolume, knee, unbeaten

values = st.lists(st.tuples(*[st.integers(0, 6)] * 3), min_size=1, max_size=12)


@given(values)
def test_no_member_of_a_front_is_beaten_and_every_other_is(found):
    front = unbeaten(found)

    def beats(one, other):
        return one != other and all(a <= b for a, b in zip(one, other, strict=True))

    members = [found[at] for at in front]
    assert len(set(members)) == len(members)
    assert not any(beats(one, other) for one in found for other in members)
    assert all(of in members or any(beats(one, of) for one in members) for of in found)


def test_nothing_has_no_front():
    assert unbeaten([]) == []
    assert hypervolume([], (1, 1)) == 0.0


@pytest.mark.verification
def test_hypervolume_of_a_closed_front():
    # BNH, front by Deb, Multi-Objective Optimization, 2001 (from memory), its integral derived:
    # 15856/3 at the reference (140, 50)
    x = np.concatenate([np.linspace(0, 3, 30_001), np.full(20_001, 3.0)])
    y = np.concatenate([x[:30_001], x[:30_001][-1:], np.full(20_000, 3.0)])
    x[30_001:] = np.linspace(3, 5, 20_001)
    front = np.column_stack([4 * x**2 + 4 * y**2, (x - 5) ** 2 + (y - 5) ** 2])
    assert hypervolume(front, (140, 50)) == pytest.approx(15856 / 3, rel=1e-4)


def test_what_is_worse_than_the_reference_counts_nothing():
    assert hypervolume([[1, 1], [4, 0]], (3, 3)) == 4.0


def test_the_knee_does_not_hang_on_units():
    front = np.array([[0.0, 9.0], [1.0, 3.0], [2.0, 2.8], [9.0, 0.0]])
    assert knee(front) == knee(front * (1000, 0.01)) == 1


def test_a_front_of_one_is_its_own_knee():
    assert knee([[3.0, 4.0]]) == 0

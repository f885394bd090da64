"""Limits begun from that of a like design, where shares grow by known powers of the gas load."""

from itertools import product

import numpy as np
import pytest

from cases.rating.limit import NEAR, ROUGHLY, Tried, near_limit


class Known(Tried):
    """Shares of a strength that are a function of the gas load."""

    def __init__(self, share):
        self.share, self.solved = share, {}

    def used(self, factor):
        self.solved[factor] = ()
        return self.share(factor)


@pytest.mark.parametrize("before", [0.3, 1.0])
def test_another_place_that_took_over_before_the_limit_does_not_move_it(before):
    """What governs at the asked gas load grows by another power than what meets its strength."""
    for exact, power in product((1.3, 1.8, 2.6), (0.5, 1.75, 3.0)):

        def share(factor, exact=exact, power=power):
            first = 0.9 * (factor / exact) ** before
            return max((factor / exact) ** power, first)

        for start in (None, *np.linspace(0.97, 1.03, 13) * exact):
            assert near_limit(Known(share), start) == pytest.approx(exact, rel=NEAR)


def test_where_shares_jump_the_load_that_is_carried_is_told():
    found = near_limit(Known(lambda load: 0.9 if load < 0.83 else 1.4), None, narrow=0.02)
    assert 0.83 / 1.02 <= found < 0.83


@pytest.mark.parametrize("held", [True, False])
def test_less_load_brings_less_heat(held):
    """What breaks at the heat of the asked load may carry much at its own, and is sought there."""

    class Heated(Known):
        heat_held = held

    loads = Heated(lambda load: np.inf if load > 0.6 else load / 0.55)
    assert near_limit(loads, None) == pytest.approx(0.55, rel=2e-3)
    assert (min(loads.solved) < 0.1) is held


def test_how_a_like_design_grows_tells_the_last_step_from_one_load():
    loads = Known(lambda load: 0.4 + 0.3 * load)
    assert near_limit(loads, None, 0.3, first=1.96, nearly=0.02) == pytest.approx(2.0)
    assert list(loads.solved) == [1.96]


def test_a_limit_of_no_use_is_sought_roughly():
    solved = {}
    for of_no_use in (0.0, 1.2):
        loads = Known(lambda load: (1 + load**3) / 1.512)
        found = near_limit(loads, None, first=1.9, of_no_use=of_no_use)
        assert found == pytest.approx(0.8, rel=ROUGHLY if of_no_use else 2 * NEAR)
        solved[of_no_use] = len(loads.solved)
    assert solved[1.2] < solved[0.0]

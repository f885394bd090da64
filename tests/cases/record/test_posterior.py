"""The shop's factor: its limits, and that each engine moves it the right way."""

import math

import numpy as np
import pytest

from cases.record.engines import Engine
from cases.record.posterior import log_likelihood, posterior_of, shifts_of

SPREAD = 0.12


def engine(low, high=math.inf, job="1", spread=SPREAD):
    return Engine(job=job, design="local", low=low, high=high, spread=spread)


def test_with_no_engines_it_is_as_wide_as_the_band():
    told = posterior_of([], SPREAD)
    assert told.mean == pytest.approx(0, abs=1e-9)
    assert told.deviation == pytest.approx(SPREAD * math.sqrt(0.5), rel=1e-4)  # mean part: half
    for share, deviates in ((0.05, -1.644854), (0.1, -1.281552), (0.5, 0), (0.95, 1.644854)):
        # whatever part is shared, both together are the band: quantiles of the normal (any table)
        assert math.log(told.capacity(share)) == pytest.approx(SPREAD * deviates, abs=2e-5)
        assert told.carries(SPREAD * deviates) == pytest.approx(1 - share, abs=2e-4)


@pytest.mark.parametrize(
    ("engines", "way"),
    [
        ([engine(0.1)], 1),
        ([engine(-0.1, -0.1)], -1),
        ([engine(-0.3, -0.1)], -1),
        ([engine(-math.inf, -0.1)], -1),
        ([engine(0.1, 0.1)], 1),
    ],
)
def test_each_moves_it_its_way(engines, way):
    told = posterior_of(engines, SPREAD)
    assert way * told.mean > 0.005
    (shift,) = shifts_of(engines, told)
    assert shift == pytest.approx(math.expm1(told.mean))


def test_a_survivor_at_a_light_load_says_next_to_nothing():
    assert posterior_of([engine(-1.0)] * 50, SPREAD).mean == pytest.approx(0, abs=1e-6)


def test_many_that_crack_alike_say_the_factor_and_that_it_is_shared():
    rng = np.random.default_rng(7)
    known = 0.15 + 0.03 * rng.standard_normal(400)
    told = posterior_of([engine(at, at) for at in known], SPREAD)
    assert told.mean == pytest.approx(known.mean(), abs=0.003)
    assert told.deviation < 0.01
    assert told.shared_part > 0.85
    assert math.log(told.factor(0.5)) == pytest.approx(told.mean, abs=0.002)


def test_what_each_of_many_moved_agrees_with_leaving_it_out():
    rng = np.random.default_rng(3)
    places = -0.1 + 0.1 * rng.standard_normal(60)
    engines = [
        engine(at, (math.inf, at, at + 0.1)[number % 3], job=str(number))
        for number, at in enumerate(places)
    ]
    told = posterior_of(engines, SPREAD)
    shifts = shifts_of(engines, told)
    for at in (0, 1, 2):
        without = posterior_of(engines[:at] + engines[at + 1 :], SPREAD)
        assert shifts[at] == pytest.approx(math.expm1(told.mean - without.mean), abs=2e-4)


def test_probabilities_in_far_tails_keep_their_digits():
    (there,) = log_likelihood([8.0], [9.0], 0.0, 1.0)
    (mirrored,) = log_likelihood([-9.0], [-8.0], 0.0, 1.0)
    assert there == mirrored == pytest.approx(math.log(6.219831e-16), abs=1e-4)
    (narrow,) = log_likelihood([1.0], [1.0 + 1e-9], 0.0, 1.0)
    assert narrow == pytest.approx(-0.5 - 0.5 * math.log(2 * math.pi) + math.log(1e-9), abs=1e-5)

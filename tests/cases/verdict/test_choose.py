"""Which design to make, of plain records: thresholds, draws set side by side, ties."""

import numpy as np
import pytest

from cases.verdict.choose import carries_more, choose, differ, status_of
from cases.verdict.result import COST, FAILS, HOLDS, MARGINAL, UNKNOWN, WATER, Row

DRAWS = np.random.default_rng(3).lognormal(0.0, 0.12, 500)
"""What one block after another carries, over what it would carry in the middle."""


def row(design, middle=1.5, *, draws=None, **changes):
    each = tuple((middle * DRAWS if draws is None else draws).tolist())
    limit, share = float(np.quantile(each, 0.1)), float(np.mean(np.array(each) >= 1))
    found = {
        "design": design, "status": status_of(share, 0.9, limit), "share": share, "by": "solid",
        "limit_factor": limit, "limit_bar": 100 * limit, "each": each, "open_water_mm2": 900.0,
    }  # fmt: skip
    return Row(**{**found, **changes})


@pytest.mark.parametrize(
    ("share", "reliability", "factor", "status"),
    [
        (0.9, 0.9, 1.0, HOLDS),
        (0.899, 0.9, 0.99, MARGINAL),
        (0.95, 0.99, 0.9, MARGINAL),
        (0.5, 0.9, 0.6, MARGINAL),
        (0.499, 0.9, 0.6, FAILS),
        (0.5, 0.5, 1.0, HOLDS),
        (None, 0.9, 1.0, MARGINAL),  # nothing drawn: half of such blocks carry a nominal limit
        (None, 0.9, 0.99, FAILS),
        (None, 0.9, None, UNKNOWN),
    ],
)
def test_status_by_the_share_of_draws(share, reliability, factor, status):
    assert status_of(share, reliability, factor) == status


def test_beyond_all_that_is_tried_it_holds_and_in_doubt_nothing_does():
    assert status_of(None, 0.9, None, beyond=True) == HOLDS
    assert status_of(0.99, 0.9, 1.4, doubtful=True) == MARGINAL
    assert status_of(0.2, 0.9, 0.4, doubtful=True) == FAILS


def test_the_one_that_carries_most_of_those_that_hold():
    found = choose([row("bare", 0.8), row("uniform", 1.6), row("local", 2.0)])
    assert (found.design, found.status) == ("local", HOLDS)
    assert found.also == ("uniform",)
    assert found.alike == ()
    assert found.alike_by == ""


def test_where_none_holds_the_nearest():
    found = choose([row("bare", 0.5), row("uniform", 1.02), row("local", 0.9)])
    assert (found.design, found.status) == ("uniform", MARGINAL)
    found = choose([row("bare", 0.5), row("local", 0.7)])
    assert (found.design, found.status) == ("local", FAILS)
    assert found.also == ()


def test_one_that_no_fit_will_do_for_is_passed_over():
    rows = [row("bare", 0.7), row("local", 2.0, unfit="a piece is loose")]
    assert choose(rows).design == "bare"
    assert choose(rows[1:]).design == "local"


def test_draws_of_the_same_block_tell_apart_what_bands_do_not():
    """3 % more in every draw, where the bands are 40 % wide."""
    one, other = row("one", 1.5), row("other", 1.5 * 1.03)
    assert carries_more(other, one) == 1
    assert differ(one, other)
    assert choose([one, other]).design == "other"
    shuffled = row("other", draws=1.5 * 1.03 * np.random.default_rng(4).permutation(DRAWS))
    assert not differ(one, shuffled)


def test_numerical_errors_count_against_a_difference():
    one, other = row("one", 1.5, error=0.01), row("other", 1.5 * 1.03, error=0.01)
    assert differ(one, other)
    assert not differ(one, row("other", 1.5 * 1.03, error=0.03))


def test_a_difference_asks_for_95_of_100_draws():
    """One more in 94 or 96 of 100 draws, less in the others."""
    for share, sure in ((0.94, False), (0.96, True)):
        better = np.where(np.arange(500) < share * 500, 1.05, 0.95)
        assert differ(row("one"), row("other", draws=1.5 * DRAWS * better)) == sure


def test_without_draws_two_differ_by_more_than_their_errors():
    one = row("one", each=(), limit_factor=1.2, error=0.02)
    assert not differ(one, row("other", each=(), limit_factor=1.23, error=0.02))
    assert differ(one, row("other", each=(), limit_factor=1.26, error=0.02))
    assert carries_more(one, row("other", each=())) is None


def test_no_difference_takes_the_one_that_keeps_more_water_then_the_cheaper():
    shallow = row("shallow", 1.5, error=0.05, pieces=4, mass_g=200.0, machined=("a register",))
    deep = row("deep", 1.52, error=0.05, open_water_mm2=700.0, pieces=4, mass_g=400.0)
    found = choose([deep, shallow])
    assert (found.design, found.alike, found.alike_by) == ("shallow", ("deep",), WATER)
    light = row("light", 1.51, error=0.05, pieces=4, mass_g=100.0)
    found = choose([shallow, light])
    assert (found.design, found.alike, found.alike_by) == ("light", ("shallow",), COST)
    easy = row("easy", 1.48, error=0.05, pieces=4, mass_g=300.0)
    assert choose([shallow, easy]).design == "easy"  # nothing to machine weighs more than metal
    one = row("one", 1.48, error=0.05, pieces=1, mass_g=300.0)
    assert choose([light, one]).design == "one"
    bare = row("bare", 1.49, error=0.05)
    found = choose([bare, light])
    assert (found.design, found.alike) == ("bare", ("light",))


def test_where_none_holds_the_nearest_is_taken_though_it_is_no_different():
    """Nothing is gained by water or cost of what doesn't hold."""
    cheap = row("cheap", 0.9, error=0.05, open_water_mm2=2000.0)
    near = row("near", 0.93, error=0.05, pieces=4, machined=("a register",))
    found = choose([cheap, near])
    assert (found.design, found.alike, found.alike_by) == ("near", ("cheap",), "")


def test_squares_of_the_errors_add_up():
    """0.03 and 0.04 make 0.05."""
    one = row("one", 1.5, error=0.03)
    assert differ(one, row("other", 1.5 * 1.051, error=0.04))
    assert not differ(one, row("other", 1.5 * 1.049, error=0.04))


def test_a_design_of_a_worse_status_is_not_alike():
    found = choose([row("one", 1.17), row("other", 1.15, open_water_mm2=2000.0, error=0.1)])
    assert (found.design, found.status) == ("one", HOLDS)
    assert found.alike == ()

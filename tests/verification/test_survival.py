"""What engines say, against handbooks, published data and general libraries.

Success runs: the table of reliability handbooks (from memory, recomputed: n = 22 for 90 % at 90 %).
Censored lives: NIST/SEMATECH e-Handbook of Statistical Methods, 8.4.1.3: 20 units, ten failed
within 500 h; its Weibull estimates are eta 606.5280, beta 1.7208. lifelines is a general library.
"""

import math

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.optimize import minimize
from scipy.stats import norm

from cases.record.engines import Engine
from cases.record.posterior import log_likelihood, posterior_of
from cases.record.success import (
    engines_needed,
    failing_share,
    weibull_equivalents,
    weibull_slope,
)

pytestmark = pytest.mark.verification
FAILED = [54, 187, 216, 240, 244, 335, 361, 373, 375, 386]
ALIVE = [500.0] * 10


@pytest.mark.parametrize(
    ("reliability", "confidence", "engines"),
    [
        (0.90, 0.90, 22), (0.90, 0.95, 29), (0.95, 0.90, 45), (0.95, 0.95, 59), (0.97, 0.90, 76),
        (0.99, 0.90, 230), (0.99, 0.95, 299), (0.999, 0.90, 2302),
    ],
)  # fmt: skip
def test_success_runs(reliability, confidence, engines):
    needed = engines_needed(reliability, confidence)
    assert math.ceil(needed) == engines
    assert failing_share(needed, confidence) == pytest.approx(1 - reliability)


@pytest.mark.parametrize(
    ("reliability", "engines"), [(0.90, (22, 38, 52, 65)), (0.95, (45, 77, 105, 132))]
)
def test_runs_of_which_some_fail(reliability, engines):
    """The binomial table of reliability handbooks for none to three failures, at 90 %."""
    for failed, needed in enumerate(engines):
        assert failing_share(needed, failed=failed) <= 1 - reliability
        assert failing_share(needed - 1, failed=failed) > 1 - reliability


@pytest.mark.parametrize(
    ("reliability", "longer", "slope", "needed"),
    [(0.90, 2, 2, 5.4636), (0.90, 1.5, 1.5, 11.896), (0.99, 1.5, 2, 101.825)],
)
def test_success_runs_of_a_known_weibull_slope(reliability, longer, slope, needed):
    """Zero-failure demonstration n = ln(1 - C) / (L^b ln R), recomputed."""
    assert engines_needed(reliability, 0.9, longer, slope) == pytest.approx(needed, rel=1e-4)
    equivalents = weibull_equivalents([longer] * 7, 1.0, slope)
    share = failing_share(equivalents, 0.9)
    assert engines_needed(1 - share, 0.9, longer, slope) == pytest.approx(7)


FANS = {
    0.45: 1, 0.46: 1, 1.15: 2, 1.56: 1, 1.60: 1, 1.66: 1, 1.85: 5, 2.03: 3, 2.07: 2, 2.08: 1,
    2.20: 1, 3.00: 4, 3.10: 1, 3.20: 1, 3.45: 1, 3.75: 2, 4.15: 4, 4.30: 4, 4.60: 1, 4.85: 4,
    5.00: 3, 6.10: 4, 6.30: 1, 6.45: 2, 6.70: 1, 7.45: 1, 7.80: 2, 8.10: 2, 8.20: 1, 8.50: 3,
    8.75: 3, 9.40: 1, 9.90: 1, 10.10: 3, 11.50: 1,
}  # fmt: skip


@pytest.mark.parametrize(
    ("lives", "failed", "scale", "slope"),
    [
        ([*FAILED, *ALIVE], 10, 606.5280, 1.7208),
        ([of for of, many in FANS.items() for _ in range(many)], 12, 26.2968, 1.05845),
    ],
    ids=["NIST 8.4.1.3", "70 fans"],
)
def test_lives_count_for_as_many_scales_as_failed(lives, failed, scale, slope):
    """Where a Weibull likelihood is largest, sum (t / scale)^slope is the number that failed.

    The fans are Nelson's (Applied Life Data Analysis, 1982, p. 318, lives in 1000 h, from memory:
    they bear his estimates out); their estimates are those that libraries print for them.
    """
    assert weibull_equivalents(lives, scale, slope) == pytest.approx(failed, rel=1e-4)


def test_lives_that_scatter_like_a_limit_have_that_weibull_slope():
    """By draws: the standard deviation of ln(life) of a Weibull life is s / k."""
    slope = weibull_slope(0.12, 0.1)
    lives = np.random.default_rng(1).weibull(slope, 400_000)
    assert np.log(lives).std() == pytest.approx(0.12 / 0.1, rel=0.01)


def fitted(low, high):
    """Largest likelihood of a normal distribution: mean, deviation, logarithm."""
    best = minimize(
        lambda at: -log_likelihood(low, high, at[0], math.exp(at[1])).sum(),
        [6.0, 0.0],
        method="Nelder-Mead",
        options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 4000},
    )
    return best.x[0], math.exp(best.x[1]), -best.fun


def test_censored_lives_of_the_nist_handbook():
    """mu 6.22602, sigma .90891, AIC 154.39 recomputed; lifelines agrees."""
    lifelines = pytest.importorskip("lifelines")
    low = np.log([*FAILED, *ALIVE])
    high = np.concatenate([np.log(FAILED), np.full(10, np.inf)])
    middle, own, log = fitted(low, high)
    assert (middle, own) == pytest.approx((6.22602, 0.90891), rel=1e-5)
    # a density of ln t is t times that of t
    assert 2 * 2 - 2 * (log - np.log(FAILED).sum()) == pytest.approx(154.39, abs=0.005)
    other = lifelines.LogNormalFitter().fit([*FAILED, *ALIVE], [1] * 10 + [0] * 10)
    assert (middle, own) == pytest.approx((other.mu_, other.sigma_), rel=1e-4)


def test_lives_censored_by_intervals():
    """Inspections at 100, 200, 300, 400 and 500 h of the same units, against lifelines."""
    lifelines = pytest.importorskip("lifelines")
    before = [100 * ((life - 1) // 100) for life in FAILED]
    since = [*(at + 100 for at in before)]
    with np.errstate(divide="ignore"):
        low = np.log(np.array([*before, *ALIVE], float))
    high = np.concatenate([np.log(since), np.full(10, np.inf)])
    middle, own, log = fitted(np.where(low < 0, -np.inf, low), high)
    other = lifelines.LogNormalFitter().fit_interval_censoring(
        [*before, *ALIVE], [*since, *[np.inf] * 10]
    )
    assert (middle, own) == pytest.approx((other.mu_, other.sigma_), rel=2e-3)
    assert log == pytest.approx(other.log_likelihood_, abs=1e-4)


ENGINES = [
    (-0.05, math.inf), (0.02, math.inf), (-0.12, -0.12), (-0.2, 0.05), (0.1, math.inf),
    (-math.inf, 0.08),
]  # fmt: skip


@pytest.mark.parametrize("spread", [0.08, 0.2])
def test_the_posterior_against_a_dense_grid(spread):
    """Its likelihood written out again with scipy.stats, summed by scipy's Simpson rule.

    The shared part is the square of a sine, which takes the roots at its ends away.
    """
    turn = np.linspace(0.005, math.pi / 2 - 0.005, 201)
    shared = np.sin(turn) ** 2
    x, y = np.meshgrid(shared, np.linspace(-6 * spread, 6 * spread, 2001))
    own = spread * np.sqrt(1 - x)
    density = norm.pdf(y, 0, spread * np.sqrt(x)) * np.sin(2 * turn)
    for low, high in ENGINES:
        if low == high:
            density *= norm.pdf(low, y, own)
        else:
            density *= norm.cdf(high, y, own) - norm.cdf(low, y, own)

    def summed(weight):
        return simpson(simpson(weight * density, x=turn, axis=1), x=y[:, 0])

    engines = [
        Engine(job=str(at), design="", low=low, high=high, spread=spread)
        for at, (low, high) in enumerate(ENGINES)
    ]
    told, whole = posterior_of(engines, spread), summed(1.0)
    mean = summed(y) / whole
    assert told.mean == pytest.approx(mean, abs=1e-3 * spread)
    assert told.deviation == pytest.approx(math.sqrt(summed((y - mean) ** 2) / whole), rel=1e-3)
    assert told.shared_part == pytest.approx(summed(x) / whole, rel=1e-3)
    heights = simpson(density, x=turn, axis=1)
    below = np.cumsum(heights) / heights.sum()
    for share in (0.05, 0.5, 0.95):
        assert math.log(told.factor(share)) == pytest.approx(
            np.interp(share, below, y[:, 0]), abs=0.01 * spread
        )


@pytest.mark.slow
def test_intervals_cover_the_factor_of_shops_drawn_from_the_prior():
    """1,000 shops of 15 engines: 90 % intervals hold the true factor in 87 to 93 % (binomial)."""
    rng = np.random.default_rng(19)
    spread, inside = 0.12, 0
    for _ in range(1000):
        shared = rng.uniform()
        factor = rng.normal(0, spread * math.sqrt(shared))
        engines = []
        for at in range(15):
            capacity = factor + rng.normal(0, spread * math.sqrt(1 - shared))
            first, last = sorted(rng.normal(-0.05, 0.15, 2))
            if capacity > last:
                low, high = last, math.inf
            elif at % 2:
                low = high = capacity
            else:
                low, high = (first, last) if capacity > first else (-math.inf, first)
            engines.append(Engine(job=str(at), design="", low=low, high=high, spread=spread))
        told = posterior_of(engines, spread)
        inside += told.factor(0.05) < math.exp(factor) < told.factor(0.95)
    assert 0.87 <= inside / 1000 <= 0.93

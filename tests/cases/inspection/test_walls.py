"""Walls out of readings: circle and first order, errors, outliers, few readings."""

import math
from itertools import pairwise

import numpy as np
import pytest

from cases.inspection.walls import (
    NINETY,
    ORDERS,
    SMOOTH,
    USUAL,
    Measured,
    fit_walls,
    row_shift,
    shift_of,
    terms_at,
)
from cases.rating.given import WALL_TOLERANCE
from geometry.clock import angle_to_clock, clock_to_angle, hours_between


def readings(clocks, walls, depth=5.0, error=0.05):
    depths = np.broadcast_to(depth, len(clocks))
    return [
        Measured(clock=float(c), depth=float(z), wall=float(w), error=error)
        for c, z, w in zip(clocks, depths, walls, strict=True)
    ]


def shifted(clocks, mean=6.0, size=0.4, towards=2.0):
    return mean + size * np.cos(np.deg2rad(30 * hours_between(clocks, towards)))


def test_usual_scatter_is_that_of_the_ratings_tolerance():
    assert WALL_TOLERANCE / math.sqrt(3) == USUAL  # standard deviation of an even spread


CIRCLES = [
    # published example of a general library's documentation (its cookbook on circle fits); the
    # values of the geometric fit, radius and sum of squares
    ([9, 35, -13, 10, 23, 0], [34, 10, 6, -14, 27, -10],
     (10.50009, 9.65995, 23.33353, 7.711852)),
    ([36, 36, 19, 18, 33, 26], [14, 10, 28, 31, 18, 26], (9.88757, 3.68750, 27.35044, None)),
]  # fmt: skip


@pytest.mark.verification
@pytest.mark.parametrize(("x", "y", "found"), CIRCLES, ids=["all round", "short arc"])
def test_mean_and_first_order_are_a_step_to_the_least_squares_circle(x, y, found):
    """Repeated about the centre that they lead to they end at the circle (Gauss-Newton)."""
    z, centre = np.array(x) + 1j * np.array(y), complex(np.mean(x), np.mean(y))
    for _ in range(200):
        off = z - centre
        rows = terms_at(angle_to_clock(np.angle(off)), 0.0, 0.0)[:, :3]
        (radius, right, up), *_ = np.linalg.lstsq(rows, np.abs(off))
        centre += complex(right, up)
    assert (centre.real, centre.imag, radius) == pytest.approx(found[:3], abs=1e-5)
    if found[3]:
        assert ((np.abs(z - centre) - radius) ** 2).sum() == pytest.approx(found[3], rel=1e-6)


@pytest.mark.verification
def test_mean_and_shift_of_three_readings_and_their_errors_are_a_general_librarys():
    from scipy.optimize import curve_fit

    clocks, walls, error = np.array([12.0, 4.5, 7.0]), np.array([6.3, 5.9, 5.6]), 0.08
    fit = fit_walls(1, readings(clocks, walls, error=error))

    def model(clock, mean, right, up):
        angle = clock_to_angle(clock)
        return mean + right * np.cos(angle) + up * np.sin(angle)

    terms, covariance = curve_fit(
        model, clocks, walls, sigma=np.full(3, error), absolute_sigma=True
    )
    np.testing.assert_allclose(fit.first, covariance, rtol=1e-4, atol=1e-9)
    assert not fit.told_scatter
    assert fit.scatter == USUAL
    # the rest, of which three readings tell nothing, is let be as usual; the shift is theirs
    assert fit.terms[:3] == pytest.approx(terms, abs=0.1)
    drawn = np.random.default_rng(5).normal(walls, error, (1500, 3))
    known = {"sigma": np.full(3, error), "absolute_sigma": True}
    fitted = [curve_fit(model, clocks, one, **known)[0] for one in drawn]
    np.testing.assert_allclose(fit.first, np.cov(fitted, rowvar=False), rtol=0.1, atol=2e-4)


def test_a_shift_is_found_with_size_and_way():
    clocks = np.arange(12.0)
    fit = fit_walls(2, readings(clocks, shifted(clocks), error=0.02))
    assert fit.mean == pytest.approx(6.0, abs=1e-3)
    assert fit.shift.size == pytest.approx(0.4, abs=1e-3)
    assert fit.shift.clock == pytest.approx(2.0, abs=0.01)
    assert fit.shift.low < 0.4 < fit.shift.high
    assert fit.taper is None
    wall, error = fit.at([2.0, 8.0], 30.0)
    assert wall == pytest.approx([6.4, 5.6], abs=2e-3)
    assert (error > 0.004).all()


def test_a_taper_is_told_apart_from_the_shift():
    clocks = np.repeat(np.arange(0.0, 12.0, 1.5), 2)
    depths = np.tile([5.0, 30.0], 8)
    walls = shifted(clocks) + 0.01 * (depths - 17.5)
    fit = fit_walls(1, readings(clocks, walls, depths, 0.02))
    assert fit.taper[0] == pytest.approx(0.01, rel=1e-3)
    # of 16 readings 12.5 mm off their middle, each off by its error or the roughness (derived)
    rough = math.hypot(0.02, math.sqrt(1 - SMOOTH) * fit.scatter)
    assert fit.taper[1] == pytest.approx(rough / 12.5 / 4, rel=1e-3)
    assert fit.at(8.0, 30.0)[0] == pytest.approx(5.6 + 0.125, abs=2e-3)


def drawn_wall(rng, scatter):
    """A wall by the model: shift, and a rest of a scatter; called with clock positions."""
    fall = np.array([1 / n**2 for n in ORDERS])
    size = scatter * np.sqrt(SMOOTH * fall / fall.sum())
    cos, sin = rng.normal(size=(2, len(ORDERS))) * size

    def smooth(clock):
        angle = clock_to_angle(np.asarray(clock))[..., None] * np.array(ORDERS)
        return shifted(clock) + (cos * np.cos(angle) + sin * np.sin(angle)).sum(axis=-1)

    return smooth


@pytest.mark.verification
@pytest.mark.parametrize(("count", "scatter"), [(12, 0.15), (24, 0.3), (6, 0.17)])
def test_intervals_hold_as_many_walls_as_they_say(count, scatter):
    """Monte Carlo: walls drawn, read with errors and fitted; 90 % intervals hold 86 to 95 %."""
    rng, error = np.random.default_rng(11), 0.06
    clocks = np.arange(count) * 12 / count
    between = np.array([0.7, 4.2, 9.9])
    held, shifts, scatters = [], [], []
    for _ in range(250):
        smooth = drawn_wall(rng, scatter)
        rough = math.sqrt(1 - SMOOTH) * scatter
        walls = smooth(clocks) + rng.normal(0, math.hypot(rough, error), count)
        fit = fit_walls(1, readings(clocks, walls, error=error))
        wall, off = fit.at(between, 5.0)
        true = smooth(between) + rng.normal(0, rough, 3)
        held += (np.abs(wall - true) < NINETY * off).tolist()
        shifts.append(fit.shift.low <= 0.4 <= fit.shift.high)
        scatters.append(fit.scatter)
    assert 0.86 <= np.mean(held) <= 0.96
    assert 0.84 <= np.mean(shifts) <= 0.97
    assert np.median(scatters) == pytest.approx(scatter, rel=0.25)


def test_few_readings_widen_the_error():
    wide = []
    for count in (3, 4, 6, 12, 24):
        clocks = np.arange(count) * 12 / count
        fit = fit_walls(1, readings(clocks, shifted(clocks)))
        wide.append(float(fit.at(np.linspace(0, 12, 60), 5.0)[1].mean()))
    assert all(few > many for few, many in pairwise(wide[1:]))
    assert wide[0] > wide[3]


@pytest.mark.parametrize("clocks", [[], [1.0, 5.0], [1.0, 1.0, 1.0, 5.0], [1.0, 1.3, 1.6]])
def test_too_few_readings_or_all_on_one_side_tell_no_wall(clocks):
    assert fit_walls(1, readings(clocks, [6.0] * len(clocks))) is None


def test_an_outlier_is_named_with_how_far_it_is_off_and_kept():
    clocks = np.arange(12.0)
    walls = shifted(clocks) + np.random.default_rng(3).normal(0, 0.05, 12)
    walls[7] += 0.9
    fit = fit_walls(1, readings(clocks, walls))
    (outlier,) = fit.outliers
    assert outlier.reading.clock == 7.0
    assert outlier.off == pytest.approx(0.9, abs=0.25)
    assert len(fit.readings) == 12
    assert fit.at(7.0, 5.0)[0] > shifted(7.0) + 0.1
    assert fit_walls(1, readings(clocks, [*np.delete(walls, 7).tolist(), 6.0])).outliers == ()


def test_the_row_has_the_shift_that_its_bores_share():
    clocks = np.arange(12.0)
    fits = [
        fit_walls(bore, readings(clocks, shifted(clocks, size=0.4 + by, towards=3.0)))
        for bore, by in enumerate((-0.1, 0.1, -0.1, 0.1), 1)
    ]
    row = row_shift(fits)
    assert row.size == pytest.approx(0.4, abs=1e-3)
    assert row.clock == pytest.approx(3.0, abs=0.01)
    # of four bores 0.1 to either side: 0.1 sqrt(4/3) / 2 standard (derived)
    assert row.high - row.size == pytest.approx(NINETY * 0.1 * math.sqrt(4 / 3) / 2, rel=0.05)


def test_a_shift_within_its_error_may_be_anywhere():
    shift = shift_of([0.03, 0.0], np.eye(2) * 0.05**2)
    assert (shift.low, shift.clock_off) == (0.0, None)
    assert shift.high == pytest.approx(0.03 + NINETY * 0.05)
    sure = shift_of([0.0, -0.3], np.eye(2) * 0.05**2)
    assert sure.clock == 6.0
    # atan(1.645 x 0.05 / 0.3) is 15.3 degrees, 0.51 h (derived)
    assert sure.clock_off == pytest.approx(0.511, abs=0.002)

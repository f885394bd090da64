"""A solid at other interferences: what is linear in the press, its limits, what draws carry."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BLOCK, FIT, RING, TIES

from cases.gas.solve import gas_load
from cases.life.given import life_given
from cases.life.steps import PRESSED, LoadStep
from cases.rating import solid_fits
from cases.rating.depth_band import band_of_solid, fits_of_solid
from cases.rating.result import FitPoint
from cases.rating.solid import rate_solid
from cases.rating.solid_fits import _SolidFits, is_swept
from cases.rating.solve import rate_by_solid
from cases.rating.window import NEAR_BEST, told_at, window_of, window_with_errors
from cases.solid.gas import instants
from cases.solid.life import FittedSolidLife, solid_life
from cases.solid.solve import _meshed
from cases.stress.solve import untold

LOW = 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\nmaterial = "A356-T6"\n'
CUT = """\
[[relief_cut]]
clock = "2:45"
radius = "55 mm"
diameter = "16 mm"
depth = "16 mm"
"""
BLOCK_LOW = BLOCK.replace('material = "A356-T6"\n', LOW) + CUT + TIES
DRAWN = "[rating]\ndraws = 200\n"
STATED = 16.0


def life_at(case_of, um):
    case = case_of(BLOCK_LOW, DRAWN, RING, FIT.replace("40 um", f"{um} um"))
    design, load = case.designs[0], gas_load(case)
    return solid_life(case, design, load, instants(case, load), _meshed(case, design, "coarse"))


@pytest.fixture(scope="module")
def by_solid(case_of):
    """A cold ring of pieces between two ties, swept: 9 s of processor for all of this file."""
    return rate_by_solid(life_at(case_of, STATED), untold)


@pytest.fixture(scope="module")
def drawn(by_solid):
    """Band and fits, nothing taken from a section."""
    return band_of_solid(by_solid.draws, {}, by_solid.others)


def test_press_hold_and_roundness_go_as_the_interference(by_solid):
    """All of the joint touches as pressed in, so metal and joint are linear (superposition)."""
    points = by_solid.others.points
    um = np.array([point.interference_um for point in points])
    assert len(um) >= 5
    assert (np.diff(um) > 0).all()
    for values in ([point.held[PRESSED] for point in points],
                   [point.out_of_round_um for point in points],
                   [point.over_yield[PRESSED] for point in points]):  # fmt: skip
        np.testing.assert_allclose(values / um, values[-1] / um[-1], rtol=2e-3)
    assert set(points[0].held) == {PRESSED, LoadStep.COLD_GAS}


def test_the_stated_fit_has_the_limit_of_its_rating(by_solid, drawn):
    """Its own with all at its middle, and that of the draws within its tolerance."""
    band, _, fits = drawn
    at = [point.interference_um for point in fits].index(STATED)
    assert by_solid.others.points[at].limit == by_solid.rating.limit.factor
    assert by_solid.others.points[at].limit_error == by_solid.rating.limit.error
    assert fits[at].within == pytest.approx(band.limit, rel=1e-12)
    assert told_at(fits, STATED)[0] == pytest.approx(band.limit, rel=1e-12)
    um, limits = zip(*((point.interference_um, point.limit) for point in fits), strict=True)
    assert abs(np.interp(STATED, um, limits) - band.limit) < fits[at].limit_error
    low, high = fits[at].band
    assert low < fits[at].limit < high


def test_a_drawn_fit_is_read_from_the_solids_beside_it(by_solid, drawn):
    """Where less press is better and more is worse, a spread of the press costs some limit."""
    band, _, fits = drawn
    assert "fit" in band.causes
    alone, _, none = band_of_solid(by_solid.draws, {})
    assert none == ()
    assert "fit" not in alone.causes
    at = [point.interference_um for point in fits].index(STATED)
    assert fits[at].limit == pytest.approx(alone.limit, rel=1e-12)
    assert 0.9 * alone.limit < band.limit < alone.limit


def test_fits_beside_one_that_carries_nothing_are_told_of_draws_too(by_solid, drawn):
    """As they are beside one that carries some; the stated one is left at nothing."""
    at = list(by_solid.others.at_um).index(STATED)
    points, solved = list(by_solid.others.points), list(by_solid.others.solved)
    points[at], solved[at] = replace(points[at], limit=0.0), None
    spent = replace(by_solid.others, points=tuple(points), solved=tuple(solved))
    for number, (found, beside) in enumerate(zip(fits_of_solid(spent, {}), drawn[2], strict=True)):
        assert found.limit == pytest.approx(0.0 if number == at else beside.limit, rel=0.02)


def test_too_much_press_breaks_the_ties_first(by_solid, drawn):
    """Common practice, no source."""
    for points in (by_solid.others.points, drawn[2]):
        limits = [point.limit for point in points]
        assert limits == sorted(limits, reverse=True)
        assert points[-1].governs.startswith("tie ")
        assert limits[-1] < NEAR_BEST * limits[0]


def test_the_window_ends_where_a_limit_is_five_per_cent_below_the_best(drawn):
    fits = drawn[2]
    window = window_with_errors(fits, 1000.0, None)
    um, limits = zip(*((point.interference_um, point.limit) for point in fits), strict=True)
    at_end = np.interp([window.high_um, window.high_um + 0.1], um, limits) / max(limits)
    assert at_end[0] >= NEAR_BEST > at_end[1]
    assert window.high_um < STATED
    assert 0 < window.high_error_um < 2.0
    before = fits[: um.index(min(um, key=lambda one: abs(one - window.high_um)))]
    after = [point for point in fits if point.interference_um > window.high_um]
    unlike = window_of((*before, *after), 1000.0, None)  # without the fit that is next to the end
    assert unlike.high_um == pytest.approx(window.high_um, abs=2.0)


@pytest.mark.slow
def test_another_fit_is_as_if_it_had_been_stated(by_solid, case_of):
    """A solid of its own, condensed and rated anew, at the heaviest fit and at the lightest."""
    for point in (by_solid.others.points[0], by_solid.others.points[-1]):
        alone, *_ = rate_solid(life_at(case_of, point.interference_um))
        assert point.limit == pytest.approx(alone.limit.factor, rel=5e-3)
        assert point.governs.startswith(f"{alone.governing.part} {alone.governing.clock}, ")


@pytest.mark.parametrize(
    ("fit", "swept"),
    [(FIT, True), (FIT.replace("40 um", "0 um"), False), ("[design.fit]\nbonded = true\n", False),
     (FIT.replace('interference = "40 um"', 'clearance = "0.1 mm"'), False)],
)  # fmt: skip
def test_only_an_interference_that_sides_have_in_common_is_swept(case_of, fit, swept):
    life = FittedSolidLife.__new__(FittedSolidLife)
    life.fit = life_given(case_of(BLOCK_LOW, RING, fit)).fits["ring"]
    assert is_swept(life) is swept


@pytest.mark.parametrize(
    ("um", "start", "limit", "off"), [(30.0, 1.5, 1.45, 0.02), (50.0, 1.0, 1.35, 0.12)]
)
def test_a_fit_begins_between_its_neighbours_and_says_when_it_is_sought_roughly(
    monkeypatch, um, start, limit, off
):
    """Below 0.7 of the best limit a tenth is added to its error (both numbers are our own)."""

    def point(at_um, carries):
        return FitPoint(
            interference_um=at_um, held={}, over_yield={}, out_of_round_um=0.0, limit=carries,
            limit_error=0.02 * carries, tried=None,
        )  # fmt: skip

    def near(_loads, first, _slope, of_no_use):
        assert (first, of_no_use) == pytest.approx((start, 1.4))
        return limit, None, None

    fits = object.__new__(_SolidFits)
    fits.points, fits._slopes = {0.02: point(20.0, 2.0), 0.04: point(40.0, 1.0)}, {}
    heated = SimpleNamespace(at_heat=lambda _factor: None)
    fits.loads = SimpleNamespace(with_interference=lambda _at, _start: heated)
    monkeypatch.setattr(solid_fits, "limit_near", near)
    monkeypatch.setattr(fits, "_point", lambda *_: point(um, limit), raising=False)
    assert fits.point(um / 1000, 0.04).limit_error == pytest.approx(off * limit)

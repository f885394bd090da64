"""Fitted designs at other interferences: limits, hold and yield as they are solved."""

from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES
from matplotlib.collections import LineCollection
from scipy.optimize import brentq
from three_rings import Rings
from unswept import solve_at_once, solve_unswept

from cases.base.faults import RunError
from cases.fit.advice import advice_of
from cases.fit.data import SOLID
from cases.fit.figures import PIECE, fits_figure
from cases.fit.lines import AT_MOST, RATE, SECTION_ONLY, advice_words
from cases.fit.lines import first_lines as unfit_lines
from cases.fit.result import sweep_of
from cases.life.result import service_of
from cases.making.make import made_of
from cases.rating import Rating
from cases.rating.result import FitPoint, SolidRating, rating_of
from cases.report.results import results_dict
from cases.run import solve_case
from cases.subjects import SUBJECTS
from cases.verdict.rows import row_of

CUT = """\
[[relief_cut]]
clock = "2:45"
radius = "55 mm"
diameter = "16 mm"
depth = "16 mm"
"""
NO_BAND = "[rating]\ndraws = 0\n"


@pytest.fixture(scope="module")
def rated(case_of):
    """A bare block and a ring fitted into it cold, rated."""
    fit = FIT.replace('interference = "40 um"', 'interference_per_side = "20 um"')
    return solve_case(case_of(BLOCK, CUT, NO_BAND, BARE, RING, fit), rate=True)


def test_the_limit_is_swept_over_twelve_fits_at_least(rated):
    bare, ring = rated.designs
    sweep = sweep_of(ring)
    um = [point.interference_um for point in sweep.points]
    assert len(um) >= 12
    assert um == sorted(um)
    assert 40.0 in um
    assert all(point.limit is not None and point.governs for point in sweep.points)
    assert sweep_of(bare) is None


def test_the_limit_of_the_stated_fit_is_that_of_its_rating(rated):
    ring = rated.designs[1]
    limit = rating_of(ring).limit
    assert sweep_of(ring).asked.limit == pytest.approx(limit.factor, rel=5e-3)
    assert sweep_of(ring).asked.limit_error > 0
    assert limit.error > 0.001 * limit.factor


@pytest.mark.parametrize("at_most", [True, False])
def test_limits_without_a_bound_are_told_so_beside_the_fit(rated, at_most):
    """As in the table of limits, so that one report doesn't call a limit sure and not sure."""
    ring = rated.designs[1]
    rating = rating_of(ring)
    limit = replace(rating.limit, at_most=at_most)
    told = replace(ring, found={**ring.found, "rating": replace(rating, limit=limit)})
    result = replace(rated, designs=(rated.designs[0], told))
    advice = advice_of(result, told)
    assert advice_words(sweep_of(told), advice).endswith(AT_MOST) is at_most
    assert results_dict(result)["designs"][1]["fit_advice"]["at_most"] is at_most


HILL = tuple(
    FitPoint(
        interference_um=um, held={"pressed in": 9.0}, over_yield={"pressed in": 0.2},
        out_of_round_um=1.0, limit=limit, limit_error=0.03, governs="tie 6:00, fatigue, cold",
        band=(0.8 * limit, 1.3 * limit), within=0.99 * limit,
    )
    for um, limit in ((2.0, 0.5), (10.0, 1.0), (20.0, 1.0), (40.0, 0.4))
)  # fmt: skip
"""Fits of a solid, made up: far from what the section of this ring says."""


class BySolid(Rating):
    """A rating with the solids' limits beside it, made up."""

    fits = HILL

    def solve(self, work):
        """The section's, with a solid's."""
        rated = super().solve(work)
        fits = self.fits if work.drawn.design.insert else ()
        factor = 0.4 if work.drawn.design.insert else 0.6
        limit = replace(rated.limit, factor=factor, error=0.02 * factor)
        solid = SolidRating(
            limit=limit, tried=factor, governing=None, yield_share=0.5, life_cycles={}, fits=fits,
            unsolved=("77.0 um could not be solved.",) if fits else (),
        )  # fmt: skip
        return replace(rated, solid=solid)


def with_solids(case_of, rating):
    fit = FIT.replace('interference = "40 um"', 'interference_per_side = "20 um"')
    keys = {"verdict": None, "rating": rating}
    subjects = [keys.get(of.key, of) for of in SUBJECTS if keys.get(of.key, of)]
    case = case_of(BLOCK, CUT, NO_BAND, BARE, RING, fit)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.life.refine.MOST_MESHES", 1)
        return solve_case(case, rate=True, subjects=subjects)


@pytest.fixture(scope="module")
def solids(case_of):
    return with_solids(case_of, BySolid())


def test_the_window_is_that_of_the_solids_fits_and_the_section_has_no_say(solids, rated):
    """By hand: 0.95 of the best limit from 9.2 um (8/0.5 um a unit) to 21.67 (20/0.6)."""
    ring = solids.designs[1]
    data = results_dict(solids)["designs"][1]["fit_advice"]
    assert data["limits_by"] == SOLID
    assert (data["low_um"], data["high_um"]) == (
        pytest.approx(9.2, abs=0.05), pytest.approx(20 + 20 / 12, abs=0.05)
    )  # fmt: skip
    assert data["nominal_um"] == pytest.approx((9.2 + 20 + 20 / 12) / 2, abs=0.05)
    assert 2 * data["nominal_per_side_um"] == data["nominal_um"]
    assert data["limit_bare"] == 0.6
    assert data["inside"] is False
    assert data["limit_at_nominal"] == pytest.approx(0.99)
    assert data["limit_at_nominal_error"] >= 0.03
    assert data["limit_as_asked"] == pytest.approx(0.99 * 0.4)
    assert data["limit_one_piece"] is None
    for told, of in zip(data["by_interference"], HILL, strict=True):
        assert (told["interference_um"], told["limit"]) == (of.interference_um, of.limit)
        assert (told["limit_error"], told["governs"]) == (of.limit_error, of.governs)
        assert told["limit_in_tolerance"] == pytest.approx(of.within)
        assert told["limit_5_to_95"] == pytest.approx(of.band)
    assert data["unsolved"] == ["77.0 um could not be solved."]
    assert "other fits" not in ring.seconds
    flat = advice_of(rated, rated.designs[1]).window
    assert abs(flat.low_um - data["low_um"]) + abs(flat.high_um - data["high_um"]) > 3


def test_drawing_and_verdict_make_what_the_window_of_the_solid_says(solids):
    data = results_dict(solids)
    window = data["designs"][1]["fit_advice"]
    ring = solids.designs[1]
    row = row_of(solids, ring, advice_of(solids, ring))
    assert (row.fit.low_um, row.fit.nominal_um, row.fit.high_um) == (
        window["low_um"], window["nominal_um"], window["high_um"]
    )  # fmt: skip
    made = made_of(solids.case, "ring", data, "").made
    assert 1000 * made.nominal == pytest.approx(window["nominal_um"])
    assert 1000 * made.low == pytest.approx(window["low_um"])
    assert "outside the window" in made.note


def test_a_window_by_the_section_alone_is_told_first(rated, solids):
    assert SECTION_ONLY in unfit_lines(rated)
    assert not any("section" in line for line in unfit_lines(solids))


def test_the_nominal_stands_what_the_advice_says(rated, case_of):
    """Made so and rated alone, the design has the limit that the advice told."""
    advice = advice_of(rated, rated.designs[1])
    fit = FIT.replace("40 um", f"{advice.window.nominal_um} um")
    made = solve_unswept(case_of(BLOCK, CUT, NO_BAND, RING, fit), rate=True).designs[0]
    assert rating_of(made).limit.factor == pytest.approx(advice.limit_at_nominal, rel=0.01)


def test_results_tell_the_window_on_the_diameter_and_per_side(rated):
    bare, ring = results_dict(rated)["designs"]
    found = ring["fit_advice"]
    assert "fit_advice" not in bare
    assert (found["asked_um"], found["asked_per_side_um"]) == (40.0, 20.0)
    assert found["low_um"] <= found["nominal_um"] <= found["high_um"]
    assert found["nominal_per_side_um"] == pytest.approx(found["nominal_um"] / 2)
    assert found["total_tolerance_um"] == pytest.approx(found["high_um"] - found["low_um"])
    assert found["limit_bare"] == pytest.approx(bare["rating"]["limit"]["factor"])
    assert found["limit_one_piece"] > found["limit_bare"]
    assert found["iso"].startswith("H7/")  # no ties: it is a ring, as large as the jacket
    assert found["iso_diameter_mm"] == 2 * (40 + 8 + 10)
    assert "(20.0 um per side)" in advice_words(sweep_of(rated.designs[1]),
                                                advice_of(rated, rated.designs[1]))  # fmt: skip


@pytest.mark.parametrize(("bar", "step"), [(1, "pressed in"), (250, "cold at gas")])
def test_the_window_ends_where_a_step_yields(case_of, bar, step):
    """Three of Lame's rings with von Mises, the gas superposed; A356-T6 yields at 207 MPa.

    Without a rating, by hold and yield only. The yield strength is that of the materials' table.
    2.5 %, as gas makes more than half of the stress that is set against yield, and that stress is
    known to 1 % on such a mesh.
    """
    rings = Rings()
    case = case_of(BLOCK.replace("120 bar", f"{bar} bar"), RING, FIT)
    result = solve_case(case)
    window = advice_of(result, result.designs[0]).window

    def beyond(overlap):
        return max(rings.von_mises(gas, overlap, 0.002) for gas in (0.0, bar / 10)) - 207.0

    assert window.high_by == f"yield, {step}"
    assert window.high_um == pytest.approx(2000 * brentq(beyond, 0.0, 0.3), rel=0.025)
    found = results_dict(result)["designs"][0]["fit_advice"]
    assert found["judged_by"] == "hold and yield only"
    assert unfit_lines(result)[-1] == f"{SECTION_ONLY} {RATE}"
    assert found["limit_at_nominal"] is None
    assert [one["limit"] for one in found["by_interference"]] == [None] * 12


def test_a_fit_that_is_not_found_is_named_and_the_others_tell(case_of, monkeypatch):
    from cases.life.life import FittedLife

    found = FittedLife.with_interference

    def not_above(life, interference, last=None):
        if interference > 0.06:
            raise RunError("too heavy for this test")
        return found(life, interference, last)

    monkeypatch.setattr(FittedLife, "with_interference", not_above)
    result = solve_at_once(case_of(BLOCK, TIES, RING, FIT), swept=True)
    sweep = sweep_of(result.designs[0])
    assert "too heavy for this test" in sweep.unsolved[0]
    assert max(point.interference_um for point in sweep.points) <= 60
    assert advice_of(result, result.designs[0]).window is not None
    assert len(service_of(result.designs[0]).steps) == 3


@pytest.mark.parametrize(
    "fit", [FIT.replace("40 um", "0 um"), "[design.fit]\nbonded = true\n",
            FIT.replace('interference = "40 um"', 'clearance = "0.1 mm"')],
    ids=["nothing", "a bond", "a clearance"],
)  # fmt: skip
def test_no_advice_where_no_interference_is_common(case_of, fit):
    result = solve_at_once(case_of(BLOCK, TIES, RING, fit), swept=True)
    assert sweep_of(result.designs[0]) is None
    assert "fit_advice" not in results_dict(result)["designs"][0]


def test_a_clearance_that_never_closes_is_rated_as_the_bare_block(case_of):
    """The insert touches nothing in any step; what it shades from the coolant is left out here."""
    clear = FIT.replace('interference = "40 um"', 'clearance = "1.5 mm"')
    case = case_of(BLOCK, CUT, NO_BAND, BARE, RING, clear)
    bare, ring = solve_at_once(case, rate=True).designs
    assert rating_of(ring).limit.factor == pytest.approx(rating_of(bare).limit.factor, rel=0.02)
    assert service_of(ring).notes[0].startswith("idle: ")


def test_an_insert_that_touches_nothing_is_rated_as_the_bare_block(case_of, monkeypatch):
    """Its joint taken away, as no drawing here has such a one."""
    from cases.life import life

    part_off = life.part_off

    def apart(mesh, part):
        parted = part_off(mesh, part)
        none = np.zeros((0, 3), dtype=np.int64)
        joint = replace(
            parted.joint, own=none, other=none, against=parted.joint.against[:0],
            depth=np.zeros((0, 3)),
        )  # fmt: skip
        return replace(parted, joints=(joint,))

    for module in ("life", "refine"):
        monkeypatch.setattr(f"cases.life.{module}.part_off", apart)
    result = solve_case(case_of(BLOCK, CUT, NO_BAND, HEAT, BARE, RING, FIT), rate=True)
    bare, ring = result.designs
    assert service_of(ring).notes[0].startswith("idle: ")
    assert sweep_of(ring) is None
    cold = [service_of(one).step("cold at gas").bore.mean_growth_um for one in (bare, ring)]
    assert cold[1] == pytest.approx(cold[0], rel=1e-3)
    assert results_dict(result)["designs"][1]["rating"]["limit"] is not None


def test_the_picture_of_fits_has_the_limits_that_were_found(rated):
    """Limit over interference, the fit to make, the window, what is asked, one piece and bare."""
    ring = rated.designs[1]
    sweep, advice = sweep_of(ring), advice_of(rated, ring)
    (axes,) = fits_figure(rated).axes
    lines = {line.get_marker(): line for line in axes.lines}
    found = np.array([(point.interference_um, point.least_limit) for point in sweep.points])
    np.testing.assert_array_equal(np.transpose(lines["o"].get_data()), found)
    np.testing.assert_array_equal(
        np.ravel(lines["D"].get_data()), [advice.window.nominal_um, advice.limit_at_nominal]
    )
    (window,) = axes.patches
    assert window.get_x() == advice.window.low_um
    assert window.get_x() + window.get_width() == pytest.approx(advice.window.high_um)
    upright = sorted(line.get_xdata()[0] for line in axes.lines if line.get_linestyle() == ":")
    assert upright == [36.0, 44.0]  # 40 um, give or take 4
    level = [line.get_ydata()[0] for line in axes.lines if np.ptp(line.get_ydata()) == 0]
    assert {sweep.one_piece, advice.limit_bare} <= set(level)
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    assert left <= found[:, 0].min() <= found[:, 0].max() <= right
    assert low <= found[:, 1].min() <= found[:, 1].max() <= high
    assert axes.get_title(loc="left") == "ring"


def test_the_picture_has_the_solid_s_points_with_their_errors_and_the_draws(solids):
    (axes,) = fits_figure(solids).axes
    lines = {line.get_marker(): line for line in axes.lines}
    found = np.transpose(lines["o"].get_data())
    np.testing.assert_array_equal(found, [(of.interference_um, of.limit) for of in HILL])
    spread, bars = sorted(axes.collections, key=lambda of: isinstance(of, LineCollection))
    ends = np.array([bar[:, 1] for bar in bars.get_segments()])
    np.testing.assert_allclose(ends, [(of.limit - 0.03, of.limit + 0.03) for of in HILL])
    corners = {tuple(at) for at in spread.get_paths()[0].vertices.round(9)}
    assert {(of.interference_um, round(of.band[1], 9)) for of in HILL} <= corners
    assert axes.get_ylim()[1] > 1.3
    assert PIECE not in [line.get_color() for line in axes.lines]

"""The band of a limit by hand: three rings pulled along x, whose limits follow in closed form.

Of what is spread evenly over -1 to 1 a share of 5 % lies below -0.9, of what is spread normally
below -1.645 standard deviations (any table of statistics). All else is derived.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pulled import COLD, SWT, WARM, WROUGHT, Pulled, case_with, three_rings

from cases.case import Case
from cases.life.given import InsertFit, SideFit
from cases.life.life import FittedLife
from cases.rating.band import (
    FIT,
    LINER,
    PRESSURE,
    WALLS,
    band_of,
    beyond_heat,
    draw_limits,
    solve_around,
    thinner,
)
from cases.rating.judge import Judge
from fea.material import Fatigue
from geometry.section import Block, ReliefCut

SCATTER = 0.1
LASTING = replace(
    WROUGHT, yield_points=(), fatigue=Fatigue(strength=90.0, cycles=1e8, exponent=-0.5, scatter=0.0)
)
"""For 1000 cycles its fatigue strength is 316 times that of its table, so that it breaks first."""
SCATTERED = replace(WROUGHT, fatigue=replace(WROUGHT.fatigue, scatter=SCATTER))
ALONE = {"wall_tolerance": 0.0, "pressure_scatter": 0.0, "draws": 2000}


@pytest.fixture(scope="module")
def layers():
    return three_rings()


def case_of(metal, **wishes):
    by = {"barrel": metal, "insert": metal, "liner": metal}
    return case_with(replace(SWT, **{**ALONE, **wishes}), **by)


class PressedIn(FittedLife):
    """A life whose barrel has the pull of the fit [MPa/mm] without gas, and 100 MPa of the gas."""

    pull = 2500.0

    def __init__(self, layers, case, fit):
        self.layers, self.case, self.fit, self.mesh = layers, case, fit, layers[0]
        by_fit = {COLD: (20.0, {"barrel": (self.pull * fit.interference, 100.0)})}
        self.pulled = Pulled(layers, by_fit)
        self.load = self.pulled.load

    def at_gas(self, factor):
        return self.pulled.at_gas(factor)

    def with_interference(self, interference, last=None):
        return PressedIn(self.layers, self.case, self.fit.with_interference(interference))


def in_one_piece(layers, case, states):
    life = Pulled(layers, states)
    life.case = case
    return life


def test_a_fit_is_drawn_over_its_whole_tolerance(layers):
    """40 +- 20 um pull by 100 +- 50 MPa; of 300 MPa 200 -+ 50 are left to 100 MPa of the gas."""
    fit = InsertFit(
        sides={"barrel": SideFit(interference=0.04)}, pressed=("barrel",), tolerance=0.02
    )
    case = case_of(LASTING, cycles=1e3)
    life = PressedIn(layers, case, fit)
    band, notes = band_of(Judge(case, None, life.mesh), life, 2.0, None)
    assert band.factor == pytest.approx([2 - 0.45, 2.0, 2 + 0.45], abs=0.02)
    assert band.pressure_mpa == pytest.approx([12 * of for of in band.factor])
    assert band.causes == {FIT: pytest.approx(1.0)}
    assert not notes


def test_a_liner_is_drawn_over_its_whole_range(layers):
    """The fit's pull of 100 MPa without gas, and 50 less or more by what the liner is held by."""
    case = case_of(LASTING, cycles=1e3)
    pulled = [in_one_piece(layers, case, {COLD: (20.0, {"barrel": (pull, 100.0)})})
              for pull in (50.0, 100.0, 150.0)]  # fmt: skip
    least, life, most = pulled
    band, _ = band_of(Judge(case, None, life.mesh), life, 2.0, None, [least, most])
    assert band.factor == pytest.approx([2 - 0.45, 2.0, 2 + 0.45], abs=0.02)
    assert band.causes == {LINER: pytest.approx(1.0)}


def test_what_the_liner_does_is_added_to_what_the_fit_does(layers):
    """100 MPa as stated, 40 more by the tightest fit and 60 more by the tightest liner; of 300 MPa
    100 are left to 100 MPa of the gas. The liner half way down takes 10 of 20 MPa off."""
    case = case_of(LASTING, cycles=1e3)

    def life(pull):
        return in_one_piece(layers, case, {COLD: (20.0, {"barrel": (pull, 100.0)})})

    judge_ = Judge(case, None, layers[0])
    fits, liners = [life(80.0), life(100.0), life(140.0)], [life(80.0), life(160.0)]
    solved = solve_around(judge_, fits, 1.0, liners)
    effects = {
        FIT: np.array([1.0, 0.0]), LINER: np.array([1.0, -0.5]), PRESSURE: np.ones(2),
        **{f"strength of {metal.name}": np.ones(2) for metal in judge_.materials.values()},
    }  # fmt: skip
    assert draw_limits(judge_, solved, effects) == pytest.approx([1.0, 2.1], abs=0.01)


def test_a_limit_far_below_is_read_between_no_gas_and_the_least_that_was_solved(layers):
    """40 +- 60 um pull by 100 +- 150 MPa: the tightest 5 % have 300 - 235 MPa left, or less."""
    fit = InsertFit(
        sides={"barrel": SideFit(interference=0.04)}, pressed=("barrel",), tolerance=0.06
    )
    case = case_of(LASTING, cycles=1e3)
    life = PressedIn(layers, case, fit)
    band, _ = band_of(Judge(case, None, life.mesh), life, 2.0, None)
    assert band.factor[0] == pytest.approx(0.65, abs=0.06)
    assert band.factor[1] == pytest.approx(2.0, abs=0.06)


def test_a_scattered_pressure_divides_the_limit(layers):
    """Stress grows in proportion to the gas: 1 / (1 +- 1.645 x 0.2) of what is borne."""
    case = case_of(LASTING, cycles=1e3, pressure_scatter=0.2)
    life = in_one_piece(layers, case, {COLD: (20.0, {"barrel": (0.0, 150.0)})})
    band, _ = band_of(Judge(case, None, life.mesh), life, 2.0, None)
    assert band.factor == pytest.approx(
        [2 / (1 + 1.645 * 0.2), 2.0, 2 / (1 - 1.645 * 0.2)], rel=0.04
    )


def test_what_sources_leave_of_a_hot_strength_is_drawn_and_only_where_it_is_hot(layers):
    """150 MPa at 120 degC, or up to a fifth more, or a tenth less: a draw of -0.9 has 9 % less, one
    of 0.9 18 % more; 60 MPa without gas, 45 of the gas."""
    unsure = replace(LASTING, strength_range=((20.0, 1.0, 1.0), (120.0, 0.9, 1.2)))
    case = case_of(unsure, cycles=1e3)
    bands = []
    for state, warmth, strength in ((WARM, 120.0, 150.0), (COLD, 20.0, 300.0)):
        pulls = {"barrel": (60.0, (strength - 60) / 2)}
        life = in_one_piece(layers, case, {state: (warmth, pulls)})
        bands.append(band_of(Judge(case, None, life.mesh), life, 2.0, None)[0])
    hot, cold = bands
    limits = [(150 * of - 60) / 45 for of in (0.91, 1.0, 1.18)]
    assert hot.factor == pytest.approx(limits, abs=0.03)
    assert hot.causes == {"hot strength of wrought metal": pytest.approx(1.0)}
    assert cold.factor == pytest.approx([2.0] * 3, abs=0.01)
    assert not cold.causes


def test_a_band_is_about_the_strength_of_half_of_the_parts(layers):
    """Though 99 % were asked of the limit. 0 to s wears as s / sqrt(2); 90 x 10^0.1 MPa of it."""
    case = case_of(SCATTERED, reliability=0.99, cycles=1e7)
    states = {COLD: (20.0, {"barrel": (0.0, 80.0)})}
    life = in_one_piece(layers, case, states)
    band, _ = band_of(Judge(case, None, life.mesh), life, 1.5, None)
    half = 90 * 10**0.1 * np.sqrt(2) / 80
    spread = np.exp(1.645 * SCATTER)
    assert band.factor == pytest.approx([half / spread, half, half * spread], rel=0.02)


def test_thinner_walls_weigh_by_what_they_do_to_the_stress(layers):
    """A quarter more stress by the tolerance: ln 1.25 spread evenly beside the scatter, variances
    (ln 1.25)^2 / 3 and 0.1^2. Strength is that of half of the parts on both sides. What a part does
    that doesn't govern is left out: the mesh with thinner walls isn't refined for it."""
    case = case_of(SCATTERED, reliability=0.99, cycles=1e7, wall_tolerance=0.5)
    case.block = Block(bore=80, barrel_wall=8)
    states = {COLD: (20.0, {"barrel": (0.0, 80.0)})}
    thin = {COLD: (20.0, {"barrel": (0.0, 100.0), "insert": (0.0, 400.0)})}
    life = in_one_piece(layers, case, states)
    judge_ = Judge(case, None, life.mesh)
    drawn = []

    def other(changed, factor):
        drawn.append((changed, factor))
        return judge_, in_one_piece(layers, case, thin).at_gas(factor)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.rating.band.thinner", lambda case, by: by)
        band, _ = band_of(judge_, life, 1.5, other)
    assert drawn == [(0.5, 1.5)]
    walls = np.log(1.25) ** 2 / 3
    assert band.causes[WALLS] == pytest.approx(walls / (walls + SCATTER**2), abs=0.03)
    assert sum(band.causes.values()) == pytest.approx(1.0)


def test_walls_so_thin_that_nothing_is_used_are_told_and_not_drawn(layers):
    case = case_of(SCATTERED, cycles=1e7, wall_tolerance=0.5)
    life = in_one_piece(layers, case, {COLD: (20.0, {"barrel": (0.0, 80.0)})})
    gone = in_one_piece(layers, case, {COLD: (20.0, {"insert": (0.0, 80.0)})})
    judge_ = Judge(case, None, life.mesh)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("cases.rating.band.thinner", lambda case, by: by)
        band, notes = band_of(
            judge_, life, 1.5, lambda changed, factor: (judge_, gone.at_gas(factor))
        )
    assert WALLS not in band.causes
    assert notes == [
        "wall thickness is not drawn, as a thinner one can't be solved. The barrel uses nothing of "
        "its strength then (fatigue, cold)."
    ]


def test_yield_is_drawn_with_the_metal_and_in_the_worse_state(layers):
    """100 MPa of yield strength when warm, 200 cold; wrought metal scatters by 0.08."""
    soft = replace(WROUGHT, tensile_points=(), fatigue=None)
    case = case_of(soft)
    pull = {"barrel": (0.0, 50.0)}
    life = in_one_piece(layers, case, {COLD: (20.0, pull), WARM: (120.0, pull)})
    band, _ = band_of(Judge(case, None, life.mesh), life, 2.0, None)
    spread = np.exp(1.645 * 0.08)
    assert band.factor == pytest.approx([2 / spread, 2.0, 2 * spread], rel=0.015)


def test_every_wall_is_thinner_by_the_tolerance():
    """At each clock position of a table, and behind the floor of a relief cut."""
    table = ((12.0, 7.0), (3.0, 8.0), (6.0, 9.0))
    cut = ReliefCut(clock=1.75, radius=55.0, diameter=16.0, depth=20.0)
    block = Block(bore=80, barrel_wall=8, wall_table=table, relief_cuts=(cut,))
    case = Case(
        name="", note="", source_path=Path(), block=block, designs=(), section_depth=24.0,
        thinnest_wall=1.0, materials={}, mesh="coarse", tolerance=0.1,
    )  # fmt: skip
    less = thinner(case, 0.3).block
    assert less.barrel_wall == pytest.approx(7.7)
    assert [wall for _, wall in less.wall_table] == pytest.approx([6.7, 7.7, 8.7])
    assert less.relief_cuts[0].radius - 8.0 - 40.0 == pytest.approx(7.0 - 0.3)


YIELDING = replace(LASTING, yield_points=WROUGHT.yield_points, tensile_points=((20.0, 1e4),))
SOFT = replace(WROUGHT, tensile_points=(), fatigue=None)
BRITTLE = replace(LASTING, strength_range=())


@pytest.mark.parametrize(
    ("metal", "limit"),
    [
        # yields at 220 - T MPa of the gas's 50 h; breaks at 330 - 1.5 T of the heat's 10 h as well
        (SOFT, lambda s: 200 * s / (50 + 40 * s)),
        (BRITTLE, lambda s: 300 * s / (50 + 10 + 60 * s)),
    ],
)
def test_a_draw_is_at_the_heat_of_its_own_load(layers, metal, limit):
    """20 + 40 h degC at h times the load, and 10 h MPa without gas, solved at 2, 1 and 3."""
    case = case_of(metal, cycles=1e3)
    lives = {
        h: in_one_piece(layers, case, {WARM: (20.0 + 40 * h, {"barrel": (10.0 * h, 50.0)})})
        for h in (2.0, 1.0, 3.0)
    }
    judge_ = Judge(case, None, layers[0])
    solved = solve_around(judge_, [lives[2.0]], 2.0, (), list(lives.items()))
    strengths = np.array([0.6, 0.8, 1.0, 1.3])
    effects = {PRESSURE: np.ones(4), f"strength of {metal.name}": strengths}
    found = draw_limits(judge_, solved, effects)
    assert found == pytest.approx(limit(strengths), rel=0.02)


def test_a_draw_beyond_the_heat_that_is_known_is_told_as_at_least_that(layers):
    """Heat of 1 and of 2 times the load, and so of 1 / 1.3 to 2.6 times it."""
    case = case_of(SOFT)
    lives = [(h, in_one_piece(layers, case, {WARM: (20.0 + 10 * h, {"barrel": (0.0, 50.0)})}))
             for h in (2.0, 1.0)]  # fmt: skip
    judge_ = Judge(case, None, layers[0])
    solved = solve_around(judge_, [lives[0][1]], 2.0, (), lives)
    name = f"strength of {SOFT.name}"
    limits = draw_limits(judge_, solved, {PRESSURE: np.ones(3), name: np.array([0.1, 0.5, 1.0])})
    assert limits[-1] == pytest.approx(2.6, rel=0.01)
    assert limits[0] == pytest.approx(0.1 * (200 - 10 / 1.3) / 50, rel=0.01)
    under, over = beyond_heat(solved, limits)
    assert "33 of 100 draws carry at least" in under
    assert "0.769 times the asked load" in under
    assert "33 of 100 draws carry at least the 2.6 times" in over
    assert beyond_heat(solved, limits[1:2]) == []


def test_strengths_from_memory_are_drawn_over_what_they_may_be(layers):
    """A tenth less or more, evenly, so that 5 % have 0.91 of them, or less."""
    for metal, by in ((LASTING, 75.0), (YIELDING, 50.0)):
        case = case_of(replace(metal, unsure=0.1), cycles=1e3)
        life = in_one_piece(layers, case, {COLD: (20.0, {"barrel": (0.0, 2 * by)})})
        band, _ = band_of(Judge(case, None, life.mesh), life, 2.0, None)
        assert band.factor == pytest.approx([2 * 0.91, 2.0, 2 * 1.09], abs=0.02)
        assert band.causes == {"strength on record of wrought metal": pytest.approx(1.0)}

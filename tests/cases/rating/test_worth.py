"""What each assumption on strength is worth, by hand.

A cycle from 0 wears as its top by the line of Smith, Watson and Topper, so that the limit goes as
the fatigue strength (derived).
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest
from matplotlib.figure import Figure
from pulled import CAST, COLD, SWT, WARM, Pulled, case_with, three_rings

from cases.base.checking import Faults
from cases.base.tables import Table
from cases.materials.reading import Materials, library_materials
from cases.rating.chapter import _material_row
from cases.rating.figures import _draw_haigh
from cases.rating.judge import Judge
from cases.rating.limit import rate_design
from cases.rating.result import TENSILE, Band
from cases.rating.worth import (
    _gas_borne,
    worth_of_cycles,
    worth_of_line,
    worth_of_process,
    worth_of_starts,
    worths_of,
)

BAND = Band(
    reliability=0.9, limit=0.4, carries=0.0, draws=100, factor=(0.35, 0.5, 0.7),
    pressure_mpa=(None,) * 3, power_kw=(None,) * 3, causes={},
)  # fmt: skip


@pytest.fixture(scope="module")
def rated():
    """Warm at 120 degC, where half of the strength is left; 60 MPa of the gas from 0."""
    layers = three_rings()
    life = Pulled(layers, {WARM: (120.0, {"barrel": (0.0, 60.0)})})
    case = case_with(SWT, heat=True, barrel=replace(CAST, yield_points=()))
    return case, rate_design(Judge(case, None, life.mesh), life)


def design_of(case, rating):
    model = SimpleNamespace(materials=case.part_materials(None))
    return SimpleNamespace(
        name="bare", found={"rating": rating}, solution=SimpleNamespace(model=model)
    )


def test_each_assumption_is_worth_what_it_takes_off(rated):
    """A scatter of 10 %, half of the strength by heat, 70 % by the casting, four fifths of the
    median by reliability; of a metal that is not of the library hours are not known."""
    case, rating = rated
    name, worths = worths_of(case, [design_of(case, replace(rating, band=BAND, limit=replace(
        rating.limit, factor=0.4)))])  # fmt: skip
    assert name == "bare"
    assert [one.words for one in worths] == [
        "cast metal (barrel), scatter 10 %", "120 degC where it governs", "10000 h hot",
        "casting quality 70 %", "90 of 100 draws",
    ]  # fmt: skip
    percents = [one.percent for one in worths]
    assert percents[2] is None
    assert percents[:2] + percents[3:] == pytest.approx([-10, -50, -30, -20], abs=0.1)


def test_the_line_is_worth_what_it_takes_off_against_the_fullest():
    """From 0 a cycle has its mean for amplitude: by Goodman's line it is borne up to
    1 / (1 / 30 + 1 / 150) of amplitude, by Gerber's up to where a / 30 + (a / 150)^2 is 1."""
    spot = SimpleNamespace(criterion="fatigue", mean_mpa=10.0, amplitude_mpa=10.0)
    of = SimpleNamespace(fatigue_mpa=30.0, tensile_mpa=150.0, yield_mpa=None)
    goodman, gerber = (10 * _gas_borne(spot, line, of) for line in ("Goodman", "Gerber"))
    assert goodman == pytest.approx(25)
    assert gerber / 30 + (gerber / 150) ** 2 == pytest.approx(1)


def test_a_line_is_set_against_gerber_where_a_design_ends(rated):
    case, rating = rated
    worth = worth_of_line(case, design_of(case, rating))
    assert -60 < worth < -5
    gerber = case_with(replace(SWT, mean_stress="Gerber"), heat=True)
    assert worth_of_line(gerber, design_of(case, rating)) == 0
    assert worth_of_line(case, design_of(case, replace(rating, limit=None))) is None


def test_without_draws_it_is_said_that_half_carry_less(rated):
    _, worths = worths_of(rated[0], [design_of(*rated)])
    assert worths[-1].percent is None
    assert "half of such blocks carry less" in worths[-1].words


def test_what_has_no_limit_is_worth_nothing(rated):
    case, rating = rated
    for limit in (None, replace(rating.limit, factor=0.0)):
        assert worths_of(case, [design_of(case, replace(rating, limit=limit))]) == ("", [])


@pytest.fixture(scope="module")
def cold():
    """Cold metal that is at 120 degC when warm, which leaves half of its strength."""
    metal = replace(CAST, yield_points=(), kept_points=((20.0, 1.0), (120.0, 0.5)))
    case = case_with(SWT, heat=True, barrel=metal)
    case.materials = case.part_materials(None)
    life = Pulled(three_rings(), {COLD: (20.0, {"barrel": (0.0, 60.0)})}, been=120.0)
    return case, rate_design(Judge(case, None, life.mesh), life)


def test_what_hours_hot_leave_of_cold_metal_is_told_as_its_heat(cold):
    _, worths = worths_of(cold[0], [design_of(*cold)])
    assert worths[1].words == "20 degC where it governs, 120 when warm"
    assert worths[1].percent == pytest.approx(-50, abs=0.1)


def test_the_diagram_of_cold_metal_is_of_what_hours_hot_leave_of_it(cold):
    """210 MPa break the casting cold, 105 once it has been hot."""
    axes = Figure().subplots()
    _draw_haigh(axes, cold[0], design_of(*cold))
    assert axes.lines[0].get_xdata()[-1] == pytest.approx(105, rel=0.01)
    assert "20 degC after 120" in axes.get_title(loc="left")


def test_strengths_that_are_counted_of_cold_metal_are_what_hours_hot_leave(cold):
    case, rating = cold
    row = _material_row(case, "barrel", case.materials["barrel"], rating.spots)
    (tensile,) = (of.counted_mpa for of in row.strengths if of.kind == TENSILE)
    assert tensile == pytest.approx(105)


def test_starts_are_worth_what_their_damage_takes_off(rated):
    """The gas alone uses four fifths of what both use, so that a quarter more is borne without."""
    case, rating = rated
    spot = rating.governing
    alone = spot.shares["fatigue"]
    of = replace(spot, shares={**spot.shares, "fatigue": 1.25 * alone})
    worth = worth_of_starts(case, design_of(case, replace(rating, governing=of)))
    assert worth == pytest.approx(100 * (1 / 1.25 - 1), abs=0.1)
    assert worth_of_starts(case, design_of(case, rating)) == pytest.approx(0, abs=0.1)
    assert worth_of_starts(case, design_of(case, replace(rating, limit=None))) is None


def test_cycles_are_worth_what_basquin_takes_off_for_ten_times_as_many(rated):
    design = design_of(*rated)
    assert worth_of_cycles(rated[0], design, WARM) == pytest.approx(100 * (10**-0.1 - 1), abs=0.1)
    assert worth_of_cycles(rated[0], design, COLD) == 0  # the warm engine governs


def test_a_process_is_worth_what_the_other_one_bears_less():
    """A356-T6 in sand against permanent mould, from 0 by the line of Smith, Watson and Topper.

    Strengths of the library, for the cycles wanted on a line from 0.9 of the tensile strength at
    1000 cycles (Shigley, Mechanical Engineering Design, from memory).
    """
    faults = Faults("a test", {}, Table)
    usual = Materials({}, faults).named("A356-T6", ("block", "material"), "")
    case = case_with(SWT, barrel=usual)
    case.materials = case.part_materials(None)
    life = Pulled(three_rings(), {COLD: (20.0, {"barrel": (0.0, 60.0)})})
    rating = rate_design(Judge(case, None, life.mesh), life)
    row = library_materials()["A356-T6"]
    along = math.log(SWT.cycles / 1000) / math.log(row["fatigue_cycles"] / 1000)
    top, sand = 0.9 * row["tensile_mpa"], row["made"]["sand"]
    borne = top * (row["fatigue_mpa"] / top) ** along
    other = 0.9 * sand["tensile_mpa"]
    ratio = borne / (other * (sand["fatigue_mpa"] / other) ** along)
    assert rating.governing.kind == "fatigue"
    assert worth_of_process(case, design_of(case, rating)) == pytest.approx(
        100 * (ratio - 1), abs=0.5
    )
    own = case_with(SWT)
    own.materials = own.part_materials(None)
    again = rate_design(Judge(own, None, life.mesh), life)
    assert worth_of_process(own, design_of(own, again)) is None

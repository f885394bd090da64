"""Ratings in results.json, in the report and in pictures: numbers kept, words chosen with care."""

import json
import math
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from bench import BARE, GAS, HEAT, TIES
from bench import BLOCK as BENCH_BLOCK

from cases.gas.solve import gas_of
from cases.rating.data import rating_dict
from cases.rating.figures import rating_figures
from cases.rating.given import rating_given
from cases.rating.lines import rating_lines
from cases.rating.result import DISTANCE, Band, rating_of
from cases.rating.shares import counted
from cases.rating.words import (
    RATING_CAUTIONS,
    governing_name,
    governs_words,
    life_words,
    limit_words,
    no_limit_words,
)
from cases.report import page as report
from cases.report.page import write_report
from cases.report.results import results_dict, write_outputs
from cases.run import solve_case
from fea.strength import allowed_amplitude

BLOCK = BENCH_BLOCK.replace(GAS, "") + "[rating]\ndraws = 0\n" + TIES + BARE
PEAK = GAS
INSERT = """\
[[design]]
name = "ring"
depth = "8 mm"
material = "6061-T6"
"""
ENGINE = """\
[engine]
stroke = "90 mm"
rod = "140 mm"
compression_ratio = 9.2
speed = "6500 rpm"
intake_pressure = "2 bar"
intake_temperature = "50 degC"
air_fuel_ratio = 12.0
fuel_heating_value = "43 MJ/kg"
top_ring = "6 mm"
"""
BAND = Band(
    reliability=0.9,
    limit=0.58,
    carries=0.05,
    draws=2000,
    factor=(0.5, 0.75, 1.0),
    pressure_mpa=(6.0, 9.0, 12.0),
    power_kw=(None, None, None),
    causes={"strength of A356-T6": 0.75, "gas pressure": 0.25},
)


@pytest.fixture(scope="module")
def rated(case_of):
    return solve_case(case_of(BLOCK, PEAK, HEAT, INSERT), rate=True)


@pytest.fixture(scope="module")
def engine(case_of):
    """Of a block whose alloy has no fatigue strength on record, and with no heat."""
    block = BLOCK.replace("A356-T6", "319-T6").replace("8 mm", "4 mm", 1)
    return solve_case(case_of(block, ENGINE), rate=True)


def page_of(result, folder):
    """The report as a reader sees it, pictures left out: words without tags."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(report, "_data_address", lambda path: path.name)
        page = write_report(result, folder).read_text(encoding="utf-8")
    words = []
    parser = HTMLParser()
    parser.handle_data = words.append
    parser.feed(re.sub(r"(?s)<style>.*?</style>", "", page))
    return re.sub(r"\s+", " ", " ".join(words))


@pytest.fixture(scope="module")
def words(rated, tmp_path_factory):
    return page_of(rated, tmp_path_factory.mktemp("page"))


def with_rating(result, place=0, **changes):
    """The result with the rating of one design changed."""
    designs = list(result.designs)
    rating = replace(rating_of(designs[place]), **changes)
    designs[place] = replace(designs[place], found={**designs[place].found, "rating": rating})
    return replace(result, designs=tuple(designs))


def test_results_hold_what_is_asked_and_what_is_stood(rated):
    results = json.loads(json.dumps(results_dict(rated), allow_nan=False))
    assert results["cautions"][-len(RATING_CAUTIONS) :] == list(RATING_CAUTIONS)
    for design, written in zip(rated.designs, results["designs"], strict=True):
        assert written["pressure"]["peak_mpa"] == pytest.approx(12.0)
        assert written["pressure"]["line_load_n_per_mm"] == pytest.approx(12.0 * 24.0)
        rating, told = rating_of(design), written["rating"]
        assert told["estimate"] is True
        assert told["limit"]["factor"] == pytest.approx(rating.limit.factor, rel=1e-6)
        assert told["limit"]["pressure_mpa"] == pytest.approx(12 * rating.limit.factor, rel=1e-6)
        assert told["used"] == pytest.approx(rating.used, rel=1e-6)
        assert told["used"].keys() == rating.used.keys()
        assert told["governs"] in told["used_at_limit"]
        assert told["used_at_limit"][told["governs"]] == pytest.approx(1, abs=0.01)
        assert told["life_cycles"] == pytest.approx(rating.life_cycles, rel=1e-6)
        assert told["no_harm"] == {"warm": False, "cold": False}
        assert len(told["spots"]) == len(rating.spots)
        for spot, one in zip(rating.spots, told["spots"], strict=True):
            assert one["clock"] == spot.spot.clock
            assert one["shares"] == pytest.approx(spot.shares, rel=1e-6)
        assert told["band"] is None


def test_without_a_rating_nothing_is_said_of_one(rated, tmp_path):
    found = [{key: of for key, of in one.found.items() if key != "rating"} for one in rated.designs]
    bare = replace(
        rated,
        designs=tuple(
            replace(one, found=left) for one, left in zip(rated.designs, found, strict=True)
        ),
    )
    results = results_dict(bare)
    assert all("rating" not in design for design in results["designs"])
    assert not set(RATING_CAUTIONS) & set(results["cautions"])
    words = page_of(bare, tmp_path)
    assert "What each design stands" not in words
    assert "8. Checks" in words


def test_what_is_infinite_is_none_and_said(rated):
    rating = rating_of(rated.designs[0])
    first = rating.spots[0]
    spot = replace(first, reversed_mpa=math.inf, shares={**first.shares, "fatigue": math.inf})
    endless = replace(
        rating, life_cycles={"warm": math.inf, "cold": 0.0}, life_hours=math.inf,
        used={**rating.used, "fatigue, cold": math.inf}, spots=(spot,),
    )  # fmt: skip
    materials = rated.case.part_materials(rated.case.designs[0])
    told = json.loads(json.dumps(rating_dict(endless, materials, 12.0), allow_nan=False))
    assert told["life_cycles"] == {"warm": None, "cold": 0.0}
    assert told["no_harm"] == {"warm": True, "cold": False}
    assert (told["life_hours"], told["life_pulls"]) == (None, None)
    assert told["used"]["fatigue, cold"] is None
    assert told["no_bound"] == ["fatigue, cold"]
    assert told["spots"][0]["reversed_mpa"] is None
    assert told["spots"][0]["no_bound"] == ["fatigue"]


def test_a_life_without_a_fatigue_strength_is_not_called_harmless(engine, tmp_path):
    """319-T6 has none on record: its endless life is that nothing was judged."""
    (design,) = engine.designs
    assert rating_of(design).life_cycles == {"cold": math.inf}
    told = results_dict(engine)["designs"][0]["rating"]
    assert told["life_cycles"] == {"cold": None}
    assert told["no_harm"] == {"cold": False}
    assert all("fatigue" not in spot["shares"] for spot in told["spots"])
    words = page_of(engine, tmp_path)
    assert "bare not judged not judged" in words  # cycles and hours
    assert "as if it stayed at 20 degC" in words
    assert "haigh" not in figures_of(engine)
    assert "Haigh diagrams" not in words


def test_an_engine_gives_boost_and_power(engine, tmp_path):
    told = results_dict(engine)["designs"][0]
    cycle, limit = gas_of(engine).wall_load.cycle, rating_of(engine.designs[0]).limit
    assert told["pressure"]["power_kw"] == pytest.approx(cycle.power, rel=1e-6)
    assert told["rating"]["limit"]["power_kw"] == pytest.approx(limit.power_kw, rel=1e-6)
    words = page_of(engine, tmp_path)
    peak = 10 * gas_of(engine).peak_pressure
    asked = f"asked 1.00 {peak:.0f} {10 * cycle.boost:+.2f} {cycle.power:.0f}"
    assert asked in words
    row = (
        f"bare {limit_words(limit)} {limit.error:.3f} {10 * limit.pressure_mpa:.0f} "
        f"{10 * limit.boost_mpa:+.2f} "
        f"{limit.power_kw:.0f} "
    )
    assert row in words


def test_the_page_shows_the_ratings(words, rated):
    assert "7. What each design stands" in words
    assert "8. All numbers" in words
    assert "asked 1.00 120" in words
    for design in rated.designs:
        rating, limit = rating_of(design), rating_of(design).limit
        row = f"{limit_words(limit)} {limit.error:.3f} {10 * limit.pressure_mpa:.0f}"
        assert f"{design.name} {row}" in words
        lives = " ".join(life_words(cycles) for cycles in rating.life_cycles.values())
        assert f"{design.name} {lives}" in words
        spot = rating.spots[0]
        assert f"{spot.mean_mpa:.0f} ± {spot.amplitude_mpa:.0f} {spot.reversed_mpa:.0f}" in words


def test_nothing_is_called_safe_and_the_cautions_stand_beside(words):
    assert not re.search(r"\b(safe|safely|guaranteed|certified)\b", words, re.IGNORECASE)
    chapter = words[words.index("7. What each design stands") : words.index("8. All numbers")]
    for caution in RATING_CAUTIONS:
        assert caution in chapter
    limits = chapter.index("asked 1.00")
    assert limits < chapter.index(RATING_CAUTIONS[0]) < limits + 700  # right beside, before lives
    assert "An estimate" in chapter
    assert "Detonation is not covered" in chapter
    assert "Casting defects decide" in chapter


def test_criteria_and_knock_downs_are_told_with_their_figures(words):
    for told in (
        "by the criterion largest principal",
        "is weighed by Goodman 's line",
        "casting quality: 70 % of every strength of A356-T6 is counted",
        "A limit is nominal: nothing is drawn",
        "all but 0.2 % of the block's metal stays below it",
        "10 million cycles warm and 100,000 cycles cold",
    ):
        assert told in words, told


def test_every_strength_has_its_source_and_how_sure_it_is(words):
    """What the library of materials says of A356-T6 and 6061-T6."""
    chapter = words[words.index("The strengths it rests on") :]
    for told in (
        "A356-T6 yield 207 195 at 75, 186 at 100, 176 at 125, 153 at 150",
        "Source: Aluminum Association typical values; modulus, expansion from memory",
        "When hot: as 6061-T6, hardened alike (MIL-HDBK-5J",
        "after 10000 h; others give 91 % of proof and 91 % of tensile at 100 degC after 0.5 h",
        "number of fatigue cycles from memory",
        "strength numbers from memory",
        "amplitude borne 500 million times on record, 10 million times counted",
    ):
        assert told in chapter, told


def figures_of(result):
    return dict(rating_figures(result.case, gas_of(result), result.designs))


def test_the_haigh_diagram_has_the_governing_place_on_its_bold_line(rated):
    """Where fatigue governs; the ring is governed by yield, and has none."""
    figure = figures_of(rated)["haigh"]
    governed = [governing_name(rating_of(design)).split(",")[0] for design in rated.designs]
    assert governed == ["fatigue", "yield"]
    for axes, design, by in zip(figure.axes, rated.designs, governed, strict=False):
        governing = rating_of(design).governing
        diamonds = [line for line in axes.lines if line.get_marker() == "D"]
        assert len(diamonds) == (by == "fatigue")
        for diamond in diamonds:
            assert diamond.get_xdata()[0] == governing.mean_mpa
            (bold,) = (line for line in axes.lines if line.get_linewidth() > 2)
            on_line = np.interp(governing.mean_mpa, *bold.get_data())
            assert on_line == pytest.approx(governing.amplitude_mpa, rel=0.01)
        thin = [line for line in axes.lines if line.get_linestyle() in ("--", "-.")]
        assert len(thin) == 2  # the other two mean-stress lines


def test_lines_of_the_haigh_diagram_end_at_the_tensile_strength(rated):
    axes = figures_of(rated)["haigh"].axes[0]
    governing = rating_of(rated.designs[0]).governing
    strength = counted(
        rating_given(rated.case),
        rated.case.materials["barrel"],
        governing.temperature_degc,
        cycles=1e7,
    )
    (gerber,) = (line for line in axes.lines if line.get_linestyle() == "--")
    mean, amplitude = gerber.get_data()
    assert mean[-1] == pytest.approx(strength.tensile_mpa, rel=0.01)
    assert amplitude[-1] == 0
    exact = allowed_amplitude(
        mean[:-1], "Gerber", strength=strength.fatigue_mpa, tensile=strength.tensile_mpa
    )
    assert amplitude[:-1] == pytest.approx(exact)


def test_the_ladder_shows_limit_band_and_what_is_asked(rated):
    banded = with_rating(rated, band=BAND)
    figure = figures_of(banded)["ladder"]
    (axes,) = figure.axes
    (bar,) = axes.patches
    assert (bar.get_x(), bar.get_x() + bar.get_width()) == pytest.approx((60, 120))
    dots = [line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o"]
    assert dots == pytest.approx([120 * rating_of(design).limit.factor for design in rated.designs])
    words = [" ".join(text.get_text().split()) for text in axes.texts]
    assert "asked: 120 bar" in words
    for design, text in zip(rated.designs, words, strict=False):
        assert governs_words(rating_of(design)) in text
        assert f"{rating_of(design).limit.factor:.2f} times what is asked" in text


def test_a_band_that_the_engine_does_not_reach_is_left_open(engine):
    limit = rating_of(engine.designs[0]).limit
    power = (0.9 * limit.power_kw, 1.1 * limit.power_kw, None)
    figure = figures_of(with_rating(engine, band=replace(BAND, power_kw=power)))["ladder"]
    (axes,) = figure.axes
    (bar,) = axes.patches
    assert bar.get_x() == pytest.approx(0.9 * limit.power_kw)
    assert bar.get_x() + bar.get_width() == pytest.approx(axes.get_xlim()[1])
    assert [line.get_marker() for line in axes.lines].count(">") == 1


def test_the_band_and_its_causes_are_told(rated, tmp_path):
    banded = with_rating(rated, band=BAND)
    words = page_of(banded, tmp_path)
    assert (
        "bare 0.50 – 0.75 – 1.00 60 – 90 – 120 5 % strength of A356-T6, 75 % of the spread" in words
    )
    lengths = [bar.get_width() for bar in figures_of(banded)["spread"].axes[0].patches]
    assert lengths == [75, 25]


def test_a_limit_without_a_bound_is_told_as_at_most(rated, tmp_path):
    """In the page, its ladder, the terminal and results.json; and what it is judged by."""
    rating = rating_of(rated.designs[0])
    governing = replace(
        rating.governing, judged_by=DISTANCE, length_mm=0.131, point_share=0.52, error_mpa=3.25
    )
    told = with_rating(
        rated, limit=replace(rating.limit, at_most=True), governing=governing, spots=(governing,)
    )
    factor, place = f"{rating.limit.factor:.2f}", f"{governing.spot.part} {governing.spot.clock}"
    page = page_of(told, tmp_path)
    assert f"at most {factor}" in page
    assert f"{place} " in page
    assert ", by critical distance" in page
    assert f"3.2 critical distance, L = 0.13 mm; at L/2 0.52 of {governing.kind}" in page
    assert governs_words(rating_of(told.designs[0])).endswith("by critical distance")
    (table, *_) = rating_lines(told)
    assert table.rows[0][1] == f"at most {factor}"
    assert table.rows[0][-1].endswith(", by critical distance")
    assert table.rows[1][1] == f"{rating_of(rated.designs[1]).limit.factor:.2f}"
    written = results_dict(told)["designs"][0]["rating"]
    assert written["limit"]["at_most"] is True
    spot = written["governing"]
    assert spot["judged_by"] == "critical distance"
    assert (spot["length_mm"], spot["point_share"], spot["error_mpa"]) == (0.131, 0.52, 3.25)


def test_designs_without_a_limit_say_why(rated, tmp_path):
    beyond = {"limit": None, "tried": 6.0, "used_at_limit": {}}
    words = page_of(with_rating(rated, **beyond), tmp_path)
    assert "bare beyond 6 times what is asked" in words
    unsolved = replace(rating_of(rated.designs[0]), limit=None, tried=1.4, used_at_limit={})
    assert no_limit_words(unsolved) == "not found up to 1.4 times what is asked"
    nothing = replace(unsolved, used={}, governing=None)
    assert no_limit_words(nothing) == governs_words(nothing) == "nothing could be judged"


def test_everything_is_written(rated, tmp_path):
    write_outputs(rated, tmp_path)
    names = {path.name for path in tmp_path.iterdir()}
    stems = ("ladder", "haigh", "strength-used")
    assert {f"{stem}.{kind}" for stem in stems for kind in ("png", "svg")} <= names
    assert "spread.svg" not in names  # no draws were asked for
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert page.count("data:image/svg+xml") >= len(stems)

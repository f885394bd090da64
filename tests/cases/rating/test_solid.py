"""The limit by a solid: closed form of a pressed ring, what is followed, how it is told."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, FIT, HEAT, RING
from readback import Page

from cases import solve_case, with_solid
from cases.gas.solve import gas_load, gas_of
from cases.life.given import Heat, LifeInput
from cases.rating import solid as module
from cases.rating.data import rating_dict
from cases.rating.depth_band import band_of_solid, draws_of
from cases.rating.depth_words import depth_lines, depth_state, told_hours
from cases.rating.figures import rating_figures
from cases.rating.given import rating_given
from cases.rating.result import WALLS, Band, DepthSpot, SolidRating, rating_of
from cases.rating.solid import SolidLoads, rate_solid
from cases.rating.solve import rate_by_solid, with_solid_rating
from cases.rating.words import life_words
from cases.report.page import write_report
from cases.report.results import results_dict
from cases.solid.gas import instants
from cases.solid.life import solid_life
from cases.solid.solve import FINENESS, _meshed
from cases.solid.words import ERRORS
from fea.strength import reversed_amplitude, strength_at
from geometry import Block

PLAIN = """\
job = "a plain barrel (invented)"
[block]
bore = "80 mm"
barrel_wall = "8 mm"
material = "A356-T6"
crankcase_floor = "60 mm"
[gas]
peak_pressure = "120 bar"
pressurised_depth = "60 mm"
[section]
mesh = "coarse"
depth = "60 mm"
tolerance = "10 %"
[rating]
draws = 0
"""


@pytest.fixture(scope="module")
def barrel(case_of):
    """A tube pressed all along, its ends free to grow: Lame's ring at every depth."""
    case = case_of(PLAIN, BARE)
    design, load = case.designs[0], gas_load(case)
    return solid_life(case, design, load, instants(case, load), _meshed(case, design, "coarse"))


def test_the_limit_of_a_pressed_tube_is_that_of_lame(barrel):
    """Hoop at the bore p (b2 + a2) / (b2 - a2), pulsating from 0: Goodman's line by hand."""
    a, b = 40.0, 48.0
    per_pressure = (b * b + a * a) / (b * b - a * a)
    material, wishes = barrel.materials["barrel"], rating_given(barrel.case)
    line = material.fatigue
    tensile = wishes.casting_quality * material.tensile_strength(20.0)
    borne = wishes.casting_quality * strength_at(
        wishes.cycles, line.strength, line.cycles, line.exponent
    )
    hoop = np.linspace(10, 300, 20_001)
    wear = reversed_amplitude(hoop / 2, hoop / 2, wishes.mean_stress, tensile)
    wanted = float(np.interp(1, wear / borne, hoop)) / per_pressure / 12.0
    found, *_ = rate_solid(barrel)
    assert found.limit.factor == pytest.approx(wanted, rel=ERRORS["coarse"])
    assert found.governing.part == "barrel"
    assert found.governing.radius_mm == pytest.approx(40.0, abs=1e-6)
    assert found.governing.crank_angle_deg is None
    assert found.limit.pressure_mpa == pytest.approx(12 * found.limit.factor)


def test_what_uses_more_at_the_limit_than_what_was_followed_is_followed_too(barrel, monkeypatch):
    """With one node followed that is not the worst, the second turn finds the same limit."""
    whole, *_ = rate_solid(barrel)
    begin = SolidLoads.begin

    def begin_elsewhere(self):
        begin(self)
        self._rows = {"barrel": self._rows["barrel"][-1:]}
        far = self._surface["barrel"]
        engine, rows = self.life.engine_states[0], {"barrel": far}
        gas = self._gas(engine, 1.0, 0, rows)
        share = module._shares(self._judged(engine, 1.0, gas, rows))["barrel"]
        self._rows = {"barrel": far[np.argsort(share)[:1]]}

    monkeypatch.setattr(module.SolidLoads, "begin", begin_elsewhere)
    again, *_ = rate_solid(barrel)
    assert again.limit.factor == pytest.approx(whole.limit.factor, rel=0.01)


@pytest.mark.slow
def test_angles_that_cannot_govern_are_not_solved_and_move_nothing(case_of, monkeypatch):
    """Of an engine with heat, a ring by a fit: as with every angle of both states solved."""
    load_step = '[gas]\npeak_pressure = "120 bar"\npressurised_depth = "60 mm"\n'
    block = PLAIN.replace(load_step, ENGINE).replace(
        'barrel_wall = "8 mm"', 'barrel_wall = "8 mm"\njacket = "10 mm"\nouter_wall = "9 mm"'
    )
    case = case_of(block + HEAT, RING, FIT)
    design, load = case.designs[0], gas_load(case)
    mesh = _meshed(case, design, "coarse")
    life = solid_life(case, design, load, instants(case, load), mesh)
    found, solved = [], []
    for likely in (module.LIKELY, 0.0):
        monkeypatch.setattr(module, "LIKELY", likely)
        life._at_gas.clear()
        found.append(rate_solid(life)[0])
        solved.append(len(life._at_gas))
    few, every = found
    assert few.limit.factor == pytest.approx(every.limit.factor, rel=1e-4)
    assert few.life_cycles == pytest.approx(every.life_cycles, rel=1e-3)
    place, other = few.governing, every.governing
    assert (place.part, place.state, place.crank_angle_deg, place.x_mm, place.depth_mm) == (
        other.part, other.state, other.crank_angle_deg, other.x_mm, other.depth_mm
    )  # fmt: skip
    assert solved[0] < 0.7 * solved[1]


def test_yield_counts_the_metal_about_the_bore_that_fires_alone(barrel, monkeypatch):
    """A hundred times the stress elsewhere adds nothing to it."""

    def yields(loads):
        loads.begin()
        loads.count_yield()
        return loads.yield_share

    whole = SolidLoads(barrel)
    at_gas = whole.at_gas

    def worse(engine, factor, angle):
        found = []
        for of in at_gas(engine, factor, angle):
            away = barrel.mesh.points[of.nodes, 0] < 0
            found.append(replace(of, stress=np.where(away, 100 * of.stress, of.stress)))
        return tuple(found)

    monkeypatch.setattr(Block, "about_firing", lambda _, x: np.asarray(x) >= 0)
    half = SolidLoads(barrel)
    half.at_gas = worse
    assert yields(half) == pytest.approx(yields(whole), rel=0.02)


def test_places_that_count_stand_apart_and_use_most(barrel, monkeypatch):
    monkeypatch.setattr(module, "APART", 60.0)
    found, loads, _ = rate_solid(barrel)
    places = loads.that_count(found.limit.factor)
    points = barrel.mesh.points[
        [loads.idle(of.engine, found.limit.factor)[0].nodes[of.row] for of in places]
    ]
    apart = np.linalg.norm(points[:, None] - points, axis=2)[~np.eye(len(places), dtype=bool)]
    assert 2 <= len(places) <= module.MOST_PLACES
    assert apart.min() >= module.APART
    assert places[0].share == pytest.approx(1, abs=5 * module.SHORT)
    assert min(of.share for of in places) >= module.LEAST_SHARE
    first, *others = found.places
    at = found.governing
    assert (first.part, first.x_mm, first.y_mm) == (at.part, at.x_mm, at.y_mm)
    assert first.depth_mm == at.depth_mm
    assert first.share == pytest.approx(at.shares[at.criterion], rel=1e-3)
    assert 1 <= len(others) < module.TOLD_PLACES
    away = [math.hypot(of.x_mm - at.x_mm, of.y_mm - at.y_mm) for of in others]
    assert min(away) >= module.TOLD_APART


def test_the_band_is_of_the_solid_s_own_strength_and_the_section_s_walls(barrel, monkeypatch):
    """Pulsating from 0 the limit goes as the strength, and by Goodman as nothing else."""
    wishes = replace(rating_given(barrel.case), draws=16_000)
    monkeypatch.setattr(barrel, "case", barrel.case.told("rating", wishes))
    found, loads, _ = rate_solid(barrel)
    limit, scatter = found.limit.factor, barrel.materials["barrel"].fatigue.scatter
    band, *_ = band_of_solid(draws_of(loads, limit), {})
    random = np.random.default_rng(7)
    drawn = limit * np.exp(scatter * random.standard_normal(200_000))
    drawn /= 1 + wishes.pressure_scatter * random.standard_normal(200_000)
    assert band.factor == pytest.approx(tuple(np.percentile(drawn, (5, 50, 95))), rel=0.012)
    assert band.pressure_mpa == pytest.approx([12 * of for of in band.factor])
    assert list(band.causes) == ["strength of A356-T6", "gas pressure"]
    thin, *_ = band_of_solid(draws_of(loads, limit), {WALLS: (0.4, 1.0, 1.0)})
    drawn *= np.interp(random.uniform(-1, 1, 200_000), (-1, 0, 1), (0.4, 1, 1))
    assert thin.factor == pytest.approx(tuple(np.percentile(drawn, (5, 50, 95))), rel=0.02)
    assert next(iter(thin.causes)) == WALLS


def test_a_rating_with_draws_gets_the_solid_s_band(barrel, told, monkeypatch):
    wishes = replace(rating_given(barrel.case), draws=200)
    monkeypatch.setattr(barrel, "case", barrel.case.told("rating", wishes))
    section = replace(rating_of(told.designs[0]), solid=None)
    shifts = {WALLS: (0.9, 1.0, 1.1)}
    rated = with_solid_rating(section, shifts, rate_by_solid(barrel))
    assert WALLS in rated.told_band.causes
    assert rated.told_band.shifts == shifts
    assert rated.solid.limit.factor == rated.solid.band.limit < rated.solid.nominal.factor
    assert rated.solid.notes == ()
    alone = with_solid_rating(section, None, rate_by_solid(barrel))
    assert WALLS not in alone.told_band.causes
    assert "fit and walls are not drawn" in alone.solid.notes[0]


SPOT = DepthSpot(
    part="barrel", clock="1:58", clock_hours=1.9667, radius_mm=47.31, x_mm=40.26, y_mm=24.84,
    depth_mm=3.27, crank_angle_deg=22.4, state="cold", criterion="fatigue",
    shares={"fatigue": 0.9996, "yield": 0.617, "tensile strength": 0.655}, principal_mpa=88.66,
    error_mpa=1.77, mean_mpa=53.01, amplitude_mpa=35.65, temperature_degc=114.1,
    life_cycles=1.005e7,
)  # fmt: skip


@pytest.fixture(scope="module")
def told(case_of):
    """A section's rating with a made-up limit by the solid beside it."""
    case = case_of(BLOCK, "[rating]\ndraws = 0\n", BARE)
    result = solve_case(case, rate=True)
    (design,) = result.designs
    rating = rating_of(design)
    stands = replace(rating.limit, factor=0.953, pressure_mpa=11.44, error=0.021)
    solid = SolidRating(
        limit=stands,
        tried=1.27,
        governing=SPOT,
        yield_share=0.533,
        life_cycles={"cold": 4.2e6},
        band=Band(
            reliability=0.9, limit=0.75, carries=0.43, draws=100, factor=(0.69, 0.94, 1.24),
            pressure_mpa=(8.31, 11.3, 14.92), power_kw=(None,) * 3,
            causes={"strength of A356-T6": 0.8, "gas pressure": 0.2},
        ),
    )  # fmt: skip
    rated = replace(rating, solid=solid)
    return replace(
        result, case=with_solid(case, "fine"),
        designs=(replace(design, found={**design.found, "rating": rated}),),
    )  # fmt: skip


def test_results_json_stands_on_the_solid_and_keeps_the_section_s(told):
    rating = json.loads(json.dumps(results_dict(told)))["designs"][0]["rating"]
    assert rating["stands_on"] == "solid"
    assert rating["limit"]["factor"] == 0.953
    told_of = [rating["limit"][key] for key in ("low", "median", "high", "carries")]
    assert told_of == [8.31, 11.3, 14.92, 0.43]
    assert rating["governing"]["depth_mm"] == 3.27
    assert rating["band"]["factor"] == [0.69, 0.94, 1.24]
    assert rating["section"]["band"] is None
    assert rating["life_cycles"] == {"cold": 4.2e6}
    assert rating["governing"]["clock"] == "1:58"
    assert rating["section"]["limit"]["factor"] == pytest.approx(
        rating_of(told.designs[0]).limit.factor, rel=1e-6
    )


@pytest.mark.parametrize(
    ("heat", "words", "of_lives", "held"),
    [
        (Heat(gas=(2e-4, 700.0)), "raised with heat held.", ", the shortest", True),
        (
            Heat(gas=None), "raised with heat that of the load that the limit comes to.",
            ", and at the heat of that load, the shortest", False,
        ),
    ],
)  # fmt: skip
def test_the_page_says_whose_heat_limits_and_lives_are_at(
    told, tmp_path, unpictured, heat, words, of_lives, held
):
    heated = replace(told, case=told.case.told("life", LifeInput(heat=heat)))
    prose = Page(write_report(heated, tmp_path).read_text(encoding="utf-8")).prose["rating"]
    assert any(words in line for line in prose)
    assert any(f"Life at the gas load that is asked{of_lives}" in line for line in prose)
    assert any("heat is held here" in line for line in prose) == held


def test_terminal_and_page_tell_it_first(told, tmp_path, unpictured):
    table = depth_lines(told.designs)[0]
    section = rating_of(told.designs[0]).limit.factor
    assert table.rows[0][:5] == ("bare", "0.95", f"{section:.2f}", "114", "83-149")
    assert table.rows[0][6] == "barrel 1:58, 3.3 mm down: fatigue, cold, 22 deg"
    assert table.rows[0][5] == life_words(4.2e6)
    page = Page(write_report(told, tmp_path).read_text(encoding="utf-8"))
    found = next(one for one in page.tables if "by its solid" in one.title)
    names = [name for name, _ in found.headings]
    row = dict(zip(names, found.rows[0], strict=True))
    assert row["times the gas load"] == "0.95"
    assert row["its error"] == "0.021"
    assert row["cycles at the asked"] == life_words(4.2e6)
    assert row["by the section"] == f"{section:.2f}"
    assert (row["peak"], row["5 %"], row["95 %"]) == ("114", "83", "149")
    assert (row["place"], row["below the deck"]) == ("barrel 1:58", "3.3")
    assert (row["by"], row["at"]) == (depth_state(SPOT), "114")
    assert any("Below the gas load" in line and "95 %" in line for line in page.prose["rating"])
    whose = "with all that is drawn at its middle where the solid's has a spread"
    assert whose in depth_lines(told.designs)[1]
    assert any(whose in line for line in page.prose["rating"])


def test_the_ladder_stands_on_the_solid(told):
    """Dot, band and words are those of the made-up limit, none of them the section's."""
    figure = dict(rating_figures(told.case, gas_of(told), told.designs))["ladder"]
    (axes,) = figure.axes
    (dot,) = (line.get_xdata()[0] for line in axes.lines if line.get_marker() == "o")
    assert dot == pytest.approx(114.4)
    bar = axes.patches[0]
    assert (bar.get_x(), bar.get_x() + bar.get_width()) == pytest.approx((83.1, 149.2))
    words = " ".join(axes.texts[0].get_text().split())
    assert words.startswith("114 bar, 0.95 times what is asked")
    assert words.endswith("barrel 1:58, 3.3 mm down: fatigue, cold, 22 deg")


def test_lives_on_the_page_are_the_solid_s(told, tmp_path, unpictured):
    page = Page(write_report(told, tmp_path).read_text(encoding="utf-8"))
    (row,) = (
        one.rows[0] for one in page.tables
        if [name for name, _ in one.headings][:2] == ["design", "cold"]
    )  # fmt: skip
    assert row == ["bare", "4.2 million"]
    assert any("by the section, a mean over the depth" in text for text in page.prose["rating"])


def test_hours_of_a_life_are_the_solid_s(told):
    """A made-up life: 20 h by the solid, 38 h by the section."""
    rating = replace(rating_of(told.designs[0]), life_hours=38.0)
    rating = replace(rating, solid=replace(rating.solid, life_hours=20.0))
    assert told_hours(rating) == 20.0
    assert told_hours(replace(rating, solid=None)) == 38.0
    data = rating_dict(rating, told.case.materials, 15.0)
    assert (data["life_hours"], data["section"]["life_hours"]) == (20.0, 38.0)
    assert (data["life_pulls"], data["section"]["life_pulls"]) == (4800.0, 9120.0)


def test_a_coarse_mesh_is_there_for_both(barrel):
    assert set(FINENESS) == {"coarse", "fine"}
    assert barrel.temperature is None


def test_no_words_of_the_ladder_leave_its_picture(told):
    """The longest that can govern, at the side of the picture where they stand."""
    long = replace(SPOT, part="outer wall", clock="11:58", criterion="tensile strength",
                   depth_mm=113.3, crank_angle_deg=102.0)  # fmt: skip
    design = told.designs[0]
    rating = rating_of(design)
    rating = replace(rating, solid=replace(rating.solid, governing=long))
    designs = [replace(design, found={**design.found, "rating": rating})]
    figure = dict(rating_figures(told.case, gas_of(told), designs))["ladder"]
    figure.canvas.draw()
    (axes,) = figure.axes
    words, *_ = (text for text in axes.texts if "102 deg" in " ".join(text.get_text().split()))
    box = words.get_window_extent()
    assert box.x1 <= figure.bbox.x1
    assert figure.bbox.y0 <= box.y0 < box.y1 <= figure.bbox.y1
    (legend,) = figure.legends
    assert not box.overlaps(legend.get_window_extent())

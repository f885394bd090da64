"""What heat does that no one may miss: each flag, where it is told, and what names it."""

from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, HEAT, LINED, RING

from cases import solve_case
from cases.coolant.film import wet_film
from cases.coolant.given import CoolantInput
from cases.life import SUBJECT
from cases.life.flags import HeatSeen, HotSurface, heat_flags, hottest_bond
from cases.life.given import Heat, InsertCompound
from cases.report.page import write_report
from cases.report.results import results_dict
from fea.material import Material
from geometry.section import Block

IRON = Material("iron", 110_000.0, 0.26)
ALLOY = Material("alloy", 71_000.0, 0.33, yield_points=((20.0, 200.0), (250.0, 60.0)))
WATER = CoolantInput(
    glycol=0.0, pressure=0.2, temperature=90.0, flow=2e6, film=None, width=9.0, depth=90.0
)
STATED = Heat(gas=(5e-4, 800.0), coolant=(5e-3, 90.0))
FLOWING = replace(STATED, coolant=None, water=WATER)


def seen(bore=170.0, wall=110.0, flux=0.3, part=200.0, metal=IRON):
    return HeatSeen(
        bore=HotSurface(temperature_degc=bore, place="9:00"),
        bore_metal=metal,
        wet=(HotSurface(temperature_degc=wall, place="the jacket, 9:30", flux=flux),),
        parts={"barrel": (HotSurface(temperature_degc=part, place="3:00"), ALLOY)},
    )


def kinds(given, film=(5e-4, 800.0), **changes):
    return [flag.kind for flag in heat_flags(given, film, seen(**changes))]


def test_usual_heat_raises_no_flag():
    assert kinds(STATED) == kinds(FLOWING) == []


@pytest.mark.parametrize(
    ("given", "changes", "kind", "words"),
    [
        (STATED, {"bore": 221.0}, "bore", "221 degC at 9:00; a bore of iron"),
        (STATED, {"bore": 181.0, "metal": ALLOY}, "bore", "a bore of aluminium"),
        (STATED, {"bore": 205.0}, "oil", "oil on it lasts up to some 200 degC"),
        (
            STATED,
            {"part": 251.0},
            "metal",
            "250 degC; what it bears beyond is no more than a guess",
        ),
        (STATED, {"wall": 124.0}, "boiling", "124 degC at the jacket, 9:30, where water boils"),
        (FLOWING, {"flux": 1.66}, "crisis", "1.66 MW/m2 leave the wall"),
        (STATED, {"film": (5e-2, 800.0)}, "film", "the film of the gas, 5e+04 W/(m2 K)"),
        (replace(STATED, coolant=(6.0, 90.0)), {}, "film", "the film of the coolant, 6e+06"),
    ],
)
def test_each_flag_names_place_limit_and_cure(given, changes, kind, words):
    film = changes.pop("film", (5e-4, 800.0))
    (flag,) = heat_flags(given, film, seen(**changes))
    assert flag.kind == kind
    assert words in flag.words
    assert any(cure in flag.words for cure in ("would mend it", "under [heat]", "[coolant]"))


def test_the_crisis_is_that_of_the_coolant():
    most = wet_film(WATER).critical_flux
    assert kinds(FLOWING, flux=0.999 * most) == []
    assert kinds(FLOWING, flux=1.001 * most) == ["crisis"]


def test_a_compound_hotter_than_what_is_stated_of_it_is_a_flag():
    """At the hottest pair, against the lower end of its two tables."""
    compound = InsertCompound(
        tension=((20.0, 12.0), (150.0, 6.0)), shear=((20.0, 16.0), (120.0, 8.0)),
        largest_gap=0.1, friction=0.1,
    )  # fmt: skip
    block = Block(bore=86, barrel_wall=6)
    places = np.array([[50.0, 0.0, -2.0], [0.0, -50.0, -7.0]])

    def told(*warmth):
        bond = hottest_bond(block, compound, np.array(warmth), places)
        return heat_flags(STATED, (5e-4, 800.0), replace(seen(), bond=bond))

    assert told(90.0, 119.0) == ()
    (flag,) = told(90.0, 121.0)
    assert flag.kind == "compound"
    assert "121 degC at 6:00, 7 mm down, and its strength is stated up to 120 degC" in flag.words
    assert hottest_bond(block, None, np.array([200.0, 200.0]), places) is None


def test_flags_are_told_first_everywhere(case_of, tmp_path, unpictured):
    """A bore that is too hot: first lines of the page and of the terminal, and results.json."""
    hot = HEAT.replace("250 W/(m2 K)", "1100 W/(m2 K)").replace("700 degC", "900 degC")
    result = solve_case(case_of(LINED, hot, BARE, RING))
    flags = {design.name: design.found["life"].flags for design in result.designs}
    assert {flag.kind for flag in flags["bare"]} >= {"bore", "boiling"}
    page = write_report(result, tmp_path).read_text(encoding="utf-8")
    (bore,) = (flag for flag in flags["bare"] if flag.kind == "bore")
    assert bore.words.split(";")[0] in page
    assert f"Heat, bare, ring: {bore.words}" in SUBJECT.first_lines(result)
    stored = results_dict(result)
    assert [flag["kind"] for flag in stored["designs"][0]["flags"]] == [
        flag.kind for flag in flags["bare"]
    ]
    walls = stored["designs"][0]["steps"][-2]["heat"]["walls"]
    assert max(wall["wall_degc"] for wall in walls if wall["path"] == "jacket") > 122

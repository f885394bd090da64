"""What a design changes is taken against the design that it is said to be."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from cases.stress import why as why_
from cases.stress.result import first_of
from cases.stress.why import change


def spot(stress, part="barrel", sharp=False):
    return SimpleNamespace(part=part, principal_mpa=stress, sharp=sharp)


def design(name, stress, growth, out_of_round, water, insert=None):
    return SimpleNamespace(
        name=name,
        section=SimpleNamespace(insert=insert),
        hot_spots=(spot(stress), spot(9000.0, sharp=True), spot(8000.0, "liner")),
        bore=SimpleNamespace(mean_growth_um=growth, out_of_round_um=out_of_round),
        open_area_mm2=water,
    )


BARE = design("bare", 200.0, 50.0, 20.0, 4000.0)
DEEP = design("deep", 150.0, 40.0, 30.0, 1000.0, insert="insert")
FLAT = design("flat", 240.0, 45.0, 22.0, 3000.0, insert="insert")


def test_the_bare_design_is_the_first_wherever_it_stands():
    for designs in ((BARE, DEEP, FLAT), (DEEP, BARE, FLAT), (DEEP, FLAT, BARE)):
        assert first_of(SimpleNamespace(designs=designs)) is BARE
    assert first_of(SimpleNamespace(designs=(FLAT, DEEP))) is FLAT


def test_shares_are_against_the_first_design(monkeypatch):
    """Numbers by hand; the stress at the cut is that of the design itself."""
    at_cut = {"bare": 200.0, "deep": 90.0, "flat": 210.0}
    monkeypatch.setattr(why_, "stress_at_cut", lambda one, cut, bore: at_cut[one.name])
    story = SimpleNamespace(spot=BARE.hot_spots[0], cut="cut", cut_bore=1)
    deep = change(DEEP, BARE, story)
    assert deep.design is DEEP
    assert deep.spot is DEEP.hot_spots[0]
    assert deep.stress == pytest.approx(150 / 200 - 1)
    assert deep.cut_stress_mpa == 90.0
    assert deep.cut_stress == pytest.approx(90 / 200 - 1)
    assert deep.growth == pytest.approx(40 / 50 - 1)
    assert deep.out_of_round == pytest.approx(30 / 20 - 1)
    assert deep.water == pytest.approx(1000 / 4000 - 1)
    flat = change(FLAT, BARE, story)
    assert flat.cut_stress == pytest.approx(210 / 200 - 1)
    assert flat.stress == pytest.approx(240 / 200 - 1)

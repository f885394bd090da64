"""What would change a verdict: inputs by their share, assumptions by their worth, what to measure.

Worths are stated here; those of the draws are held against a closed form in
test_paired_draws.py, those of strengths in test_worth.py.
"""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from verdicts import LOCAL

from cases.life.given import Heat, LifeInput
from cases.rating.band import RECORD
from cases.rating.result import FIT, LINER, PRESSURE, WALLS, Band
from cases.rating.worth import Worth
from cases.verdict.change import BY_PLACE, assumptions, measurements, spreading

STRENGTH = "strength of A356-T6"
BAND = Band(
    reliability=0.9, limit=1.0, carries=0.9, draws=100, factor=(0.9, 1.2, 1.5),
    pressure_mpa=(9.0, 12.0, 15.0), power_kw=(None, None, None),
    causes={STRENGTH: 0.6, LINER: 0.2, WALLS: 0.1, PRESSURE: 0.06, FIT: 0.04},
    known={STRENGTH: 1.12, LINER: 1.05, WALLS: 1.02, PRESSURE: 1.03, FIT: 1.001},
)  # fmt: skip
WORTHS = [
    Worth("A356-T6, scatter 10 %", -4.0),
    Worth("170 degC where it governs", -8.0),
    Worth("100 h hot", -21.0),
    Worth("casting quality 70 %", -41.0),
    Worth("90 of 100 draws", -15.0),
]
LEFT_OUT = [
    ("engine.top_ring", "5.6 mm"),
    ("rating.pressure_scatter", "5 % of the gas load"),
    ("rating.draws", "2000"),
    ("rating.starts", "500 cold starts"),
    ("rating.pull", "12 s"),
    ("rating.mean_stress", "Goodman"),
    ("gas.reference", "gauge"),
    ("rating.hours_hot", "10000 h"),
    ("block.liner_interference", "90 um"),
    ("rating.casting_quality", "70 %"),
    ("rating.reliability", "90 %"),
]


@pytest.fixture
def design(monkeypatch):
    monkeypatch.setattr("cases.verdict.change.worths_of", lambda *_: ("local", WORTHS))
    monkeypatch.setattr("cases.verdict.change.worth_of_line", lambda *_: -7.0)
    monkeypatch.setitem(BY_PLACE, "rating.starts", lambda *_: -2.0)
    stands = SimpleNamespace(factor=1.2, pressure_mpa=1.2 * 10.1325)
    head = SimpleNamespace(worst_change=lambda way: {"by friction": -0.1}[way])
    rating = SimpleNamespace(told_band=BAND, stands=stands)
    metals = {"barrel": "A356-T6", "tie": "grey iron", "liner": "steel"}  # as none is in a block
    materials = {part: SimpleNamespace(name=name) for part, name in metals.items()}
    solution = SimpleNamespace(model=SimpleNamespace(materials=materials))
    return SimpleNamespace(found={"rating": rating, "head": head}, solution=solution)


def case(heat=True):
    given = LifeInput(heat=Heat(gas=(1e-4, 700.0), coolant=(5e-3, 90.0)) if heat else None)
    return SimpleNamespace(given={"life": given}, block=SimpleNamespace(firing_bore=2))


def test_three_inputs_spread_it_most(design):
    found = spreading(design)
    assert [one.input for one in found] == [STRENGTH, LINER, WALLS]
    assert [one.share for one in found] == [0.6, 0.2, 0.1]
    assert [one.worth_percent for one in found] == pytest.approx([12, 5, 2])
    assert spreading(SimpleNamespace(found={"rating": SimpleNamespace(told_band=None)})) == ()


def test_assumptions_stand_by_their_worth_with_what_each_is_worth(design):
    found = {one.input: one for one in assumptions(case(), design, LEFT_OUT)}
    assert list(found) == [
        "rating.casting_quality", "rating.hours_hot", "rating.reliability",
        "head", "rating.mean_stress", "block.liner_interference", "rating.pressure_scatter",
        "rating.starts", "gas.reference", "engine.top_ring", "rating.pull",
    ]  # fmt: skip
    worths = [one.worth_percent for one in found.values()]
    # 1 atm of 10.1325 MPa, and a deck pulled with 9 tenths once the gasket holds it
    assert worths[:9] == pytest.approx([-41, -21, -15, -10, -7, 5, 3, -2, -1])
    assert worths[9:] == [None, 0]
    assert found["rating.starts"].stand_in == "500 cold starts; against none"
    assert found["engine.top_ring"].stand_in == "5.6 mm"


def test_what_is_worth_most_is_measured_first_behind_cracks(design):
    found = measurements(case(), design, LOCAL)
    assert found[0].what == "cracks and pores, by dye and pressure"
    assert found[0].where == "1 barrel 1:25, 11.3 mm down; 2 tie 12:20, 2.6 mm down"
    assert [one.what.split(":")[0].split(",")[0] for one in found[1:]] == [
        STRENGTH, "temperature of the metal at full load", "interference of the liner",
        "cylinder pressure",
    ]  # fmt: skip
    assert found[1].where == "near barrel 1:25, 11.3 mm down"
    assert found[4].where == "bore 2"
    cold = measurements(case(heat=False), design, LOCAL)
    assert cold[4].what == "wall thickness, by ultrasound"
    assert cold[4].where == "barrel 1:25, 11.3 mm down"


def test_a_strength_from_memory_is_measured_on_bars(design):
    band = replace(BAND, known={RECORD.format("grey iron"): 1.2})
    design.found["rating"].told_band = band
    found = measurements(case(), design, LOCAL)
    assert found[1].what.startswith("strength of grey iron: bars of the same metal")


def test_a_strength_is_measured_once_and_where_its_metal_is_pulled_hardest(design):
    known = {
        STRENGTH: 1.12,
        RECORD.format("grey iron"): 1.2,
        "strength of grey iron": 1.3,
        "strength of steel": 1.05,
    }
    design.found["rating"].told_band = replace(BAND, known=known)
    found = measurements(case(heat=False), design, LOCAL)
    assert [(one.what.split(":")[0], one.where) for one in found[1:]] == [
        ("strength of grey iron", "near tie 12:20, 2.6 mm down"),
        (STRENGTH, "near barrel 1:25, 11.3 mm down"),
        ("strength of steel", "where it can be reached"),
    ]
    assert found[1].what.endswith("bars of the same metal, as its record is from memory")

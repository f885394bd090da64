"""Crack growth and a crack's place in small numbers, each worked out by hand (derived).

Paris & Erdogan, *J. Basic Eng.* 85 (1963) 528-533; Walker, ASTM STP 462 (1970) 1-14 (from memory).
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BLOCK, ENGINE, GAS
from pulled import three_rings

from cases.base.faults import CaseError
from cases.crack.given import CrackInput, crack_given
from cases.crack.place import check_lengths, one_metal, radial_ends
from cases.crack.result import CrackPlace
from cases.crack.solve import _idle_step, _loads, crack_lengths, crack_place, crack_series
from cases.gas.solve import GasLoad
from cases.life.steps import HONED, WARM
from fea.crack import IIW_ALUMINIUM, ROOT_M, GrowthLaw, Intensity, grow
from geometry.cracked import trace_path
from geometry.outline import draw_section

LENGTHS = np.array([1.0, 2.0, 4.0])
ROOT = np.sqrt(LENGTHS)


def test_an_engine_of_four_strokes_loads_a_crack_every_second_turn():
    crack = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0)
    assert crack.cycles_per_hour == 180_000


def test_the_rest_breaks_by_the_largest_of_the_cycle_not_by_its_range():
    """K from 6 to 10 times the root of the length: 12 MPa sqrt(m) is reached at 1.44 mm; the range
    would reach it at 9 mm."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, toughness=12.0, source="a test")
    grown = grow(LENGTHS, 10 * ROOT, 6 * ROOT, law, 1.0, 4.0)
    assert grown.end == "toughness"
    assert not grown.stops
    assert grown.length[-1] == pytest.approx(1.44, rel=5e-3)
    assert grown.life == pytest.approx(math.log(1.44) / (1e-7 * 4**2), rel=0.01)


def test_the_threshold_is_that_of_the_ratio_and_stops_the_range():
    """Threshold 4 - 4 R: from 3 to 6, R = 0.5, a range of 3 passes 2; from 0 to 3 it doesn't pass
    4; from 2 to 5 it passes 2.4. Without the fall 4 is not passed by 3, though K itself is 6."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, threshold=4.0, threshold_fall=4.0, source="a test")
    even = np.ones(3)
    assert grow(LENGTHS, 6 * even, 3 * even, law, 1.0, 4.0).end == "breakthrough"
    assert grow(LENGTHS, 3 * even, 0 * even, law, 1.0, 4.0).end == "threshold"
    assert grow(LENGTHS, 5 * even, 2 * even, law, 1.0, 4.0).end == "breakthrough"
    flat = replace(law, threshold_fall=0.0)
    stopped = grow(LENGTHS, 6 * even, 3 * even, flat, 1.0, 4.0)
    assert (stopped.end, stopped.life) == ("threshold", math.inf)


def test_a_crack_that_is_pressed_shut_grows_by_what_opens_it():
    """From -8 to 5: the range that counts is 5."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, source="a test")
    grown = grow(LENGTHS, 5 * ROOT, -8 * ROOT, law, 1.0, 4.0)
    assert grown.life == pytest.approx(math.log(4) / (1e-7 * 5**2), rel=1e-6)


def test_a_mean_that_pulls_shortens_the_life():
    """Walker with 0.5 at R = 0.75: the range counts as 1 / 0.25^0.5 = 2 times itself, 4 times as
    much growth with m = 2."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, walker_gamma=0.5, source="a test")
    pulled = grow(LENGTHS, 12 * ROOT, 9 * ROOT, law, 1.0, 4.0)
    alone = grow(LENGTHS, 3 * ROOT, 0 * ROOT, law, 1.0, 4.0)
    assert alone.life / pulled.life == pytest.approx(4.0)


def test_constants_of_aluminium_are_a_third_of_steel_s_in_stress_intensity():
    """IIW: steel 5.21e-13 (mm, N/mm^1.5), m = 3; aluminium 27 times that, as its modulus is a third
    (from memory): 1.41e-11 = 27 x 5.21e-13."""
    steel = 5.21e-13 * math.sqrt(1000) ** 3
    assert IIW_ALUMINIUM.rate == pytest.approx(27 * steel, rel=3e-3)


@pytest.fixture(scope="module")
def block(case_of):
    case = case_of(BLOCK, '[[design]]\nname = "bare"\n')
    return case, draw_section(case.section(case.designs[0]))


@pytest.mark.parametrize(("clock", "ray"), [(1.0, 60.0), (4.0, -30.0), (10.0, 150.0)])
def test_both_ends_of_the_wall_lead_into_it(block, clock, ray):
    """Hours run clockwise from the top: 1:00 is 60 deg from x, 4:00 -30 deg. The wall is 8 mm."""
    case, outline = block
    given = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0, clock=clock)
    direction = np.exp(1j * np.deg2rad(ray))
    inner, outer = radial_ends(case, given, outline)
    assert inner == (pytest.approx(40 * direction), pytest.approx(direction))
    assert outer == (pytest.approx(48 * direction), pytest.approx(-direction))
    for mouth, along in (inner, outer):
        path = trace_path(outline, mouth, along, one_metal("barrel"))
        assert path.length == pytest.approx(8.0)


def test_a_flaw_leaves_a_tenth_of_the_wall_and_no_crack_is_longer_than_it(block):
    case, outline = block
    given = CrackInput(flaw=7.1, gas_in_crack=False, speed=6000.0, clock=1.0, longest=8.0)
    ((mouth, along), _) = radial_ends(case, given, outline)
    path = trace_path(outline, mouth, along, one_metal("barrel"))
    check_lengths(case, given, path)
    for wrong in ({"flaw": 7.3}, {"longest": 8.1}):
        with pytest.raises(CaseError):
            check_lengths(case, replace(given, **wrong), path)


def test_barrel_and_tie_are_one_metal_and_the_insert_another():
    assert {"barrel", "tie", "outer wall"} <= one_metal("tie")
    assert "insert" not in one_metal("barrel")
    assert one_metal("insert") == {"insert"}


def test_it_starts_from_the_side_that_is_pulled_harder(block):
    """Stress of 100 MPa at the bore falls evenly to 60 at the outside, or the other way round; 500
    MPa in metal of the same part 12 mm away are not at the wall."""
    case, outline = block
    given = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0, clock=1.0)
    direction = np.exp(1j * np.pi / 3)
    mesh, (layer, _, other) = three_rings()
    radius = np.abs(mesh.points[layer.nodes] @ [1, 1j])
    for inside, outside, mouth in ((100.0, 60.0, 40.0), (60.0, 100.0, 48.0)):
        pull = np.interp(radius, [40.0, 48.0], [inside, outside])
        stress = np.stack([pull, 0 * pull, 0 * pull])
        away = np.zeros_like(other.stress) + np.array([500.0, 0, 0])[:, None]
        stresses = (
            replace(layer, stress=stress), replace(other, part="barrel", stress=away)
        )  # fmt: skip
        design = SimpleNamespace(name="bare", outline=outline, mesh=mesh, stresses=stresses)
        found = crack_place(case, given, design)
        assert found.mouth == pytest.approx(mouth * direction)


@pytest.mark.parametrize("pull", [150.0, -30.0])
def test_it_runs_across_the_pull_into_the_metal(block, pull):
    """At the bore at 1:00, 60 deg from x, pulled around the bore at 150 deg or, the same line,
    -30 deg: along the radius, outwards. A sharp spot that is worse, or one of a tie, is none."""
    case, outline = block
    ray = np.exp(1j * np.pi / 3)

    def spot(place, **changes):
        usual = {"part": "barrel", "sharp": False, "size_mm": 1.0, "principal_angle_deg": pull,
                 "principal_mpa": 90.0, "clock": "1:00"}  # fmt: skip
        return SimpleNamespace(x_mm=place.real, y_mm=place.imag, **{**usual, **changes})

    spots = (spot(48 * ray, sharp=True), spot(48 * ray, part="tie"), spot(40 * ray))
    design = SimpleNamespace(name="bare", outline=outline, hot_spots=spots, found={})
    given = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0)
    found = crack_place(case, given, design)
    assert found.mouth == pytest.approx(40 * ray, abs=1e-3)
    assert found.direction == pytest.approx(ray, abs=1e-6)
    assert found.clock_hours == pytest.approx(1.0, abs=1e-3)


def test_lengths_reach_from_the_flaw_to_the_end(block):
    case, outline = block
    given = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0, clock=1.0)
    ((mouth, along), _) = radial_ends(case, given, outline)
    path = trace_path(outline, mouth, along, one_metal("barrel"))
    lengths = crack_lengths(path, 0.5, path.length)
    assert lengths[0] == pytest.approx(0.5)
    assert lengths[-1] == pytest.approx(8.0 - 0.04 * 8.0)
    assert (np.diff(lengths) > 0).all()


def series_of(monkeypatch, block, given, gas, idle):
    """The series of lengths of a design whose K over the root of the length is given.

    ``gas`` is what the gas adds and ``idle`` what is there without it, functions of the length;
    last comes what an even pull does, which only a solid asks for.
    """
    case, outline = block
    lengths = []

    def solved(_model, length, _loads):
        lengths.append(length)
        root = ROOT_M * np.sqrt(length)
        even = Intensity(root, 0.0)
        return [*(Intensity(of(length) * root, 0.0) for of in (gas, idle)), even]

    monkeypatch.setattr("cases.crack.solve._mesh", lambda *_: None)
    monkeypatch.setattr("cases.crack.solve._loads", lambda *_: [])
    monkeypatch.setattr("cases.crack.solve.SectionModel", lambda *_: None)
    monkeypatch.setattr("cases.crack.solve.intensities", solved)
    monkeypatch.setattr("cases.crack.solve.opened", lambda _mesh, _path, length: Opened(length))
    (mouth, along), _ = radial_ends(case, given, outline)
    place = CrackPlace(part="barrel", mouth=mouth, direction=along, clock_hours=1.0, chosen="")
    design = SimpleNamespace(
        name="bare", outline=outline, found={},
        solution=SimpleNamespace(model=SimpleNamespace(materials={})),
    )  # fmt: skip
    return crack_series(case, None, given, design, place)


class Opened(float):
    """A crack of a length, as an opened mesh."""

    @property
    def mesh(self):
        return SimpleNamespace(points=np.zeros((1, 2)))


def test_growth_counts_what_gas_adds_to_what_is_there_without_it(monkeypatch, block):
    """9 and 3 times the root of the length: from 3 to 12, R = 1/4. Walker with 0.5 counts 9 as
    9 / 0.75^0.5; Paris with m = 2 integrates to ln(8 / 0.5) / (C 81 / 0.75)."""
    law = GrowthLaw(rate=1e-7, exponent=2.0, walker_gamma=0.5, source="a test")
    given = CrackInput(flaw=0.5, gas_in_crack=False, speed=6000.0, clock=1.0, law=law)
    series = series_of(monkeypatch, block, given, lambda _: 9.0, lambda _: 3.0)
    root = np.sqrt(series.length)
    assert series.k1 == pytest.approx(9 * root)
    assert series.idle_k1 == pytest.approx(3 * root)
    assert series.crack_growth.end == "breakthrough"
    assert series.crack_growth.length[-1] == pytest.approx(8.0)
    by_hand = math.log(16) / (1e-7 * 81 / 0.75)
    assert series.crack_growth.life == pytest.approx(by_hand, rel=1e-4)
    short = series_of(monkeypatch, block, replace(given, longest=4.0), lambda _: 9.0, lambda _: 3.0)
    assert short.crack_growth.end == "longest"
    assert short.crack_growth.life == pytest.approx(by_hand * 3 / 4, rel=1e-4)


def test_a_crack_without_gas_carries_what_the_warm_engine_leaves():
    steps = {WARM: "warm", HONED: "honed"}
    for known, step in ((steps, "warm"), ({HONED: "honed"}, "honed")):
        design = SimpleNamespace(found={"life": SimpleNamespace(step=known.get)})
        assert _idle_step(design) == step
    assert _idle_step(SimpleNamespace(found={})) is None


@pytest.mark.parametrize("within", [True, False])
def test_gas_is_in_the_crack_only_where_it_is_stated(monkeypatch, within):
    given = CrackInput(flaw=0.5, gas_in_crack=within, speed=6000.0)
    monkeypatch.setattr("cases.crack.solve.gas_on_faces", lambda *_: "gas")
    (load,) = _loads(GasLoad(peak_pressure=12.0, pressurised_depth=20.0), given,
                     SimpleNamespace(found={}), None, None)  # fmt: skip
    assert load.on_faces == ("gas" if within else None)


def test_a_speed_that_the_crack_states_is_the_one_that_counts(case_of):
    """4000 rpm, though the engine is described at 7000: 120,000 cycles an hour."""
    block = BLOCK.replace(GAS, "")
    crack = '[crack]\nflaw = "0.5 mm"\ngas_in_crack = false\nspeed = "4000 rpm"\n'
    case = case_of(block, ENGINE, crack, '[[design]]\nname = "bare"\n')
    assert crack_given(case).cycles_per_hour == 120_000

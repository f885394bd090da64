"""A head's clamping in small numbers, each worked out by hand (derived)."""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from cases.gas.solve import GasLoad
from cases.head.clamp import bolts_of, clamp_of, most_growth, wall_stress
from cases.head.given import HeadInput
from cases.head.lines import first_lines, narrowed, pressed_words
from cases.head.result import Pressed
from cases.head.solve import clamped_von_mises
from fea.material import Material
from geometry import Block

GIVEN = HeadInput(
    bolt_preload=25e3, bolt_clocks=(1.5, 4.5, 7.5, 10.5), bolt_circle=126.0, fire_ring_share=0.6,
    fire_ring_diameter=84.0, fire_ring_width=3.0, gasket_friction=0.15, water_pressure=0.2,
)  # fmt: skip
ONE = Block(bore=80, barrel_wall=8, jacket=10, outer_wall=9)
BANK = replace(ONE, bores=3, pitch=97.0, firing_bore=2)
GAS = GasLoad(peak_pressure=12.0, pressurised_depth=20.0)


def clamp(block, given=GIVEN, gas=GAS):
    return clamp_of(SimpleNamespace(block=block), given, gas)


def test_one_bore_has_all_of_its_bolts():
    """100 kN over a circle of 84 mm: 180.4 bar; 120 bar leave a third of it."""
    found = clamp(ONE)
    area = math.pi * 42**2
    assert (found.bolts, found.about, found.shared) == (4, 4, 0)
    assert found.load == found.all_load == 100e3
    assert found.sealed_area == pytest.approx(area)
    assert 10 * found.lifts_at == pytest.approx(180.45, abs=0.01)
    assert 10 * found.ring_lifts_at == pytest.approx(108.27, abs=0.01)
    assert found.left == pytest.approx(1 - 12 * area / 100e3)
    assert found.ring_line == pytest.approx(60e3 / (math.pi * 84))
    assert found.ring_pressure == pytest.approx(60e3 / (math.pi * (43.5**2 - 40.5**2)))
    assert found.land_load == pytest.approx(40e3)
    assert clamp(ONE, gas=replace(GAS, peak_pressure=19.0)).left == 0


def test_bolts_between_two_bores_are_shared_by_halves():
    """Three bores at 97 mm with bolts at 44.5 mm to either side: 8 bolts, the middle bore has four
    halves, an end two halves and two whole ones."""
    found = clamp(BANK)
    assert (found.bolts, found.about, found.shared) == (8, 4, 4)
    assert found.load == pytest.approx(50e3)
    assert found.all_load == pytest.approx(200e3)
    assert found.ring_loads == pytest.approx((45e3, 30e3, 45e3))
    assert clamp(replace(BANK, firing_bore=1)).load == pytest.approx(75e3)
    assert sorted({bolt.bores for bolt in bolts_of(GIVEN, BANK)}) == [(1,), (1, 2), (2, 3), (3,)]
    far = clamp(replace(BANK, pitch=120.0))
    assert (far.bolts, far.shared, far.load) == (12, 0, 100e3)


def test_liner_and_barrel_are_squeezed_alike():
    """Stress over modulus is the same, and the stresses carry the load."""
    block = replace(ONE, liner=2.0)
    metals = {"liner": Material("iron", 110e3, 0.26), "barrel": Material("alloy", 72e3, 0.33)}
    found = wall_stress(60e3, block, metals)
    assert found["liner"] / 110e3 == pytest.approx(found["barrel"] / 72e3)
    carried = found["liner"] * math.pi * (42**2 - 40**2)
    carried += found["barrel"] * math.pi * (50**2 - 42**2)
    assert carried == pytest.approx(-60e3)
    assert most_growth(-20.0, metals["barrel"], 40.0) == pytest.approx(0.33 * 20 / 72e3 * 40)


def test_a_squeeze_across_the_plane_adds_to_yield():
    """100 MPa pulled, 50 MPa squeezed across: the root of (100^2 + 150^2 + 50^2) / 2. A state that
    is the same all round has none."""
    pulled = np.array([100.0, 0.0, 0.0])
    assert clamped_von_mises(pulled, -50.0) == pytest.approx(math.sqrt(17500))
    assert clamped_von_mises(pulled, 0.0) == pytest.approx(100)
    assert clamped_von_mises(np.array([-30.0, -30.0, 0.0]), -30.0) == pytest.approx(0)
    sheared = np.array([0.0, 0.0, 10.0])
    assert clamped_von_mises(sheared, 10.0) == pytest.approx(math.sqrt(300 + 100))


def test_what_a_head_leaves_of_a_gain():
    """60 of 90 MPa: 60 x 0.98 of 90 x 0.79 is 83 %, 60 x 0.94 of 90 x 0.83 is 76 %."""
    assert narrowed(1 / 3) == pytest.approx((1 - 58.8 / 71.1, 1 - 56.4 / 74.7))


def designs(*limits, tried=4.0, worst=((90.0, 80.0), (60.0, 60.0))):
    """A bare design and one with an insert, with ratings of some limits in MPa."""
    made = []
    for name, limit, (free, friction) in zip(("bare", "deep"), limits, worst, strict=True):
        stands = None if limit is None else SimpleNamespace(wall_mpa=limit, factor=limit / 12)
        states = {
            way: SimpleNamespace(worst_mpa=worst_mpa)
            for way, worst_mpa in (("free", free), ("by friction", friction))
        }
        made.append(
            SimpleNamespace(
                name=name, section=SimpleNamespace(insert=None if name == "bare" else "an insert"),
                found={"head": SimpleNamespace(states=states, ring_friction_n_per_mm=11.36),
                       "rating": SimpleNamespace(limit=stands, tried=tried)},
            )
        )  # fmt: skip
    return made


def told(found, peak=12.0):
    case = SimpleNamespace(block=ONE, given={"head": GIVEN})
    gas = replace(GAS, peak_pressure=peak)
    return first_lines(SimpleNamespace(case=case, designs=found, found={"gas": gas}))


GAIN = (
    "A head narrows what an insert gains: 30 N per mm of friction around the fire ring (here 11.4) "
    "took 17 to 21 % off the worst stress of two bare blocks and 2 to 6 % off that with an insert "
    "(other blocks, measured elsewhere). By that deep takes 17 to 24 % off bare's, not 33 % (held "
    "over all its depth, as in this section, 25 %)."
)


def test_a_head_that_lifts_above_every_limit_is_not_told_first():
    assert told(designs(15.0, 17.0)) == [GAIN]


def test_a_head_that_lifts_below_a_limit_is_told_first():
    first, gain = told(designs(15.0, 21.0))
    assert first.startswith("The head lifts at 180 bar, below the limit of deep (210 bar): what")
    assert gain == GAIN


def test_a_head_that_lifts_before_any_limit_was_found_is_told_first():
    first, _ = told(designs(None, 19.0))
    assert "below the limit of bare (above 480 bar), deep (190 bar)" in first
    assert told(designs(None, 15.0, tried=1.4)) == [GAIN]


def test_a_head_that_lifts_below_the_asked_gas_is_told_before_all():
    first, second, _ = told(designs(15.0, 19.0), peak=19.0)
    assert first == (
        "The head lifts at 180 bar, below the 190 bar that is asked: with these bolts no design "
        "bears it."
    )
    assert "below the limit of deep (190 bar)" in second


def test_without_ratings_the_gain_is_told_alone():
    made = designs(15.0, 19.0)
    for one in made:
        del one.found["rating"]
    assert told(made) == [GAIN]


@pytest.mark.parametrize(
    ("hold", "wanting", "words"),
    [
        (None, None, "not added to its hold."),
        (4e3, 5e3, "Its fit holds 4.0 kN at the least (warm): 5.0 kN too little, so it needs a"),
        (9.5e3, 0.0, "Its fit holds 9.5 kN at the least (warm), which is enough."),
    ],
)
def test_an_insert_is_pressed_down_against_its_hold(hold, wanting, words):
    pressed = Pressed(
        area_mm2=1000.0, down_n=10e3, water_n=1e3, friction_n=1.5e3, hold_n=hold, hold_step="warm"
    )
    assert pressed.wanting_n == wanting
    text = pressed_words("deep", SimpleNamespace(pressed=pressed))
    assert text.startswith("deep: the gasket presses the insert down with 10.0 kN (the water lifts")
    assert words in text

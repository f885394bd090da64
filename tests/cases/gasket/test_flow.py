"""Flow through passages as orifices: against worked figures, other libraries, and by hand."""

import math
from dataclasses import replace

import pytest
from bench import HEAT
from fluids.fittings import entrance_sharp, exit_normal
from fluids.flow_meter import C_Reader_Harris_Gallagher
from fluids.friction import friction_factor
from gaskets import CASE, write_case

from cases import read_case
from cases.base.faults import CaseError
from cases.base.threads import one_thread
from cases.coolant.film import wet_film
from cases.coolant.fluid import Liquid
from cases.coolant.given import coolant_given
from cases.gasket.areas import common_of, deck_of
from cases.gasket.flow import Bank, bank_flow, bank_of, no_flow, passages, water_past
from cases.gasket.given import gasket_given
from cases.gasket.orifices import (
    discharge,
    drop_through,
    flow_through,
    in_series,
    loss,
    side_by_side,
)
from cases.gasket.solve import design_water
from cases.life.base import OnePieceLife
from cases.life.given import life_of

one_thread()
FLOWS = HEAT.replace('coolant_film = "5000 W/(m2 K)"\n', "")
COOLANT = '[coolant]\nflow = "100 L/min"\n'
PUMP = 'pump = [["0 L/min", "0.9 bar"], ["100 L/min", "0.7 bar"], ["200 L/min", "0 bar"]]\n'
WATER = Liquid(965.0, 4205.0, 3.142e-4, 0.673)


@pytest.mark.verification
def test_orifices_side_by_side_and_in_series():
    """4, 5 and 6 mm, C 0.61, 965 kg/m3, 20 kPa: 14.2504 and 2.33578 L/min (derived, C A sums)."""
    passing = [0.61 * math.pi / 4 * d**2 for d in (4, 5, 6)]
    assert 6e-5 * flow_through(side_by_side(passing), 0.02, 965) == pytest.approx(14.2504, rel=1e-5)
    flow = flow_through(in_series(*passing), 0.02, 965)
    assert 6e-5 * flow == pytest.approx(2.33578, rel=1e-5)
    drops = [drop_through(of, flow, 965) for of in passing]
    assert sum(drops) == pytest.approx(0.02)  # one behind another, drops add


@pytest.mark.verification
def test_a_thin_opening_discharges_as_published():
    """ISO 5167 (Reader-Harris and Gallagher) for a small orifice; a free slot's pi / (pi + 2)."""
    far = C_Reader_Harris_Gallagher(
        D=0.1, Do=0.01, rho=1000.0, mu=1e-3, m=math.pi / 4 * 0.1 * 1e6 * 1e-3, taps="corner"
    )
    assert discharge(0.0, 6.0) == pytest.approx(far, rel=0.01)
    assert discharge(0.0, 6.0) == pytest.approx(math.pi / (math.pi + 2), rel=0.04)


@pytest.mark.verification
def test_a_deep_opening_loses_inlet_and_outlet():
    """A sharp inlet (Crane, 0.5) and a free outlet, 1, as fluids has them, and its friction."""
    tube = entrance_sharp(method="Crane") + exit_normal()
    assert loss(24.0, 10.0) - 0.02 * 2.4 == pytest.approx(tube, rel=1e-9)
    assert loss(0.0, 10.0) == pytest.approx(2.85, abs=0.005)
    drops = [loss(of, 10.0) for of in (0, 4, 8, 12)]
    assert drops == sorted(drops, reverse=True)


@pytest.mark.verification
@pytest.mark.parametrize("ratio", [0.25, 0.742, 1.0, 1.592, 2.0, 2.4, 4.0])
def test_two_readings_of_the_handbook_differ_by_little(ratio):
    """Idelchik's thick edge as the Modelica standard library has it: power 8 in place of 7."""
    short = min(ratio, 2.4)
    tau = (2.4 - short) * 10 ** -(0.25 + 0.535 * short**8 / (0.05 + short**8))
    other = (1.5 + tau + 0.02 * ratio) ** -0.5
    assert discharge(10.0 * ratio, 10.0) == pytest.approx(other, rel=0.022)


def bank(*passing, depth=90.0):
    return Bank(passing=passing, liquid=WATER, width=9.0, depth=depth, pitch=97.0)


def test_a_bank_without_friction_shares_by_area():
    wide = bank(10.0, 20.0, 30.0, depth=1e5)
    lost, flows = wide.at_flow(2e6)
    assert flows == pytest.approx([2e6 / 6, 4e6 / 6, 1e6], rel=1e-6)
    assert lost == pytest.approx(drop_through(60.0, 2e6, 965.0), rel=1e-6)


def test_friction_along_the_bank_is_that_of_a_smooth_passage():
    far = bank(0.0, 25.0)
    lost, flows = far.at_flow(1e6)
    assert flows == pytest.approx([0, 1e6])
    size, speed = 1e-3 * 2 * 9 * 90 / 99, 1e3 / (2 * 9 * 90)
    factor = friction_factor(Re=965 * speed * size / 3.142e-4, eD=0.0)
    along = factor * 0.097 / size * 965 * speed**2 / 2
    assert 1e6 * (lost - drop_through(25.0, 1e6, 965.0)) == pytest.approx(along, rel=1e-6)


@pytest.fixture(scope="module")
def flowing(tmp_path_factory):
    def read(coolant, case=CASE, **more):
        folder = tmp_path_factory.mktemp("flow")
        return read_case(write_case(folder, FLOWS, coolant, case=case, **more))

    return read


def test_a_slot_stands_in_series_with_the_holes_over_it(flowing):
    case = flowing(COOLANT)
    gasket, slotted = gasket_given(case).gaskets[0], case.designs[1]
    deck = deck_of(case, slotted)
    found = passages(common_of(gasket, deck, case.block), gasket, case.block, 6.0)
    # bore 1: hole of 6 mm over a slot of 5 mm by 8 deg, and one over a round slot of 5 mm
    kidney = 5 * 56.5 * math.radians(8) + 6.25 * math.pi
    edge = 2 * 56.5 * math.radians(8) + 5 * math.pi
    by_hand = 0.0
    for slot, round_slot, common in (
        (kidney, edge, None), (6.25 * math.pi, 5 * math.pi, 6.25 * math.pi),
    ):  # fmt: skip
        area = common or design_water(case, slotted).gaskets[0].holes[0].open
        thin = area * discharge(1.0, 6.0 * math.sqrt(area / (9 * math.pi)))
        thick = slot * discharge(6.0, 4 * slot / round_slot)
        by_hand += (thin**-2 + thick**-2) ** -0.5
    assert found[0] == pytest.approx(by_hand, rel=1e-9)


def test_stated_flow_is_lost_through_what_is_open(flowing):
    case = flowing(COOLANT)
    for design in case.designs:
        (early, _) = design_water(case, design).gaskets
        assert sum(of.flow for of in early.bores) == pytest.approx(1e8 / 60, rel=1e-9)
        assert early.flow == pytest.approx(1e8 / 60)
        for of in early.bores:
            assert of.hole_speed == pytest.approx(1e-3 * of.flow / of.open)
    bare, slotted = (design_water(case, of).gaskets[0] for of in case.designs)
    assert bare.lost == slotted.bare_lost
    passing = sum(bank_of(case, gasket_given(case).gaskets[0], case.designs[1]).passing)
    liquid = bank_of(case, gasket_given(case).gaskets[0], None).liquid
    assert slotted.lost == pytest.approx(
        drop_through(passing, slotted.flow, liquid.density), rel=0.02
    )
    assert slotted.lost > 2 * bare.lost


def test_a_pump_delivers_less_through_less(flowing):
    case = flowing(COOLANT.replace("100", "40") + PUMP)
    bare, slotted = (design_water(case, of).gaskets[0] for of in case.designs)
    assert bare.flow == pytest.approx(4e7 / 60, rel=1e-6)  # as stated
    assert slotted.flow < 0.97 * bare.flow
    rest = (0.082 - bare.lost) / bare.flow**2
    slope = 0.02 / (1e8 / 60)
    assert slotted.lost + rest * slotted.flow**2 == pytest.approx(
        0.09 - slope * slotted.flow, rel=1e-6
    )


def test_water_enters_at_the_stated_end(flowing):
    one = flowing(COOLANT)
    other = flowing(COOLANT + "inlet_bore = 2\n")
    a, b = (design_water(case, case.designs[0]).gaskets[0].bores for case in (one, other))
    assert a[0].jacket_speed > a[1].jacket_speed
    flows = bank_flow(one, gasket_given(one).gaskets[0], None)
    first, second = flows.by_bore  # the mean of what comes to a bore and what goes on from it
    assert flows.past == pytest.approx((first / 2 + second, second / 2))
    assert b[1].jacket_speed > b[0].jacket_speed


def test_films_take_their_speed_from_the_gasket(flowing):
    case = flowing(COOLANT, case=CASE.replace("firing_bore = 2", "firing_bore = 1"))
    bare, slotted = case.designs
    plain = coolant_given(case)
    for design in (bare, slotted):
        water = water_past(case, design)
        slowest = min(of.bores[0].jacket_speed for of in design_water(case, design).gaskets)
        film = wet_film(water)
        assert film.speed == pytest.approx(slowest, rel=1e-9)
        assert film.convection < wet_film(plain).convection
        assert life_of(case, design).heat.water == water
    assert water_past(replace(case, given={**case.given, "gasket": None}), bare) == plain
    life = OnePieceLife.__new__(OnePieceLife)
    super(OnePieceLife, life).__init__(case, slotted, None, None, {})
    assert life.given.heat.water == water_past(case, slotted)


@pytest.mark.parametrize(
    ("coolant", "told"),
    [
        ('[coolant]\nflow = "12 L/min"\n', "no film is known"),
        (COOLANT + 'pump = [["0 L/min", "0.01 bar"], ["101 L/min", "0 bar"]]\n',
         "the bare block alone loses"),
    ],
)  # fmt: skip
def test_what_can_not_flow_is_told(flowing, coolant, told):
    case = flowing(coolant)
    assert told in " ".join(no_flow(case, case.designs[1]))


def test_what_is_shut_passes_nothing(flowing):
    late = "x [mm]; y [mm]; width [mm]\n-39; 41; 6\n"
    gaskets = '[[gasket]]\nname = "late"\ntable = "late.csv"\n'
    case = flowing(COOLANT, gaskets=gaskets, late=late)
    assert bank_flow(case, gasket_given(case).gaskets[0], case.designs[1]) is None
    assert "so no water flows" in no_flow(case, case.designs[1])[0]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ('pump = [["0 L/min", "1 bar"], ["90 L/min", "0.1 bar"]]\n', "two rows or more"),
        ("inlet_bore = 3\n", "neither the first nor the last"),
    ],
)
def test_a_pump_stated_wrong_is_refused(flowing, more, told):
    with pytest.raises(CaseError, match=told):
        flowing(COOLANT + more)
    with pytest.raises(CaseError, match="nothing says what it pumps through"):
        flowing(COOLANT + PUMP, gaskets="")

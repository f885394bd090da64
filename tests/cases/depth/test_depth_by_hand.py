"""The side view's small parts by hand (derived): walls, pressures, gains, depths of an insert."""

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, GAS, RING

from cases.depth.solve import depth_section, sweep_of, walls_at, with_depth
from cases.gas.solve import gas_load
from cases.run import solve_case
from fea.tube import Ring, Strip, find_backing
from geometry import DeeperZone, Insert
from geometry.section import Block, ReliefCut


def test_a_gain_is_what_a_millimetre_takes_off_the_bare_value():
    """50 um less 10, 4 and 0.1 um, a millimetre each: 20, 8 and 0.2 % of 50 um. At 1 % the third
    millimetre isn't worth it; of the stress, 1, 29 and 2 of 90 MPa, all are but for its first."""
    growth, hoop = np.array([50, 40, 36, 35.9]), np.array([90, 89, 60, 58.0])
    sweep = sweep_of(np.arange(4.0), growth, hoop, 0.01)
    assert sweep.growth_gain == pytest.approx([0.2, 0.08, 0.002])
    assert sweep.hoop_gain == pytest.approx([1 / 90, 29 / 90, 2 / 90])
    assert sweep.enough_growth_mm == 2.0
    halves = sweep_of(np.array([0.0, 0.5, 1.0]), np.array([50, 45, 44.0]), hoop[:3], 0.1)
    assert halves.growth_gain == pytest.approx([0.2, 0.04])
    assert halves.enough_growth_mm == 0.5


def test_a_gain_that_comes_late_counts():
    """Nothing in the first millimetre, a fifth in the second: two are worth it, the third not."""
    values = np.array([50.0, 50, 40, 40])
    assert sweep_of(np.arange(4.0), values, values, 0.01).enough_growth_mm == 2.0


def test_a_cut_thins_the_wall_down_to_its_own_depth_alone():
    """A pocket of 16 mm at 56 mm leaves 48 mm; seen 4 deg off its middle sqrt(8^2 - d^2) less."""
    block = Block(
        bore=86, liner=2, barrel_wall=6, jacket=9, outer_wall=9,
        relief_cuts=(ReliefCut(clock=3, radius=56, diameter=16, depth=22),),
    )  # fmt: skip
    assert [(wall.top, wall.bottom, wall.outer) for wall in walls_at(block, 3, 90)] == [
        (0, 22, pytest.approx(48)),
        (22, 90, 51),
    ]
    off = np.deg2rad(4)
    beside = walls_at(block, 3 + 4 / 30, 90)[0].outer
    assert beside == pytest.approx(56 * np.cos(off) - np.sqrt(64 - (56 * np.sin(off)) ** 2))
    (free,) = walls_at(block, 3 + 20 / 30, 90)  # 19 mm off the middle of a pocket of 16 mm
    assert free.outer == 51


def test_other_zones_change_as_the_one_that_is_changed():
    """5 mm, zones of 15 and 10 mm: the first to 25 mm is twice as much further, as is the other."""
    local = Insert(
        depth=5,
        zones=(
            DeeperZone(clock=2, width=30, depth=15), DeeperZone(clock=8, width=30, depth=10),
        ),
    )  # fmt: skip
    deeper = with_depth(local, 2.0, 25.0, 28.0)
    assert deeper.depth == 5
    assert [zone.depth for zone in deeper.zones] == pytest.approx([25.0, 15.0])


SHALLOW = """\
[[tie]]
clock = "12:00"
width = "8 mm"
depth = "12 mm"
[[tie]]
clock = "6:00"
width = "8 mm"
depth = "7 mm"
"""


def test_the_deepest_tie_and_the_worst_crank_angle_and_the_mean_over_the_deck(case_of):
    """At the worst angle the gas of that angle presses, less than the peak and further down; the
    mean of the deck is over its 24 mm alone, below which the wall is free of gas."""
    block = BLOCK.replace(GAS, "").replace("10 %", "20 %")
    case = case_of(block, SHALLOW, ENGINE, '[depth]\nfloor = "60 mm"\nclock = "3:00"\n', BARE, RING)
    gas = gas_load(case)
    result = depth_section(case, gas, solve_case(case).designs)
    assert result.backing_depth == 12
    worst, envelope = result.pressures
    at = gas.wall_load.line_load_deg
    reach = float(gas.wall_load.reach(at))
    pressed = float(worst.by_depth(np.array([0.0]))[0])
    assert pressed * min(reach, 24.0) == pytest.approx(gas.line_load)
    assert pressed < gas.peak_pressure
    assert float(envelope.by_depth(np.array([0.0]))[0]) == pytest.approx(
        gas.peak_pressure, rel=1e-3
    )
    bare, closed = result.designs
    hoop, (top, bottom) = bare.curves["worst angle"].barrel_hoop_mpa, result.row_mm
    deck = bottom <= 24 + 1e-9
    by_hand = (hoop * (bottom - top))[deck].sum() / 24
    assert bare.mean_hoop_mpa == pytest.approx(by_hand)
    assert bare.hoop_mpa == hoop.max()
    # a ring of thin wall by statics: pressure x radius / wall, and that over E on the radius
    membrane = pressed * 40 / 8
    assert 0.7 < bare.wall_share < 1.4
    assert 0.5 < bare.growth_um / (1000 * membrane * 44 / 72_400) < 1.6
    assert 0.5 < bare.deck_mpa / (gas.line_load / 24 * 40 / 8) < 1.6
    # with the insert, 8 mm deep, what the ties give over their 12 mm is there as before
    rings = (Ring(40, 48, case.materials["barrel"]),)
    tied = [(8.0, result.backing, True), (4.0, result.backing, False), (12.0, 0.0, False)]
    strips = [Strip(height, rings, backing, sought) for height, backing, sought in tied]
    assert find_backing(strips, closed.wall_share) == pytest.approx(closed.backing, rel=1e-6)

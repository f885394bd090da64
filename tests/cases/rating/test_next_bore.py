"""What a bore beside does to a place that its own gas pulls, and what that takes off a limit."""

import re
from dataclasses import replace

import numpy as np
import pytest
from inspected import TWO
from pulled import CAST, USUAL, uniaxial

from cases import read_case, solve_case
from cases.gas.solve import gas_load
from cases.life.base import Life
from cases.life.life import life_of
from cases.life.result import SpotRange
from cases.rating.next_bore import pushed
from cases.rating.result import rating_of
from cases.rating.shares import judge
from cases.rating.solid import SolidLoads
from cases.solid.gas import forces_beside, instants
from cases.solid.life import OnePieceSolid
from cases.solid.solve import _meshed
from cases.stress.solve import solve_section
from fea.solid.stress import recover
from geometry.outline import draw_section

PLAIN = re.sub(r"\[\[(tie|relief_cut)\]\]\n(?:\w+ = .*\n)+", "", TWO).replace("110 mm", "91 mm")
DESIGN = '[[design]]\nname = "bare"\n'
LOW = PLAIN.replace(
    'material = "A356-T6"',
    'material = "A356-T6"\ncrankcase_floor = "60 mm"\njacket_depth = "40 mm"',
)


def case_of_text(tmp_path, text):
    (tmp_path / "case.toml").write_text(f"{text}{DESIGN}")
    return read_case(tmp_path / "case.toml")


@pytest.fixture
def case(tmp_path):
    """Two plain bores, each the other's mirror; the second fires."""
    return case_of_text(tmp_path, PLAIN)


def fired(case, bore):
    return replace(case, block=replace(case.block, firing_bore=bore))


def solved(case, bore):
    (design,) = case.designs
    section = draw_section(fired(case, bore).section(design))
    return solve_section(fired(case, bore), design, section, gas_load(case).line_load)


def stress(mesh, layers, at):
    """Of the barrel, at its node nearest to a place."""
    found = []
    for of in layers:
        away = np.linalg.norm(mesh.points[of.nodes] - at, axis=1)
        found.append((away.min(), of.stress[:, np.argmin(away)]))
    return min(found, key=lambda one: one[0])[1]


def test_a_bore_beside_does_to_a_section_what_it_does_when_it_fires_itself(case):
    """Read at the same places on the section of that bore firing, solved for itself."""
    (design,) = case.designs
    own, other = solved(case, 1), solved(case, 2)
    (cycle,) = life_of(fired(case, 1), design, own.mesh, gas_load(case)).at_gas(2.0)
    (beside,) = cycle.beside
    pushes = []
    for turn in np.deg2rad(np.arange(30, 91, 10)):
        at = 46.5 * np.array([np.cos(turn), np.sin(turn)])
        gas, idle, push = (stress(own.mesh, of, at) for of in (cycle.gas, cycle.idle, beside))
        there = stress(other.mesh, other.stresses, at - [91.0, 0.0])
        pushes.append(pushed(gas - idle, push))
        assert pushes[-1] == pytest.approx(pushed(gas - idle, 2 * there), abs=0.04)  # meshes differ
    assert max(pushes) > 0.02


def test_the_range_of_a_spot_is_that_over_all_firings():
    spot = SpotRange(spot=None, hot_in=None, idle_mpa=10.0, gas_mpa=60.0)
    assert (spot.range_mpa, spot.mean_mpa) == (50.0, 35.0)
    pushed = replace(spot, beside_mpa=-20.0)
    assert (pushed.range_mpa, pushed.mean_mpa) == (80.0, 20.0)
    assert replace(spot, beside_mpa=30.0).range_mpa == 50.0


def test_half_a_bore_beside_does_to_a_solid_what_the_whole_one_does(tmp_path):
    """Along the edge of the deck and down the barrel, towards the bore that fires."""
    case = case_of_text(tmp_path, LOW)
    (design,) = case.designs
    load = gas_load(case)
    at_own, at_other = (
        OnePieceSolid(
            of := fired(case, bore), design, load, instants(of, load), _meshed(of, design, "coarse")
        )
        for bore in (1, 2)
    )
    (state,) = at_own.engine_states
    (half,) = (recover(of)[0] for of in at_own.beside(state))
    own, whole = (recover(of.at_gas(state)[0])[0] for of in (at_own, at_other))
    assert (half.part, own.part, whole.part) == ("barrel", "barrel", "barrel")
    by = []
    for depth in (0.0, 10.0):
        for turn in np.deg2rad(np.arange(35, 86, 10)):
            at = np.array([47.0 * np.cos(turn), 47.0 * np.sin(turn), -depth])
            pull = stress(at_own.mesh, [own], at)
            there = stress(at_other.mesh, [whole], at - [91.0, 0.0, 0.0])
            by.append([pushed(pull, of) for of in (stress(at_own.mesh, [half], at), there)])
    by_half, by_whole = np.array(by).T
    assert by_whole.max() > 0.1
    assert np.abs(by_half - by_whole).max() < 0.03
    # and the cycles that the solid is judged by go from there
    loads, idle = SolidLoads(at_own), recover(at_own.idle(state))[0]
    rows = loads._surface["barrel"]
    found = loads.judged(state, 2.0, idle, (gas := 2 * own.stress[:, rows]), rows)
    metal, cold = at_own.materials["barrel"], np.full(len(rows), 20.0)
    by_hand = judge(
        loads.wishes, metal, idle.stress[:, rows], gas, cold, cycles=loads.wishes.cycles,
        beside=2 * half.stress[:, rows],
    )  # fmt: skip
    np.testing.assert_allclose(found.amplitude, by_hand.amplitude, atol=1e-9)


def test_what_presses_on_a_bore_beside_is_answered_where_the_solid_ends(tmp_path):
    case = case_of_text(tmp_path, LOW)
    (design,) = case.designs
    mesh = _meshed(case, design, "coarse")
    load = gas_load(case)
    life = OnePieceSolid(case, design, load, instants(case, load), mesh)
    model = life.idle(life.engine_states[0]).model
    (forces,) = forces_beside(case, model, life.pressed)
    assert forces.sum(axis=0) == pytest.approx(np.zeros(3), abs=1e-6)
    gas = model.pressure_load("other bores", 10.0, 24.0)
    assert gas[:, 0].sum() == pytest.approx(10.0 * 80.0 * 24.0, rel=1e-3)  # N
    ends = np.unique(mesh.sides["cut"])
    clear = np.setdiff1d(np.arange(len(gas)), ends)
    np.testing.assert_allclose(forces[clear], gas[clear], atol=1e-9)
    assert np.abs(mesh.points[ends[forces[ends, 0] < 0], 1]).max() < 47.5  # in the barrel


@pytest.mark.parametrize("mean_stress", ["Goodman", "Smith-Watson-Topper"])
def test_a_cycle_goes_from_where_the_next_bore_pushes(mean_stress):
    wishes, at = replace(USUAL, mean_stress=mean_stress), np.array([20.0])
    idle, gas, low = uniaxial(10.0), uniaxial(60.0), uniaxial(-30.0)
    found = judge(wishes, CAST, idle, gas, at, cycles=1e8, beside=low)
    whole = judge(wishes, CAST, low, gas, at, cycles=1e8)
    alone = judge(wishes, CAST, idle, gas, at, cycles=1e8)
    assert found.shares["fatigue"] == whole.shares["fatigue"] > 1.1 * alone.shares["fatigue"]
    assert (found.amplitude, found.mean) == (45.0, 15.0)
    assert found.life_cycles == whole.life_cycles
    # what the own gas adds is all that yield counts
    assert found.shares["yield"] == alone.shares["yield"]
    pulled = judge(wishes, CAST, idle, gas, at, cycles=1e8, beside=uniaxial(20.0))
    assert pulled.shares["fatigue"] == alone.shares["fatigue"]


def test_a_bore_alone_has_none_beside(case):
    assert fired(case, 1).block.axes_beside == (91.0,)
    assert fired(case, 2).block.axes_beside == (-91.0,)
    four = replace(case.block, bores=4, firing_bore=3)
    assert four.axes_beside == (-91.0, 91.0)
    assert replace(case.block, bores=1, firing_bore=1).axes_beside == ()


def test_what_is_pushed_takes_off_the_limit_and_off_each_draw(case, monkeypatch):
    """30 % more range take less off the gas, as what pushes takes off the mean stress as well."""
    drawn = case.told("rating", replace(case.given["rating"], draws=200, wall_tolerance=0.0))
    each, limits = [], []
    for share in (0.0, 0.3):

        def beside(life, idle, share=share):
            adds = life._added(idle, life.forces)
            return (tuple(replace(of, stress=-share * of.stress) for of in adds),)

        monkeypatch.setattr(Life, "_of_bores_beside", beside)
        rating = rating_of(solve_case(drawn, rate=True).designs[0])
        assert rating.pushed == pytest.approx(share)
        each.append(np.array(rating.band.each))
        limits.append(rating.nominal.factor)
    assert 1 / 1.3 < limits[1] / limits[0] < 0.95
    assert np.median(each[1] / each[0]) == pytest.approx(limits[1] / limits[0], abs=0.02)

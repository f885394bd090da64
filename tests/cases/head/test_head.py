"""A small block solved under its head."""

import math
from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, LINED, RING

from cases.base.faults import Refusal
from cases.gas.solve import gas_of
from cases.head import SUBJECT
from cases.head.clamp import clamp_of
from cases.head.given import head_given
from cases.head.result import FREE, FRICTION, HELD, head_of
from cases.head.solve import lay, shear_springs, under_head
from cases.report.page import write_report
from cases.report.results import results_dict
from cases.run import solve_case

HEAD = '[head]\nbolt_preload = "25 kN"\nbolt_circle = "124 mm"\n'


@pytest.fixture(scope="module")
def solved(case_of):
    return solve_case(case_of(LINED, HEAD, BARE, RING))


@pytest.fixture(scope="module")
def bare(solved):
    return solved.designs[0]


def again(solved, design, **changes):
    """The design under another head or gas."""
    gas = replace(gas_of(solved), peak_pressure=changes.pop("peak", 12.0))
    case = solved.case.told("head", replace(head_given(solved.case), **changes))
    return under_head(case, gas, design, None)


def test_friction_holds_a_little_and_a_held_face_more(solved):
    for design in solved.designs:
        states = head_of(design).states
        assert states[FREE].worst_mpa == max(
            spot.principal_mpa for spot in design.hot_spots
            if not spot.sharp and spot.part in ("barrel", "tie", "outer wall")
        )  # fmt: skip
        assert (
            states[FREE].worst_mpa
            > 1.01 * states[FRICTION].worst_mpa
            > 1.5 * states[HELD].worst_mpa
        )
        grown = [states[way].bore.mean_growth_um for way in (FREE, FRICTION, HELD)]
        assert grown[0] > 1.01 * grown[1] > 1.5 * grown[2] > 0


def test_what_the_friction_does_to_the_limit(bare):
    head = head_of(bare)
    change, limit = head.worst_change(FRICTION), head.limit_change(FRICTION)
    assert change < 0 < limit
    assert (1 + change) * (1 + limit) == pytest.approx(1)


def test_all_of_the_load_lies_on_the_deck(solved):
    """The fire ring's share on its circle, the rest on all other metal that reaches the deck: the
    plan of the metal; an insert adds its own area."""
    given = head_given(solved.case)
    clamp = clamp_of(solved.case, given, gas_of(solved))
    for design in solved.designs:
        model = design.solution.model
        gasket = lay(model, solved.case.block, given, clamp)
        away = np.hypot(*model.mesh.points.T)
        assert gasket.ring.sum() == pytest.approx(60e3)
        assert (gasket.ring @ away) / 60e3 == pytest.approx(42, abs=0.3)
        head = head_of(design)
        assert head.land_pressure_mpa * head.land_area_mm2 == pytest.approx(40e3)
    insert = head_of(solved.designs[1]).pressed
    assert insert.area_mm2 == pytest.approx(solved.designs[1].insert_area_mm2, rel=1e-2)
    more = head_of(solved.designs[1]).land_area_mm2 - head_of(solved.designs[0]).land_area_mm2
    assert more == pytest.approx(insert.area_mm2, rel=1e-2)


def test_a_gasket_of_the_bare_block_lies_on_ring_and_walls(solved, bare):
    """By hand: walls from 59 to 67 mm and from the fire ring's 43.5 mm to 49 mm, two ties of 8 mm
    across 10 mm; the pocket of 18 mm takes off part of its own area, fillets add a little."""
    block = solved.case.block
    assert (block.barrel_radius, block.jacket_radius, block.outside_radius) == (49, 59, 67)
    whole = math.pi * (67**2 - 59**2 + 49**2 - 43.5**2) + 2 * 8 * 10
    assert whole - math.pi * 9**2 < head_of(bare).land_area_mm2 < whole + 30


def test_a_clamp_that_the_gas_takes_off_holds_nothing(solved, bare):
    """Lifted, and with no friction, the deck is free."""
    lifted = again(solved, bare, peak=18.1)
    assert lifted.clamp.left == 0
    assert lifted.states[FRICTION] is lifted.states[FREE]
    assert lifted.ring_friction_n_per_mm == 0
    assert lifted.wall_at_gas_mpa["barrel"] == 0
    smooth = again(solved, bare, gasket_friction=0.0)
    assert smooth.states[FRICTION] is smooth.states[FREE]
    assert smooth.slips == 0


def test_more_preload_holds_more(solved, bare):
    """At much friction the deck comes to the held face, and never below it."""
    worst = [again(solved, bare, bolt_preload=load).states[FRICTION].worst_mpa
             for load in (25e3, 40e3, 80e3)]  # fmt: skip
    assert worst[0] > worst[1] > worst[2] > head_of(bare).states[HELD].worst_mpa
    huge = again(solved, bare, bolt_preload=5e7)
    assert huge.states[FRICTION].worst_mpa == pytest.approx(huge.states[HELD].worst_mpa, rel=2e-2)
    assert huge.slips < 0.1


def test_springs_below_the_face_are_those_of_a_column_that_shears(solved, bare):
    """3 G / t for each area, by hand as the areas of the gasket: walls and liner of all the section
    depth, ties of 12 mm, nothing on the pocket's floor."""
    model, depth = bare.solution.model, solved.case.section_depth
    alloy, iron = (model.materials[part].mu for part in ("barrel", "liner"))
    whole = math.pi * (alloy * (67**2 - 59**2 + 49**2 - 42**2) + iron * (42**2 - 40**2)) / depth
    whole = 3 * (whole + alloy * 2 * 8 * 10 / 12)
    pocket = 3 * alloy * math.pi * 9**2 / depth
    assert whole - pocket < shear_springs(model).sum() < 1.03 * whole


def test_the_axial_squeeze_is_counted_at_the_worst_place(bare):
    """Its stress in the plane is about uniaxial: v2 = s2 + s a + a2 for a squeeze a."""
    head = head_of(bare)
    s, a = head.von_mises_mpa, -head.wall_at_gas_mpa["barrel"]
    assert head.states[FREE].worst.part == "barrel"
    assert s == pytest.approx(head.states[FREE].worst.von_mises_mpa, rel=1e-2)
    assert head.clamped_von_mises_mpa == pytest.approx(math.sqrt(s**2 + s * a + a**2), rel=1e-2)


def test_without_a_head_nothing_changes_but_one_line(case_of, solved):
    plain = solve_case(case_of(LINED, BARE, RING))
    told, without = results_dict(solved), results_dict(plain)
    del told["head"], told["inputs_hash"], without["inputs_hash"]
    for design in told["designs"]:
        del design["head"], design["seconds"]
    for design in without["designs"]:
        del design["seconds"]
    assert {**told, "cautions": told["cautions"][:-1]} == without
    assert "lifts" in told["cautions"][-1]
    assert SUBJECT.lines(plain) == []
    assert SUBJECT.first_lines(plain) == []
    assert SUBJECT.chapters(plain) == ()
    (line,) = SUBJECT.limits(plain)
    assert line.startswith("No head clamping, as the case states no [head]")


def test_what_is_not_found_loses_nothing(case_of, monkeypatch, tmp_path, unpictured):
    """Lift and clamping are told all the same, and why the deck isn't."""
    monkeypatch.setattr("fea.friction.MOST_SYSTEMS", 1)
    result = solve_case(case_of(LINED, HEAD, BARE))
    assert isinstance(result.designs[0].found["head"], Refusal)
    told = results_dict(result)
    assert told["head"]["clamp_n"] == 100e3
    assert "no balance of friction and load in 1" in told["designs"][0]["head_refused"]
    clamp, why = SUBJECT.lines(result)
    assert clamp.startswith("Head: 4 bolts of 25 kN")
    assert why.startswith("bare: what the head does to it was not found. no balance")
    write_report(result, tmp_path)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert "The head lifts at <b>180 bar</b>" in page
    assert "what the head does to it was not found" in page
    assert "The deck in its plane" not in page

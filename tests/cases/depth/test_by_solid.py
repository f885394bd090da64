"""How deep an insert pays by the solid: what is tried, what is told, that it is a coarse solid."""

from dataclasses import replace
from types import SimpleNamespace

import pytest
from bench import BARE, BLOCK, RING, TIES

from cases.base.faults import RunError
from cases.depth.by_solid import depths_by_solid, worst_spot
from cases.depth.data import depth_dict
from cases.depth.lines import depth_lines
from cases.gas.solve import gas_load
from cases.run import solve_case
from cases.solid.result import DesignSolid, SolidSpot

SPOT = SolidSpot(
    part="barrel", clock="2:04", clock_hours=2.07, radius_mm=47.0, x_mm=41.0, y_mm=23.0,
    depth_mm=9.5, principal_mpa=100.0, error_mpa=0.4, sharp=False, settled=True,
    crank_angle_deg=None, section_mpa=80.0,
)  # fmt: skip
DEPTH = '[depth]\nfloor = "60 mm"\nclock = "3:00"\n'


@pytest.fixture(scope="module")
def case(case_of):
    return case_of(BLOCK, TIES, BARE, RING, DEPTH)


def drawn(case, name, principal):
    design = next(one for one in case.designs if one.name == name)
    state = SimpleNamespace(governing=replace(SPOT, principal_mpa=principal))
    solid = DesignSolid(name=name, setting="fine", one_piece=state)
    section = SimpleNamespace(insert=design.insert)
    return SimpleNamespace(name=name, section=section, found={"solid": solid})


def by_depth(case, fall, error=0.4, least_gain=0.01):
    """Of the ring: bare 200 MPa, as drawn (8 mm) 100 MPa, and so much less for each mm more."""
    tried = []

    def solve(case, design, gas):
        tried.append(design)
        stress = 100.0 - fall * (design.insert.depth - 8.0)
        return replace(SPOT, principal_mpa=stress, error_mpa=error)

    designs = [drawn(case, "bare", 200.0), drawn(case, "ring", 100.0)]
    found = depths_by_solid(case, None, designs, 3.0, least_gain, solve=solve)
    assert set(found) == {"ring"}
    assert {one.name for one in tried} == {"ring"}
    assert len(tried) == (1 if found["ring"].pays else 2)
    return found["ring"]


def test_a_deeper_insert_is_set_beside_the_drawn_one(case):
    found = by_depth(case, fall=5.0)
    assert [one.depth_mm for one in found.tried] == pytest.approx([8.0, 10.4])
    assert [one.spot.principal_mpa for one in found.tried] == pytest.approx([100, 88])
    assert found.drawn is found.tried[0]


def test_where_no_more_depth_pays_a_shallower_one_is_too(case):
    found = by_depth(case, fall=1.0)
    assert [one.depth_mm for one in found.tried] == pytest.approx([4.8, 8.0, 10.4])
    assert [one.spot.principal_mpa for one in found.tried] == pytest.approx([103.2, 100, 97.6])
    assert found.drawn is found.tried[1]


@pytest.mark.parametrize(
    ("fall", "error", "pays", "words"),
    [
        (5.0, 0.4, True, "deeper still pays"),
        (1.0, 0.4, False, "deeper buys less than what is asked"),
        (2.05, 0.4, None, "can't be told within the errors"),
        (5.0, 20.0, None, "can't be told within the errors"),
    ],
)
def test_what_a_millimetre_takes_off_the_bare_block_s_stress_tells(case, fall, error, pays, words):
    """Of 200 MPa 1 % is 2 MPa a millimetre; 0.4 MPa on either side blur it by 0.33."""
    found = by_depth(case, fall, error)
    assert found.gain == pytest.approx(fall / 200)
    assert found.pays is pays
    assert found.words == words


def test_a_depth_that_can_t_be_solved_is_told(case):
    def solve(case, design, gas):
        if design.insert.depth > 8:
            raise RunError("no room for it.")
        return SPOT

    designs = [drawn(case, "ring", 100.0)]
    found = depths_by_solid(case, None, designs, 3.0, 0.01, solve=solve)["ring"]
    assert found.notes == ("10.4 mm could not be solved. no room for it.",)
    assert (found.bare_mpa, found.gain, found.pays) == (None, None, None)
    assert found.words == "no deeper one was solved"


def test_an_insert_as_deep_as_the_section_gets_no_deeper(case):
    deep = replace(case, section_depth=8.0)
    found = depths_by_solid(deep, None, [drawn(case, "ring", 100.0)], 3.0, 0.01,
                            solve=lambda *_: SPOT)["ring"]  # fmt: skip
    assert [one.depth_mm for one in found.tried] == pytest.approx([4.8, 8.0])


def test_it_is_told_beside_the_side_view(case):
    result = solve_case(case, rate=True)
    depth = result.found["depth"]
    assert depth.designs[1].solid is None
    told = replace(result, found={"depth": depth.with_solids({"ring": by_depth(case, 5.0)})})
    lines = depth_lines(told)
    assert lines[0].startswith("How deep an insert pays, by the solid: ring deeper still pays.")
    assert lines[1].startswith("The barrel from the side")
    data = depth_dict(told.found["depth"], "ring")["insert_depths_solid"]
    assert [one["principal_mpa"] for one in data["tried"]] == pytest.approx([100, 88])
    assert data["deeper_pays"] is True
    assert data["gain_per_mm"] == pytest.approx(0.025)
    assert "insert_depths_solid" not in depth_dict(told.found["depth"], "bare")


def test_the_worst_spot_is_a_coarse_solid_s(case_of):
    short = BLOCK.replace("[gas]", 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\n[gas]')
    case = case_of(short.replace('material = "A356-T6"\n', "", 1).replace(
        "[gas]", 'material = "A356-T6"\n[gas]', 1), TIES, RING)  # fmt: skip
    spot = worst_spot(case, case.designs[0], gas_load(case))
    assert spot.principal_mpa > 0
    assert spot.section_mpa is None

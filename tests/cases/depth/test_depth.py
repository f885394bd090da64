"""The depth section: what stands behind the wall, how deep an insert pays, what is refused.

The block and its engine are invented.
"""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from bench import ENGINE

from cases.base.data import plain
from cases.base.faults import CaseError, RunError
from cases.base.templates import render
from cases.check import sections as problems
from cases.depth.data import depth_dict
from cases.depth.figures import depth_figures
from cases.depth.given import DepthInput, depth_given
from cases.depth.solve import deepened, depth_section, sweep_of, walls_at, with_depth
from cases.gas.solve import gas_load
from cases.run import solve_case
from fea.closed_form import lame_ring
from fea.material import Material
from fea.tube import (
    AxisymmetricModel,
    Ring,
    Sleeve,
    Strip,
    find_backing,
    hoop_force,
    strip_forces,
    wall_share,
)
from geometry import DeckSection, DeeperZone, Insert, Tie
from geometry.outline import planned
from geometry.section import Block, ReliefCut

ALLOY = Material("alloy", 70000.0, 0.33)
IRON = Material("iron", 110000.0, 0.26)

BLOCK = """\
job = "bench block (invented)"
[block]
bore = "86 mm"
liner = "2 mm"
liner_material = "grey iron class 30"
barrel_wall = "6 mm"
jacket = "9 mm"
outer_wall = "9 mm"
material = "A356-T6"
[[relief_cut]]
clock = "2:45"
radius = "56 mm"
diameter = "16 mm"
depth = "22 mm"
[section]
mesh = "coarse"
tolerance = "20 %"
depth = "27.147 mm"
"""
TIES = "".join(
    f'[[tie]]\nclock = "{clock}"\nwidth = "10 mm"\ndepth = "12 mm"\n'
    for clock in ("12:00", "4:00", "6:00", "9:00")
)
BARE = '[[design]]\nname = "bare"\n'
DESIGNS = f"""\
{BARE}
[[design]]
name = "uniform"
material = "6061-T6"
depth = "5 mm"
[[design]]
name = "local"
material = "6061-T6"
depth = "5 mm"
[[design.zone]]
clock = "2:30"
width = "40 deg"
depth = "15 mm"
blend = "10 deg"
"""
GAS = '[gas]\npeak_pressure = "120 bar"\npressurised_depth = "27.147 mm"\n'  # all of H
DEPTH = '[depth]\nfloor = "105 mm"\n'
BANK = BLOCK.replace("[block]\n", '[block]\nbores = 2\npitch = "97 mm"\n')


@pytest.fixture(scope="module")
def solved(case_of):
    """The invented block solved, and its depth section."""
    case = case_of(BLOCK, DESIGNS, GAS, DEPTH)
    result = solve_case(case)
    return case, result, depth_section(case, gas_load(case), result.designs)


@pytest.fixture(scope="module")
def by_name(solved):
    return {design.name: design for design in solved[2].designs}


def faults(read, *texts):
    with pytest.raises(CaseError) as caught:
        read(*texts)
    return [str(fault) for fault in caught.value.faults]


def test_a_free_ring_carries_the_whole_load():
    """Statics, derived: the hoop force of a ring is pressure x radius x depth, at any clock."""
    answer = problems.lame_ring(0.33)
    model = answer.solution.model
    for angle in (0.0, 1.0, 4.4):
        force = hoop_force(model.mesh, answer.stresses, angle, (50, 80), ["barrel"])
        assert force == pytest.approx(10 * 50 * problems.DEPTH, rel=1e-3)
    with pytest.raises(ValueError, match="no metal between the radii 90 and 95 mm"):
        hoop_force(model.mesh, answer.stresses, 0.0, (90, 95), ["barrel"])


def test_strip_is_a_backed_ring_of_lame():
    """One ring: what presses back is the backing times the growth outside, by Lame."""
    strip = Strip(1.0, (Ring(50, 80, ALLOY),))
    pressure, held = strip_forces(strip, 0.0)
    moduli = {"youngs_modulus": 70000.0, "poisson": 0.33}
    free = lame_ring(50, 50, 80, p_in=1.0, **moduli).growth
    assert (pressure, held) == pytest.approx((1 / float(free), 0.0))
    pressure, held = strip_forces(strip, 400.0)
    ring = lame_ring([50, 80], 50, 80, p_in=pressure, p_out=held / 80, **moduli)
    assert ring.growth[0] == pytest.approx(1.0)
    assert held / 80 == pytest.approx(400 * ring.growth[1])


def test_strips_agree_with_the_side_view():
    """A low tube of two materials on a backing, in both."""
    model = AxisymmetricModel(
        [
            Sleeve(part="liner", inner=43, outer=45, top=0, bottom=0.5),
            Sleeve(part="barrel", inner=45, outer=51, top=0, bottom=0.5),
        ],
        {"liner": IRON, "barrel": ALLOY},
        size=0.5,
        fixed={"bottom": "z"},
    )
    gas = model.pressure("inside", lambda z: np.full(z.shape, 12.0))
    grown = model.solve(gas, lambda z: np.full(z.shape, 300.0))
    strip = Strip(1.0, (Ring(43, 45, IRON), Ring(45, 51, ALLOY)))
    pressure, _ = strip_forces(strip, 300.0)
    bore = grown.displacement[model.nodes("inside"), 0]
    assert bore == pytest.approx(12.0 / pressure, rel=2e-3)


def test_backing_that_pushes_too_hard():
    """Derived: a ring of stiffness S stands a backing above about -S, where it would run away."""
    tube = Sleeve(part="barrel", inner=43, outer=49, top=0, bottom=1)
    model = AxisymmetricModel([tube], {"barrel": ALLOY}, size=1.0, fixed={"bottom": "z"})
    gas = model.pressure("inside", np.ones_like)
    outside = model.nodes("outside")
    free = model.solve(gas).displacement[outside, 0]
    pulled = model.solve(gas, lambda z: np.full(z.shape, -100.0)).displacement[outside, 0]
    assert (pulled > 1.2 * free).all()
    with pytest.raises(ValueError, match="a backing of -300 MPa/mm pushes out more than the metal"):
        model.solve(gas, lambda z: np.full(z.shape, -300.0))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"size": 0.0}, "size = 0 mm must be positive"),
        ({"fixed": {"bottom": "r"}}, "nothing holds the body along the axis"),
        ({"fixed": {"floor": "z"}}, 'there is no side "floor". Choose from inside, outside, top'),
        ({"materials": {}}, "no material for barrel"),
        (
            {"sleeves": [Sleeve(part="barrel", inner=43, outer=49, top=0, bottom=9)] * 2},
            "sleeves of barrel and barrel lie over one another",
        ),
    ],
)
def test_body_that_cant_be_solved(change, says):
    sound = {
        "sleeves": [Sleeve(part="barrel", inner=43, outer=49, top=0, bottom=9)],
        "materials": {"barrel": ALLOY},
        "size": 1.0,
        "fixed": {"bottom": "z"},
    }
    with pytest.raises(ValueError, match=says):
        AxisymmetricModel(**{**sound, **change})
    with pytest.raises(ValueError, match="radii 49 to 43 mm"):
        Sleeve(part="barrel", inner=49, outer=43, top=0, bottom=9)


def test_backing_is_found_again():
    rings = (Ring(43, 45, IRON), Ring(45, 51, ALLOY))
    strips = [
        Strip(5.0, rings, 30.0, True),
        Strip(7.0, rings, 30.0),
        Strip(10.0, (rings[0], Ring(45, 48, ALLOY))),
    ]
    for backing in (-40.0, 0.0, 250.0, 3000.0):
        assert find_backing(strips, wall_share(strips, backing)) == pytest.approx(backing, abs=1e-6)
    with pytest.raises(ValueError, match="the wall carries 150 % of its load around"):
        find_backing(strips, 1.5)


def test_round_block_has_nothing_behind_it(case_of):
    """No jacket, no tie, no cut: the wall carries its gas alone, and far from the ends is Lame's.

    Pressed over its whole depth: plane stress, as the top is free and the floor far away.
    """
    ring = """\
job = "ring (invented)"
[block]
bore = "100 mm"
barrel_wall = "12 mm"
material = "A356-T6"
[gas]
peak_pressure = "100 bar"
pressurised_depth = "150 mm"
[section]
depth = "150 mm"
mesh = "coarse"
[depth]
floor = "151 mm"
clock = "4:00"
[[design]]
name = "bare"
"""
    case = case_of(ring)
    result = depth_section(case, gas_load(case), solve_case(case).designs)
    only = result.designs[0]
    assert only.wall_share == pytest.approx(1, abs=2e-3)
    assert abs(result.backing) < 1.0
    assert (result.backing_depth, only.insert_depth, only.sweep) == (150.0, 0.0, None)
    exact = lame_ring(50, 50, 62, p_in=10, youngs_modulus=72400, poisson=0.33)
    free = result.depth_mm < 30
    growth = only.curves["peak"].growth_um[free]
    assert growth == pytest.approx(1000 * float(exact.growth), rel=1e-2)
    assert only.curves["peak"].bore_hoop_mpa[free] == pytest.approx(float(exact.hoop), rel=1e-2)
    mean = 10 * 50 / 12  # pressure x radius over wall, statics
    assert only.curves["peak"].barrel_hoop_mpa[:30] == pytest.approx(mean, rel=1e-2)


def test_what_stands_behind(solved, by_name):
    _, _, result = solved
    shares = [by_name[name].wall_share for name in ("bare", "uniform", "local")]
    assert shares[0] == pytest.approx(1, abs=1e-2)  # no ties: nothing stands behind it
    assert shares[0] > shares[1] > shares[2] > 0.3
    assert abs(result.backing) < 5
    assert result.backing_depth == result.section_depth
    assert by_name["bare"].backing == 0
    assert by_name["uniform"].backing > by_name["local"].backing > 50
    assert [design.insert_depth for design in result.designs] == [0, 5, pytest.approx(15, abs=0.1)]


def test_ties_stand_behind_over_their_depth(case_of):
    """Ties hold the barrel to the outer wall, which takes a share of the load."""
    case = case_of(BLOCK, TIES, GAS, f'{DEPTH}clock = "7:30"\n', BARE)
    result = depth_section(case, gas_load(case), solve_case(case).designs)
    assert result.chosen
    assert (result.clock, result.backing_depth) == (7.5, 12)
    assert result.designs[0].wall_share < 0.97
    assert result.backing > 20


def test_insert_shifts_the_peak_down(solved, by_name):
    """Bare, the free end grows most; with an insert the wall below it does."""
    case, _, result = solved
    assert not result.chosen
    assert result.clock == pytest.approx(2.75, abs=0.2)  # the cut governs
    assert [wall.bottom for wall in result.walls] == [22, 105]
    assert result.cut_depth == 22
    assert result.thinnest == pytest.approx(56 - 8 - 45, abs=0.1)
    bare, uniform, local = (by_name[name] for name in ("bare", "uniform", "local"))
    assert bare.growth_at_mm == 0
    assert uniform.growth_at_mm > uniform.insert_depth
    assert uniform.hoop_at_mm < local.hoop_at_mm < case.section_depth
    assert bare.growth_um > uniform.growth_um > local.growth_um
    assert bare.hoop_mpa > uniform.hoop_mpa > local.hoop_mpa
    for design in result.designs:
        assert 1 < design.peak_factor < 2
        assert design.peak_mpa == pytest.approx(design.peak_factor * design.deck_mpa)
        assert abs(design.curves["peak"].growth_um[-1]) < 1e-9  # held at the floor


def test_growth_is_about_that_of_the_deck_section(solved):
    """Two views of one barrel at a plain clock position, bare: within a fifth.

    The side view leaves out that the bore goes out of round and that a cut stretches it more, the
    deck section that the pressure ends at H while the barrel goes on.
    """
    case, designs, _ = solved
    side = depth_section(
        case.told("depth", replace(depth_given(case), clock=9.0)),
        gas_load(case),
        designs.designs[:1],
    )
    deck = designs.designs[0].bore.mean_growth_um
    curves = side.designs[0].curves["peak"]
    assert curves.growth_um[0] == pytest.approx(deck, rel=0.2)


def test_deeper_buys_less(solved, by_name):
    _, _, result = solved
    for name in ("uniform", "local"):
        sweep = by_name[name].sweep
        assert sweep.depth_mm[0] == 0
        assert sweep.depth_mm[-1] == np.floor(result.section_depth)
        assert sweep.growth_um[0] == pytest.approx(by_name["bare"].growth_um)
        assert sweep.hoop_mpa[0] == pytest.approx(by_name["bare"].hoop_mpa)
        place = int(by_name[name].insert_depth)
        if place == by_name[name].insert_depth:
            assert sweep.growth_um[place] == pytest.approx(by_name[name].growth_um)
            assert sweep.hoop_mpa[place] == pytest.approx(by_name[name].hoop_mpa)
        for gain, enough in (
            (sweep.growth_gain, sweep.enough_growth_mm),
            (sweep.hoop_gain, sweep.enough_hoop_mm),
        ):
            assert enough is not None
            assert (gain[int(enough) :] < result.least_gain).all()
            assert gain[int(enough) - 1] >= result.least_gain


def test_metal_never_takes_support_away(by_name):
    """Derived: more backing, and none the less elsewhere, gives less growth and stress."""
    for name in ("uniform", "local"):
        sweep = by_name[name].sweep
        assert sweep.growth_gain.min() > -1e-3
        assert sweep.hoop_gain.min() > -1e-3


def test_less_gain_asked_wants_a_deeper_insert(by_name):
    for name in ("uniform", "local"):
        found = by_name[name].sweep
        lax = sweep_of(found.depth_mm, found.growth_um, found.hoop_mpa, 0.03)
        assert 0 < lax.enough_hoop_mm < found.enough_hoop_mm


@pytest.mark.slow
def test_deck_section_of_another_depth_is_the_one_that_is_drawn(solved):
    """The uniform insert made 10 mm deep on its mesh, and drawn so from the start."""
    from fea.stress import recover

    case, result, _ = solved
    drawn = next(one for one in case.designs if one.name == "local")
    other = with_depth(drawn.insert, 2.5, 10.0, case.section_depth)
    anew = solve_case(replace(case, designs=(replace(drawn, insert=other),))).designs[0]
    old = next(one for one in result.designs if one.name == "local")
    changed = old.solution.model.with_layers(
        [deepened(layers, drawn.insert, other, case.section_depth) for layers in old.mesh.regions]
    )
    stresses = recover(changed.solve(gas_load(case).line_load))
    ends, angle = (43.0, 51.0), np.pi / 12
    forces = [
        hoop_force(mesh, of, angle, ends, ["liner", "barrel"])
        for mesh, of in ((anew.mesh, anew.stresses), (changed.mesh, stresses))
    ]
    assert forces[0] == pytest.approx(forces[1], rel=5e-3)


def test_insert_of_another_depth():
    local = Insert(depth=5, zones=(DeeperZone(clock=2, width=30, depth=15, blend=20),))
    here = with_depth(local, 2.0, 9.0, 28.0)
    assert (here.depth, [zone.depth for zone in here.zones]) == (5, [9])
    assert with_depth(local, 2.0, 4.0, 28.0) == Insert(depth=4)
    assert with_depth(local, 8.0, 9.0, 28.0).depth == 9
    assert with_depth(local, 8.0, 20.0, 28.0) == Insert(depth=20)
    in_run_out = with_depth(local, 2 + 25 / 30, 12.0, 28.0)
    assert in_run_out.zones[0].depth == pytest.approx(5 + 10 * 7 / 5)


def test_wall_at_a_clock_position():
    block = Block(
        bore=86, liner=2, barrel_wall=6, jacket=9, outer_wall=9,
        relief_cuts=(
            ReliefCut(clock=3, radius=56, diameter=16, depth=22),
            ReliefCut(clock=3, radius=58, diameter=20, depth=30),
        ),
    )  # fmt: skip
    assert [(w.top, w.bottom, w.outer) for w in walls_at(block, 3, 90)] == [
        (0, 30, pytest.approx(48)),
        (30, 90, 51),
    ]
    beside = walls_at(block, 3.1, 90)
    offset = 56 * np.sin(np.pi / 60)
    assert beside[0].outer == pytest.approx(
        min(56 * np.cos(np.pi / 60) - np.sqrt(64 - offset**2),
            58 * np.cos(np.pi / 60) - np.sqrt(100 - (58 * np.sin(np.pi / 60)) ** 2))
    )  # fmt: skip
    assert [(w.bottom, w.outer) for w in walls_at(block, 9, 90)] == [(90, 51)]
    table = replace(block, relief_cuts=(), wall_table=((0, 6), (3, 8), (6, 6), (9, 5)))
    outers = [walls_at(table, clock, 90)[0].outer for clock in (0, 3, 9, 1.5)]
    assert outers[:3] == pytest.approx([51, 53, 50], abs=1e-3)
    assert 51 < outers[3] < 53


def test_engine_presses_by_depth(case_of):
    """At the worst crank angle the gas reaches one depth; the envelope is above it everywhere."""
    case = case_of(BLOCK, DESIGNS.split('[[design]]\nname = "local"')[0], ENGINE, DEPTH)
    result = depth_section(case, gas_load(case), solve_case(case).designs)
    worst, envelope = result.pressures
    assert (worst.name, envelope.name) == ("worst angle", "envelope")
    load = gas_load(case).wall_load
    depth = np.linspace(0, 105, 211)
    pressed = worst.by_depth(depth)
    assert pressed.max() * float(load.reach(load.line_load_deg)) >= gas_load(case).line_load * (
        1 - 1e-9
    )
    below = depth > float(load.reach(load.line_load_deg))
    assert not pressed[below].any()
    assert (envelope.by_depth(depth) >= pressed - 1e-9).all()
    assert envelope.by_depth(np.array([0.0])) == pytest.approx(load.peak, rel=1e-3)
    for design in result.designs:
        curves = design.curves
        assert curves["envelope"].growth_um.max() > curves["worst angle"].growth_um.max()
        assert design.growth_um == curves["worst angle"].growth_um.max()


def test_bare_block_is_solved_where_the_case_has_none(solved):
    case, result, depth = solved
    alone = depth_section(case, gas_load(case), result.designs[1:2])
    assert [design.name for design in alone.designs] == ["uniform"]
    assert alone.designs[0].backing == pytest.approx(depth.designs[1].backing, rel=1e-6)


def test_results(solved):
    _, _, result = solved
    for design in result.designs:
        written = json.loads(json.dumps(plain(depth_dict(result, design.name)), allow_nan=False))
        assert written["floor_mm"] == 105
        assert written["growth_um"] == pytest.approx(design.growth_um, rel=1e-6)
        assert ("insert_depths" in written) == (design.name != "bare")
        by_depth = written["by_depth"]
        curves = by_depth["pressures"]["peak"]
        assert len(by_depth["depth_mm"]) == len(curves["growth_um"]) == len(curves["bore_hoop_mpa"])
        assert len(by_depth["row_top_mm"]) == len(curves["barrel_hoop_mpa"])
        assert [low == high for low, high in pairwise(by_depth["depth_mm"])].count(True) == 0
    with pytest.raises(KeyError):
        depth_dict(result, "none")


def test_pictures_and_chapter(solved):
    """Every picture is drawn, every one that the chapter shows is there, and its numbers stand."""
    case, _, result = solved
    figures = dict(depth_figures(result))
    assert list(figures) == ["depth-view", "depth", "insert-depth"]
    only = replace(result, designs=result.designs[:1])
    assert list(dict(depth_figures(only))) == ["depth-view", "depth"]
    shown = []

    def chapter(depth):
        return render(
            "depth/chapter.html.j2", depth=depth, case=case, gas=gas_load(case), number={},
            picture=lambda name: shown.append(name) or name,
        )  # fmt: skip

    text = chapter(result)
    assert shown == ["depth-view.png", "depth.svg", "insert-depth.svg"]
    for design in result.designs:
        assert f"{design.peak_mpa:.0f}" in text
    assert "How deep the insert pays" not in chapter(only)


def test_wall_that_no_backing_explains(solved):
    """A deck section loaded by another gas than the case says."""
    case, result, _ = solved
    with pytest.raises(RunError, match=r'design "bare", depth section at .* the wall carries'):
        depth_section(
            case,
            replace(gas_load(case), peak_pressure=gas_load(case).peak_pressure / 2),
            result.designs,
        )


def test_case_without(case_of):
    case = case_of(BLOCK, DESIGNS, GAS)
    assert depth_given(case) is None
    with pytest.raises(ValueError, match=r"the case has no \[depth\]"):
        depth_section(case, gas_load(case), ())


def test_read(case_of):
    assert depth_given(case_of(BLOCK, DESIGNS, GAS, DEPTH)) == DepthInput(floor=105.0)
    more = '[depth]\nfloor = "4 in"\nclock = "7:30"\nleast_gain = "0.5 %"\n'
    assert depth_given(case_of(BLOCK, DESIGNS, GAS, more)) == DepthInput(
        floor=pytest.approx(101.6), clock=7.5, least_gain=pytest.approx(0.005)
    )


@pytest.mark.parametrize(
    ("texts", "says"),
    [
        (
            (BLOCK, '[depth]\nclock = "2:00"\n'),
            ["depth.floor\n", "It is missing.", "crankcase floor below the deck"],
        ),
        (
            (BLOCK, '[depth]\nfloor = "21 mm"\n'),
            ['depth.floor = "21 mm"', "21 mm is outside", "the deck section reaches 27.147 mm"],
        ),
        (
            (BLOCK.replace('depth = "22 mm"', 'depth = "40 mm"'), '[depth]\nfloor = "35 mm"\n'),
            ["35 mm is outside 40 to 1000 mm", "a relief cut reaches 40 mm down"],
        ),
        (
            (BLOCK, '[depth]\nfloor = "105 mm"\nclock = "13:00"\n'),
            ['depth.clock = "13:00"', "is no clock position"],
        ),
        (
            (BANK, '[depth]\nfloor = "105 mm"\nclock = "3:10"\n'),
            ['depth.clock = "3:10"', "two barrels run together, from 2:", "Give a clock position"],
        ),
        (
            (BLOCK, '[depth]\nfloor = "105 mm"\nleast_gain = "0 %"\n'),
            ["0 % is outside 0.01 % to 20 % per mm"],
        ),
        (
            (BLOCK, '[depth]\nfloor = "105 mm"\nbottom = "3 mm"\n'),
            ["There is no such key.", "floor, clock, least_gain"],
        ),
    ],
)  # fmt: skip
def test_refused(case_of, texts, says):
    found = faults(case_of, *texts, DESIGNS, GAS)
    assert len(found) <= 2  # what can't be drawn is told beside
    assert any(all(text in one for text in says) for one in found)


@pytest.mark.parametrize("depth", [3.0, 8.0, 12.0, 15.0])
def test_a_ring_of_another_depth_lies_on_ties_milled_down_to_it(depth):
    """The layers that a section has at a place of the tie, of a relief cut and of the jacket."""
    ties = (Tie(clock=3, width=8, depth=12),)
    cuts = (ReliefCut(clock=6, radius=57, diameter=16, depth=10),)
    block = Block(bore=86, barrel_wall=8, jacket=9, outer_wall=10, ties=ties, relief_cuts=cuts)
    ring = Insert(depth=5, form="ring")

    def layers(insert):
        made = DeckSection(block=block, depth=24, insert=insert)
        return planned(made).layers(np.array([55 + 0j, 0 - 50j, 0 + 55j]))

    other = replace(ring, depth=depth)
    changed = [deepened(row, ring, other, 24.0) for row in layers(ring)]
    assert [tuple(row) for row in changed] == layers(other)

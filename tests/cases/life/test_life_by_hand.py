"""Fits, joints, films and advice in small numbers, each worked out by hand (derived)."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest
from bench import BLOCK, RING, TIES
from fea_meshes import ring, uniform
from pulled import WROUGHT

from cases.gas.solve import GasLoad
from cases.life.base import OnePieceLife, with_misfit
from cases.life.given import Heat, InsertFit, LifeInput, SideFit, life_given
from cases.life.heat import Conducting, conducting
from cases.life.joint import joint_state, with_errors
from cases.life.life import FittedLife, fits_of
from cases.life.liner import Turns
from cases.life.result import JointState, Piece, SideState
from cases.life.steps import COLD_GAS, WARM_GAS, EngineState
from cases.life.tie_faces import tie_faces
from fea.contact import Contact, Fitted, Pairs
from fea.heat import Film
from geometry.parted import part_off
from geometry.section import Block, Tie

LINED = Block(bore=80, liner=2.5, barrel_wall=8)


def test_a_liner_is_larger_than_its_room_by_its_interference_over_its_diameter():
    """60 um on a diameter of 85 mm is a strain of 0.06 / 85, and the liner is the larger one."""
    case = SimpleNamespace(
        block=LINED, given={"life": LifeInput(liner_interference=0.06)},
        part_materials=lambda _: {"liner": WROUGHT, "barrel": WROUGHT},
    )  # fmt: skip
    found = with_misfit(case, None)
    assert found["liner"].misfit == pytest.approx(0.06 / 85)
    assert found["barrel"].misfit == 0


def test_each_side_takes_half_of_an_interference_on_the_diameter():
    fit = InsertFit(
        sides={"barrel": SideFit(interference=0.04, friction=0.12), "tie": SideFit(bonded=True)},
        pressed=("barrel",),
    )
    found = {part: of for (_, part), of in fits_of(fit, {"barrel", "tie"}).items()}
    assert found["barrel"].overlap == pytest.approx(0.02)
    assert found["barrel"].friction == 0.12
    assert (found["barrel"].bonded, found["tie"].bonded) == (False, True)
    assert set(fits_of(fit, {"tie"})) == {("insert", "tie")}
    tighter = fit.with_interference(0.06)
    assert tighter.sides["barrel"].interference == 0.06
    assert tighter.sides["tie"] == fit.sides["tie"]


def test_a_clearance_is_less_than_nothing_and_a_side_has_its_own_friction(case_of):
    fit = """\
[design.fit]
interference = "40 um"
friction = 0.12
[design.fit.outer_wall]
clearance = "30 um"
friction = 0.2
[design.fit.ties]
bonded = true
"""
    (found,) = life_given(case_of(BLOCK, TIES, RING, fit)).fits.values()
    barrel, outer, tie = (found.sides[part] for part in ("barrel", "outer wall", "tie"))
    assert (barrel.interference, barrel.friction) == (pytest.approx(0.04), 0.12)
    assert (outer.interference, outer.friction) == (pytest.approx(-0.03), 0.2)
    assert tie.bonded
    assert found.pressed == ("barrel",)
    assert found.interference == pytest.approx(0.04)


def test_a_side_of_the_joint_touches_between_two_that_touch():
    """Three pairs in a row; heat crosses the middle of a side where both its ends touch."""
    life = FittedLife.__new__(FittedLife)
    life.mesh, life.given = SimpleNamespace(points=np.zeros((10, 2))), LifeInput()
    pairs = SimpleNamespace(
        own=np.array([0, 1, 2]), sides=np.array([[0, 1], [1, 2]]), middle=np.array([[3, 7], [4, 8]])
    )
    life.cold = SimpleNamespace(pairs=pairs)
    crossing = life.crossing(SimpleNamespace(closed=np.array([True, True, False])))
    assert np.flatnonzero(life.at_nodes(crossing)).tolist() == [0, 1, 3]


def test_heat_and_contact_have_settled_within_three_kelvin():
    life = FittedLife.__new__(FittedLife)
    for moved, settled in ((2.9, True), (3.1, False)):
        life.heat_moves = moved
        assert life.settled is settled


@pytest.fixture(scope="module")
def mesh():
    return ring(
        [40, 43, 50, 60], [uniform(part, 20.0) for part in ("liner", "barrel", "insert")], 8
    )


def films_of(monkeypatch, given, mesh, load=None, joints=()):
    """Films and origin of nodes of a section as its heat would be solved."""
    monkeypatch.setattr("cases.life.heat.HeatModel", lambda _mesh, _materials, films, _: films)
    found = conducting(given, load, mesh, {}, joints)
    return found.model, found.origin


def test_every_film_stands_at_its_own_surface(monkeypatch, mesh):
    given = Heat(
        gas=(250e-6, 700.0), coolant=(5e-3, 90.0), head=(1.5e-3, 110.0), outside=(2e-5, 40.0),
        joint_conductance=8e-3, liner_conductance=20e-3,
    )  # fmt: skip
    cut = part_off(mesh, "insert")
    films, origin = films_of(monkeypatch, given, cut.mesh, joints=cut.joints)
    assert films.gas == Film(250e-6, 700.0)
    assert films.coolant == Film(5e-3, 90.0)
    assert films.head == Film(1.5e-3, 110.0)
    assert films.outside == Film(2e-5, 40.0)
    assert films.joints == {"insert": 8e-3, "liner": 20e-3}
    assert np.bincount(origin).max() == 2  # the two sides of the liner's joint


def test_the_engine_heats_where_no_gas_is_stated(monkeypatch, mesh):
    load = SimpleNamespace(wall_load=SimpleNamespace(film=(300e-6, 800.0)))
    assert films_of(monkeypatch, Heat(gas=None), mesh, load)[0].gas == Film(300e-6, 800.0)
    assert films_of(monkeypatch, Heat(gas=0.2), mesh, load)[0].gas == 0.2


def test_a_joint_that_is_cut_has_the_mean_of_both_sides():
    told = {}
    model = SimpleNamespace(solve=told.update)
    section = Conducting(model, np.array([0, 1, 1]), ("insert",))
    heat = SimpleNamespace(temperature=np.array([50.0, 100.0, 140.0]))
    assert section.on_section(heat) == pytest.approx([50.0, 120.0])
    section.solve(np.array([1.0, 0.0]))
    assert told["insert"].tolist() == [1.0, 0.0, 0.0]


def test_a_plain_ring_at_gas_is_lame_s_ring_warm_and_cold():
    """Twice a gas load of 12 MPa on 40 to 52 mm: hoop stress at the bore 24 x (b^2 + a^2) /
    (b^2 - a^2), radial -24 MPa (Timoshenko & Goodier, from memory); none without gas. Heat stresses
    it warm, with gas as without, and is 90 degC and more where water of 90 degC cools it."""
    mesh = ring([40, 52], [uniform("barrel", 20.0)], 3)
    metal = replace(WROUGHT, expansion=20e-6, conductivity=0.15)
    heat = Heat(gas=(250e-6, 700.0), coolant=(5e-3, 90.0), outside=(5e-3, 90.0))
    case = SimpleNamespace(given={"life": LifeInput(heat=heat)},
                           block=SimpleNamespace(axes_beside=()),
                           part_materials=lambda _: {"barrel": metal})  # fmt: skip
    load = GasLoad(peak_pressure=12.0, pressurised_depth=20.0)
    warm, cold = OnePieceLife(case, SimpleNamespace(name=""), mesh, load).at_gas(2.0)
    hoop = 24 * (52**2 + 40**2) / (52**2 - 40**2)
    assert (warm.engine, cold.engine) == (EngineState.WARM, EngineState.COLD)
    assert cold.temperature is None
    assert warm.temperature.min() > 90
    for cycle in (warm, cold):
        (idle,), (gas,) = cycle.idle, cycle.gas
        x, y = mesh.points[gas.nodes].T
        at = np.flatnonzero((np.abs(np.hypot(x, y) - 40) < 1e-6) & (np.abs(y) < 1e-6))[0]
        added = gas.stress[:, at] - idle.stress[:, at]
        assert added == pytest.approx([-24.0, hoop, 0.0], abs=0.05 * hoop)
    assert np.abs(cold.idle[0].stress).max() < 1e-9
    assert warm.idle[0].stress[1, at] < -1.0  # the hotter inside is squeezed


def test_a_liner_pressed_in_is_squeezed_and_pulls_the_barrel():
    """60 um on 86 mm, one metal: joint pressure E d (c^2 - a^2) (b^2 - c^2) / (2 c^3 (b^2 - a^2)),
    d = 0.03 mm on the radius (Shigley, *Mechanical Engineering Design*, press and shrink fits, from
    memory); hoop stress of the barrel at the joint by Lame."""
    a, c, b = 40.0, 43.0, 52.0
    mesh = ring([a, c, b], [uniform(part, 20.0) for part in ("liner", "barrel")], 2)
    case = SimpleNamespace(
        given={"life": LifeInput(liner_interference=0.06)}, block=replace(LINED, liner=c - a),
        part_materials=lambda _: {"liner": WROUGHT, "barrel": WROUGHT},
    )  # fmt: skip
    load = GasLoad(peak_pressure=12.0, pressurised_depth=20.0)
    life = OnePieceLife(case, SimpleNamespace(name=""), mesh, load)
    (cycle,) = life.at_gas(1.0)
    pressure = 70_000 * 0.03 * (c**2 - a**2) * (b**2 - c**2) / (2 * c**3 * (b**2 - a**2))
    for layer, at, hoop in (
        (cycle.idle[0], a, -2 * pressure * c**2 / (c**2 - a**2)),
        (cycle.idle[1], c, pressure * (b**2 + c**2) / (b**2 - c**2)),
    ):
        x, y = mesh.points[layer.nodes].T
        row = np.flatnonzero((np.abs(np.hypot(x, y) - at) < 1e-6) & (np.abs(y) < 1e-6))[0]
        assert layer.stress[1, row] == pytest.approx(hoop, rel=0.05)


def contact(closed, sticks, force, area):
    force = np.array(force)
    none = np.zeros(len(force))
    return Contact(
        closed=np.array(closed), sticks=np.array(sticks), force=force, pressure=force / area,
        friction=none, gap=none, slip=np.linspace(0.0, 2e-3, len(area)),
        intact=none > 0, broken=none > 0, filler=none,
    )  # fmt: skip


def pairs_with(area, against, standing_off):
    """Pairs of areas [mm2] against parts, two by two beside each other; some stand off at rounded
    corners."""
    count = len(area)
    gap = np.zeros(count)
    gap[standing_off] = 0.1
    own = np.arange(count)
    sides = own.reshape(-1, 2)
    normal = np.tile([1.0, 0.0], (count, 1))
    part = np.full(count, "insert")
    return Pairs(
        own,
        own,
        sides,
        sides,
        np.array(against)[sides[:, 0]],
        normal,
        area,
        part,
        np.array(against),
        gap,
    )


def test_a_piece_holds_by_friction_and_force_and_a_side_is_open_by_its_own_area():
    """Two pieces; at 9:00 a bond is pulled by 30 N, which holds nothing by friction.

    The last two pairs stand off at a rounded corner: no part of a face.
    """
    area = np.array([10.0, 30.0, 20.0, 20.0, 4.0, 3.0])
    pairs = pairs_with(area, ["barrel", "outer wall", *["barrel"] * 4], [4, 5])
    sides = {"barrel": SideFit(friction=0.1), "outer wall": SideFit(friction=0.2)}
    life = SimpleNamespace(
        cold=SimpleNamespace(
            pairs=pairs,
            model=SimpleNamespace(node_bodies=np.array([1, 1, 2, 2, 2, 2])),
            friction=lambda _: np.array([0.1, 0.2, 0.1, 0.1, 0.1, 0.1]),
            strengths=lambda _: (np.zeros(6), np.zeros(6)),
        ),
        fit=InsertFit(sides=sides, pressed=(), vibration=50.0),
        pieces=[
            Piece(number=1, body=1, bore=1, clock="3:00", clock_hours=3.0, length_mm=1, mass_g=20),
            Piece(number=2, body=2, bore=1, clock="9:00", clock_hours=9.0, length_mm=1, mass_g=4),
        ],
        case=SimpleNamespace(block=Block(bore=80, barrel_wall=8)),
        mesh=SimpleNamespace(
            points=np.array([[50.0, 1], [50, -1], [-50, 1], [-50, -1], [-50, 0], [-50, 2]])
        ),
    )
    none = [False] * 6
    apart = contact(none, none, [0.0] * 6, area)
    step = Fitted(
        solution=SimpleNamespace(temperature=None),
        contact=contact(
            [True, False, True, True, False, False],
            [True, False, False, True, False, False],
            [100.0, 0, 50, -30, 0, 0],
            area,
        ),
        iterations=1, jumps=None, load=None, softer=None,
    )  # fmt: skip
    state = joint_state(life, step)
    right, left = state.pieces
    assert (right.clock, left.clock) == ("3:00", "9:00")
    assert (right.hold_n, left.hold_n) == (pytest.approx(10.0), pytest.approx(5.0))
    assert state.least_hold_n == pytest.approx(5.0)
    shaken = 50 * 9.80665 * 1e-3  # N for each gram
    assert (right.asked_hold_n, left.asked_hold_n) == (
        pytest.approx(20 * shaken), pytest.approx(4 * shaken)
    )  # fmt: skip
    assert state.held_share == pytest.approx(10.0 / (20 * shaken))  # not the least hold's piece
    assert state.hold_n == pytest.approx(15.0)
    assert (right.pressing_force_n, left.pressing_force_n) == (100.0, 50.0)
    assert (right.open_share, left.open_share) == (pytest.approx(30 / 40), 0)
    assert state.open_share == pytest.approx(30 / 80)
    assert state.slip_share == pytest.approx(20 / 80)
    barrel, wall = state.sides
    assert (barrel.against, wall.against) == ("barrel", "outer wall")
    assert (barrel.open_share, wall.open_share) == (0, 1)
    assert (barrel.slip_share, wall.slip_share) == (pytest.approx(20 / 50), 0)
    assert barrel.mean_pressure_mpa == pytest.approx(120 / 57)
    assert barrel.largest_pressure_mpa == pytest.approx(10.0)
    assert (barrel.largest_slip_um, wall.largest_slip_um) == (pytest.approx(1.2), 0)
    assert state.touches

    life.case.block = Block(bore=80, barrel_wall=8, bores=2, pitch=85, firing_bore=2)
    of_bank = joint_state(life, step)  # what is at 9:00 is about the other bore
    assert (of_bank.open_share, of_bank.slip_share) == (pytest.approx(30 / 40), 0)
    barrel, wall = of_bank.sides
    assert (barrel.mean_pressure_mpa, wall.open_share) == (pytest.approx(10.0), 1)
    assert [piece.hold_n for piece in of_bank.pieces] == [piece.hold_n for piece in state.pieces]
    assert not joint_state(life, replace(step, contact=apart)).touches


def test_the_error_of_a_joint_is_its_change_from_the_mesh_before():
    side = SideState(
        against="barrel", bonded=False, open_share=0.30, slip_share=0.1, intact_share=0.0,
        broken_share=0.0, mean_pressure_mpa=8.0, largest_pressure_mpa=30.0, largest_slip_um=1.0,
    )  # fmt: skip
    now = JointState(
        contact=None, iterations=1, open_share=0.25, slip_share=0.1, intact_share=0.0,
        broken_share=0.0, sides=(side,), cuts=(), pieces=(), tie_faces=(),
    )  # fmt: skip
    coarser = replace(side, open_share=0.34, mean_pressure_mpa=7.5, largest_pressure_mpa=26.0)
    found = with_errors(now, replace(now, open_share=0.27, sides=(coarser,)))
    assert found.open_share_error == pytest.approx(0.02)
    (one,) = found.sides
    assert one.open_share_error == pytest.approx(0.04)
    assert one.mean_pressure_error_mpa == pytest.approx(0.5)
    assert one.largest_pressure_error_mpa == pytest.approx(4.0)
    assert with_errors(now, None).sides[0].open_share_error is None


def test_a_side_of_a_tie_has_the_pairs_on_its_line():
    """Hours run clockwise: at 3:00 the side before is the upper one, at 9:00 the lower one.

    The tie at 2:20 is near, with its side past at -7 mm from its middle.
    """
    block = Block(
        bore=80, barrel_wall=6, jacket=12, outer_wall=9,
        ties=(
            Tie(clock=3.0, width=8, depth=12), Tie(clock=7 / 3, width=14, depth=12),
            Tie(clock=9.0, width=8, depth=12),
        ),
    )  # fmt: skip
    points = np.array(
        [[50.0, 4.0], [52.0, 4.0], [50.0, -4.0], [-50.0, -4.0], [50.0, 0.0], [54.0, 4.5]]
    )
    area = np.array([10.0, 30.0, 20.0, 5.0, 99.0, 2.0])
    pairs = pairs_with(area, [*["tie"] * 4, "barrel", "tie"], [5])
    found = tie_faces(
        block, points, pairs,
        contact(
            [True, False, True, True, True, False], [True] * 6, [105.0, 0, 60, 5, 7, 0], area
        ),
        np.array([1.0, 0, 1, 1, 1, 0]),
    )  # fmt: skip
    assert [
        (face.clock, face.side, face.area_mm2, face.mean_pressure_mpa, face.open_share)
        for face in found
    ] == [
        ("3:00", "before", 42.0, pytest.approx(2.5), pytest.approx(0.75)),
        ("3:00", "past", 20.0, pytest.approx(3.0), 0),
        ("9:00", "before", 5.0, pytest.approx(1.0), 0),
    ]


@dataclass(frozen=True)
class Stress:
    """Stress over yield strength."""

    stress: float


def test_a_pair_that_comes_off_where_it_conducts_barely_touches():
    """One that touches while it conducts less than 0.6, beside one that touches anyway, one that
    never does, and a liner's whose share is told."""
    turns = Turns(np.array([False, False, False, True]), np.array([1.0, 0.0, 1.0, 0.5]))
    went = []
    for _ in range(8):
        before = turns.share
        turns.go_on(np.array([float(before[0] < 0.6), 1.0, 0.0, 0.5]))
        went.append(abs(turns.share[0] - before[0]))
    assert turns.share == pytest.approx([0.6, 1.0, 0.0, 0.5], abs=0.05)
    assert went[0] == 1.0
    assert went[-1] < 0.05


def test_a_turn_of_a_liner_that_goes_a_part_knows_where_all_of_it_leads():
    """Shares that lead to 0.2 over their cube go to and fro; by the secant they come to rest."""
    turns = Turns(np.array([True]), np.array([1.0]))
    for _ in range(9):
        asked = 0.2 / turns.share**3
        turns.go_on(asked)
        assert turns.whole == pytest.approx(np.minimum(asked, 1.0))
    assert turns.eased
    assert turns.share == pytest.approx(0.2**0.25, rel=1e-6)
    assert turns.whole == pytest.approx(turns.share, rel=1e-6)


def test_the_meshes_tell_the_error_of_a_spot_in_its_state_at_another_fit_too():
    def spot(part, x, stress, error, sharp=False):
        return SimpleNamespace(
            part=part, x_mm=x, y_mm=0.0, size_mm=0.5, principal_mpa=stress, error_mpa=error,
            sharp=sharp,
        )  # fmt: skip

    warm = (
        spot("tie", 50.0, 200.0, 4.0), spot("tie", 80.0, 100.0, 50.0),
        spot("barrel", 50.0, 10.0, 9.0), spot("tie", 50.1, 100.0, 99.0, sharp=True),
    )  # fmt: skip
    life = FittedLife.__new__(FittedLife)
    stands = SimpleNamespace(hot_spots={WARM_GAS: warm, COLD_GAS: (spot("tie", 50.0, 100.0, 5.0),)})
    asked = spot("tie", 50.2, 190.0, 0.1)
    for life.stands, life._stood in ((stands, None), (None, stands)):
        assert life.mesh_error(asked, EngineState.WARM) == pytest.approx(0.02)
        assert life.mesh_error(asked, EngineState.COLD) == pytest.approx(0.05)
        assert life.mesh_error(spot("liner", 50.0, 1.0, 0.0), EngineState.WARM) == 0.0
    life.stands = life._stood = None
    assert life.mesh_error(asked, EngineState.WARM) == 0.0

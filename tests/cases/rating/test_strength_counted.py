"""Strengths as they are counted, limits and lives of three rings, each pulled evenly along x.

The rings are never solved: their stress without gas and what the gas adds to it are given, so that
every limit and every life follows by hand (derived). Mean-stress lines and Basquin's line: Dowling,
*Mechanical Behavior of Materials*, ch. 9 (from memory).
"""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from pulled import (
    CAST,
    COLD,
    SINGLE,
    SWT,
    USUAL,
    WARM,
    WROUGHT,
    Pulled,
    case_with,
    three_rings,
    uniaxial,
)

from cases.gas.cycle import Engine, run_engine
from cases.gas.cylinder import Crank
from cases.gas.solve import GasLoad
from cases.gas.trace import Scatter
from cases.gas.wall_load import WallLoad
from cases.life.given import InsertFit, SideFit
from cases.life.life import FittedLife
from cases.rating.given import Rating
from cases.rating.judge import Judge, untold_strengths
from cases.rating.limit import rate_design, stands
from cases.rating.result import FATIGUE, TENSILE, YIELD, Stands
from cases.rating.shares import counted, judge, wanted_cycles
from cases.rating.solve import judge_of
from cases.rating.words import limit_meaning


@pytest.fixture(scope="module")
def layers():
    return three_rings()


def test_knock_downs_come_off_each_strength_once():
    """Casting quality 0.7 comes off all three; reliability off none, as draws do that."""
    wishes = replace(USUAL, reliability=0.99)
    cast, wrought = (
        counted(wishes, metal, np.array([20.0]), cycles=1e6) for metal in (CAST, WROUGHT)
    )
    borne = 90 * 100**0.1
    assert wrought.yield_mpa == pytest.approx(200.0)
    assert wrought.tensile_mpa == pytest.approx(300.0)
    assert wrought.fatigue_mpa == pytest.approx(borne, rel=1e-5)
    assert cast.yield_mpa == pytest.approx(140.0)
    assert cast.tensile_mpa == pytest.approx(210.0)
    assert cast.fatigue_mpa == pytest.approx(0.7 * borne, rel=1e-5)


def test_what_a_case_leaves_out_is_on_the_safe_side_as_the_trade_has_it():
    """0.7 is the least that the note of EN 1706 gives of castings (from memory). Full load while
    cold for minutes a day comes to some 1e5 cycles, peaks differ by 5 %, walls by 0.3 mm (common
    practice, no source)."""
    usual = Rating()
    assert (usual.casting_quality, usual.cycles, usual.cold_cycles) == (0.7, 1e7, 1e5)
    assert (usual.pressure_scatter, usual.wall_tolerance, usual.reliability) == (0.05, 0.3, 0.9)
    assert usual.mean_stress == "Goodman"


def test_more_cycles_leave_less_strength_and_life_does_not_hang_on_what_is_asked():
    """Ten times the cycles cost a factor 10^-0.1; the life under a stress stays what it is."""
    at = {
        cycles: judge(SWT, CAST, uniaxial(0.0), uniaxial(60.0), np.array([20.0]), cycles=cycles)
        for cycles in (1e6, 1e7)
    }
    assert at[1e7].shares[FATIGUE] == pytest.approx(10**0.1 * at[1e6].shares[FATIGUE])
    by_hand = 1e8 * (60 / np.sqrt(2) / (0.7 * 90)) ** -10
    for found in at.values():
        assert found.life_cycles == pytest.approx(by_hand)


def test_the_mean_is_weighed_by_the_strength_that_is_counted():
    """0 to 84 MPa is 42 about 42; of 0.7 x 300 = 210 MPa, by Goodman 42 / (1 - 0.2) = 52.5."""
    found = judge(USUAL, CAST, uniaxial(0.0), uniaxial(84.0), np.array([20.0]), cycles=1e8)
    assert found.reversed == pytest.approx(52.5)
    assert found.shares[FATIGUE] == pytest.approx(52.5 / 63)
    assert found.shares[TENSILE] == pytest.approx(84 / 210)
    assert found.shares[YIELD] == pytest.approx(84 / 140)
    held = judge(USUAL, CAST, uniaxial(50.0), uniaxial(134.0), np.array([20.0]), cycles=1e8)
    assert held.shares[YIELD] == pytest.approx(84 / 140)  # what the gas adds
    assert held.shares[TENSILE] == pytest.approx(134 / 210)  # all of it
    assert held.reversed == pytest.approx(42 / (1 - 92 / 210))


def test_each_state_has_its_own_cycles():
    """The warm engine has to last the most; without heat the only state is the one that lasts."""
    wishes = Rating(cycles=3e7, cold_cycles=2e4)
    heated, plain = case_with(wishes, heat=True), case_with(wishes)
    assert wanted_cycles(heated, WARM) == 3e7
    assert wanted_cycles(heated, COLD) == 2e4
    assert wanted_cycles(plain, COLD) == 3e7


def rated(layers, states, case, load=None):
    life = Pulled(layers, states, load)
    return rate_design(Judge(case, None, life.mesh), life)


def test_what_gas_adds_yields_and_fit_and_heat_do_not(layers):
    """100 idle and 42 more at gas against 0.7 x 200 MPa, half of that at 120 degC."""
    judge_ = Judge(case_with(), None, layers[0])
    for warmth, share in ((20.0, 42 / 140), (120.0, 42 / 70)):
        (cycle,) = Pulled(layers, {COLD: (warmth, {"barrel": (100.0, 42.0)})}).at_gas(1.0)
        assert judge_.yielding(cycle).share == pytest.approx(share)
    wrought = Judge(case_with(barrel=WROUGHT), None, layers[0])
    assert wrought.yielding(cycle).share == pytest.approx(42 / 100)


def test_two_thousandths_of_the_block_may_yield_and_not_more(layers):
    """A node between corners has a quarter of its two triangles, more than 0.2 % of this barrel and
    less than 2 %: pulled by 84 MPa beside 42 it counts; a corner at the edge is too little."""
    mesh = layers[0]
    (cycle,) = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 42.0)})}).at_gas(1.0)
    barrel = cycle.gas[0]
    between = np.setdiff1d(barrel.triangles[:, 3:], barrel.triangles[:, :3])
    times = np.bincount(barrel.triangles.ravel(), minlength=len(barrel.nodes))
    corners = np.setdiff1d(barrel.triangles[:, :3], between)
    judge_ = Judge(case_with(), None, mesh)
    found = []
    for rows in (between[times[between] == 2][:1], corners[times[corners] <= 3][:1]):
        stress = barrel.stress.copy()
        stress[0, rows] = 84.0
        pulled = (replace(barrel, stress=stress), *cycle.gas[1:])
        found.append(judge_.yielding(replace(cycle, gas=pulled)).share)
    assert found == pytest.approx([84 / 140, 42 / 140])


PAIR = replace(SINGLE, bores=2, pitch=88.0)
"""The wall between its two bores ends at x = 48."""


@pytest.mark.parametrize(
    ("block", "governs"), [(PAIR, False), (replace(PAIR, firing_bore=2), True), (SINGLE, True)]
)
def test_what_is_about_another_bore_is_not_rated(layers, block, governs):
    """Pulled three times as hard beyond that, by fatigue, tensile strength and yield."""
    (cycle,) = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 40.0)})}).at_gas(1.0)
    beyond = layers[0].points[:, 0] > 48.0
    gas = tuple(
        replace(layer, stress=np.where(beyond[layer.nodes], 3.0, 1.0) * layer.stress)
        for layer in cycle.gas
    )
    judge_ = Judge(case_with(SWT, block=block), None, layers[0])
    judged, harder = judge_(replace(cycle, gas=gas)), 3.0 if governs else 1.0
    for kind in (FATIGUE, TENSILE):
        assert judge_.peak(judged, kind).share == pytest.approx(
            harder * judge_.peak(judge_(cycle), kind).share
        )
    assert judge_.yielding(judged.cycle).share == pytest.approx(harder * 40 / 140)


def test_gas_is_raised_until_the_tensile_strength_is_used(layers):
    """60 MPa idle and 50 more at gas: 210 MPa at three times the gas, wear and yield later."""
    lasting = replace(CAST, yield_points=(), fatigue=None)
    states = {COLD: (20.0, {"barrel": (60.0, 50.0)})}
    found = rated(layers, states, case_with(barrel=lasting))
    assert found.limit.factor == pytest.approx(3.0, rel=5e-3)
    assert found.limit.pressure_mpa == pytest.approx(36.0, rel=5e-3)
    assert found.governing.kind == TENSILE
    assert found.used["tensile strength, cold"] == pytest.approx(110 / 210)


def test_gas_is_lowered_until_the_tensile_strength_is_not_passed(layers):
    """60 MPa idle and 300 more at gas: half of the gas is borne. 215 MPa idle: none of it."""
    brittle = replace(CAST, yield_points=(), fatigue=None)
    for idle, limit in ((60.0, 0.5), (215.0, 0.0)):
        states = {COLD: (20.0, {"barrel": (idle, 300.0)})}
        found = rated(layers, states, case_with(barrel=brittle))
        assert found.limit.factor == pytest.approx(limit, rel=5e-3)
        assert found.limit.pressure_mpa == pytest.approx(12 * limit, rel=5e-3)


def test_the_state_and_the_part_that_use_most_govern(layers):
    """Stress of 0 to s wears as s / sqrt(2), of Smith, Watson and Topper; the liner has least.

    The insert of wrought metal bears 90 (1e5 / 1e8)^-0.1 = 179.6 MPa when cold, at 20 MPa; the
    barrel when warm 0.5 x 0.7 x 90 (1e7 / 1e8)^-0.1 = 39.66 MPa, at 30 MPa.
    """
    weak = {"liner": (0.0, 5.0)}
    states = {
        WARM: (120.0, {"barrel": (0.0, 30.0), "insert": (0.0, 20.0), **weak}),
        COLD: (20.0, {"barrel": (0.0, 30.0), "insert": (0.0, 20.0), **weak}),
    }
    wishes = replace(SWT, cycles=1e7, cold_cycles=1e5)
    found = rated(layers, states, case_with(wishes, heat=True))
    warm = 0.5 * 0.7 * 90 * 10**0.1
    assert found.used["fatigue, warm"] == pytest.approx(30 / np.sqrt(2) / warm)
    assert found.used["fatigue, cold"] == pytest.approx(30 / np.sqrt(2) / (0.7 * 90 * 1000**0.1))
    assert found.governing.spot.part == "barrel"
    assert found.governing.state == WARM
    assert found.limit.factor == pytest.approx(warm / (30 / np.sqrt(2)), rel=5e-3)
    lives = {state: 1e8 * (30 / np.sqrt(2) / (0.7 * by * 90)) ** -10
             for state, by in ((WARM, 0.5), (COLD, 1.0))}  # fmt: skip
    assert found.life_cycles == {state: pytest.approx(life) for state, life in lives.items()}
    assert found.governing.life_cycles < lives[WARM]  # at the limit; the warm one, not the cold
    assert found.spots[0].life_cycles == pytest.approx(lives[WARM])


def test_each_place_is_as_weak_as_it_is_hot_itself(layers):
    """Pulled alike everywhere, 20 degC at 40 mm rising by 10 K/mm: at 50 mm half as strong."""
    mesh = layers[0]
    (cycle,) = Pulled(layers, {WARM: (20.0, {"barrel": (0.0, 42.0)})}).at_gas(1.0)
    radius = np.hypot(*mesh.points.T)
    cycle = replace(cycle, temperature=20 + 10 * (radius - 40))
    judged = Judge(case_with(heat=True), None, mesh)(cycle)
    shares = judged.layers[0].shares[TENSILE]
    at = radius[cycle.gas[0].nodes]
    assert shares[np.argmin(at)] == pytest.approx(42 / 210)
    assert shares[np.argmax(at)] == pytest.approx(42 / 105, rel=1e-6)


def test_an_insert_that_is_weaker_governs(layers):
    states = {COLD: (20.0, {"barrel": (0.0, 10.0), "insert": (0.0, 60.0)})}
    found = rated(layers, states, case_with(SWT))
    assert found.governing.spot.part == "insert"


@pytest.mark.parametrize(("side", "blind"), [(0.01, 0.5), (2.0, 3.0)])
def test_only_what_is_near_a_steep_place_is_judged_by_the_critical_distance(side, blind):
    """Half a millimetre about it, or one and a half elements where those are larger."""
    height = side * np.sqrt(3) / 2
    corners = np.array([[0, 0], [side, 0], [side / 2, height]])
    middles = (corners + np.roll(corners, -1, axis=0)) / 2
    beside = np.array([[0.98 * blind, 0], [1.02 * blind, 0]])
    mesh = SimpleNamespace(
        points=np.concatenate([corners, middles, beside]), triangles=np.arange(6)[None], corners=()
    )
    judge_ = Judge(case_with(), None, mesh, [(0.0, 0.0)])
    assert judge_.steep[-2:].tolist() == [True, False]
    assert judge_.steep[0]


def test_ends_of_a_joint_or_bond_and_sharp_places_are_steep(layers):
    """Where bond or joint end in a fitted one, and what its steps found to be sharp; hot spots that
    are sharp in one of one piece."""
    mesh = layers[0]
    middle = {tuple(mesh.points[mesh.triangles[at, 0]]) for at in (0, len(mesh.triangles) // 2)}
    (x, y), (u, v) = sorted(middle)
    spots = [
        SimpleNamespace(x_mm=x, y_mm=y, sharp=True), SimpleNamespace(x_mm=u, y_mm=v, sharp=False)
    ]  # fmt: skip
    solved = SimpleNamespace(hot_spots=spots)
    fitted = FittedLife.__new__(FittedLife)
    fitted.mesh, fitted.bond_ends = mesh, lambda: [(u, v)]
    fitted.fit = InsertFit(sides={"barrel": SideFit(bonded=True)}, pressed=())
    at = [int(np.hypot(*(mesh.points - place).T).argmin()) for place in ((x, y), (u, v))]
    chain = mesh.edges["bore"][:9, 0]
    joined = np.arange(len(chain) - 1)
    pairs = SimpleNamespace(
        own=chain, sides=np.stack([joined, joined + 1], axis=1), gap=np.zeros(len(chain))
    )
    fitted.cold = SimpleNamespace(pairs=pairs)
    far = np.hypot(*(mesh.points - [[x, y]]).T).argmax()
    grown = SimpleNamespace(x_mm=mesh.points[far, 0], y_mm=mesh.points[far, 1], sharp=True)
    fitted.stands = SimpleNamespace(hot_spots={WARM: (spots[1], grown)})
    for life, steep in ((Pulled(layers, {}), [True, False]), (fitted, [False, True])):
        judge_ = judge_of(case_with(), None, solved, life)
        assert judge_.steep[at].tolist() == steep
        ends = judge_.steep[chain[[0, -1]]]
        assert ends.all() if life is fitted else not ends.any()
        assert not judge_.steep[chain[4]]
        assert judge_.steep[far] == (life is fitted)


def test_strengths_that_are_not_known_so_hot_are_told(layers):
    """The tensile strength is known to 120 degC, the yield strength to 200 degC: one is enough."""
    known = ((20.0, 200.0), (120.0, 140.0), (200.0, 100.0))
    metal = replace(CAST, yield_points=known)
    life = Pulled(layers, {WARM: (150.0, {})})
    judge_ = Judge(case_with(barrel=metal), None, layers[0])
    notes = untold_strengths(judge_, life.at_gas(1.0))
    assert any(note.startswith("cast metal: its strengths are known up to 120") for note in notes)


ENGINE = Engine(
    crank=Crank(bore=80, stroke=84, rod=140, compression_ratio=9.0),
    cylinders=4, speed=6000.0, intake_pressure=0.2, intake_temperature=50.0, air_fuel_ratio=12.0,
    fuel_heating_value=43000.0, combustion_efficiency=0.85, burn_duration=60.0, burn_centre=9.0,
    wall_temperature=180.0, mechanical_efficiency=0.85, volumetric_efficiency=0.95,
)  # fmt: skip


@pytest.fixture(scope="module")
def engine_load():
    cycle = run_engine(ENGINE)
    wall = WallLoad(
        curve=cycle.curve, cycle=cycle, top_ring=6.0, crown_below_deck=0.0, section_depth=24.0,
        factor=1.2, crankcase=0.15,
    )  # fmt: skip
    return GasLoad(
        peak_pressure=wall.peak, pressurised_depth=wall.line_load / wall.peak, factor=1.2,
        wall_load=wall, speed=6000.0,
    )  # fmt: skip


def test_an_engine_that_just_stands_its_load_is_told_as_it_runs(engine_load):
    """At a factor of one the limit is the engine as stated, its boost above the atmosphere."""
    found = stands(engine_load, 1.0)
    cycle = engine_load.wall_load.cycle
    assert found.intake_mpa == pytest.approx(0.2, rel=1e-6)
    assert found.boost_mpa == pytest.approx(0.2 - 0.101325, rel=1e-6)
    assert found.power_kw == pytest.approx(cycle.power, rel=1e-6)
    assert found.wall_mpa == pytest.approx(1.2 * cycle.peak - 0.15, rel=1e-6)
    assert found.pressure_mpa == pytest.approx(cycle.peak - 0.101325, rel=1e-6)


def test_a_limit_of_a_stated_peak_is_that_of_the_mean_cycle():
    """12 MPa on the wall of a mean peak of 10 MPa: 1.5 times that are 18 and 15 MPa."""
    load = GasLoad(peak_pressure=1.2 * 10.0, pressurised_depth=20.0, factor=1.2)
    found = stands(load, 1.5)
    assert (found.wall_mpa, found.pressure_mpa) == (pytest.approx(18.0), pytest.approx(15.0))


def test_a_limit_by_crank_angle_is_read_behind_crankcase_factor_and_air(engine_load):
    """(wall + 0.15) / 1.2 is the gas; a gauge reads 0.101325 MPa less than an absolute sensor."""
    load = engine_load.wall_load
    measured = replace(engine_load, wall_load=replace(load, cycle=None))
    wall = 1.5 * (1.2 * load.curve.peak - 0.15)
    found = stands(measured, 1.5)
    assert found.wall_mpa == pytest.approx(wall)
    assert found.pressure_mpa == pytest.approx((wall + 0.15) / 1.2 - 0.101325)
    absolute = stands(replace(measured, absolute=True), 1.5)
    assert absolute.pressure_mpa == pytest.approx((wall + 0.15) / 1.2)
    assert (found.boost_mpa, found.power_kw) == (None, None)
    assert stands(measured, 0.0).pressure_mpa == pytest.approx(0.15 / 1.2 - 0.101325)


LIMITS = [
    SimpleNamespace(name=name, found={"rating": SimpleNamespace(stands=limit, told_band=None)})
    for name, limit in (
        ("bare", Stands(factor=1.0, pressure_mpa=10.0, wall_mpa=10.0)),
        ("deep", Stands(factor=1.5, pressure_mpa=15.0, wall_mpa=15.0)),
        ("beyond", None),
    )
]
MEASURED = Scatter(cycles=100, mean=8.0, deviation=0.4, of_mean=7.9)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({}, ". It is a gauge pressure. Neither is given here, so it is for a smooth "
                     "cycle; a factor of 1.3 would leave bare 77 bar, deep 115 bar. Give a trace",
                     id="smooth"),
        pytest.param({"factor": 1.2}, "; what is rated is the mean cycle times 1.2 for detonation.",
                     id="detonation"),
        pytest.param({"factor": 9.2 / 7.9, "scatter": MEASURED},
                     "times 1.165 for the scatter of the trace.", id="scatter"),
        pytest.param({"factor": 1.1 * 9.2 / 7.9, "scatter": MEASURED, "absolute": True},
                     ". It is an absolute pressure; what is rated is the mean cycle times 1.165 "
                     "for the scatter of the trace, times 1.1 for detonation.", id="both"),
    ],
)  # fmt: skip
def test_what_a_limit_in_bar_means(changes, words):
    gas = replace(GasLoad(peak_pressure=10.0, pressurised_depth=20.0), **changes)
    said = limit_meaning(gas, LIMITS)
    assert said.startswith(
        "A limit is nominal: nothing is drawn, and half of such blocks carry less. The limit in "
        "bar is the mean cycle's peak as a sensor would read it, with scatter and detonation "
        "factor allowed for."
    )
    assert words in said


def test_an_engine_of_four_strokes_fires_every_second_turn(layers, engine_load, monkeypatch):
    """6000 rpm are 180,000 cycles an hour; the warm life counts, as cold it is soon warm."""
    monkeypatch.setattr(
        "cases.rating.limit.stands", lambda _, factor: Stands(factor=factor, pressure_mpa=10.0)
    )
    states = {
        WARM: (120.0, {"barrel": (0.0, 30.0)}),
        COLD: (20.0, {"barrel": (0.0, 30.0)}),
    }
    case = case_with(replace(SWT, cold_cycles=1e5), heat=True)
    found = rated(layers, states, case, engine_load)
    assert found.life_hours == pytest.approx(found.life_cycles[WARM] / 180_000)


def test_a_limit_is_no_surer_than_the_meshes_tell(layers):
    """By how far the stress at the place that governs moved in its state, over its stress."""
    lasting = replace(CAST, yield_points=(), fatigue=None)
    life = Pulled(layers, {COLD: (20.0, {"barrel": (0.0, 50.0)})})
    life.told = {("barrel", COLD): 40.0, ("barrel", WARM): 90.0, ("insert", COLD): 70.0}
    limit = rate_design(Judge(case_with(barrel=lasting), None, life.mesh), life).limit
    assert limit.error == pytest.approx(40.001 * limit.factor, rel=1e-3)

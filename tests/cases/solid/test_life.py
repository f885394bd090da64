"""A solid as it is made: films by depth, what heat and fit do, what can't be told."""

from copy import copy
from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, ENGINE, FIT, GAS, HEAT, RING, TIES

from cases import RunError, solve_solid
from cases.coolant.film import wet_film
from cases.gas.solve import at_load, gas_load
from cases.life.given import life_given
from cases.life.life import SAME_TEMPERATURE
from cases.life.steps import EngineState
from cases.solid.gas import HELD, instants
from cases.solid.heat import films_of, reached, worked_out
from cases.solid.joint import joint_sides
from cases.solid.life import (
    Conduction,
    FittedSolidLife,
    OnePieceSolid,
    life_materials,
    solid_fits,
    solid_life,
)
from cases.solid.planes import CUT_LIMITS
from cases.solid.profiles import growth_down
from cases.solid.solve import _meshed
from fea.closed_form.fits import fitted_pressure
from fea.solid import SolidModel

LOW = 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\nmaterial = "A356-T6"\n'
SHORT = BLOCK.replace('material = "A356-T6"\n', LOW)


def lived(case, name):
    design = next(one for one in case.designs if one.name == name)
    load = gas_load(case)
    return solid_life(case, design, load, instants(case, load), _meshed(case, design, "coarse"))


@pytest.mark.parametrize("gas", [GAS, ENGINE])
def test_the_gas_film_is_what_is_stated_in_the_mean_over_a_depth(case_of, gas):
    """By crank angle it is hottest at the deck; a static load's reaches as deep as that."""
    case = case_of(SHORT.replace(GAS, gas), TIES, BARE, HEAT)
    share = reached(gas_load(case), 30.0)
    depth = np.linspace(0, 30.0, 4001)
    assert np.trapezoid(share(depth), depth) / 30.0 == pytest.approx(1, rel=2e-3)
    assert (np.diff(share(np.linspace(0, 60, 200))) <= 1e-12).all()
    if gas is ENGINE:
        assert share(np.zeros(1))[0] > 1.5 * share(np.array([20.0]))[0] > 0


def test_every_wetted_face_has_its_film(case_of):
    case = case_of(SHORT, TIES, BARE, RING, HEAT)
    mesh = _meshed(case, case.designs[1], "coarse")
    films = films_of(life_given(case).heat, case, gas_load(case), mesh)
    assert {"bore", "jacket", "undersides"} <= set(films)
    assert not {"cut", "crankcase"} & set(films)


@pytest.mark.parametrize("heat", [HEAT, "[heat]\n" + HEAT.split('700 degC"\n')[1]])
def test_the_section_depth_makes_no_solid_hotter(case_of, heat):
    """Stated or worked out, the film at each depth is the same for any H."""
    depth = np.linspace(0.0, 60.0, 31)
    found = []
    for high in (18, 24, 34):
        text = SHORT.replace(GAS, ENGINE).replace('"24 mm"', f'"{high} mm"')
        case = case_of(text, TIES, BARE, heat)
        mesh = _meshed(case, case.designs[0], "coarse")
        film = films_of(life_given(case).heat, case, gas_load(case), mesh)["bore"]
        found.append(film.coefficient(depth))
    assert found[0].max() > 1.5 * found[0].mean()
    np.testing.assert_allclose(found, np.broadcast_to(found[0], (3, 31)), rtol=0.01)


def test_a_worked_out_film_is_that_of_the_section_in_the_mean(case_of):
    """Coefficient, and heat to a wall of any temperature, over the section depth."""
    case = case_of(
        SHORT.replace(GAS, ENGINE), TIES, BARE, "[heat]\n" + HEAT.split('700 degC"\n')[1]
    )
    load = gas_load(case).wall_load
    depth = np.linspace(0.0, load.section_depth, 4001)
    coefficient, temperature = worked_out(load).at(depth)
    mean, hot = load.film
    assert np.trapezoid(coefficient, depth) / depth[-1] == pytest.approx(mean, rel=5e-3)
    flow = np.trapezoid(coefficient * temperature, depth) / depth[-1]
    assert flow == pytest.approx(mean * hot, rel=5e-3)
    assert worked_out(load).at(np.array([300.0]))[0][0] < 1e-3 * mean
    below = np.linspace(85.0, 95.0, 11)  # where only rings come: their heat, by no film
    film, hotter = worked_out(load).at(below)
    assert film * (hotter - 180) == pytest.approx(load.heat_by_rings(below), rel=0.02, abs=1e-4)


def test_what_the_burn_leaves_insulates_the_bore(case_of):
    """A layer of 50 um at 0.5 W/(m K) takes 1e-4 m2 K/W, in row with the film at each depth."""
    layer = 'deposit = "50 um"\ndeposit_conductivity = "0.5 W/(m K)"\n'
    depth = np.linspace(0.0, 30.0, 7)
    clean, fouled = (
        films_of(life_given(case).heat, case, gas_load(case), mesh)["bore"].at(depth)[0]
        for text in (HEAT, HEAT.replace("[heat]\n", f"[heat]\n{layer}"))
        for case in [case_of(SHORT.replace(GAS, ENGINE), TIES, BARE, text)]
        for mesh in [_meshed(case, case.designs[0], "coarse")]
    )
    assert 1e-6 / fouled == pytest.approx(1e-6 / clean + 1e-4, rel=1e-9)


def test_water_that_boils_wets_a_solid_too(case_of):
    """The same curve as in the section, on every face that the coolant wets."""
    flows = HEAT.replace('coolant_film = "5000 W/(m2 K)"\n', "")
    case = case_of(SHORT, TIES, BARE, flows, '[coolant]\nflow = "120 L/min"\n')
    mesh = _meshed(case, case.designs[0], "coarse")
    films = films_of(life_given(case).heat, case, gas_load(case), mesh)
    assert films["jacket"] is films["undersides"] is wet_film(case.given["coolant"]).curve


def test_what_is_bare_and_cold_is_one_piece(case_of):
    case = case_of(SHORT, TIES, BARE)
    made, one = (solve_solid(case, "bare", joint, setting="coarse")
                 for joint in ("as made", "one piece"))  # fmt: skip
    assert [spot.principal_mpa for spot in made.worst] == pytest.approx(
        [spot.principal_mpa for spot in one.worst]
    )
    np.testing.assert_allclose(made.growth_um, one.growth_um, atol=1e-9)


def test_a_press_loads_the_metal_that_little_gas_is_held_against(case_of):
    """Stress of the press misses a share of the press across a plane, however little the gas."""
    light = SHORT.replace('"120 bar"', '"20 bar"')
    state = solve_solid(case_of(light, TIES, RING, FIT), "ring", "as made", setting="coarse")
    assert 0 < state.checks.cut_force_ratio < CUT_LIMITS["coarse"]


def test_a_fit_counts_from_the_pocket_with_its_liner_in(case_of):
    """What a liner that is cast in presses the barrel out by is none of the insert's press, nor of
    what that does to the bore."""
    presses, grown = [], []
    for held in (1, 60):
        lined = SHORT.replace(
            'barrel_wall = "8 mm"',
            'barrel_wall = "6 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"\n'
            f'liner_interference = "{held} um"',
        )
        life = lived(case_of(lined, RING, FIT), "ring")
        presses.append(
            [
                side.pressing_force_n
                for side in joint_sides(life, EngineState.COLD, 0)
                if side.step == "pressed in"
            ]
        )
        grown.append(growth_down(life.mesh, life.pressed_by)[1])
    assert presses[1] == pytest.approx(presses[0], rel=2e-3)
    assert grown[0].min() < -2  # um
    np.testing.assert_allclose(grown[1], grown[0], atol=0.02)
    idle = life.idle(EngineState.COLD)
    assert np.ptp(growth_down(life.mesh, idle.displacement)[1] - grown[1]) > 0.2


def test_the_fitted_tells_where_the_block_stands_before_its_insert_is_in(case_of):
    """As the bare block does, meshed by itself, whose cast-in liner has pressed it."""
    lined = SHORT.replace(
        'barrel_wall = "8 mm"',
        'barrel_wall = "6 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"\n'
        'liner_joint = "cast in"\nliner_interference = "60 um"',
    )
    case = case_of(lined, RING, FIT, BARE)
    bare, ring = case.designs
    meshes = [_meshed(case, one, "coarse") for one in (ring, bare)]
    life = solid_life(case, ring, gas_load(case), instants(case, gas_load(case)), meshes[0])
    metals = {of: life_materials(case, bare)[of] for of in meshes[1].parts}
    alone = SolidModel(meshes[1], metals, HELD).at(np.full(len(meshes[1].points), 20.0))
    moved = alone.solve(np.zeros_like(meshes[1].points)).displacement
    expected = growth_down(meshes[1], moved)[1].mean(axis=1)
    found = growth_down(life.mesh, life.fitted[EngineState.COLD]._moved_alone())[1].mean(axis=1)
    assert expected[0] > 20  # um
    np.testing.assert_allclose(found[[0, -1]], expected[[0, -1]], rtol=0.03)  # levels are others


@pytest.fixture(scope="module")
def fitted(case_of):
    return lived(case_of(SHORT, TIES, RING, FIT, HEAT), "ring")


def test_a_press_squeezes_the_insert_and_warms_it_with_the_block(fitted):
    assert isinstance(fitted, FittedSolidLife)
    pressed = fitted._idle[EngineState.COLD]
    assert pressed.closed.any()
    assert (pressed.pressure[pressed.closed] >= 0).all()
    np.testing.assert_allclose(pressed.solution.reactions.sum(axis=0), 0, atol=1.0)
    warm = fitted.temperature
    assert 90 <= warm.min() < warm.max() < 700
    mesh = fitted.mesh
    insert = np.unique(mesh.prisms[mesh.part == mesh.parts.index("insert")])
    assert warm[insert].mean() < warm[np.unique(mesh.sides["bore"])].max()


def test_gas_starts_from_the_warm_step_and_grows_the_bore(fitted):
    (state,) = fitted.states(EngineState.WARM)
    half, more = (
        fitted.states(EngineState.WARM, factor)[0].solution.displacement for factor in (0.5, 2.0)
    )
    bore = np.unique(fitted.mesh.sides["bore"])
    out = fitted.mesh.points[bore, :2] / 40.0

    def grown(of):
        return float((of[bore, :2] * out).sum(axis=1).mean())

    idle = fitted.idle(EngineState.WARM).displacement
    assert grown(idle) < grown(half) < grown(state.solution.displacement) < grown(more)


def test_joint_by_side_adds_up_to_what_presses_the_pairs(fitted):
    """Warm, gas presses the barrel's side harder; all pairs lie about the bore that fires here."""
    sides = joint_sides(fitted, EngineState.WARM, 0)
    (gas,) = fitted.states(EngineState.WARM)
    states = {
        "pressed in": fitted._idle[EngineState.COLD], "warm": fitted._idle[EngineState.WARM],
        "warm at gas": gas,
    }  # fmt: skip
    assert list(dict.fromkeys(side.step for side in sides)) == list(states)
    area = fitted.fitted[EngineState.COLD].area
    for step, state in states.items():
        own = {side.against: side for side in sides if side.step == step}
        assert {"barrel", "outer wall"} <= own.keys()
        assert {side.part for side in own.values()} == {"insert"}
        total = sum(side.pressing_force_n for side in own.values())
        assert total == pytest.approx(state.force.sum())
        opened = area[~state.closed].sum() / area.sum()
        shares = [side.open_share for side in own.values()]
        assert min(shares) <= opened <= max(shares)
        slip = 1000 * np.hypot(*state.slip)[state.closed].max()
        assert max(side.slip_um for side in own.values()) == pytest.approx(slip)
    force = {side.step: side.pressing_force_n for side in sides if side.against == "barrel"}
    assert force["warm"] < force["warm at gas"]


class Flickering:
    """Heat that is warmer and colder by turns."""

    found = None

    def __init__(self, of, by):
        self.of, self.by = of, by

    def solve(self, touching):
        self.by = -self.by
        return self.of + self.by / 2


@pytest.mark.parametrize("by", [2.0, 7.0])
def test_heat_that_does_not_settle_with_the_joint_is_no_result(fitted, monkeypatch, by):
    near = copy(fitted)
    near.fitted, near._idle = dict(fitted.fitted), dict(fitted._idle)
    monkeypatch.setattr(near, "_conducting", lambda *_: Flickering(fitted.temperature, by))
    if by < SAME_TEMPERATURE:
        near._warm_up()
        return
    place = r"at \d+:\d\d of bore 1, [\d.]+ mm down"
    with pytest.raises(RunError, match=rf'"ring": heat and joint .* by {by:.0f} K {place}'):
        near._warm_up()


class Eased:
    """Shares that stand still, where what is asked for is none."""

    eased = True

    def __init__(self, _, share):
        self.share, self.whole = share, np.zeros_like(share)

    def go_on(self, found):
        """As it is."""


class ByShare:
    """Heat that is warmer the more a joint conducts."""

    found = None

    def __init__(self, of, by):
        self.of, self.by = of, by

    def solve(self, touching):
        return self.of + self.by * touching.any()


@pytest.mark.parametrize("by", [2.0, 7.0])
def test_heat_settles_by_all_that_a_turn_asks_for(fitted, monkeypatch, by):
    """What a turn goes moves nothing; what it asks for as a whole moves the temperature."""
    near = copy(fitted)
    near.fitted, near._idle = dict(fitted.fitted), dict(fitted._idle)
    monkeypatch.setattr(near, "_conducting", lambda *_: ByShare(fitted.temperature - by, by))
    monkeypatch.setattr("cases.solid.life.Turns", Eased)
    if by < SAME_TEMPERATURE:
        near._warm_up()
        return
    with pytest.raises(RunError, match=f"the temperature still moves by {by:.0f} K"):
        near._warm_up()


def test_the_heat_of_another_load_is_that_of_the_load(fitted, monkeypatch):
    near, asked = copy(fitted), []

    def conducting(load, *_):
        asked.append(load)
        return ByShare(fitted.temperature, 5.0)

    monkeypatch.setattr(near, "_conducting", conducting)
    other = replace(fitted.load)
    warm = near.conducted(other)
    assert asked[0] is other
    np.testing.assert_allclose(warm.temperature, fitted.temperature + 5.0)


@pytest.mark.parametrize("more", [1.0, 1.4])
def test_a_solid_is_heated_by_another_load_as_if_it_were_drawn_for_it(case_of, more):
    """Conduction that is kept, and one anew; hotter by more load."""
    text = SHORT.replace(GAS, ENGINE)
    case = case_of(text, TIES, BARE, "[heat]\n" + HEAT.split('700 degC"\n')[1])
    load, heat = gas_load(case), life_given(case).heat
    mesh, materials = (
        _meshed(case, case.designs[0], "coarse"),
        life_materials(case, case.designs[0]),
    )
    first = Conduction(heat, case, load, mesh, materials, None)
    cooler, other = first.solve(), at_load(load, more)
    found = first.under(other).solve()
    np.testing.assert_allclose(
        found, Conduction(heat, case, other, mesh, materials, None).solve(), atol=0.05
    )
    assert (found.max() > cooler.max() + 5) == (more > 1)


def test_fits_are_half_of_the_interference_and_a_ledge_stands_free(fitted):
    fit = life_given(fitted.case).fits["ring"]
    fits = solid_fits(fit, ("barrel", "outer wall", "tie", "ledge"))
    assert fits["barrel"].overlap == pytest.approx(0.02)
    assert fits["ledge"].overlap == 0
    assert not fits["ledge"].bonded
    assert fits["ledge"].friction == 0.12


def test_without_gas_and_heat_scaling_is_linear(case_of):
    life = lived(case_of(SHORT, TIES, BARE), "bare")
    assert isinstance(life, OnePieceSolid)
    one, two = (life.at_gas(EngineState.COLD, factor)[0] for factor in (1.0, 2.0))
    np.testing.assert_allclose(two.displacement, 2 * one.displacement)


PLAIN = """\
job = "ring (invented)"
[block]
bore = "90 mm"
liner = "7 mm"
liner_material = "grey iron class 30"
barrel_wall = "23 mm"
material = "A356-T6"
crankcase_floor = "20 mm"
liner_joint = "pressed"
liner_interference = "100 um"
[gas]
peak_pressure = "90 bar"
pressurised_depth = "20 mm"
[section]
mesh = "coarse"
depth = "20 mm"
"""


def of_rings(case, rise=0.0, gas=0.0):
    """Lame's pressure of liner and barrel, 45/52/75 mm, 50 um too tight; free ends."""
    metals = [case.part_materials(case.designs[0])[part] for part in ("liner", "barrel")]
    return fitted_pressure(
        45, 52, 75, overlap=0.05, p_in=gas,
        inner=(metals[0].youngs_modulus, metals[0].poisson),
        outer=(metals[1].youngs_modulus, metals[1].poisson),
        expansion=tuple(metal.expansion for metal in metals), rise=(rise, rise),
    )  # fmt: skip


def test_a_liner_is_pressed_as_lame_has_it_and_opens_when_warm(case_of):
    """100 um on the diameter, gone with 100 K: q = 0 and the gap of free growth, no pull."""
    case = case_of(PLAIN, BARE)
    life = lived(case, "bare")
    assert isinstance(life, FittedSolidLife)
    cold = life._idle[EngineState.COLD]
    assert cold.closed.all()
    assert cold.pressure == pytest.approx(of_rings(case), rel=0.01)
    (fired,) = life.states(EngineState.COLD)
    assert fired.pressure == pytest.approx(of_rings(case, gas=9.0), rel=0.01)
    model = life.fitted[EngineState.COLD]
    rise = 100.0
    warm = model.at(np.full(len(life.mesh.points), 20 + rise)).solve(before=cold)
    parts = case.part_materials(case.designs[0])
    free = 52 * (parts["barrel"].expansion - parts["liner"].expansion) * rise - 0.05
    assert free > 0.001
    assert not warm.closed.any()
    assert (warm.force == 0).all()
    assert warm.gap.mean() == pytest.approx(free, rel=0.01)
    half = model.at(np.full(len(life.mesh.points), 20 + rise / 2)).solve(before=cold)
    assert half.pressure == pytest.approx(of_rings(case, rise / 2), rel=0.02)


OPENS = SHORT.replace('barrel_wall = "8 mm"', 'barrel_wall = "6 mm"').replace(
    "[gas]",
    'liner = "2 mm"\nliner_material = "grey iron class 30"\nliner_joint = "slip"\n'
    'liner_clearance = "20 um"\n[gas]',
)
LINER_HEAT = HEAT.replace("[heat]", '[heat]\nliner_conductance = "20000 W/(m2 K)"')


def test_insert_and_liner_are_joints_of_one_solid(case_of):
    """Gas presses the liner on where it reaches; the insert's sides keep their own fit."""
    life = lived(case_of(OPENS, TIES, RING, FIT), "ring")
    assert life.loose.parts == ("insert", "liner")
    assert life.loose.against("liner") == {"barrel"}
    fits = life._fits()
    assert fits["liner against barrel"].overlap == pytest.approx(-0.01)
    assert fits["insert against barrel"].overlap == pytest.approx(0.02)
    of_liner = life.loose.is_of("liner")[life.fitted[EngineState.COLD].corners]
    cold, (fired,) = life._idle[EngineState.COLD], life.states(EngineState.COLD)
    assert cold.force[of_liner].sum() < 0.3 * cold.force[~of_liner].sum()
    deep = life.mesh.points[life.loose.joint.own[life.fitted[EngineState.COLD].corners], 2] < -34
    assert fired.force[of_liner & ~deep].sum() > 10 * max(fired.force[of_liner & deep].sum(), 1.0)
    assert fired.force[of_liner].sum() > cold.force[of_liner].sum()


def test_heat_crosses_what_opens_behind_a_liner_by_its_gas(case_of):
    """A liner in one piece with the barrel runs cooler; the barrel grows away from this one."""
    hot = lived(case_of(OPENS, TIES, BARE, LINER_HEAT), "bare")
    cast = lived(
        case_of(OPENS.replace('"slip"', '"cast in"').replace('liner_clearance = "20 um"\n', ""),
                TIES, BARE, LINER_HEAT), "bare",
    )  # fmt: skip
    bores = [np.unique(life.mesh.sides["bore"]) for life in (hot, cast)]
    means = [
        float(life.temperature[bore].mean()) for life, bore in zip((hot, cast), bores, strict=True)
    ]
    assert means[0] > means[1] + 20
    gap = hot._idle[EngineState.WARM].gap
    assert gap.max() > 0.005


def test_neighbours_liners_stay_as_fitted(case_of):
    """Pressed in they stick with their overlap, with clearance they stay apart; none is sought."""
    two = OPENS.replace('bore = "80 mm"', 'bores = 2\npitch = "94 mm"\nbore = "80 mm"')
    for kind, key, stuck in (("slip", 'liner_clearance = "20 um"', False),
                             ("pressed", 'liner_interference = "30 um"', True)):  # fmt: skip
        text = two.replace('"slip"', f'"{kind}"').replace('liner_clearance = "20 um"', key)
        life = lived(case_of(text, BARE), "bare")
        model = life.fitted[EngineState.COLD]
        x, y, _ = life.mesh.points[model.joint.own[model.corners]].T
        far = np.hypot(x, y) > 45
        assert far.any()
        assert (model.stuck == (far & stuck)).all()
        assert (model.apart == (far & (not stuck))).all()
        (fired,) = life.states(EngineState.COLD)
        assert fired.solution.hold_reactions == pytest.approx(0, abs=1e-3)


GLUED = """\
[design.fit]
interference = "10 um"
friction = 0.12
[design.compound]
shear_strength = "2 MPa"
tensile_strength = "1 MPa"
largest_gap = "100 um"
friction = 0.02
"""


def test_what_gas_breaks_of_the_compound_is_broken_at_rest_as_well(case_of):
    """Pressed wet, cured; what the asked gas breaks, a tenth of it does not."""
    life = lived(case_of(SHORT, TIES, RING, GLUED), "ring")
    pressed = life._idle[EngineState.COLD]
    assert pressed.intact.all()
    (little,) = life.states(EngineState.COLD, 0.1)
    (more,) = life.states(EngineState.COLD, 1.0)
    assert not little.broken.all()
    assert more.broken.sum() > little.broken.sum()
    rest = life.rest_after(EngineState.COLD, 1.0)
    assert rest is life.rest_after(EngineState.COLD, 1.0)
    assert rest is not life.idle(EngineState.COLD)
    assert life.rest_after(EngineState.COLD, 0.01) is life.idle(EngineState.COLD)
    (again,) = life.states(EngineState.COLD, 0.1)
    np.testing.assert_array_equal(again.broken, little.broken)

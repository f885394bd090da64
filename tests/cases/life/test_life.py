"""Load steps: pressed in, honed, warm, at gas; fit, heat, ring and advice."""

import re
from dataclasses import replace

import numpy as np
import pytest
from bench import BARE, BLOCK, FIT, HEAT, RING, TIES
from three_rings import Rings
from unswept import solve_at_once, solve_unswept

from cases.base.faults import CaseError, RunError
from cases.base.workers import side_by_side
from cases.block.drawn import draw_all
from cases.gas.solve import gas_load
from cases.life.figures import pressure_around, service_figures, tie_figure
from cases.life.given import PistonRing, life_given
from cases.life.life import life_of
from cases.life.read import IDLE, read_life
from cases.life.result import is_lived, service_of
from cases.life.ring import ring_follow
from cases.life.tie_faces import most_open
from cases.report.page import write_report
from cases.report.results import results_dict, write_outputs
from cases.run import _longest_first, solve_case
from cases.stress.solve import START
from cases.subjects import SUBJECTS
from fea.bore import BoreShape
from fea.contact import SETTINGS
from fea.hotspots import along_spot
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

BONDED = """\
[design.fit]
bonded = true
"""


@pytest.fixture(scope="module")
def lived(case_of):
    return solve_case(case_of(BLOCK, HEAT, TIES, BARE, RING, FIT))


def lived_alone(case, mesh):
    """The life of the first design of a case, on a mesh that is solved already."""
    return life_of(case, case.designs[0], mesh, gas_load(case))


def lived_at_once(case):
    """The same on the first mesh, for what no finer one moves."""
    mesh = mesh_outline(draw_section(case.section(case.designs[0])), **START[case.mesh])
    return lived_alone(case, mesh)


def names(design):
    return [step.name for step in service_of(design).steps]


def test_steps_in_the_order_of_life(lived, case_of):
    bare, ring = lived.designs
    assert names(bare) == ["honed", "warm", "warm at gas", "cold at gas"]
    assert names(ring) == ["pressed in", "honed", "warm", "warm at gas", "cold at gas"]
    cold = solve_unswept(case_of(BLOCK, TIES, RING, FIT)).designs[0]
    assert names(cold) == ["pressed in", "honed", "cold at gas"]
    one_piece = solve_case(case_of(BLOCK, HEAT, TIES, RING)).designs[0]
    assert names(one_piece) == ["honed", "warm", "warm at gas", "cold at gas"]
    assert service_of(one_piece).pairs is None
    assert not is_lived(solve_case(case_of(BLOCK, TIES, BARE)).designs[0])


def test_three_rings_pressed_together_and_pulled_by_gas(case_of):
    rings = Rings()
    case = case_of(BLOCK, RING, FIT)
    service = service_of(solve_unswept(case).designs[0])
    for name, gas in (("pressed in", 0.0), ("cold at gas", 12.0)):
        step = service.step(name)
        q1, q2 = rings.pressures(gas)
        found = {side.against: side for side in step.joint.sides}
        assert step.joint.open_share == 0
        assert found["barrel"].mean_pressure_mpa == pytest.approx(q1, rel=5e-3)
        assert found["outer wall"].mean_pressure_mpa == pytest.approx(q2, rel=5e-3)
        pressing = 2 * np.pi * rings.insert * (rings.r1 * q1 + rings.r2 * q2)
        assert step.joint.hold_n == pytest.approx(0.12 * pressing, rel=5e-3)
    growth = [
        1000
        * rings.moved(
            *(rings.a, rings.a, rings.r1, rings.parent),
            p_in=gas,
            p_out=rings.pressures(gas)[0] * rings.share,
        )
        for gas in (0.0, 12.0)
    ]
    assert service.step("pressed in").bore.mean_growth_um == pytest.approx(growth[0], rel=3e-3)
    at_gas = service.step("cold at gas").bore.mean_growth_um
    assert at_gas == pytest.approx(growth[1] - growth[0], rel=3e-3)


def test_a_fitted_step_has_the_errors_that_its_two_meshes_tell(lived):
    service = service_of(lived.designs[1])
    coarse, fine = service.unknowns
    assert coarse < fine
    for step in service.steps:
        assert 0 <= step.joint.open_share_error < 0.1
        if step.name != "honed":  # round by definition
            assert 0 < step.bore.growth_error_um < 1
            assert 0 < step.bore.out_of_round_error_um < 2


def test_the_bore_counts_from_the_honed_circle(lived):
    ring = service_of(lived.designs[1])
    assert ring.step("pressed in").bore.mean_growth_um < -1
    assert ring.step("honed").bore.out_of_round_um == 0
    pressed, gas = (ring.step(name).solution.displacement for name in ("honed", "cold at gas"))
    assert np.abs(gas - pressed).max() > 0.01


@pytest.mark.parametrize("joint", ["cast in", "pressed"])
def test_a_fit_counts_from_the_pocket_with_its_liner_in(case_of, joint):
    """Whatever holds the liner, the insert presses alike; with no interference by nothing.

    Derived: from the bore before, growth goes as the pressure of the insert on the barrel.
    """
    pressed = {}
    for held, fit in ((1, 40), (60, 40), (60, 0)):
        lined = BLOCK.replace(
            'barrel_wall = "8 mm"',
            'barrel_wall = "6 mm"\nliner = "2 mm"\nliner_material = "grey iron class 30"\n'
            f'liner_joint = "{joint}"\nliner_interference = "{held} um"',
        )
        case = case_of(lined, RING, FIT.replace("40 um", f"{fit} um"))
        step = service_of(solve_at_once(case).designs[0]).step("pressed in")
        pressed[held, fit] = (
            step.bore.mean_growth_um,
            [side.mean_pressure_mpa for side in step.joint.sides],
        )
    (light, by_light), (held, by_held), (no_press, by_none) = pressed.values()
    assert by_held == pytest.approx(by_light, rel=2e-3)
    assert held == pytest.approx(light, rel=5e-3)
    assert max(by_none) < 1e-3 * min(by_held)
    assert no_press == pytest.approx(0, abs=1e-3)


def test_a_block_without_fit_moves_by_gas_as_it_did_cold(lived):
    bare = lived.designs[0]
    assert service_of(bare).step("cold at gas").bore.mean_growth_um == pytest.approx(
        bare.bore.mean_growth_um, rel=1e-9
    )


def test_heat_balances_and_deeper_metal_is_no_cooler(lived):
    bare, ring = (service_of(design).heat for design in lived.designs)
    for heat in (bare, ring):
        assert sum(heat.heat.values()) == pytest.approx(0, abs=1e-6 * heat.heat["gas"])
        assert heat.heat["gas"] > 0
    assert ring.joint_heat["insert"] > 0
    assert ring.hottest("barrel").temperature_degc > bare.hottest("barrel").temperature_degc


def test_a_cycle_is_what_gas_adds(lived):
    for design in lived.designs:
        cycles = service_of(design).ranges
        assert cycles
        for cycle in cycles:
            assert cycle.range_mpa == pytest.approx(abs(cycle.gas_mpa - cycle.idle_mpa))
            assert cycle.mean_mpa == pytest.approx((cycle.idle_mpa + cycle.gas_mpa) / 2)
        assert any(abs(cycle.idle_mpa) > 5 for cycle in cycles)  # heat pulls without gas


def test_a_spot_that_is_hot_without_gas_only_has_its_cycle(lived):
    """Every rated spot of both steps is within reach of one cycle of its part, and none twice."""
    for design in lived.designs:
        cycles = service_of(design).ranges
        for name in ("warm at gas", "warm"):
            step, mine = (
                service_of(design).step(name),
                [one for one in cycles if one.hot_in == name],
            )
            assert mine or not step.name.gas
            for cycle in mine:
                read = cycle.gas_mpa if step.name.gas else cycle.idle_mpa
                assert read == pytest.approx(cycle.spot.principal_mpa, rel=1e-9)
            for spot in step.hot_spots:
                near = [
                    one
                    for one in cycles
                    if one.spot.part == spot.part
                    and np.hypot(one.spot.x_mm - spot.x_mm, one.spot.y_mm - spot.y_mm)
                    < max(3.0, 2 * spot.size_mm)
                ]
                assert sum(one.hot_in == "warm at gas" for one in near) <= 1
                assert spot.sharp or near
                if any(one.hot_in == "warm at gas" for one in near):
                    assert len(near) == 1
    designs = results_dict(lived)["designs"]
    hot_in = {one["hot_in"] for design in designs for one in design["ranges"]}
    assert hot_in == {"warm at gas", "warm"}


def test_a_cycle_is_read_where_the_spot_was(case_of):
    """Also at the edge of a pocket, where regions of one part meet, each with its own stress."""
    pocket = """
    [[relief_cut]]
    clock = "2:45"
    radius = "52 mm"
    diameter = "15 mm"
    depth = "16 mm"
    """
    service = read_life(lived_at_once(case_of(BLOCK, pocket, TIES, RING, FIT)))
    assert all(step.hot_spots for step in service.steps)
    for step in service.steps:
        for spot in step.hot_spots:
            along = along_spot(step.stresses, spot)
            assert along == pytest.approx(spot.principal_mpa, rel=1e-6, abs=1e-6)


def test_heat_that_does_not_settle_is_no_result(case_of, lived, monkeypatch):
    case, mesh = case_of(BLOCK, HEAT, TIES, RING, FIT), lived.designs[1].mesh
    monkeypatch.setattr("cases.life.life.SAME_TEMPERATURE", -1.0)
    said = r'"ring", step "warm", heat and joint do not settle: .* at \d+:\d\d of bore 1 after'
    with pytest.raises(RunError, match=said):
        read_life(lived_alone(case, mesh))


def test_heat_crosses_the_joint_where_it_touches_when_warm(case_of, lived, monkeypatch):
    """Heat solved once more, with the joint as the warm step leaves it, is the same."""
    monkeypatch.setattr("cases.life.life.SAME_TEMPERATURE", 1e-6)
    clear = '[design.fit.outer_wall]\nclearance = "30 um"\n'
    case = case_of(BLOCK, HEAT, TIES, RING, FIT, clear)
    life = lived_alone(case, lived.designs[1].mesh)
    warm = read_life(life).step("warm").joint.contact
    assert not warm.closed.all()
    conducting = life.conducting(life.given.heat)
    again = conducting.solve(life.at_nodes(life.crossing(warm))).temperature
    assert life.heat.temperature == pytest.approx(again, abs=1e-6)
    assert np.abs(conducting.solve().temperature - again).max() > 0.1  # closed all along


def test_results_hold_every_step(lived):
    bare, ring = results_dict(lived)["designs"]
    assert [step["step"] for step in ring["steps"]] == names(lived.designs[1])
    assert bare["steps"][0]["contact"] is None
    warm = ring["steps"][3]
    assert {"hot_spots", "bore", "contact", "heat"} <= set(warm)
    assert len(warm["heat"]["bore_degc"]) == 360
    assert len(warm["contact"]["pairs"]["pressure_mpa"]) == len(
        service_of(lived.designs[1]).pairs.own
    )
    assert warm["yield_leaves_out"] == 0.002
    assert ring["ranges"][0]["range_mpa"] > 0


def test_what_takes_longest_is_begun_first(case_of):
    drawn = draw_all(case_of(BLOCK, TIES, BARE, RING), lambda name, stage: None)
    assert [drawn[at].name for at in _longest_first(drawn)] == ["ring", "bare"]


def test_side_by_side_gives_the_same_and_is_heard(lived):
    told = []
    subjects = [subject for subject in SUBJECTS if subject.key != "fit"]
    with side_by_side(2) as executor:
        again = solve_case(
            lived.case, lambda *stage: told.append(stage), executor, subjects=subjects
        )
    for design in again.designs:
        stages = [stage for of, stage in told if of == design.name]
        assert stages == ["draw", "mesh", "solve", "recover", "service", "done"]
    for one, other in zip(lived.designs, again.designs, strict=True):
        assert one.name == other.name
        for before, after in zip(service_of(one).steps, service_of(other).steps, strict=True):
            np.testing.assert_allclose(
                after.solution.displacement, before.solution.displacement, rtol=0, atol=1e-9
            )


def test_a_ring_follows_up_to_the_amplitude_of_the_formula():
    """Ft 20 N, E 120 GPa, 1.2 x 3.3 mm, r 41.35 mm: 0.36433, 0.05123, 0.014573 mm (derived)."""
    ring = PistonRing(
        radial_width=3.3, axial_height=1.2, youngs_modulus=120e3, tangential_force=20.0
    )
    hours = np.arange(360) / 30

    def bore(share, *orders):
        largest = {2: 364.33, 3: 51.23, 4: 14.573}
        angle = np.pi / 2 - np.pi / 6 * hours
        growth = sum(share * largest[n] * np.cos(n * angle) for n in orders)
        amplitudes = {str(n): share * largest[n] if n in orders else 0.0 for n in range(2, 13)}
        return BoreShape(hours, growth, 0.0, float(np.ptp(growth)), amplitudes)

    follow = ring_follow(bore(1.0, 3), ring, 82.7)
    assert follow.least_pressure == pytest.approx(0, abs=1e-3)
    assert [follow.largest_um[n] for n in "234"] == pytest.approx([364.33, 51.23, 14.573], rel=1e-4)
    assert ring_follow(bore(1.02, 3), ring, 82.7).leaking == ("3",)
    together = ring_follow(bore(0.7, 2, 4), ring, 82.7)
    assert together.leaking == ()
    assert together.least_pressure < 0  # each alone would be followed
    assert together.least_pressure_with_gas is None


def test_gas_behind_a_ring_presses_it_on_the_more():
    """20 N on 1.2 x 41.35 mm lie on the wall with 0.40306 MPa; half of 1 MPa adds 0.5 (derived)."""
    ring = PistonRing(
        radial_width=3.3, axial_height=1.2, youngs_modulus=120e3, tangential_force=20.0
    )
    hours = np.arange(360) / 30
    growth = 2 * 14.573 * np.cos(4 * (np.pi / 2 - np.pi / 6 * hours))
    amplitudes = {str(n): 2 * 14.573 if n == 4 else 0.0 for n in range(2, 13)}
    bore = BoreShape(hours, growth, 0.0, float(np.ptp(growth)), amplitudes)
    follow = ring_follow(bore, ring, 82.7, 1.0)
    assert follow.least_pressure == pytest.approx(-1.0, abs=1e-3)
    assert follow.least_pressure_with_gas == pytest.approx(1 - 2 * 0.40306 / 0.90306, abs=1e-3)


def test_clearance_that_never_closes_is_told(case_of):
    fit = FIT.replace('interference = "40 um"', 'clearance = "1.5 mm"')
    service = read_life(lived_at_once(case_of(BLOCK, TIES, RING, fit)))
    assert all(step.joint.open_share == 1 for step in service.steps)
    assert service.notes == (IDLE,)


def test_an_insert_that_shrinks_away_when_warm_is_told(case_of):
    """A ring that hardly expands, in a block that does: what holds it cold is lost warm."""
    invar = """
    [material."little growth"]
    youngs_modulus = "140 GPa"
    poisson = 0.29
    expansion = "1 um/(m K)"
    conductivity = "11 W/(m K)"
    source = "invented for this test"
    """
    outside = '[design.fit.barrel]\nclearance = "300 um"\n'
    ring = RING.replace("6061-T6", "little growth")
    case = case_of(BLOCK, HEAT, ring, FIT.replace("40 um", "30 um"), outside, invar)
    service = read_life(lived_at_once(case))
    assert service.step("pressed in").joint.open_share < 1
    assert service.step("warm").joint.open_share == 1
    assert any(note.startswith("warm: the insert touches") for note in service.notes)


def test_a_press_that_yields_the_block_is_refused(case_of):
    crushing = FIT.replace("40 um", "2 mm")
    with pytest.raises(
        RunError, match=r'"ring", step "pressed in", joint of insert and block.*half'
    ):
        solve_case(case_of(BLOCK, RING, crushing))


def test_contact_that_is_not_found_names_step_and_joint(case_of, monkeypatch):
    at_once = replace(SETTINGS, most_at_once=1, most_alone=1, most_iterations=1)
    monkeypatch.setattr("fea.contact.fitted.SETTINGS", at_once)
    where = (
        "joint of insert and block at the (barrel|outer wall|tie), 1?[0-9]:[0-5][0-9] of bore 1:"
    )
    with pytest.raises(RunError, match=f'"ring", step "[a-z ]+", {where} what touches'):
        solve_case(case_of(BLOCK, TIES, RING, FIT))


@pytest.mark.parametrize(
    ("texts", "place", "words"),
    [
        ((RING, FIT.replace("40 um", "-40 um")), "design[1].fit.interference",
         "-40 um is outside 0 to 2000 um. A fit is stated on the diameter; for the other sign give "
         "clearance"),
        ((RING, FIT.replace("0.12", "-0.12")), "design[1].fit.friction", "0"),
        ((RING, FIT + 'clearance = "2 um"\n'), "design[1].fit",
         "Both interference and clearance are given"),
        ((RING, '[design.fit]\nfriction = 0.1\n'), "design[1].fit",
         "Nothing is said of the sides barrel, outer_wall, ties."),
        ((RING, FIT + '[design.fit.barel]\nbonded = true\n'), "design[1].fit.barel",
         "Did you mean barrel?"),
        ((HEAT.replace("joint_conductance", "liner_conductance"), BARE), "heat.liner_conductance",
         "There is no liner"),
        ((HEAT.replace('joint_conductance = "6000 W/(m2 K)"\n', ""), RING, FIT), "heat",
         "Give joint_conductance"),
        ((HEAT.replace('"5000 W/(m2 K)"', '"0 W/(m2 K)"'), BARE), "heat", "no way out"),
        ((HEAT.replace('"90 degC"', '"-300 degC"'), BARE), "heat.coolant_temperature",
         "-273.15"),
        ((HEAT.replace('"90 degC"', '"4000 degC"'), BARE), "heat.coolant_temperature",
         "4000 degC is outside -60 to 160 degC"),
        ((HEAT.replace('gas_film = "250 W/(m2 K)"\n', ""), BARE), "heat", "It lacks gas_film"),
        ((HEAT.replace("[piston", 'gas_heat_flux = "200 kW/m2"\n[piston'), BARE), "heat",
         "or gas_heat_flux alone"),
        ((HEAT.replace('"250 W/(m2 K)"', '"-250 W/(m2 K)"'), BARE), "heat.gas_film",
         "-250 W/(m2 K) is outside 0"),
        ((HEAT.replace('"14 N"', '"0 N"'), BARE), "piston_ring.tangential_force", "0 N is outside"),
    ],
)  # fmt: skip
def test_wrong_fit_or_heat_is_refused(case_of, texts, place, words):
    with pytest.raises(CaseError) as refused:
        case_of(BLOCK, *texts)
    faults = {fault.path: fault.text for fault in refused.value.faults}
    assert place in faults
    assert words in faults[place]


def test_the_side_of_a_fit_can_differ(case_of):
    case = case_of(BLOCK, TIES, RING, FIT, '[design.fit.ties]\nclearance = "0.1 mm"\n')
    fit = life_given(case).fits["ring"]
    assert fit.pressed == ("barrel", "outer wall")
    assert fit.sides["tie"].interference == -0.1
    assert fit.sides["tie"].friction == 0.12
    assert fit.with_interference(0.01).sides["barrel"].interference == 0.01
    assert fit.with_interference(0.01).sides["tie"].interference == -0.1
    assert replace(fit, pressed=()).interference is None


def test_a_bonded_fit_is_the_block_in_one_piece(case_of):
    design = solve_case(case_of(BLOCK, TIES, RING, BONDED)).designs[0]
    cold = service_of(design).step("cold at gas")
    assert cold.joint.open_share == 0
    one, other = cold.hot_spots[0], design.hot_spots[0]  # on meshes of their own
    assert one.principal_mpa == pytest.approx(
        other.principal_mpa, abs=one.error_mpa + other.error_mpa
    )
    assert cold.joint.bonded


def test_a_bond_on_one_side_leaves_no_advice_and_no_hold(case_of, tmp_path, unpictured):
    bonded = "[design.fit.barrel]\nbonded = true\n"
    result = solve_at_once(case_of(BLOCK, TIES, RING, FIT, bonded), swept=True)
    service = service_of(result.designs[0])
    assert not service.notes
    write_outputs(result, tmp_path)
    text = re.sub(r"<[^>]+>", " ", (tmp_path / "report.html").read_text(encoding="utf-8"))
    assert "6. Fitted and at gas" in text
    assert text.count("bonded") >= 6  # hold of all and of the least, in three steps


def test_pressure_is_one_line_from_tie_to_tie_on_a_coarse_mesh(lived):
    design = lived.designs[1]
    for step in service_of(design).steps:
        if step.joint:
            hours, pressure = pressure_around(design, step, "barrel")
            assert np.isnan(hours).sum() == 1  # at the tie at 6:20; the one at 12:00 ends it
            assert np.isnan(pressure).sum() == 1


def test_sides_of_ties_bear_what_their_pairs_do(lived):
    """The tie at 12:00 stands along y, so x says which side; that at 6:20 turned by 190 deg."""
    service = service_of(lived.designs[1])
    pairs = service.pairs
    ties = pairs.against == "tie"
    place = service.mesh.points[pairs.own]
    turned = place @ np.array([np.cos(np.radians(190)), -np.sin(np.radians(190))])
    found_at = {
        "before 12:00": (place[:, 1] > 0) & (place[:, 0] < 0),
        "past 12:00": (place[:, 1] > 0) & (place[:, 0] > 0),
        "before 6:20": (place[:, 1] < 0) & (turned < 0),
        "past 6:20": (place[:, 1] < 0) & (turned > 0),
    }
    for step in service.steps:
        contact = step.joint.contact
        assert [face.name for face in step.joint.tie_faces] == list(found_at)
        for face in step.joint.tie_faces:
            of = ties & found_at[face.name]
            assert face.area_mm2 == pytest.approx(80, rel=0.3)  # 10 mm by 8 mm and fillets
            pressing = contact.force[of].sum()
            assert face.mean_pressure_mpa * face.area_mm2 == pytest.approx(pressing)
            opened = pairs.area[of & ~contact.closed].sum()
            assert face.open_share * face.area_mm2 == pytest.approx(opened)
    assert (
        results_dict(lived)["designs"][1]["steps"][3]["contact"]["tie_faces"][1]["side"] == "past"
    )


def test_ties_of_other_bores_keep_their_own_sides(case_of):
    """Two cross in the valley between bores, each the mirror image of the other."""
    bank = BLOCK.replace('"80 mm"', '"80 mm"\nbores = 2\npitch = "105 mm"', 1)
    ties = "".join(
        f'[[tie]]\nclock = "{clock}"\nwidth = "8 mm"\ndepth = "12 mm"\nbores = [{bore}]\n'
        for clock, bore in (("1:50", 1), ("6:00", 1), ("10:10", 2))
    )
    result = solve_at_once(case_of(bank, ties, RING, BONDED))
    service = service_of(result.designs[0])
    faces = service.step("pressed in").joint.tie_faces
    named = {(face.bore, face.name): face for face in faces}
    assert list(named) == [
        (bore, f"{side} {clock}")
        for bore, clock in ((1, "1:50"), (1, "6:00"), (2, "10:10"))
        for side in ("before", "past")
    ]
    area = service.pairs.area[service.pairs.against == "tie"].sum()
    assert sum(face.area_mm2 for face in faces) == pytest.approx(area)
    for side, mirrored in (("before", "past"), ("past", "before")):
        one, other = named[1, f"{side} 1:50"], named[2, f"{mirrored} 10:10"]
        assert one.area_mm2 == pytest.approx(other.area_mm2, rel=0.05)
    ticks = tie_figure(result.designs).axes[1].get_xticklabels()
    assert [tick.get_text() for tick in ticks] == ["before", "past"] * 2  # of bore 1, which fires


def test_a_picture_shows_every_side_of_the_ties(lived):
    ring = lived.designs[1]
    figure = tie_figure([ring])
    pressed, opened = figure.axes
    steps = [step for step in service_of(ring).steps if step.name != "honed"]
    assert [line.get_label() for line in figure.legends[0].legend_handles] == [
        step.name for step in steps
    ]
    for axes, of in (
        (pressed, lambda face: face.mean_pressure_mpa),
        (opened, lambda face: 100 * face.open_share),
    ):
        drawn = [line for line in axes.lines if line.get_marker() != "None"]
        assert len({line.get_marker() for line in drawn}) == len(steps)
        for line, step in zip(drawn, steps, strict=True):
            assert list(line.get_ydata()) == [of(face) for face in step.joint.tie_faces]
    assert [text.get_text() for text in opened.texts] == ["tie 12:00", "tie 6:20"]


def test_sides_of_ties_that_open_are_told(case_of):
    apart = FIT + '[design.fit.ties]\nclearance = "1 mm"\n'
    (design,) = solve_at_once(case_of(BLOCK, TIES, RING, apart)).designs
    for step in service_of(design).steps:
        assert {(f.mean_pressure_mpa, f.open_share) for f in step.joint.tie_faces} == {(0.0, 1.0)}
    assert most_open([design]) == "Open most: ring, before 12:00, pressed in, 100 %."
    held = "[design.fit.ties]\nbonded = true\n"
    bonded = solve_at_once(case_of(BLOCK, TIES, RING, FIT, held))
    assert most_open(bonded.designs) == "None opens in any step."
    # a block that is pressed apart pulls them in every step; 0 is in the picture all the same
    pressed = tie_figure(bonded.designs).axes[0]
    assert pressed.get_title(loc="left") == "ring, against the ties, bonded: below 0 it pulls"
    assert pressed.get_ylim()[0] < 0 < pressed.get_ylim()[1]


def test_without_ties_there_is_no_picture_of_them(case_of, tmp_path, monkeypatch):
    result = solve_case(case_of(BLOCK, RING, BONDED))
    assert [name for name, _ in service_figures(result.designs)] == ["contact", "steps"]
    assert most_open(result.designs) == ""
    monkeypatch.setattr("cases.report.page._data_address", lambda path: path.name)
    page = write_report(result, tmp_path).read_text(encoding="utf-8")
    assert 'src="contact.svg"' in page
    assert "contact-ties" not in page


def test_page_and_pictures_tell_the_steps(lived, tmp_path):
    write_outputs(lived, tmp_path)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    text = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    for words in (
        "6. Fitted, warm and at gas",
        "7. Which fit to make",
        "8. All numbers",
        "40 um interference (20.0 um per side), friction 0.12",
        "by hold and yield only",
        "The cycle of each hot spot",
        "Can the ring follow?",
        "The price of strength, against bare",
        "Sides of the ties that the insert stands against",
    ):
        assert words in text
    assert "nan" not in text.lower().split()
    table = page[page.index("The cycle of each hot spot") :].split("</table>")[0]
    for name in ("warm", "warm at gas"):
        assert f">{name}</td>" in table
    for name in ("temperature", "bore-temperature", "contact", "contact-ties", "steps"):
        assert (tmp_path / f"{name}.png").stat().st_size > 5_000
        assert (tmp_path / f"{name}.svg").is_file() == (name != "temperature")


def test_pictures_of_the_steps_have_what_was_found(lived):
    """Shape of the bore with its mean taken out, pressure of the joint, heat of the bore wall."""
    pictures = dict(service_figures(lived.designs))
    shapes = [axes for axes in pictures["steps"].axes if axes.name == "polar"]
    for axes, design in zip(shapes, lived.designs, strict=True):
        steps = {step.name: step for step in service_of(design).steps if step.name != "honed"}
        drawn = {
            line.get_label().split(":")[0]: line for line in axes.lines if ":" in line.get_label()
        }
        assert set(drawn) == set(steps)
        for name, line in drawn.items():
            bore = steps[name].bore
            exact = bore.growth_um - bore.mean_growth_um
            np.testing.assert_allclose(line.get_ydata()[:-1], exact, atol=1e-9)
            assert f"out of round {bore.out_of_round_um:.0f} um" in line.get_label()
    ring = lived.designs[1]
    panels = pictures["contact"].axes
    titles = [axes.get_title(loc="left") for axes in panels]
    assert titles == ["ring, against the barrel", "ring, against the outer wall"]
    for axes, part in zip(panels, ("barrel", "outer wall"), strict=True):
        steps = [step for step in service_of(ring).steps if step.name != "honed"]
        against = service_of(ring).pairs.against == part
        exact = {step.name: step.joint.contact.pressure[against] for step in steps}
        (line,), (band,) = axes.lines, axes.collections
        shown = line.get_ydata()[np.isfinite(line.get_ydata())]
        assert sorted(shown) == pytest.approx(sorted(exact["warm at gas"]))
        edges = np.concatenate([path.vertices[:, 1] for path in band.get_paths()])
        each = np.array(list(exact.values()))
        assert edges.max() == pytest.approx(each.max())
        for bound in (each.min(axis=0), each.max(axis=0)):
            assert np.abs(edges[:, None] - bound).min(axis=0) == pytest.approx(0, abs=1e-9)
    warm = pictures["bore-temperature"].axes[0].lines
    for line, design in zip(warm, lived.designs, strict=False):
        wall = service_of(design).heat.around_bore()
        np.testing.assert_array_equal(line.get_ydata()[:-1], wall)

"""The solid of a small bore: solved, held by statics, beside its section; refusals; the command."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from bench import BARE, BLOCK, FIT, RING, TIES
from click.testing import CliRunner

from cases import RunError, read_case, solve_case, solve_solid, with_solid
from cases.base import memory
from cases.base.faults import Refusal
from cases.cli import main
from cases.gas.solve import gas_load
from cases.rating.result import rating_of
from cases.solid.gas import HELD, gas_forces, instants
from cases.solid.planes import CUT_LIMITS
from cases.solid.result import solid_of
from cases.solid.solve import _meshed, solid_materials
from fea.solid import SolidModel
from fea.solid.assembly import InvertedPrismError

CUT = """\
[[relief_cut]]
clock = "2:15"
radius = "56 mm"
diameter = "18 mm"
depth = "22 mm"
"""
LOW = 'crankcase_floor = "60 mm"\njacket_depth = "40 mm"\nmaterial = "A356-T6"\n'
SHORT = BLOCK.replace('material = "A356-T6"\n', LOW)
BY_ANGLE = BLOCK.replace('pressurised_depth = "24 mm"\n', "")
ALONE = '[solid]\njoint = "one piece"\ntemperature = "cold"\n'


@pytest.fixture(scope="module")
def static(case_of):
    return with_solid(case_of(SHORT, TIES, CUT, BARE, RING), "coarse")


@pytest.fixture(scope="module")
def solved(static):
    told = []
    result = solve_case(static, lambda *stage: told.append(stage))
    assert {("ring", "solid mesh"), ("ring", "solid"), ("ring", "solid stress")} <= set(told)
    return result


def test_the_bare_block_is_pulled_hardest_at_its_cut_and_an_insert_takes_it_off(solved):
    bare, ring = (solid_of(one).one_piece.governing for one in solved.designs)
    assert bare.part == "barrel"
    assert bare.clock_hours == pytest.approx(2.25, abs=0.15)
    assert bare.depth_mm < 4
    assert bare.crank_angle_deg is None
    assert ring.principal_mpa < 0.7 * bare.principal_mpa
    assert ring.depth_mm > 7.9  # no higher than the underside of the insert
    assert 1.0 < bare.ratio < 3.0


def test_the_bore_grows_most_at_the_deck_and_not_at_the_floor(solved):
    state = solid_of(solved.designs[0]).one_piece
    mean = state.growth_by_depth.mean(axis=1)
    assert mean[0] == pytest.approx(state.growth_um.mean())
    assert mean[0] == mean.max() > 10 * abs(mean[-1])


def test_a_solid_passes_its_self_checks_and_one_that_fails_is_refused(solved, static, monkeypatch):
    for design in solved.designs:
        checks = solid_of(design).one_piece.checks
        assert checks.reaction_ratio < 1e-9
        assert 0 < checks.cut_force_ratio < 0.02
        assert 0 < checks.rigid_ratio < 1e-10
        assert checks.rest_ratio < 1e-12
    monkeypatch.setitem(CUT_LIMITS, "coarse", 1e-9)
    with pytest.raises(RunError, match='"bare", solid: across the plane z'):
        solve_solid(static, "bare", setting="coarse")


def test_from_python_it_is_the_same_with_its_mesh(static, solved):
    state = solve_solid(static, "bare", joint="one piece", setting="coarse")
    found = solid_of(solved.designs[0]).one_piece
    assert state.worst == found.worst
    np.testing.assert_array_equal(state.growth_um, found.growth_um)
    assert len(state.mesh.points) * 3 == state.unknowns
    with pytest.raises(ValueError, match="no design is named"):
        solve_solid(static, "bar")
    with pytest.raises(ValueError, match="no state of a solid"):
        solve_solid(static, "bare", joint="glued")


def test_thrust_and_gas_are_answered_by_the_floor_alone(case_of):
    """Statics: nothing is left for the holds against rigid motion; gas pushes all ways alike."""
    case = with_solid(case_of(BY_ANGLE, TIES, CUT, BARE), "coarse")
    mesh = _meshed(case, case.designs[0], "coarse")
    materials = solid_materials(case, case.designs[0])
    model = SolidModel(mesh, {part: materials[part] for part in mesh.parts}, HELD)
    pressed = instants(case, gas_load(case))
    assert len(pressed) > 8
    late = max(pressed, key=lambda one: one.thrust)
    (forces,) = gas_forces(model, (late,))
    (gas,) = gas_forces(model, (type(late)(late.deg, late.pressure, late.reach),))
    on_floor = np.unique(mesh.flats["crankcase"])
    on_bore = np.setdiff1d(np.unique(mesh.sides["bore"]), on_floor)
    leaning = (forces - gas)[on_bore].sum(axis=0)
    assert leaning[1] == pytest.approx(late.thrust, rel=1e-6)  # 12:00 is +y
    lean_y = (forces - gas)[on_bore, 1]
    middle = (lean_y * -mesh.points[on_bore, 2]).sum() / lean_y.sum()
    assert middle == pytest.approx(late.pin, abs=2.5)  # the load is cut off between nodes
    outward = mesh.points[:, :2] / np.linalg.norm(mesh.points[:, :2], axis=1, keepdims=True)
    pushed = (gas[:, :2] * outward).sum()
    assert pushed == pytest.approx(late.pressure * np.pi * 80.0 * late.reach, rel=1e-3)
    np.testing.assert_allclose(forces.sum(axis=0), 0, atol=1e-6 * late.thrust)
    solution = model.solve(forces)
    assert np.abs(solution.hold_reactions).max() < 1e-6 * late.thrust
    moment = (mesh.points[:, 1] * solution.reactions[:, 2]).sum()
    assert moment == pytest.approx(-(mesh.points[:, 2] * -forces[:, 1]).sum(), rel=1e-6)


def test_each_place_is_judged_at_its_own_crank_angle(case_of):
    case = with_solid(case_of(BY_ANGLE, TIES, CUT, BARE), "coarse")
    state = solve_solid(case, "bare", setting="coarse")
    assert len(state.angles_deg) > 8
    angles = {spot.crank_angle_deg for spot in state.worst}
    assert angles <= set(state.angles_deg)
    assert len(angles) > 1  # the deck's edge before what lies deeper
    at_deck = [spot.crank_angle_deg for spot in state.worst if spot.depth_mm < 1]
    deep = [spot.crank_angle_deg for spot in state.worst if spot.depth_mm > 30]
    assert max(at_deck) < min(deep)
    assert state.growth_crank_angle_deg == state.governing.crank_angle_deg


def test_a_solid_too_large_for_the_memory_at_hand_is_refused_before_it_starts(static, monkeypatch):
    monkeypatch.setattr(memory, "memory_at_hand", lambda: 40 * 2**20)
    words = r'"bare": its coarse solid of \d+ unknowns needs some \d\.\d GB.*0\.0 GB are at hand'
    with pytest.raises(RunError, match=words):
        solve_solid(static, "bare", setting="coarse")
    with monkeypatch.context() as patch:
        patch.setattr("cases.solid.solve.SolidModel", None)  # not even begun
        result = solve_case(replace(static, designs=static.designs[:1]))
    refusal = result.designs[0].found["solid"]
    assert isinstance(refusal, Refusal)
    assert "hoopclock solve --section" in refusal.text


def run(*arguments):
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    return done.output


@pytest.mark.usefixtures("unpictured")
def test_the_command_leaves_it_out_and_rates_nothing_where_one_state_is_asked(
    tmp_path, monkeypatch
):
    monkeypatch.chdir(tmp_path)
    Path("case.toml").write_text(SHORT + ALONE + TIES + CUT + BARE, encoding="utf-8")
    assert "In depth" not in run("solve", "case.toml", "--section")
    assert "solid" not in json.loads(Path("case/results.json").read_text())["designs"][0]
    monkeypatch.setattr("cases.solid.solve.FINENESS", {"fine": _coarse()})
    assert "nothing is rated" in run("rate", "case.toml")
    (design,) = json.loads(Path("case/results.json").read_text())["designs"]
    assert design["solid"]["setting"] == "fine"
    assert design["solid"]["one_piece"]["worst"][0]["crank_angle_deg"] is None
    assert "rating" not in design
    assert "bare-solid.vtu" in json.loads(Path("case/results.json").read_text())["files"]


def _coarse():
    from cases.solid.solve import FINENESS

    return FINENESS["coarse"]


def test_a_read_case_asks_for_no_solid(tmp_path):
    path = tmp_path / "case.toml"
    path.write_text(BLOCK + BARE, encoding="utf-8")
    result = solve_case(read_case(path))
    assert solid_of(result.designs[0]) is None


@pytest.mark.slow
def test_the_section_depth_moves_no_stress_of_a_solid(case_of, static):
    """H is the section's alone: 28 and 40 mm in place of 24."""
    of_usual = solve_solid(static, "ring", setting="coarse")
    for high in ("28 mm", "40 mm"):
        case = with_solid(case_of(at_depth(SHORT, high), TIES, CUT, BARE, RING), "coarse")
        assert case.section_depth != static.section_depth
        found = solve_solid(case, "ring", setting="coarse")
        assert [one.principal_mpa for one in found.worst] == pytest.approx(
            [one.principal_mpa for one in of_usual.worst]
        )


@pytest.mark.slow
def test_the_section_depth_moves_no_limit(case_of):
    """The limit is the solid's, of the block bare and with a fitted insert: within 3 % at any H."""
    text = SHORT.replace('pressurised_depth = "24 mm"\n', "")
    limits = []
    for high in ("20 mm", "28 mm", "40 mm"):
        fitted = RING + FIT.replace('"40 um"', '"10 um"')
        case = case_of(at_depth(text, high), "[rating]\ndraws = 0\n", TIES, CUT, BARE, fitted)
        case = with_solid(case, "coarse", lived=True, evidence=False, swept=False)
        rated = [rating_of(design) for design in solve_case(case, rate=True).designs]
        assert all(one.solid for one in rated)
        limits.append([one.stands.factor for one in rated])
    assert min(limits[0]) > 0
    for others in limits[1:]:
        assert others == pytest.approx(limits[0], rel=0.03)


def at_depth(text, high):
    """A case whose section is as deep."""
    other = text.replace('depth = "24 mm"\ntolerance', f'depth = "{high}"\ntolerance')
    assert other != text
    return other


def test_layers_that_turn_over_are_a_refusal_with_its_cure(static, monkeypatch):
    def turned(*_):
        raise InvertedPrismError("1 prisms are turned inside out.")

    monkeypatch.setattr("cases.solid.solve.SolidModel", turned)
    with pytest.raises(RunError, match=r'"bare", solid: 1 prisms .* a wider blend, or less depth'):
        solve_solid(static, "bare", setting="coarse")

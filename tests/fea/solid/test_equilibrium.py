"""Self-checks of a solid pass what is right and find what is not."""

from dataclasses import replace

import numpy as np
import pytest
from solid_meshes import draw_up, grid, moved

from fea.equilibrium import CoarseError, SelfCheckError
from fea.material import Material
from fea.solid import SolidModel
from fea.solid.equilibrium import cut_force, solid_checks
from fea.solid.stress import recover

IRON = Material("iron", 110_000.0, 0.26, expansion=11e-6)
CUTS = [("z", -8.0), ("x", 17.0)]


@pytest.fixture(scope="module")
def model():
    mesh = moved(draw_up(*grid(6, 3), np.linspace(-1, 0, 5)), lambda p: p * [40.0, 20.0, 20.0])
    return SolidModel(mesh, {"block": IRON}, {"floor": "xyz"})


def test_solid_under_load_is_in_equilibrium(model):
    load = model.face_load(
        "deck", lambda place, normal: np.stack([0 * place[0], place[0], -normal[2]])
    )
    solution = model.solve(load)
    checks = solid_checks(solution, recover(solution), load, CUTS)
    assert checks.reaction_ratio < 1e-10
    assert checks.cut_force_ratio < 0.006
    across, wanted = cut_force(solution, recover(solution), load, CUTS[0])
    assert wanted == pytest.approx([0, 16_000, -800], abs=1e-6)
    assert across == pytest.approx(wanted, abs=100)


def test_what_joints_press_with_is_load_too(model):
    """Twice the load, half the share of it that is missed: a press loads metal as gas does."""
    load = model.pressure_load("deck", 10.0)
    solution = model.solve(load)
    of_gas = float(np.linalg.norm(load, axis=1).sum())
    stresses = recover(solution)
    alone = solid_checks(solution, stresses, load, CUTS).cut_force_ratio
    pressed = solid_checks(solution, stresses, load, CUTS, of_joints=of_gas).cut_force_ratio
    assert pressed == pytest.approx(alone / 2)


def test_a_sliver_is_no_fault():
    """Where a fillet happens to end on the wall of a cut, corners of a plan lie as near."""
    levels = np.array([-1, -0.5 - 5e-7, -0.5, 0])
    mesh = moved(draw_up(*grid(6, 3), levels), lambda p: p * [40.0, 20.0, 20.0])
    model = SolidModel(mesh, {"block": IRON}, {"floor": "xyz"})
    load = model.pressure_load("deck", 10.0)
    solution = model.solve(load)
    checks = solid_checks(solution, recover(solution), load, CUTS)
    assert 1e-10 < checks.rigid_ratio < 1e-7
    assert checks.cut_force_ratio < 0.006


def test_no_load_gives_no_stress(model):
    solution = model.solve(np.zeros_like(model.mesh.points))
    assert not solution.displacement.any()
    assert not recover(solution)[0].stress.any()


def test_what_is_strained_with_no_load_is_found(model):
    """A solid at one temperature is free of strain; one with misfit is not."""
    load = model.pressure_load("deck", 10.0)
    solution, none = model.solve(load), np.zeros_like(load)
    stresses, warm = recover(solution), np.full(len(load), 20.0)
    at_rest = model.at(warm).solve(none)
    assert solid_checks(solution, stresses, load, rest=at_rest).rest_ratio < 1e-12
    cast_in = model.with_materials({"block": replace(IRON, misfit=1e-5)}).at(warm)
    with pytest.raises(SelfCheckError, match=r"with no load the metal is strained by 0\.1"):
        solid_checks(solution, stresses, load, rest=cast_in.solve(none))


def test_warm_solid_is_in_equilibrium(model):
    warm = model.at(20 + model.mesh.points[:, 0] ** 2 / 10)
    rest = np.zeros_like(model.mesh.points)
    solution = warm.solve(rest)
    checks = solid_checks(solution, recover(solution), rest, CUTS)
    assert checks.reaction_ratio < 1e-10


def test_lost_load_and_wrong_stress_are_found(model):
    load = model.pressure_load("deck", 10.0)
    solution = model.solve(load)
    stresses = recover(solution)
    with pytest.raises(SelfCheckError, match="leave 800 N over"):
        solid_checks(solution, stresses, 1.1 * load)
    with pytest.raises(CoarseError, match=r"across the plane z = -8 mm .* misses 0.1"):
        solid_checks(solution, [replace(stresses[0], inside=0.9 * stresses[0].inside)], load, CUTS)

"""The self-checks pass a sound section and stop a wrong one."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import plate_with_holes, ring, uniform

from fea.closed_form import lame_ring
from fea.equilibrium import SelfCheckError, cut_force, self_checks
from fea.material import Material
from fea.model import SectionModel
from fea.stress import recover
from geometry.section_mesh import Layer, UniformDepth

METAL = Material("metal", 70_000.0, 0.4)


@pytest.fixture(scope="module")
def solved():
    solution = SectionModel(ring([50, 80], [uniform("barrel", 20)], 5), {"barrel": METAL}).solve(
        200
    )
    return solution, recover(solution)


def growth(poisson=0.4):
    ring_state = lame_ring(50, 50, 80, p_in=10, youngs_modulus=70_000, poisson=poisson)
    return float(ring_state.growth)


def test_a_ring_passes(solved):
    found = self_checks(*solved, 200.0, growth())
    assert found.reaction_ratio < 1e-9
    assert found.cut_force_ratio == pytest.approx(1, abs=2e-3)
    assert found.lame_ratio == pytest.approx(1, abs=1e-4)
    assert self_checks(*solved, 200.0).lame_ratio is None


def test_cut_force_is_exact_for_a_uniform_stress():
    """A known field on curved triangles, cut anywhere: the length of metal on the line counts."""
    mesh = plate_with_holes(5, thickness=7)
    solution = SectionModel(mesh, {"barrel": METAL}).solve(1.0)
    (layer,) = recover(solution)
    even = [replace(layer, stress=np.broadcast_to([[2.0], [3.0], [0.0]], layer.stress.shape))]
    # x = 3.1: the bore's chord is left out of 60 mm; y = 22: hole about (-33, 12) is missed
    chord = 2 * np.sqrt(15**2 - 3.1**2)
    assert cut_force(solution, even, 0, 3.1) == pytest.approx(7 * 2 * (60 - chord), rel=1e-4)
    assert cut_force(solution, even, 1, 22.0) == pytest.approx(7 * 3 * 100, rel=1e-12)


def test_layers_add_up_on_a_cut():
    layers = (Layer("barrel", UniformDepth(6.0)), Layer("insert", UniformDepth(7.0)))
    mesh = ring([50, 65, 80], [uniform("barrel", 11), layers], 4)
    hard = Material("hard", 100_000.0, 0.3)
    solution = SectionModel(mesh, {"barrel": METAL, "insert": hard}).solve(100.0)
    assert self_checks(solution, recover(solution), 100.0).cut_force_ratio == pytest.approx(
        1, abs=2e-3
    )


def test_a_load_that_is_not_in_equilibrium_fails():
    model = SectionModel(ring([50, 80], [uniform("barrel", 20)], 10), {"barrel": METAL})
    load = model.edge_load("bore", lambda x, y, nx, ny: -np.stack([200 * nx, 201 * ny + 1]))
    solution = model.solve_forces(load)
    with pytest.raises(SelfCheckError, match=r"the supports carry .* N of a gas load of 20000 N"):
        self_checks(solution, recover(solution), 200.0)


def test_a_stress_that_does_not_carry_the_load_fails(solved):
    solution, (layer,) = solved
    weak = [replace(layer, stress=0.97 * layer.stress)]
    with pytest.raises(SelfCheckError, match=r"0\.9[67]\d* of the gas load across the 12-6 plane"):
        self_checks(solution, weak, 200.0)
    one_way = [replace(layer, stress=layer.stress * [[0.995], [1.0], [1.0]])]
    both = self_checks(solution, [layer], 200.0).cut_force_ratio
    assert self_checks(solution, one_way, 200.0).cut_force_ratio == pytest.approx(
        0.995 * both, abs=1e-3
    )
    with pytest.raises(SelfCheckError, match="both must be 1"):
        self_checks(*solved, 190.0)


def test_a_ring_that_misses_the_closed_form_fails(solved):
    with pytest.raises(SelfCheckError, match="times as much as the closed form"):
        self_checks(*solved, 200.0, growth(poisson=0.3))


def test_no_load_is_refused(solved):
    with pytest.raises(ValueError, match="line_load = 0 N/mm must be positive"):
        self_checks(*solved, 0.0)

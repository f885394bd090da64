"""Growth of the bore by clock position, and its orders."""

from dataclasses import replace

import numpy as np
import pytest
from fea_meshes import plate_with_holes, ring, uniform

from fea.bore import bore_growth, growth_at, harmonics
from fea.material import Material
from fea.model import SectionModel

METAL = Material("metal", 70_000.0, 0.4)


@pytest.fixture(scope="module")
def solution():
    mesh = ring([50, 80], [uniform("barrel", 20)], 4)
    return SectionModel(mesh, {"barrel": METAL}).solve(200.0)


def moved(solution, field):
    return replace(solution, displacement=field(*solution.model.mesh.points.T))


def test_orders_from_angles_that_are_not_even():
    """Check 0.8 (verified there): FFT fails on such angles."""
    angle = np.sort(np.random.default_rng(7).uniform(0, 2 * np.pi, 300))
    values = (
        5
        + 3 * np.cos(2 * (angle - 0.4))
        + 1.5 * np.cos(3 * (angle + 0.2))
        + 0.7 * np.cos(4 * (angle - 0.1))
    )
    mean, cosine, sine = harmonics(angle, values, 12)
    assert mean == pytest.approx(5, abs=1e-9)
    expected = [0, 3, 1.5, 0.7, *[0] * 8]
    assert np.hypot(cosine, sine) == pytest.approx(expected, abs=1e-9)


def test_translation_is_taken_out(solution):
    shift = moved(solution, lambda x, y: np.stack([0 * x + 0.03, 0 * y - 0.05], axis=1))
    shape = bore_growth(shift)
    assert shape.growth_um == pytest.approx(0, abs=1e-9)
    assert shape.out_of_round_um == pytest.approx(0, abs=1e-9)


def test_clock_starts_at_twelve_and_runs_clockwise(solution):
    """A bore that bulges towards 3:00 and 9:00: order 2, 10 um, and 5 um all round."""
    oval = moved(solution, lambda x, y: np.stack([0.015 * x, -0.005 * y], axis=1) / 50)
    shape = bore_growth(oval)
    assert shape.clock_hours[[0, 30, 90, 359]] == pytest.approx([0, 1, 3, 359 / 30])
    assert shape.growth_um[[0, 90, 180, 270]] == pytest.approx([-5, 15, -5, 15], rel=1e-6)
    one_o_clock = 1000 * (0.015 * np.sin(np.pi / 6) ** 2 - 0.005 * np.cos(np.pi / 6) ** 2)
    assert shape.growth_um[30] == pytest.approx(one_o_clock, abs=1e-6)
    assert shape.mean_growth_um == pytest.approx(5, rel=1e-5)
    assert shape.orders_um["2"] == pytest.approx(10, rel=1e-5)
    assert list(shape.orders_um) == [str(n) for n in range(2, 13)]
    assert shape.out_of_round_um == pytest.approx(20, rel=1e-5)


def test_read_between_the_nodes(solution):
    """A linear displacement is exact on curved sides, at any angle and turn of the circle."""
    pulled = moved(solution, lambda x, y: np.stack([0.01 * x, 0.02 * x + 0.03 * y], axis=1))
    angle = np.random.default_rng(3).uniform(-7, 7, 50)
    c, s = np.cos(angle), np.sin(angle)
    expected = 50 * (0.01 * c * c + 0.02 * c * s + 0.03 * s * s)
    assert growth_at(pulled, angle) == pytest.approx(expected, rel=1e-5)


def test_an_edge_that_does_not_go_round_the_axis_is_refused():
    solution = SectionModel(plate_with_holes(6), {"barrel": METAL}).solve(70.0)
    with pytest.raises(ValueError, match='edge "free" does not run round the bore axis once'):
        growth_at(solution, [0.0], "free")


def test_the_error_of_a_shape_is_its_change_from_the_mesh_before(solution):
    """A growth that is 2 um more all round and 3 um out of round of the second order (derived)."""
    before = bore_growth(solution)
    extra = 2 + 1.5 * np.cos(2 * np.linspace(0, 2 * np.pi, 360, endpoint=False))
    now = replace(
        before, growth_um=before.growth_um + extra, mean_growth_um=before.mean_growth_um + 2,
        out_of_round_um=before.out_of_round_um + 3,
    ).changed_from(before)  # fmt: skip
    assert before.growth_error_um is None
    assert now.growth_error_um == pytest.approx(3.5)
    assert now.out_of_round_error_um == pytest.approx(3.0)
    turned = replace(now, out_of_round_um=before.out_of_round_um).changed_from(before)
    assert turned.out_of_round_error_um == pytest.approx(1.5)  # as much, elsewhere

"""Hooke's law and the edge loads, against statics."""

import numpy as np
import pytest
from fea_meshes import ring, uniform

from fea.elasticity import edge_points, edge_work, hooke
from fea.material import Material


def test_hooke_is_plane_stress():
    """A pull along x alone: sxx = E exx, syy = 0 when eyy = -nu exx (uniaxial test)."""
    metal = Material("metal", 70_000.0, 0.4)
    stress = hooke(np.array([1e-3, -0.4e-3, 0.0]), metal.lam, metal.mu)
    assert list(stress) == pytest.approx([70.0, 0.0, 0.0], abs=1e-12)


def test_line_load_on_a_closed_edge_balances_to_rounding():
    mesh = ring([50, 80], [uniform("barrel", 20)], 15)
    ends = mesh.points[mesh.edges["bore"]].transpose(2, 1, 0)
    force = edge_work(ends, lambda x, y, nx, ny: -200 * np.stack([nx, ny]))
    moment = ends[0] * force[1] - ends[1] * force[0]
    assert np.abs(force.sum(axis=(1, 2))).max() < 1e-10 * np.abs(force).sum()
    assert abs(moment.sum()) < 1e-10 * np.abs(moment).sum()


def test_edge_points_follow_the_arc():
    """Three nodes of an arc of 90 degrees at radius 1; ends and middle are met."""
    root = np.sqrt(0.5)
    ends = np.array([[1.0, 0.0, root], [0.0, 1.0, root]])[..., None]
    points, derivative = edge_points(ends, np.array([0.0, 0.5, 1.0]))
    expected = np.array([[1, 0], [root, root], [0, 1]])
    np.testing.assert_allclose(points[..., 0].T, expected, atol=1e-12)
    assert derivative[:, 1, 0] == pytest.approx([-1.0, 1.0])


@pytest.mark.parametrize(
    ("modulus", "poisson", "message"),
    [
        (0.0, 0.3, "youngs_modulus = 0 MPa must be positive"),
        (float("nan"), 0.3, "youngs_modulus = nan"),
        (70_000.0, 0.5, "poisson = 0.5 is outside"),
        (70_000.0, -0.1, "poisson = -0.1 is outside"),
    ],
)
def test_material_refuses(modulus, poisson, message):
    with pytest.raises(ValueError, match=message):
        Material("metal", modulus, poisson)

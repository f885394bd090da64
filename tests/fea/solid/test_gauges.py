"""Strain in the surface of a solid: exact where it is linear, edge by edge, and around bends."""

import numpy as np
import pytest
from solid_meshes import LEVELS, draw_up, grid, moved

from fea.solid.gauges import Gauges
from fea.solid.topology import Topology


def gauged(mesh):
    return Gauges(mesh.points, Topology(mesh).surface)


def test_strain_within_each_face_is_exact_where_it_is_linear(box):
    x, y, z = box.points.T
    u = 1e-4 * np.stack([x * y + z * z / 2, x * x / 3 - y * z, x * z + y * y / 5], axis=1)
    gauges = gauged(box)
    x, y, z = box.points[gauges.nodes].T
    zero = 0 * x
    slope = 1e-4 * np.array([[y, x, z], [2 * x / 3, -z, -y], [z, 2 * y / 5, x + zero]])
    strain = (slope + slope.swapaxes(0, 1)) / 2
    for found, (i, j) in zip(gauges.strain(u), ((0, 0), (1, 1), (0, 1)), strict=True):
        exact = np.einsum("ei,ije,ej->e", gauges.frames[:, i], strain, gauges.frames[:, j])
        np.testing.assert_allclose(found, exact, atol=2e-4 * np.abs(strain).max())


def test_a_node_on_an_edge_has_a_gauge_on_each_side_of_it(box):
    gauges = gauged(box)
    corner = int((box.points**2).sum(axis=1).argmin())  # of three faces at right angles
    own = gauges.nodes == corner
    normals = gauges.frames[own, 2]
    np.testing.assert_allclose(np.sort(normals.round(12), axis=0)[[0, 2]], [[-1, -1, 0], [0, 0, 1]])
    for frame in gauges.frames:
        np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-12)
        assert np.linalg.det(frame) == pytest.approx(1)


def test_some_gauges_read_what_all_of_them_do(box):
    u = np.random.default_rng(5).normal(size=box.points.shape)
    gauges = gauged(box)
    some = np.array([7, 0, 55, len(gauges.nodes) - 1])
    np.testing.assert_allclose(gauges.only(some).strain(u), gauges.strain(u)[:, some], atol=1e-12)


def test_around_a_bend_what_is_even_reads_even():
    """A quarter of a tube that grows outward: around it u / r, along it nothing, at every node."""
    turn = np.pi / 2

    def to(p):
        r, angle = 8 + 2 * p[:, 0], turn * p[:, 1]
        return np.stack([r * np.cos(angle), r * np.sin(angle), 10 * p[:, 2]], axis=1)

    mesh = moved(draw_up(*grid(2, 4), LEVELS), to)
    outward = mesh.points * [1, 1, 0] / np.hypot(*mesh.points[:, :2].T)[:, None]
    gauges = gauged(mesh)
    normal = gauges.frames[:, 2]
    bent = np.abs((normal * outward[gauges.nodes]).sum(axis=1)) > 0.9
    around, along, shear = gauges.strain(1e-3 * outward)[:, bent]
    r = np.hypot(*mesh.points[gauges.nodes[bent], :2].T)
    np.testing.assert_allclose(around, 1e-3 / r, rtol=2e-3)
    assert np.abs([along, shear]).max() < 1e-7

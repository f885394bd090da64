"""Strain along edges of a solid: exact where it is quadratic, and only on those that jut out."""

from dataclasses import replace

import numpy as np
from solid_meshes import LEVELS, draw_up, grid, moved

from fea.solid.edges import EdgeGauges
from fea.solid.topology import Topology


def gauged(mesh):
    return EdgeGauges(mesh.points, Topology(mesh).surface)


def test_strain_along_each_edge_is_exact_where_it_is_quadratic(box):
    x, y, z = box.points.T
    u = 1e-6 * np.stack([x**3 - x * y * z, y**3 / 2 + x * z, x * y * z - z**3 / 3], axis=1)
    edges = gauged(box)
    assert len(edges.nodes) == 4 * (2 * 3 + 2 * 4 + 2 * 3 - 3)  # all but where three meet
    x, y, z = box.points[edges.nodes].T
    own = 1e-6 * np.stack([3 * x**2 - y * z, 1.5 * y**2, x * y - z**2], axis=1)
    straight = np.abs(edges.ways)
    np.testing.assert_allclose(np.sort(straight, axis=1), [[0, 0, 1]] * len(x), atol=1e-12)
    expected = own[np.arange(len(x)), straight.argmax(axis=1)]
    np.testing.assert_allclose(edges.strain(u), expected, atol=1e-9 * np.abs(expected).max())
    assert np.abs(expected).max() > 1e-4


def test_around_a_rim_what_is_even_reads_even():
    """A quarter of a tube that grows outward: around its rims u / r."""
    turn = np.pi / 2

    def to(p):
        r, angle = 8 + 2 * p[:, 0], turn * p[:, 1]
        return np.stack([r * np.cos(angle), r * np.sin(angle), 10 * p[:, 2]], axis=1)

    mesh = moved(draw_up(*grid(2, 4), LEVELS), to)
    outward = mesh.points * [1, 1, 0] / np.hypot(*mesh.points[:, :2].T)[:, None]
    edges = gauged(mesh)
    around = np.abs((edges.ways * outward[edges.nodes]).sum(axis=1) + edges.ways[:, 2]) < 0.5
    r = np.hypot(*mesh.points[edges.nodes[around], :2].T)
    assert around.sum() == 4 * (2 * 4 - 1)
    np.testing.assert_allclose(edges.strain(1e-3 * outward)[around], 1e-3 / r, rtol=2e-3)


def test_an_inner_edge_has_none(box):
    """A quarter of the box taken away, over all of its height."""
    middle = box.points[box.prisms].mean(axis=1)
    kept = (middle[:, 0] < 20) | (middle[:, 1] < 10)
    notched = replace(box, prisms=box.prisms[kept], part=box.part[kept])
    x, y, z = box.points[gauged(notched).nodes].T
    upright = (z < 0) & (z > -25)
    at = {(round(a), round(b)) for a, b in zip(x[upright], y[upright], strict=True)}
    assert at == {(0, 0), (30, 0), (30, 10), (20, 20), (0, 20)}


def test_some_edges_read_what_all_of_them_do(box):
    u = np.random.default_rng(5).normal(size=box.points.shape)
    edges = gauged(box)
    some = np.array([2, 7, 30])
    fewer = edges.only(some)
    np.testing.assert_allclose(fewer.strain(u), edges.strain(u)[some], atol=1e-12)
    assert fewer.nodes.tolist() == edges.nodes[some].tolist()

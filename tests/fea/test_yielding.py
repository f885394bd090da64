"""The share that yields: of the parts that count, by volume, as warm as they are."""

from types import SimpleNamespace

import numpy as np
import pytest
from fea_meshes import ring, uniform

from fea.material import Material
from fea.model import SectionModel
from fea.strength import over_yield
from fea.stress import recover

MATERIALS = {
    "barrel": Material("weak", 70_000.0, 0.33, yield_points=((20.0, 200.0), (120.0, 100.0))),
    "insert": Material("weaker", 70_000.0, 0.33, yield_points=((20.0, 50.0),)),
    "tie": Material("unknown", 70_000.0, 0.33),
}
PULLS = {"barrel": 100.0, "insert": 80.0, "tie": 500.0}


@pytest.fixture(scope="module")
def pulled():
    """Three rings, each pulled evenly along x."""
    layers = [uniform("barrel", 20.0), uniform("insert", 10.0), uniform("tie", 10.0)]
    mesh = ring([50, 60, 70, 80], layers, 8)
    solution = SectionModel(mesh, MATERIALS).solve(1.0)
    found = []
    for layer in recover(solution):
        stress = np.zeros_like(layer.stress)
        stress[0] = PULLS[layer.part]
        kept = ("part", "nodes", "elements", "triangles", "thickness")
        found.append(SimpleNamespace(stress=stress, **{key: getattr(layer, key) for key in kept}))
    return found, mesh


def test_only_the_parts_that_are_named_count(pulled):
    layers, mesh = pulled
    for parts, share, part in (
        (("barrel", "tie"), 0.5, "barrel"),
        (("insert", "barrel"), 1.6, "insert"),
    ):
        found, layer, _ = over_yield(layers, MATERIALS, mesh, None, 0.0, parts)
        assert found == pytest.approx(share)
        assert layers[layer].part == part
    assert over_yield(layers, MATERIALS, mesh, None, 0.0, ("tie",)) == (0.0, 0, 0)


def test_a_tail_is_left_out_by_volume(pulled):
    """The insert: 10 mm of (70^2 - 60^2), beside 20 mm of (60^2 - 50^2), 0.3714 of both."""
    layers, mesh = pulled
    for tail, share in ((0.36, 1.6), (0.38, 0.5)):
        found = over_yield(layers, MATERIALS, mesh, None, tail, ("barrel", "insert"))
        assert found[0] == pytest.approx(share)


def test_warm_metal_yields_sooner(pulled):
    layers, mesh = pulled
    warm = np.full(len(mesh.points), 70.0)
    assert over_yield(layers, MATERIALS, mesh, warm, 0.0, ("barrel",))[0] == pytest.approx(2 / 3)

"""Ways into the metal: where they go, what is read along them, and what has no bound."""

from dataclasses import replace

import gmsh
import numpy as np
import pytest
from fea_meshes import mesh_shapes, ring, uniform

from fea.closed_form import strength_with_crack, strength_with_edge_notch, strength_with_hole
from fea.material import Material
from fea.model import SectionModel
from fea.strength import critical_distance, inward, stacked, ways_into
from fea.stress import recover

METAL = Material("metal", 70_000.0, 0.3)
METALS = dict.fromkeys(("barrel", "tie"), "metal") | {"insert": "another"}


@pytest.fixture(scope="module")
def rings():
    """Three rings of 10 mm each; the two inner ones of one metal."""
    mesh = ring([40, 50, 60, 70], [uniform(part, 20.0) for part in METALS], 3.0)
    model = SectionModel(mesh, dict.fromkeys(METALS, METAL))
    return mesh, recover(model.solve(10.0))


def linear(mesh, layers):
    """The layers with stresses x, y and x + y."""
    found = []
    for layer in layers:
        x, y = mesh.points[layer.nodes].T
        found.append(replace(layer, stress=np.stack([x, y, x + y])))
    return found


def at(mesh, x, y):
    return int(np.argmin(np.hypot(*(mesh.points - [x, y]).T)))


def one_way(rings, node, length, layer=0, direction=None):
    mesh, layers = rings
    direction = inward(mesh)[node] if direction is None else np.asarray(direction, float)
    return ways_into(
        mesh, layers, METALS, layer=[layer], node=[node], direction=[direction], length=[length]
    )


@pytest.mark.parametrize(("threshold", "strength", "length"), [(5.0, 200.0, 0.198944)])
def test_length_of_a_metal(threshold, strength, length):
    """5 MPa sqrt(m) and 200 MPa: 0.198944 mm (the formula, worked out)."""
    assert critical_distance(threshold, strength) == pytest.approx(length, rel=1e-5)


@pytest.mark.parametrize(("threshold", "strength"), [(0.0, 200.0), (5.0, -1.0)])
def test_length_of_nothing_is_refused(threshold, strength):
    with pytest.raises(ValueError, match="must be positive"):
        critical_distance(threshold, strength)


def test_inward_is_normal_to_free_edges_and_nothing_within(rings):
    mesh, _ = rings
    found, radius = inward(mesh), np.hypot(*mesh.points.T)
    out = mesh.points / radius[:, None]
    bore, outside = np.abs(radius - 40) < 1e-6, np.abs(radius - 70) < 1e-6
    assert found[bore] == pytest.approx(out[bore], abs=2e-3)
    assert found[outside] == pytest.approx(-out[outside], abs=2e-3)
    assert not found[~(bore | outside)].any()


def test_mean_and_point_of_what_is_linear_are_exact(rings):
    """Along a straight way the mean over 2L is the value at L, whatever the elements."""
    mesh, layers = rings
    node = at(mesh, 40, 0)
    ways = one_way(rings, node, 1.5)
    stress = stacked(linear(mesh, layers))
    x, y = mesh.points[node] + 1.5 * inward(mesh)[node]
    assert (ways.line @ stress)[0] == pytest.approx([x, y, x + y], abs=1e-6)
    x, y = mesh.points[node] + 0.75 * inward(mesh)[node]
    assert (ways.point @ stress)[0] == pytest.approx([x, y, x + y], abs=1e-6)
    assert ways.whole.all()
    assert 1 < ways.size[0] < 5


def test_a_way_goes_on_in_another_part_of_its_metal_and_ends_at_another_metal(rings):
    """From the bore 2L = 18 mm end in the second ring, 2L = 24 mm would need the third."""
    mesh, layers = rings
    node = at(mesh, 40, 0)
    within, beyond = (one_way(rings, node, length) for length in (9.0, 12.0))
    assert within.whole.all()
    assert not beyond.whole.any()
    assert set(np.unique(within.layer)) == {0, 1}
    stress = stacked(linear(mesh, layers))
    x, y = mesh.points[node] + 9.0 * inward(mesh)[node]
    assert (within.line @ stress)[0] == pytest.approx([x, y, x + y], abs=1e-5)
    assert (beyond.line @ np.ones(beyond.line.shape[1]))[0] == pytest.approx(1.0)


def test_raw_mean_is_that_of_the_displacement(rings):
    """Beside Lame's stress the mean of both is the same within the mesh's error, not exactly."""
    mesh, layers = rings
    ways = one_way(rings, at(mesh, 40, 0), 2.0)
    smooth, raw = (ways.line @ stacked(layers))[0], ways.raw_mean(layers)[:, 0]
    assert raw == pytest.approx(smooth, abs=0.05 * np.abs(smooth).max())
    assert (raw != smooth).all()


@pytest.mark.parametrize(
    ("form", "size", "ratios"),
    [
        (lambda share: strength_with_hole(share, 1.0), (0.01, 0.1, 0.5, 1, 2), (
            (0.337222, 0.341048), (0.372084, 0.404873), (0.516956, 0.592593),
            (0.658537, 0.710526), (0.820513, 0.816993),
        )),
        (lambda share: strength_with_edge_notch(share, 1.0, 4.0), (0.1, 0.5, 1, 2), (
            (0.24493, 0.26376), (0.32762, 0.38610), (0.42033, 0.49845), (0.57915, 0.66875),
        )),
        (lambda share: strength_with_crack(1.0, share), (0.1, 1, 10), (
            (0.986013, np.sqrt(1 / 1.1)), (0.745356, np.sqrt(1 / 2)), (0.304911, np.sqrt(1 / 11)),
        )),
    ],
    ids=["hole", "edge notch", "crack"],
)  # fmt: skip
def test_notches_in_closed_form(form, size, ratios):
    """Kirsch's hole and Creager and Paris's notch by L/r, a crack by a/L: worked out elsewhere."""
    for share, (point, line) in zip(size, ratios, strict=True):
        found = form(share)
        assert found.point == pytest.approx(point, rel=2e-5)
        assert found.line == pytest.approx(line, rel=2e-5)


def test_two_bodies_that_touch_are_two_for_a_way():
    """Two plates of one metal with a slit between: no way leads across it."""

    def draw():
        occ = gmsh.model.occ
        tags = [occ.addRectangle(x, 0, 0, 9.999, 10) for x in (0, 10)]
        return [tags], {}

    mesh = mesh_shapes(draw, [uniform("barrel", 10.0)], 2.0)
    layers = recover(SectionModel(mesh, {"barrel": METAL}).solve_forces(np.zeros_like(mesh.points)))
    node = at(mesh, 9.999, 5)
    ways = one_way((mesh, layers), node, 1.0, direction=[1.0, 0.0])
    assert not ways.whole.any()
    assert one_way((mesh, layers), node, 1.0).whole.all()

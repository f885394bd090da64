"""A part cut loose: bodies, paired nodes and the depth over which they touch."""

import numpy as np
import pytest
from fea_meshes import ring, uniform
from sections import BANK, LOCAL, SINGLE, section

from geometry import Insert, Layer, UniformDepth
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import carried, part_off, parts_off
from geometry.section_mesh import bodies_of


@pytest.fixture(scope="module", params=[Insert(depth=10), LOCAL], ids=["uniform", "local"])
def bank(request):
    mesh = mesh_outline(draw_section(section(BANK, request.param)), element_size=10.0, detail=0.3)
    return mesh, part_off(mesh, "insert")


def test_metal_stays_where_it_was(bank):
    mesh, parted = bank

    def volume(mesh, part):
        total = 0.0
        for index, layers in enumerate(mesh.regions):
            xy = mesh.points[mesh.triangles[mesh.region == index][:, :3]]
            (ax, ay), (bx, by) = (xy[:, 1] - xy[:, 0]).T, (xy[:, 2] - xy[:, 0]).T
            for layer in layers:
                if layer.part == part:
                    x, y = xy.mean(axis=1).T
                    total += float((layer.thickness(x, y) * (ax * by - ay * bx)).sum() / 2)
        return total

    for part in ("insert", "barrel", "tie", "outer wall", "liner"):
        assert volume(parted.mesh, part) == pytest.approx(volume(mesh, part), rel=1e-12)
    assert (parted.mesh.points == mesh.points[parted.origin]).all()
    assert all(len({layer.part for layer in layers} & {"insert"}) in (0, len(layers))
               for layers in parted.mesh.regions)  # fmt: skip


def test_pieces_between_ties_are_bodies_of_their_own(bank):
    mesh, parted = bank
    assert bodies_of(mesh.triangles, len(mesh.points)).max() == 0
    bodies = bodies_of(parted.mesh.triangles, len(parted.mesh.points))
    assert bodies.max() == 12  # four ties at each of three bores part the insert twelve times


def test_an_insert_has_a_sharp_corner_at_each_edge_it_reaches_around():
    """Where a relief cut breaks through barrel (radius 52 mm) or outer wall (61 mm): on its circle,
    between its tangent and that of the wall (derived)."""
    block = section(SINGLE, Insert(depth=10, inside_radius=0), relief_cuts=SINGLE.relief_cuts[:1])
    mesh = mesh_outline(draw_section(block), element_size=10.0, detail=0.3)
    corners = part_off(mesh, "insert").mesh.corners
    assert mesh.corners == ()
    cut = block.block.relief_cuts[0]
    centre = cut.radius * np.exp(1j * np.radians(90 - 30 * cut.clock))
    assert sorted(round(abs(complex(at.x, at.y))) for at in corners) == [52, 52, 61, 61]
    for at in corners:
        z = complex(at.x, at.y)
        assert abs(z - centre) == pytest.approx(cut.diameter / 2, abs=1e-6)
        between = np.degrees(abs(np.angle(z / (z - centre))))
        assert at.angle == pytest.approx(180 + min(between, 180 - between), abs=1.0)


def test_sides_of_a_joint_lie_on_one_another_with_the_part_on_the_left(bank):
    _, parted = bank
    mesh, joint = parted.mesh, parted.joint
    assert (mesh.points[joint.own] == mesh.points[joint.other]).all()
    assert not np.isin(joint.own, joint.other).any()
    owners = {tuple(row) for t in mesh.triangles for row in (t[[0, 1, 3]], t[[1, 2, 4]],
                                                             t[[2, 0, 5]])}  # fmt: skip
    assert all(tuple(side) in owners for side in joint.own)
    assert set(joint.against) == {"barrel", "outer wall", "tie"}


def test_a_ring_is_one_body_that_touches_no_tie():
    """It lies on the milled ties; there it touches nothing, and walls over its own depth."""
    ring = Insert(depth=5, form="ring", edge_break=0)
    mesh = mesh_outline(draw_section(section(BANK, ring)), element_size=10.0, detail=0.3)
    parted = part_off(mesh, "insert")
    assert bodies_of(parted.mesh.triangles, len(parted.mesh.points)).max() == 1
    assert set(parted.joint.against) == {"barrel", "outer wall"}
    assert parted.joint.depth == pytest.approx(5.0)


def test_a_tie_is_touched_over_its_own_depth_only():
    mesh = mesh_outline(
        draw_section(section(BANK, Insert(depth=18, edge_break=0.5))),
        element_size=10.0,
        detail=0.3,
    )
    joint = part_off(mesh, "insert").joint
    assert joint.depth[joint.against == "tie"] == pytest.approx(12.0)
    assert joint.depth[joint.against == "barrel"] == pytest.approx(17.5)


def test_metal_below_the_part_does_not_touch_it():
    layers = (Layer("insert", UniformDepth(5.0)),), (Layer("barrel", UniformDepth(8.0), 6.0),)
    assert len(part_off(ring((40, 50, 60), layers, 5.0), "insert").joint.own) == 0
    layers = (Layer("insert", UniformDepth(5.0)),), (Layer("barrel", UniformDepth(8.0), 3.0),)
    joint = part_off(ring((40, 50, 60), layers, 5.0), "insert").joint
    assert joint.depth == pytest.approx(2.0)


@pytest.mark.parametrize("turned", [False, True])
def test_a_side_belongs_to_the_metal_that_it_is_pressed_against_most(turned):
    beside = Layer("barrel", UniformDepth(3.0)), Layer("tie", UniformDepth(9.0), 3.0)
    layers = (Layer("insert", UniformDepth(10.0)),), beside[::-1] if turned else beside
    joint = part_off(ring((40, 50, 60), layers, 5.0), "insert").joint
    assert set(joint.against) == {"tie"}
    assert joint.depth == pytest.approx(7.0)


def test_no_such_part():
    with pytest.raises(ValueError, match="no layer of the mesh is of the part insert"):
        part_off(ring((40, 50), [uniform("barrel", 5.0)], 5.0), "insert")


def test_a_joint_outlives_a_further_cut(bank):
    _, first = bank
    second = part_off(first.mesh, "liner")
    joint = carried(first.joint, second)
    for before, after in ((first.joint.own, joint.own), (first.joint.other, joint.other)):
        assert (second.origin[after] == before).all()
    sides = {tuple(row) for t in second.mesh.triangles for row in (t[[0, 1, 3]], t[[1, 2, 4]],
                                                                   t[[2, 0, 5]])}  # fmt: skip
    assert all(tuple(side) in sides for side in joint.own)
    assert all(tuple(side[[1, 0, 2]]) in sides for side in joint.other)
    assert (joint.depth == first.joint.depth).all()


def test_parts_are_cut_loose_one_after_the_other(bank):
    whole, first = bank
    both = parts_off(whole, ("insert", "liner"))
    assert [joint.part for joint in both.joints] == ["insert", "liner"]
    assert (both.mesh.points == whole.points[both.origin]).all()
    assert (both.origin[both.joint.own] == first.origin[first.joint.own]).all()
    assert set(both.joints[1].against) == {"barrel"}
    for joint in both.joints:
        assert not np.intersect1d(joint.own, joint.other).size
        assert (
            both.origin[joint.own[:, [1, 0, 2]]] == both.origin[joint.other[:, [1, 0, 2]]]
        ).all()


def test_a_joint_keeps_its_own_side_where_three_parts_meet():
    """A ring of barrel between liner and insert, cut loose from both."""
    layers = [uniform(part, 5.0) for part in ("liner", "barrel", "insert")]
    first = part_off(ring((40, 50, 60, 70), layers, 9.0), "insert")
    second = part_off(first.mesh, "barrel")
    joint = carried(first.joint, second)
    part = {}
    for triangle, region in zip(second.mesh.triangles, second.mesh.region, strict=True):
        part.update(dict.fromkeys(triangle.tolist(), second.mesh.regions[region][0].part))
    assert {part[node] for node in joint.own.ravel().tolist()} == {"insert"}
    assert {part[node] for node in joint.other.ravel().tolist()} == {"barrel"}

"""An insert and a liner cut loose from a solid: bodies that lie on one another."""

import math
from dataclasses import replace

import numpy as np
import pytest
from prisms import area_vectors, node_jacobians, volume_by_part

from geometry import Block, Insert, Register, Tie
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, mesh_solid
from geometry.solid.loose import LEDGE, parts_off

BLOCK = Block(
    bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60, crankcase_floor=75, liner=2,
)  # fmt: skip
TIED = replace(BLOCK, ties=(Tie(clock=0, width=9, depth=12), Tie(clock=6, width=9, depth=12)))
LEDGED = Insert(depth=8, register=Register(depth=8, barrel=1, outer_wall=1.5, ledge=1))


def parted_of(block, insert, parts=("insert",)):
    whole = mesh_solid(section_of(block, insert), COARSE)
    return whole, parts_off(whole, parts)


def areas_of(joint):
    side = np.array(joint.side)
    return {name: joint.area[side == name].sum() for name in {*joint.side}}


def test_a_ring_in_an_open_jacket_lies_on_both_walls():
    _, parted = parted_of(BLOCK, Insert(depth=8))
    joint = parted.joints[0]
    assert areas_of(joint) == {
        "barrel": pytest.approx(math.tau * 48 * 8, rel=1e-2),
        "outer wall": pytest.approx(math.tau * 57 * 8, rel=1e-2),
    }
    corner = joint.area > 0
    at = parted.mesh.points[joint.own[corner], :2]
    outward = np.where(np.array(joint.side)[corner] == "barrel", -1, 1)[:, None]
    radial = at / np.hypot(*at.T)[:, None]
    assert joint.normal[corner, :2] == pytest.approx(outward * radial, abs=0.01)
    assert joint.normal[:, 2] == pytest.approx(0, abs=1e-9)


def test_a_ring_on_a_ledge_lies_on_that_too():
    _, parted = parted_of(BLOCK, LEDGED)
    joint = parted.joints[0]
    ledge = (np.array(joint.side) == LEDGE) & (joint.area > 0)
    assert ledge.any()
    assert parted.mesh.points[joint.own[ledge], 2] == pytest.approx(-8)
    assert (np.unique(np.round(joint.normal[ledge, 2])) == -1).all()
    at = parted.mesh.points[joint.own[joint.triangles]]
    across = np.cross(at[:, 1] - at[:, 0], at[:, 2] - at[:, 0]).sum(axis=0) / 2
    ledges = math.pi * (48**2 - 47**2 + 58.5**2 - 57**2)
    assert across == pytest.approx([0, 0, -ledges], rel=0.04, abs=1)


def test_bodies_share_no_node_and_lie_node_on_node():
    whole, parted = parted_of(TIED, Insert(depth=8), ("insert", "liner"))
    mesh = parted.mesh
    bodies = [set(mesh.prisms[parted.body == body].ravel()) for body in range(4)]
    assert sum(len(body) for body in bodies) == len(mesh.points)  # two pieces, a liner, the block
    for joint in parted.joints:
        assert (joint.own != joint.other).all()
        assert np.array_equal(mesh.points[joint.own], mesh.points[joint.other])
    assert np.array_equal(mesh.points, whole.points[parted.origin])
    assert volume_by_part(mesh) == pytest.approx(volume_by_part(whole))
    assert node_jacobians(mesh).min() > 0


def test_named_faces_of_all_bodies_are_those_of_the_whole():
    whole, parted = parted_of(TIED, Insert(depth=8), ("insert", "liner"))
    for name in (*whole.sides, *whole.flats):
        assert np.array_equal(area_vectors(parted.mesh, name), area_vectors(whole, name))
    for kind in ("sides", "flats"):
        for name, faces in getattr(parted.mesh, kind).items():
            assert np.array_equal(parted.origin[faces], getattr(whole, kind)[name])
            owners = [set(row) for row in parted.mesh.prisms.tolist()]
            assert any(set(faces[0].tolist()) <= owner for owner in owners)


def test_pairs_stand_off_at_broken_edges_and_round_corners():
    _, parted = parted_of(TIED, Insert(depth=8, edge_break=0.4))
    joint = parted.joints[0]
    at = parted.mesh.points[joint.own]
    lowest = at[:, 2] < -8 + 1e-9
    assert joint.gap[lowest].min() == pytest.approx(0.2)
    middle = ~lowest & (np.array(joint.side) == "tie") & (np.abs(at[:, 1]) < 52)
    assert middle.any()
    assert joint.gap[~lowest].min() == 0
    assert joint.gap.max() > 0.2


def test_a_part_that_is_not_there_is_said_to_be_missing():
    whole, _ = parted_of(BLOCK, Insert(depth=8))
    with pytest.raises(ValueError, match="no prism of the solid is of the part tie"):
        parts_off(whole, ["tie"])

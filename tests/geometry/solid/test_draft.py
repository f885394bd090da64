"""Walls that lean with a draft: where faces stand at each depth, and what stays upright."""

import math
from dataclasses import replace

import numpy as np
import pytest
from prisms import node_jacobians

from geometry import Block, Insert, Register, ReliefCut, Tie, WaterSlot
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, mesh_solid
from geometry.solid.loose import parts_off

DRAFT = 2.0
SLOPE = math.tan(math.radians(DRAFT))
CAST = Block(
    bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60, crankcase_floor=75,
    ties=(Tie(clock=0, width=9, depth=12), Tie(clock=6, width=9, depth=16)),
    relief_cuts=(ReliefCut(clock=2.25, radius=53, diameter=16, depth=24),), draft=DRAFT,
)  # fmt: skip
RING = Insert(depth=6, form="ring", slots=(WaterSlot(clock=4, width=5, arc=20),))
HELD = Insert(depth=6, register=Register(depth=6, barrel=1, outer_wall=1, corner_radius=2.5))


def faces(mesh, name):
    points = mesh.points[np.unique(mesh.sides[name])]
    return points[:, :2] @ [1, 1j], -points[:, 2]


def test_walls_stand_at_each_depth_where_the_draft_has_them():
    """Barrel 46 + z tan, outer wall 55 - z tan; half a tie 4.5 + z tan.

    Where a fillet's end counts as the wall a plan is 0.15 mm off it, upright or not; a tie's side
    less than 1 mm from where its fillet ends is 0.02 mm off.
    """
    mesh = mesh_solid(section_of(CAST), COARSE)
    z, depth = faces(mesh, "jacket")
    thicker, radius = depth * SLOPE, np.abs(z)
    off = np.minimum(np.abs(radius - 46 - thicker), np.abs(radius - 55 + thicker))
    below = depth > 19
    assert np.quantile(off[below], 0.8) < 5e-3
    assert off[below].max() < 0.16
    assert radius.min() == pytest.approx(46, abs=1e-3)
    side = (np.abs(radius - 50.5) < 0.9) & (np.abs(z.real) < 8) & (depth < 10)
    assert side.sum() > 10
    assert np.abs(z.real[side]) == pytest.approx(4.5 + thicker[side], abs=5e-3)


def test_bore_outside_and_relief_cuts_stay_upright():
    """A cut where it breaks through a wall that leans by 0.4 mm is 0.03 mm off its circle."""
    mesh = mesh_solid(section_of(CAST), COARSE)
    for name, radius in {"bore": 40, "outside": 63}.items():
        z, _ = faces(mesh, name)
        assert np.abs(z) == pytest.approx(radius, abs=2e-3)
    z, depth = faces(mesh, "relief")
    centre = 53 * np.exp(1j * math.radians(22.5))
    assert np.abs(z - centre) == pytest.approx(8, abs=0.03)
    assert np.median(np.abs(np.abs(z - centre) - 8)) < 3e-3
    assert depth.max() == pytest.approx(22)


@pytest.mark.parametrize(("insert", "leans"), [(RING, DRAFT), (HELD, 0.0)], ids=["cast", "held"])
def test_an_insert_leans_with_the_walls_and_is_straight_in_a_register(insert, leans):
    """But for the rounds of a register's corners, which end on sides of ties that lean."""
    mesh = mesh_solid(section_of(CAST, insert), COARSE)
    assert mesh.leans_to == CAST.jacket_depth
    joint = parts_off(mesh, ("insert",)).joints[0]
    walls = np.isin(joint.side, ["barrel", "outer wall"]) & (joint.area > 0)
    down = np.degrees(np.arcsin(-joint.normal[walls, 2]))
    assert np.median(down) == pytest.approx(leans, abs=0.02)
    cut = np.abs(down) < 0.3  # the barrel's side in a relief cut too
    straight = (np.abs(down - leans) < 0.15) | cut
    assert joint.area[walls][straight].sum() > 0.95 * joint.area[walls].sum()


def test_a_jacket_that_closes_above_its_floor_leans_down_as_far_as_it_can():
    """With 6 deg it is closed 43 mm down, 9 / (2 tan 6 deg)."""
    mesh = mesh_solid(section_of(replace(CAST, ties=(), draft=6.0)), COARSE)
    assert 20 < mesh.leans_to < 43
    assert node_jacobians(mesh).min() > 0
    z, depth = faces(mesh, "jacket")
    thicker = np.minimum(depth, mesh.leans_to) * math.tan(math.radians(6))
    radius = np.abs(z)
    off = np.minimum(np.abs(radius - 46 - thicker), np.abs(radius - 55 + thicker))
    assert np.quantile(off, 0.95) < 5e-3
    assert off.max() < 0.02


def test_without_draft_nothing_leans():
    mesh = mesh_solid(section_of(replace(CAST, draft=0.0), RING), COARSE)
    assert mesh.leans_to == 0
    assert (mesh.drawn == mesh.points[:, :2]).all()

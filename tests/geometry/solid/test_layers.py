"""Layers of prisms: whole, named, as large as the block is, and the same each time."""

import math
from dataclasses import replace

import numpy as np
import pytest
from prisms import area, area_vectors, node_jacobians, volume_by_part

from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    Register,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
)  # fmt: skip
from geometry.solid.columns import draw_columns, section_of
from geometry.solid.layers import COARSE, FINE, mesh_solid

PLAIN = Block(
    bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60, crankcase_floor=75,
    ties=(Tie(clock=0, width=9, depth=12), Tie(clock=6, width=9, depth=12)),
    relief_cuts=(ReliefCut(clock=2.25, radius=53, diameter=16, depth=24),),
)  # fmt: skip
SHARP = Block(
    bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60, crankcase_floor=75,
    ties=PLAIN.ties, relief_cuts=PLAIN.relief_cuts, floor_radius=0, underside_radius=0,
)  # fmt: skip
BANK = Block(
    bore=86, liner=2, barrel_wall=6, jacket=9, outer_wall=8, bores=4, pitch=98, firing_bore=2,
    ties=(Tie(clock=0.3, width=8, depth=12), Tie(clock=6, width=8, depth=14)),
    relief_cuts=(ReliefCut(clock=1.75, radius=57, diameter=16, depth=22),),
)  # fmt: skip
UNIFORM = Insert(depth=6, slots=(WaterSlot(clock=4, width=5, arc=20),))
LOCAL = Insert(depth=6, zones=(DeeperZone(clock=2, width=30, depth=16, blend=10),))
VALLEY = Block(
    bore=87, liner=2.5, barrel_wall=6, jacket=9, outer_wall=9, bores=3, pitch=97, firing_bore=2,
    ties=tuple(Tie(clock=k, width=8, depth=12) for k in (1 / 3, 31 / 6, 41 / 6, 133 / 12)),
    relief_cuts=(
        ReliefCut(clock=1.25, radius=58.5, diameter=18.5, depth=22),
        ReliefCut(clock=7.75, radius=56, diameter=15, depth=25),
    ),
)  # fmt: skip
INTO_VALLEY = Insert(
    depth=5, zones=(DeeperZone(clock=7 + 35 / 60, width=22, depth=16, blend=6),
                    DeeperZone(clock=1 + 25 / 60, width=26, depth=16, blend=8)),
)  # fmt: skip
DESIGNS = [
    pytest.param(PLAIN, None, id="one bore, bare"),
    pytest.param(PLAIN, UNIFORM, id="one bore, uniform"),
    pytest.param(PLAIN, LOCAL, id="one bore, local"),
    pytest.param(BANK, None, id="bank, bare"),
    pytest.param(BANK, LOCAL, id="bank, local"),
    pytest.param(VALLEY, INTO_VALLEY, id="zones that end in a valley's fillet"),
]


def closed(mesh):
    return sum(area_vectors(mesh, name).sum(axis=0) for name in (*mesh.sides, *mesh.flats))


@pytest.mark.parametrize(("block", "insert"), DESIGNS)
def test_named_faces_close_around_sound_prisms(block, insert):
    mesh = mesh_solid(section_of(block, insert), COARSE)
    assert node_jacobians(mesh).min() > 1e-3
    assert closed(mesh) == pytest.approx(0, abs=1e-6)
    faces = np.concatenate([np.sort(f)[:, :9] for f in mesh.sides.values()])
    assert len(np.unique(faces, axis=0)) == len(faces)
    assert len(np.unique(mesh.prisms)) == len(mesh.points)


@pytest.mark.parametrize("insert", [None, UNIFORM], ids=["bare", "uniform"])
def test_volume_of_each_part_is_that_of_its_columns(insert):
    section = section_of(SHARP, insert)
    columns = draw_columns(section)
    wanted: dict[str, float] = {}
    for face in columns.outline.faces:
        for slab in columns.columns[face.region]:
            height = slab.bottom.depth - slab.top.depth
            wanted[slab.part] = wanted.get(slab.part, 0) + height * columns.outline.area(face)
    found = volume_by_part(mesh_solid(section, FINE))
    assert found.keys() == wanted.keys()
    for part, volume in wanted.items():
        assert found[part] == pytest.approx(volume, rel=1e-3), part


def test_areas_of_a_plain_block_are_those_of_its_drawing():
    block = Block(bore=80, barrel_wall=6, jacket=9, outer_wall=8, jacket_depth=60)
    mesh = mesh_solid(section_of(block), FINE)
    height = 60 + 0.15 * 80
    ring = math.pi * (55**2 - 46**2)
    whole = math.pi * (63**2 - 40**2)
    assert area(mesh, "bore") == pytest.approx(math.tau * 40 * height, rel=1e-4)
    assert area(mesh, "outside") == pytest.approx(math.tau * 63 * height, rel=1e-4)
    assert area(mesh, "jacket") == pytest.approx(math.tau * (46 + 55) * 60, rel=1e-4)
    assert area(mesh, "floors") == pytest.approx(ring, rel=1e-4)
    assert area(mesh, "deck") == pytest.approx(whole - ring, rel=1e-4)
    assert area(mesh, "crankcase") == pytest.approx(whole, rel=1e-4)
    assert mesh.points[:, 2].max() == 0
    assert mesh.points[:, 2].min() == pytest.approx(-height)


def test_walls_of_a_relief_cut_and_of_slots_have_their_names():
    undressed = replace(UNIFORM, inside_radius=0.0)
    mesh = mesh_solid(section_of(PLAIN, undressed), COARSE)
    at = mesh.points[mesh.sides["relief"]]
    centre = 53 * np.array([math.sin(math.radians(67.5)), math.cos(math.radians(67.5))])
    assert np.hypot(*(at[..., :2] - centre).reshape(-1, 2).T) == pytest.approx(8)
    assert at[..., 2].max() == pytest.approx(-6)
    assert at[..., 2].min() == pytest.approx(-22)  # its fillet of 2 mm is floor
    slots = mesh.points[mesh.sides["slots"]]
    assert slots[..., 2].min() == pytest.approx(-6)


def test_a_bank_is_cut_through_the_bores_beside_the_one_that_fires():
    mesh = mesh_solid(section_of(BANK), COARSE)
    x = mesh.points[mesh.sides["cut"]][..., 0]
    assert np.unique(np.round(x, 9)).tolist() == [-98, 98]
    assert np.abs(mesh.points[:, 0]).max() == pytest.approx(98)
    assert area(mesh, "other bores") == pytest.approx(area(mesh, "bore"), rel=2e-3)


def test_floors_and_undersides_rise_into_the_walls_by_their_radius():
    mesh = mesh_solid(section_of(PLAIN), FINE)
    cut = mesh.points[np.unique(mesh.flats["floors"])]
    centre = 53 * np.array([math.sin(math.radians(67.5)), math.cos(math.radians(67.5))])
    cut = cut[cut[:, 2] > -30]
    away = 8 - np.hypot(*(cut[:, :2] - centre).T)
    short = 2 - away.clip(0, 2)
    assert cut[:, 2] == pytest.approx(-24 + 2 - np.sqrt(4 - short**2), abs=1e-6)
    tie = mesh.points[np.unique(mesh.flats["undersides"])]
    radius = np.hypot(tie[:, 0], tie[:, 1])
    short = 3 - np.minimum(radius - 46, 55 - radius).clip(0, 3)
    assert tie[:, 2] == pytest.approx(-12 - 3 + np.sqrt(9 - short**2), abs=1e-3)


def size_at(mesh, node):
    """Mean side of the triangles about a node of the deck. [mm]."""
    corners = mesh.points[mesh.prisms[(mesh.prisms == node).any(axis=1)][:, 12:15]]
    return np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).mean()


def nearest(mesh, *place):
    """Node of the deck at a place, and how far away it is. [mm]."""
    away = np.linalg.norm(mesh.points - [*place, 0.0], axis=1)
    return int(away.argmin()), float(away.min())


@pytest.mark.parametrize("fineness", [COARSE, FINE])
@pytest.mark.parametrize("design", ["bare", "pieces", "a register"])
def test_where_an_insert_ends_both_walls_are_meshed_finely(fineness, design):
    """A pocket's corners beside a tie, as cast or as cut; without an insert the barrel's alone."""
    cut = Register(barrel=0.5, outer_wall=0.75, depth=10) if design == "a register" else None
    insert = None if design == "bare" else Insert(depth=6, register=cut)
    mesh = mesh_solid(section_of(PLAIN, insert), fineness)
    tie, off = PLAIN.ties[0], 0.5 if cut else 0.0
    barrel, outer = PLAIN.bore / 2 + PLAIN.barrel_wall, PLAIN.outside_radius - PLAIN.outer_wall
    for face, turn in ((barrel - off, 1), (outer + 1.5 * off, -1)):
        across = (tie.width / 2 + tie.fillet) * face / (face + turn * tie.fillet)
        node, away = nearest(mesh, across, math.sqrt(face**2 - across**2))
        if design == "bare" and turn < 0:
            assert size_at(mesh, node) > fineness.wall
        else:
            assert away < 0.05
            assert size_at(mesh, node) < 2.5 * max(fineness.foot * tie.fillet, 0.4 * fineness.wall)


@pytest.mark.parametrize("fineness", [COARSE, FINE])
def test_what_a_slot_leaves_of_an_insert_s_end_is_meshed_finely(fineness):
    """2 mm to the fillet of the tie at 12:00, as against 20 from the one at 6:00."""
    slot = WaterSlot(clock=0.75, width=5, arc=12)
    mesh = mesh_solid(section_of(PLAIN, Insert(depth=6, slots=(slot,))), fineness)
    middle = PLAIN.bore / 2 + PLAIN.barrel_wall + PLAIN.jacket / 2
    sizes = []
    for end in (-1, 1):
        turn = math.radians(30 * slot.clock + end * (slot.arc / 2 - 1.0))
        node, _ = nearest(mesh, middle * math.sin(turn), middle * math.cos(turn))
        sizes.append(size_at(mesh, node))
    assert sizes[0] < 0.6 * sizes[1]


def test_roots_of_ties_are_meshed_finely_in_plan_and_depth():
    mesh = mesh_solid(section_of(PLAIN), FINE)
    tie, face = PLAIN.ties[0], PLAIN.bore / 2 + PLAIN.barrel_wall
    across = (tie.width / 2 + tie.fillet) * face / (face + tie.fillet)
    foot = [across, math.sqrt(face**2 - across**2), 0.0]
    node = int(np.argmin(np.linalg.norm(mesh.points - foot, axis=1)))
    assert mesh.points[node] == pytest.approx(foot, abs=0.05)
    assert size_at(mesh, node) < 2 * FINE.foot * tie.fillet
    below = np.linalg.norm(mesh.points[:, :2] - mesh.points[node, :2], axis=1) < 1e-6
    lines = np.sort(-mesh.points[below, 2])
    (k,) = np.flatnonzero(np.diff(lines > tie.depth - 0.01))
    assert lines[k + 1] - lines[k] < 0.75 * FINE.thin  # half a layer


def test_sharp_floors_have_rims_and_round_ones_have_none():
    def rims_at(block, depth, spread):
        mesh = mesh_solid(section_of(block), FINE)
        z = mesh.points[mesh.rims[:, 2], 2]
        return int((np.abs(z + depth) < spread).sum())

    assert rims_at(SHARP, 24, 0.1) > 5
    assert rims_at(PLAIN, 23, 1.1) == 0
    assert rims_at(SHARP, 60, 0.1) > 20


def test_the_underside_of_a_deeper_zone_is_smooth():
    mesh = mesh_solid(section_of(PLAIN, LOCAL), COARSE)
    under = mesh.points[np.unique(mesh.flats["undersides"])]
    deepest = under[(under[:, 2] < -15.9) & (under[:, 2] > -16.1)]
    assert len(deepest) > 5
    column = draw_columns(section_of(PLAIN, LOCAL)).columns
    profile = next(s.bottom.profile for c in column for s in c if s.bottom.profile is not None)
    angle = np.degrees(np.arctan2(under[:, 0], under[:, 1]))
    blend = (np.abs(angle - 60) < 24) & (np.abs(angle - 60) > 16)
    assert blend.any()
    assert -under[blend, 2] == pytest.approx(profile(*under[blend, :2].T), abs=1e-4)


def test_a_solid_is_the_same_each_time():
    one, other = (mesh_solid(section_of(PLAIN, LOCAL), COARSE) for _ in range(2))
    assert np.array_equal(one.points, other.points)
    assert np.array_equal(one.prisms, other.prisms)


def test_an_insert_that_fills_the_jacket_to_its_floor_is_refused():
    with pytest.raises(SectionError, match=r"59\.5 mm below the deck in a jacket 60 mm deep"):
        mesh_solid(DeckSection(block=PLAIN, depth=75, insert=Insert(depth=59.5)))


@pytest.mark.parametrize(
    "insert",
    [
        pytest.param(
            Insert(depth=6, zones=(DeeperZone(clock=0.9, width=20, depth=18, blend=10),)),
            id="a blend that passes a tie's depth along its side",
        ),
        pytest.param(
            Insert(depth=12, zones=(DeeperZone(clock=2, width=30, depth=18, blend=10),)),
            id="a base as deep as the ties",
        ),
        pytest.param(
            Insert(depth=6, zones=(DeeperZone(clock=2, width=30, depth=16),)), id="steps"
        ),
        pytest.param(
            Insert(
                depth=6, form="ring",
                zones=(
                    DeeperZone(clock=2, width=30, depth=16),
                    DeeperZone(clock=9, width=40, depth=14, blend=8),
                ),
            ),
            id="a ring with a step and a blend",
        ),
        pytest.param(
            Insert(depth=6, zones=(DeeperZone(clock=2, width=30, depth=24.0, blend=10),)),
            id="onto a cut's floor",
        ),
        pytest.param(
            Insert(depth=6, zones=(DeeperZone(clock=2, width=30, depth=30, blend=10),)),
            id="deeper than a cut",
        ),
    ],
)  # fmt: skip
def test_zones_that_pass_other_depths_are_sound(insert):
    section = section_of(PLAIN, insert)
    mesh = mesh_solid(section, COARSE)
    assert node_jacobians(mesh).min() > 0
    assert closed(mesh) == pytest.approx(0, abs=1e-6)
    columns = draw_columns(section)
    wanted = 0.0
    for face in columns.outline.faces:
        for slab in columns.columns[face.region]:
            if slab.part == "barrel":
                wanted += columns.outline.area(face) * (slab.bottom.depth - slab.top.depth)
    assert volume_by_part(mesh)["barrel"] == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize("firing", [1, 2, 4])
def test_walls_that_were_read_stand_about_the_bores_that_a_solid_has(firing):
    """Of a bank of four that whose bore fires, and those beside it."""
    walls = (
        ((0, 6.5), (4, 6.2), (6, 6.0)), ((1, 5.8), (5, 6.6), (9, 6.1)), (),
        ((0, 6.0), (4, 7.0), (8, 6.4)),
    )  # fmt: skip
    leans = ((0.005, 30.0), None, (0.004, 30.0), None)
    four = replace(
        BANK, firing_bore=firing, jacket_depth=40, crankcase_floor=60, bore_walls=walls,
        bore_leans=leans,
    )  # fmt: skip
    block = draw_columns(section_of(four)).plan.section.block
    kept = slice(max(firing - 2, 0), firing + 1)
    assert block.axes == four.axes[kept]
    assert (block.bore_walls, block.bore_leans) == (walls[kept], leans[kept])

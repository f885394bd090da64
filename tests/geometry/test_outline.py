"""The drawn section: areas, names, corners; and what can't be built."""

import math
from dataclasses import replace

import numpy as np
import pytest
from sections import BANK, LOCAL, SINGLE, UNIFORM, ring, section

from geometry import (
    Block,
    DeckSection,
    Insert,
    Register,
    Tie,
    WaterSlot,
)
from geometry.outline import draw_section
from geometry.plan import in_slot, placed, slot_loop
from geometry.planar import inside, turns


def test_ring_is_one_face_with_exact_area():
    outline = draw_section(ring())
    assert len(outline.faces) == 1
    assert outline.area(outline.faces[0]) == pytest.approx(math.pi * (80**2 - 50**2), rel=1e-13)
    assert set(outline.names) == {"bore", "outside"}
    assert outline.corners == ()


def test_open_jacket_area_is_exact():
    outline = draw_section(section(ties=(), relief_cuts=()))
    assert outline.open_area == pytest.approx(math.pi * (61**2 - 52**2), rel=1e-12)
    assert outline.insert_area == 0


@pytest.mark.parametrize("arc", [0.0, 25.0, 170.0])
def test_a_point_is_in_a_slot_where_the_slots_edge_goes_round_it(arc):
    cut = section(insert=Insert(depth=9, slots=(WaterSlot(clock=8.3, width=5, arc=arc),)))
    (slot,) = placed(cut.insert.slots, cut.block, "slot")
    x, y = np.random.default_rng(2).uniform(-65, 65, (2, 4000))
    found = in_slot(slot, cut, x + 1j * y)
    assert found.any()
    assert (found == inside([slot_loop(slot, cut)], x + 1j * y)).all()


def test_insert_and_water_share_the_jacket():
    bare = draw_section(section(relief_cuts=()))
    closed = draw_section(section(relief_cuts=(), insert=UNIFORM))
    assert closed.open_area == pytest.approx(math.pi * 2**2, rel=1e-9)  # the one slot
    assert closed.insert_area + closed.open_area == pytest.approx(bare.open_area, rel=1e-9)


def test_every_tie_corner_has_its_fillet():
    outline = draw_section(section(relief_cuts=()))
    arcs = [p for p in outline.pieces if p.tag.startswith("fillet")]
    assert len({(round(p.centre.real, 6), round(p.centre.imag, 6)) for p in arcs}) == 16
    assert {round(p.radius, 9) for p in arcs} == {3.0}
    assert outline.corners == ()


def test_a_tie_without_fillets_leaves_sharp_corners():
    tie = replace(SINGLE.ties[0], fillet=0.0)
    outline = draw_section(section(ties=(tie,), relief_cuts=()))
    found = sorted((abs(complex(at.x, at.y)), at.angle) for at in outline.corners)
    lean = [math.degrees(math.asin(4 / radius)) for radius in (52, 61)]  # of the walls there
    assert np.array(found) == pytest.approx(
        np.array([(52, 270 - lean[0])] * 2 + [(61, 270 + lean[1])] * 2), abs=1e-6
    )


@pytest.mark.parametrize("width", [1.6, 2.5])
def test_an_insert_that_ends_on_a_fillet_leaves_a_sharp_corner(width):
    """Its edge is a circle of 52 mm and its width; the fillet's centre lies at radius 55 mm: by the
    cosine rule in the triangle of both centres and the corner (derived)."""
    made = section(ties=SINGLE.ties[:1], relief_cuts=(), insert=Insert(depth=9, width=width))
    reach = 52 + width
    water = math.acos((reach**2 + 3**2 - 55**2) / (2 * reach * 3))
    outline = draw_section(made)
    assert [round(abs(complex(at.x, at.y)), 6) for at in outline.corners] == [reach, reach]
    for at in outline.corners:
        assert at.angle == pytest.approx(360 - math.degrees(water), abs=1e-6)


def test_neighbouring_barrels_run_together_with_a_valley_fillet():
    outline = draw_section(section(BANK, valley_fillet=4.0))
    arcs = [p for p in outline.pieces if p.tag.count("barrel") == 2]
    assert {round(p.radius, 9) for p in arcs} == {4.0}
    assert {"bore", "other bores", "jacket", "outside", "step", "liner fit"} <= set(outline.names)


def test_wall_table_is_met_at_its_rows_and_between_them():
    table = ((0.0, 6.0), (3.0, 4.5), (6.0, 7.0), (9.0, 5.0))
    block = Block(bore=87, liner=2.5, barrel_wall=6, wall_table=table)
    outline = draw_section(DeckSection(block=block, depth=20))
    ends = np.array([p.start for p in outline.pieces if p.tag == "outside"])
    wall = np.abs(ends) - 46
    for clock, value in table:
        nearest = np.argmin(np.abs(ends - abs(ends[0]) * np.exp(1j * np.deg2rad(90 - 30 * clock))))
        assert wall[nearest] == pytest.approx(value, abs=1e-6)
    assert wall.min() > 4.5 - 1e-6
    assert wall.max() < 7.0 + 1e-6


def test_a_row_of_a_wall_table_where_a_fillet_runs_out_leaves_the_barrel_under_the_tie():
    """A row of this table lies 0.3 um beyond the end of a tip: so short a piece is none of it."""
    clocks = np.arange(36) * 12 / 36
    walls = np.round(7 + 0.3 * np.cos(np.deg2rad(30 * (clocks - 2))), 6)
    table = tuple(zip(clocks.tolist(), walls.tolist(), strict=True))
    block = Block(bore=80, barrel_wall=7, jacket=9, outer_wall=8,
                  ties=(Tie(clock=1 / 3, width=8, depth=12),))  # fmt: skip
    drawn = draw_section(DeckSection(block=replace(block, wall_table=table), depth=24))
    even = draw_section(DeckSection(block=block, depth=24))
    assert drawn.part_area("tie") == pytest.approx(even.part_area("tie"), rel=0.05)


def test_layers_of_an_insert_above_the_floor_of_a_relief_cut():
    outline = draw_section(section(insert=UNIFORM, depth=30.0))
    both = [r for r in outline.regions if [layer.part for layer in r] == ["barrel", "insert"]]
    assert [[layer.thickness.thickness for layer in region] for region in both] == [[8.0, 10.0]]


@pytest.mark.parametrize("insert", [None, UNIFORM, LOCAL], ids=["bare", "uniform", "local"])
@pytest.mark.parametrize("block", [SINGLE, BANK], ids=["single", "bank"])
def test_faces_tile_the_block(block, insert):
    """Metal, water and bores fill the outside, less what relief cuts and slots opened."""
    if block is BANK and insert is UNIFORM:
        insert = replace(insert, slots=())
    outline = draw_section(section(block, insert))
    length = (block.bores - 1) * (block.pitch or 0)
    whole = math.pi * block.outside_radius**2 + 2 * block.outside_radius * length
    filled = sum(outline.area(face) for face in outline.faces) + outline.open_area
    bores = block.bores * math.pi * (block.bore / 2) ** 2
    cut_through = whole - bores - filled
    if all(r.depth < 28 for r in block.relief_cuts) or insert:
        assert cut_through == pytest.approx(0.0, abs=1e-6)
    else:
        one_cut = math.pi * 7**2
        assert 0 < cut_through < 3 * one_cut


@pytest.mark.parametrize(
    "register",
    [
        None,
        Register(depth=6, corner_radius=1.5),
        Register(depth=6, barrel=1, outer_wall=1.5),
        Register(depth=6, barrel=0.5, outer_wall=0.5, corner_radius=4),
    ],
)
@pytest.mark.parametrize("form", ["pieces", "ring"])
def test_no_face_ends_in_a_cusp(form, register):
    """Where a fillet as cast runs out into a tie or wall that a register cuts, as everywhere."""
    made = section(relief_cuts=(), insert=Insert(depth=5, form=form, register=register))
    outline = draw_section(made)
    sharpest = min(
        math.pi - float(abs(turns(loop)).max()) for face in outline.faces
        for loop in outline.loops(face)
    )  # fmt: skip
    assert math.degrees(sharpest) > 2.5


@pytest.mark.parametrize("off", [1e-5, -1e-5, 0.015])
@pytest.mark.parametrize("taken", [0.0, 1.0])
def test_a_cutter_of_next_to_a_fillets_radius_leaves_that_fillet(off, taken):
    """Between the two would stand a face that no mesher fills (ties' fillets are of 3 mm)."""

    def edges(radius):
        register = Register(depth=8, barrel=taken, corner_radius=radius)
        outline = draw_section(section(insert=Insert(depth=8, register=register)))
        assert min(abs(outline.area(face)) for face in outline.faces) > 1e-3
        return {(piece.start, piece.end) for piece in outline.pieces}

    assert edges(3.0 + off) == edges(3.0)

"""The drawn section: areas, names, corners; and what can't be built."""

import math
from dataclasses import replace

import numpy as np
import pytest
from sections import BANK, LOCAL, SINGLE, UNIFORM, ring, section

from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    SectionError,
    Tie,
    WaterSlot,
    default_depth,
)
from geometry.outline import draw_section
from geometry.plan import in_slot, placed, slot_loop
from geometry.planar import inside


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
    assert len(outline.corners) == 4
    assert all(200 < corner.angle < 300 for corner in outline.corners)


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


def test_layers_of_an_insert_above_the_floor_of_a_relief_cut():
    outline = draw_section(section(insert=UNIFORM, depth=30.0))
    both = [r for r in outline.regions if [layer.part for layer in r] == ["barrel", "insert"]]
    assert [[layer.thickness.thickness for layer in region] for region in both] == [[8.0, 10.0]]


def test_default_depth_covers_the_deepest_insert():
    assert default_depth(SINGLE) == pytest.approx(1.4 * math.sqrt(47.75 * 8.5))
    assert default_depth(SINGLE, 40.0) == 40.0


RELIEF = ReliefCut(clock=1.667, radius=57.5, diameter=16, depth=22)

REFUSED = {
    "relief cut breaks into the bore": (
        {"relief_cuts": (replace(RELIEF, radius=50),)},
        r"relief cut 1 at 1:40 .* breaks into the liner .* radius of 55\.5 mm.*at most 5 mm",
    ),
    "relief cut leaves a thin barrel": (
        {"relief_cuts": (replace(RELIEF, radius=55),)},
        r"relief cut 1 at 1:40 .* leaves 1 mm of barrel wall.*under 1\.5 mm.*radius of 55\.5 mm",
    ),
    "relief cut breaks through the outer wall": (
        {"relief_cuts": (replace(RELIEF, radius=63),)},
        r"relief cut 1 at 1:40 .*breaks through the outer wall by 1 mm.*radius of 60\.5 mm",
    ),
    "tie wider than its arc": (
        {"ties": (SINGLE.ties[0], replace(SINGLE.ties[1], clock=0.6))},
        r"tie 1 at 12:24 is 8 mm wide, more than its arc.*at most 2\.89 mm",
    ),
    "two ties at one place": ({"ties": (SINGLE.ties[0],) * 2}, r"at the clock position of another"),
    "fillet too large for the jacket": (
        {"ties": (replace(SINGLE.ties[1], fillet=6.0),)},
        r"fillet of 6 mm doesn't fit between tie 1 at 3:12 and the .* at most 4\.5 mm",
    ),
    "thin tie": (
        {"ties": (Tie(clock=3, width=1.4, depth=9, fillet=0.5),)},
        r"left 1\.4 mm thick between two sides of tie 1 at 3:00 near [23]:.* 1\.5 mm is the least",
    ),
    "thin barrel": ({"barrel_wall": 1.2, "relief_cuts": ()}, r"barrel_wall = 1\.2 mm is thinner"),
    "thin row of the wall table": (
        {"wall_table": ((0, 6), (4, 1.0), (8, 6)), "relief_cuts": ()},
        r"wall_table row 2 at 4:00: 1 mm is thinner than the 1\.5 mm",
    ),
    "wall table fills the jacket": (
        {"wall_table": ((0, 6), (4, 15.0), (8, 6)), "relief_cuts": ()},
        r"leaves no water.*at most 14\.5 mm",
    ),
    "slot outside the insert": (
        {"insert": Insert(depth=9, slots=(WaterSlot(clock=2.6, width=9),))},
        r"slot 1 at 2:36 .* reaches outside the insert.* at most 6 mm wide",
    ),
    "slot at a tie": (
        {"insert": Insert(depth=9, slots=(WaterSlot(clock=3.2, width=4),))},
        r"slot 1 at 3:12 .* Move it",
    ),
    "slots too near each other": (
        {"insert": Insert(depth=9, slots=tuple(WaterSlot(clock=c, width=4) for c in (2.5, 2.67)))},
        r"the insert is left .* between slot 2 at 2:40 and slot 1 at 2:30 near 2:34",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("change", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_refused(change, message):
    with pytest.raises(SectionError, match=message):
        draw_section(section(**change))


def test_tie_into_the_neighbouring_barrel():
    with pytest.raises(SectionError, match=r"tie 1 at 2:36 on bore 1 meets .*free is 1:\d\d"):
        draw_section(section(BANK, ties=(Tie(clock=2.6, width=8, depth=12),)))


def test_bore_number_that_is_none():
    with pytest.raises(SectionError, match=r"stands on bore 7, but the block has bores 1 to 3"):
        draw_section(section(BANK, ties=(Tie(clock=1, width=8, depth=12, bores=(7,)),)))


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: replace(BANK, pitch=90), r"pitch = 90 mm is not more than .* above 92 mm"),
        (lambda: replace(BANK, pitch=None), r"bores = 3 needs a pitch"),
        (lambda: Tie(clock=13, width=8, depth=12), r"tie.clock = 13 h is outside 0 to 12 h"),
        (lambda: section(insert=Insert(depth=40), depth=30.0), r"insert depth 40 mm .* at most 30"),
        (lambda: Insert(depth=-1), r"insert.depth = -1 mm is outside"),
        (lambda: Insert(depth=math.nan), r"insert.depth = nan mm is outside"),
        (lambda: DeeperZone(clock=1, width=300, depth=5, blend=40), r"longer than the whole"),
        (
            lambda: Insert(depth=9, zones=(DeeperZone(clock=1, width=30, depth=9),)),
            r"zone 1 at 1:00 is 9 mm deep, no deeper than the insert's 9 mm",
        ),
        (lambda: section(jacket=0.0), r"no jacket, so no tie"),
        (lambda: section(outer_wall=0.0), r"needs an outer wall"),
        (lambda: replace(SINGLE, wall_table=((0, 6), (12, 5), (3, 4))), r"2 different clock"),
    ],
)  # fmt: skip
def test_parts_check_themselves(make, message):
    with pytest.raises(SectionError, match=message):
        make()


def test_a_case_can_lower_the_limit_on_purpose():
    thin = replace(RELIEF, radius=55)
    with pytest.raises(SectionError):
        draw_section(section(relief_cuts=(thin,)))
    draw_section(replace(section(relief_cuts=(thin,)), thinnest_wall=0.9))


def test_message_names_the_key():
    with pytest.raises(SectionError) as caught:
        draw_section(section(relief_cuts=(RELIEF, replace(RELIEF, clock=4.6, radius=50))))
    assert caught.value.feature == "relief_cut[2].radius"


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

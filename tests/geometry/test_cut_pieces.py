"""The pieces of an insert as cut: areas, corners, holes, the cutter's path."""

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry import Block, DeckSection, DeeperZone, Insert, Tie, WaterSlot, planar
from geometry.cut_pieces import CORNER, cut_pieces, piece_volumes
from geometry.cutter import TooHollowError, offset_loop, pocket_paths
from geometry.section import Register

BLOCK = Block(
    bore=87.0, liner=2.5, barrel_wall=6.0, jacket=9.0, outer_wall=9.0,
    ties=(Tie(clock=3.0, width=8.0, depth=12.0), Tie(clock=9.0, width=8.0, depth=12.0)),
)  # fmt: skip
INSERT = Insert(depth=6.0)


def pieces(insert=INSERT, block=BLOCK):
    return cut_pieces(DeckSection(block=block, depth=24.0, insert=insert))


def strip(radius, half=4.0):
    """Area of half a disc above a strip of a half width about its middle."""
    return radius**2 * math.acos(half / radius) - half * math.sqrt(radius**2 - half**2)


def test_pieces_between_ties_by_number():
    first, second = pieces()
    assert [(of.number, of.bore) for of in (first, second)] == [(1, 1), (2, 1)]
    assert {round(of.clock) % 12 for of in (first, second)} == {0, 6}
    length = 56.5 * (math.pi - 2 * math.asin(4 / 56.5))
    assert first.length == pytest.approx(length, abs=0.2)


def test_area_is_the_pocket_less_its_rounded_corners():
    # half ring between the tie's sides (closed form), less the four corners that radius 3.5 leaves;
    # a corner of nearly a right angle lacks R^2 (1 - pi/4)
    (first, _) = pieces()
    pocket = strip(61.0) - strip(52.0)
    assert first.area == pytest.approx(pocket - 4 * 3.5**2 * (1 - math.pi / 4), abs=0.3)
    assert [c.radius for c in first.curves if c.tag == CORNER] == pytest.approx([3.5] * 4)


def test_loops_close_and_their_curves_are_whole():
    (first, _) = pieces()
    (loop,) = first.loops
    assert len(loop) == 10  # two faces in two arcs each, two ends, four corners
    for one, after in zip(loop, [*loop[1:], loop[0]], strict=True):
        assert abs(one.end - after.start) < 1e-6
        assert abs(np.angle(after.direction(0) / one.direction(1))) < 1e-3  # no sharp corner


def test_a_slot_is_a_hole():
    slotted = replace(INSERT, slots=(WaterSlot(clock=0.0, width=5.0),))
    plain = pieces()[0]
    holed = next(of for of in pieces(slotted) if len(of.loops) == 2)
    assert holed.area == pytest.approx(plain.area - math.pi * 2.5**2, rel=1e-6)
    assert planar.signed_area(holed.loops[1]) < 0


def test_a_ring_goes_around_the_bore():
    (ring,) = pieces(replace(INSERT, form="ring"))
    assert ring.area == pytest.approx(math.pi * (61**2 - 52**2), rel=1e-9)
    assert len(ring.loops) == 2


def test_zones_do_not_part_a_loop():
    deep = replace(INSERT, zones=(DeeperZone(clock=0.5, width=20.0, depth=10.0, blend=6.0),))
    for one, other in zip(pieces(), pieces(deep), strict=True):
        assert len(one.curves) == len(other.curves)
        assert one.area == pytest.approx(other.area, rel=1e-9)


@pytest.mark.parametrize("draft", [0.0, 1.0])
@pytest.mark.parametrize("radius", [3.175, 5.0])
def test_a_cutter_follows_a_piece_in_a_register_that_leaves_some_of_the_casting(draft, radius):
    # the fillet of a tie, 3 mm, goes on beside that of the register
    block = Block(
        bores=2, pitch=106.68, bore=91.44, liner=2.54, barrel_wall=7.62, jacket=10.16,
        outer_wall=10.16, draft=draft, ties=tuple(Tie(clock=of, width=10.16, depth=15.0, fillet=3.0)
                                for of in (1 / 3, 5.5)),
    )  # fmt: skip
    register = Register(depth=6.35, barrel=0.508, outer_wall=0.762, corner_radius=radius)
    section = DeckSection(
        block=block, depth=24.0, drawn_over=6.35, insert=Insert(depth=6.35, register=register)
    )
    for piece in cut_pieces(section):
        (loop,) = piece.loops
        assert planar.turns(loop).min() > -planar.SMOOTH
        path = offset_loop(loop, 1.5)
        steiner = piece.area + 1.5 * piece.perimeter + math.pi * 1.5**2
        assert planar.signed_area(path) == pytest.approx(steiner, rel=1e-4)
        for one, after in zip(loop, [*loop[1:], loop[0]], strict=True):
            assert abs(one.end - after.start) < 1e-6


def test_a_volume_is_summed_past_straight_walls():
    # all of it 12 mm deep, but 6 mm over the register's shoulder, 0.8 mm along a wall that is
    # straight between two bores (closed form of area times depth)
    straight = replace(BLOCK, bores=2, pitch=97.0, ties=())
    zone = DeeperZone(clock=0.0, width=360.0, depth=12.0)
    register = Register(depth=6.0, outer_wall=0.8)
    insert = Insert(depth=6.0, form="ring", zones=(zone,), register=register)
    section = DeckSection(block=straight, depth=24.0, insert=insert)
    (ring,) = cut_pieces(section)
    shoulder = 2 * 97.0 * 0.8 + math.pi * (61.8**2 - 61.0**2)
    known = 12.0 * ring.area - 6.0 * shoulder
    assert piece_volumes(section, (ring,), 0.5)[0] == pytest.approx(known, rel=3e-4)


def test_a_bare_block_has_none():
    assert pieces(None) == ()


def test_the_path_of_the_cutter_stands_off_by_its_radius():
    # area of the parallel of a smooth closed line: A + P r + pi r^2 (Steiner)
    (first, _) = pieces()
    path = offset_loop(first.loops[0], 1.5)
    steiner = first.area + 1.5 * first.perimeter + math.pi * 1.5**2
    assert planar.signed_area(path) == pytest.approx(steiner, rel=1e-6)
    edge = np.array([c.point(t) for c in first.loops[0] for t in np.linspace(0, 1, 2000)])
    way = np.array([c.point(t) for c in path for t in (0.2, 0.5, 0.8)])
    away = np.abs(way[:, None] - edge).min(axis=1)
    assert away == pytest.approx(np.full(len(way), 1.5), abs=2e-3)


def test_a_sharp_corner_is_gone_around():
    square = planar.polygon([0, 10, 10 + 10j, 10j])
    path = offset_loop(square, 2.0)
    assert planar.signed_area(path) == pytest.approx(100 + 2 * 40 + math.pi * 4)


def test_no_cutter_enters_a_smaller_hollow():
    hole = [curve.reversed() for curve in reversed(planar.circle(0, 3.0))]
    assert planar.signed_area(offset_loop(hole, 1.0)) == pytest.approx(-math.pi * 4)
    with pytest.raises(ValueError, match="hollow of radius 3 mm"):
        offset_loop(hole, 3.5)
    # 0.1 mm deep over 10 mm: 2 (sec(0.02) - 1) = 0.4 um stay, and nothing is cut into
    slight = planar.polygon([0, 10, 10 + 10j, 5 + 9.9j, 10j])
    path = offset_loop(slight, 2.0)
    assert planar.signed_area(path) == pytest.approx(99.5 + 2 * 40.002 + math.pi * 4, abs=5e-3)
    assert any(abs(of.start - (5 + 11.9004j)) < 1e-4 for of in path)
    dent = planar.polygon([0, 10, 10 + 10j, 5 + 5j, 10j])
    with pytest.raises(ValueError, match="hollow corner at 5"):
        offset_loop(dent, 1.0)


def test_no_cutter_goes_through_a_neck_that_is_narrower_than_it_is():
    # a hollow of radius 8 mm behind a neck 6 mm wide, about 20 + 28i in a square of 40 mm
    high = math.sqrt(8.0**2 - 3.0**2)
    ends = 20 + 28j + 3 + 1j * high, 20 + 28j - 3 + 1j * high
    first = math.atan2(high, 3.0)
    hollow = planar.arc(20 + 28j, 8.0, first, -math.pi - first)
    corners = [17 + 40j, 40j, 0j, 40 + 0j, 40 + 40j, 23 + 40j]
    walls = planar.polygon([ends[1], *corners, ends[0]])[:-1]
    loop = [*walls, *hollow]
    above = 64 * math.asin(3 / 8) - 3 * high
    taken = 6 * (12 - high) + 64 * math.pi - above
    assert planar.signed_area(loop) == pytest.approx(1600 - taken)
    assert offset_loop(loop, 2.5)
    with pytest.raises(TooHollowError, match="a gap of 6"):
        offset_loop(loop, 4.0)


def test_a_pocket_is_milled_from_inside_and_no_wider_than_it_is():
    # a ring 10 mm wide about an island: circles one radius off each wall
    def circle(radius):
        return tuple(planar.circle(0, radius))

    island = tuple(curve.reversed() for curve in circle(20.0)[::-1])
    ring = [circle(30.0), island]
    (outer, _), (inner, closed) = pocket_paths(ring, 3.0, lambda _: True)
    assert closed
    assert abs(planar.signed_area(outer)) == pytest.approx(math.pi * 27.0**2)
    assert abs(planar.signed_area(inner)) == pytest.approx(math.pi * 23.0**2)
    assert pocket_paths(ring, 5.0, lambda _: True)  # as wide as the cutter
    with pytest.raises(TooHollowError, match="a gap of 10 mm"):
        pocket_paths(ring, 5.1, lambda _: True)


def test_no_path_follows_an_edge_of_a_pocket_without_a_wall():
    # a pocket of 20 by 10 mm open at its right: one path along three walls, past no corner there
    pocket = [tuple(planar.polygon([0, 20, 20 + 10j, 10j]))]
    with pytest.raises(TooHollowError, match="hollow corner"):
        pocket_paths(pocket, 2.0, lambda _: True)
    fillets = [planar.corner_fillet(pocket[0], corner, 2.5) for corner in (0, 3)]
    rounded = planar.rounded(pocket[0], [of for of in fillets if of])
    ((path, closed),) = pocket_paths([tuple(rounded)], 2.0, lambda of: of.point(0.5).real < 19)
    assert not closed
    assert sorted([path[0].start.imag, path[-1].end.imag]) == pytest.approx([2, 8])
    assert sum(of.length for of in path) == pytest.approx(2 * 17.5 + 5 + math.pi * 0.5)

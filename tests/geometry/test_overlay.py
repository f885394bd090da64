"""Areas of lines and arcs laid over each other, against OCC and against polygons without end."""

import math
from dataclasses import replace

import gmsh
import numpy as np
import pytest
from shapely.geometry import Polygon

from geometry import Block, DeckSection, Insert, planar
from geometry.outline import draw_section
from geometry.overlay import (
    common_area,
    distance_to,
    least_distance,
    open_water,
    overlay,
    turned,
)
from geometry.section import Tie, WaterSlot


def kidney(axis, radius, half, low, high):
    ends = [axis + radius * np.exp(1j * angle) for angle in (low, high)]
    return [
        *planar.arc(axis, radius + half, low, high),
        *planar.arc(complex(ends[1]), half, high, high + math.pi),
        *planar.arc(axis, radius - half, high, low),
        *planar.arc(complex(ends[0]), half, low + math.pi, low + math.tau),
    ]


DECK = kidney(0j, 50.0, 4.0, 0.2, 1.4)
GASKET = planar.circle(48 * complex(math.cos(0.9), math.sin(0.9)), 4.5)
HEAD = planar.polygon([20 + 30j, 60 + 34j, 50 + 62j, 18 + 55j])


def occ_common(*loops):
    """Area by OCC's booleans of the same curves."""
    gmsh.initialize(interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        occ = gmsh.model.occ
        faces = []
        for loop in loops:
            lines = []
            first = start = occ.addPoint(loop[0].start.real, loop[0].start.imag, 0)
            for k, curve in enumerate(loop):
                end = first if k == len(loop) - 1 else occ.addPoint(
                    curve.end.real, curve.end.imag, 0
                )  # fmt: skip
                if curve.bulge:
                    middle = curve.point(0.5)
                    on = occ.addPoint(middle.real, middle.imag, 0)
                    lines.append(occ.addCircleArc(start, on, end, center=False))
                else:
                    lines.append(occ.addLine(start, end))
                start = end
            faces.append((2, occ.addPlaneSurface([occ.addCurveLoop(lines)])))
        common = [faces[0]]
        for other in faces[1:]:
            common, _ = occ.intersect(common, [other])
        return sum(occ.getMass(*of) for of in common)
    finally:
        gmsh.finalize()


def flat(loop, per=4000):
    at = np.arange(per) / per
    return Polygon([(z.real, z.imag) for curve in loop for z in curve.points(at)])


@pytest.mark.verification
@pytest.mark.parametrize(
    "loops", [(DECK, GASKET), (DECK, GASKET, HEAD), (DECK, HEAD)], ids=["two", "three", "polygon"]
)
def test_common_areas_are_those_of_occ_and_of_fine_polygons(loops):
    ours = common_area(*([loop] for loop in loops))
    polygons = [flat(loop) for loop in loops]
    theirs = polygons[0]
    for other in polygons[1:]:
        theirs = theirs.intersection(other)
    assert ours > 10
    assert ours == pytest.approx(occ_common(*loops), rel=1e-9)
    assert ours == pytest.approx(theirs.area, rel=2e-6)


def test_a_lens_has_its_closed_form():
    r, d = 5.0, 4.0
    lens = 2 * r**2 * math.acos(d / 2 / r) - d / 2 * math.sqrt(4 * r**2 - d**2)
    assert common_area([planar.circle(0, r)], [planar.circle(d, r)]) == pytest.approx(
        lens, rel=1e-12
    )
    assert common_area([planar.circle(0, r)], [planar.circle(11, r)]) == 0
    assert common_area([planar.circle(0, r)], [planar.circle(0, r)]) == pytest.approx(25 * math.pi)
    ring = [planar.circle(0, 9.0), planar.circle(0, 6.0)]
    assert common_area(ring, [planar.circle(0, r)]) == 0
    assert common_area(ring, [planar.circle(0, 7.0)]) == pytest.approx(13 * math.pi)


def test_faces_of_an_overlay_add_up():
    faces = overlay([*DECK, *GASKET])
    one, other = (planar.Area([of]).holds(faces.at) for of in (DECK, GASKET))
    deck, gasket = planar.signed_area(DECK), planar.signed_area(GASKET)
    assert faces.area(one) == pytest.approx(deck, rel=1e-12)
    assert faces.area(one & ~other) + faces.area(one & other) == pytest.approx(deck, rel=1e-12)
    assert faces.area(one | other) == pytest.approx(deck + gasket - faces.area(one & other))


BLOCK = Block(
    bore=87, barrel_wall=6, liner=2.5, jacket=9, outer_wall=9, bores=2, pitch=97,
    ties=(Tie(clock=12.0, width=8, depth=12), Tie(clock=6.0, width=8, depth=12)),
)  # fmt: skip


def test_open_water_is_what_the_section_draws():
    bare = DeckSection(block=BLOCK, depth=25)
    pockets = open_water(bare)
    assert len(pockets) == 4  # two at the ends, two in the valleys
    assert sum(of.area for of in pockets) == pytest.approx(draw_section(bare).open_area, rel=1e-9)
    slots = (WaterSlot(clock=1.5, width=4, arc=20), WaterSlot(clock=7.0, width=5, bores=(1,)))
    filled = replace(bare, insert=Insert(depth=6, slots=slots))
    found = sorted(of.area for of in open_water(filled))
    radius, along = (BLOCK.barrel_radius + BLOCK.jacket_radius) / 2, math.radians(20)
    kidneys = 4 * radius * along + math.pi * 4
    assert found == pytest.approx([math.pi * 6.25, kidneys, kidneys], rel=1e-9)


def test_water_with_draft_is_that_at_the_deck():
    drafted = DeckSection(block=replace(BLOCK, draft=1.0), depth=25)
    plain = DeckSection(block=BLOCK, depth=25)
    at_deck = sum(of.area for of in open_water(drafted))
    assert at_deck == pytest.approx(sum(of.area for of in open_water(plain)))
    assert at_deck != pytest.approx(draft := draw_section(drafted).open_area, rel=1e-3), draft


def test_distances_are_exact():
    one, other = planar.circle(0, 2.0), planar.circle(3 + 4j, 1.5)
    assert least_distance(one, other) == pytest.approx(1.5, abs=1e-12)
    assert least_distance(one, planar.circle(0, 5.0)) == pytest.approx(3.0, abs=1e-12)
    assert least_distance(one, [planar.line(-5 + 3j, 5 + 3j)]) == pytest.approx(1.0, abs=1e-12)
    assert least_distance(one, planar.circle(3, 2.0)) == 0
    assert least_distance(one, []) == math.inf
    assert distance_to(planar.line(0, 4), 5 + 1j) == pytest.approx(math.sqrt(2))
    rng = np.random.default_rng(3)
    for _ in range(20):
        a, b = (
            planar.polygon([complex(*z) for z in rng.uniform(0, 9, (3, 2)) + of])
            for of in ((0, 0), (12, 3))
        )
        assert least_distance(a, b) == pytest.approx(flat(a, 1).distance(flat(b, 1)), rel=1e-9)


def test_a_loop_is_turned_and_turned_over():
    loop = turned(DECK, 1j, 3 + 1j)
    assert loop[0].start == pytest.approx(DECK[0].start * 1j + 3 + 1j)
    over = turned(DECK, 1, 0, over=True)
    assert planar.signed_area(over) == pytest.approx(planar.signed_area(DECK), rel=1e-12)
    assert {round(of.start.imag, 9) for of in over} == {round(-of.end.imag, 9) for of in DECK}

"""Water and wetted wall that an insert takes, against areas by hand."""

import math
from dataclasses import replace
from types import SimpleNamespace

import pytest

from cases.stress.displaced import displaced
from geometry import Block, DeckSection, Insert
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.section import DeeperZone, Register, Tie, WaterSlot

BLOCK = Block(bore=87, barrel_wall=6, liner=2.5, jacket=9, outer_wall=9)
RING = math.pi * (61**2 - 52**2)


def of(block, insert):
    section = DeckSection(block=block, depth=25, insert=insert)
    outline = draw_section(section)
    mesh = mesh_outline(outline, element_size=8.0, detail=0.25)
    return displaced(SimpleNamespace(section=section, outline=outline, mesh=mesh))


def test_a_closed_jacket_is_a_ring_of_metal():
    found = of(BLOCK, Insert(depth=6))
    assert found.water_mm3 == pytest.approx(6 * RING, rel=1e-6)
    assert found.barrel_mm2 == pytest.approx(6 * 104 * math.pi, rel=1e-6)


def test_a_zone_costs_its_further_depth_and_a_slot_gives_water_back():
    zone = DeeperZone(clock=3.0, width=60, depth=12)
    slot = WaterSlot(clock=9.0, width=5, arc=30)
    found = of(BLOCK, Insert(depth=6, zones=(zone,), slots=(slot,)))
    kidney = 5 * 56.5 * math.radians(30) + math.pi * 6.25
    assert found.water_mm3 == pytest.approx(6 * RING + RING - 6 * kidney, rel=1e-5)
    assert found.barrel_mm2 == pytest.approx((6 + 1) * 104 * math.pi, rel=5e-3)


def test_ties_and_what_is_machined_were_no_water():
    tied = replace(BLOCK, ties=(Tie(clock=12.0, width=8, depth=12, fillet=1.0),))
    ring = of(tied, Insert(depth=6, form="ring", register=Register(depth=6, outer_wall=1.0)))
    pieces = of(tied, Insert(depth=6))
    assert ring.water_mm3 == pytest.approx(pieces.water_mm3, rel=1e-3)
    assert pieces.water_mm3 == pytest.approx(6 * (RING - 8 * 9), rel=3e-3)
    assert pieces.barrel_mm2 == pytest.approx(6 * (104 * math.pi - 10), rel=5e-3)
    assert of(tied, None).water_mm3 == 0

"""The depth of metal t(x, y), whatever overlaps, against volumes cut slice by slice.

t is the depth of solid metal between the deck and H, and its area integral the volume of metal.
The other way to that volume, derived here: shapely polygons with fine arcs are the metal at one
depth below the deck, and the slices are summed over the depth. An insert drops in from the deck,
so it stands only where nothing stands above it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from shapely import LineString, MultiPoint, Point, Polygon, unary_union
from skfem import CellBasis, ElementTriP0, MeshTri2

from geometry import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    Tie,
    WaterSlot,
)
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

pytestmark = pytest.mark.verification

SEGMENTS = 256  # of a quarter circle
NOTHING = Polygon()


def disc(x: float, y: float, radius: float) -> Polygon:
    return Point(x, y).buffer(radius, quad_segs=SEGMENTS)


def ray(clock: float) -> tuple[float, float]:
    angle = math.radians(90 - 30 * clock)
    return math.cos(angle), math.sin(angle)


def rounded_corners(open_space: Polygon, radius: float) -> Polygon:
    """Open space less the corners that a ball of this radius can't reach."""
    shrunk = open_space.buffer(-radius, quad_segs=SEGMENTS)
    return shrunk.buffer(radius, quad_segs=SEGMENTS)


def sector(axis: float, clock: float, half_angle: float) -> Polygon:
    """Wedge about a bore axis; half_angle in degrees."""
    angles = np.radians(90 - 30 * clock + np.linspace(-half_angle, half_angle, 181))
    return Polygon([(axis, 0), *((axis + 1e4 * math.cos(a), 1e4 * math.sin(a)) for a in angles)])


class Slices:
    """Metal of a section at one depth after another."""

    def __init__(self, section: DeckSection) -> None:
        self.section, block = section, section.block
        axes = block.axes
        spine = LineString([(axes[0], 0), (axes[-1], 0)]) if len(axes) > 1 else Point(axes[0], 0)
        self.bores = unary_union([disc(axis, 0, block.bore / 2) for axis in axes])
        self.barrels = unary_union([self.barrel(axis) for axis in axes])
        if block.jacket:
            self.outside = spine.buffer(block.outside_radius, quad_segs=SEGMENTS)
            jacket = spine.buffer(block.jacket_radius, quad_segs=SEGMENTS) - self.barrels
            self.jacket = rounded_corners(jacket, block.valley_fillet) if len(axes) > 1 else jacket
        else:
            self.outside, self.jacket = self.barrels, NOTHING

    def barrel(self, axis: float) -> Polygon:
        block = self.section.block
        if not block.wall_table:
            return disc(axis, 0, block.barrel_radius)
        clock, wall = np.array(sorted((c % 12, w) for c, w in block.wall_table)).T
        curve = PchipInterpolator(np.concatenate([clock - 12, clock, clock + 12]), np.tile(wall, 3))
        hours = np.linspace(0, 12, 4000, endpoint=False)
        radius = block.liner_radius + curve(hours)
        angle = np.radians(90 - 30 * hours)
        return Polygon(np.stack([axis + radius * np.cos(angle), radius * np.sin(angle)], axis=1))

    def at(self, features):
        """Every feature at every bore that has it, with the bore's x."""
        for feature in features:
            for number, axis in enumerate(self.section.block.axes, 1):
                if feature.bores is None or number in feature.bores:
                    yield feature, axis

    def open_jacket(self, z: float) -> Polygon:
        """Jacket less the ties that reach deeper than z, with their fillets."""
        ties = [(tie, axis) for tie, axis in self.at(self.section.block.ties) if tie.depth > z]
        if not ties:
            return self.jacket
        strips = []
        for tie, axis in ties:
            x, y = ray(tie.clock)
            line = LineString([(axis, 0), (axis + 1e3 * x, 1e3 * y)])
            strips.append(line.buffer(tie.width / 2, cap_style="flat"))
        return rounded_corners(self.jacket - unary_union(strips), ties[0][0].fillet)

    def pockets(self, z: float) -> Polygon:
        """Relief cuts deeper than z."""
        found = []
        for cut, axis in self.at(self.section.block.relief_cuts):
            if cut.depth > z:
                x, y = ray(cut.clock)
                found.append(disc(axis + cut.radius * x, cut.radius * y, cut.diameter / 2))
        return unary_union(found)

    def parent(self, z: float) -> Polygon:
        return self.outside - self.bores - self.open_jacket(z) - self.pockets(z)

    def insert_plan(self) -> Polygon:
        """Where the insert may stand, seen from above."""
        insert, block = self.section.insert, self.section.block
        if insert is None:
            return NOTHING
        plan = self.outside - self.bores
        if insert.width is not None:
            reach = block.barrel_radius + insert.width
            plan &= unary_union([disc(axis, 0, reach) for axis in block.axes])
        if not insert.fills_relief_cuts:
            plan -= self.pockets(0)
        for slot, axis in self.at(insert.slots):
            radius = slot.radius or block.barrel_radius + (insert.width or block.jacket) / 2
            half = slot.arc / 2
            angles = np.radians(90 - 30 * slot.clock + np.linspace(-half, half, 181))
            centres = [(axis + radius * math.cos(a), radius * math.sin(a)) for a in angles]
            line = LineString(centres) if slot.arc else MultiPoint(centres[:1])
            plan -= line.buffer(slot.width / 2, quad_segs=SEGMENTS)
        return plan

    def deep_enough(self, z: float) -> Polygon:
        """Where the insert's depth profile reaches below z."""
        insert = self.section.insert
        if insert.depth > z:
            return self.outside
        found = []
        axes = self.section.block.axes
        middles = [-1e5, *((a + b) / 2 for a, b in pairwise(axes)), 1e5]
        for zone in insert.zones:
            if zone.depth <= z:
                continue
            share = (z - insert.depth) / (zone.depth - insert.depth)
            half = zone.width / 2 + zone.blend * math.acos(2 * share - 1) / math.pi
            for axis, (left, right) in zip(axes, pairwise(middles), strict=True):
                own = Polygon([(left, -1e5), (right, -1e5), (right, 1e5), (left, 1e5)])
                found.append(sector(axis, zone.clock, half) & own)
        return unary_union(found)

    def volume(self) -> float:
        """Volume of all metal between the deck and H. [mm3]."""
        insert, block = self.section.insert, self.section.block
        stops = {0.0, self.section.depth}
        stops |= {f.depth for f in (*block.ties, *block.relief_cuts)}
        if insert is not None:
            stops |= {insert.depth, *(zone.depth for zone in insert.zones)}
        stops = sorted(z for z in stops if z <= self.section.depth)
        nodes, weights = np.polynomial.legendre.leggauss(6)
        plan, above, total = self.insert_plan(), NOTHING, 0.0
        for low, high in pairwise(stops):
            middle = (low + high) / 2
            parent = self.parent(middle)
            above = above | parent
            total += (high - low) * parent.area
            if insert is None:
                continue
            free = plan - above
            blended = insert.depth <= low and any(zone.blend for zone in insert.zones)
            for node, weight in zip(nodes, weights, strict=True) if blended else [(0.0, 2.0)]:
                z = middle + node * (high - low) / 2
                total += weight / 2 * (high - low) * (free & self.deep_enough(z)).area
        return total

    def open_area(self) -> float:
        """Jacket with nothing in it at any depth. [mm2]."""
        block, insert = self.section.block, self.section.insert
        depths = {f.depth for f in (*block.ties, *block.relief_cuts)}
        covered = unary_union([self.parent(z) for z in (0.0, *(d + 1e-9 for d in depths))])
        if insert is not None:
            covered = covered | self.insert_plan()
        return (self.jacket - covered).area


PLAIN = Block(
    bore=86,
    barrel_wall=8,
    jacket=9,
    outer_wall=10,
    ties=tuple(Tie(clock=c, width=8, depth=18, fillet=3) for c in (0, 3, 6, 9)),
)
OUT = 43 + 8 + 9  # jacket radius
BARE = DeckSection(block=PLAIN, depth=30)


def with_cuts(*cuts: ReliefCut, **changes) -> DeckSection:
    return replace(BARE, block=replace(PLAIN, relief_cuts=cuts, **changes))


BANK = Block(
    bore=87,
    liner=2.5,
    barrel_wall=5.5,
    jacket=10,
    outer_wall=9,
    bores=3,
    firing_bore=2,
    pitch=97,
    valley_fillet=3,
    ties=(
        Tie(clock=0.2, width=9, depth=16, fillet=3),
        Tie(clock=5.5, width=8, depth=14, fillet=3, bores=(1, 2)),
        Tie(clock=9, width=10, depth=20, fillet=3, bores=(1,)),
    ),
)
TWO_CUTS = (
    ReliefCut(clock=1.3, radius=56, diameter=15, depth=24),
    ReliefCut(clock=7.7, radius=57, diameter=17, depth=11),
)

SECTIONS = {
    "bare": BARE,
    "relief cut through a tie": with_cuts(
        ReliefCut(clock=3.2, radius=55, diameter=16, depth=25)
    ),
    "relief cut into a tie, not through": with_cuts(
        ReliefCut(clock=3.2, radius=55, diameter=16, depth=10)
    ),
    "two relief cuts that meet": with_cuts(
        ReliefCut(clock=1.4, radius=56, diameter=16, depth=12),
        ReliefCut(clock=1.75, radius=58, diameter=14, depth=22),
    ),
    "relief cut deeper than the section": with_cuts(
        ReliefCut(clock=4.5, radius=56, diameter=16, depth=60)
    ),
    "floor above the insert's underside": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=16)
    ),
    "pockets left open": replace(
        with_cuts(*TWO_CUTS), insert=Insert(depth=16, fills_relief_cuts=False)
    ),
    "tie shallower than the insert": replace(BARE, insert=Insert(depth=26)),
    "relief cut through a tie under an insert": replace(
        with_cuts(ReliefCut(clock=3.2, radius=55, diameter=16, depth=12)), insert=Insert(depth=20)
    ),
    "deeper zones, step and blend": replace(
        with_cuts(*TWO_CUTS),
        insert=Insert(
            depth=9,
            zones=(
                DeeperZone(clock=1.4, width=30, depth=22, blend=12),
                DeeperZone(clock=7.5, width=40, depth=17),
                DeeperZone(clock=2.6, width=25, depth=14, blend=20),
            ),
        ),
    ),
    "slots": replace(
        BARE,
        insert=Insert(
            depth=12,
            slots=(WaterSlot(clock=1.5, width=5, arc=30), WaterSlot(clock=7.4, width=4)),
        ),
    ),
    "insert of part width": replace(with_cuts(*TWO_CUTS), insert=Insert(depth=14, width=5)),
    "measured walls": with_cuts(
        TWO_CUTS[0],
        wall_table=((0, 8), (2, 7.2), (4, 8.6), (6.5, 9), (9, 7.5)),
    ),
    "siamesed barrels": DeckSection(block=BANK, depth=28),
    "siamesed barrels with everything": DeckSection(
        block=replace(
            BANK,
            relief_cuts=(
                ReliefCut(clock=1.7, radius=59, diameter=15, depth=13),
                ReliefCut(clock=7.2, radius=60, diameter=16, depth=24, bores=(2, 3)),
            ),
        ),
        depth=30,
        insert=Insert(
            depth=11,
            zones=(
                DeeperZone(clock=1.7, width=24, depth=19, blend=8),
                DeeperZone(clock=7.2, width=30, depth=26),
            ),
            slots=(WaterSlot(clock=11, width=5, arc=12), WaterSlot(clock=5.0, width=4)),
        ),
    ),
}  # fmt: skip


def metal_by_quadrature(mesh) -> float:
    """Area integral of t over the curved triangles. [mm3]."""
    basis = CellBasis(MeshTri2(mesh.points.T, mesh.triangles.T), ElementTriP0(), intorder=6)
    x, y = np.asarray(basis.global_coordinates())
    total = 0.0
    for index, layers in enumerate(mesh.regions):
        own = mesh.region == index
        for layer in layers:
            total += (layer.thickness(x[own], y[own]) * basis.dx[own]).sum()
    return total


@pytest.mark.parametrize("name", SECTIONS)
def test_metal_volume(name):
    section = SECTIONS[name]
    slices, outline = Slices(section), draw_section(section)
    assert metal_by_quadrature(mesh_outline(outline)) == pytest.approx(slices.volume(), rel=1e-3)
    assert outline.open_area == pytest.approx(slices.open_area(), rel=1e-3)

"""The metal of a section cut slice by slice with shapely: another way to what stands where.

Derived here, from what the parts are said to be and from nothing of the drawing: polygons with fine
arcs are the metal at one depth below the deck. An insert drops in from the deck, so it stands only
where nothing stands above it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise

import numpy as np
from scipy.interpolate import PchipInterpolator
from shapely import (
    LineString,
    MultiPoint,
    Point,
    Polygon,
    contains_xy,
    distance,
    get_parts,
    points,
    polygonize,
    prepare,
    unary_union,
)

from geometry import DeckSection

NOTHING = Polygon()
TOUCHING = 0.02  # polygons nearer than this touch [mm]


def ray(clock: float) -> tuple[float, float]:
    """Unit vector of a clock position: 12:00 is +y, hours run clockwise."""
    angle = math.radians(90 - 30 * clock)
    return math.cos(angle), math.sin(angle)


def sector(axis: float, clock: float, half_angle: float) -> Polygon:
    """Wedge about a bore axis; half_angle in degrees."""
    angles = np.radians(90 - 30 * clock + np.linspace(-half_angle, half_angle, 181))
    return Polygon([(axis, 0), *((axis + 1e4 * math.cos(a), 1e4 * math.sin(a)) for a in angles)])


class Slices:
    """Metal of a section at one depth after another."""

    def __init__(self, section: DeckSection, segments: int = 128) -> None:
        self.section, self.segments, block = section, segments, section.block
        self._corners: dict[int, list] = {}  # by the number of ties that reach deeper
        axes = block.axes
        spine = LineString([(axes[0], 0), (axes[-1], 0)]) if len(axes) > 1 else Point(axes[0], 0)
        self.bores = unary_union([self.disc(axis, 0, block.bore / 2) for axis in axes])
        self.liners = unary_union([self.disc(axis, 0, block.liner_radius) for axis in axes])
        self.barrels = unary_union([self.barrel(axis) for axis in axes])
        if block.jacket:
            self.outside = spine.buffer(block.outside_radius, quad_segs=segments)
            self.jacket = spine.buffer(block.jacket_radius, quad_segs=segments) - self.barrels
        else:
            self.outside, self.jacket = self.barrels, NOTHING

    def disc(self, x: float, y: float, radius: float) -> Polygon:
        return Point(x, y).buffer(radius, quad_segs=self.segments)

    def barrel(self, axis: float, off: float = 0.0) -> Polygon:
        """Outside of a barrel, ``off`` mm taken off its wall."""
        block = self.section.block
        tables = block.bore_walls or [block.wall_table] * block.bores
        rows = tables[block.axes.index(axis)]
        if not rows:
            return self.disc(axis, 0, block.barrel_radius - off)
        clock, wall = np.array(sorted((c % 12, w) for c, w in rows)).T
        curve = PchipInterpolator(np.concatenate([clock - 12, clock, clock + 12]), np.tile(wall, 3))
        hours = np.linspace(0, 12, 16 * self.segments, endpoint=False)
        radius = block.liner_radius + curve(hours) - off
        angle = np.radians(90 - 30 * hours)
        return Polygon(np.stack([axis + radius * np.cos(angle), radius * np.sin(angle)], axis=1))

    def at(self, features) -> Iterator:
        """Every feature at every bore that has it, with the bore's x."""
        for feature in features:
            for number, axis in enumerate(self.section.block.axes, 1):
                if feature.bores is None or number in feature.bores:
                    yield feature, axis

    @cached_property
    def strips(self) -> list:
        """Every tie at every bore that has it, with the strip between its sides."""
        found = []
        for tie, axis in self.at(self.section.block.ties):
            x, y = ray(tie.clock)
            line = LineString([(axis, 0), (axis + 1e3 * x, 1e3 * y)])
            found.append((tie, line.buffer(tie.width / 2, cap_style="flat")))
        return found

    def corners(self, z: float) -> list:
        """Metal in the corners of the water at z, each with the ties that it joins.

        A ball of the fillet's radius can't reach it: that of the tie, the smaller of two, or the
        valley's between barrels.
        """
        ties = [(tie, strip) for tie, strip in self.strips if tie.depth > z]
        if len(ties) in self._corners:
            return self._corners[len(ties)]
        sharp = self.jacket - unary_union([strip for _, strip in ties])
        block, found = self.section.block, self._corners.setdefault(len(ties), [])
        for radius in {block.valley_fillet, *(tie.fillet for tie, _ in ties)}:
            shrunk = sharp.buffer(-radius, quad_segs=self.segments)
            reached = shrunk.buffer(radius, quad_segs=self.segments)
            for piece in get_parts(sharp - reached):
                if piece.area < 1e-4:
                    continue
                joined = [tie for tie, strip in ties if strip.distance(piece) < TOUCHING]
                if radius == min((tie.fillet for tie in joined), default=block.valley_fillet):
                    found.append((piece, joined))
        return found

    def open_jacket(self, z: float) -> Polygon:
        """Jacket less the ties that reach deeper than z, with their fillets."""
        ties = [strip for tie, strip in self.strips if tie.depth > z]
        return self.jacket - unary_union([*ties, *(piece for piece, _ in self.corners(z))])

    @cached_property
    def cuts(self) -> list:
        """Every relief cut at every bore that has it, with its pocket."""
        found = []
        for cut, axis in self.at(self.section.block.relief_cuts):
            x, y = ray(cut.clock)
            pocket = self.disc(axis + cut.radius * x, cut.radius * y, cut.diameter / 2)
            found.append((cut, pocket))
        return found

    def pockets(self, z: float) -> Polygon:
        """Relief cuts deeper than z, with what is dressed off their edges."""
        cuts = [pocket for cut, pocket in self.cuts if cut.depth > z]
        return unary_union([*cuts, *(piece for piece, depth in self.dressed if depth > z)])

    @cached_property
    def dressed(self) -> list:
        """Metal at the edges of relief cuts that a ball of the inside radius can't reach.

        Each with the depth of the shallowest cut there.
        """
        insert = self.section.insert
        if insert is None or not insert.fills_relief_cuts or not self.cuts:
            return []
        radius = 1.5 if insert.inside_radius is None else insert.inside_radius
        cuts = unary_union([pocket for _, pocket in self.cuts])
        metal = self.outside - self.open_jacket(0) - self.register(0) - cuts
        rolled = metal.buffer(-radius, quad_segs=self.segments)
        found = []
        for piece in get_parts(metal - rolled.buffer(radius, quad_segs=self.segments)):
            beside = [cut.depth for cut, pocket in self.cuts if pocket.distance(piece) < TOUCHING]
            if 1e-4 < piece.area < radius**2 and beside:  # an edge, not a wall that is thin
                found.append((piece, min(beside)))
        return found

    def cells(self) -> list[Polygon]:
        """Areas that no border of a feature crosses, whether it changes anything there or not."""
        outlines = [area.boundary for _, area in (*self.cuts, *self.strips)]
        whole = self.outside.buffer(1.0)
        lines = unary_union([self.borders, whole.boundary, *outlines])
        found = get_parts(polygonize([lines]))
        return [cell for cell in found if cell.area > 0.3 and whole.contains(cell)]

    def milled(self, z: float) -> Polygon:
        """Metal of ties that a ring takes the place of at z."""
        insert = self.section.insert
        if insert is None or insert.form != "ring" or insert.depth <= z:
            return NOTHING
        corners = [piece for piece, joined in self.corners(z) if joined]
        return unary_union([*(strip for _, strip in self.strips), *corners]) & self.reach

    def register(self, z: float) -> Polygon:
        """What a register clears at z: as far as its cutter gets into the pockets between ties."""
        insert, block = self.section.insert, self.section.block
        if insert is None or insert.register is None or insert.register.depth <= z:
            return NOTHING
        axes, radius = block.axes, insert.register.corner_radius
        spine = LineString([(axes[0], 0), (axes[-1], 0)]) if len(axes) > 1 else Point(axes[0], 0)
        outer = block.jacket_radius + insert.off_outer_wall
        barrels = unary_union([self.barrel(axis, insert.off_barrel) for axis in axes])
        sharp = spine.buffer(outer, quad_segs=self.segments) - barrels
        if insert.form == "pieces":
            sharp -= unary_union([strip for _, strip in self.strips])
        reached = sharp.buffer(-radius, quad_segs=self.segments)
        return reached.buffer(radius, quad_segs=self.segments) & self.reach

    def parent(self, z: float) -> Polygon:
        metal = self.outside - self.bores - self.open_jacket(z) - self.pockets(z)
        return metal - (self.milled(z) & self.jacket) - self.register(z)

    @cached_property
    def parents(self) -> list[Polygon]:
        """Parent metal between each stop and the next."""
        return [self.parent((low + high) / 2) for low, high in pairwise(self.stops)]

    @cached_property
    def slots(self) -> Polygon:
        """Water slots seen from above."""
        insert, block = self.section.insert, self.section.block
        found = []
        for slot, axis in self.at(insert.slots if insert else ()):
            radius = slot.radius or block.barrel_radius + (insert.width or block.jacket) / 2
            half = slot.arc / 2
            angles = np.radians(90 - 30 * slot.clock + np.linspace(-half, half, 181))
            centres = [(axis + radius * math.cos(a), radius * math.sin(a)) for a in angles]
            line = LineString(centres) if slot.arc else MultiPoint(centres[:1])
            found.append(line.buffer(slot.width / 2, quad_segs=self.segments))
        return unary_union(found)

    @cached_property
    def reach(self) -> Polygon:
        """As far as the insert's width reaches."""
        insert, block = self.section.insert, self.section.block
        if insert.width is None:
            return self.outside
        radius = block.barrel_radius + insert.width
        return unary_union([self.disc(axis, 0, radius) for axis in block.axes])

    @cached_property
    def insert_plan(self) -> Polygon:
        """Where the insert may stand, seen from above."""
        insert = self.section.insert
        if insert is None:
            return NOTHING
        plan = (self.outside - self.bores) & self.reach
        if not insert.fills_relief_cuts:
            plan -= self.pockets(0)
        return plan - self.slots

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
                for line in (left, right) if zone.blend else ():
                    found += self.beyond(zone, share, axis, line)
        return unary_union(found)

    def beyond(self, zone, share: float, axis: float, line: float) -> list[Polygon]:
        """Where a zone still has a share of its depth past the line half-way to the next bore."""
        if abs(line) > 1e4:
            return []
        insert, block = self.section.insert, self.section.block
        radius = block.barrel_radius + (insert.width or block.jacket) / 2
        length, way = radius * math.radians(zone.blend), math.copysign(1, line - axis)
        past = np.linspace(0, 0.9999 * math.acos(2 * share - 1) / math.pi, 60)
        left = share / (0.5 * (1 + np.cos(np.pi * past)))
        half = zone.width / 2 + zone.blend * np.arccos(np.clip(2 * left - 1, -1, 1)) / np.pi
        middle = 90 - 30 * zone.clock if way > 0 else 90 + 30 * zone.clock
        middle = (middle + 180) % 360 - 180
        low, high = (
            np.tan(np.radians(np.clip(middle + side * half, -89.9, 89.9))) for side in (-1, 1)
        )
        x = line + way * length * past
        tall = np.abs(x - axis)
        rows = [*zip(x, tall * low, strict=True), *zip(x[::-1], (tall * high)[::-1], strict=True)]
        area = Polygon(rows).buffer(0)
        return [area] if area.area > 0 else []

    @cached_property
    def stops(self) -> list[float]:
        """Depths at which the plan of the metal may change, deck and H included. [mm]."""
        insert, block = self.section.insert, self.section.block
        stops = {0.0, self.section.depth}
        stops |= {f.depth for f in (*block.ties, *block.relief_cuts)}
        if insert is not None:
            stops |= {insert.depth, *(zone.depth for zone in insert.zones)}
            stops |= {insert.register.depth} if insert.register else set()
        return sorted(z for z in stops if z <= self.section.depth)

    def volume(self) -> float:
        """Volume of all metal between the deck and H. [mm3]."""
        insert = self.section.insert
        nodes, weights = np.polynomial.legendre.leggauss(6)
        above, total = NOTHING, 0.0
        for (low, high), parent in zip(pairwise(self.stops), self.parents, strict=True):
            middle = (low + high) / 2
            above = above | parent
            total += (high - low) * parent.area
            if insert is None:
                continue
            free = self.insert_plan - above
            blended = insert.depth <= low and any(zone.blend for zone in insert.zones)
            for node, weight in zip(nodes, weights, strict=True) if blended else [(0.0, 2.0)]:
                z = middle + node * (high - low) / 2
                total += weight / 2 * (high - low) * (free & self.deep_enough(z)).area
        return total

    def open_area(self) -> float:
        """Jacket with nothing in it at any depth. [mm2]."""
        block = self.section.block
        depths = {f.depth for f in (*block.ties, *block.relief_cuts)}
        covered = unary_union([self.parent(z) for z in (0.0, *(d + 1e-9 for d in depths))])
        return (self.jacket - (covered | self.insert_plan)).area

    def profile(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Depth of the insert at points (n,) if nothing stands in its way. [mm]."""
        insert, block = self.section.insert, self.section.block
        radius = block.barrel_radius + (insert.width or block.jacket) / 2
        depth = np.full(len(x), insert.depth)
        for zone in insert.zones:
            east, north = ray(zone.clock)
            for axis in block.axes:
                cosine = ((x - axis) * east + y * north) / np.hypot(x - axis, y)
                beyond = np.degrees(np.arccos(np.clip(cosine, -1, 1))) - zone.width / 2
                run_out = np.clip(beyond / zone.blend, 0, 1) if zone.blend else 1.0 * (beyond > 0)
                past = np.abs(x - axis) - block.pitch / 2 if len(block.axes) > 1 else 0 * x
                ends = (axis == block.axes[-1]) & (x > axis) | (axis == block.axes[0]) & (x < axis)
                past = np.where(ends, 0, past)
                length = max(radius * math.radians(zone.blend), 1e-9)
                share = np.cos(np.pi / 2 * run_out) * np.cos(
                    np.pi / 2 * np.clip(past / length, 0, 1)
                )
                depth = np.maximum(depth, insert.depth + (zone.depth - insert.depth) * share**2)
        return depth

    def columns(self, x: np.ndarray, y: np.ndarray) -> list[dict[str, tuple[float, float]]]:
        """What stands at points (n,): part -> (top, bottom) below the deck. [mm]."""
        found: list[dict[str, tuple[float, float]]] = [{} for _ in x]
        tops, bottoms = np.full(len(x), np.inf), np.zeros(len(x))
        for (low, high), parent in zip(pairwise(self.stops), self.parents, strict=True):
            here = contains_xy(parent, x, y)
            tops[here] = np.minimum(tops[here], low)
            bottoms[here] = high
        valleys = unary_union([piece for piece, joined in self.corners(0.0) if not joined])
        valley = contains_xy(valleys, x, y)
        liner, barrel = contains_xy(self.liners, x, y), contains_xy(self.barrels, x, y)
        jacket = contains_xy(self.jacket, x, y)
        part = np.select([liner, barrel | valley, jacket], ["liner", "barrel", "tie"], "outer wall")
        for k in np.flatnonzero(bottoms > 0):
            found[k][str(part[k])] = (float(tops[k]), float(bottoms[k]))
        if self.section.insert is not None:
            depth = np.minimum(self.profile(x, y), np.minimum(tops, self.section.depth))
            for k in np.flatnonzero(contains_xy(self.insert_plan, x, y) & (depth > 0)):
                found[k]["insert"] = (0.0, float(depth[k]))
        return found

    @cached_property
    def borders(self):
        """Lines across which anything may change."""
        areas = [self.liners, self.barrels, self.jacket, self.insert_plan, *self.parents]
        if self.section.insert is not None:
            areas += [self.deep_enough((low + high) / 2) for low, high in pairwise(self.stops)]
        halfway = [
            LineString([((a + b) / 2, -1e3), ((a + b) / 2, 1e3)])
            for a, b in pairwise(self.section.block.axes)
        ]  # zones belong to a bore up to there
        lines = unary_union([*halfway, *(area.boundary for area in areas if not area.is_empty)])
        prepare(lines)
        return lines

    def clear(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        """Distance of points (n,) from the nearest border of anything. [mm]."""
        return distance(points(x, y), self.borders)

"""A section with its features placed at their bores: what stands where, and how deep.

How the thickness comes about, whatever overlaps: parent metal is as deep as its part (a tie its own
depth, everything else H), less the deepest relief cut over that point and what is machined for the
insert: a tie under a ring, down to the ring's depth, and a register. The insert stands where its
plan says so, as deep as its profile, but no deeper than the space that is open from the deck. A
fillet belongs to its tie. A zone of the insert belongs to its bore, and runs out past the line
half-way to the next one.

A drafted jacket is widest at the deck. The plan has its walls as thick as they are half-way down
H, and each tie as wide as half-way down the tie: the metal of the wedges is all there, spread over
the depth. A register is cut straight, from the walls at the deck. An insert without one follows
the walls, and is narrower here than it is made, by (H - its depth) tan(draft): 4 % of 9 mm for
22 mm and 1 deg.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.clock import (
    angle_to_clock,
    clock_of,
    clock_to_angle,
    format_clock,
    hours_between,
)
from geometry.faces import Layers
from geometry.planar import Curve
from geometry.refusals import SectionError
from geometry.section import (
    Block,
    DeckSection,
    DeeperZone,
    Insert,
    ReliefCut,
    Tie,
    WaterSlot,
)
from geometry.section_mesh import Depth, Layer, ProfileDepth, UniformDepth, blend_length

SAME_RADIUS = 0.02
"""Difference of two radii that no cutter or gauge of a shop tells (common practice, no source).
[mm]."""

Feature = TypeVar("Feature", Tie, ReliefCut, WaterSlot)


@dataclass(frozen=True)
class Placed(Generic[Feature]):
    """A feature at one of its bores."""

    feature: Feature
    number: int  # in its list, from 1
    bore: int  # from 1
    axis: float  # x of the bore axis [mm]

    @cached_property
    def ray(self) -> complex:
        """Unit vector from the bore axis to the feature's clock position."""
        return cmath.exp(1j * float(clock_to_angle(self.feature.clock)))

    def say(self, noun: str, block: Block) -> str:
        """How the messages call it."""
        where = f" on bore {self.bore}" if block.bores > 1 else ""
        return f"{noun} {self.number} at {format_clock(self.feature.clock)}{where}"


def placed(features: Sequence[Feature], block: Block, noun: str) -> list[Placed[Feature]]:
    """Every feature at every bore that has it.

    Raises
    ------
    SectionError
        If a feature names a bore that the block has not.
    """
    found = []
    for number, feature in enumerate(features, 1):
        for bore in feature.bores or range(1, block.bores + 1):
            if not 1 <= bore <= block.bores:
                raise SectionError(
                    f"{noun} {number} at {format_clock(feature.clock)} stands on bore {bore}, but "
                    f"the block has bores 1 to {block.bores}.", f"{_key(noun)}[{number}].bores",
                )  # fmt: skip
            found.append(Placed(feature, number, bore, block.axes[bore - 1]))
    return found


def _key(noun: str) -> str:
    return noun.replace(" ", "_")


@dataclass(frozen=True)
class Plan:
    """A section with its features placed and the fillets of its jacket drawn.

    Its methods take points as a complex array ``z``, x + iy [mm], and answer in arrays of the same
    shape.
    """

    section: DeckSection
    ties: list[Placed[Tie]]
    reliefs: list[Placed[ReliefCut]]
    slots: list[Placed[WaterSlot]]
    jacket_loops: list[list[Curve]]  # water with the ties and fillets as cast, before relief cuts
    fillets: list[planar.Fillet]
    corners: list[tuple[Curve, Curve]] = field(default_factory=list)  # of Rounding, of the insert
    dressed: list[tuple[Curve, planar.Area, float]] = field(default_factory=list)
    """Edges of relief cuts that are dressed for an insert: the new edge, what it takes off the
    block, and how deep. [mm]."""
    register_loops: list[list[Curve]] = field(default_factory=list)  # pockets as machined
    register_fillets: list[planar.Fillet] = field(default_factory=list)

    @cached_property
    def block(self) -> Block:
        """The block of the section, as thick as in the mean over the depth where it has draft."""
        return self.section.mean_block

    @cached_property
    def relief_at(self) -> NDArray[np.complex128]:
        """Centres of the relief cuts. [mm]."""
        return np.array([r.axis + r.feature.radius * r.ray for r in self.reliefs], dtype=complex)

    def off_bank(self, z: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Distance from the line that joins the bore axes. [mm]."""
        axes = self.block.axes
        return np.abs(z - np.clip(z.real, axes[0], axes[-1]))

    def from_axis(self, z: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Distance from the nearest bore axis. [mm]."""
        return np.min([np.abs(z - axis) for axis in self.block.axes], axis=0)

    def in_reach(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether an insert of the section's width would reach points, whatever stands there."""
        insert = self.section.insert
        if insert is None or insert.width is None:
            return np.full(z.shape, insert is not None)
        return self.from_axis(z) < self.block.barrel_radius + insert.width

    def under_ring(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether an insert in one ring would reach points, over ties that stand there."""
        insert = self.section.insert
        if insert is None or insert.form != "ring":
            return np.zeros(z.shape, dtype=bool)
        return self.in_reach(z)

    @cached_property
    def jacket(self) -> planar.Area:
        """What the jacket's loops enclose."""
        return planar.Area(self.jacket_loops)

    @cached_property
    def register(self) -> planar.Area:
        """What the register's loops enclose."""
        return planar.Area(self.register_loops)

    @cached_property
    def barrel_loops(self) -> list[list[Curve]]:
        """Outside of each barrel."""
        return [barrel_curves(self.block, bore) for bore in range(self.block.bores)]

    def in_barrel(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether points lie inside the outside of any barrel."""
        if self.block.varied_walls:
            return np.any([planar.inside([loop], z) for loop in self.barrel_loops], axis=0)
        return self.from_axis(z) < self.block.barrel_radius

    def relief_depth(self, z: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Depth of the deepest relief cut at points; 0 beside them. [mm]."""
        depth = np.zeros(z.shape)
        for placed, centre in zip(self.reliefs, self.relief_at, strict=True):
            cut = np.abs(z - centre) < placed.feature.diameter / 2
            depth = np.where(cut, np.maximum(depth, placed.feature.depth), depth)
        for _, area, deep in self.dressed:
            depth = np.where(area.holds(z), np.maximum(depth, deep), depth)
        return np.minimum(depth, self.section.depth)

    def parent(self, z: NDArray[np.complex128]) -> tuple[list[str], NDArray[np.float64]]:
        """Part and depth of parent metal at points before relief cuts.

        Parameters
        ----------
        z : ndarray, shape (n,)
            [mm]

        Returns
        -------
        part : list of str
            n of them; without meaning where nothing stands.
        depth : ndarray, shape (n,)
            0 where open. [mm]
        """
        block, full = self.block, self.section.depth
        off, from_axis = self.off_bank(z), self.from_axis(z)
        part = np.full(z.shape, "barrel", dtype=object)
        depth = np.full(z.shape, full)
        depth[from_axis < block.bore / 2] = 0.0
        part[(from_axis < block.liner_radius) & (depth > 0)] = "liner"
        beyond = ~self.in_barrel(z)
        part[beyond] = "outer wall"
        depth[beyond & (off > block.outside_radius)] = 0.0
        in_jacket = np.nonzero(beyond & (off < block.jacket_radius))[0]
        open_ = self.jacket.holds(z[in_jacket])
        depth[in_jacket[open_]] = 0.0
        across = in_jacket[~open_]
        part[across], depth[across] = self._across_jacket(z[across])
        return list(part), depth

    def _across_jacket(
        self, z: NDArray[np.complex128]
    ) -> tuple[NDArray[np.object_], NDArray[np.float64]]:
        """Part and depth at points of metal between barrel and outer wall."""
        standing = np.zeros(z.shape)
        for tie in self.ties:
            standing = np.maximum(standing, np.where(in_strip(tie, z), tie.feature.depth, 0.0))
        part, depth = np.full(z.shape, "tie", dtype=object), standing
        filled = np.flatnonzero(standing == 0)
        if filled.size and self.fillets:
            middles = np.array([fillet.arc.point(0.5) for fillet in self.fillets])
            nearest = np.abs(z[filled, None] - middles).argmin(axis=1)
            for k, fillet in zip(filled, nearest, strict=True):
                part[k], depth[k] = self._of_fillet(self.fillets[fillet])
        return part, np.minimum(depth, self.section.depth)

    def _of_fillet(self, fillet: planar.Fillet) -> tuple[str, float]:
        """Part and depth of the metal in the corner of a fillet."""
        meeting = [tag.split("|") for tag in (fillet.before, fillet.after)]
        depths = [self.ties[int(tag[1])].feature.depth for tag in meeting if tag[0] == "tie"]
        return ("tie", min(depths)) if depths else ("barrel", self.section.depth)

    def layers(self, z: NDArray[np.complex128]) -> list[Layers]:
        """Layers of metal at points, the parent metal first.

        Parameters
        ----------
        z : ndarray, shape (n,)
            [mm]

        Returns
        -------
        list of tuple of Layer
            n of them; empty where there is no metal.
        """
        full = self.section.depth
        part, before = self.parent(z)
        taken = self.taken(z, part, before)
        left = np.maximum(before - taken, 0.0)
        in_bore = self.from_axis(z) < self.block.bore / 2
        outside = (before == 0) & ((self.off_bank(z) > self.block.outside_radius) | in_bore)
        open_to = np.where(taken >= before, full, taken)
        open_to[outside] = 0.0
        stands = self.insert_stands(z) & (open_to > 0)
        bore, hours = self.block.nearest_bore(z.real, z.imag)
        axis = np.array(self.block.axes)[bore - 1]
        columns = (z, part, left, taken, stands, open_to, axis, hours)
        rows = []
        for place, name, metal, cut, insert, cap, at, hour in zip(
            *(np.asarray(column).tolist() for column in columns), strict=True
        ):
            row = []
            if metal > 0:
                row.append(Layer(name, UniformDepth(metal), cut))
            if insert:
                row.append(Layer("insert", self._insert_depth(place, at, hour, cap)))
            rows.append(tuple(row))
        return rows

    def taken(
        self, z: NDArray[np.complex128], part: Sequence[str], before: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Depth to which relief cuts, and what is machined for the insert, take parent metal.

        Parameters
        ----------
        z : ndarray, shape (n,)
            [mm]
        part : sequence of str
        before : ndarray, shape (n,)
            Of :meth:`parent`.

        Returns
        -------
        ndarray, shape (n,)
            [mm]
        """
        return np.maximum(self.relief_depth(z), self.machined(z, part, before))

    def machined(
        self, z: NDArray[np.complex128], part: Sequence[str], before: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Depth to which parent metal is machined for the insert at points, as :meth:`taken`."""
        insert, depth = self.section.insert, np.zeros(z.shape)
        if insert is None:
            return depth
        depth[self.under_ring(z) & (np.array(part) == "tie") & (before > 0)] = insert.depth
        if insert.register is not None:
            cut = self.register.holds(z) & self.in_reach(z) & (before > 0)
            depth[cut] = np.maximum(depth[cut], insert.register.depth)
        return depth

    def insert_stands(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether points lie in the plan of the insert, whatever metal may stand in its way."""
        insert = self.section.insert
        stands = self.in_reach(z)
        if insert is not None and not insert.fills_relief_cuts:
            stands &= self.relief_depth(z) == 0
        for slot in self.slots:
            stands &= ~in_slot(slot, self.section, z)
        return stands

    def _insert_depth(self, z: complex, axis: float, hours: float, cap: float) -> Depth:
        insert = self.section.insert
        assert insert is not None
        beside = tuple(
            x for x in self.block.axes if 0.5 < abs(x - axis) / (self.block.pitch or 1.0) < 1.5
        )
        if any(
            _reaches(zone, hours)
            or any(
                abs(z.real - (axis + other) / 2) < blend_length(zone, self.mid_insert)
                and _reaches(zone, float(clock_of(z.real - other, z.imag)))
                for other in beside
            )
            for zone in insert.zones
        ):
            return ProfileDepth(insert.depth, insert.zones, cap, axis, beside, self.mid_insert)
        return UniformDepth(min(insert.depth, cap))

    @property
    def mid_insert(self) -> float:
        """Radius half-way through the insert. [mm]."""
        insert = self.section.insert
        assert insert is not None
        return self.block.barrel_radius + (insert.width or self.block.jacket) / 2

    def in_tie(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether points lie between the sides of any tie."""
        held = np.zeros(z.shape, dtype=bool)
        for tie in self.ties:
            held |= in_strip(tie, z)
        return held

    def fillet_radius(self, before: str, after: str) -> float:
        """Radius stated for the corner between two edges of the jacket, by their tags. [mm]."""
        tags = [tag.split("|") for tag in (before, after)]
        radii = [self.ties[int(tag[1])].feature.fillet for tag in tags if tag[0] == "tie"]
        return min(radii) if radii else self.block.valley_fillet

    def onto_face(self, tag: str, z: complex) -> complex:
        """The point of a barrel's face or of the jacket's outside, by its tag, nearest to a point.

        The point must lie near the face.
        """
        block = self.block
        kind, *rest = tag.split("|")
        if kind == "jacket":
            foot = complex(min(max(z.real, block.axes[0]), block.axes[-1]))
            return foot + (z - foot) / abs(z - foot) * block.jacket_radius
        feet = (
            curve.point(min(max(curve.share(z), 0.0), 1.0))
            for curve in self.barrel_loops[int(rest[0])]
        )
        return min(feet, key=lambda foot: abs(foot - z))

    def water(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether points lie in the jacket, between barrels and outer wall."""
        return ~self.in_barrel(z) & (self.off_bank(z) < self.block.jacket_radius)


def registered(block: Block, insert: Insert, thicker: float = 0.0) -> Block:
    """A block whose jacket is the pocket that a register cuts, corners as the cutter leaves them.

    A ring's register goes over the ties. A cutter of next to a fillet's own radius leaves that
    fillet: between the two lies no metal that could be drawn. ``thicker`` [mm] is what the walls
    of ``block`` have more than at the deck, from where the register is measured.
    """
    assert insert.register is not None
    cutter = insert.register.corner_radius
    off, off_outer = (
        width + thicker if width else 0.0 for width in (insert.off_barrel, insert.off_outer_wall)
    )
    ties = () if insert.form == "ring" else block.ties

    def left(fillet: float) -> float:
        return fillet if abs(fillet - cutter) < SAME_RADIUS else cutter

    return replace(
        block.thickened(-off),
        jacket=block.jacket + off + off_outer,
        outer_wall=block.outer_wall - off_outer,
        ties=tuple(replace(tie, fillet=left(tie.fillet)) for tie in ties),
        relief_cuts=(),
        valley_fillet=left(block.valley_fillet),
    )


def _reaches(zone: DeeperZone, hours: float) -> bool:
    """Whether a zone, blend and all, reaches a clock position."""
    return 30 * abs(float(hours_between(hours, zone.clock))) < zone.width / 2 + zone.blend


def in_strip(tie: Placed[Tie], z: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """Whether points lie between the sides of a tie, outward of its bore axis.

    Parameters
    ----------
    tie : Placed of Tie
    z : ndarray, shape (...)
        [mm]

    Returns
    -------
    ndarray of bool, shape (...)
    """
    ray = (z - tie.axis) * tie.ray.conjugate()
    return (np.abs(ray.imag) < tie.feature.width / 2) & (ray.real > 0)


def barrel_curves(block: Block, bore: int) -> list[Curve]:
    """Outside of the barrel of a bore (from 0), counter-clockwise.

    Between the rows of a wall table the wall follows a periodic monotone cubic, so it is nowhere
    thinner or thicker than the two rows beside it.

    References
    ----------
    .. [1] Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246.
    """
    axis, tag = block.axes[bore], f"barrel|{bore}"
    rows = block.wall_rows(bore + 1)
    if not rows:
        return planar.circle(axis, block.barrel_radius, tag)
    from scipy.interpolate import PchipInterpolator

    clock, wall = np.array(sorted((c % 12, w) for c, w in rows)).T
    wrapped = np.concatenate([clock - 12, clock, clock + 12])
    curve = PchipInterpolator(wrapped, np.tile(wall, 3))
    angle = np.linspace(0, 2 * np.pi, 97)
    hours = angle_to_clock(angle)
    radius = block.liner_radius + curve(hours)
    slope = curve.derivative()(hours) * (-6 / np.pi)  # dr/dangle, as 12 h run backwards in 2 pi
    turn = np.exp(1j * angle)
    points, direction = axis + radius * turn, (slope + 1j * radius) * turn
    points[-1], direction[-1] = points[0], direction[0]
    return planar.smooth_curve(points, direction / np.abs(direction), tag)


def around_bank(block: Block, radius: float, tag: str) -> list[Curve]:
    """The line at a distance from the row of bore axes, counter-clockwise."""
    first, last = block.axes[0], block.axes[-1]
    if first == last:
        return planar.circle(first, radius, tag)
    quarter = math.pi / 2
    return [
        *planar.arc(last, radius, -quarter, quarter, tag),
        planar.line(last + 1j * radius, first + 1j * radius, tag),
        *planar.arc(first, radius, quarter, 3 * quarter, tag),
        planar.line(first - 1j * radius, last - 1j * radius, tag),
    ]


def slot_loop(slot: Placed[WaterSlot], section: DeckSection) -> list[Curve]:
    """Edge of a water slot, counter-clockwise."""
    radius, tag = slot_radius(slot, section), f"slot|{slot.number}"
    half = slot.feature.width / 2
    if slot.feature.arc == 0:
        return planar.circle(slot.axis + radius * slot.ray, half, tag)
    middle, reach = float(clock_to_angle(slot.feature.clock)), math.radians(slot.feature.arc / 2)
    low, high = middle - reach, middle + reach
    ends = [slot.axis + radius * cmath.exp(1j * angle) for angle in (low, high)]
    return [
        *planar.arc(slot.axis, radius + half, low, high, tag),
        *planar.arc(ends[1], half, high, high + math.pi, tag),
        *planar.arc(slot.axis, radius - half, high, low, tag),
        *planar.arc(ends[0], half, low + math.pi, low + math.tau, tag),
    ]


def in_slot(
    slot: Placed[WaterSlot], section: DeckSection, z: NDArray[np.complex128]
) -> NDArray[np.bool_]:
    """Whether points lie in a water slot: nearer to its centre line than half its width.

    Parameters
    ----------
    slot : Placed of WaterSlot
    section : DeckSection
        With the insert that has the slot.
    z : ndarray, shape (...)
        [mm]

    Returns
    -------
    ndarray of bool, shape (...)
    """
    ray = (z - slot.axis) * slot.ray.conjugate()
    reach = math.radians(slot.feature.arc / 2)
    foot = slot_radius(slot, section) * np.exp(1j * np.clip(np.angle(ray), -reach, reach))
    return np.asarray(np.abs(ray - foot) < slot.feature.width / 2)


def slot_radius(slot: Placed[WaterSlot], section: DeckSection) -> float:
    """Radius of a slot's centre line: as given, or the middle of the insert. [mm]."""
    assert section.insert is not None
    if slot.feature.radius is not None:
        return slot.feature.radius
    block = section.mean_block
    return block.barrel_radius + (section.insert.width or block.jacket) / 2

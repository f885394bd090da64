"""What stands at each place of the plan, from the deck down to the crankcase floor.

A column is a stack of slabs, each of one part, between two surfaces. The regions of a section are
columns already; the water of the jacket gets one too, of the metal below its floor. The plan ends
where a neighbour of the bore that fires is cut in half.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.faces import Layers, Outline
from geometry.outline import drawn, planned
from geometry.plan import Plan, around_bank, barrel_curves
from geometry.planar import Curve
from geometry.refusals import SectionError
from geometry.rounding import Rounding
from geometry.section import (
    Block,
    DeckSection,
    Insert,
    ReliefCut,
    Tie,
    WaterSlot,
    default_depth,
)
from geometry.section_mesh import Depth, ProfileDepth, UniformDepth

_Feature = TypeVar("_Feature", Tie, ReliefCut, WaterSlot)

Floats = NDArray[np.float64]
Points = NDArray[np.complex128]

SAME = 0.05
"""Depths nearer to one another than this are one. [mm].

Common practice, no source: less than a casting or a pocket is held to.
"""

TIP = 0.6
"""As of :func:`geometry.outline.drawn`: coarser than a section's. [mm]."""

CLEAR = 1.0
"""An insert that ends less than this above a floor's fillet leaves the floor sharp. [mm]."""

BANDS = (0.29, 1.0)
"""Shares of a fillet's radius that split its run across a floor: 45 and 90 degrees of it."""

THIRDS = (0.134, 0.5, 1.0)
"""The same at 30, 60 and 90 degrees."""

FOUR_BANDS = (0.134, 0.357, 0.658, 1.0)
"""The same at 30, 50, 70 and 90 degrees.

A strip narrower than the first has no room for walls that lean.
"""


@dataclass(frozen=True, slots=True)
class Surface:
    """Where a slab begins or ends.

    A cut's floor rises at its wall, a tie's underside falls at both walls, by a fillet.
    """

    kind: Literal["flat", "cut", "tie", "insert"]
    depth: float  # away from any fillet or deeper zone [mm]
    profile: ProfileDepth | None = None  # of an insert's underside
    radius: float = 0.0  # of the fillet [mm]


@dataclass(frozen=True, slots=True)
class Slab:
    """One part between two surfaces of a column."""

    part: str
    top: Surface
    bottom: Surface
    band: int = 0  # strip of a fillet that the column lies in, 0 for none


Column = tuple[Slab, ...]


@dataclass(frozen=True, eq=False)
class Columns:
    """The plan of a solid: an outline whose regions are columns, its edges named by what drew them.

    Attributes
    ----------
    plan : Plan
        Of the bore that fires and those beside it.
    outline : Outline
    ends : tuple of float
        x of the planes where the solid is cut. [mm]
    """

    plan: Plan
    outline: Outline
    ends: tuple[float, ...]

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Column of each region."""
        return self.outline.regions  # type: ignore[return-value]

    @cached_property
    def walls(self) -> planar.Curves:
        """Faces of barrels and outer wall, as cast, without ties."""
        return planar.Curves.of(_wall_curves(self.plan.block))

    def from_walls(self, z: Points) -> Floats:
        """Distance of points (n,) from the nearest of those faces. [mm]."""
        return _from_curves(self.walls, z)

    def depth(self, surface: Surface, z: Points) -> Floats:
        """Depth of a surface at points (n,) of its columns. [mm]."""
        if surface.kind == "insert":
            assert surface.profile is not None
            return surface.profile(z.real, z.imag)
        depth = np.full(z.shape, surface.depth)
        if surface.radius == 0:
            return depth
        if surface.kind == "cut":
            return depth - _raised(_from_cutter(self.plan, surface.depth, z), surface.radius)
        return depth + _raised(self.from_walls(z), surface.radius)


def section_of(
    block: Block, insert: Insert | None = None, thinnest_wall: float | None = None
) -> DeckSection:
    """The whole height of a block, deck to crankcase floor, as a section.

    With a draft its plan is that of the section of usual depth: walls as thick as in the mean over
    that. From there they lean (:mod:`geometry.solid.draft`).

    Parameters
    ----------
    block : Block
    insert : Insert, optional
    thinnest_wall : float, optional
        As of a section. [mm]
    """
    usual = default_depth(block, insert.lowest if insert else 0.0)
    section = DeckSection(
        block=block, depth=block.floor_depth, insert=insert,
        drawn_over=usual if block.leans else None,
    )  # fmt: skip
    return section if thinnest_wall is None else replace(section, thinnest_wall=thinnest_wall)


def draw_columns(
    section: DeckSection, floor_bands: Sequence[float] = BANDS, tie_bands: Sequence[float] = BANDS
) -> Columns:
    """Columns of the bore that fires, with half of each bore beside it.

    Parameters
    ----------
    section : DeckSection
        As deep as the block, its floor being the crankcase's (:func:`section_of`).
    floor_bands, tie_bands : sequence of float
        Shares of a fillet's radius at which its run across a cut's floor, or under a tie, gets a
        line.

    Raises
    ------
    SectionError
        Where the section can't be built.
    """
    section = _about_firing_bore(section)
    _check_insert(section)
    plan = planned(section)
    ends = tuple(x for x in plan.block.axes if x != 0)
    block = plan.block
    reach = 2 * block.outside_radius
    more = [planar.line(x - 1j * reach, x + 1j * reach, "cut") for x in ends]
    more += _band_curves(plan, floor_bands, tie_bands)
    stands = _Stands(plan, ends, {"cut": tuple(floor_bands), "tie": tuple(tie_bands)})
    outline = drawn(plan, stands, more=more, tip=TIP)
    names = tuple(curve.tag.split("|")[0] for curve in outline.pieces)
    insert = section.insert
    if insert is not None:
        rounding = Rounding("insert", tuple(plan.corners), insert.edge_break)
        outline = replace(outline, rounding=rounding)
    return Columns(plan, replace(outline, names=names), ends)


def _check_insert(section: DeckSection) -> None:
    insert, floor = section.insert, section.block.jacket_floor
    if insert is not None and insert.lowest > floor - CLEAR:
        raise SectionError(
            f"the insert, or what is machined for it, reaches {insert.lowest:g} mm below the deck "
            f"in a jacket {floor:g} mm deep. Leave {CLEAR:g} mm of water below it: give a depth of "
            f"at most {floor - CLEAR:g} mm, or state block.jacket_depth.", "insert.depth",
        )  # fmt: skip


def _about_firing_bore(section: DeckSection) -> DeckSection:
    """The section with no more than a bore on either side of the one that fires.

    Ties of these have sharp corners, and the insert has no slots there: both would cost more
    elements than they are worth.
    """
    block, insert = section.block, section.insert
    firing = block.firing_bore
    kept = [bore for bore in (firing - 1, firing, firing + 1) if 1 <= bore <= block.bores]

    def left(features: Sequence[_Feature], bores: Sequence[int]) -> list[_Feature]:
        places = [
            tuple(kept.index(bore) + 1 for bore in feature.bores or kept if bore in bores)
            for feature in features
        ]
        return [
            replace(feature, bores=at)
            for feature, at in zip(features, places, strict=True)
            if at
        ]  # fmt: skip

    others = [bore for bore in kept if bore != firing]
    beside = [replace(tie, fillet=0.0) for tie in left(block.ties, others)]
    return replace(
        section,
        block=replace(
            block, bores=len(kept), firing_bore=kept.index(firing) + 1,
            ties=(*left(block.ties, [firing]), *beside),
            relief_cuts=tuple(left(block.relief_cuts, kept)),
            bore_walls=tuple(block.bore_walls[bore - 1] for bore in kept if block.bore_walls),
            bore_leans=tuple(block.bore_leans[bore - 1] for bore in kept if block.bore_leans),
            jacket_depth=block.jacket_floor or None, crankcase_floor=block.floor_depth,
        ),
        insert=insert and replace(insert, slots=tuple(left(insert.slots, [firing]))),
    )  # fmt: skip


@dataclass(frozen=True)
class _Stands:
    """Columns at points of a plan, by :meth:`Plan.layers`."""

    plan: Plan
    ends: tuple[float, ...]
    bands: Mapping[str, tuple[float, ...]]

    def __call__(self, z: Points) -> list[Column]:
        plan, block = self.plan, self.plan.block
        wet, relief = plan.water(z), plan.relief_depth(z)
        outside = np.zeros(z.shape, dtype=bool)
        for x in self.ends:
            outside |= (z.real - x) * np.sign(x) > 0
        near = np.abs(z) <= np.min([np.abs(z - axis) for axis in block.axes], axis=0) + 1e-9
        from_wall = _from_curves(planar.Curves.of(_wall_curves(block)), z)
        from_cutter = np.full(z.shape, np.inf)
        for depth in np.unique(relief[relief > 0]):
            here = relief == depth
            from_cutter[here] = _from_cutter(plan, float(depth), z[here])
        return [
            () if out else self._column(*place)
            for out, *place in zip(
                outside.tolist(), plan.layers(z), wet.tolist(), relief.tolist(), near.tolist(),
                from_wall.tolist(), from_cutter.tolist(), strict=True,
            )
        ]  # fmt: skip

    def _column(
        self, layers: Layers, wet: bool, relief: float, near: bool, wall: float, cutter: float
    ) -> Column:
        block, full = self.plan.block, self.plan.section.depth
        insert = next((layer for layer in layers if layer.part == "insert"), None)
        stands = 0.0 if insert is None else _deepest(insert.thickness)
        slabs: list[Slab] = []
        seat = Surface("flat", full)
        reaches = False
        for layer in layers:
            if layer.part == "insert":
                continue
            assert isinstance(layer.thickness, UniformDepth)
            low = layer.top + layer.thickness.thickness
            top, bottom, band = Surface("flat", layer.top), Surface("flat", low), 0
            if 0 < layer.top == relief and near and stands < relief - block.floor_radius - CLEAR:
                top, band = self._filleted("cut", layer.top, block.floor_radius, cutter)
            reaches = low >= full
            if not reaches:
                if near:
                    bottom, band = self._filleted("tie", low, block.underside_radius, wall)
                if wet and low >= block.jacket_floor - SAME:
                    bottom, reaches = Surface("flat", full), True
            if layer.top > 0:
                seat = top
            slabs.append(Slab(layer.part, top, bottom, band))
        if wet and not reaches:
            beneath = Surface("flat", max(block.jacket_floor, relief))
            slabs.append(Slab("floor", beneath, Surface("flat", full)))
            seat = slabs[0].top if slabs[0].top.depth > 0 else seat
        if insert is not None:
            under = _underside(insert.thickness, seat)
            slabs.insert(0, Slab("insert", Surface("flat", 0.0), under))
        return tuple(slabs)

    def _filleted(
        self, kind: Literal["cut", "tie"], depth: float, radius: float, away: float
    ) -> tuple[Surface, int]:
        band = sum(1 for share in self.bands[kind] if away < share * radius)
        return Surface(kind, depth, None, radius), band


def _deepest(thickness: Depth) -> float:
    if isinstance(thickness, UniformDepth):
        return thickness.thickness
    return min(thickness.cap, max(zone.depth for zone in thickness.zones))


def _underside(thickness: Depth, seat: Surface) -> Surface:
    if isinstance(thickness, ProfileDepth):
        return Surface("insert", thickness.base, thickness)
    depth = thickness.thickness
    return seat if abs(depth - seat.depth) < SAME else Surface("flat", depth)


def _wall_curves(block: Block) -> list[Curve]:
    if block.jacket == 0:
        return []
    curves = [c for bore in range(block.bores) for c in barrel_curves(block, bore)]
    return [*curves, *around_bank(block, block.jacket_radius, "jacket")]


def _band_curves(
    plan: Plan, floor_bands: Sequence[float], tie_bands: Sequence[float]
) -> list[Curve]:
    """Lines along the fillets under ties and on the floors of cuts of the bore that fires."""
    block, curves = plan.block, []
    for relief, centre in zip(plan.reliefs, plan.relief_at, strict=True):
        for share in floor_bands:
            radius = relief.feature.diameter / 2 - share * block.floor_radius
            if radius > 0 and block.floor_radius > 0 and relief.axis == 0:
                curves += planar.circle(complex(centre), radius, "band")
    radius = block.underside_radius
    if radius == 0 or not any(tie.axis == 0 for tie in plan.ties):
        return curves
    for share in tie_bands:
        off = share * radius
        if off < block.jacket:
            wider = replace(block.thickened(off), jacket=block.jacket - off)
            curves += [c.tagged("band") for c in barrel_curves(wider, block.axes.index(0.0))]
            curves += around_bank(block, block.jacket_radius - off, "band")
    return curves


def _from_cutter(plan: Plan, depth: float, z: Points) -> Floats:
    """Distance from the wall of the cut of a depth that reaches furthest around points. [mm]."""
    away = np.zeros(z.shape)
    for relief, centre in zip(plan.reliefs, plan.relief_at, strict=True):
        if abs(relief.feature.depth - depth) < SAME:
            away = np.maximum(away, relief.feature.diameter / 2 - np.abs(z - centre))
    return away


def _from_curves(curves: planar.Curves, z: Points) -> Floats:
    """Distance of points (n,) from the nearest of some curves. [mm]."""
    if not len(curves.start) or not z.size:
        return np.full(z.shape, np.inf)
    n, m = z.size, len(curves.start)
    pairs = curves[np.tile(np.arange(m), n)]
    every = np.repeat(z, m)
    feet = pairs.points(np.clip(pairs.share(every), 0.0, 1.0))
    return np.abs(feet - every).reshape(n, m).min(axis=1)


def _raised(away: Floats, radius: float) -> Floats:
    """How far a fillet stands above a floor at a distance from the wall: a quarter circle. [mm]."""
    short = radius - np.clip(away, 0.0, radius)
    return radius - np.sqrt(np.maximum(radius**2 - short**2, 0.0))

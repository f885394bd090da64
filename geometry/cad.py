"""Solids of an insert's pieces and of their pocket, as STEP files.

The origin is where the axis of bore 1 meets the deck, z points up out of the block. Edges are
sharp: their breaks are notes on a drawing.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.clock import clock_to_angle
from geometry.cut_pieces import (
    WITHIN,
    CutPiece,
    Loop,
    as_cast,
    caps_of,
    middle_of,
    pocket_loops,
    shifted_by,
)
from geometry.mesh import modeller
from geometry.overlay import common_area
from geometry.planar import Area, Curve, polygon, signed_area
from geometry.section import Block, DeckSection, DeeperZone, Insert
from geometry.section_mesh import blend_length, run_out

NODES = -np.cos(np.linspace(0.0, np.pi, 8))
"""Between -1 and 1: a patch of an underside goes through its points there, as one polynomial, which
is half a cosine wave to 1e-5 of its height."""
FLAT = math.radians(75.0)
"""Off the row, up to which a patch may end at the line half-way to the next bore. [rad]."""
SLIVER = 1e-3
"""Less is no patch. [rad]."""
MOST_TURN = 0.7
"""Of a patch about its bore. [rad]."""
BEYOND = 5.0
"""What is cut off goes so far beyond a piece. [mm]."""

Entities = list[tuple[int, int]]
"""As the modeller names solids: dimension, number."""
Floats = NDArray[np.float64]
Places = NDArray[np.complex128]
Patch = tuple[Places, Floats]
"""Places of the plan, and depths of an underside there. [mm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Solids:
    """What was written of an insert and its pocket."""

    volumes: tuple[float, ...]  # of the pieces, by number [mm3]
    pocket: float  # [mm3]


def write_solids(
    section: DeckSection, pieces: Sequence[CutPiece], insert_to: Path, pocket_to: Path
) -> Solids:
    """Write the pieces of an insert below the deck, one solid each, and the pocket that they fill.

    The pocket is as deep as the insert. Under a register the jacket goes on as cast, down to the
    underside of the shallowest tie at least.

    Parameters
    ----------
    section : DeckSection
        That the pieces are of.
    pieces : sequence of CutPiece
    insert_to, pocket_to : Path
        Ending in ``.step``.
    """
    insert, block = section.insert, section.mean_block
    assert insert is not None
    with modeller("insert") as gmsh:
        gmsh.option.setNumber("Geometry.ToleranceBoolean", 1e-6)
        occ = gmsh.model.occ
        by = -block.axes[0]
        caps = caps_of(section)
        volumes: list[float] = []
        made: list[tuple[CutPiece, Entities]] = []
        for piece in pieces:
            for place, (other, solids) in enumerate(made):
                if (along := shifted_by(other, piece)) is not None:
                    solid = occ.copy(solids)
                    occ.translate(solid, along, 0, 0)
                    volumes.append(volumes[place])
                    break
            else:
                solid = _capped(occ, _piece(occ, piece, block, insert, by), piece, caps, insert, by)
                volumes.append(sum(occ.getMass(*of) for of in solid))
            made.append((piece, solid))
        occ.synchronize()
        _write(gmsh, insert_to)
    with modeller("pocket") as gmsh:
        gmsh.option.setNumber("Geometry.ToleranceBoolean", 1e-6)
        occ = gmsh.model.occ
        solid = _pocket(occ, section, by)
        pocket = sum(occ.getMass(*of) for of in solid)
        occ.synchronize()
        _write(gmsh, pocket_to)
    return Solids(volumes=tuple(volumes), pocket=pocket)


def pocket_depth(section: DeckSection) -> float:
    """How deep the pocket is that is written. [mm]."""
    insert = section.insert
    assert insert is not None
    if insert.register is None:
        return insert.deepest
    return max(insert.lowest, min([section.depth, *(of.depth for of in section.block.ties)]))


def _pocket(occ: Any, section: DeckSection, by: float) -> Entities:
    """The pocket, and the jacket between the ties under what is cut, less what stands up in it."""
    insert, bottom = section.insert, pocket_depth(section)
    assert insert is not None
    if insert.register is None and insert.form == "pieces":
        return _open(occ, as_cast(section, bottom), 0.0, bottom, by)
    floor = insert.register.depth if insert.register else insert.depth
    cut = replace(section, insert=replace(insert, depth=floor, zones=(), slots=()))
    solid = _open(occ, cut, 0.0, floor, by)
    if floor < bottom:
        solid = occ.fuse(solid, _open(occ, as_cast(section, bottom), floor, bottom, by))[0]
    return list(solid)


def _open(occ: Any, section: DeckSection, top: float, bottom: float, by: float) -> Entities:
    """What is open where an insert stands, between two depths below the deck."""
    solid = [of for loops in pocket_loops(section) for of in _prism(occ, loops, top, bottom, by)]
    up = [
        of
        for cap, loops in caps_of(section)
        if cap < bottom
        for of in _prism(occ, loops, max(cap, top), bottom, by)
    ]
    return list(occ.cut(solid, up)[0] if up else solid)


def _write(gmsh: Any, path: Path) -> None:
    """Write what is modelled, and keep from the terminal what the writer says to it."""
    sys.stdout.flush()
    kept = os.dup(1)
    try:
        with open(os.devnull, "wb") as nowhere:
            os.dup2(nowhere.fileno(), 1)
        gmsh.write(str(path))
    finally:
        os.dup2(kept, 1)
        os.close(kept)


def step_volumes(path: Path) -> tuple[float, ...]:
    """Volumes of the solids in a STEP file. [mm3]."""
    with modeller("read") as gmsh:
        found = gmsh.model.occ.importShapes(str(path))
        return tuple(gmsh.model.occ.getMass(*of) for of in found if of[0] == 3)


def _prism(
    occ: Any, loops: Iterable[Sequence[Curve]], top: float, bottom: float, by: float
) -> Entities:
    """What loops enclose, between two depths below the deck."""
    low, high = max(top, bottom), min(top, bottom)
    ways = [
        loop if signed_area(loop) > 0 else [of.reversed() for of in loop[::-1]] for loop in loops
    ]
    outlines = [occ.addCurveLoop(_wire(occ, loop, -low, by)) for loop in ways]
    face = occ.addPlaneSurface(outlines)
    return [of for of in occ.extrude([(2, face)], 0, 0, low - high) if of[0] == 3]


def _wire(occ: Any, loop: Sequence[Curve], height: float, by: float) -> list[int]:
    first = [occ.addPoint(of.start.real + by, of.start.imag, height) for of in loop]
    lines = []
    for curve, a, b in zip(loop, first, [*first[1:], first[0]], strict=True):
        if curve.bulge:
            centre = occ.addPoint(curve.centre.real + by, curve.centre.imag, height)
            lines.append(occ.addCircleArc(a, centre, b))
        else:
            lines.append(occ.addLine(a, b))
    return lines


def _piece(occ: Any, piece: CutPiece, block: Block, insert: Insert, by: float) -> Entities:
    """A piece as deep as its zones."""
    z = middle_of(block, insert, piece)
    zones = [
        [of for of in _patches(zone, block, insert, bore) if _meets(piece, of[0])]
        for zone in insert.zones
        for bore in range(1, block.bores + 1)
        if _may_reach(zone, block, bore, z)
    ]
    apart: list[list[Patch]] = []
    for zone in filter(None, zones):
        beside = next((some for some in apart if not _overlap(some, zone)), None)
        if beside is None:
            apart.append(zone)
        else:
            beside += zone
    if not apart:
        return _prism(occ, piece.loops, 0.0, insert.depth, by)
    # where two zones meet, the deeper of them stays
    first, *others = (_shaped(occ, piece, patches, insert, by) for patches in apart)
    return list(occ.fuse(first, [of for solid in others for of in solid])[0] if others else first)


def _overlap(some: Sequence[Patch], others: Sequence[Patch]) -> bool:
    """Whether patches lie over others in plan."""
    one, other = ([[_edge(at)] for at, _ in patches] for patches in (some, others))
    return any(common_area(a, b) > WITHIN for a in one for b in other)


def _edge(at: Places) -> list[Curve]:
    """Of a patch in plan: straight lines between its corners."""
    return polygon([complex(z) for z in (at[0, 0], at[-1, 0], at[-1, -1], at[0, -1])])


def _shaped(
    occ: Any, piece: CutPiece, patches: Sequence[Patch], insert: Insert, by: float
) -> Entities:
    """A piece as deep as patches that lie beside each other, and as the insert beside them.

    What is below is cut off patch by patch: a patch that goes on smoothly into the next makes the
    modeller slow where both are at hand at once.
    """
    deepest = max(float(depth.max()) for _, depth in patches)
    solid = _prism(occ, piece.loops, 0.0, deepest, by)
    z = np.concatenate([curve.points(np.linspace(0, 1, 9)) for curve in piece.loops[0]])
    low, high = complex(z.real.min(), z.imag.min()), complex(z.real.max(), z.imag.max())
    low, high = low - BEYOND * (1 + 1j), high + BEYOND * (1 + 1j)
    around = polygon([low, complex(high.real, low.imag), high, complex(low.real, high.imag)])
    beside = _prism(occ, [around], insert.depth, deepest + BEYOND, by)
    columns = [
        of for at, _ in patches for of in _prism(occ, [_edge(at)], 0.0, deepest + 2 * BEYOND, by)
    ]
    off = [occ.cut(beside, columns)[0]]
    off += [_below(occ, at, depth, deepest + BEYOND, by) for at, depth in patches
            if depth.min() < deepest - WITHIN]  # fmt: skip
    for some in filter(None, off):
        solid = occ.cut(solid, some)[0]
    return list(solid)


def _may_reach(zone: DeeperZone, block: Block, bore: int, z: Places) -> bool:
    about = z - block.axes[bore - 1]
    near = np.abs(about) < 2 * block.jacket_radius
    middle = np.exp(1j * float(clock_to_angle(zone.clock)))
    reach = math.radians(zone.width / 2 + zone.blend + 15)
    return bool((np.abs(np.angle(about[near] / middle)) < reach).any())


def _meets(piece: CutPiece, at: Places) -> bool:
    """Whether a piece reaches into a patch of the plan."""
    around = _edge(at)
    edge = np.concatenate(
        [curve.points(np.linspace(0, 1, 2 + math.ceil(2 * curve.length))) for curve in piece.curves]
    )
    return bool(
        Area([around]).holds(edge).any()
        or Area(piece.loops).holds(np.array([side.start for side in around])).any()
    )


def _patches(zone: DeeperZone, block: Block, insert: Insert, bore: int) -> list[Patch]:
    """The underside of a zone, patch by patch."""
    middle, half = float(clock_to_angle(zone.clock)), math.radians(zone.width / 2)
    blend = math.radians(zone.blend)
    ranges = [(middle - half, middle + half)]
    if blend:
        ranges += [(middle - half - blend, middle - half), (middle + half, middle + half + blend)]
    axis = block.axes[bore - 1]
    # to where the outer wall is furthest, half-way to the next bore
    outer = 1.1 * math.hypot(block.outside_radius, (block.pitch or 0.0) / 2)
    found: list[Patch] = []
    for low, high in (part for of in ranges for part in _parted(*of)):
        turns = (low + high) / 2 + (high - low) / 2 * NODES
        ways: Places = np.asarray(np.exp(1j * turns), dtype=np.complex128)
        share = run_out((np.degrees(np.abs(turns - middle)) - zone.width / 2) / zone.blend
                         if zone.blend else np.zeros(len(turns)))  # fmt: skip
        towards = math.copysign(1.0, math.cos((low + high) / 2))
        half_way = _half_way(block, bore, towards)
        ends = np.full(len(turns), outer)
        beyond = half_way is not None and outer * np.abs(ways.real).max() > half_way
        if beyond and half_way is not None:
            ends = half_way / np.abs(ways.real)
        further = zone.depth - insert.depth
        depth = insert.depth + further * share
        at = axis + np.stack([block.bore / 2 * ways, ends * ways])
        found.append((at, np.stack([depth, depth])))
        if beyond and half_way is not None and zone.blend:
            radius = block.barrel_radius + (insert.width or block.jacket) / 2
            past = blend_length(zone, radius) * (1 + NODES) / 2
            out = (half_way + past[:, None]) / np.abs(ways.real) * ways
            faded = share * run_out(past / past[-1])[:, None]
            found.append((axis + out, insert.depth + further * faded))
    return found


def _parted(low: float, high: float) -> list[tuple[float, float]]:
    """A stretch of angles, parted so that each is short and looks to one side along the row.

    Also where the arcs of walls join, at each quarter: a patch across that, the modeller loses.
    """
    at = {low, high}
    for turn in np.arange(-4, 5) * math.pi:
        for edge in (0.0, FLAT, math.pi / 2, math.pi - FLAT):
            if low + SLIVER < turn + edge < high - SLIVER:
                at.add(turn + edge)
    ends = sorted(at)
    found = []
    for one, other in pairwise(ends):
        count = math.ceil((other - one) / MOST_TURN)
        found += list(pairwise(np.linspace(one, other, count + 1).tolist()))
    return found


def _half_way(block: Block, bore: int, towards: float) -> float | None:
    """How far off the line half-way to the next bore is; None where there is none. [mm]."""
    other = bore + (1 if towards > 0 else -1)
    return (block.pitch or 0.0) / 2 if 1 <= other <= block.bores else None


def _below(occ: Any, at: Places, depth: Floats, bottom: float, by: float) -> Entities:
    """What lies below a patch of the underside, one polynomial through its points."""
    if np.ptp(depth) < WITHIN:
        return _prism(occ, [_edge(at)], float(depth.min()), bottom, by)
    grid = np.stack([at.real + by, at.imag, -depth], axis=-1)
    net = np.moveaxis(_bernstein(np.moveaxis(grid, 1, 0)), 0, 1)
    if len(net) > 2:
        net = _bernstein(net)
    points = [occ.addPoint(*of) for row in net for of in row]
    face = occ.addBezierSurface(points, net.shape[1])
    down = float(depth.min()) - bottom
    return [of for of in occ.extrude([(2, face)], 0, 0, down) if of[0] == 3]


def _bernstein(values: Floats) -> Floats:
    """Control points of the polynomial through values at the nodes, along the first axis."""
    share, order = (1 + NODES) / 2, len(NODES) - 1
    basis = np.stack(
        [math.comb(order, k) * share**k * (1 - share) ** (order - k) for k in range(order + 1)],
        axis=1,
    )
    found = np.linalg.solve(basis, values.reshape(len(values), -1))
    return np.asarray(found.reshape(values.shape))


def _capped(
    occ: Any,
    solid: Entities,
    piece: CutPiece,
    caps: Sequence[tuple[float, Sequence[Loop]]],
    insert: Insert,
    by: float,
) -> Entities:
    """A piece with what its place ends it by taken off below."""
    own = Area(piece.loops[:1])
    off = [
        of
        for cap, loops in caps
        if own.holds(np.array([curve.point(0.5) for curve in loops[0]])).any()
        for of in _prism(occ, loops, cap, insert.deepest + 1, by)
    ]
    return list(occ.cut(solid, off)[0]) if off else solid

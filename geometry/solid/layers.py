"""A block in layers of prisms, from the deck to the crankcase floor."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from geometry.mesh import mesh_outline
from geometry.plan import Plan
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes
from geometry.solid.columns import BANDS, FOUR_BANDS, SAME, THIRDS, Columns, draw_columns
from geometry.solid.curved import flatness, rounded
from geometry.solid.draft import lean_of
from geometry.solid.levels import Levels, levels_of
from geometry.solid.mesh import SolidMesh, node_jacobians
from geometry.solid.names import named_faces, sharp_rims

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, slots=True)
class Fineness:
    """Element sizes of a solid. [mm].

    Those in the plan are lengths of sides; those in depth heights of layers.
    """

    wall: float  # along the walls of relief cuts
    thin_wall: float  # the same over what is left of a thin wall, no less than half of that [1]
    ring: float  # along the bore that fires
    far: float  # elsewhere
    grading: float  # growth in the plan [mm/mm]
    roundness: float  # elements round a full circle of fillets and slots of the bore that fires
    foot: float  # where a tie's fillet comes into a wall, over its radius [1]
    web: float  # at a slot's end, over what it leaves of the insert to the end beside a tie [1]
    thin: float  # layers at the deck, at undersides and at floors of cuts
    thick: float  # other layers down to the cuts
    growth: float  # of layers away from there [mm/mm]
    below: float  # the same below all cuts and inserts [mm/mm]
    root: float  # layers between an insert's underside and a tie's, at the walls
    floor_bands: tuple[float, ...]  # shares of the fillet's radius that split its run on a floor
    tie_bands: tuple[float, ...]  # the same under a tie
    coarseness: float = 1.0  # as of a mesh [1]


FINE = Fineness(
    wall=1.7, thin_wall=0.5, ring=5.0, far=15.0, grading=0.4, roundness=12.0,
    foot=0.25, web=0.2, thin=2.0, thick=6.0, growth=0.5, below=1.4, root=6.0, floor_bands=THIRDS,
    tie_bands=THIRDS,
)  # fmt: skip
"""For a stress to rate by."""

COARSE = Fineness(
    wall=2.1, thin_wall=0.8, ring=7.0, far=20.0, grading=0.6, roundness=8.0,
    foot=0.25, web=0.3, thin=3.0, thick=9.0, growth=0.8, below=2.0, root=5.0, floor_bands=BANDS,
    tie_bands=FOUR_BANDS, coarseness=1.7,
)  # fmt: skip
"""For a quick look.

Roots of ties were 5 to 14 % below a fine solid's with fillets under ties in thirds and taller
layers over them; where an insert is pressed in beside them another 20 to 40 % without elements as
small at both of its walls and in what a slot leaves of its end (a fine solid's 3 to 30 %).
"""

OTHER_RINGS = 2.4
"""How much longer elements may be along bores that don't fire."""

OUTER = 1.9
"""How much longer elements may be on fillets and slots away from the barrel."""

ACROSS_WALL = 0.3
"""Elements along a cut's wall over what is left of the wall that it thins."""

THICK_WALL = 1.8
"""How much longer than along the thinnest wall they get at most."""

FILLET_GRADING = 1.5
"""How fast elements grow away from fillets in the plan. [mm/mm]."""

FOOT_GRADING = 1.0
"""The same from where a tie's fillet comes into a wall."""

ALONG = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Places along an arc, over its length."""

FOOT_OF_WEB = 0.6
"""Elements where a tie's fillet comes into a wall, over those at the slot beside it, at most."""

LEAST_WEB = 0.25
"""Least elements at both. [mm]."""

WEB_GRADING = 1.0
"""The same from ends of slots. [mm/mm]."""

LEAST_FOOT = 0.4
"""Least elements where a tie's fillet comes into a wall, over those along walls of cuts."""

NEAR_CUTS = 0.6
"""Weight of what layers need at the relief cuts over what they need elsewhere."""

SPARED = 0.6
"""Share of a layer by which others may be higher than wished for, rather than one more."""

LEAST_LEFT = 0.1
"""Share of a prism's Jacobian that is left at each of its nodes when its walls lean."""

LEANS_BY = (1.0, 0.85, 0.7, 0.55, 0.4, 0.3, 0.2, 0.1)
"""Shares of the jacket's depth down to which walls lean: the first that leaves prisms sound."""

HELD_BACK, HELD_WITHIN = (0.7, 0.4, 0.2, *6 * [0.0]), 3.0
"""Shares of their lean that walls have where prisms are squeezed, tried one after the other, and
the distance over which they come back to the whole of it, once more with each. [mm]."""

FEW = 0.02
"""Share of the prisms up to which those that are squeezed are held back alone."""

FLATTEST = 0.01
"""Area of a triangle over the square of its longest side; less is a sliver."""

ROUGHLY_ROUND = 4.0
"""Elements round a full circle of arcs about other bores."""

FINER_ARCS = (1.0, 1.6, 2.5, 4.0)
"""How much more of them are tried, one after the other, against slivers."""

NO_BETTER = 0.25
"""Where none helps, the first counts whose slivers are no flatter than this of the best."""


def mesh_solid(
    section: DeckSection, fineness: Fineness = FINE, wishes: Sequence[SizeWishes] = ()
) -> SolidMesh:
    """The bore that fires, with half of each bore beside it, in layers of prisms.

    Parameters
    ----------
    section : DeckSection
        As deep as the block (:func:`geometry.solid.columns.section_of`).
    fineness : Fineness
    wishes : sequence of SizeWishes
        Smaller elements in the plan, such as a solution asks for.

    Returns
    -------
    SolidMesh
        Bonded: parts that touch share nodes. The same for the same input, in any process.

    Raises
    ------
    SectionError
        Where the section can't be built.
    RuntimeError
        If the mesher fails.
    """
    columns = draw_columns(section, fineness.floor_bands, fineness.tie_bands)
    sizes = (*plan_sizes(columns, fineness), *wishes)
    return layered(columns, plan_mesh(columns, sizes), fineness)


def plan_mesh(columns: Columns, sizes: Sequence[SizeWishes]) -> SectionMesh:
    """Triangles of a plan; arcs are divided further where that rids the mesh of slivers.

    Parameters
    ----------
    columns : Columns
    sizes : sequence of SizeWishes

    Raises
    ------
    RuntimeError
        If the mesher fails.
    """
    tried: list[tuple[float, SectionMesh]] = []
    failed: RuntimeError | None = None
    for more in FINER_ARCS:
        try:
            mesh = rounded(
                mesh_outline(columns.outline, wishes=sizes, roundness=ROUGHLY_ROUND * more),
                columns.outline,
            )
        except RuntimeError as error:
            failed = error
            continue
        tried.append((float(flatness(mesh).min()), mesh))
        if tried[-1][0] > FLATTEST:
            return mesh
    if not tried:
        assert failed is not None
        raise failed
    best = max(flat for flat, _ in tried)
    return next(mesh for flat, mesh in tried if flat >= min(best, NO_BETTER * best))


def plan_sizes(columns: Columns, fineness: Fineness) -> list[SizeWishes]:
    """Element sizes of a setting along the edges of a plan.

    Parameters
    ----------
    columns : Columns
    fineness : Fineness
    """
    plan, block, off = columns.plan, columns.plan.block, columns.plan.off_bank
    half = block.bore / 2
    ring = half * np.exp(1j * np.linspace(0, math.tau, math.ceil(math.tau * half / 2), False))
    walls = [np.zeros(0, dtype=complex)]
    for relief, centre in zip(plan.reliefs, plan.relief_at, strict=True):
        if relief.axis == 0:
            radius = relief.feature.diameter / 2
            turn = np.exp(1j * np.linspace(0, math.tau, math.ceil(math.tau * radius), False))
            z = centre + radius * turn
            inside = (np.abs(z) > half) & (off(z) < block.outside_radius)
            walls.append(z[inside & ~plan.water(z)])
    arcs = [curve for curve in columns.outline.pieces if curve.bulge and curve.radius < half / 2]
    every = np.array([curve.point(0.5) for curve in arcs], dtype=complex)
    own = np.abs(every) <= plan.from_axis(every) + 1e-9
    middle, radius = every[own], np.array([curve.radius for curve in arcs])[own]
    outer = np.abs(middle) > block.barrel_radius + block.jacket / 3
    round_arc = math.tau * radius / fineness.roundness * np.where(outer, OUTER, 1.0)
    wall = np.concatenate(walls)
    left = np.where(plan.in_barrel(wall), np.abs(wall) - half, block.outside_radius - off(wall))
    least = np.clip(fineness.thin_wall * left, fineness.wall / 2, fineness.wall)
    across = np.clip(ACROSS_WALL * left, least, THICK_WALL * fineness.wall)
    others = np.concatenate([wall[:0], *(ring + axis for axis in columns.ends)])
    foot, of_foot = _feet(columns)
    at_foot = np.clip(fineness.foot * of_foot, LEAST_FOOT * fineness.wall, fineness.wall)
    slots = _slot_ends(columns)
    between = np.abs(foot[:, None] - slots)
    at_slots = np.maximum(fineness.web * between.min(axis=0, initial=np.inf), LEAST_WEB)
    by_web = FOOT_OF_WEB * fineness.web * between.min(axis=1, initial=np.inf)
    at_foot = np.minimum(at_foot, np.maximum(by_web, LEAST_WEB))
    near = at_slots < fineness.wall
    wished = [
        SizeWishes(z, size, grading)
        for z, size, grading in (
            (ring, np.full(len(ring), fineness.ring), fineness.grading),
            (others, np.full(len(others), OTHER_RINGS * fineness.ring), fineness.grading),
            (wall, across, fineness.grading),
            (middle, np.maximum(round_arc, fineness.wall), FILLET_GRADING),
            (foot, at_foot, FOOT_GRADING),
            (slots[near], at_slots[near], WEB_GRADING),
        )
        if len(z)
    ]
    return [SizeWishes(np.zeros(1, dtype=complex), np.array([fineness.far]), 0.0), *wished]


def _feet(columns: Columns) -> tuple[NDArray[np.complex128], Floats]:
    """Where fillets of the firing bore's ties come into its walls, and their radii. [mm].

    Where no insert ends there into the barrel alone. Where one does, also where lines part the
    fillets just inside: there roots are pulled hardest.
    """
    block = columns.plan.block
    arcs = [one for one in columns.outline.pieces if one.bulge and "fillet" in one.tag.split("|")]
    z = np.array([end for one in arcs for end in (one.start, one.end)], dtype=complex)
    radius = np.array([one.radius for one in arcs for _ in range(2)])
    beside = np.zeros(len(z), dtype=bool)
    for tie in columns.plan.ties:
        if tie.axis == 0:
            away = z * np.conj(tie.ray)
            off = np.abs(away.imag) - tie.feature.width / 2
            beside |= (away.real > 0) & (off > radius / 2) & (off < radius + SAME)
    if columns.plan.section.insert is None:
        beside &= np.abs(z) < block.barrel_radius + block.jacket / 3
        beside[beside] = columns.from_walls(z[beside]) < SAME
    return z[beside], radius[beside]


def _slot_ends(columns: Columns) -> NDArray[np.complex128]:
    """Points along the ends of an insert's slots."""
    slots = [
        one
        for one in columns.outline.pieces
        if one.tag.startswith("slot") and one.bulge and one.radius < columns.plan.block.jacket
    ]
    return np.array([one.point(share) for one in slots for share in ALONG], dtype=complex)


def layered(columns: Columns, mesh: SectionMesh, fineness: Fineness) -> SolidMesh:
    """Prisms on a mesh of the plan.

    Parameters
    ----------
    columns : Columns
    mesh : SectionMesh
        Of their outline.
    fineness : Fineness
    """
    levels = levels_of(columns, mesh)
    depth, first = _split(columns, mesh, levels, fineness)
    parts, part = _occupied(levels, len(mesh.triangles), first)
    n, lines = len(mesh.points), 2 * len(depth) - 1
    z = np.empty((lines, n))
    z[::2] = -depth
    z[1::2] = (z[:-2:2] + z[2::2]) / 2
    triangle, layer = np.nonzero(part >= 0)
    at = mesh.triangles[triangle]
    below = (2 * layer[:, None] + 2) * n
    prisms = np.concatenate([below + at, below - n + at, below - 2 * n + at], axis=1)
    used, numbered = np.unique(prisms, return_inverse=True)
    plan, numbered = mesh.points[used % n], numbered.reshape(-1, 18)
    points, leans_to, leans_least = _leaning(
        columns, mesh, np.column_stack([plan, z.ravel()[used]]), used % n, numbered
    )
    number_of = np.full(lines * n, -1)
    number_of[used] = np.arange(len(used))
    sides, flats = named_faces(mesh, part, parts)
    return SolidMesh(
        points=points,
        prisms=numbered,
        part=part[triangle, layer],
        parts=parts,
        sides={name: number_of[faces] for name, faces in sides.items()},
        flats={name: number_of[faces] for name, faces in flats.items()},
        rims=number_of[sharp_rims(mesh, part, z)],
        rounding=columns.outline.rounding,
        plan=plan,
        leans_to=leans_to,
        leans_least=leans_least,
        coarseness=fineness.coarseness,
    )


def _leaning(
    columns: Columns, mesh: SectionMesh, points: Floats, column: Integers, prisms: Integers
) -> tuple[Floats, float, float]:
    """Nodes of prisms moved as walls with draft lean, how deep these do, and the least share of it.

    Where few prisms would be squeezed too much, walls lean less about those alone. Else all stand
    upright from higher up: a jacket that closes above its floor can't be meshed.
    """
    if not columns.plan.section.block.leans:
        return points, 0.0, 1.0
    lean = lean_of(columns, mesh)
    least = LEAST_LEFT * node_jacobians(points, prisms)
    floor = columns.plan.block.jacket_floor

    def moved(down_to: float, share: float | Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Nodes moved by a share of their lean, and which prisms are squeezed by it."""
        by = share * lean.moved(-points[:, 2], column, down_to)
        at = points + np.stack([by.real, by.imag, 0 * by.real], axis=1)
        return at, np.asarray((node_jacobians(at, prisms) <= least).any(axis=1))

    at, squeezed = moved(floor, 1.0)
    away, held = np.full(len(column), np.inf), 1.0
    for turn, share in enumerate(HELD_BACK, 1):
        if not squeezed.any():
            return at, floor, held
        if squeezed.mean() > FEW:
            break
        where = mesh.points[column[prisms[squeezed]]].mean(axis=1)
        away = np.minimum(away, cKDTree(where).query(mesh.points[column])[0])
        back, held = np.clip(away / (turn * HELD_WITHIN), 0.0, 1.0), share
        at, squeezed = moved(floor, share + (1 - share) * back**2 * (3 - 2 * back))
    for share in LEANS_BY:
        at, squeezed = moved(share * floor, 1.0)
        if not squeezed.any():
            return at, share * floor, 1.0
    return points, 0.0, 1.0


def _occupied(
    levels: Levels, triangles: int, first: Integers
) -> tuple[tuple[str, ...], NDArray[np.int64]]:
    """Names of parts, and the part of each triangle in each layer, -1 for none."""
    parts = tuple(sorted({part for part, *_ in levels.slabs}))
    part = np.full((triangles, int(first[-1])), -1)
    layer = np.arange(int(first[-1]))
    for name, own, top, bottom in levels.slabs:
        inside = (layer >= first[top][:, None]) & (layer < first[bottom][:, None])
        part[own] = np.where(inside, parts.index(name), part[own])
    return parts, part


def _split(
    columns: Columns, mesh: SectionMesh, levels: Levels, fineness: Fineness
) -> tuple[Floats, Integers]:
    """Depths of all lines between layers (lines, n), and the line that each level is."""
    fine = _places(columns)
    near = _near_cuts(columns, mesh)
    rows, first = [levels.depth[:1]], [0]
    for (upper, lower), usual_ends in zip(
        pairwise(levels.depth), pairwise(levels.usual), strict=True
    ):
        start, end = _typical(upper[near], lower[near], 0.9)
        passed = _layers_down(start, end, fine, fineness)
        usual = _layers_down(*_typical(upper, lower, 0.5), fine, fineness)
        wished = NEAR_CUTS * passed[-1] + (1 - NEAR_CUTS) * min(usual[-1], passed[-1])
        least = _least_at_roots(columns.plan, *usual_ends, fineness.root)
        count = max(1, least, math.ceil(wished - SPARED))
        ends = np.linspace(0.0, passed[-1], count + 1)[1:]
        share = np.interp(ends, passed, np.linspace(0.0, 1.0, len(passed)))
        rows.append(upper + share[:, None] * (lower - upper))
        first.append(first[-1] + count)
    return np.concatenate(rows), np.array(first)


def _least_at_roots(plan: Plan, upper: float, lower: float, tallest: float) -> int:
    """Least number of layers between two levels by their usual depths, for roots of ties there.

    At the walls the fillet under the tie makes them higher. Zones make levels of
    their own.
    """
    insert = plan.section.insert
    below = [tie.feature.depth for tie in plan.ties if tie.axis == 0]
    if insert is None or insert.zones or abs(insert.depth - upper) > SAME or lower not in below:
        return 0
    return math.ceil((lower - upper + plan.block.underside_radius) / tallest)


def _typical(upper: Floats, lower: Floats, share: float) -> tuple[float, float]:
    """Depths of two levels where they are as far apart as at a share of the nodes."""
    gap = lower - upper
    k = int(np.argmin(np.abs(gap - np.quantile(gap, share))))
    return float(upper[k]), float(lower[k])


def _places(columns: Columns) -> Floats:
    """Depths at which layers are thin: where stress has its peaks. [mm]."""
    plan = columns.plan
    found = {0.0, *(relief.feature.depth for relief in plan.reliefs if relief.axis == 0)}
    found |= {tie.feature.depth for tie in plan.ties if tie.axis == 0}
    insert = plan.section.insert
    if insert is not None:
        found |= {insert.depth, *(zone.depth for zone in insert.zones)}
    return np.array(sorted(found))


def _near_cuts(columns: Columns, mesh: SectionMesh) -> Integers:
    """Nodes of the plan on the walls of relief cuts of the bore that fires; all where none is."""
    plan, z = columns.plan, mesh.points @ [1, 1j]
    near = np.zeros(len(z), dtype=bool)
    for relief, centre in zip(plan.reliefs, plan.relief_at, strict=True):
        if relief.axis == 0:
            near |= np.abs(np.abs(z - centre) - relief.feature.diameter / 2) < 1e-6
    return np.flatnonzero(near) if near.any() else np.arange(len(z))


def _layers_down(start: float, end: float, fine: Floats, fineness: Fineness) -> Floats:
    """Layers as high as wished for, counted on the way from one depth to another in equal steps."""
    at = np.linspace(start, end, 65)
    away = np.abs(at[:, None] - fine).min(axis=1)
    beyond = np.maximum(at - fine.max(), 0.0)
    size = np.minimum(fineness.thin + fineness.growth * away, fineness.thick)
    size = np.where(beyond > 0, fineness.thin + fineness.below * beyond, size)
    counted = np.cumsum((1 / size[1:] + 1 / size[:-1]) / 2 * np.diff(at))
    return np.concatenate([[0.0], counted])

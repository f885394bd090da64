"""Walls that lean: where nodes of the plan move to, depth by depth, in a jacket with draft.

The plan is drawn with walls as thick as at one depth. At another, each face as cast lies further
into the water or back by the depths' difference times tan(draft), or by the taper that was read on
a barrel: barrels and outer wall along their radius, ties along their width. A fillet goes along
whole, as far as the two faces it joins take it. What is cut stays upright: relief cuts, slots,
registers. So do the bore and the outside.
Nodes in between follow smoothly, along faces as well: as a harmonic map of the plan, whose linear
triangles are four to each of the mesh. Walls lean down to the jacket's floor, metal below it stands
as it does there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from geometry import planar
from geometry.plan import Plan, around_bank, barrel_curves
from geometry.planar import Curve
from geometry.section_mesh import SectionMesh
from geometry.solid.columns import Columns
from geometry.solid.levels import stiffness

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Points = NDArray[np.complex128]

ON_FACE = 1e-5
"""A node this near to a face stands on it. [mm]."""

ALONG = 0.3
"""Sine of the angle between two faces; of faces that meet at less, the one as cast has its way."""

STRAIGHT = ("bore", "other bores", "liner")
"""Edges of the plan whose nodes stay where they are."""

_Asked = tuple[complex, float, float]
"""Unit vector across a face, and how far the face is from the deck's: as drawn [mm], and by depth
[mm/mm]."""


@dataclass(frozen=True, eq=False, slots=True)
class Lean:
    """How far nodes of a plan move with depth.

    Attributes
    ----------
    drawn : ndarray of complex, shape (n,)
        How far they are drawn from where they are at the deck. [mm]
    stretches : tuple of float and ndarray, shape (n,)
        From a depth [mm] down to that of the next, how far they move. [mm/mm]
    """

    drawn: Points
    stretches: tuple[tuple[float, Points], ...]

    def moved(self, depth: Floats, column: Integers, down_to: float) -> Points:
        """How far nodes (k,) of columns have moved at their depths, leaning down to one. [mm]."""
        depth = np.minimum(depth, down_to)
        way = -self.drawn[column]
        ends = [*(start for start, _ in self.stretches[1:]), math.inf]
        for (start, by_depth), end in zip(self.stretches, ends, strict=True):
            way += (np.clip(depth, start, end) - start) * by_depth[column]
        return way


@dataclass(frozen=True, slots=True)
class _Face:
    """A face as cast, drawn as it is at a depth; which way is the water is asked of it."""

    curves: tuple[Curve, ...]
    axis: complex  # of what its radius is about, or a unit vector into the water
    kind: str  # "barrel", "outer" or "tie"
    drawn: float  # how far into the water of where it is at the deck [mm]
    slope: float  # how far it goes with depth [mm/mm]
    depth: float = math.inf  # down to which it reaches [mm]
    above: float = 0.0  # from which on it does [mm]

    def into_water(self, z: Points, plan: Plan) -> Points:
        """Unit vectors at points of it."""
        if self.kind == "tie":
            return np.full(z.shape, self.axis)
        axes = plan.block.axes
        ray = z - (self.axis if self.kind == "barrel" else np.clip(z.real, axes[0], axes[-1]))
        return np.asarray(ray / np.abs(ray) * (1 if self.kind == "barrel" else -1))


@dataclass(frozen=True, slots=True)
class _Carrier:
    """An arc that goes along whole with the faces at its ends, and the curves it takes with it."""

    arc: Curve
    takes: Sequence[Curve]
    depth: float  # down to which it reaches [mm]


@dataclass(frozen=True, slots=True)
class _Edge:
    """An edge of the plan that stays upright: its nodes may move along it."""

    name: str
    depth: float = math.inf  # down to which it reaches [mm]


_Feature = _Face | _Carrier | _Edge


def lean_of(columns: Columns, mesh: SectionMesh) -> Lean:
    """How the nodes of a plan lean with the draft of its block.

    Parameters
    ----------
    columns : Columns
        Of a block with draft.
    mesh : SectionMesh
        Of their outline.
    """
    plan = columns.plan
    features: list[_Feature] = [*_faces(plan), *_carriers(plan), *_edges(plan)]
    starts = sorted({0.0, *(one.depth for one in features if one.depth < math.inf)})
    found = [(start, *_ways(mesh, plan, list(_at(features, start)))) for start in starts]
    return Lean(found[0][1], tuple((start, by_depth) for start, _, by_depth in found))


def _at(features: Sequence[_Feature], start: float) -> Iterator[_Feature]:
    """Those that there are right below a depth."""
    for one in features:
        if one.depth > start and not (isinstance(one, _Face) and one.above > start):
            yield one


def _ways(mesh: SectionMesh, plan: Plan, features: Sequence[_Feature]) -> tuple[Points, Points]:
    """Ways of all nodes as drawn and by depth, with some features."""
    faces = [one for one in features if isinstance(one, _Face)]
    z: Points = mesh.points @ np.array([1, 1j])
    wanted: dict[int, list[_Asked]] = {}
    given: dict[int, tuple[complex, complex]] = {}
    edges = np.concatenate(list(mesh.edges.values()))
    for face in faces:
        on = _nodes_on(face.curves, z, edges)
        for node, way in zip(on.tolist(), face.into_water(z[on], plan).tolist(), strict=True):
            wanted.setdefault(node, []).append((way, face.drawn, face.slope))
    for edge in (one for one in features if isinstance(one, _Edge)):
        for node, way in _normals(z, mesh.edges.get(edge.name, np.zeros((0, 3), dtype=np.int64))):
            own = wanted.setdefault(node, [])
            if all(abs((way.conjugate() * other).imag) > ALONG for other, *_ in own):
                own.append((way, 0.0, 0.0))
    for node, own in wanted.items():
        if len(own) > 1:
            given[node] = _met(own)
    for one in (one for one in features if isinstance(one, _Carrier)):
        on = _nodes_on(one.takes, z, edges)
        given |= dict.fromkeys(on.tolist(), _carried(one.arc, faces, plan))
    for name in STRAIGHT:
        given |= dict.fromkeys(np.unique(mesh.edges.get(name, [])).astype(int).tolist(), (0j, 0j))
    slides = {node: own[0] for node, own in wanted.items() if node not in given}
    return _spread(mesh, given, slides)


def _faces(plan: Plan) -> Iterator[_Face]:
    block, mean, insert = plan.block, plan.section.mean_at(), plan.section.insert
    cast = plan.section.block
    slope = cast.draft_slope
    drawn = mean * slope
    for bore, axis in enumerate(block.axes):
        barrel, lean = tuple(barrel_curves(block, bore)), cast.lean(bore + 1)
        yield _Face(barrel, axis, "barrel", lean.by(mean), lean.slope, lean.down_to)
        if lean.down_to < math.inf:
            yield _Face(barrel, axis, "barrel", 0.0, lean.below, above=lean.down_to)
        if insert is not None and insert.width is not None and insert.register is None:
            reach = planar.circle(axis, block.barrel_radius + insert.width, "")
            yield _Face(tuple(reach), axis, "barrel", drawn, slope, insert.lowest)
    yield _Face(tuple(around_bank(block, block.jacket_radius, "")), 0j, "outer", drawn, slope)
    far, root = 2 * block.outside_radius, block.barrel_radius - block.barrel_wall / 2
    for tie in plan.ties:
        for side in (-1j, 1j):
            foot = tie.axis + tie.ray * (root + side * tie.feature.width / 2)
            line = planar.line(foot, foot + far * tie.ray, "")
            drawn = plan.section.mean_at(tie.feature) * slope
            yield _Face((line,), side * tie.ray, "tie", drawn, slope, _underside(plan))


def _carriers(plan: Plan) -> Iterator[_Carrier]:
    for fillet in plan.fillets:
        of_tie = "tie" in fillet.before + fillet.after
        yield _Carrier(fillet.arc, [fillet.arc], _underside(plan) if of_tie else math.inf)
    register = plan.section.insert.register if plan.section.insert else None
    for fillet in plan.register_fillets:
        assert register is not None
        yield _Carrier(fillet.arc, [fillet.arc], register.depth)
    for edge, off, depth in plan.dressed:
        yield _Carrier(edge, off.curves, depth)


def _edges(plan: Plan) -> Iterator[_Edge]:
    insert = plan.section.insert
    yield from (_Edge("cut"), _Edge("outside"))
    if plan.reliefs:
        yield _Edge("relief", max(cut.feature.depth for cut in plan.reliefs))
    if insert is not None:
        yield _Edge("slot", insert.lowest)
        if insert.register is not None:
            yield _Edge("register", insert.register.depth)


def _underside(plan: Plan) -> float:
    """Depth down to which ties and their fillets reach. [mm]."""
    return max(tie.feature.depth for tie in plan.ties) + plan.block.underside_radius


def _carried(arc: Curve, faces: Sequence[_Face], plan: Plan) -> tuple[complex, complex]:
    """How far the faces at its ends take an arc, as drawn and by depth."""
    ends = []
    for share in (0.0, 1.0):
        at, along = np.array([arc.point(share)]), arc.direction(share)
        for face in faces:
            way = complex(face.into_water(at, plan)[0])
            if _off(face.curves, at)[0] < ON_FACE and abs((way.conjugate() * along).real) < ALONG:
                ends.append((way, face.drawn, face.slope))
                break
        else:
            ends.append((1j * along, 0.0, 0.0))
    return _met(ends)


def _met(own: Sequence[_Asked]) -> tuple[complex, complex]:
    """The way, as drawn and by depth, that takes a point as far across some faces as they ask."""
    ways, *asked = (np.array(of) for of in zip(*own, strict=True))
    rows = np.stack([ways.real, ways.imag], axis=1)
    x, y = np.linalg.lstsq(rows, np.stack(asked, axis=1), rcond=ALONG / 2)[0]
    drawn, by_depth = (x + 1j * y).tolist()
    return drawn, by_depth


def _off(curves: Sequence[Curve], z: Points) -> Floats:
    """Distance of points (n,) from the nearest of some curves. [mm]."""
    found = np.full(z.shape, np.inf)
    for curve in curves:
        along = planar.Curves.of([curve] * len(z))
        feet = along.points(along.share(z).clip(0.0, 1.0))
        found = np.minimum(found, np.abs(feet - z))
    return found


def _nodes_on(curves: Sequence[Curve], z: Points, edges: Integers) -> Integers:
    """Nodes of edges (k, 3) on some curves: with both ends of an edge its middle, bent or not."""
    nodes, place = np.unique(edges[:, :2], return_inverse=True)
    on = _off(curves, z[nodes]) < ON_FACE
    middles = edges[on[place.reshape(-1, 2)].all(axis=1), 2]
    return np.concatenate([nodes[on], middles])


def _normals(z: Points, edges: Integers) -> Iterator[tuple[int, complex]]:
    """Nodes of edges (k, 3), each with a unit vector across its edge there."""
    first, last, middle = z[edges].T
    along = (4 * middle - 3 * first - last, 3 * last + first - 4 * middle, last - first)
    for nodes, way in zip(edges.T, along, strict=True):
        yield from zip(nodes.tolist(), (1j * way / np.abs(way)).tolist(), strict=True)


def _spread(
    mesh: SectionMesh,
    given: dict[int, tuple[complex, complex]],
    slides: dict[int, _Asked],
) -> tuple[Points, Points]:
    """Ways of all nodes, as drawn and by depth: given ones, those across a face, smooth between."""
    n = len(mesh.points)
    stiff, _ = stiffness(mesh)
    both = sparse.block_diag([stiff, stiff]).tocsr()
    held, at = np.zeros((n, 2), dtype=complex), np.array(list(given), dtype=np.int64)
    held[at] = list(given.values())
    slide = np.array(list(slides), dtype=np.int64)
    normal, *asked = (np.array(of) for of in zip(*slides.values(), strict=True))
    held[slide] = normal[:, None] * np.stack(asked, axis=1)
    free = np.ones(n, dtype=bool)
    free[at] = free[slide] = False
    free = np.flatnonzero(free)
    # unknowns: both components of free nodes, then the way of sliding ones along their face
    count, along = len(free), 1j * normal
    rows = np.concatenate([free, n + free, slide, n + slide])
    last = 2 * count + np.arange(len(slide))
    cols = np.concatenate([np.arange(2 * count), last, last])
    values = np.concatenate([np.ones(2 * count), along.real, along.imag])
    ways = sparse.csr_array((values, (rows, cols)), shape=(2 * n, 2 * count + len(slide)))
    start = np.concatenate([held.real, held.imag])
    factor = splu((ways.T @ both @ ways).tocsc())
    found = start + ways @ factor.solve(-(ways.T @ (both @ start)))
    as_drawn, by_depth = (found[:n] + 1j * found[n:]).T
    return as_drawn, by_depth

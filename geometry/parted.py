"""A part cut loose from the rest of a mesh: a body of its own, node beside node along the joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.rounding import Rounding
from geometry.section_mesh import (
    TRIANGLE_SIDES,
    Corner,
    Layer,
    SectionMesh,
    bodies_of,
    common_depth,
)

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

AT_NODE = 1e-6
"""Distance within which a corner is at a node. [mm]."""
REFLEX = 200.0
"""Angle of metal beyond which a corner of a part is sharp; a coarse mesh of an arc stays below.
[deg]."""


@dataclass(frozen=True, eq=False, slots=True)
class Joint:
    """Where a part of its own touches the rest: sides of two bodies that lie on one another.

    Attributes
    ----------
    part : str
        The part on its own.
    own, other : ndarray, shape (k, 3)
        First end, second end and mid-side node of each side, the part's metal on the left; the
        same places in the part and in the rest.
    against : ndarray of str, shape (k,)
        Part of the rest on the other side.
    depth : ndarray, shape (k, 3)
        Depth over which both touch, at the three nodes. [mm]
    gap : ndarray, shape (k, 3)
        At which the part as it is cut stands off before it is fitted, at the three nodes; not
        counted at a mid-side node that the mesh has off its arc. [mm]
    """

    part: str
    own: Integers
    other: Integers
    against: NDArray[np.str_]
    depth: Floats
    gap: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Parted:
    """A mesh with a part as a body, or bodies, of its own.

    Attributes
    ----------
    mesh : SectionMesh
        Along the joint, and where both lie over one another in plan, the part has nodes and
        triangles of its own. A named edge holds the sides of both bodies. Its corners are those of
        the whole, and where the part reaches around an edge of the rest.
    joints : tuple of Joint
        One of each part that was cut loose, in that order.
    origin : ndarray, shape (n,)
        Node of the whole mesh that each node comes from.
    """

    mesh: SectionMesh
    joints: tuple[Joint, ...]
    origin: Integers

    @property
    def joint(self) -> Joint:
        """Of the part that was cut loose first."""
        return self.joints[0]


def part_off(mesh: SectionMesh, part: str) -> Parted:
    """Cut a part loose from the rest.

    Sides touch where the depths of the part and of the metal beside it overlap. The part and
    metal below it touch nowhere. A part whose edges are rounded (:mod:`geometry.rounding`) stands
    off there, and touches less deep by the break of its underside.

    Parameters
    ----------
    mesh : SectionMesh
    part : str

    Returns
    -------
    Parted

    Raises
    ------
    ValueError
        If no layer is of this part.
    """
    layers_own = [tuple(layer for layer in row if layer.part == part) for row in mesh.regions]
    layers_rest = [tuple(layer for layer in row if layer.part != part) for row in mesh.regions]
    own, rest = (
        np.flatnonzero(np.array([bool(row) for row in layers])[mesh.region])
        for layers in (layers_own, layers_rest)
    )
    if not len(own):
        raise ValueError(f"no layer of the mesh is of the part {part}.")
    regions: dict[tuple[Layer, ...], int] = {}
    rest_number, own_number = (
        np.array([regions.setdefault(row, len(regions)) if row else -1 for row in layers])
        for layers in (layers_rest, layers_own)
    )
    copies = _Copies.of(mesh.triangles[rest], mesh.triangles[own], len(mesh.points))
    points = mesh.points[copies.origin]
    parted = replace(
        mesh,
        points=points,
        triangles=copies.triangles,
        region=np.concatenate([rest_number[mesh.region[rest]], own_number[mesh.region[own]]]),
        regions=tuple(regions),
        edges={
            name: np.concatenate([copies.in_rest(sides), copies.in_own(sides)])
            for name, sides in mesh.edges.items()
        },
        corners=(*mesh.corners, *_reaching_around(points, copies.triangles[len(rest) :])),
    )
    rounding = mesh.rounding
    if rounding is None or rounding.part != part:
        rounding = Rounding(part)
    touching = _touching(mesh, own, layers_own, layers_rest, rounding.edge_break)
    sides, depth, against = touching
    own_sides = copies.in_own(sides)
    gap = _standing_off(points, own_sides, rounding)
    joint = Joint(part, own_sides, copies.in_rest(sides), against, depth, gap)
    return Parted(parted, (joint,), copies.origin)


def parts_off(mesh: SectionMesh, parts: Sequence[str]) -> Parted:
    """Cut parts loose one after the other, each from what is left of the rest.

    Parameters
    ----------
    mesh : SectionMesh
    parts : sequence of str
        One at least.

    Returns
    -------
    Parted

    Raises
    ------
    ValueError
        If no layer is of one of these parts.
    """
    parted = part_off(mesh, parts[0])
    for part in parts[1:]:
        cut = part_off(parted.mesh, part)
        earlier = tuple(carried(joint, cut) for joint in parted.joints)
        parted = Parted(cut.mesh, (*earlier, cut.joint), parted.origin[cut.origin])
    return parted


def _standing_off(points: Floats, sides: Integers, rounding: Rounding) -> Floats:
    """Gap of a rounded part at the nodes (k, 3) of the sides of its joint. [mm]."""
    z = points[:, 0] + 1j * points[:, 1]
    nodes = np.unique(sides)
    gap = np.zeros(len(points))
    edges = z[ends_and_turns(z, sides)]
    gap[nodes] = np.maximum(rounding.corner_gap(z[nodes]), rounding.edge_gap(z[nodes], edges))
    return gap[sides]


def ends_and_turns(z: NDArray[np.complex128], sides: Integers) -> Integers:
    """Nodes where sides in a row end, or where the next goes off at an angle.

    Parameters
    ----------
    z : ndarray, shape (n,)
        Nodes. [mm]
    sides : ndarray, shape (k, 3)
        First end, second end and mid-side node.
    """
    first, second, middle = sides.T
    out, into = 4 * z[middle] - 3 * z[first] - z[second], 3 * z[second] + z[first] - 4 * z[middle]
    leaving, coming = np.zeros(len(z), dtype=complex), np.zeros(len(z), dtype=complex)
    leaving[first], coming[second] = out, into
    ends = (leaving == 0) != (coming == 0)
    turn = np.degrees(np.angle(leaving * coming.conj()))
    return np.flatnonzero(ends | (np.abs(turn) > REFLEX - 180))


def without(mesh: SectionMesh, part: str) -> SectionMesh:
    """A mesh with a part taken out: what is left of its triangles, edges and corners.

    Parameters
    ----------
    mesh : SectionMesh
    part : str
    """
    layers_rest = [tuple(layer for layer in row if layer.part != part) for row in mesh.regions]
    regions: dict[tuple[Layer, ...], int] = {}
    number = np.array([regions.setdefault(row, len(regions)) if row else -1 for row in layers_rest])
    kept = np.flatnonzero(number[mesh.region] >= 0)
    nodes, triangles = np.unique(mesh.triangles[kept], return_inverse=True)
    there = np.zeros(len(mesh.points), dtype=bool)
    there[nodes] = True
    at = mesh.points[nodes]
    return replace(
        mesh,
        points=at,
        triangles=triangles.reshape(-1, 6),
        region=number[mesh.region[kept]],
        regions=tuple(regions),
        edges={
            name: np.searchsorted(nodes, sides[there[sides[:, 2]]])
            for name, sides in mesh.edges.items()
        },
        corners=tuple(
            corner
            for corner in mesh.corners
            if np.hypot(at[:, 0] - corner.x, at[:, 1] - corner.y).min() < AT_NODE
        ),
    )


@dataclass(frozen=True, eq=False, slots=True)
class _Copies:
    """Nodes for two sets of triangles that share none: one for each body that uses a place."""

    keys: Integers  # (k,) of each copy: body times number of places, plus its place; rising
    places: int
    triangles: Integers  # (m, 6) in copies, those of the rest first
    body_in_rest: Integers  # (places,) body that has the mid-side node there, -1 where none has
    body_in_own: Integers

    @classmethod
    def of(cls, rest: Integers, own: Integers, places: int) -> _Copies:
        bodies = bodies_of(rest, places)
        bodies_own = bodies.max(initial=-1) + 1 + bodies_of(own, places)
        whole = np.concatenate([bodies, bodies_own])[:, None] * places + np.concatenate([rest, own])
        keys, triangles = np.unique(whole, return_inverse=True)
        at_middle = np.full((2, places), -1)
        at_middle[0, rest[:, 3:]] = bodies[:, None]
        at_middle[1, own[:, 3:]] = bodies_own[:, None]
        return cls(keys, places, triangles.reshape(-1, 6), *at_middle)

    @property
    def origin(self) -> Integers:
        """Place of each copy."""
        return self.keys % self.places

    def in_rest(self, sides: Integers) -> Integers:
        """Sides (ends, mid-side node) of the whole as the rest has them, less those it has not."""
        return self._copied(sides, self.body_in_rest)

    def in_own(self, sides: Integers) -> Integers:
        """The same of the part's own."""
        return self._copied(sides, self.body_in_own)

    def _copied(self, sides: Integers, body: Integers) -> Integers:
        there = sides[body[sides[:, 2]] >= 0]
        return np.searchsorted(self.keys, body[there[:, 2]][:, None] * self.places + there)


def _touching(
    mesh: SectionMesh,
    own: Integers,
    layers_own: Sequence[Sequence[Layer]],
    layers_rest: Sequence[Sequence[Layer]],
    edge_break: float,
) -> tuple[Integers, Floats, NDArray[np.str_]]:
    """Sides of a part's triangles where it touches the rest, how deep, and which part of it.

    Parameters
    ----------
    mesh : SectionMesh
        The whole.
    own : ndarray of int, shape (k,)
        Triangles with a layer of the part.
    layers_own, layers_rest : sequences, one entry a region
        Layers of the part and all others.
    edge_break : float
        Of the part's underside. [mm]

    Returns
    -------
    sides : ndarray of int, shape (s, 3)
        Ends and mid-side node, the part on the left.
    depth : ndarray, shape (s, 3)
        [mm]
    against : ndarray of str, shape (s,)
    """
    sides, owners, neighbours = _borders(mesh, own)
    depth, against = np.zeros(sides.shape), np.full(len(sides), "", dtype=object)
    pairs = mesh.region[owners] * len(mesh.regions) + mesh.region[neighbours]
    for pair in np.unique(pairs):
        here = np.flatnonzero(pairs == pair)
        one, other = divmod(int(pair), len(mesh.regions))
        depth[here], against[here] = _overlap(
            layers_own[one], layers_rest[other], mesh.points[sides[here]], edge_break
        )
    touching = (depth > 0).all(axis=1)
    return sides[touching], depth[touching], against[touching].astype(str)


def _borders(mesh: SectionMesh, own: Integers) -> tuple[Integers, Integers, Integers]:
    """Sides of some triangles beyond which another triangle is none of them, with both."""
    m, n = len(mesh.triangles), len(mesh.points)
    middle = mesh.triangles[:, 3:].ravel()
    uses = np.bincount(middle, minlength=n)
    both = np.bincount(middle, np.arange(m).repeat(3), minlength=n).astype(np.int64)
    sides, owners = mesh.triangles[own][:, TRIANGLE_SIDES].reshape(-1, 3), own.repeat(3)
    neighbours = np.where(uses[sides[:, 2]] == 2, both[sides[:, 2]] - owners, owners)
    is_own = np.zeros(m, dtype=bool)
    is_own[own] = True
    border = ~is_own[neighbours]
    return sides[border], owners[border], neighbours[border]


def _reaching_around(points: Floats, triangles: Integers) -> list[Corner]:
    """Corners of a body around which its metal fills more than a straight angle."""
    z, angle = points @ [1, 1j], np.zeros(len(points))
    for here, one, middle, other, far in ((0, 1, 3, 2, 5), (1, 2, 4, 0, 3), (2, 0, 5, 1, 4)):
        at = triangles.T
        out, back = (
            4 * z[at[mid]] - 3 * z[at[here]] - z[at[end]]
            for end, mid in ((one, middle), (other, far))
        )
        np.add.at(angle, at[here], np.degrees(np.angle(back / out)))
    sharp = np.flatnonzero((angle > REFLEX) & (angle < 359))
    return [Corner(float(z[node].real), float(z[node].imag), float(angle[node])) for node in sharp]


def carried(joint: Joint, parted: Parted) -> Joint:
    """A joint of a mesh in the numbers of what a further cut made of that mesh.

    Parameters
    ----------
    joint : Joint
        From an earlier cut.
    parted : Parted
        The mesh of that cut with another part cut loose.

    Returns
    -------
    Joint
    """
    triangles = parted.mesh.triangles
    owner = np.full(int(parted.origin.max()) + 1, -1)  # of a side, by its mid-side node before
    owner[parted.origin[triangles[:, 3:]]] = np.arange(len(triangles))[:, None]

    def renumbered(sides: Integers) -> Integers:
        nodes = triangles[owner[sides[:, 2]]]
        place = np.argmax(parted.origin[nodes][:, None] == sides[:, :, None], axis=2)
        return np.take_along_axis(nodes, place, axis=1)

    return replace(joint, own=renumbered(joint.own), other=renumbered(joint.other))


def _overlap(
    own: Sequence[Layer], rest: Sequence[Layer], points: Floats, edge_break: float
) -> tuple[Floats, str]:
    """Common depth of layers at points (k, 3, 2), and the part of the rest that has most of it."""
    x, y = points[..., 0], points[..., 1]
    best, part = np.zeros(x.shape), ""
    for layer in own:
        for beside in rest:
            common = common_depth(layer, beside, x, y, edge_break)
            if common.sum() > best.sum():
                best, part = common, beside.part
    return best, part

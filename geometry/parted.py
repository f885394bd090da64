"""A part cut loose from the rest of a mesh: a body of its own, node beside node along the joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.section_mesh import SIDES, Corner, Layer, SectionMesh, bodies_of, common_depth

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

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
    """

    part: str
    own: Integers
    other: Integers
    against: NDArray[np.str_]
    depth: Floats


@dataclass(frozen=True, eq=False, slots=True)
class Parted:
    """A mesh with a part as a body, or bodies, of its own.

    Attributes
    ----------
    mesh : SectionMesh
        Along the joint, and where both lie over one another in plan, the part has nodes and
        triangles of its own. A named edge holds the sides of both bodies. Its corners are those of
        the whole, and where the part reaches around an edge of the rest.
    joint : Joint
    origin : ndarray, shape (n,)
        Node of the whole mesh that each node comes from.
    """

    mesh: SectionMesh
    joint: Joint
    origin: Integers


def part_off(mesh: SectionMesh, part: str) -> Parted:
    """Cut a part loose from the rest.

    Sides touch where the depths of the part and of the metal beside it overlap. The part and
    metal below it touch nowhere.

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
    n, m = len(mesh.points), len(mesh.triangles)
    layers_own = [tuple(layer for layer in row if layer.part == part) for row in mesh.regions]
    layers_rest = [tuple(layer for layer in row if layer.part != part) for row in mesh.regions]
    has_own, has_rest = (np.array([bool(row) for row in r]) for r in (layers_own, layers_rest))
    own, rest = (np.flatnonzero(has[mesh.region]) for has in (has_own, has_rest))
    if not len(own):
        raise ValueError(f"no layer of the mesh is of the part {part}.")

    regions: dict[tuple[Layer, ...], int] = {}
    rest_number, own_number = (
        np.array([regions.setdefault(row, len(regions)) if row else -1 for row in layers])
        for layers in (layers_rest, layers_own)
    )
    rows = np.concatenate([rest, own])
    region = np.concatenate([rest_number[mesh.region[rest]], own_number[mesh.region[own]]])
    triangles = mesh.triangles[rows]
    body = np.concatenate(
        [bodies := bodies_of(triangles[: len(rest)], n), bodies.max(initial=-1) + 1
         + bodies_of(triangles[len(rest) :], n)]
    )  # fmt: skip
    copies, packed = np.unique(body[:, None] * n + triangles, return_inverse=True)
    packed = packed.reshape(-1, 6)
    origin = copies % n

    of_rest, of_own = np.full(n, -1), np.full(n, -1)  # a copied triangle at each mid-side node
    of_rest[triangles[: len(rest), 3:]] = np.arange(len(rest))[:, None]
    of_own[triangles[len(rest) :, 3:]] = np.arange(len(rest), len(rows))[:, None]

    def copied(sides: Integers, owner: Integers) -> Integers:
        there = sides[owner[sides[:, 2]] >= 0]
        keys = body[owner[there[:, 2]]][:, None] * n + there
        return np.searchsorted(copies, keys)

    points = mesh.points[origin]
    parted = replace(
        mesh,
        points=points,
        triangles=packed,
        region=region,
        regions=tuple(regions),
        edges={
            name: np.concatenate([copied(sides, of_rest), copied(sides, of_own)])
            for name, sides in mesh.edges.items()
        },
        corners=(*mesh.corners, *_reaching_around(points, packed[len(rest) :])),
    )

    # sides of the part's triangles beyond which another triangle has none of it
    middle = mesh.triangles[:, 3:].ravel()
    uses = np.bincount(middle, minlength=n)
    both = np.bincount(middle, np.arange(m).repeat(3), minlength=n).astype(np.int64)
    sides, owners = mesh.triangles[own][:, SIDES].reshape(-1, 3), own.repeat(3)
    neighbour = np.where(uses[sides[:, 2]] == 2, both[sides[:, 2]] - owners, owners)
    edge = ~has_own[mesh.region[neighbour]]
    sides, owners, neighbour = sides[edge], owners[edge], neighbour[edge]
    depth, against = np.zeros(sides.shape), np.full(len(sides), "", dtype=object)
    pairs = mesh.region[owners] * len(mesh.regions) + mesh.region[neighbour]
    for pair in np.unique(pairs):
        here = np.flatnonzero(pairs == pair)
        one, other = divmod(int(pair), len(mesh.regions))
        depth[here], against[here] = _overlap(
            layers_own[one], layers_rest[other], mesh.points[sides[here]]
        )
    touching = (depth > 0).all(axis=1)
    sides = sides[touching]
    joint = Joint(
        part=part,
        own=copied(sides, of_own),
        other=copied(sides, of_rest),
        against=against[touching].astype(str),
        depth=depth[touching],
    )
    return Parted(parted, joint, origin)


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


def _overlap(own: Sequence[Layer], rest: Sequence[Layer], points: Floats) -> tuple[Floats, str]:
    """Common depth of layers at points (k, 3, 2), and the part of the rest that has most of it."""
    x, y = points[..., 0], points[..., 1]
    best, part = np.zeros(x.shape), ""
    for layer in own:
        for beside in rest:
            common = common_depth(layer, beside, x, y)
            if common.sum() > best.sum():
                best, part = common, beside.part
    return best, part

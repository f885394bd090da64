"""A part of a solid cut loose from the rest: node beside node along the joint."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

QUAD_CORNERS = np.array([0, 1, 6, 7])
"""Places in an upright face of nine nodes: first and second end below, then above."""
QUAD_MIDDLES = ((2, (0, 1)), (3, (0, 6)), (4, (1, 7)), (8, (6, 7)), (5, (0, 1, 6, 7)))
"""Its other nodes, each with the corners that it lies between."""
TRIANGLE_MIDDLES = ((3, (0, 1)), (4, (1, 2)), (5, (2, 0)))
"""The same of a face across, a triangle of six nodes."""


@dataclass(frozen=True, eq=False, slots=True)
class SolidJoint:
    """Where a part of its own touches the rest, node by node.

    A corner node of the faces belongs to the walls or to the faces across, whichever it has more
    of.

    Attributes
    ----------
    own, other : ndarray of int, shape (k,)
        Nodes of the part and of the rest at the same places: all those of the faces.
    normal : ndarray, shape (k, 3)
        Out of the part; 0 at nodes between corners.
    area : ndarray, shape (k,)
        Share of a corner node, functions linear from corner to corner; 0 at nodes between. [mm2]
    side : tuple of str, k long
        Against what of the rest; where two meet, that of the larger area.
    gap : ndarray, shape (k,)
        At which the part stands off before it is fitted. [mm]
    quads : ndarray of int, shape (f, 9)
        Upright faces of the part, in numbers of pairs, in the order of ``SolidMesh.sides``.
    triangles : ndarray of int, shape (g, 6)
        Faces across, in the order of ``SolidMesh.flats``.
    """

    own: Integers
    other: Integers
    normal: Floats
    area: Floats
    side: tuple[str, ...]
    gap: Floats
    quads: Integers
    triangles: Integers


def joint_of(
    points: Floats,
    quads: Integers,
    quad_sides: Sequence[str] | NDArray[np.str_],
    triangles: Integers,
    triangle_sides: Sequence[str] | NDArray[np.str_],
    other: Integers,
    gap: Floats | None = None,
) -> SolidJoint:
    """The joint along faces of a part.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [mm]
    quads : ndarray of int, shape (f, 9)
        Upright faces of the part, as in ``SolidMesh.sides``.
    quad_sides : sequence of str, f long
        Against what of the rest each of them is.
    triangles : ndarray of int, shape (g, 6)
        Its faces across, as in ``SolidMesh.flats``.
    triangle_sides : sequence of str, g long
    other : ndarray of int, shape (n,)
        Node of the rest at the place of each node of these faces; any number elsewhere.
    gap : ndarray, shape (n,), optional
        At which each node of these faces stands off; none if left out. [mm]
    """
    own, numbers = np.unique(
        np.concatenate([quads.ravel(), triangles.ravel()]), return_inverse=True
    )
    quads = numbers[: quads.size].reshape(-1, 9)
    triangles = numbers[quads.size :].reshape(-1, 6)
    places = points[own]
    names, of = np.unique([*quad_sides, *triangle_sides], return_inverse=True)
    vectors = np.zeros((2, len(own), 3))  # of walls, of faces across
    areas = np.zeros((2, len(own)))
    by_name = np.zeros((len(names), len(own)))
    for kind, (corners, parts, of_face) in enumerate(
        (
            (quads[:, QUAD_CORNERS], _quad_vectors(places[quads]), of[: len(quads)]),
            (triangles[:, :3], _triangle_vectors(places[triangles]), of[len(quads) :]),
        )
    ):
        size = np.linalg.norm(parts, axis=2)
        np.add.at(vectors[kind], corners, parts)
        np.add.at(areas[kind], corners, size)
        np.add.at(by_name, (np.broadcast_to(of_face[:, None], corners.shape), corners), size)
    across = areas[1] > areas[0]
    vector, area = np.where(across[:, None], vectors[1], vectors[0]), areas.max(axis=0)
    for middles, faces in ((QUAD_MIDDLES, quads), (TRIANGLE_MIDDLES, triangles)):
        for middle, ends in middles:
            by_name[:, faces[:, middle]] = by_name[:, faces[:, ends]].mean(axis=2)
    length = np.linalg.norm(vector, axis=1, keepdims=True)
    return SolidJoint(
        own,
        other[own],
        np.divide(vector, length, out=np.zeros_like(vector), where=length > 0),
        area,
        tuple(names[by_name.argmax(axis=0)].tolist()),
        np.zeros(len(own)) if gap is None else gap[own],
        quads,
        triangles,
    )


def together(joints: Mapping[str, SolidJoint]) -> SolidJoint:
    """Several joints as one, by the part that each cuts loose.

    Sides are named by both, :func:`side_of`. A part may lie on another that is cut loose as well.
    """
    start = np.cumsum([0, *(len(joint.own) for joint in joints.values())])[:-1]
    one, quads, triangles, sides = [], [], [], []
    for (part, joint), first in zip(joints.items(), start, strict=True):
        one.append((joint.own, joint.other, joint.normal, joint.area, joint.gap))
        quads.append(joint.quads + first)
        triangles.append(joint.triangles + first)
        sides += [side_of(part, side) for side in joint.side]
    own, other, normal, area, gap = (np.concatenate(of) for of in zip(*one, strict=True))
    return SolidJoint(
        own,
        other,
        normal,
        area,
        tuple(sides),
        gap,
        np.concatenate(quads),
        np.concatenate(triangles),
    )


def side_of(part: str, against: str) -> str:
    """Name of a side where several joints are one.

    Examples
    --------
    >>> side_of("insert", "barrel")
    'insert against barrel'
    """
    return f"{part} against {against}"


def _quad_vectors(nodes: Floats) -> Floats:
    """Outward area of each corner's share of upright faces, shape (f, 4, 3). [mm2].

    Parameters
    ----------
    nodes : ndarray, shape (f, 9, 3)
        [mm]
    """
    places, weights = leggauss(3)
    line = np.stack([places * (places - 1) / 2, places * (places + 1) / 2, 1 - places**2])
    slope = np.stack([places - 0.5, places + 0.5, -2 * places])
    hats = np.stack([1 - places, 1 + places]) / 2
    rows = nodes.reshape(-1, 3, 3, 3)  # below, half-way, above; first end, second end, middle
    rising = [0, 2, 1]  # below, above, half-way
    along = np.einsum("fzsi,zq,sp->fqpi", rows[:, rising], line, slope)
    up = np.einsum("fzsi,zq,sp->fqpi", rows[:, rising], slope, line)
    outward = np.cross(along, up) * (weights[:, None] * weights)[..., None]
    return np.einsum("fqpi,zq,sp->fzsi", outward, hats, hats).reshape(-1, 4, 3)


def _triangle_vectors(nodes: Floats) -> Floats:
    """The same of faces across, shape (g, 3, 3), whose nodes have shape (g, 6, 3). [mm2].

    By the four flat triangles between the six nodes.
    """
    shares = np.zeros((len(nodes), 3, 3))
    weight = np.zeros((6, 3))
    weight[[0, 1, 2], [0, 1, 2]] = 1
    for middle, ends in TRIANGLE_MIDDLES:
        weight[middle, list(ends)] = 0.5
    for a, b, c in ((0, 3, 5), (3, 1, 4), (5, 4, 2), (3, 4, 5)):
        area = np.cross(nodes[:, b] - nodes[:, a], nodes[:, c] - nodes[:, a]) / 2
        shares += weight[[a, b, c]].mean(axis=0)[:, None] * area[:, None]
    return shares

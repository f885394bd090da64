"""Names of a solid's faces, and the edges of it that stay sharp.

==============  =================================================================================
``bore``        of the bore that fires
``other bores``
``jacket``      wet walls of barrels, outer wall and ties
``slots``       walls of the insert that are open to the water
``relief``      walls of relief cuts, and of what is machined for an insert that it leaves open
``outside``
``cut``         where the solid ends half-way through the bores beside the one that fires
``deck``        flat, as are all below
``crankcase``   the floor on which a solid is held
``undersides``  of ties and of the insert
``floors``      of relief cuts and the jacket, ledges that are left open
==============  =================================================================================
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.section_mesh import TRIANGLE_SIDES, SectionMesh

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

SMOOTH = 200.0
"""Metal that fills no more than this around an edge leaves it round. [deg]."""

REVERSED = np.array([0, 2, 1, 5, 4, 3])
"""Nodes of a triangle, seen from the other side."""

OUTER = {"bore": "bore", "other bores": "other bores", "cut": "cut"}
"""Names of upright faces by the edge of the plan; all others there are the outside's."""


def neighbours(mesh: SectionMesh) -> Integers:
    """The triangle beyond each side, (m, 3), -1 where there is none."""
    middle = mesh.triangles[:, 3:].ravel()
    order = np.argsort(middle, kind="stable")
    twin = np.flatnonzero(middle[order][1:] == middle[order][:-1])
    beyond = np.full(len(middle), -1)
    one, other = order[twin], order[twin + 1]
    beyond[one], beyond[other] = other // 3, one // 3
    return beyond.reshape(-1, 3)


def named_faces(
    mesh: SectionMesh, part: Integers, parts: tuple[str, ...]
) -> tuple[dict[str, Integers], dict[str, Integers]]:
    """Free faces of the prisms on a plan, by name.

    Parameters
    ----------
    mesh : SectionMesh
        Of the plan, n nodes.
    part : ndarray of int, shape (m, layers)
        -1 where a triangle has no metal in a layer.
    parts : tuple of str

    Returns
    -------
    sides, flats : dict of str to ndarray, shapes (k, 9) and (k, 6)
        As of :class:`geometry.solid.mesh.SolidMesh`; a node of the plan is numbered by its line
        times n and its own number, lines being 0 at the deck, 1 half-way down the first layer.
    """
    n = len(mesh.points)
    beyond = neighbours(mesh)
    solid = part >= 0
    padded = np.concatenate([solid, np.zeros((1, solid.shape[1]), dtype=bool)])
    free = solid[:, None, :] & ~padded[beyond]
    triangle, side, layer = np.nonzero(free)
    edge = mesh.triangles[triangle[:, None], TRIANGLE_SIDES[side]]
    below = (2 * layer[:, None] + 2) * n
    faces = np.concatenate([below + edge, below - n + edge, below - 2 * n + edge], axis=1)
    name = _upright(mesh, part, parts, triangle, beyond[triangle, side], layer, edge[:, 2])
    sides = {key: faces[name == key] for key in sorted(set(name.tolist()))}
    return sides, _flat(mesh, solid)


def _upright(
    mesh: SectionMesh,
    part: Integers,
    parts: tuple[str, ...],
    triangle: Integers,
    beyond: Integers,
    layer: Integers,
    middle: Integers,
) -> NDArray[np.str_]:
    """Names of upright faces, of a triangle and a layer, with the triangle beyond."""
    name = np.full(len(triangle), "outside", dtype="<U11")
    tag = np.full(len(mesh.points), "outside", dtype="<U11")
    for edges, called in OUTER.items():
        if edges in mesh.edges:
            tag[mesh.edges[edges][:, 2]] = called
    name[:] = tag[middle]
    inside = beyond >= 0
    under = np.full(part.shape, -1)  # part of the next metal below
    for k in range(part.shape[1] - 2, -1, -1):
        under[:, k] = np.where(part[:, k + 1] >= 0, part[:, k + 1], under[:, k + 1])
    next_below = under[beyond[inside], layer[inside]]
    number = {key: k for k, key in enumerate(parts)}
    jacket = np.isin(next_below, [-1, number.get("floor", -1)])
    insert = part[triangle[inside], layer[inside]] == number.get("insert", -2)
    name[inside] = np.where(insert, "slots", np.where(jacket, "jacket", "relief"))
    return name


def _flat(mesh: SectionMesh, solid: NDArray[np.bool_]) -> dict[str, Integers]:
    n, last = len(mesh.points), solid.shape[1]
    none = np.zeros((len(solid), 1), dtype=bool)
    above, below = np.hstack([none, solid]), np.hstack([solid, none])
    found: dict[str, Integers] = {}
    for name, faces, turn in (
        ("deck", below & ~above, slice(None)), ("crankcase", above & ~below, REVERSED),
    ):  # fmt: skip
        triangle, line = np.nonzero(faces)
        nodes = (2 * line[:, None] * n + mesh.triangles[triangle])[:, turn]
        outer = line == (0 if name == "deck" else last)
        found[name] = nodes[outer]
        found["floors" if name == "deck" else "undersides"] = nodes[~outer]
    return {name: nodes for name, nodes in sorted(found.items()) if len(nodes)}


def sharp_rims(mesh: SectionMesh, part: Integers, z: Floats) -> Integers:
    """Edges around which metal fills much more than a straight angle.

    Parameters
    ----------
    mesh : SectionMesh
        Of the plan, n nodes.
    part : ndarray of int, shape (m, layers)
    z : ndarray, shape (2 layers + 1, n)
        Heights of the lines. [mm]

    Returns
    -------
    ndarray, shape (r, 3)
        Ends and middle, numbered as by :func:`named_faces`.
    """
    return np.concatenate([_level_rims(mesh, part, z), _upright_rims(mesh, part)])


def _level_rims(mesh: SectionMesh, part: Integers, z: Floats) -> Integers:
    """Rims along the sides of triangles: metal in three of the four quarters around."""
    n, solid = len(mesh.points), part >= 0
    beyond = neighbours(mesh)
    one, side = np.nonzero(beyond > np.arange(len(solid))[:, None])
    other = beyond[one, side]
    edge = mesh.triangles[one[:, None], TRIANGLE_SIDES[side]]
    side_of_other = np.argmax(mesh.triangles[other, 3:] == edge[:, 2:], axis=1)
    quarters = np.stack(
        [solid[one, :-1], solid[other, :-1], solid[one, 1:], solid[other, 1:]]
    )  # above on both sides, below on both sides; (4, sides, lines)
    found = []
    for missing in range(4):
        there = ~quarters[missing] & (quarters.sum(axis=0) == 3)
        which, line = np.nonzero(there)
        triangle = (one, other)[missing % 2][which]
        local = (side, side_of_other)[missing % 2][which]
        slope = _slope(mesh, z[2 * line + 2], triangle, local)
        upward = slope if missing < 2 else -slope  # of the free surface, towards the void
        metal = 270.0 - np.degrees(np.arctan(-upward))
        sharp = metal > SMOOTH
        found.append((2 * line[sharp, None] + 2) * n + edge[which[sharp]])
    return np.concatenate(found)


def _slope(mesh: SectionMesh, z: Floats, triangle: Integers, side: Integers) -> Floats:
    """Rise of a level (k, n) across a side of a triangle, at its middle, into the triangle."""
    if not len(triangle):
        return np.zeros(0)
    nodes = mesh.triangles[triangle]
    turned = np.stack([np.roll(np.arange(3), -k) for k in range(3)])[side]
    order = np.concatenate([turned, 3 + turned], axis=1)
    nodes = np.take_along_axis(nodes, order, axis=1)
    r = np.array([-1.0, 1.0, 0.0, 0.0, 2.0, -2.0])  # derivatives at the middle of the first side
    s = np.array([-1.0, 0.0, -1.0, -2.0, 2.0, 2.0])
    at = mesh.points[nodes] @ [1, 1j]
    height = np.take_along_axis(z, nodes, axis=1)
    along, across = at @ r, at @ s
    gradient_r, gradient_s = height @ r, height @ s
    normal = 1j * along / np.abs(along)
    tangent = along / np.abs(along)
    step_n, step_t = (across * normal.conj()).real, (across * tangent.conj()).real
    return (gradient_s - step_t * gradient_r / np.abs(along)) / step_n


def _upright_rims(mesh: SectionMesh, part: Integers) -> Integers:
    """Rims along a node of the plan, a layer high."""
    n, solid = len(mesh.points), part >= 0
    z, at = mesh.points @ [1, 1j], mesh.triangles
    angle = np.zeros((n, solid.shape[1]))
    for here, one, middle, other, far in ((0, 1, 3, 2, 5), (1, 2, 4, 0, 3), (2, 0, 5, 1, 4)):
        out, back = (
            4 * z[at[:, mid]] - 3 * z[at[:, here]] - z[at[:, end]]
            for end, mid in ((one, middle), (other, far))
        )
        np.add.at(angle, at[:, here], np.degrees(np.angle(back / out))[:, None] * solid)
    node, layer = np.nonzero((angle > SMOOTH) & (angle < 359))
    lines = np.stack([2 * layer + 2, 2 * layer, 2 * layer + 1], axis=1)
    return lines * n + node[:, None]

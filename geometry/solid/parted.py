"""Parts cut loose from a solid: bodies of their own, node beside node along the joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from geometry.parted import ends_and_turns
from geometry.rounding import Rounding
from geometry.section_mesh import TRIANGLE_SIDES
from geometry.solid.mesh import SolidMesh

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

UPRIGHT = np.concatenate([TRIANGLE_SIDES, TRIANGLE_SIDES + 6, TRIANGLE_SIDES + 12], axis=1)
"""Nodes of a prism's upright faces as :class:`SolidMesh` has them, (3, 9)."""

ACROSS = np.array([[0, 2, 1, 5, 4, 3], [12, 13, 14, 15, 16, 17]])
"""Nodes of its lower and upper face, counter-clockwise seen from outside."""

UPRIGHT_SHARES = np.outer([1, 4, 1], [1, 1, 4]).ravel() / 9
"""Simpson's weights of an upright face's nodes, over its two ways of length 2."""

ACROSS_SHARES = np.array([0, 0, 0, 1, 1, 1]) / 6
"""Weights of a triangle's nodes, for its reference area of a half."""

ALONG = np.kron(np.eye(3), np.array([[-1.5, -0.5, 2.0], [0.5, 1.5, -2.0], [-0.5, 0.5, 0.0]]))
UP = np.kron(np.array([[-1.5, 2.0, -0.5], [-0.5, 0.0, 0.5], [0.5, -2.0, 1.5]]), np.eye(3))
"""Derivatives at the nodes of an upright face, along its lower edge and up."""

_R, _S = np.array([[0, 1, 0, 0.5, 0.5, 0], [0, 0, 1, 0, 0.5, 0.5]])
_ZERO = np.zeros(6)
ALONG_R = np.stack(
    [4 * (_R + _S) - 3, 4 * _R - 1, _ZERO, 4 - 8 * _R - 4 * _S, 4 * _S, -4 * _S], axis=1
)
ALONG_S = np.stack(
    [4 * (_R + _S) - 3, _ZERO, 4 * _S - 1, -4 * _R, 4 * _R, 4 - 4 * _R - 8 * _S], axis=1
)
"""The same at the nodes of a triangle."""

LEDGE = "ledge"
"""Side of a joint that lies across: the part stands on it, or lies under it."""


@dataclass(frozen=True, eq=False, slots=True)
class Pairs:
    """Nodes of a joint that face one another, once for each side of it.

    Attributes
    ----------
    own, other : ndarray, shape (p,)
        Node of the part and of the rest.
    normal : ndarray, shape (p, 3)
        Unit vector out of the part.
    area : ndarray, shape (p,)
        Its share of the joint; 0 at corners of faces across. [mm2]
    side : ndarray of str, shape (p,)
        Part of the rest that an upright side is against, or "ledge" for one across.
    gap : ndarray, shape (p,)
        At which the part as it is cut stands off before it is fitted. [mm]
    """

    own: Integers
    other: Integers
    normal: Floats
    area: Floats
    side: NDArray[np.str_]
    gap: Floats


@dataclass(frozen=True, eq=False, slots=True)
class SolidJoint:
    """Where a part of its own touches the rest: faces of two bodies that lie on one another.

    Attributes
    ----------
    part : str
    own, other : ndarray, shape (k, 9)
        Upright faces, in the part and in the rest, node for node; the part's metal on the left.
    against : ndarray of str, shape (k,)
        Part of the rest on the other side.
    own_across, other_across : ndarray, shape (f, 6)
        Faces across, counter-clockwise seen from outside the part.
    against_across : ndarray of str, shape (f,)
    pairs : Pairs
    """

    part: str
    own: Integers
    other: Integers
    against: NDArray[np.str_]
    own_across: Integers
    other_across: Integers
    against_across: NDArray[np.str_]
    pairs: Pairs


@dataclass(frozen=True, eq=False, slots=True)
class SolidParted:
    """A solid with parts as bodies of their own.

    Attributes
    ----------
    mesh : SolidMesh
    joints : tuple of SolidJoint
        One of each part that was cut loose, in that order.
    origin : ndarray, shape (n,)
        Node of the whole that each node comes from.
    body : ndarray of int, shape (m,)
        Connected body of each prism; bodies share no node.
    """

    mesh: SolidMesh
    joints: tuple[SolidJoint, ...]
    origin: Integers
    body: Integers


def parts_off(mesh: SolidMesh, parts: Sequence[str]) -> SolidParted:
    """Cut parts loose, each from what is left of the rest when those before it are gone.

    Parameters
    ----------
    mesh : SolidMesh
        Bonded.
    parts : sequence of str

    Raises
    ------
    ValueError
        If no prism is of one of these parts.
    """
    for part in parts:
        if part not in mesh.parts:
            raise ValueError(f"no prism of the solid is of the part {part}.")
    group_of = np.full(len(mesh.parts), len(parts))
    for rank, part in enumerate(parts):
        group_of[mesh.parts.index(part)] = rank
    group = group_of[mesh.part]
    sides, flats = _Faces.upright(mesh), _Faces.across(mesh)
    body = _bodies(group, (sides, flats))
    n = len(mesh.points)
    keys, prisms = np.unique(body[:, None] * n + mesh.prisms, return_inverse=True)
    prisms = prisms.reshape(-1, 18)

    def copied(faces: Integers, owner: Integers) -> Integers:
        return np.searchsorted(keys, body[owner][:, None] * n + faces)

    parted = replace(
        mesh,
        points=mesh.points[keys % n],
        prisms=prisms,
        sides={name: copied(f, sides.owner(f)) for name, f in mesh.sides.items()},
        flats={name: copied(f, flats.owner(f)) for name, f in mesh.flats.items()},
        rims=_rims(mesh, prisms),
    )
    joints = []
    for rank, part in enumerate(parts):
        own, other, against = sides.between(mesh, group, rank)
        own_across, other_across, against_across = flats.between(mesh, group, rank)
        uprights = [np.searchsorted(keys, body[t][:, None] * n + f) for t, f in (own, other)]
        across = [
            np.searchsorted(keys, body[t][:, None] * n + f) for t, f in (own_across, other_across)
        ]
        pairs = _pairs(parted, part, uprights, against, across)
        joints.append(
            SolidJoint(
                part, uprights[0], uprights[1], against, across[0], across[1], against_across, pairs
            )
        )
    return SolidParted(parted, tuple(joints), keys % n, body)


@dataclass(frozen=True, eq=False, slots=True)
class _Faces:
    """All faces of one kind of the prisms: where two are one, they have the same key."""

    nodes: Integers  # (f, 9) or (f, 6), as their prism has them
    prism: Integers  # (f,)
    key: Integers  # (f,)

    @classmethod
    def upright(cls, mesh: SolidMesh) -> _Faces:
        nodes = mesh.prisms[:, UPRIGHT].reshape(-1, 9)
        prism = np.repeat(np.arange(len(mesh.prisms)), 3)
        return cls(nodes, prism, nodes[:, 5])

    @classmethod
    def across(cls, mesh: SolidMesh) -> _Faces:
        nodes = mesh.prisms[:, ACROSS].reshape(-1, 6)
        prism = np.repeat(np.arange(len(mesh.prisms)), 2)
        return cls(nodes, prism, _triangle_keys(nodes, len(mesh.points)))

    def owner(self, faces: Integers) -> Integers:
        """Prism of each of some free faces."""
        key = (
            faces[:, 5] if faces.shape[1] == 9 else _triangle_keys(faces, int(self.nodes.max()) + 1)
        )
        order = np.argsort(self.key)
        return self.prism[order[np.searchsorted(self.key, key, sorter=order)]]

    def twins(self) -> tuple[Integers, Integers]:
        """Places of faces that two prisms share, of one and of the other."""
        order = np.argsort(self.key, kind="stable")
        same = np.flatnonzero(self.key[order][1:] == self.key[order][:-1])
        return order[same], order[same + 1]

    def between(
        self, mesh: SolidMesh, group: Integers, rank: int
    ) -> tuple[tuple[Integers, Integers], tuple[Integers, Integers], NDArray[np.str_]]:
        """Faces between a group and those after it.

        Prisms and nodes on its own side, prisms and the same nodes on the other, part there.
        """
        one, two = self.twins()
        swap = group[self.prism[two]] < group[self.prism[one]]
        one, two = np.where(swap, two, one), np.where(swap, one, two)
        here = (group[self.prism[one]] == rank) & (group[self.prism[two]] > rank)
        one, two = one[here], two[here]
        nodes = self.nodes[one]
        against = np.array(mesh.parts)[mesh.part[self.prism[two]]]
        return (self.prism[one], nodes), (self.prism[two], nodes), against


def _triangle_keys(nodes: Integers, n: int) -> Integers:
    """A number for each triangle, by two of its mid-side nodes, which no other has both of."""
    middle = np.sort(nodes[:, 3:], axis=1)
    return middle[:, 0] * n + middle[:, 1]


def _bodies(group: Integers, kinds: Sequence[_Faces]) -> Integers:
    """Connected body of each prism: prisms of a group hang together by shared faces."""
    m = len(group)
    links = [kind.prism[np.stack(kind.twins())] for kind in kinds]
    one, two = np.concatenate(links, axis=1)
    same = group[one] == group[two]
    graph = sparse.coo_array((np.ones(same.sum()), (one[same], two[same])), shape=(m, m))
    return connected_components(graph, directed=False)[1].astype(np.int64)


def _rims(mesh: SolidMesh, prisms: Integers) -> Integers:
    """Sharp edges of the whole in the numbers of the bodies that have them."""
    n = len(mesh.points)
    at = np.full((int(prisms.max()) + 1,), -1)
    at[prisms.ravel()] = mesh.prisms.ravel()
    order = np.argsort(at, kind="stable")
    copies = np.bincount(at, minlength=n)
    first = np.concatenate([[0], np.cumsum(copies)])
    single = (copies[mesh.rims] == 1).all(axis=1)
    return order[first[mesh.rims[single]]]


def _pairs(
    mesh: SolidMesh,
    part: str,
    uprights: Sequence[Integers],
    against: NDArray[np.str_],
    across: Sequence[Integers],
) -> Pairs:
    own = np.concatenate([uprights[0].ravel(), across[0].ravel()])
    other = np.concatenate([uprights[1].ravel(), across[1].ravel()])
    side = np.concatenate([np.repeat(against, 9), np.full(across[0].size, LEDGE)])
    vectors = np.concatenate(
        [
            _normals(mesh.points[uprights[0]], ALONG, UP),
            _normals(mesh.points[across[0]], ALONG_R, ALONG_S),
        ]
    )
    shares = np.concatenate(
        [np.tile(UPRIGHT_SHARES, len(uprights[0])), np.tile(ACROSS_SHARES, len(across[0]))]
    )
    _, number = np.unique(side, return_inverse=True)
    sides = int(number.max(initial=0)) + 1
    keys, first, where = np.unique(own * sides + number, return_index=True, return_inverse=True)
    summed, area = np.zeros((len(keys), 3)), np.zeros(len(keys))
    np.add.at(summed, where, vectors)
    np.add.at(area, where, np.linalg.norm(vectors, axis=1) * shares)
    normal = summed / np.linalg.norm(summed, axis=1)[:, None]
    pairs = Pairs(own[first], other[first], normal, area, side[first], np.zeros(len(keys)))
    rounding = mesh.rounding
    if rounding is None or rounding.part != part:
        return pairs
    return replace(pairs, gap=_standing_off(mesh.points, pairs, uprights[0], rounding))


def _normals(at: Floats, one: Floats, other: Floats) -> Floats:
    """Outward normals at the nodes of faces (k, nodes, 3), as long as area is scaled there."""
    ways = (np.einsum("ni,kid->knd", matrix, at) for matrix in (one, other))
    return np.cross(*ways).reshape(-1, 3)  # type: ignore[call-overload]


def _standing_off(points: Floats, pairs: Pairs, uprights: Integers, rounding: Rounding) -> Floats:
    """Gap of a part's rounded corners and broken edges at its pairs. [mm].

    Beside its lower edge an upright side stands off as it does beside an end in plan.
    """
    z: NDArray[np.complex128] = points[:, :2] @ np.array([1, 1j])
    places, of = np.unique(z, return_inverse=True)
    lines = np.unique(of[uprights[:, :3]], axis=0)
    edges = places[ends_and_turns(places, lines)]
    gap = np.maximum(rounding.corner_gap(places), rounding.edge_gap(places, edges))[of[pairs.own]]
    lowest = np.full(len(places), np.inf)
    np.minimum.at(lowest, of[uprights], points[uprights, 2])
    if rounding.edge_break:
        above = points[pairs.own, 2] - lowest[of[pairs.own]]
        short = np.maximum(rounding.edge_break - above, 0.0)
        gap = np.maximum(gap, short**2 / (2 * rounding.edge_break))
    return np.where(pairs.side == LEDGE, 0.0, gap)

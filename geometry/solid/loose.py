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
from geometry.solid.mesh import PRISM_FLATS, PRISM_SIDES, SolidMesh
from geometry.solid.parted import SolidJoint, joint_of

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

LEDGE = "ledge"
"""Side of a joint that lies across: the part stands on it, or lies under it."""


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
        plan=mesh.drawn[keys % n],
        prisms=prisms,
        sides={name: copied(f, sides.owner(f)) for name, f in mesh.sides.items()},
        flats={name: copied(f, flats.owner(f)) for name, f in mesh.flats.items()},
        rims=_rims(mesh, prisms),
    )
    joints = []
    for rank, part in enumerate(parts):
        other = np.full(len(keys), -1)
        faces, against = [], []
        for kind in (sides, flats):
            nodes, one, two, beyond = kind.between(mesh, group, rank)
            own = copied(nodes, one)
            other[own] = copied(nodes, two)
            faces.append(own)
            against.append(beyond)
        gap = None
        if mesh.rounding is not None and mesh.rounding.part == part:
            gap = _standing_off(parted, faces[0], mesh.rounding)
        ledges = np.full(len(faces[1]), LEDGE)
        joints.append(joint_of(parted.points, faces[0], against[0], faces[1], ledges, other, gap))
    return SolidParted(parted, tuple(joints), keys % n, body)


@dataclass(frozen=True, eq=False, slots=True)
class _Faces:
    """All faces of one kind of the prisms: where two are one, they have the same key."""

    nodes: Integers  # (f, 9) or (f, 6), as their prism has them
    prism: Integers  # (f,)
    key: Integers  # (f,)

    @classmethod
    def upright(cls, mesh: SolidMesh) -> _Faces:
        nodes = mesh.prisms[:, PRISM_SIDES].reshape(-1, 9)
        prism = np.repeat(np.arange(len(mesh.prisms)), 3)
        return cls(nodes, prism, nodes[:, 5])

    @classmethod
    def across(cls, mesh: SolidMesh) -> _Faces:
        nodes = mesh.prisms[:, PRISM_FLATS].reshape(-1, 6)
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
    ) -> tuple[Integers, Integers, Integers, NDArray[np.str_]]:
        """Nodes of faces between a group and those after it, as the group has them.

        With the prism on its own side, that on the other, and the part there.
        """
        one, two = self.twins()
        swap = group[self.prism[two]] < group[self.prism[one]]
        one, two = np.where(swap, two, one), np.where(swap, one, two)
        here = (group[self.prism[one]] == rank) & (group[self.prism[two]] > rank)
        one, two = one[here], two[here]
        against = np.array(mesh.parts)[mesh.part[self.prism[two]]]
        return self.nodes[one], self.prism[one], self.prism[two], against


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


def _standing_off(mesh: SolidMesh, uprights: Integers, rounding: Rounding) -> Floats:
    """Gap of a part's rounded corners and broken edges at nodes of upright faces, (n,). [mm].

    Beside its lower edge a side stands off as it does beside an end in plan.
    """
    points = mesh.points
    z: NDArray[np.complex128] = mesh.drawn @ np.array([1, 1j])
    nodes = np.unique(uprights)
    places, of = np.unique(z[nodes], return_inverse=True)
    place = np.full(len(points), -1)
    place[nodes] = of
    lines = np.unique(place[uprights[:, :3]], axis=0)
    edges = places[ends_and_turns(places, lines)]
    gap = np.zeros(len(points))
    plan = np.maximum(rounding.corner_gap(places), rounding.edge_gap(places, edges))
    gap[nodes] = plan[of]
    if rounding.edge_break:
        lowest = np.full(len(places), np.inf)
        np.minimum.at(lowest, of, points[nodes, 2])
        short = np.maximum(rounding.edge_break - (points[nodes, 2] - lowest[of]), 0.0)
        gap[nodes] = np.maximum(gap[nodes], short**2 / (2 * rounding.edge_break))
    return gap

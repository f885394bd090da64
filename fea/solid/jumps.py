r"""Unknowns of a joint in space: displacement of the rest, and jumps from it to the part.

The forces across a joint are linear from corner to corner of its faces, as many as there are corner
nodes, and the jump g of a corner node is the mean of that of its faces by the same functions phi,

.. math:: g_j = \frac{\int \varphi_j [u] \,dA}{\int \varphi_j \,dA},

so that both sides of an open joint are free and a pressure that is the same all over lies on the
nodes as it should. On a face of nine nodes, taken as a rectangle, the integrals of phi_j over the
functions of the other corners are 0 (one, two and four parts of nine fall to the corner itself, the
middles of its edges and that of the face), so that a corner's own displacement follows from its
jump and the nodes between, which stay unknowns. On faces across, triangles of six nodes, the jump
itself is linear from corner to corner.

Each node of a joint has axes of its own: the normal out of the part, and two tangents.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from fea.solid.faces import face_places
from fea.solid.shapes import side_shapes
from geometry.solid.mesh import SolidMesh
from geometry.solid.parted import TRIANGLE_MIDDLES, SolidJoint

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

ALIKE = np.cos(np.radians(20))
"""Cosine of the angle between normals up to which a wall is taken as one that bends: its nodes'
axes are set beside one another, not their displacements."""
_PARTS = np.array([1, 1, 2, 2, 2, 4, 1, 1, 2])
"""Integrals of a corner's function times those of nine nodes, where they are not 0, over that of
its own."""
_OF_CORNER = (
    (0, (2, 3, 5)),
    (1, (2, 4, 5)),
    (6, (3, 8, 5)),
    (7, (4, 8, 5)),
)
"""Corners of a face of nine nodes, each with the nodes that share its function."""
_PLACES = np.array([[a, b] for b in (-1.0, 0.0, 1.0) for a in (-1.0, 1.0, 0.0)])
"""Of the nine nodes of an upright face."""


def face_areas(mesh: SolidMesh, joint: SolidJoint) -> tuple[Array, Array]:
    """Areas of a joint's upright faces and of those across. [mm2]."""
    found = []
    for own, kind in ((joint.own[joint.quads], "sides"), (joint.own[joint.triangles], "flats")):
        if not len(own):
            found.append(np.zeros(0))
            continue
        none = {
            "sides": np.zeros((0, 9), dtype=np.int64),
            "flats": np.zeros((0, 6), dtype=np.int64),
        }
        named = {of: {"joint": faces} for of, faces in {**none, kind: own}.items()}
        alone = SolidMesh(
            mesh.points, mesh.prisms, mesh.part, mesh.parts, named["sides"], named["flats"]
        )
        (places,) = face_places(alone, "joint")
        found.append(places.area.sum(axis=0))
    return found[0], found[1]


class Jumps:
    """A joint in the unknowns of its jumps.

    Node j has the unknowns 3j, 3j + 1 and 3j + 2. At a node of the part on the joint they are not
    its displacement: at a corner the jump along its axes, between corners of upright faces the
    difference from the other node along its axes, between corners of faces across nothing.

    Parameters
    ----------
    mesh : SolidMesh
    joint : SolidJoint
    supported : ndarray of bool, shape (n, 3)
        Components of nodes that are supported.

    Attributes
    ----------
    corners : ndarray of int, shape (k,)
        Pairs that carry force.
    axes : ndarray, shape (k, 3, 3)
        Normal and two tangents of each.
    unknowns : ndarray of int, shape (3 k,)
        Of the jumps: all along normals, all along the first tangents, all along the second.
    pinned : ndarray of int
        Unknowns that are 0: those that are none, and those that supports hold.
    to_nodes : sparse array, shape (3 n, 3 n)
        Displacement of the nodes from the unknowns.
    """

    def __init__(self, mesh: SolidMesh, joint: SolidJoint, supported: Flags) -> None:
        self._joint, self._areas = joint, face_areas(mesh, joint)
        self.corners = np.flatnonzero(joint.area > 0)
        upright = np.zeros(len(joint.own), dtype=bool)  # has unknowns as of an upright face
        upright[joint.quads] = True
        between = np.zeros(len(joint.own), dtype=bool)
        between[joint.quads] = True
        between[self.corners] = False
        self._between = np.flatnonzero(between)
        across = np.abs(joint.normal[:, 2]) > np.sqrt(0.5)
        self._weak = np.flatnonzero(upright & ~across & (joint.area > 0))
        followers = joint.area == 0
        followers[between] = False
        self._followers = np.flatnonzero(followers)
        own_supported = supported[joint.own]
        self._axes, pinned = _axes(self._normals(mesh.points), own_supported)
        pinned[followers] = True
        self._pinned = pinned
        self.axes = self._axes[self.corners]
        first = 3 * joint.own
        self.pinned = (first[:, None] + np.arange(3))[pinned]
        self.unknowns = (first[self.corners] + np.arange(3)[:, None]).ravel()
        self.to_nodes = self._to_nodes(len(mesh.points))

    def _normals(self, points: Array) -> Array:
        """Of all nodes of the joint: corners' own, and those of the faces that others lie on."""
        joint = self._joint
        normals = np.zeros((len(joint.own), 3))
        _, derivatives = side_shapes(_PLACES)
        along, up = np.einsum("qdp,kpi->dkqi", derivatives, points[joint.own[joint.quads]])
        np.add.at(normals, joint.quads, np.cross(along, up))
        for middle, ends in TRIANGLE_MIDDLES:
            faces = joint.triangles
            np.add.at(normals, faces[:, middle], joint.normal[faces[:, list(ends)]].sum(axis=1))
        normals[self.corners] = joint.normal[self.corners]
        length = np.linalg.norm(normals, axis=1, keepdims=True)
        return np.asarray(normals / np.where(length > 0, length, 1))

    def _to_nodes(self, count: int) -> sparse.csr_array:
        """Displacement of the nodes, shape (3 n, 3 n)."""
        joint = self._joint
        kept = np.ones(count, dtype=bool)
        kept[joint.own] = False
        same = (3 * np.flatnonzero(kept)[:, None] + np.arange(3)).ravel()
        own, other = ((3 * of[:, None] + np.arange(3)).ravel() for of in (joint.own, joint.other))
        size = 3 * count

        def ones(rows: Integers, columns: Integers, shape: tuple[int, int]) -> sparse.csr_array:
            return sparse.coo_array((np.ones(len(rows)), (rows, columns)), shape=shape).tocsr()

        place = ones(own, np.arange(len(own)), (size, len(own)))
        found = ones(same, same, (size, size)) + place @ self._jump_of_nodes() @ place.T
        beside, reached = ones(own, other, (size, size)), joint.own
        follows = beside @ found
        while len(reached):  # a part may lie on one that is cut loose as well
            found = found + follows
            reached = joint.own[np.isin(joint.other, reached)]
            follows = beside @ follows
        return found.tocsr()

    def _jump_of_nodes(self) -> sparse.csr_array:
        """Jump of each pair, along x, y, z, from the unknowns there, shape (3 pairs, 3 pairs)."""
        joint, axes = self._joint, self._axes
        size = 3 * len(joint.own)
        strong = np.setdiff1d(np.concatenate([self.corners, self._between]), self._weak)
        along = (strong, strong, np.swapaxes(axes[strong], 1, 2))
        jump = _gathered([along, *self._weak_blocks()], size)
        faces = joint.triangles
        ends_of: list[tuple[Integers, Integers]] = []
        for middle, corners in TRIANGLE_MIDDLES:
            ours = np.isin(faces[:, middle], self._followers)
            ends_of += [(faces[ours, middle], faces[ours, end]) for end in corners]
        followers, ends = (np.concatenate(of) for of in zip(*ends_of, strict=True))
        shares = 1 / np.bincount(followers, minlength=len(joint.own))[followers]
        follow = _gathered([(followers, ends, shares[:, None, None] * np.eye(3))], size)
        return (jump + follow @ jump).tocsr()

    def _weak_blocks(self) -> list[tuple[Integers, Integers, Array]]:
        """Blocks (rows, columns, (k, 3, 3)) of the corners whose jump is a mean over faces."""
        joint, axes = self._joint, self._axes
        areas, number = np.zeros(len(joint.own)), np.full(len(joint.own), -1)
        number[self._weak] = np.arange(len(self._weak))
        for corner, _ in _OF_CORNER:
            np.add.at(areas, joint.quads[:, corner], self._areas[0])
        turned = np.swapaxes(axes, 1, 2)
        free = np.where(self._pinned, 0.0, 1.0)  # a jump that a support holds is the node's own
        # 9/4 of the corner's quarter of each face is its own ninth
        own = turned[self._weak] * np.where(self._pinned, 1.0, 9.0)[self._weak, None, :]
        found = [(self._weak, self._weak, own)]
        for corner, between in _OF_CORNER:
            at = joint.quads[:, corner]
            ours = number[at] >= 0
            row = at[ours]
            share = self._areas[0][ours] / areas[row]
            for node in between:
                column = joint.quads[ours, node]
                alike = np.einsum("ki,ki->k", axes[row, 0], axes[column, 0]) > ALIKE
                carried = np.where(
                    alike[:, None, None],
                    np.eye(3),
                    axes[row] @ turned[column],
                )
                weight = -_PARTS[node] * share
                carried = carried * (weight[:, None] * free[row])[:, :, None]
                found.append((row, column, turned[row] @ carried))
        return found


def _axes(normals: Array, supported: Flags) -> tuple[Array, Flags]:
    """Axes of nodes, shape (k, 3, 3), and along which of them supports hold, shape (k, 3).

    A normal is turned into the plane that its supports leave free.
    """
    free = np.where(supported, 0.0, normals)
    length = np.linalg.norm(free, axis=1, keepdims=True)
    normal = np.where(length > 0.1, free / np.where(length > 0, length, 1), normals)
    upright = np.abs(normal[:, 2]) < np.sqrt(0.5)
    towards = np.where(upright[:, None], [0.0, 0.0, 1.0], [0.0, 1.0, 0.0])
    first = np.cross(towards, normal)
    size = np.linalg.norm(first, axis=1, keepdims=True)
    first = first / np.where(size > 0, size, 1)
    axes = np.stack([normal, first, np.cross(normal, first)], axis=1)
    held = np.einsum("kai,ki->ka", axes**2, supported) > 0.5
    return axes, held


def _gathered(found: list[tuple[Integers, Integers, Array]], size: int) -> sparse.csr_array:
    """A matrix of blocks of three by three, shape (size, size)."""
    rows, columns, values = (np.concatenate([one[k] for one in found]) for k in range(3))
    row = 3 * rows[:, None, None] + np.arange(3)[:, None] + np.zeros(3, dtype=np.int64)
    column = 3 * columns[:, None, None] + np.arange(3) + np.zeros((3, 1), dtype=np.int64)
    return sparse.coo_array(
        (values.ravel(), (row.ravel(), column.ravel())), shape=(size, size)
    ).tocsr()

"""How prisms hang together: the faces that two share, and those that are the surface."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from geometry.solid.mesh import PRISM_FLATS, PRISM_SIDES, SolidMesh

Integers = NDArray[np.int64]

_HALVES = np.array([[0, 1, 7, 2, 4, 5], [0, 7, 6, 5, 8, 3]])
_CENTRES = PRISM_SIDES[:, 5]


@dataclass(frozen=True, eq=False, slots=True)
class Surface:
    """Faces of the metal that no other prism shares.

    Attributes
    ----------
    sides : ndarray, shape (k, 9)
        Nodes, as ``SolidMesh.sides``.
    flats : ndarray, shape (l, 6)
    prisms : ndarray, shape (k + l,)
        Prism of each, sides first.
    """

    sides: Integers
    flats: Integers
    prisms: Integers

    def triangles(self) -> tuple[Integers, Integers]:
        """The faces as triangles of six nodes, each side as two.

        Returns
        -------
        triangles : ndarray, shape (2 k + l, 6)
            Counter-clockwise seen from outside.
        prisms : ndarray, shape (2 k + l,)
            Prism of each.
        """
        halves = self.sides[:, _HALVES].reshape(-1, 6)
        of_sides, of_flats = np.split(self.prisms, [len(self.sides)])
        return (
            np.concatenate([halves, self.flats]),
            np.concatenate([np.repeat(of_sides, 2), of_flats]),
        )


class Topology:
    """Faces of the prisms of a mesh, each counted once.

    Attributes
    ----------
    faces : ndarray, shape (m, 5)
        Number of each prism's three upright faces, the one below and the one above.
    count : int
    """

    def __init__(self, mesh: SolidMesh) -> None:
        self._mesh = mesh
        n = len(mesh.points)
        across = np.sort(mesh.prisms[:, PRISM_FLATS[:, 3:]], axis=2)
        # the node in its middle tells an upright face, two mid-side nodes one across
        keys = np.hstack([mesh.prisms[:, _CENTRES], (across[..., 0] + 1) * n + across[..., 1]])
        found, face = np.unique(keys, return_inverse=True)
        self.faces, self.count = face.reshape(keys.shape), len(found)

    @cached_property
    def bodies(self) -> Integers:
        """Number of the connected body of each prism, shape (m,): those that share faces.

        Raises
        ------
        ValueError
            If two bodies share an edge or a node.
        """
        n, m = len(self._mesh.points), len(self._mesh.prisms)
        ends = np.arange(0, self.faces.size + 1, 5)
        has = sparse.csr_array(
            (np.ones(self.faces.size), self.faces.ravel(), ends), (m, self.count)
        )
        _, bodies = connected_components(has @ has.T, directed=False)
        low, high = np.full(n, m), np.full(n, -1)
        np.minimum.at(low, self._mesh.prisms, bodies[:, None])
        np.maximum.at(high, self._mesh.prisms, bodies[:, None])
        if (high > low).any():
            x, y, z = self._mesh.points[np.argmax(high > low)]
            raise ValueError(
                f"metal touches along no more than an edge at ({x:.3f}, {y:.3f}, {z:.3f}) mm."
            )
        return np.asarray(bodies, dtype=np.int64)

    @cached_property
    def surface(self) -> Surface:
        """Faces that no other prism shares."""
        return self.surface_of(np.arange(len(self.faces)))

    def surface_of(self, elements: Integers) -> Surface:
        """Faces of some prisms that no other of them shares.

        Parameters
        ----------
        elements : ndarray, shape (k,)
            Into ``mesh.prisms``.
        """
        faces = self.faces[elements]
        free = np.bincount(faces.ravel(), minlength=self.count)[faces] == 1
        prism, side = np.nonzero(free[:, :3])
        flat_prism, flat = np.nonzero(free[:, 3:])
        prism, flat_prism = elements[prism], elements[flat_prism]
        prisms = self._mesh.prisms
        return Surface(
            prisms[prism[:, None], PRISM_SIDES[side]],
            prisms[flat_prism[:, None], PRISM_FLATS[flat]],
            np.concatenate([prism, flat_prism]),
        )

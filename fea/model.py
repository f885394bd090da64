"""A meshed section made into a system of equations, held and solved."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components
from skfem import CellBasis, ElementTriP2, ElementVector, MeshTri2

from fea.elasticity import Traction, edge_work, stiffness
from fea.factor import Factor
from fea.material import Material
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

_SIDES = np.array([[0, 1, 3], [1, 2, 4], [2, 0, 5]])  # ends and mid-side node of each side
_RANK = 1e-6  # share of a unit vector that counts as a new direction


@dataclass(frozen=True, eq=False)
class Solution:
    """Displacement of a section under one load.

    Attributes
    ----------
    model : SectionModel
    displacement : ndarray, shape (n, 2)
        In the order of ``model.mesh.points``. [mm]
    reactions : ndarray, shape (n, 2)
        Forces of the supports and the holds on the metal; zero where nothing is held. [N]
    hold_reactions : ndarray, shape (h,)
        Those of the holds against rigid motion; zero when the load is in equilibrium. [N]
    line_load : float
        Gas load on ``edge`` per length; 0 when the load came by another way. [N/mm]
    edge : str
        Name of the loaded edge; empty when the load came by another way.
    """

    model: SectionModel
    displacement: Array
    reactions: Array
    hold_reactions: Array
    line_load: float = 0.0
    edge: str = ""


class SectionModel:
    """The equations of a section: stiffness by part and depth, every body held, factored.

    Bodies are found by the sides that triangles share. One that the supports leave free is held
    against rigid motion at two of its nodes that lie far apart, by as few components as it needs:
    a load in equilibrium feels nothing of it.

    Parameters
    ----------
    mesh : SectionMesh
    materials : mapping of str to Material
        One for each part that the mesh's layers name.
    fixed : mapping of str to str
        Displacement components held at zero on named edges, ``{"left": "x", "bottom": "y"}`` or
        ``"xy"``; for symmetry planes.

    Attributes
    ----------
    basis : skfem.CellBasis
        Vector basis of quadratic triangles, quadrature of order 2.
    dofs : ndarray, shape (n, 2)
        Unknowns of each node of ``mesh.points``.
    bodies : ndarray, shape (triangles,)
        Number of the connected body of each triangle.
    held : ndarray, shape (h,)
        Unknowns held against rigid motion.
    factor : Factor

    Raises
    ------
    ValueError
        For a part without material, an unknown edge, a thickness that is not positive, a node
        that no triangle uses, or bodies that touch at a single node.
    NotPositiveDefiniteError
        If the stiffness can't be factored.
    """

    def __init__(
        self,
        mesh: SectionMesh,
        materials: Mapping[str, Material],
        fixed: Mapping[str, str] | None = None,
    ) -> None:
        parts = {layer.part for layers in mesh.regions for layer in layers}
        if missing := sorted(parts - set(materials)):
            raise ValueError(f"no material for {', '.join(missing)}. Give one for each part.")
        self.mesh = mesh
        self.materials = dict(materials)
        plain = MeshTri2(mesh.points.T, mesh.triangles.T)
        self.basis = CellBasis(plain, ElementVector(ElementTriP2()), intorder=2)
        self.dofs = np.full((len(mesh.points), 2), -1)
        self.dofs[mesh.triangles.T] = self.basis.element_dofs.reshape(6, 2, -1).swapaxes(1, 2)
        if (self.dofs < 0).any():
            node = int(np.flatnonzero((self.dofs < 0).any(axis=1))[0])
            raise ValueError(f"node {node} of the mesh belongs to no triangle. Leave it out.")
        middle = mesh.triangles[:, 3:]
        self._uses = np.bincount(middle.ravel(), minlength=len(mesh.points))
        self._owner = np.full(len(mesh.points), -1)  # a triangle of a mid-side node
        self._owner[middle] = np.arange(len(middle))[:, None]
        self.bodies = self._find_bodies()
        self._supported = self._supports(fixed or {})
        self.held = self._hold()
        lam, mu = self._moduli()
        self._stiffness = stiffness(self.basis, lam, mu)
        self._pinned = np.union1d(self._supported, self.held)
        self.factor = Factor(_pinned(self._stiffness, self._pinned))

    @cached_property
    def skfem_mesh(self) -> MeshTri2:
        """The mesh in scikit-fem's numbering, edges as boundaries, parts as subdomains."""
        facet_of = np.full(len(self.mesh.points), -1)
        facet_of[self.mesh.triangles[:, 3:].T] = self.basis.mesh.t2f
        edges = {name: facet_of[self._known_sides(name)[:, 2]] for name in self.mesh.edges}
        parts = {
            part: np.flatnonzero(
                [part in (layer.part for layer in layers) for layers in self.mesh.regions]
            )
            for part in self.materials
        }
        inside = {part: np.isin(self.mesh.region, regions) for part, regions in parts.items()}
        return self.basis.mesh.with_boundaries(edges).with_subdomains(
            {part: np.flatnonzero(held) for part, held in inside.items() if held.any()}
        )

    def _known_sides(self, name: str) -> Integers:
        """Sides of a named edge as their triangles have them, shape (k, 3)."""
        if name not in self.mesh.edges:
            raise ValueError(
                f'the mesh has no edge "{name}". Choose from {", ".join(sorted(self.mesh.edges))}.'
            )
        edge = self.mesh.edges[name]
        owner = self._owner[edge[:, 2]]
        place = np.argmax(self.mesh.triangles[owner, 3:] == edge[:, 2:], axis=1)
        sides: Integers = self.mesh.triangles[owner[:, None], _SIDES[place]]
        if (owner < 0).any() or (np.sort(sides[:, :2]) != np.sort(edge[:, :2])).any():
            raise ValueError(f'edge "{name}" of the mesh has a side that no triangle has.')
        return sides

    def sides(self, name: str) -> Integers:
        """Sides of a named free edge with the metal on their left.

        Parameters
        ----------
        name : str
            An edge of the mesh that has metal on one side only.

        Returns
        -------
        ndarray, shape (k, 3)
            First end, second end and mid-side node of each side.

        Raises
        ------
        ValueError
            If the edge is unknown, or lies between two triangles.
        """
        sides = self._known_sides(name)
        if (self._uses[sides[:, 2]] > 1).any():
            raise ValueError(f'edge "{name}" lies inside the metal; it can\'t carry a load.')
        return sides

    def _find_bodies(self) -> Integers:
        """Number of the body of each triangle; triangles hang together by mid-side nodes."""
        triangles = self.mesh.triangles
        m, n = len(triangles), len(self.mesh.points)
        shared = sparse.coo_array(
            (np.ones(3 * m), (np.repeat(np.arange(m), 3), m + triangles[:, 3:].ravel())),
            shape=(m + n, m + n),
        )
        _, labels = connected_components(shared, directed=False)
        count, bodies = np.unique(labels[:m], return_inverse=True)
        if len(count) > 1:
            low, high = np.full(n, m), np.full(n, -1)
            np.minimum.at(low, triangles[:, :3], bodies[:, None])
            np.maximum.at(high, triangles[:, :3], bodies[:, None])
            if (high > low).any():
                x, y = self.mesh.points[np.flatnonzero(high > low)[0]]
                raise ValueError(f"metal touches at a single point, ({x:.3f}, {y:.3f}) mm.")
        return bodies

    def _supports(self, fixed: Mapping[str, str]) -> Integers:
        dofs = [np.zeros(0, dtype=np.int64)]
        for name, components in fixed.items():
            nodes = np.unique(self._known_sides(name))
            dofs += [self.dofs[nodes, "xy".index(component)] for component in components]
        return np.unique(np.concatenate(dofs))

    def _hold(self) -> Integers:
        """Unknowns that take what rigid motion the supports leave to each body."""
        held: list[int] = []
        supported = np.isin(self.dofs, self._supported)
        for body in range(int(self.bodies.max()) + 1):
            nodes = np.unique(self.mesh.triangles[self.bodies == body])
            points = self.mesh.points[nodes] - self.mesh.points[nodes].mean(axis=0)
            size = np.hypot(*points.T).max()
            first = int(np.argmax(np.hypot(*(points - points[0]).T)))
            second = int(np.argmax(np.hypot(*(points - points[first]).T)))
            across = int(np.argmin(np.abs(points[second] - points[first])))
            # rows of translation along x, along y, and rotation, at each node and component
            motion = np.zeros((len(nodes), 2, 3))
            motion[:, 0, 0] = motion[:, 1, 1] = 1
            motion[:, 0, 2], motion[:, 1, 2] = -points[:, 1] / size, points[:, 0] / size
            fixed_rows = motion[supported[nodes]]
            values, vectors = np.linalg.eigh(fixed_rows.T @ fixed_rows)
            taken = vectors[:, values > _RANK**2 * max(1, len(fixed_rows))]
            places = [(first, 0), (first, 1), (second, across), (second, 1 - across)]
            for node, component in places:
                row = motion[node, component]
                rest = row - taken @ (taken.T @ row)
                if np.linalg.norm(rest) > _RANK:
                    taken = np.column_stack([taken, rest / np.linalg.norm(rest)])
                    held.append(int(self.dofs[nodes[node], component]))
        return np.array(held, dtype=np.int64)

    def _moduli(self) -> tuple[Array, Array]:
        """Sums over the layers of t lambda and t mu at the quadrature points. [N/mm]."""
        x, y = np.asarray(self.basis.global_coordinates())
        lam, mu = np.zeros(x.shape), np.zeros(x.shape)
        for index, layers in enumerate(self.mesh.regions):
            inside = self.mesh.region == index
            for layer in layers:
                thickness = layer.thickness(x[inside], y[inside])
                if not (thickness > 0).all():
                    raise ValueError(
                        f"{layer.part}: thickness {thickness.min():g} mm is not positive."
                    )
                material = self.materials[layer.part]
                lam[inside] += thickness * material.lam
                mu[inside] += thickness * material.mu
        return lam, mu

    def solve(self, line_load: float, edge: str = "bore") -> Solution:
        """Displacement under gas on a named edge, T = -q n.

        Parameters
        ----------
        line_load : float
            q, pressure integrated over the depth it reaches. [N/mm]
        edge : str
            Name of a free edge.
        """
        load = self.edge_load(edge, lambda _x, _y, nx, ny: -line_load * np.stack([nx, ny]))
        return replace(self.solve_forces(load), line_load=line_load, edge=edge)

    def edge_load(self, edge: str, traction: Traction) -> Array:
        """Nodal forces of a traction on a named free edge.

        Parameters
        ----------
        edge : str
        traction : callable
            t(x, y, nx, ny) -> force per length, shape (2, ...), n out of the metal. [N/mm]

        Returns
        -------
        ndarray, shape (n, 2)
            Forces on the nodes of ``mesh.points``. [N]
        """
        sides = self.sides(edge)
        forces = edge_work(self.mesh.points[sides].transpose(2, 1, 0), traction)
        load = np.zeros((len(self.mesh.points), 2))
        np.add.at(load, sides.T, forces.transpose(1, 2, 0))
        return load

    def solve_forces(self, forces: Array) -> Solution:
        """Displacement under nodal forces.

        Parameters
        ----------
        forces : ndarray, shape (n, 2)
            Forces on the nodes of ``mesh.points``. [N]
        """
        load = np.zeros(self.basis.N)
        load[self.dofs] = forces
        free_load = load.copy()
        free_load[self._pinned] = 0
        u = self.factor.solve(free_load)
        lower = self._stiffness
        internal = lower @ u + lower.T @ u - lower.diagonal() * u
        reaction = np.zeros(self.basis.N)
        reaction[self._pinned] = (internal - load)[self._pinned]
        return Solution(self, u[self.dofs], reaction[self.dofs], reaction[self.held])


def _pinned(lower: sparse.csc_array, dofs: Integers) -> sparse.csc_array:
    """The matrix with the rows and columns of some unknowns replaced by their diagonal."""
    pinned = np.zeros(lower.shape[0], dtype=bool)
    pinned[dofs] = True
    column = np.repeat(np.arange(lower.shape[1]), np.diff(lower.indptr))
    drop = (pinned[lower.indices] | pinned[column]) & (lower.indices != column)
    return sparse.csc_array(
        (np.where(drop, 0.0, lower.data), lower.indices, lower.indptr), shape=lower.shape
    )

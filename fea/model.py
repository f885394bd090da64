"""A meshed section made into a system of equations, held and solved.

Each region of the section carries *layers*: a part and the depth of its metal, t(x, y). The solver
integrates the sum of t D over the layers (they share the strain); stress is recovered region by
region, never averaged across a material boundary or a step of thickness. Gas is a line load on the
bore that fires: q = pressure x pressurised depth [N/mm]. Every connected body is held in three
unknowns; the reactions there must vanish.

A model holds a meshed design with its factor. ``solve_many`` answers further loads by
back-substitution; ``with_layers`` gives the model of other depths, moduli or Poisson's ratios on
the same mesh: one matrix a layer, H_ab,ij = integral of t dN_a/dx_i dN_b/dx_j, is enough, since
K = lam H + mu (H^T + tr H I) by node pair, so all three only rescale it. The ordering of the factor
is kept. A family of models shares one factor under a lock: asking two of them by turns re-factors
each time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from skfem import CellBasis, ElementTriP2, ElementVector, MeshTri2

from fea.assembly import LayerStiffness, Pattern, cut_off
from fea.elasticity import Traction, edge_work
from fea.factor import Factor
from fea.heat.thermal import thermal_load
from fea.material import Material
from geometry.section_mesh import Layer, SectionMesh, bodies_of, named_sides

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

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
    temperature : ndarray, shape (n,), or None
        At ``model.mesh.points``, when the load holds that of a thermal strain
        (:func:`fea.thermal.thermal_load`); the stress has it taken out. [degC]
    """

    model: SectionModel
    displacement: Array
    reactions: Array
    hold_reactions: Array
    line_load: float = 0.0
    edge: str = ""
    temperature: Array | None = None


class SectionModel:
    """The equations of a section: stiffness by part and depth, every body held, factored.

    Bodies are found by the sides that triangles share. One that the supports leave free is held
    against rigid motion at two of its nodes that lie far apart, by as few components as it needs:
    a load in equilibrium feels nothing of it.

    Factored once, asked often: a further load is a back-substitution (:meth:`solve`,
    :meth:`solve_many`), other depths or materials on the same mesh are a numeric factorisation
    (:meth:`with_layers`).

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
    dofs : ndarray, shape (n, 2)
        Unknowns of each node of ``mesh.points``.
    bodies : ndarray, shape (triangles,)
        Number of the connected body of each triangle.
    held : ndarray, shape (h,)
        Unknowns held against rigid motion.
    temperature : ndarray, shape (n,), or None
        None at 20 degC. [degC]

    Raises
    ------
    ValueError
        For a part without material, a region without layers, an unknown edge, a thickness that is
        not positive, a node that no triangle uses, or bodies that touch at a single node.
    NotPositiveDefiniteError
        If the stiffness can't be factored.
    """

    def __init__(
        self,
        mesh: SectionMesh,
        materials: Mapping[str, Material],
        fixed: Mapping[str, str] | None = None,
    ) -> None:
        self.mesh = mesh
        self.materials = dict(materials)
        self.temperature: Array | None = None
        self._expansion: Array | None = None
        self._plain = MeshTri2(mesh.points.T, mesh.triangles.T)
        basis = CellBasis(self._plain, ElementTriP2(), intorder=2)
        number = np.full(len(mesh.points), -1)  # scikit-fem's of each node
        number[mesh.triangles.T] = basis.element_dofs
        if (number < 0).any():
            node = int(np.flatnonzero(number < 0)[0])
            raise ValueError(f"node {node} of the mesh belongs to no triangle. Leave it out.")
        self.dofs = 2 * number[:, None] + np.arange(2)
        middle = mesh.triangles[:, 3:]
        self._uses = np.bincount(middle.ravel(), minlength=len(mesh.points))
        self.bodies = self._find_bodies()
        self._supported = self._supports(fixed or {})
        self.held = self._hold()
        self._pinned = np.union1d(self._supported, self.held)
        vars(self)["_layers"] = LayerStiffness(basis, mesh.region)
        pinned = np.zeros(self.dofs.size, dtype=bool)
        pinned[self._pinned] = True
        self._pinned_entries = self.pattern.touching(pinned)
        self._values = self._assemble()

    @cached_property
    def factor(self) -> Factor:
        """The stiffness, factored when it is first asked."""
        pattern = self.pattern
        return Factor(
            sparse.csc_array(
                (self._values, pattern.rows, pattern.starts), shape=(self.dofs.size,) * 2
            )
        )

    def at(self, temperature: ArrayLike) -> SectionModel:
        """The same section at another temperature: it expands, and softens where it does.

        Parameters
        ----------
        temperature : array_like, shape (n,)
            At ``mesh.points``. [degC]

        Raises
        ------
        ValueError
            If the temperatures are not one for each node, or one is below absolute zero.
        """
        warm = copy(self)
        warm.temperature = np.asarray(temperature, dtype=float)
        warm._expansion = thermal_load(self.mesh, self.materials, warm.temperature)
        if any(self.materials[part].softening for part in self.mesh.parts):
            warm._values = warm._assemble()
            vars(warm)["factor"] = self.factor.refactor(warm._values)
        return warm

    def _by_number(self, temperature: Array | None) -> Array | None:
        """Temperature in the order that scikit-fem gives the nodes."""
        if temperature is None:
            return None
        found = np.empty(len(temperature))
        found[self.dofs[:, 0] // 2] = temperature
        return found

    @cached_property
    def node_bodies(self) -> Integers:
        """Number of the body of each node, shape (n,)."""
        found = np.empty(len(self.mesh.points), dtype=np.int64)
        found[self.mesh.triangles] = self.bodies[:, None]
        return found

    def __getstate__(self) -> dict[str, Any]:
        """What goes to another process: what is quick to make anew, when asked, stays behind."""
        left = ("factor", "_layers", "basis")
        return {name: value for name, value in vars(self).items() if name not in left}

    @cached_property
    def _layers(self) -> LayerStiffness:
        basis = CellBasis(self._plain, ElementTriP2(), intorder=2)
        return LayerStiffness(basis, self.mesh.region)

    @property
    def pattern(self) -> Pattern:
        """Of the stiffness; node k there has the unknowns 2k and 2k + 1 of ``dofs``."""
        return self._layers.pattern

    def stiffness(self, temperature: Array | None = None) -> Array:
        """The stiffness of the bodies, none of them held, between pairs of nodes.

        Parameters
        ----------
        temperature : ndarray, shape (n,), optional
            At ``mesh.points``, for materials that soften. [degC]

        Returns
        -------
        ndarray, shape (2, 2, pattern.size)
            On ``pattern``, by component of the row and of the column. [N/mm]
        """
        return self._layers.blocks(self.mesh.regions, self.materials, self._by_number(temperature))

    def with_layers(
        self,
        regions: Sequence[Sequence[Layer]] | None = None,
        materials: Mapping[str, Material] | None = None,
    ) -> SectionModel:
        """The same mesh and supports with other depths, other materials or both.

        Nothing is meshed, and integrated only where the depth has another profile; the new matrix
        is factored with the old one's ordering. Both models stay good to ask, in any order: see
        :class:`fea.factor.Factor` for what turns between them cost.

        Parameters
        ----------
        regions : sequence of sequence of Layer, optional
            Layers of each region, in the order of ``mesh.regions``.
        materials : mapping of str to Material, optional
            Of the parts whose material changes.

        Raises
        ------
        ValueError
            If there are more or fewer regions than the mesh has, a material is for a part that
            isn't there, or for layers that the constructor would refuse.
        NotPositiveDefiniteError
            If the stiffness can't be factored.
        """
        changed = copy(self)
        if regions is not None:
            if len(regions) != len(self.mesh.regions):
                raise ValueError(
                    f"layers of {len(regions)} regions for a mesh of {len(self.mesh.regions)}. "
                    "Give those of each region."
                )
            changed.mesh = replace(self.mesh, regions=tuple(tuple(layers) for layers in regions))
        known = set(self.materials) | set(changed.mesh.parts)
        if unknown := sorted(set(materials or {}) - known):
            raise ValueError(
                f"no layer of {', '.join(unknown)}. Choose from {', '.join(sorted(known))}."
            )
        changed.materials = {**self.materials, **(materials or {})}
        changed._values = changed._assemble()
        vars(changed)["factor"] = self.factor.refactor(changed._values)
        return changed

    def _assemble(self) -> Array:
        """Entries of the stiffness, the pinned unknowns cut off; what is cut off is kept apart."""
        if missing := sorted(set(self.mesh.parts) - set(self.materials)):
            raise ValueError(f"no material for {', '.join(missing)}. Give one for each part.")
        if () in self.mesh.regions:
            raise ValueError(f"region {self.mesh.regions.index(())} has no layer.")
        values = self._layers.assemble(
            self.mesh.regions, self.materials, self._by_number(self.temperature)
        )
        self._cut_off = cut_off(values, self._pinned_entries, self.dofs.size)
        return values

    @cached_property
    def basis(self) -> CellBasis:
        """Vector basis of quadratic triangles in scikit-fem, its unknowns numbered as ``dofs``."""
        return CellBasis(self._plain, ElementVector(ElementTriP2()), intorder=2)

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
        sides = named_sides(self.mesh, name)
        if (self._uses[sides[:, 2]] > 1).any():
            raise ValueError(f'edge "{name}" lies inside the metal; it can\'t carry a load.')
        return sides

    def _find_bodies(self) -> Integers:
        """Number of the body of each triangle."""
        triangles, n = self.mesh.triangles, len(self.mesh.points)
        bodies = bodies_of(triangles, n)
        if bodies.max() > 0:
            low, high = np.full(n, len(triangles)), np.full(n, -1)
            np.minimum.at(low, triangles[:, :3], bodies[:, None])
            np.maximum.at(high, triangles[:, :3], bodies[:, None])
            if (high > low).any():
                x, y = self.mesh.points[np.flatnonzero(high > low)[0]]
                raise ValueError(f"metal touches at a single point, ({x:.3f}, {y:.3f}) mm.")
        return bodies

    def _supports(self, fixed: Mapping[str, str]) -> Integers:
        dofs = [np.zeros(0, dtype=np.int64)]
        for name, components in fixed.items():
            nodes = np.unique(named_sides(self.mesh, name))
            dofs += [self.dofs[nodes, "xy".index(component)] for component in components]
        return np.unique(np.concatenate(dofs))

    def _hold(self) -> Integers:
        """Unknowns that take what rigid motion the supports leave to each body."""
        held: list[int] = []
        supported = np.isin(self.dofs, self._supported)
        for body in range(int(self.bodies.max()) + 1):
            nodes = np.flatnonzero(self.node_bodies == body)
            points = self.mesh.points[nodes] - self.mesh.points[nodes].mean(axis=0)
            first = int(np.argmax(((points - points[0]) ** 2).sum(axis=1)))
            away = ((points - points[first]) ** 2).sum(axis=1)
            second = int(np.argmax(away))
            across = int(np.argmin(np.abs(points[second] - points[first])))
            points /= np.sqrt(away[second])
            at_supports = supported[nodes]
            some = at_supports.any(axis=1)
            fixed_rows = _rigid_motion(points[some])[at_supports[some]]
            values, vectors = np.linalg.eigh(fixed_rows.T @ fixed_rows)
            taken = vectors[:, values > _RANK**2 * max(1, len(fixed_rows))]
            places = [(first, 0), (first, 1), (second, across), (second, 1 - across)]
            for node, component in places:
                row = _rigid_motion(points[node])[component]
                rest = row - taken @ (taken.T @ row)
                if np.linalg.norm(rest) > _RANK:
                    taken = np.column_stack([taken, rest / np.linalg.norm(rest)])
                    held.append(int(self.dofs[nodes[node], component]))
        return np.array(held, dtype=np.int64)

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

    def solve_forces(self, forces: ArrayLike) -> Solution:
        """Displacement under nodal forces.

        Parameters
        ----------
        forces : array_like, shape (n, 2)
            Forces on the nodes of ``mesh.points``. [N]

        Raises
        ------
        ValueError
            If their shape is another.
        """
        return self.solve_many([forces])[0]

    def solve_many(self, loads: ArrayLike | Sequence[ArrayLike]) -> tuple[Solution, ...]:
        """Displacement under each of several loads.

        Parameters
        ----------
        loads : array_like, shape (k, n, 2)
            For each load, forces on the nodes of ``mesh.points``. [N]

        Raises
        ------
        ValueError
            If their shape is another.
        """
        forces = np.asarray(loads, dtype=float)
        if forces.shape[1:] != self.dofs.shape:
            raise ValueError(
                f"nodal forces have shape {forces.shape[1:]}; the mesh needs {self.dofs.shape}."
            )
        if self._expansion is not None:
            forces = forces + self._expansion
        load = np.zeros((self.dofs.size, len(forces)))
        load[self.dofs] = np.moveaxis(forces, 0, -1)
        free_load = load.copy()
        free_load[self._pinned] = 0
        u = self.factor.solve(free_load)
        reaction = np.zeros_like(load)
        reaction[self._pinned] = (self._cut_off @ u - load)[self._pinned]
        return tuple(
            Solution(
                self,
                of_load[self.dofs],
                reacting[self.dofs],
                reacting[self.held],
                temperature=self.temperature,
            )
            for of_load, reacting in zip(u.T, reaction.T, strict=True)
        )


def _rigid_motion(points: Array) -> Array:
    """Displacement by x, by y, of translation along x, along y and rotation, shape (..., 2, 3)."""
    motion = np.zeros((*points.shape, 3))
    motion[..., 0, 0] = motion[..., 1, 1] = 1
    motion[..., 0, 2], motion[..., 1, 2] = -points[..., 1], points[..., 0]
    return motion

"""A meshed solid made into a system of equations, held and solved.

Factored once, asked often: a further load is a back-substitution (:meth:`SolidModel.solve_many`),
other materials or a temperature that softens are a numeric factorisation on the same ordering.
Every body is held, in no more unknowns than its supports leave it free to move; a load in
equilibrium feels nothing of that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse

from fea.assembly import Pattern, cut_off
from fea.factor import Factor
from fea.heat.thermal import checked_temperature
from fea.material import REFERENCE, Material
from fea.solid.assembly import PrismPairs, thermal_load
from fea.solid.faces import Traction, face_work, named_nodes
from fea.solid.holds import body_holds
from fea.solid.ordering import node_order
from fea.solid.smoothing import Smoothing
from fea.solid.topology import Topology
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Pressure = Callable[[Array, Array, Array], Array]
"""p(x, y, z) [MPa]; arrays of any shape."""


@dataclass(frozen=True, eq=False)
class SolidSolution:
    """Displacement of a solid under one load.

    Attributes
    ----------
    model : SolidModel
    displacement : ndarray, shape (n, 3)
        In the order of ``model.mesh.points``. [mm]
    carriers : ndarray of int, shape (r,)
        Unknowns at which supports and holds act.
    carried : ndarray, shape (r,)
        Their forces on the metal. [N]
    hold_reactions : ndarray, shape (h,)
        Those of the holds against rigid motion; zero when the load is in equilibrium. [N]
    temperature : ndarray, shape (n,), or None
        Whose strain the load holds; the stress has it taken out. [degC]
    """

    model: SolidModel
    displacement: Array
    carriers: Integers
    carried: Array
    hold_reactions: Array
    temperature: Array | None = None

    @property
    def reactions(self) -> Array:
        """What is carried at each node, zero where nothing is held, shape (n, 3). [N]."""
        found = np.zeros(self.displacement.size)
        found[self.carriers] = self.carried
        return found.reshape(-1, 3)


class SolidModel:
    """The equations of a solid: stiffness by part, every body held, factored.

    Bodies are found by the faces that prisms share. What rigid motion the supports leave to one
    is held at three of its nodes that lie far apart.

    Parameters
    ----------
    mesh : SolidMesh
    materials : mapping of str to Material
        One for each of ``mesh.parts``.
    fixed : mapping of str to str
        Displacement components held at zero on named faces, ``{"crankcase": "z"}`` or ``"xyz"``.
    supported : array_like of int, optional
        Further unknowns held at zero, of single nodes or lines; node k has the unknowns 3k, 3k + 1
        and 3k + 2.

    Attributes
    ----------
    topology : Topology
        Faces of the prisms.
    bodies : ndarray, shape (m,)
        Number of the connected body of each prism.
    supported, held : ndarray, shape (s,), (h,)
        Unknowns that are supported, and those held against rigid motion; node k has the unknowns
        3k, 3k + 1 and 3k + 2.
    temperature : ndarray, shape (n,), or None
        None at 20 degC. [degC]

    Raises
    ------
    ValueError
        For a part without material, an unknown face or component, a node that no prism uses, or
        bodies that share no more than an edge or a node; for a prism turned inside out when it is
        first assembled.
    NotPositiveDefiniteError
        If the stiffness can't be factored.
    """

    def __init__(
        self,
        mesh: SolidMesh,
        materials: Mapping[str, Material],
        fixed: Mapping[str, str] | None = None,
        supported: ArrayLike = (),
    ) -> None:
        self.mesh = mesh
        self.materials = _checked(materials, mesh.parts)
        self.temperature: Array | None = None
        self._expansion: Array | None = None
        used = np.zeros(len(mesh.points), dtype=bool)
        used[mesh.prisms] = True
        if not used.all():
            raise ValueError(
                f"node {np.argmin(used)} of the mesh belongs to no prism. Leave it out."
            )
        self.topology = Topology(mesh)
        self.bodies = self.topology.bodies
        self.supported = np.union1d(
            self._supports(fixed or {}), np.asarray(supported, dtype=np.int64)
        )
        self.held = body_holds(mesh, self.bodies, self.supported)
        self._pinned = np.union1d(self.supported, self.held)
        self._pairs = PrismPairs(mesh)
        pinned = np.zeros(mesh.points.size, dtype=bool)
        pinned[self._pinned] = True
        self._pinned_entries = self.pattern.touching(pinned)
        self._cut_off: sparse.csr_array | None = None

    @cached_property
    def factor(self) -> Factor:
        """The stiffness, assembled and factored when it is first asked."""
        pattern, size = self.pattern, self.mesh.points.size
        values = self._assemble()
        lower = sparse.csc_array((values, pattern.rows, pattern.starts), shape=(size, size))
        order = node_order(self.mesh)
        return Factor(lower, order.unknowns(), order.entries)

    @cached_property
    def smoothing(self) -> Smoothing:
        """What stress is recovered with (:mod:`fea.solid.stress`), made when it is first asked."""
        return Smoothing(self.mesh, self.topology, _metals(self.materials))

    def smooth_as(self, known: Smoothing) -> None:
        """Recover stress as the same prisms with other nodes do, where that serves."""
        if found := known.on(self.mesh, _metals(self.materials)):
            vars(self)["smoothing"] = found

    @property
    def pattern(self) -> Pattern:
        """Of the stiffness, in the numbers of ``mesh.points``."""
        return self._pairs.pattern

    def at(self, temperature: ArrayLike) -> SolidModel:
        """The same solid at another temperature: it expands, and softens where it does.

        Parameters
        ----------
        temperature : array_like, shape (n,)
            At ``mesh.points``. [degC]

        Raises
        ------
        ValueError
            If the temperatures are not one for each node, or one is below absolute zero.
        """
        factor = self.factor
        warm = self.warmed(temperature)
        warm._expansion = warm.expansion()
        softer = any(material.softening for material in self.materials.values())
        if softer and not (self.temperature is None and np.all(warm.temperature == REFERENCE)):
            warm._refactor(factor)
        else:
            vars(warm)["factor"] = factor
        return warm

    def expansion(self) -> Array:
        """Nodal forces of the thermal strain at the temperature of the model, shape (n, 3). [N]."""
        if self.temperature is None:
            return np.zeros_like(self.mesh.points)
        return thermal_load(self.mesh, self.materials, self.temperature)

    def warmed(self, temperature: ArrayLike) -> SolidModel:
        """The same at another temperature for what solves it by other means; not to be asked.

        Raises
        ------
        ValueError
            As :meth:`at`.
        """
        _ = self.smoothing  # shared
        warm = copy(self)
        vars(warm).pop("factor", None)
        warm.temperature = checked_temperature(len(self.mesh.points), temperature)
        return warm

    def with_materials(self, materials: Mapping[str, Material]) -> SolidModel:
        """The same mesh, supports and temperature with other materials.

        The new matrix is factored with the old one's ordering, unless it is the same; or by itself
        when it is first asked, where the old one has not been. Both models stay good to ask, in any
        order: see :class:`fea.factor.Factor` for what turns between them cost.

        Parameters
        ----------
        materials : mapping of str to Material
            Of the parts whose material changes.

        Raises
        ------
        ValueError
            If a material is for a part that isn't there.
        NotPositiveDefiniteError
            If the stiffness can't be factored.
        """
        if unknown := sorted(set(materials) - set(self.mesh.parts)):
            raise ValueError(
                f"no part is named {', '.join(unknown)}. Choose from {', '.join(self.mesh.parts)}."
            )
        factor = vars(self).get("factor")
        changed = copy(self)
        changed.materials = {**self.materials, **materials}
        if _metals(changed.materials) != _metals(self.materials):
            vars(changed).pop("smoothing", None)
        if self.temperature is not None:
            changed._expansion = changed.expansion()
        stiff = [
            {part: (of.youngs_modulus, of.poisson, of.softening) for part, of in each.items()}
            for each in (self.materials, changed.materials)
        ]
        if factor is not None and stiff[0] != stiff[1]:
            changed._refactor(factor)
        return changed

    def _refactor(self, factor: Factor) -> None:
        vars(self)["factor"] = factor.refactor(self._assemble())

    def stiffness(self) -> Array:
        """The stiffness of the bodies, none of them held, between pairs of nodes.

        Returns
        -------
        ndarray, shape (3, 3, pattern.size)
            On ``pattern``, by component of the row and of the column. [N/mm]
        """
        return self._pairs.stiffness(self.materials, self.temperature)

    def _assemble(self) -> Array:
        """Entries of the stiffness, the pinned unknowns cut off; what is cut off is kept apart."""
        values = self.pattern.entries(self.stiffness())
        self._cut_off = cut_off(values, self._pinned_entries, self.mesh.points.size)
        return values

    def _supports(self, fixed: Mapping[str, str]) -> Integers:
        dofs = [np.zeros(0, dtype=np.int64)]
        for name, components in fixed.items():
            if wrong := set(components) - set("xyz"):
                raise ValueError(
                    f'"{name}" is held along {", ".join(sorted(wrong))}. Choose from x, y and z.'
                )
            nodes = named_nodes(self.mesh, name)
            dofs += [3 * nodes + "xyz".index(component) for component in components]
        return np.unique(np.concatenate(dofs))

    def pressure_load(
        self, name: str, pressure: float | Pressure, reach: float | None = None
    ) -> Array:
        """Nodal forces of a pressure on the faces of a name, T = -p n.

        Parameters
        ----------
        name : str
        pressure : float or callable
            Positive pushing on the metal; p(x, y, z) of arrays of any shape. [MPa]
        reach : float, optional
            Depth below the deck to which it acts; faces are cut there, so that a jump of
            pressure inside an element is met. [mm]

        Returns
        -------
        ndarray, shape (n, 3)
            [N]

        Raises
        ------
        ValueError
            If no face has the name.
        """

        def traction(place: Array, normal: Array) -> Array:
            return -normal * (pressure(*place) if callable(pressure) else pressure)

        return self.face_load(name, traction, reach)

    def face_load(self, name: str, traction: Traction, reach: float | None = None) -> Array:
        """Nodal forces of a traction on the faces of a name (:func:`fea.solid.faces.face_work`)."""
        return face_work(self.mesh, name, traction, reach)

    def solve(self, forces: ArrayLike) -> SolidSolution:
        """Displacement under nodal forces, shape (n, 3), as :meth:`solve_many`. [N]."""
        return self.solve_many([forces])[0]

    def solve_many(self, loads: ArrayLike | Sequence[ArrayLike]) -> tuple[SolidSolution, ...]:
        """Displacement under each of several loads.

        Parameters
        ----------
        loads : array_like, shape (k, n, 3)
            For each load, forces on the nodes of ``mesh.points``; the thermal strain of a model
            :meth:`at` a temperature comes on top. [N]

        Raises
        ------
        ValueError
            If their shape is another.
        """
        forces = np.asarray(loads, dtype=float)
        if forces.shape[1:] != self.mesh.points.shape:
            raise ValueError(
                f"nodal forces have shape {forces.shape[1:]}; the mesh needs "
                f"{self.mesh.points.shape}."
            )
        if self._expansion is not None:
            forces = forces + self._expansion
        load = forces.reshape(len(forces), -1).T
        free_load = load.copy()
        free_load[self._pinned] = 0
        u, loaded = np.zeros_like(free_load), free_load.any(axis=0)
        factor = self.factor
        if loaded.any():  # no load moves nothing
            u[:, loaded] = factor.solve(free_load[:, loaded])
        assert self._cut_off is not None  # since it was factored
        carried = (self._cut_off @ u - load)[self._pinned]
        held = np.searchsorted(self._pinned, self.held)
        return tuple(
            SolidSolution(
                self, displacement.reshape(-1, 3), self._pinned, own, own[held], self.temperature
            )
            for displacement, own in zip(u.T, carried.T, strict=True)
        )


def _metals(materials: Mapping[str, Material]) -> list[tuple[str, ...]]:
    """Parts by their material, those of one together."""
    parts: dict[Material, tuple[str, ...]] = {}
    for part, material in materials.items():
        parts[material] = (*parts.get(material, ()), part)
    return list(parts.values())


def _checked(materials: Mapping[str, Material], parts: Sequence[str]) -> dict[str, Material]:
    if missing := sorted(set(parts) - set(materials)):
        raise ValueError(f"no material for {', '.join(missing)}. Give one for each part.")
    return {part: materials[part] for part in parts}

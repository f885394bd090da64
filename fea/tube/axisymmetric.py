r"""Bodies of revolution seen from the side, under loads that are the same all round.

Radius r and depth z, in quadratic quadrilaterals on a grid of straight lines. Find the displacement
u = (u_r, u_z) with a(u, v) + s(u, v) = L(v) for every v that respects the supports,

.. math::

    a(u, v) = \int \sigma(u) : \varepsilon(v)\, 2 \pi r \,dr\,dz, \quad
    \varepsilon_\theta = u_r / r, \quad
    s(u, v) = \int k\, u_r v_r\, 2 \pi r \,dz, \quad
    L(v) = \int t \cdot v\, 2 \pi r \,ds,

with sigma the three-dimensional Hooke's law, k a backing: pressure on the outside for each mm that
it moves out [MPa/mm, that is N/mm per mm2], and t a traction [MPa]. Forces are of the whole turn.
Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, stress symmetrical about an axis.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import (
    BilinearForm,
    CellBasis,
    ElementQuad2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshQuad,
)

from fea.factor import Factor
from fea.material import Material

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
ByDepth = Callable[[Array], Array]
"""A value at depths z of any shape [mm]."""
Traction = Callable[[Array, Array], tuple[Array, Array] | Array]
"""t(r, z) -> radial and axial traction, shape (2, ...) [MPa]."""

SLEEVE_SIDES = {"inside": (0, -1), "outside": (0, 1), "top": (1, -1), "bottom": (1, 1)}
"""Where a side looks: coordinate, and way along it."""

_ORDER = 5  # of the quadrature: 3 x 3 points
_GAUSS = 0.5 + np.array([-0.5, 0.5]) / np.sqrt(3)
_PLACES = np.array([[x, y] for x in _GAUSS for y in _GAUSS]).T
"""Where the strain of a quadratic element is best, in the unit square: Barlow, *Int. J. Numer.
Meth. Eng.* 10 (1976) 243-251 (from memory)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Sleeve:
    """A rectangle of the half section, of one part."""

    part: str
    inner: float  # radius [mm]
    outer: float  # radius [mm]
    top: float  # depth [mm]
    bottom: float  # depth [mm]

    def __post_init__(self) -> None:
        if not (0 <= self.inner < self.outer and self.top < self.bottom):
            raise ValueError(
                f"sleeve of {self.part}: radii {self.inner:g} to {self.outer:g} mm and depths "
                f"{self.top:g} to {self.bottom:g} mm must rise, the radii from 0 on."
            )


@BilinearForm
def internal_work(u, v, w):  # type: ignore[no-untyped-def]
    """Virtual work of the stress, a(u, v) = ∫ σ(u) : ε(v) 2πr dr dz."""
    (rr, zz, rz, around), (rr_v, zz_v, rz_v, around_v) = (_strain(x, w.x[0]) for x in (u, v))
    dilation = w.lam * (rr + zz + around) * (rr_v + zz_v + around_v)
    product = rr * rr_v + zz * zz_v + around * around_v + 2 * rz * rz_v
    return 2 * np.pi * w.x[0] * (dilation + 2 * w.mu * product)


@BilinearForm
def backing_work(u, v, w):  # type: ignore[no-untyped-def]
    """Virtual work of a backing, s(u, v) = ∫ k u v 2πr dz, u and v radial."""
    return 2 * np.pi * w.x[0] * w.k * u * v


@LinearForm
def traction_work(v, w):  # type: ignore[no-untyped-def]
    """Virtual work of a traction, L(v) = ∫ t·v 2πr ds."""
    return 2 * np.pi * w.x[0] * (w.radial * v[0] + w.axial * v[1])


def _strain(u: Any, r: Any) -> tuple[Any, Any, Any, Any]:
    """Strains rr, zz, tensor rz and around the axis."""
    return u.grad[0, 0], u.grad[1, 1], (u.grad[0, 1] + u.grad[1, 0]) / 2, u[0] / r


class AxisymmetricModel:
    """A half section of sleeves, meshed and factored; a load or a backing more costs little.

    Parameters
    ----------
    sleeves : sequence of Sleeve
        They touch, and don't lie over one another; what they leave open is no metal.
    materials : mapping of str to Material
        By part.
    size : float
        Largest side of an element. [mm]
    lines : iterable of float
        Depths at which elements shall end, such as those where a load or a backing ends. [mm]
    fixed : mapping of str to str
        Side, of ``SLEEVE_SIDES``, to what is held there: "r", "z" or "rz".

    Attributes
    ----------
    points : ndarray, shape (n, 2)
        r and z of the nodes. [mm]
    part : tuple of str
        Part of each element.

    Raises
    ------
    ValueError
        If two sleeves overlap, a part has no material, the size is not positive, a side is
        unknown, or nothing holds the body along the axis.
    """

    def __init__(
        self,
        sleeves: Sequence[Sleeve],
        materials: Mapping[str, Material],
        *,
        size: float,
        lines: Iterable[float] = (),
        fixed: Mapping[str, str],
    ) -> None:
        if not size > 0:
            raise ValueError(f"size = {size:g} mm must be positive.")
        if missing := sorted({sleeve.part for sleeve in sleeves} - set(materials)):
            raise ValueError(f"no material for {', '.join(missing)}. Give one for each part.")
        if not any("z" in held for held in fixed.values()):
            raise ValueError('nothing holds the body along the axis. Fix a side, "bottom": "rz".')
        self.materials = dict(materials)
        self.mesh, self.part = _grid(sleeves, size, lines)
        self._scalar = CellBasis(self.mesh, ElementQuad2(), intorder=_ORDER)
        self._vector = CellBasis(self.mesh, ElementVector(ElementQuad2()), intorder=_ORDER)
        self.points: Array = self._scalar.doflocs.T
        self.dofs = np.empty(self.points.shape, dtype=np.int64)
        for component in range(2):
            places = self._vector.element_dofs[component::2]
            self.dofs[self._scalar.element_dofs, component] = places
        held = [np.zeros(0, dtype=np.int64)]
        for side, components in fixed.items():
            nodes = self.nodes(side)
            held += [self.dofs[nodes, "rz".index(component)] for component in components]
        self.held = np.unique(np.concatenate(held))
        self._free = np.setdiff1d(np.arange(self.dofs.size), self.held)
        lam, mu = self._moduli(self._vector)
        self._stiffness = internal_work.assemble(self._vector, lam=lam, mu=mu).tocsr()
        cut = self._stiffness[self._free][:, self._free]
        self.factor = Factor(sparse.csc_array(sparse.tril(cut)))

    def _moduli(self, basis: CellBasis) -> tuple[Array, Array]:
        """Three-dimensional Lamé pair at the quadrature points of each element. [MPa]."""
        made = [self.materials[part] for part in self.part]
        mu = np.array([material.mu for material in made])
        nu = np.array([material.poisson for material in made])
        lam = 2 * mu * nu / (1 - 2 * nu)
        points = (1, basis.X.shape[-1])
        return np.tile(lam[:, None], points), np.tile(mu[:, None], points)

    def _facets(self, side: str) -> Integers:
        """Facets of the surface that look the way of a side."""
        if side not in SLEEVE_SIDES:
            raise ValueError(f'there is no side "{side}". Choose from {", ".join(SLEEVE_SIDES)}.')
        axis, way = SLEEVE_SIDES[side]
        border = self.mesh.boundary_facets()
        ends = self.mesh.p[axis][self.mesh.facets[:, border]]
        middle = self.mesh.p[axis][self.mesh.t].mean(axis=0)[self.mesh.f2t[0, border]]
        outward = way * (ends[0] - middle) > 0
        found: Integers = border[(ends[0] == ends[1]) & outward]
        return found

    def nodes(self, side: str) -> Integers:
        """Nodes of a side, shape (k,), from the deck down and from the axis out.

        Raises
        ------
        ValueError
            If there is no such side.
        """
        found = self._scalar.get_dofs(self._facets(side)).flatten()
        r, z = self.points[found].T
        return np.asarray(found[np.lexsort([r, z])], dtype=np.int64)

    def elements(self, part: str) -> Integers:
        """Elements of a part, shape (k,).

        Raises
        ------
        ValueError
            If there is no such part.
        """
        own = np.flatnonzero([name == part for name in self.part])
        if not len(own):
            known = ", ".join(dict.fromkeys(self.part))
            raise ValueError(f'there is no part "{part}". Choose from {known}.')
        return own

    def rows(self, part: str) -> tuple[Array, Integers]:
        """Upper and lower ends of a part's rows of elements, and the row of each element.

        Returns
        -------
        ends : ndarray, shape (2, rows)
            From the deck down. [mm]
        row : ndarray, shape (elements of the part,)

        Raises
        ------
        ValueError
            If there is no such part.
        """
        z = self.mesh.p[1][self.mesh.t[:, self.elements(part)]]
        both = np.stack([z.min(axis=0), z.max(axis=0)])
        ends, row = np.unique(both, axis=1, return_inverse=True)
        return ends, row.ravel()

    def load(self, side: str, traction: Traction) -> Array:
        """Nodal forces, shape (unknowns,), of a traction on a side. [N].

        Raises
        ------
        ValueError
            If there is no such side.
        """
        basis = FacetBasis(
            self.mesh, ElementVector(ElementQuad2()), facets=self._facets(side), intorder=_ORDER
        )
        r, z = np.asarray(basis.global_coordinates())
        radial, axial = (np.broadcast_to(part, r.shape) for part in traction(r, z))
        return np.asarray(traction_work.assemble(basis, radial=radial, axial=axial))

    def pressure(self, side: str, p: ByDepth) -> Array:
        """Nodal forces, shape (unknowns,), of a pressure that pushes on a side. [N].

        Raises
        ------
        ValueError
            If there is no such side.
        """
        axis, way = SLEEVE_SIDES.get(side, (0, 0))

        def push(_r: Array, z: Array) -> tuple[Array, Array]:
            pushed, none = -way * np.asarray(p(z)), np.zeros_like(z)
            return (pushed, none) if axis == 0 else (none, pushed)

        return self.load(side, push)

    @cached_property
    def _outside(self) -> Integers:
        return self.nodes("outside")

    @cached_property
    def _moved(self) -> Array:
        """Displacement, shape (unknowns, k), by a radial force of 1 N at each outside node."""
        forces = np.zeros((self.dofs.size, len(self._outside)))
        forces[self.dofs[self._outside, 0], np.arange(len(self._outside))] = 1.0
        return self._answer(forces)

    @cached_property
    def _outside_basis(self) -> FacetBasis:
        return FacetBasis(
            self.mesh, ElementQuad2(), facets=self._facets("outside"), intorder=_ORDER
        )

    def _springs(self, k: Array) -> Array:
        """Matrix of s(u, v) between the radial unknowns of the outside. [N/mm]."""
        springs = backing_work.assemble(self._outside_basis, k=k).tocsr()
        return np.asarray(springs[self._outside][:, self._outside].toarray())

    @cached_property
    def _least_backing(self) -> float:
        """Backing, the same all the way down, at which the body has no stiffness left."""
        even = self._springs(np.ones(self._outside_basis.dx.shape))
        softness = np.linalg.eigvals(self._moved[self.dofs[self._outside, 0]] @ even)
        return -1 / float(softness.real.max())

    @cached_property
    def _best(self) -> CellBasis:
        """The places of an element where its strain is best."""
        quadrature = (_PLACES, np.full(4, 0.25))
        return CellBasis(self.mesh, ElementVector(ElementQuad2()), quadrature=quadrature)

    def _answer(self, forces: Array) -> Array:
        u = np.zeros_like(forces)
        u[self._free] = self.factor.solve(forces[self._free])
        return u

    def solve(self, forces: Array, backing: ByDepth | None = None) -> AxisymmetricSolution:
        r"""Displacement under nodal forces, with a backing on the outside where one is given.

        The backing is brought in through the displacement that unit forces on the outside make,
        so that another one costs no factorisation: with C that displacement at the outside, S the
        matrix of s(u, v) and v_0 the answer without backing, v = (1 + C S)^-1 v_0 there.

        Parameters
        ----------
        forces : ndarray, shape (unknowns,)
            Of :meth:`load` and :meth:`pressure`. [N]
        backing : callable, optional
            k(z); a negative one pulls along. [MPa/mm]

        Raises
        ------
        ValueError
            If a negative backing would, all the way down, leave the body no stiffness.
        """
        u = self._answer(forces)
        if backing is None:
            return AxisymmetricSolution(self, u, forces)
        z = np.asarray(self._outside_basis.global_coordinates())[1]
        k = np.asarray(backing(z), dtype=float)
        if k.min() <= self._least_backing:
            raise ValueError(
                f"a backing of {k.min():g} MPa/mm pushes out more than the metal holds. It must "
                f"be above {self._least_backing:.4g} MPa/mm."
            )
        springs, radial = self._springs(k), self.dofs[self._outside, 0]
        stiff = np.eye(len(radial)) + self._moved[radial] @ springs
        pushed = springs @ np.linalg.solve(stiff, u[radial])
        held_back = np.zeros_like(forces)
        held_back[radial] = -pushed
        return AxisymmetricSolution(self, u - self._moved @ pushed, forces + held_back)


class AxisymmetricSolution:
    """A displacement and the stress that comes of it.

    Attributes
    ----------
    model : AxisymmetricModel
    displacement : ndarray, shape (n, 2)
        Radial and axial, of ``model.points``. [mm]
    """

    def __init__(self, model: AxisymmetricModel, unknowns: Array, forces: Array) -> None:
        self.model = model
        self._unknowns, self._forces = unknowns, forces
        self.displacement: Array = unknowns[model.dofs]

    @cached_property
    def reactions(self) -> Array:
        """Forces of the supports on the nodes, shape (n, 2). [N]."""
        model = self.model
        found = np.zeros_like(self._unknowns)
        found[model.held] = (model._stiffness[model.held] @ self._unknowns) - self._forces[
            model.held
        ]
        return np.asarray(found[model.dofs])

    @cached_property
    def _at_gauss(self) -> tuple[Array, Array]:
        """Stress rr, zz, rz, around, shape (4, elements, 4), and area x 1, shape (elements, 4)."""
        model, basis = self.model, self.model._best
        u = basis.interpolate(self._unknowns)
        strain = np.stack(_strain(u, np.asarray(basis.global_coordinates())[0]))
        lam, mu = model._moduli(basis)
        stress = 2 * mu * strain
        stress[[0, 1, 3]] += lam * (strain[0] + strain[1] + strain[3])
        return stress, basis.dx

    def stress(self, part: str) -> tuple[Integers, Array]:
        """Stress of a part at its nodes, from the best places of its elements.

        Parameters
        ----------
        part : str

        Returns
        -------
        nodes : ndarray, shape (k,)
            Into ``model.points``.
        stress : ndarray, shape (4, k)
            Radial, axial, shear rz and hoop. [MPa]

        Raises
        ------
        ValueError
            If there is no such part.
        """
        model = self.model
        own = model.elements(part)
        places = ElementQuad2.doflocs.T  # (2, 9) in the unit square
        x, y = (places[:, :, None] - (1 - _GAUSS)[None, None]) / (2 * _GAUSS - 1)[None, None]
        shares = np.stack([x[:, i] * y[:, j] for i in range(2) for j in range(2)])  # (4, 9)
        at_nodes = np.einsum("ceg,ga->cea", self._at_gauss[0][:, own], shares)
        nodes = model._scalar.element_dofs[:, own].T
        used, place = np.unique(nodes, return_inverse=True)
        total = np.stack([np.bincount(place.ravel(), values.ravel()) for values in at_nodes])
        return used, total / np.bincount(place.ravel())

    def row_stress(self, part: str) -> Array:
        """Mean stress of a part over its wall, row of elements by row.

        Parameters
        ----------
        part : str

        Returns
        -------
        ndarray, shape (4, rows)
            Radial, axial, shear rz and hoop, from the deck down as
            :meth:`AxisymmetricModel.rows` has them. [MPa]

        Raises
        ------
        ValueError
            If there is no such part.
        """
        own, row = self.model.elements(part), self.model.rows(part)[1]
        stress, area = self._at_gauss
        weighed = (stress[:, own] * area[own]).sum(axis=-1)
        total = np.stack([np.bincount(row, values) for values in weighed])
        return np.asarray(total / np.bincount(row, area[own].sum(axis=-1)))


def _grid(
    sleeves: Sequence[Sleeve], size: float, lines: Iterable[float]
) -> tuple[MeshQuad, tuple[str, ...]]:
    """Mesh of the sleeves, and the part of each element."""
    top, bottom = min(s.top for s in sleeves), max(s.bottom for s in sleeves)
    inside = [z for z in lines if top < z < bottom]
    r = _cut({edge for s in sleeves for edge in (s.inner, s.outer)}, size)
    z = _cut({edge for s in sleeves for edge in (s.top, s.bottom)} | set(inside), size)
    mesh = MeshQuad.init_tensor(r, z)
    middle_r, middle_z = mesh.p[:, mesh.t].mean(axis=1)
    owner = np.full(mesh.nelements, -1)
    for number, s in enumerate(sleeves):
        own = (s.inner < middle_r) & (middle_r < s.outer) & (s.top < middle_z)
        own &= middle_z < s.bottom
        if (owner[own] >= 0).any():
            other = sleeves[int(owner[own].max())]
            raise ValueError(f"sleeves of {other.part} and {s.part} lie over one another.")
        owner[own] = number
    kept = np.flatnonzero(owner >= 0)
    return mesh.restrict(kept), tuple(sleeves[number].part for number in owner[kept])


def _cut(edges: Iterable[float], size: float) -> Array:
    """Lines from edge to edge, no further apart than ``size``; edges nearer than 1e-9 are one."""
    kept: list[float] = []
    for edge in sorted(edges):
        if not kept or edge - kept[-1] > 1e-9:
            kept.append(edge)
    lines = [kept[:1]]
    for low, high in pairwise(kept):
        lines.append(list(np.linspace(low, high, ceil((high - low) / size - 1e-9) + 1)[1:]))
    return np.concatenate([np.asarray(part) for part in lines])

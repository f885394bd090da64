"""Integrals over the prisms of a solid: stiffness on a pattern found once, thermal load."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from fea.assembly import Pattern
from fea.material import Material
from fea.solid.elasticity import lame, solid_stiffness, thermal_stress
from fea.solid.shapes import PRISM_POINTS, PRISM_WEIGHTS, prism_shapes
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

AT_ONCE = 500
"""Prisms integrated together, so that their matrices stay near."""
_VALUES, _DERIVATIVES = prism_shapes(PRISM_POINTS)  # (q, 18), (q, 3, 18)
_LOW = np.tril_indices(18)


class InvertedPrismError(ValueError):
    """A prism is turned inside out, or so bent that it overlaps itself."""


@dataclass(frozen=True, eq=False, slots=True)
class PrismPlaces:
    """Quadrature points of some prisms.

    Attributes
    ----------
    shapes : ndarray, shape (q, 18)
        Value of each node's function; the same in all prisms.
    gradients : ndarray, shape (k, q, 3, 18)
        Derivatives of each node's function by x, y, z. [1/mm]
    volume : ndarray, shape (k, q)
        Share of the volume. [mm3]
    """

    shapes: Array
    gradients: Array
    volume: Array


def gradients_at(corners: Array, derivatives: Array) -> tuple[Array, Array]:
    """Derivatives of the shape functions by x, y, z at places of prisms.

    Parameters
    ----------
    corners : ndarray, shape (k, 18, 3)
        Nodes of each prism. [mm]
    derivatives : ndarray, shape (q, 3, 18)
        By r, s and zeta at each place.

    Returns
    -------
    gradients : ndarray, shape (k, q, 3, 18)
        [1/mm]
    volume : ndarray, shape (k, q)
        Volume over that of the reference prism; negative where it is turned inside out. [mm3]
    """
    q = len(derivatives)
    jacobian = (derivatives.reshape(3 * q, 18) @ corners).reshape(-1, q, 3, 3)
    r, s, t = (jacobian[..., i, :] for i in range(3))
    # rows of the adjugate's transpose
    cofactors = np.stack([np.cross(s, t), np.cross(t, r), np.cross(r, s)], axis=-1)
    volume = np.einsum("kqi,kqi->kq", r, cofactors[..., 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        inverse = cofactors / volume[..., None, None]
    return inverse @ derivatives, volume


def in_prisms(points: Array, prisms: Integers) -> PrismPlaces:
    """Quadrature points of prisms.

    Parameters
    ----------
    points : ndarray, shape (n, 3)
        [mm]
    prisms : ndarray, shape (k, 18)

    Raises
    ------
    InvertedPrismError
        If the volume at one of them is not positive.
    """
    gradients, volume = gradients_at(points[prisms], _DERIVATIVES)
    wrong = ~(volume > 0).all(axis=1)
    if wrong.any():
        x, y, z = points[prisms[np.argmax(wrong)]].mean(axis=0)
        raise InvertedPrismError(
            f"{wrong.sum()} prisms are turned inside out, the first about ({x:.3f}, {y:.3f}, "
            f"{z:.3f}) mm. Use smaller elements there."
        )
    return PrismPlaces(_VALUES, gradients, volume * PRISM_WEIGHTS)


def batches(count: int) -> Iterator[slice]:
    """Stretches of prisms that are integrated together."""
    for start in range(0, count, AT_ONCE):
        yield slice(start, min(start + AT_ONCE, count))


class PrismForces:
    r"""Nodal forces of stress in a solid, by gradients that are kept: no matrix is assembled.

    .. math:: f_a = \int \sigma \nabla N_a \,dV

    Quadrature is that of the stiffness.

    Parameters
    ----------
    mesh : SolidMesh

    Attributes
    ----------
    volume : ndarray, shape (m, q)
        Share of the volume at quadrature points of each prism. [mm3]
    """

    def __init__(self, mesh: SolidMesh) -> None:
        self._mesh, (m, q) = mesh, (len(mesh.prisms), len(PRISM_WEIGHTS))
        self._gradients, self.volume = np.empty((m, 3 * q, 18)), np.empty((m, q))
        for some in batches(m):
            places = in_prisms(mesh.points, mesh.prisms[some])
            self._gradients[some] = places.gradients.reshape(-1, 3 * q, 18)
            self.volume[some] = places.volume

    def of_strain(self, displacement: Array, lam: Array, mu: Array) -> Array:
        """Of the stress that the strain of a displacement makes.

        Parameters
        ----------
        displacement : ndarray, shape (n, 3)
            [mm]
        lam, mu : ndarray, shape (m, q)
            Lame's constants at quadrature points. [MPa]

        Returns
        -------
        ndarray, shape (n, 3)
            [N]
        """
        forces = np.zeros_like(displacement)
        for some in batches(len(self.volume)):
            nodes, gradients = self._mesh.prisms[some], self._gradients[some]
            slopes = (gradients @ displacement[nodes]).reshape(len(nodes), -1, 3, 3)
            growth = slopes[..., 0, 0] + slopes[..., 1, 1] + slopes[..., 2, 2]
            stress = slopes + slopes.swapaxes(2, 3)
            stress *= (mu[some] * self.volume[some])[..., None, None]
            stress[..., range(3), range(3)] += (lam[some] * self.volume[some] * growth)[..., None]
            self._add(forces, nodes, gradients, stress)
        return forces

    def of_pressure(self, pressure: Array) -> Array:
        """Of a tension that is the same on all sides, shape (m, q) [MPa]; shape (n, 3). [N]."""
        forces = np.zeros_like(self._mesh.points)
        for some in batches(len(self.volume)):
            nodes, held = self._mesh.prisms[some], pressure[some] * self.volume[some]
            self._add(forces, nodes, self._gradients[some], held[..., None, None] * np.eye(3))
        return forces

    def _add(self, forces: Array, nodes: Integers, gradients: Array, stress: Array) -> None:
        of_nodes = gradients.swapaxes(1, 2) @ stress.reshape(len(nodes), -1, 3)
        for i in range(3):
            forces[:, i] += np.bincount(
                nodes.ravel(), of_nodes[..., i].ravel(), minlength=len(forces)
            )


class PrismPairs:
    """Pairs of nodes that prisms couple, and integrals for them.

    Parameters
    ----------
    mesh : SolidMesh
    components : int
        Unknowns of a node: 3 of a displacement, 1 of a temperature.

    Attributes
    ----------
    pattern : Pattern
        In the numbers of ``mesh.points``.
    """

    def __init__(self, mesh: SolidMesh, components: int = 3) -> None:
        self._mesh = mesh
        self._ascending = np.argsort(mesh.prisms, axis=1)
        nodes = np.take_along_axis(mesh.prisms, self._ascending, axis=1)
        self.pattern = Pattern(nodes[:, _LOW[0]], nodes[:, _LOW[1]], components)

    def products(self, some: slice, factor: Array | None = None) -> Array:
        r"""Integrals of a factor times products of gradients, pair by pair.

        .. math:: H_{ab,ij} = \int f N_{a,i} N_{b,j} \,dV

        Parameters
        ----------
        some : slice
            Prisms.
        factor : ndarray, shape (k, q), optional
            f at their quadrature points; 1 without.

        Returns
        -------
        ndarray, shape (3, 3, k, 171)
            By i, j, prism, and pair in the order of ``pattern.pairs``. [mm]
        """
        places = in_prisms(self._mesh.points, self._mesh.prisms[some])
        order = self._ascending[some, None, None]
        gradients = np.take_along_axis(places.gradients, order, axis=3)
        k, q = places.volume.shape
        gradients = gradients.reshape(k, q, -1)
        weights = places.volume if factor is None else factor * places.volume
        whole = (gradients * weights[..., None]).swapaxes(1, 2) @ gradients
        whole = whole.reshape(k, 3, 18, 3, 18)
        return np.stack([[whole[:, i, _LOW[0], j, _LOW[1]] for j in range(3)] for i in range(3)])

    def stiffness(
        self, materials: Mapping[str, Material], temperature: Array | None = None
    ) -> Array:
        """Stiffness between the nodes of each pair of the pattern.

        Parameters
        ----------
        materials : mapping of str to Material
            By part.
        temperature : ndarray, shape (n,), optional
            At ``mesh.points``, for materials that soften; the moduli are those of 20 degC
            without. [degC]

        Returns
        -------
        ndarray, shape (3, 3, pattern.size)
            By component of the row and of the column. [N/mm]
        """
        mesh = self._mesh
        lam, mu = np.array([lame(materials[part]) for part in mesh.parts]).T[:, mesh.part]
        blocks = np.zeros((3, 3, self.pattern.size))
        for some in batches(len(mesh.prisms)):
            products = self.products(some, stiffness_share(mesh, materials, temperature, some))
            of_pairs = solid_stiffness(products, lam[some, None], mu[some, None])
            pairs = self.pattern.pairs[some].ravel()
            for i, j in np.ndindex(3, 3):
                np.add.at(blocks[i, j], pairs, of_pairs[i, j].ravel())
        return blocks


def stiffness_share(
    mesh: SolidMesh, materials: Mapping[str, Material], temperature: Array | None, some: slice
) -> Array | None:
    """Young's modulus over that at 20 degC at the quadrature points of prisms, shape (k, q)."""
    parts = [materials[part] for part in mesh.parts]
    if temperature is None or not any(material.softening for material in parts):
        return None
    warmth = temperature[mesh.prisms[some]] @ _VALUES.T
    return _by_part(mesh, some, warmth, [material.stiffness_share for material in parts])


def thermal_load(mesh: SolidMesh, materials: Mapping[str, Material], temperature: Array) -> Array:
    r"""Nodal forces of the thermal strain.

    .. math:: f_a = \int \frac{E(T)\, (\alpha (T - 20) + m)}{1 - 2\nu} \nabla N_a \,dV

    The temperature is quadratic in each prism, as the displacement is; quadrature is that of the
    stiffness, so that a free body of one material grows without stress.

    Parameters
    ----------
    mesh : SolidMesh
    materials : mapping of str to Material
        By part.
    temperature : ndarray, shape (n,)
        At ``mesh.points``. [degC]

    Returns
    -------
    ndarray, shape (n, 3)
        In equilibrium, on each body by itself. [N]
    """
    forces = np.zeros((3, len(mesh.points)))
    for some in batches(len(mesh.prisms)):
        nodes = mesh.prisms[some]
        places = in_prisms(mesh.points, nodes)
        held = held_back(mesh, materials, temperature, some) * places.volume
        for i in range(3):
            own = np.einsum("kq,kqa->ka", held, places.gradients[:, :, i])
            np.add.at(forces[i], nodes.ravel(), own.ravel())
    return forces.T.copy()


def held_back(
    mesh: SolidMesh, materials: Mapping[str, Material], temperature: Array, some: slice
) -> Array:
    """Tension that thermal strain stands for at the quadrature points of prisms, (k, q). [MPa]."""
    of_parts = [partial(thermal_stress, materials[part]) for part in mesh.parts]
    return _by_part(mesh, some, temperature[mesh.prisms[some]] @ _VALUES.T, of_parts)


def _by_part(
    mesh: SolidMesh, some: slice, at: Array, functions: Sequence[Callable[[Array], Array]]
) -> Array:
    """The function of each prism's part at values, shape (k, q)."""
    found = np.empty_like(at)
    for part, function in enumerate(functions):
        own = mesh.part[some] == part
        found[own] = function(at[own])
    return found

"""From the places in prisms where stress is best known to the nodes of each part.

The strain of a quadratic prism is one order better at the points of the reduced quadrature, three
in the triangle times two in height, than elsewhere (Barlow, *Int. J. Numer. Methods Eng.* 10 (1976)
243-251, from memory). What is known there is carried on linearly to the prism's nodes, and averaged
over the prisms of one metal about a node: never across metals. Parts of one material that share
nodes are one metal: split at the root of a tie, right where stress is steepest, each part's own
stress there was up to 28 % too high. On the surface :mod:`fea.solid.gauges` says the rest, along
edges :mod:`fea.solid.edges`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from skfem import MeshTri
from skfem.quadrature import get_quadrature

from fea.solid.assembly import gradients_at
from fea.solid.edges import EdgeGauges
from fea.solid.gauges import Gauges
from fea.solid.patches import surface_rows
from fea.solid.shapes import NODES, prism_shapes
from fea.solid.topology import Topology
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

AT_ONCE = 500
"""Prisms whose strain is found together: their gradients stay in a processor's own memory."""
_TRIANGLE, _ = get_quadrature(MeshTri.elem, 2)
_LINE, _ = np.polynomial.legendre.leggauss(2)
BARLOW = np.array([[r, s, zeta] for zeta in _LINE for r, s in _TRIANGLE.T])
"""Places in the reference prism where strain is taken, shape (6, 3)."""
BARLOW_VALUES, _BARLOW_DERIVATIVES = prism_shapes(BARLOW)


def _linear(places: Array) -> Array:
    """Products of 1, r, s and 1, zeta at places (k, 3), shape (k, 6)."""
    r, s, zeta = places.T
    return np.stack([r**0, r, s, zeta, r * zeta, s * zeta], axis=1)


EXTRAPOLATION = _linear(NODES) @ np.linalg.inv(_linear(BARLOW))
"""Values at a prism's nodes of values at its Barlow points, shape (18, 6)."""


@dataclass(frozen=True, eq=False, slots=True)
class Metal:
    """Prisms of one material, and how what is known in them comes to their nodes.

    Attributes
    ----------
    elements : ndarray, shape (c,)
        Into ``mesh.prisms``.
    nodes : ndarray, shape (n,)
        Into ``mesh.points``, in ascending order.
    average : csr_array, shape (n, 6 c)
        Values at the nodes of values at the prisms' Barlow points.
    gauges : Gauges
        Of their surface.
    edges : EdgeGauges
        Of its edges.
    """

    elements: Integers
    nodes: Integers
    average: sparse.csr_array
    gauges: Gauges
    edges: EdgeGauges


@dataclass(frozen=True, eq=False, slots=True)
class PartNodes:
    """Where a part's stress is given.

    Attributes
    ----------
    part : str
    elements : ndarray, shape (m,)
        Its prisms, into ``mesh.prisms``.
    nodes : ndarray, shape (k,)
        Its nodes, into ``mesh.points``, in ascending order.
    prisms : ndarray, shape (m, 18)
        Its prisms, into ``nodes``.
    metal : Metal
        What it is of.
    rows : ndarray, shape (k,)
        Its nodes, into those of the metal.
    """

    part: str
    elements: Integers
    nodes: Integers
    prisms: Integers
    metal: Metal
    rows: Integers


class Smoothing:
    """Strain at Barlow points, and averages of what is found there.

    Parameters
    ----------
    mesh : SolidMesh
    topology : Topology
    metals : sequence of tuple of str
        Parts of one material each.

    Attributes
    ----------
    gradients : ndarray, shape (m, 6, 3, 18)
        Derivatives of each node's function by x, y, z at the Barlow points. [1/mm]
    parts : tuple of PartNodes
        In the order of ``mesh.parts``; those that no prism is of are left out.
    """

    def __init__(
        self, mesh: SolidMesh, topology: Topology, metals: Sequence[tuple[str, ...]]
    ) -> None:
        self._prisms, self._metals = mesh.prisms, list(metals)
        self.gradients, volume = gradients_at(mesh.points[mesh.prisms], _BARLOW_DERIVATIVES)
        size = volume.mean(axis=1)
        found = [of for names in metals for of in _of_metal(names, mesh, topology, size)]
        self.parts = _in_order_of(mesh, found)

    def on(self, mesh: SolidMesh, metals: Sequence[tuple[str, ...]]) -> Smoothing | None:
        """The same for these prisms with other nodes, as where parts are cut loose.

        None where that cuts a metal, or the metals are others.

        Parameters
        ----------
        mesh : SolidMesh
            Of the same prisms, in their order, at the same places.
        metals : sequence of tuple of str
        """
        if list(metals) != self._metals:
            return None
        found: list[PartNodes] = []
        for metal in {id(of.metal): of.metal for of in self.parts}.values():
            number = np.full(int(self._prisms.max()) + 1, -1)
            before, now = self._prisms[metal.elements], mesh.prisms[metal.elements]
            number[before] = now
            if not np.array_equal(number[before], now):
                return None
            names = [of.part for of in self.parts if of.metal is metal]
            found += _parts_of(names, mesh, _renumbered(metal, number, len(mesh.points)))
        other = copy(self)
        other._prisms, other.parts = mesh.prisms, _in_order_of(mesh, found)
        return other

    def strain(self, displacement: Array, some: Integers | None = None) -> Array:
        """Strain at the Barlow points of prisms.

        Parameters
        ----------
        displacement : ndarray, shape (n, 3)
            [mm]
        some : ndarray of int, optional
            Those prisms, k of them; all if left out.

        Returns
        -------
        ndarray, shape (6, k, 6)
            xx, yy, zz and the tensor components xy, yz, zx, by prism and point.
        """
        chosen = np.arange(len(self._prisms)) if some is None else some
        strain = np.empty((6, len(chosen), 6))
        for start in range(0, len(chosen), AT_ONCE):
            few = chosen[start : start + AT_ONCE]
            k = len(few)
            moved = displacement[self._prisms[few]]
            slopes = self.gradients[few].reshape(k, 18, 18) @ moved
            slopes = slopes.reshape(k, 6, 3, 3)  # [..., i, j]: duj/dxi
            for i in range(3):
                j = (i + 1) % 3
                strain[i, start : start + k] = slopes[..., i, i]
                strain[3 + i, start : start + k] = (slopes[..., i, j] + slopes[..., j, i]) / 2
        return strain


def _of_metal(
    names: tuple[str, ...], mesh: SolidMesh, topology: Topology, size: Array
) -> Iterator[PartNodes]:
    """Parts of one material, their averages over all their prisms."""
    elements = np.flatnonzero(np.isin(mesh.part, [mesh.parts.index(name) for name in names]))
    if not len(elements):
        return
    nodes, average = _average(mesh, topology, elements, size[elements])
    surface = topology.surface_of(elements)
    gauges, edges = Gauges(mesh.points, surface), EdgeGauges(mesh.points, surface)
    yield from _parts_of(names, mesh, Metal(elements, nodes, average, gauges, edges))


def _in_order_of(mesh: SolidMesh, parts: Sequence[PartNodes]) -> tuple[PartNodes, ...]:
    return tuple(sorted(parts, key=lambda of: mesh.parts.index(of.part)))


def _renumbered(metal: Metal, number: Integers, count: int) -> Metal:
    """A metal whose nodes have other numbers, of so many of a mesh."""
    nodes = number[metal.nodes]
    order = np.argsort(nodes)
    return Metal(
        metal.elements, nodes[order], sparse.csr_array(metal.average[order]),
        metal.gauges.renumbered(number), metal.edges.renumbered(number, count),
    )  # fmt: skip


def _parts_of(names: Sequence[str], mesh: SolidMesh, metal: Metal) -> Iterator[PartNodes]:
    """Those of a metal that some prism is of."""
    for name in names:
        elements = np.flatnonzero(mesh.part == mesh.parts.index(name))
        if len(elements):
            prisms = mesh.prisms[elements]
            own, local = np.unique(prisms, return_inverse=True)
            rows = np.searchsorted(metal.nodes, own)
            yield PartNodes(name, elements, own, local.reshape(prisms.shape), metal, rows)


def _average(
    mesh: SolidMesh, topology: Topology, elements: Integers, size: Array
) -> tuple[Integers, sparse.csr_array]:
    """Nodes of some prisms, and values at them of values at the prisms' Barlow points."""
    prisms = mesh.prisms[elements]
    nodes, local = np.unique(prisms, return_inverse=True)
    local = local.reshape(prisms.shape)
    m = len(prisms)
    weights = np.bincount(local.ravel(), np.repeat(size, 18), len(nodes))
    share = size[:, None] / weights[local]  # (m, 18)
    surface = np.searchsorted(nodes, topology.surface_of(elements).triangles()[0])
    inside = np.ones(len(nodes), dtype=bool)
    inside[surface] = False
    rows = np.broadcast_to(local[:, :, None], (m, 18, 6))
    columns = np.broadcast_to(6 * np.arange(m)[:, None, None] + np.arange(6), (m, 18, 6))
    values = share[:, :, None] * EXTRAPOLATION
    kept = inside[rows]
    average = sparse.csr_array(
        (values[kept], (rows[kept], columns[kept])), shape=(len(nodes), 6 * m)
    )
    places = BARLOW_VALUES @ mesh.points[prisms]
    return nodes, average + surface_rows(mesh.points[nodes], local, places, surface)

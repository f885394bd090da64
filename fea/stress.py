"""Stress: raw from the displacement, and recovered part by part with a smooth displacement.

The displacement of quadratic triangles is more accurate at their nodes than its derivatives are
anywhere. Around each vertex of a region a cubic is fitted to the nodal displacement, and its
gradient taken (polynomial preserving recovery, Zhang & Naga, *SIAM J. Sci. Comput.* 26 (2005)
1192-1213, reference from memory). No patch reaches beyond its region, so that nothing is
averaged across a change of material or a step of thickness.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.cubics import recovered_strain, slopes_of
from fea.elasticity import hooke
from fea.model import Solution
from fea.shapes import NODES, shapes
from geometry.section_mesh import Depth, SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

_BY_R, _BY_S = shapes(NODES)[1].transpose(1, 2, 0)  # each (6 shapes, 6 places)


@dataclass(frozen=True, eq=False)
class LayerStress:
    """Stress of one part's layer over one region.

    Attributes
    ----------
    part : str
    region : int
        Index into ``mesh.regions``.
    nodes : ndarray, shape (k,)
        Nodes of the region, into ``mesh.points``.
    triangles : ndarray, shape (m, 6)
        Triangles of the region, into ``nodes``.
    elements : ndarray, shape (m,)
        The same triangles, into ``mesh.triangles``.
    stress : ndarray, shape (3, k)
        Recovered sxx, syy, sxy. [MPa]
    thickness : ndarray, shape (k,)
        Depth of this layer. [mm]
    depth : callable
        The same at any place (x, y). [mm]
    solution : Solution
        What the stress was recovered from.
    """

    part: str
    region: int
    nodes: Integers
    triangles: Integers
    elements: Integers
    stress: Array
    thickness: Array
    depth: Depth
    solution: Solution

    @property
    def raw(self) -> Array:
        """Stress of the displacement at the nodes of each triangle, shape (3, m, 6). [MPa]."""
        return self.raw_of(self.elements)

    def raw_of(self, elements: Integers) -> Array:
        """The same of any triangles with the layer's part in them.

        Parameters
        ----------
        elements : ndarray, shape (c,)
            Into ``mesh.triangles``.

        Returns
        -------
        ndarray, shape (3, c, 6)
            [MPa]
        """
        mesh = self.solution.model.mesh
        triangles = mesh.triangles[elements]
        strain = raw_strain(mesh.points, self.solution.displacement, triangles)
        return _stress(self.solution, self.part, strain, triangles)


def _stress(solution: Solution, part: str, strain: Array, nodes: Integers) -> Array:
    """Stress of one part, shape (3, ...), of strains at some nodes, shape (...)."""
    material = solution.model.materials[part]
    stress = hooke(strain, material.lam, material.mu)
    if solution.temperature is not None:
        temperature = solution.temperature[nodes]
        stress *= material.stiffness_share(temperature)
        stress[:2] -= material.thermal_stress(temperature)
    return stress


def raw_strain(points: Array, displacement: Array, triangles: Integers) -> Array:
    """Strain of the displacement at the six nodes of each triangle.

    Parameters
    ----------
    points, displacement : ndarray, shape (n, 2)
        [mm]
    triangles : ndarray, shape (m, 6)

    Returns
    -------
    ndarray, shape (3, m, 6)
        xx, yy and tensor xy.
    """
    nodal = np.stack([of[triangles] for of in (*points.T, *displacement.T)])
    (xr, yr, ur, vr), (xs, ys, us, vs) = nodal @ _BY_R, nodal @ _BY_S
    area = xr * ys - xs * yr
    strain = np.empty((3, *triangles.shape))
    np.divide(ur * ys - us * yr, area, out=strain[0])
    np.divide(vs * xr - vr * xs, area, out=strain[1])
    np.divide(us * xr - ur * xs + vr * ys - vs * yr, 2 * area, out=strain[2])
    return strain


def recover(solution: Solution) -> tuple[LayerStress, ...]:
    """Stress of every layer of every region.

    Where the solution has a temperature, moduli are those at the node's own, and the thermal
    stress of :mod:`fea.heat.thermal` is taken out.

    Parameters
    ----------
    solution : Solution

    Returns
    -------
    tuple of LayerStress
        Region by region, and in each in the order of its layers.
    """
    mesh = solution.model.mesh
    strain, node, local = recovered_strain(
        mesh.points, solution.displacement, mesh.triangles, mesh.region
    )
    return tuple(_filled(of, solution, strain) for of in _layers(mesh, node, local))


class Recovery:
    """:func:`recover` for many solutions on one mesh: found once, each costs two products.

    Parameters
    ----------
    mesh : SectionMesh
    """

    def __init__(self, mesh: SectionMesh) -> None:
        self._slopes = slopes_of(mesh.points, mesh.triangles, mesh.region)
        self._layers = list(_layers(mesh, self._slopes.node, self._slopes.local))

    def __call__(self, solution: Solution) -> tuple[LayerStress, ...]:
        """Stress of every layer, as :func:`recover`."""
        strain = self._slopes.strain(solution.displacement)
        return tuple(_filled(of, solution, strain) for of in self._layers)


@dataclass(frozen=True, eq=False, slots=True)
class _Layer:
    """A layer of a region, whatever its stress."""

    part: str
    region: int
    rows: slice  # among the pairs of region and node
    nodes: Integers
    triangles: Integers
    elements: Integers
    thickness: Array
    depth: Depth


def _layers(mesh: SectionMesh, node: Integers, local: Integers) -> Iterator[_Layer]:
    for index, layers in enumerate(mesh.regions):
        elements = np.flatnonzero(mesh.region == index)
        if not len(elements):
            continue
        triangles = local[elements]
        rows = slice(int(triangles.min()), int(triangles.max()) + 1)
        nodes = node[rows]
        for layer in layers:
            yield _Layer(
                part=layer.part,
                region=index,
                rows=rows,
                nodes=nodes,
                triangles=triangles - rows.start,
                elements=elements,
                thickness=layer.thickness(*mesh.points[nodes].T),
                depth=layer.thickness,
            )


def _filled(of: _Layer, solution: Solution, strain: Array) -> LayerStress:
    """A layer with its stress, by the strain (3, k) at all pairs of region and node."""
    return LayerStress(
        part=of.part,
        region=of.region,
        nodes=of.nodes,
        triangles=of.triangles,
        elements=of.elements,
        stress=_stress(solution, of.part, strain[:, of.rows], of.nodes),
        thickness=of.thickness,
        depth=of.depth,
        solution=solution,
    )


def hoop(stress: Array, x: ArrayLike, y: ArrayLike) -> Array:
    r"""Normal stress along the circle about the bore axis, tension positive.

    .. math:: \sigma_{\theta\theta} = t \cdot \sigma\, t, \qquad t = (-y, x)/r

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]
    x, y : array_like, shape (...)
        Position from the bore axis. [mm]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, stress at a point
       (from memory).

    Examples
    --------
    >>> hoop(np.array([[100.0, 100.0], [0.0, 0.0], [0.0, 0.0]]), [50, 0], [0, 50])
    array([  0., 100.])
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    sxx, syy, sxy = stress
    along: Array = (sxx * y**2 + syy * x**2 - 2 * sxy * x * y) / (x**2 + y**2)
    return along


def radial(stress: Array, x: ArrayLike, y: ArrayLike) -> Array:
    r"""Normal stress along the line from the bore axis, :math:`n\cdot\sigma\,n, n = (x, y)/r`.

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]
    x, y : array_like, shape (...)
        From the bore axis. [mm]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    Examples
    --------
    >>> radial(np.array([[100.0, 100.0], [0.0, 0.0], [0.0, 0.0]]), [50, 0], [0, 50])
    array([100.,   0.])
    """
    x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    sxx, syy, sxy = stress
    outward: Array = (sxx * x**2 + syy * y**2 + 2 * sxy * x * y) / (x**2 + y**2)
    return outward


def principal(stress: Array) -> tuple[Array, Array, Array]:
    r"""Principal stresses in the plane, and the direction of the largest.

    .. math:: \sigma_{1,2} = \tfrac12(\sigma_{xx} + \sigma_{yy})
              \pm \sqrt{\tfrac14(\sigma_{xx} - \sigma_{yy})^2 + \sigma_{xy}^2}

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    largest, smallest : ndarray, shape (...)
        [MPa]
    angle : ndarray, shape (...)
        Direction of the largest, from +x, -90 < angle <= 90. [deg]

    References
    ----------
    .. [1] Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, Mohr's circle
       (from memory).

    Examples
    --------
    >>> [float(v) for v in principal(np.array([0.0, 0.0, 30.0]))]
    [30.0, -30.0, 45.0]
    """
    sxx, syy, sxy = stress
    return *extremes(stress), np.rad2deg(np.arctan2(sxy, (sxx - syy) / 2)) / 2


def extremes(stress: Array) -> tuple[Array, Array]:
    """Largest and smallest principal stress in the plane, as :func:`principal`.

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    largest, smallest : ndarray, shape (...)
        [MPa]
    """
    sxx, syy, sxy = stress
    middle, spread = (sxx + syy) / 2, np.hypot((sxx - syy) / 2, sxy)
    return middle + spread, middle - spread


def von_mises(stress: Array) -> Array:
    r"""Equivalent stress in plane stress.

    .. math:: \sqrt{\sigma_{xx}^2 - \sigma_{xx}\sigma_{yy} + \sigma_{yy}^2 + 3\sigma_{xy}^2}

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] von Mises, *Göttinger Nachrichten* (1913) 582-592, with sigma_z = 0 (from memory).

    Examples
    --------
    >>> float(von_mises(np.array([100.0, 100.0, 0.0])))
    100.0
    """
    sxx, syy, sxy = stress
    equivalent: Array = np.sqrt(sxx**2 - sxx * syy + syy**2 + 3 * sxy**2)
    return equivalent

"""Quadrature over the curved triangles of a mesh and along their sides, for fields on nodes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri
from skfem.quadrature import get_quadrature

from fea.elasticity import S_SHAPES, S_WEIGHT, edge_points
from fea.shapes import shapes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class Places:
    """Points in triangles or on sides, and what a function of their nodes is there.

    Attributes
    ----------
    x, y : ndarray, shape (q, k)
        [mm]
    shapes : ndarray, shape (q, p)
        Value of each node's function; the same in all triangles.
    size : ndarray, shape (q, k)
        Share of the area [mm2], or of the length [mm].
    """

    x: Array
    y: Array
    shapes: Array
    size: Array

    def squares(self, factor: Array) -> Array:
        """Integrals of a factor, shape (q, k), times products of two nodes' functions.

        Returns
        -------
        ndarray, shape (p (p + 1) / 2, k)
            In the order of ``np.tril_indices``.
        """
        low, high = np.tril_indices(self.shapes.shape[1])
        products = self.shapes[:, low] * self.shapes[:, high]
        return np.asarray(products.T @ (factor * self.size))

    def shares(self, factor: Array) -> Array:
        """Integrals of a factor, shape (q, k), times each node's function, shape (p, k)."""
        return np.asarray(self.shapes.T @ (factor * self.size))


@dataclass(frozen=True, eq=False, slots=True)
class AreaPlaces(Places):
    """Points in triangles.

    Attributes
    ----------
    slopes_x, slopes_y : ndarray, shape (p, q, k)
        Derivative of each node's function times ``size``. [mm]
    """

    slopes_x: Array
    slopes_y: Array


def in_triangles(points: Array, triangles: Integers, order: int) -> AreaPlaces:
    """Quadrature points of triangles.

    Parameters
    ----------
    points : ndarray, shape (n, 2)
        [mm]
    triangles : ndarray, shape (k, 6)
    order : int
        Degree of polynomials that are integrated without error.
    """
    places, weights = get_quadrature(MeshTri.elem, order)
    values, derivatives = shapes(places.T)
    by_r, by_s = derivatives[:, 0], derivatives[:, 1]
    nodal = [points[:, i][triangles.T] for i in range(2)]
    x, y = (values @ at for at in nodal)
    (xr, yr), (xs, ys) = ([by @ at for at in nodal] for by in (by_r, by_s))
    for cofactor in (xr, yr, xs, ys):
        cofactor *= weights[:, None]
    r, s = by_r.T[..., None], by_s.T[..., None]
    size = (xr * ys - xs * yr) / weights[:, None]
    return AreaPlaces(x, y, values, size, r * ys - s * yr, s * xr - r * xs)


def on_sides(points: Array, sides: Integers) -> Places:
    """Quadrature points of sides, shape (k, 3), each two ends and the mid-side node."""
    (x, y), (dx, dy) = edge_points(points[sides].transpose(2, 1, 0))
    return Places(x, y, S_SHAPES.T, np.hypot(dx, dy) * S_WEIGHT[:, None])

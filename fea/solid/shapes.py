"""Shape functions of the prism of 18 nodes and of its faces, and where they are integrated.

A prism is a quadratic triangle (r, s) times a quadratic line zeta, -1 below and +1 above; its
upright faces are a quadratic line times that line. Nodes stand level by level, as in
:class:`geometry.solid.mesh.SolidMesh`.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri
from skfem.quadrature import get_quadrature

from fea.shapes import NODES as TRIANGLE_NODES
from fea.shapes import shapes as triangle_shapes

Array = NDArray[np.float64]

LEVELS = np.array([-1.0, 0.0, 1.0])
"""zeta of the three levels of nodes."""
NODES = np.array([[r, s, zeta] for zeta in LEVELS for r, s in TRIANGLE_NODES])
"""Places of the 18 nodes in the reference prism."""

TRIANGLE_ORDER = 4
"""Degree of polynomials that are integrated across a triangle without error: six points."""
LINE_POINTS, LINE_WEIGHTS = np.polynomial.legendre.leggauss(3)
"""Places from -1 to 1 and weights, up a prism and along a side."""
TRIANGLE_POINTS, TRIANGLE_WEIGHTS = (of.T for of in get_quadrature(MeshTri.elem, TRIANGLE_ORDER))
"""Places in the reference triangle, shape (q, 2), and weights."""
PRISM_POINTS = np.array([[r, s, zeta] for zeta in LINE_POINTS for r, s in TRIANGLE_POINTS])
"""Places in the reference prism, shape (q, 3)."""
PRISM_WEIGHTS = np.outer(LINE_WEIGHTS, TRIANGLE_WEIGHTS).ravel()


def line_shapes(zeta: Array) -> tuple[Array, Array]:
    """Shape functions of the quadratic line, lower end, middle, upper end, and their derivatives.

    Parameters
    ----------
    zeta : ndarray, shape (...)
        From -1 to 1.

    Returns
    -------
    values, derivatives : ndarray, shape (..., 3)
    """
    zeta = np.asarray(zeta, dtype=float)
    values = [zeta * (zeta - 1) / 2, 1 - zeta**2, zeta * (zeta + 1) / 2]
    derivatives = [zeta - 0.5, -2 * zeta, zeta + 0.5]
    return np.stack(values, axis=-1), np.stack(derivatives, axis=-1)


def prism_shapes(reference: Array) -> tuple[Array, Array]:
    """Shape functions of the prism and their derivatives by r, s and zeta.

    Parameters
    ----------
    reference : ndarray, shape (..., 3)
        Places in the reference prism.

    Returns
    -------
    values : ndarray, shape (..., 18)
    derivatives : ndarray, shape (..., 3, 18)
    """
    reference = np.asarray(reference, dtype=float)
    across, by_across = triangle_shapes(reference[..., :2])
    up, by_up = line_shapes(reference[..., 2])
    return _product(across, by_across, up, by_up)


def side_shapes(reference: Array) -> tuple[Array, Array]:
    """Shape functions of an upright face and their derivatives along it and up.

    Parameters
    ----------
    reference : ndarray, shape (..., 2)
        Places, each from -1 to 1: first to second end, below to above.

    Returns
    -------
    values : ndarray, shape (..., 9)
        In the order of ``SolidMesh.sides``: first end, second end, middle, level by level.
    derivatives : ndarray, shape (..., 2, 9)
    """
    reference = np.asarray(reference, dtype=float)
    along, by_along = (of[..., [0, 2, 1]] for of in line_shapes(reference[..., 0]))
    up, by_up = line_shapes(reference[..., 1])
    return _product(along, by_along[..., None, :], up, by_up)


def _product(across: Array, by_across: Array, up: Array, by_up: Array) -> tuple[Array, Array]:
    """Products of functions across (..., a) and up (..., 3), and their derivatives."""
    values = up[..., :, None] * across[..., None, :]
    flat = up[..., None, :, None] * by_across[..., :, None, :]
    upward = by_up[..., None, :, None] * across[..., None, None, :]
    derivatives = np.concatenate([flat, upward], axis=-3)
    return (
        values.reshape(*values.shape[:-2], -1),
        derivatives.reshape(*derivatives.shape[:-2], -1),
    )

"""Shape functions of the quadratic triangle."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

NODES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])
"""Places of the six nodes in the reference triangle."""


def shapes(reference: Array) -> tuple[Array, Array]:
    """Shape functions of the quadratic triangle and their derivatives.

    Parameters
    ----------
    reference : ndarray, shape (..., 2)
        Places in the reference triangle (0, 0), (1, 0), (0, 1).

    Returns
    -------
    values : ndarray, shape (..., 6)
    derivatives : ndarray, shape (..., 2, 6)
    """
    x, y = np.moveaxis(np.asarray(reference, dtype=float), -1, 0)
    z = 1 - x - y
    zero = np.zeros_like(x)
    values = [z * (2 * z - 1), x * (2 * x - 1), y * (2 * y - 1), 4 * x * z, 4 * x * y, 4 * y * z]
    by_x = [1 - 4 * z, 4 * x - 1, zero, 4 * (z - x), 4 * y, -4 * y]
    by_y = [1 - 4 * z, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (z - y)]
    derivatives = np.stack([np.stack(by_x, axis=-1), np.stack(by_y, axis=-1)], axis=-2)
    return np.stack(values, axis=-1), derivatives

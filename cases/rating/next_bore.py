"""What the gas of a bore beside does to a place: its cycle is its range over all firings.

A place that its own gas pulls may be pushed when the next bore fires, so its cycle goes from
there. Bores of a row fire a good part of a turn apart, so that each is taken to fire alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MOST = 1.0  # more is no push by a bore beside, but a place that its own gas hardly pulls


def hardest(own: Array, beside: Sequence[Array] | Array) -> Array:
    """What adds the bore beside that works most against what the own gas adds, place by place.

    Parameters
    ----------
    own : ndarray, shape (3, ...) or (6, ...)
        What the own gas adds: sxx, syy, sxy; or sxx, syy, szz, sxy, syz, szx. [MPa]
    beside : sequence of ndarray, shape (3, ...) or (6, ...), or ndarray (bores, 3 or 6, ...)
        What that of each bore beside adds. [MPa]

    Returns
    -------
    ndarray, shape (3, ...) or (6, ...)
        Of the one whose product with the own stress, all components in sum, is the least. [MPa]

    Examples
    --------
    >>> hardest(np.array([50.0, 0, 0]), [np.array([2.0, -9, 0]), np.array([-4.0, 1, 0])]).tolist()
    [-4.0, 1.0, 0.0]
    """
    if len(beside) == 1:
        return beside[0]
    normal = 2 if len(own) == 3 else 3
    twice = np.where(np.arange(len(own)) < normal, 1.0, 2.0)  # a shear stands there twice
    works = np.einsum("i...,ki...->k...", twice.reshape(-1, *[1] * (own.ndim - 1)) * own, beside)
    hard = np.argmin(works, axis=0)[None, None]
    return np.take_along_axis(np.asarray(beside), hard, axis=0)[0]


def pushed(own: Array, beside: Array) -> float:
    """How hard bores beside press a place, along the stress that its own gas pulls with.

    Parameters
    ----------
    own, beside : ndarray, shape (3,) or (6,)
        As of :func:`hardest`. [MPa]

    Returns
    -------
    float
        Over that pull, up to ``MOST``; 0 where its own gas doesn't pull.

    Examples
    --------
    >>> pushed(np.array([50.0, 0.0, 0.0]), np.array([-4.0, -20.0, 9.0]))
    0.08
    """
    pulls, ways = np.linalg.eigh(_tensor(own))
    if pulls[-1] <= 0:
        return 0.0
    way = ways[:, -1]
    return min(max(0.0, -float(way @ _tensor(beside) @ way)) / float(pulls[-1]), MOST)


def _tensor(stress: Array) -> Array:
    if len(stress) == 3:
        xx, yy, xy = stress
        return np.array([[xx, xy], [xy, yy]])
    xx, yy, zz, xy, yz, zx = stress
    return np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])

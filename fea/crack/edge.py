"""Stress intensity of an edge crack by the stress that the metal carries without it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

_PLACE, _WEIGHT = np.polynomial.legendre.leggauss(24)
_TURN = np.pi / 4 * (_PLACE + 1)


def edge_intensity(stress: Callable[[Array], Array], lengths: ArrayLike) -> Array:
    r"""K of a crack from the straight edge of wide metal, opened by a stress across its way.

    .. math:: K = \frac{2}{\sqrt{\pi a}} \int_0^a
              \frac{1.3 - 0.3 (s/a)^{5/4}}{\sqrt{1 - (s/a)^2}}\, \sigma(s) \,ds

    Parameters
    ----------
    stress : callable
        Across the crack's way in metal without it, at distances (...) from the edge [mm]. [MPa]
    lengths : array_like, shape (n,)
        [mm]

    Returns
    -------
    ndarray, shape (n,)
        [MPa sqrt(mm)]

    References
    ----------
    .. [1] Tada, Paris & Irwin, *The Stress Analysis of Cracks Handbook*, half plane with an edge
       crack, a pair of forces on its faces (from memory; good to 1 %).

    Examples
    --------
    >>> even = edge_intensity(lambda s: 0 * s + 1.0, [1.0, 4.0])
    >>> (even / np.sqrt(np.pi * np.array([1.0, 4.0]))).round(3)
    array([1.122, 1.122])
    """
    a = np.asarray(lengths, dtype=float)[:, None]
    share = np.sin(_TURN)
    opened = (1.3 - 0.3 * share**1.25) * stress(a * share)
    return np.asarray(2 * np.sqrt(a[:, 0] / np.pi) * (opened @ (np.pi / 4 * _WEIGHT)))

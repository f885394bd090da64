"""Which of many are beaten by none, how much they win together, and where the bend is.

Objectives are to be as small as can be; what is wanted large is told with the other sign.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def unbeaten(values: ArrayLike) -> list[int]:
    """Places of those that no other beats: as good in all objectives, better in one.

    Of several that are equal the first is taken.

    Parameters
    ----------
    values : array_like, shape (n, m)

    Examples
    --------
    >>> unbeaten([[1, 4], [2, 2], [3, 3], [2, 2]])
    [0, 1]
    """
    from moocore import is_nondominated

    values = np.asarray(values, dtype=float)
    return [int(at) for at in np.flatnonzero(is_nondominated(values))] if len(values) else []


def hypervolume(values: ArrayLike, reference: Sequence[float]) -> float:
    """Measure of what is beaten by one at least, up to a reference point.

    Parameters
    ----------
    values : array_like, shape (n, m)
    reference : sequence of float
        What is worse than it counts nothing.

    Examples
    --------
    >>> hypervolume([[1, 2], [2, 1]], (3, 3))
    3.0
    """
    import moocore

    values = np.asarray(values, dtype=float)
    return float(moocore.hypervolume(values, ref=reference)) if len(values) else 0.0


def knee(values: ArrayLike) -> int:
    """Place of the member at the bend: farthest below the plane through the ends of a front.

    Each objective is measured from its best on the front to its worst; the plane is that on which
    these measures add up to one, which with two objectives goes through both ends.

    Parameters
    ----------
    values : array_like, shape (n, m)
        A front, n > 0.

    References
    ----------
    .. [1] Das, *Structural Optimization* 18 (1999) 107-115: the knee of a front as the point
       farthest from the hyperplane of its individual minima (from memory).

    Examples
    --------
    >>> knee([[0, 1], [0.2, 0.3], [1, 0]])
    1
    """
    return int(np.argmin(to_the_bend(values)))


def to_the_bend(values: ArrayLike) -> Array:
    """What :func:`knee` is the least of, shape (n,): 1 in the plane through the ends. [1]."""
    values = np.asarray(values, dtype=float)
    best, worst = values.min(axis=0), values.max(axis=0)
    wide = np.where(worst > best, worst - best, 1.0)
    return ((values - best) / wide).sum(axis=1)

"""Runs of consecutive places, all at once."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Integers = NDArray[np.int64]


def runs(first: ArrayLike, counts: Integers) -> tuple[Integers, Integers]:
    """Every place of some runs, one run after the other.

    Parameters
    ----------
    first : array_like of int, shape (n,) or ()
        Where each run begins.
    counts : ndarray of int, shape (n,)
        How many places it has.

    Returns
    -------
    run, place : ndarray, shape (sum of counts,)

    Examples
    --------
    >>> runs(np.array([5, 2]), np.array([2, 1]))
    (array([0, 0, 1]), array([5, 6, 2]))
    """
    run = np.repeat(np.arange(len(counts)), counts)
    begin = np.asarray(first) - np.cumsum(counts) + counts
    return run, np.arange(len(run)) + begin[run]

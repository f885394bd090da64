"""Cholesky factor of a stiffness matrix, kept for many right-hand sides."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

try:
    from cvxopt import cholmod, matrix, spmatrix
except ImportError:  # no wheel for this machine
    cholmod = None

Array = NDArray[np.float64]


class NotPositiveDefiniteError(RuntimeError):
    """The stiffness is not positive definite: something is not held, or an element is inverted."""


class Factor:
    """A symmetric positive definite matrix, factored.

    CHOLMOD through cvxopt; where that can't be had, SuperLU with minimum degree on A' + A.
    CHOLMOD finds the ordering and the pattern of the factor once, so that :meth:`refactor` with
    other values on the same pattern costs little.

    Parameters
    ----------
    lower : scipy.sparse.csc_array, shape (n, n)
        Lower triangle with the diagonal, rows sorted.

    Attributes
    ----------
    name : str
        Library that factored.

    Raises
    ------
    NotPositiveDefiniteError
        If a pivot is not positive.

    Examples
    --------
    >>> Factor(sparse.csc_array([[4.0, 0.0], [2.0, 3.0]])).solve(np.array([2.0, 5.0]))
    array([-0.5,  2. ])
    """

    def __init__(self, lower: sparse.csc_array) -> None:
        self.name = "CHOLMOD (cvxopt)" if cholmod else "SuperLU (scipy)"
        self._size = lower.shape[0]
        if cholmod:
            columns = np.repeat(np.arange(self._size, dtype=np.int64), np.diff(lower.indptr))
            self._matrix = spmatrix(
                matrix(lower.data),
                matrix(lower.indices.astype(np.int64)),
                matrix(columns),
                lower.shape,
            )
            self._factor: Any = cholmod.symbolic(self._matrix)
        self._numeric(lower)

    def refactor(self, lower: sparse.csc_array) -> None:
        """Factor other values on the same pattern.

        Raises
        ------
        NotPositiveDefiniteError
            If a pivot is not positive.
        """
        if cholmod:
            self._matrix.V = matrix(lower.data)
        self._numeric(lower)

    def _numeric(self, lower: sparse.csc_array) -> None:
        try:
            if cholmod:
                cholmod.numeric(self._matrix, self._factor)
            else:
                self._factor = splu(
                    sparse.csc_array(lower + sparse.tril(lower, -1).T),
                    permc_spec="MMD_AT_PLUS_A",
                    diag_pivot_thresh=0,
                    options={"SymmetricMode": True},
                )
                if not (self._factor.U.diagonal() > 0).all():
                    raise ArithmeticError("a pivot is not positive")
        except (ArithmeticError, RuntimeError) as error:
            raise NotPositiveDefiniteError(
                f"{self.name} finds the stiffness of {self._size} unknowns not positive definite "
                f"({error}): a body is free to move, or an element is turned inside out."
            ) from error

    def solve(self, loads: Array) -> Array:
        """Solution for one right-hand side, shape (n,), or for several, shape (n, k)."""
        if not cholmod:
            return np.asarray(self._factor.solve(loads))
        right = matrix(np.asarray(loads, dtype=float).reshape(self._size, -1))
        cholmod.solve(self._factor, right)
        return np.array(right).reshape(np.shape(loads))

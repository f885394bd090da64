"""A matrix condensed to some of its unknowns, which are eliminated last.

One Cholesky factor serves both what those unknowns feel of a load and, once they are known, the
rest. Its end is the factor of the condensed matrix, read where CHOLMOD has it
(:mod:`fea.supernodal`); cvxopt's copy is asked for where that place doesn't look as expected.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cho_solve
from scipy.linalg.lapack import dpotri

from fea.elimination import elimination_order
from fea.factor import (
    AT_ONCE,
    Factor,
    NotPositiveDefiniteError,
    analysed,
    as_cvxopt,
    end_of_copy,
    not_positive_definite,
    require_room,
)
from fea.supernodal import end_in_place, supernodes

try:
    from cvxopt import cholmod, matrix
    from cvxopt import sparse as sparse_of
except ImportError:  # no wheel for this machine
    cholmod = None

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

_LOWER, _UPPER = 4, 5  # what cvxopt's ``sys`` solves


class CondensedFactor:
    """A symmetric positive definite matrix with its last unknowns eliminated last.

    Parameters
    ----------
    lower : scipy.sparse.csc_array, shape (n, n)
        Lower triangle with the diagonal, rows sorted.
    count : int
        Unknowns, at the end, that it is condensed to: m.
    order : ndarray of int, shape (n - m,), optional
        In which the rest is eliminated; as :func:`fea.elimination.elimination_order` has it if left
        out.

    Attributes
    ----------
    name : str
        Library that factored.
    root : ndarray, shape (m, m)
        Cholesky factor of the condensed matrix, lower triangle, by columns; zero above.

    Raises
    ------
    NotPositiveDefiniteError
        If a pivot is not positive.
    MemoryError
        If memory runs out.

    Examples
    --------
    >>> lower = sparse.csc_array([[2.0, 0.0], [1.0, 1.0]])
    >>> factor = CondensedFactor(lower, 1)
    >>> factor.inverse()
    array([[2.]])
    >>> half, unmet = factor.reduce(np.array([2.0, 3.0]))
    >>> unmet
    array([2.])
    >>> factor.expand(half, np.array([4.0]))
    array([-1.,  4.])
    >>> factor.solve(np.array([2.0, 3.0]))
    array([-1.,  4.])
    """

    def __init__(self, lower: sparse.csc_array, count: int, order: Integers | None = None) -> None:
        self._size, self._count = lower.shape[0], count
        self.name = "CHOLMOD (cvxopt)" if cholmod else "SuperLU (scipy)"
        with self._memory():
            if cholmod:
                self._set_factor(lower, order)
            else:
                self._set_without(lower)

    @contextmanager
    def _memory(self) -> Iterator[None]:
        try:
            yield
        except MemoryError as error:
            raise MemoryError(
                f"memory ran out while {self._size} unknowns were condensed to {self._count}. Use "
                "a coarser mesh, or fewer processes at once."
            ) from error

    def _set_factor(self, lower: sparse.csc_array, order: Integers | None) -> None:
        """By CHOLMOD, which may put branches that meet the last unknowns late between them."""
        rest, count = self._size - self._count, self._count
        if order is None:
            inner = lower[:rest, :rest]
            order = elimination_order(sparse.csr_array(inner + inner.T))
        order = np.append(order, np.arange(rest, self._size))
        self._factor = _factored(lower, order, postorder=True)
        found = end_in_place(self._factor, np.arange(rest, self._size), self._size)
        if found is None:
            self._factor = _factored(lower, order, postorder=False)
            found = order, end_of_copy(self._factor, count)
            self._factor = _factored(lower, order, postorder=False)
        self._order, self.root = found
        self._last = np.argsort(self._order)[rest:]

    def _set_without(self, lower: sparse.csc_array) -> None:
        """By a back-substitution for each unknown."""
        rest = self._size - self._count
        self._coupling = lower[rest:, :rest].tocsr()
        self._rest = Factor(sparse.csc_array(lower[:rest, :rest]))
        end = lower[rest:, rest:].toarray()
        end = end + np.tril(end, -1).T
        for start in range(0, self._count, AT_ONCE):
            some = slice(start, min(start + AT_ONCE, self._count))
            moved = self._rest.solve(self._coupling[some].T.toarray())
            end[:, some] -= self._coupling @ moved
        try:
            self.root = np.asfortranarray(np.linalg.cholesky((end + end.T) / 2))
        except np.linalg.LinAlgError as error:
            raise NotPositiveDefiniteError(str(error)) from error

    def inverse(self, first: int | None = None) -> Array:
        """Inverse of the condensed matrix, shape (m, m); its lower triangle, by columns.

        Or that of the ``first`` so many of its unknowns, the others held at 0.
        """
        return np.asarray(dpotri(np.asfortranarray(self.root[:first, :first]), lower=1)[0])

    def reduce(self, load: Array) -> tuple[Array, Array]:
        """What the last unknowns feel of a load while they are held at 0.

        Parameters
        ----------
        load : ndarray, shape (n,), or of k loads (n, k)

        Returns
        -------
        half : ndarray
            Half-way to the rest, for :meth:`expand`.
        unmet : ndarray, shape (m,) or (m, k)
        """
        rest = self._size - self._count
        if not cholmod:
            half = self._rest.solve(load[:rest])
            return half, load[rest:] - self._coupling @ half
        half = self._half_solved(load[self._order], _LOWER)
        return half, self.root @ half[self._last]

    def solve(self, load: Array) -> Array:
        """All unknowns, shape (n,), under a load, shape (n,), none of them held."""
        half, unmet = self.reduce(load)
        return self.expand(half, cho_solve((self.root, True), unmet, check_finite=False))

    def expand(self, half: Array, known: Array) -> Array:
        """All unknowns, shape (n,), by the last ones, shape (m,); or of several loads, (n, k)."""
        rest = self._size - self._count
        found = np.empty(half.shape if cholmod else (self._size, *half.shape[1:]))
        found[rest:] = known
        if not cholmod:
            found[:rest] = half - self._rest.solve(self._coupling.T @ known)
            return found
        right = half.copy()
        right[self._last] = self.root.T @ known
        found[self._order] = self._half_solved(right, _UPPER)
        return found

    def _half_solved(self, right: Array, half: int) -> Array:
        """One half of a back-substitution, in the order of the factor, shape (n,) or (n, k)."""
        sides = matrix(right.reshape(self._size, -1))
        with self._memory():
            if sides.size[1] > 1:  # a sparse matrix reads the factor once for four columns
                sides = matrix(cholmod.spsolve(self._factor, sparse_of(sides), sys=half))
            else:
                cholmod.solve(self._factor, sides, sys=half)
        return np.array(sides).reshape(right.shape)


def _factored(lower: sparse.csc_array, order: Integers, postorder: bool) -> Any:
    """CHOLMOD's factor with the unknowns eliminated in this order, or one that fills in as much."""
    held = as_cvxopt(lower)
    factor = analysed(held, order, postorder)
    if found := supernodes(factor, lower.shape[0]):
        require_room(int(found.values_at[-1]))
    try:
        cholmod.numeric(held, factor)
    except ArithmeticError as error:
        raise not_positive_definite("CHOLMOD", lower.shape[0], error) from error
    return factor

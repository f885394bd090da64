"""A matrix condensed to some of its unknowns, which are eliminated last.

One Cholesky factor serves both what those unknowns feel of a load and, once they are known, the
rest. Its end is the factor of the condensed matrix; cvxopt hands a factor out as a copy with an
index beside each number, three times the memory and most of the time of factoring, so the end is
read where CHOLMOD has it, and the copy is asked for where that place doesn't look as expected.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg.lapack import dpotri

from fea.factor import (
    AT_ONCE,
    Factor,
    NotPositiveDefiniteError,
    analysed,
    not_positive_definite,
)

try:
    from cvxopt import amd, cholmod, matrix, spmatrix
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
        In which the rest is eliminated; by minimum degree if left out.

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
        order = minimum_degree(lower[:rest, :rest]) if order is None else order
        order = np.append(order, np.arange(rest, self._size))
        self._factor = _factored(lower, order, postorder=True)
        found = _in_place(self._factor, self._size, count)
        if found is None:
            self._factor = _factored(lower, order, postorder=False)
            found = order, _end_of_copy(self._factor, count)
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

    def inverse(self) -> Array:
        """Inverse of the condensed matrix, shape (m, m); its lower triangle, by columns."""
        return np.asarray(dpotri(self.root, lower=1)[0])

    def reduce(self, load: Array) -> tuple[Array, Array]:
        """What the last unknowns feel of a load while they are held at 0.

        Parameters
        ----------
        load : ndarray, shape (n,)

        Returns
        -------
        half : ndarray
            Half-way to the rest, for :meth:`expand`.
        unmet : ndarray, shape (m,)
        """
        rest = self._size - self._count
        if not cholmod:
            half = self._rest.solve(load[:rest])
            return half, load[rest:] - self._coupling @ half
        right = matrix(load[self._order])
        with self._memory():
            cholmod.solve(self._factor, right, sys=_LOWER)
        half = np.array(right).ravel()
        return half, self.root @ half[self._last]

    def expand(self, half: Array, known: Array) -> Array:
        """All unknowns, shape (n,), by the last ones, shape (m,)."""
        rest = self._size - self._count
        found = np.empty(self._size)
        found[rest:] = known
        if not cholmod:
            found[:rest] = half - self._rest.solve(self._coupling.T @ known)
            return found
        right = half.copy()
        right[self._last] = self.root.T @ known
        right = matrix(right)
        with self._memory():
            cholmod.solve(self._factor, right, sys=_UPPER)
        found[self._order] = np.array(right).ravel()
        return found


def minimum_degree(lower: sparse.csc_array) -> Integers:
    """Order of elimination by approximate minimum degree; as they stand without cvxopt.

    Parameters
    ----------
    lower : scipy.sparse.csc_array, shape (n, n)
        Lower triangle; its values don't matter.
    """
    if not cholmod:
        return np.arange(lower.shape[0])
    return np.array(amd.order(_as_cvxopt(lower), uplo="L")).ravel()


def _as_cvxopt(lower: sparse.csc_array) -> Any:
    columns = np.repeat(np.arange(lower.shape[1], dtype=np.int64), np.diff(lower.indptr))
    rows = lower.indices.astype(np.int64)
    return spmatrix(matrix(lower.data), matrix(rows), matrix(columns), lower.shape)


def _factored(lower: sparse.csc_array, order: Integers, postorder: bool) -> Any:
    """CHOLMOD's factor with the unknowns eliminated in this order, or one that fills in as much."""
    held = _as_cvxopt(lower)
    factor = analysed(held, order, postorder)
    try:
        cholmod.numeric(held, factor)
    except ArithmeticError as error:
        raise not_positive_definite("CHOLMOD", lower.shape[0], error) from error
    return factor


class _Supernodal(ctypes.Structure):
    """``cholmod_factor`` up to its kind, as SuiteSparse has declared it since CHOLMOD 1."""

    _fields_ = [
        *((name, ctypes.c_size_t) for name in ("n", "minor")),
        *((name, ctypes.c_void_p) for name in ("Perm", "ColCount", "IPerm")),
        ("nzmax", ctypes.c_size_t),
        *((name, ctypes.c_void_p) for name in ("p", "i", "x", "z", "nz", "next", "prev")),
        *((name, ctypes.c_size_t) for name in ("nsuper", "ssize", "xsize", "maxcsize", "maxesize")),
        *((name, ctypes.c_void_p) for name in ("super", "pi", "px", "s")),
        *(
            (name, ctypes.c_int)
            for name in ("ordering", "is_ll", "is_super", "is_monotonic", "itype", "xtype", "dtype")
        ),
    ]


def _in_place(factor: Any, size: int, count: int) -> tuple[Integers, Array] | None:
    """Order of a factor and its part of the last unknowns, out of CHOLMOD's own numbers.

    None where they don't look like it. Branches that meet none but the later of the last unknowns
    may stand between those, and a last unknown that meets no other, as it is held, before them;
    what the last ones have among themselves is the same.
    """
    name_of, place_of = ctypes.pythonapi.PyCapsule_GetName, ctypes.pythonapi.PyCapsule_GetPointer
    name_of.restype, name_of.argtypes = ctypes.c_char_p, [ctypes.py_object]
    place_of.restype, place_of.argtypes = ctypes.c_void_p, [ctypes.py_object, ctypes.c_char_p]
    at = _Supernodal.from_address(place_of(factor, name_of(factor)))
    supernodal_by_long = (at.is_ll, at.is_super, at.itype, at.xtype, at.dtype) == (1, 1, 2, 1, 0)
    if not (supernodal_by_long and at.n == size and 0 < at.nsuper <= size and at.Perm):
        return None

    def numbers(place: int, length: int) -> Integers:
        return np.ctypeslib.as_array((ctypes.c_int64 * length).from_address(place))

    order = numbers(at.Perm, size).copy()
    first, rows_at, values_at = (
        numbers(place, at.nsuper + 1) for place in (at.super, at.pi, at.px)
    )
    last = np.flatnonzero(order >= size - count)
    as_expected = (
        np.array_equal(np.sort(order), np.arange(size))
        and (first[0], first[-1]) == (0, size)
        and rows_at[-1] == at.ssize
        and np.array_equal(np.diff(values_at), np.diff(rows_at) * np.diff(first))
        and values_at[-1] == at.xsize
    )
    if not as_expected:
        return None
    rows = numbers(at.s, at.ssize)
    values = np.ctypeslib.as_array((ctypes.c_double * at.xsize).from_address(at.x))
    number = np.full(size, -1)
    number[last] = order[last] - (size - count)
    end = np.zeros((count, count), order="F")
    for k in np.unique(np.searchsorted(first, last, side="right") - 1):
        row = number[rows[rows_at[k] : rows_at[k + 1]]]
        column = number[first[k] : first[k + 1]]
        block = values[values_at[k] : values_at[k + 1]].reshape(-1, len(row)).T
        places = np.ix_(row[row >= 0], column[column >= 0])
        end[places] = np.tril(block)[np.ix_(row >= 0, column >= 0)]
    return (order, end) if not np.triu(end, 1).any() else None


def _end_of_copy(factor: Any, count: int) -> Array:
    """The end of a factor out of a copy of all of it, which leaves the factor without numbers."""
    copied = cholmod.getfactor(factor)
    start = copied.size[0] - count
    return np.asfortranarray(np.array(matrix(copied[start:, start:])))

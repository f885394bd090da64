"""Cholesky factor of a stiffness matrix, kept for many right-hand sides.

CHOLMOD through cvxopt, the fastest to factor and to re-factor and the better kept of two of that
speed; ``tests/benchmarks/test_solvers.py`` holds the others beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from copy import copy
from threading import Lock
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg.lapack import dpotri
from scipy.sparse.linalg import splu

from fea.columns import columns_in_place
from fea.supernodal import end_in_place

try:
    from cvxopt import cholmod, matrix, spmatrix
    from cvxopt import sparse as sparse_of
except ImportError as error:  # no wheel for this machine
    if "failed to map segment" in str(error):  # what a loader says that is refused memory
        raise MemoryError("memory ran out while CHOLMOD was loaded.") from error
    cholmod = None

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

ORDERING = Lock()
"""Held while CHOLMOD orders, as its options are those of the whole process."""
IN_THIS_ORDER = {"nmethods": 1, "postorder": False}
"""Options by which CHOLMOD eliminates in the order given, and in no other that it finds."""
FILL = 8
"""Entries of a factor over n log2(n) of its unknowns, at the most: a plane grid in an order of
nested dissection has 7.75 (George, *SIAM J. Numer. Anal.* 10 (1973) 345-363, from memory); the
sections here have 3.4 to 3.7."""
BESIDE = 2**27
"""Memory that BLAS takes beside a factor. [bytes]."""
AT_ONCE = 64
"""Columns of an inverse that are solved for at a time."""
TOGETHER = 4
"""Right-hand sides from which on they are told to CHOLMOD as a sparse matrix: it takes four of its
columns at a time, which reads the factor a quarter as often, and those of a dense one singly."""


class NotPositiveDefiniteError(RuntimeError):
    """The stiffness is not positive definite: something is not held, or an element is inverted."""


class Factor:
    """A symmetric positive definite matrix, factored.

    CHOLMOD through cvxopt; where that can't be had, SuperLU with minimum degree on A' + A.

    CHOLMOD finds the ordering and the pattern of the factor once for a matrix and all those that
    :meth:`refactor` makes from it. They share one place for the numbers as well: it holds those
    of the factor that was asked last, and any other, when asked, puts its own there first. So
    each keeps its own answers, a chain of them needs the memory of one, and asking two in turn
    costs a numeric factorisation each time.

    Parameters
    ----------
    lower : scipy.sparse.csc_array, shape (n, n)
        Lower triangle with the diagonal, rows sorted.
    order : ndarray of int, shape (n,), optional
        Unknowns in the order in which they are eliminated, where one is known that is better
        (:mod:`fea.elimination`) than the one that CHOLMOD finds; not used without CHOLMOD.
    entries : int, optional
        Entries of the factor, at the most; that of a plane mesh without.

    Attributes
    ----------
    name : str
        Library that factored.

    Raises
    ------
    NotPositiveDefiniteError
        If a pivot is not positive.
    MemoryError
        If memory runs out, then or in any of the methods.

    Examples
    --------
    >>> Factor(sparse.csc_array([[4.0, 0.0], [2.0, 3.0]])).solve(np.array([2.0, 5.0]))
    array([-0.5,  2. ])
    """

    def __init__(
        self, lower: sparse.csc_array, order: Integers | None = None, entries: int | None = None
    ) -> None:
        library = _Cholmod if cholmod else _SuperLU
        self.name = library.name
        self._values = lower.data.copy()
        self._size = lower.shape[0]
        with self._memory():
            self._library: _Cholmod | _SuperLU = library(lower, order, entries)
            self._library.hold(self._values)

    @contextmanager
    def _memory(self) -> Iterator[None]:
        """Say what ran out, and where."""
        try:
            yield
        except MemoryError as error:
            raise MemoryError(
                f"memory ran out while {self.name} factored or solved {self._size} unknowns. Use a "
                "coarser mesh, or fewer processes at once."
            ) from error

    def refactor(self, values: Array) -> Factor:
        """Factor of another matrix on the same pattern; this one stays as it is.

        Parameters
        ----------
        values : ndarray, shape (entries,)
            Its ``data``, in the order of the first matrix.

        Raises
        ------
        NotPositiveDefiniteError
            If a pivot is not positive.
        ValueError
            If their number is another.
        """
        if np.shape(values) != self._values.shape:
            raise ValueError(
                f"{np.shape(values)} values for a pattern of {self._values.size} entries."
            )
        other = copy(self)
        other._values = np.array(values, dtype=float)
        with self._memory():
            other._library = self._library.for_other_values()
            other._library.hold(other._values)
        return other

    def apart(self, values: Array) -> Factor:
        """Factor of another matrix on the same pattern, with a place of its own for its numbers.

        To be asked in turn with others. It needs their memory once more, and a short analysis, as
        the order is known.

        Parameters
        ----------
        values : ndarray, shape (entries,)
            As in :meth:`refactor`.

        Raises
        ------
        NotPositiveDefiniteError
            If a pivot is not positive.
        """
        other = copy(self)
        other._values = np.array(values, dtype=float)
        with self._memory():
            other._library = self._library.apart()
            other._library.hold(other._values)
        return other

    def solve(self, loads: Array) -> Array:
        """Solution for one right-hand side, shape (n,), or for several, shape (n, k)."""
        with self._memory():
            return self._library.solve(self._values, np.asarray(loads, dtype=float))

    def corner_of_inverse(self, values: Array, corner: Integers) -> Array:
        """The part of the inverse of a matrix on the same pattern that belongs to some unknowns.

        They are eliminated last in a factor of their own, so that its end is that of their part.
        Without CHOLMOD, a back-substitution for each.

        Parameters
        ----------
        values : ndarray, shape (entries,)
            Data of the matrix, as in :meth:`refactor`.
        corner : ndarray of int, shape (m,)
            Unknowns asked for.

        Returns
        -------
        ndarray, shape (m, m)
            In the order of ``corner``; its lower triangle, by columns.

        Raises
        ------
        NotPositiveDefiniteError
            If a pivot is not positive.

        Examples
        --------
        >>> lower = sparse.csc_array([[2.0, 0.0], [1.0, 1.0]])
        >>> Factor(lower).corner_of_inverse(lower.data, np.array([0]))
        array([[1.]])
        """
        with self._memory():
            return self._library.corner_of_inverse(values, np.asarray(corner, dtype=np.int64))


class _Cholmod:
    """A pattern analysed by CHOLMOD, and its factor for the values that came last."""

    name = "CHOLMOD (cvxopt)"

    def __init__(
        self, lower: sparse.csc_array, order: Integers | None, entries: int | None
    ) -> None:
        self._entries = _plane_entries(lower.shape[0]) if entries is None else entries
        require_room(self._entries)
        self._matrix = as_cvxopt(lower)
        self._factor: Any = (
            analysed(self._matrix) if order is None else analysed(self._matrix, order, True)
        )
        self._held: Array | None = None
        self._lock = Lock()

    def for_other_values(self) -> _Cholmod:
        return self

    def apart(self) -> _Cholmod:
        other = copy(self)
        other._matrix, other._held, other._lock = +self._matrix, None, Lock()
        with self._lock:
            order = _order_of(self._factor, self._matrix.size[0])
            other._factor = analysed(self._matrix, order, postorder=False)
        return other

    def hold(self, values: Array) -> None:
        with self._lock:
            self._hold(values)

    def _hold(self, values: Array) -> None:
        if self._held is values:
            return
        if self._held is not None and np.array_equal(self._held, values):
            self._held = values
            return
        self._held = None
        require_room(self._entries)
        self._matrix.V = matrix(values)
        try:
            cholmod.numeric(self._matrix, self._factor)
        except ArithmeticError as error:
            raise not_positive_definite(self.name, self._matrix.size[0], error) from error
        self._held = values

    def solve(self, values: Array, loads: Array) -> Array:
        right = matrix(loads.reshape(len(loads), -1))
        with self._lock:
            self._hold(values)
            if right.size[1] >= TOGETHER:
                right = matrix(cholmod.spsolve(self._factor, sparse_of(right)))
            else:
                cholmod.solve(self._factor, right)
        return np.array(right).reshape(loads.shape)

    def corner_of_inverse(self, values: Array, corner: Integers) -> Array:
        size, count = self._matrix.size[0], len(corner)
        rest = np.ones(size, dtype=bool)
        rest[corner] = False
        with self._lock:
            before = _order_of(self._factor, size)
            self._matrix.V = matrix(values)
            last = np.concatenate([before[rest[before]], corner])
            factor = analysed(self._matrix, last, postorder=False)
            try:
                cholmod.numeric(self._matrix, factor)
            except ArithmeticError as error:
                raise not_positive_definite(self.name, size, error) from error
        found = end_in_place(factor, corner, size)
        end = end_of_copy(factor, count) if found is None else found[1]
        return np.asarray(dpotri(end, lower=1, overwrite_c=1)[0])


class _SuperLU:
    """A pattern, and its factor by SuperLU, which orders anew for other values."""

    name = "SuperLU (scipy)"

    def __init__(
        self, lower: sparse.csc_array, _order: Integers | None, _entries: int | None
    ) -> None:
        self._pattern = lower

    def for_other_values(self) -> _SuperLU:
        return _SuperLU(self._pattern, None, None)

    apart = for_other_values

    def hold(self, values: Array) -> None:
        pattern = self._pattern
        lower = sparse.csc_array((values, pattern.indices, pattern.indptr), shape=pattern.shape)
        try:
            self._factor = splu(
                sparse.csc_array(lower + sparse.tril(lower, -1).T),
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0,
                options={"SymmetricMode": True},
            )
            if not (self._factor.U.diagonal() > 0).all():
                raise ArithmeticError("a pivot is not positive")
        except (ArithmeticError, RuntimeError) as error:
            if "malloc" in str(error).lower():
                raise MemoryError from error
            raise not_positive_definite(self.name, lower.shape[0], error) from error

    def solve(self, _values: Array, loads: Array) -> Array:
        return np.asarray(self._factor.solve(loads))

    def corner_of_inverse(self, values: Array, corner: Integers) -> Array:
        other = self.for_other_values()
        other.hold(values)
        parts = []
        for some in np.split(corner, range(AT_ONCE, len(corner), AT_ONCE)):
            units = np.zeros((self._pattern.shape[0], len(some)))
            units[some, np.arange(len(some))] = 1
            parts.append(other.solve(values, units)[corner])
        return np.asfortranarray(np.concatenate(parts, axis=1))


def as_cvxopt(lower: sparse.csc_array) -> Any:
    """A lower triangle as cvxopt has it."""
    return columns_in_place(lower) or of_triplets(lower)


def of_triplets(lower: sparse.csc_array) -> Any:
    """The same by way of each entry with its row and column."""
    places = (  # one by one, as each is large
        matrix(lower.indices.astype(np.int64)),
        matrix(np.repeat(np.arange(lower.shape[1], dtype=np.int64), np.diff(lower.indptr))),
    )
    return spmatrix(matrix(lower.data), *places, lower.shape)


def analysed(matrix_: Any, order: Integers | None = None, postorder: bool = True) -> Any:
    """Pattern of a factor, in an order that is given or in one that CHOLMOD finds."""
    with ORDERING:
        if order is None:
            return cholmod.symbolic(matrix_)
        options = {**IN_THIS_ORDER, "postorder": postorder}
        cholmod.options.update(options)
        try:
            return cholmod.symbolic(matrix_, p=matrix(order.astype(np.int64)))
        finally:
            for name in options:
                del cholmod.options[name]


def _order_of(factor: Any, size: int) -> Integers:
    """Unknowns in the order in which a factor eliminates them."""
    order = matrix(np.arange(size, dtype=float))
    cholmod.solve(factor, order, sys=7)  # from the order of unknowns to its own
    return np.array(order).ravel().astype(np.int64)


def end_of_copy(factor: Any, count: int) -> Array:
    """The end of a factor out of a copy of all of it, which leaves the factor without numbers."""
    copied = cholmod.getfactor(factor)
    start = copied.size[0] - count
    return np.asfortranarray(np.array(matrix(copied[start:, start:])))


def _plane_entries(size: int) -> int:
    """Entries of the factor of a plane mesh, at the most."""
    return int(FILL * size * np.log2(size + 1))


def require_room(entries: int) -> None:
    """Ask for as much memory as a factor may take, and give it back.

    cvxopt and BLAS don't look whether they got what they asked for, and end the process.

    Raises
    ------
    MemoryError
        If the system refuses it.
    """
    np.empty(entries + BESIDE // 8)


def not_positive_definite(name: str, size: int, error: Exception) -> NotPositiveDefiniteError:
    """What a library says of a pivot, in words."""
    return NotPositiveDefiniteError(
        f"{name} finds the stiffness of {size} unknowns not positive definite ({error}): "
        "a body is free to move, or an element is turned inside out."
    )

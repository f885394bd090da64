"""A factor as CHOLMOD has it, read in place.

cvxopt hands a factor out as a copy with an index beside each number, three times the memory and
most of the time of factoring. What stands here is checked against itself before it is believed, and
None where it doesn't look as expected.
"""

from __future__ import annotations

import ctypes
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

_PATTERN, _REAL = 0, 1


class CholmodFactor(ctypes.Structure):
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


@dataclass(frozen=True, eq=False, slots=True)
class Supernodes:
    """Columns of a factor that share their rows, bundle by bundle.

    Attributes
    ----------
    order : ndarray, shape (n,)
        Unknowns in the order in which they are eliminated; a copy.
    first : ndarray, shape (k + 1,)
        First column of each bundle, and the end of the last.
    rows_at, values_at : ndarray, shape (k + 1,)
        Where its rows and its numbers begin.
    rows : ndarray
        Of each bundle, by its place in the order.
    values : ndarray
        Of each, column by column; empty before there are numbers.
    """

    order: Integers
    first: Integers
    rows_at: Integers
    values_at: Integers
    rows: Integers
    values: Array


def supernodes(factor: Any, size: int) -> Supernodes | None:
    """The bundles of a factor of so many unknowns that cvxopt holds; None if it looks otherwise.

    They are the factor's own memory: keep it as long as they are used, and don't write to them.
    """
    name_of, place_of = ctypes.pythonapi.PyCapsule_GetName, ctypes.pythonapi.PyCapsule_GetPointer
    name_of.restype, name_of.argtypes = ctypes.c_char_p, [ctypes.py_object]
    place_of.restype, place_of.argtypes = ctypes.c_void_p, [ctypes.py_object, ctypes.c_char_p]
    at = CholmodFactor.from_address(place_of(factor, name_of(factor)))
    known = (at.is_ll, at.is_super, at.itype, at.dtype) == (1, 1, 2, 0)
    if not (known and at.xtype in (_PATTERN, _REAL)):
        return None
    if not (at.n == size and 0 < at.nsuper <= size and at.Perm and at.super and at.pi and at.px):
        return None

    def numbers(place: int, length: int) -> Integers:
        return np.ctypeslib.as_array((ctypes.c_int64 * length).from_address(place))

    order = numbers(at.Perm, size).copy()
    first, rows_at, values_at = (
        numbers(place, at.nsuper + 1) for place in (at.super, at.pi, at.px)
    )
    as_expected = (
        np.array_equal(np.sort(order), np.arange(size))
        and (first[0], first[-1]) == (0, size)
        and rows_at[-1] == at.ssize
        and np.array_equal(np.diff(values_at), np.diff(rows_at) * np.diff(first))
        and values_at[-1] == at.xsize
    )
    if not as_expected:
        return None
    values = np.zeros(0)
    if at.xtype == _REAL:
        values = np.ctypeslib.as_array((ctypes.c_double * at.xsize).from_address(at.x))
    return Supernodes(order, first, rows_at, values_at, numbers(at.s, at.ssize), values)


def end_in_place(factor: Any, last: Integers, size: int) -> tuple[Integers, Array] | None:
    """Order of a factor, and its part of the unknowns that are eliminated last.

    Branches that meet none but the later of the last unknowns may stand between those, and a last
    unknown that meets no other, as it is held, before them; what the last ones have among
    themselves is the same.

    Parameters
    ----------
    factor : capsule
        As cvxopt holds it, with its numbers.
    last : ndarray of int, shape (m,)
        Those unknowns, in their order.
    size : int
        Of all unknowns.

    Returns
    -------
    order : ndarray, shape (n,)
        Unknowns in the order in which they are eliminated.
    end : ndarray, shape (m, m)
        Cholesky factor of what is condensed to them, lower triangle, by columns; zero above.

    None where the factor doesn't look as expected.
    """
    found = supernodes(factor, size)
    if found is None or not len(found.values):
        return None
    order, first, count = found.order, found.first, len(last)
    number = np.full(size, -1)
    number[last] = np.arange(count)
    number = number[order]
    bundles = np.searchsorted(first, np.flatnonzero(number >= 0), side="right") - 1
    end = np.zeros((count, count), order="F")
    for k in np.unique(bundles):
        row = number[found.rows[found.rows_at[k] : found.rows_at[k + 1]]]
        column = number[first[k] : first[k + 1]]
        block = found.values[found.values_at[k] : found.values_at[k + 1]].reshape(-1, len(row)).T
        own, start = row[: len(column)], row[0]
        here = np.arange(start, start + len(row))
        if start >= 0 and np.array_equal(row, here) and np.array_equal(own, column):
            end[start : start + len(row), start : start + len(own)] = block  # far quicker
            for j in own:
                end[start:j, j] = 0
        else:
            places = np.ix_(row[row >= 0], column[column >= 0])
            end[places] = np.tril(block)[np.ix_(row >= 0, column >= 0)]
    above = any(end[:j, j].any() for j in range(1, count))
    return None if above else (order, end)

"""A sparse matrix written where cvxopt has it.

cvxopt makes one of triplets, which it sorts: of columns whose rows are sorted already that takes
twenty times as long as writing them, and three times the memory. What is written to here is checked
against itself before, and None where it doesn't look as expected.
"""

from __future__ import annotations

import ctypes
from typing import Any

import numpy as np
from scipy import sparse

try:
    from cvxopt import base
except ImportError:  # no wheel for this machine
    base = None

_DOUBLE = 1
_NEW = 4  # place of SpMatrix_New among the functions that cvxopt's own extensions call


class _Columns(ctypes.Structure):
    """``ccs`` of cvxopt's ``cvxopt.h``."""

    _fields_ = [
        *((name, ctypes.c_void_p) for name in ("values", "starts", "rows")),
        *((name, ctypes.c_int64) for name in ("height", "width")),
        ("kind", ctypes.c_int),
    ]


def columns_in_place(lower: sparse.csc_array) -> Any:
    """A matrix as cvxopt has it, or None if that looks otherwise than it is known to.

    None too where rows are not sorted in each column, or one is there twice.

    Parameters
    ----------
    lower : scipy.sparse.csc_array
    """
    table = getattr(base, "_C_API", None)
    if table is None or not lower.nnz or not lower.has_canonical_format:
        return None
    name_of, place_of = ctypes.pythonapi.PyCapsule_GetName, ctypes.pythonapi.PyCapsule_GetPointer
    name_of.restype, name_of.argtypes = ctypes.c_char_p, [ctypes.py_object]
    place_of.restype, place_of.argtypes = ctypes.c_void_p, [ctypes.py_object, ctypes.c_char_p]
    if name_of(table) != b"base_API":
        return None
    at = _pointer(place_of(table, b"base_API") + _NEW * ctypes.sizeof(ctypes.c_void_p))
    whole = ctypes.c_int64
    new = ctypes.PYFUNCTYPE(ctypes.py_object, whole, whole, whole, ctypes.c_int)(at)
    found = new(*lower.shape, lower.nnz, _DOUBLE)
    if type(found) is not base.spmatrix or found.size != lower.shape or len(found):
        return None
    columns = _Columns.from_address(_pointer(id(found) + object.__basicsize__))
    told = columns.height, columns.width, columns.kind
    if told != (*lower.shape, _DOUBLE):
        return None
    for place, kind, values in (
        (columns.starts, ctypes.c_int64, lower.indptr),
        (columns.rows, ctypes.c_int64, lower.indices),
        (columns.values, ctypes.c_double, lower.data),
    ):
        np.ctypeslib.as_array((kind * len(values)).from_address(place))[:] = values
    return found


def _pointer(place: int) -> int:
    return ctypes.c_size_t.from_address(place).value

"""A sparse matrix as cvxopt has it: written in place, or made of triplets where that can't be."""

import ctypes

import numpy as np
import pytest
from scipy import sparse

import fea.columns
from fea.columns import columns_in_place
from fea.factor import as_cvxopt, of_triplets


def parts(found):
    """Starts, rows and values."""
    return [np.array(of).ravel() for of in found.CCS]


@pytest.fixture
def lower():
    numbers = np.random.default_rng(3)
    rows, columns = np.sort(numbers.integers(0, 300, (2, 4000)), axis=0)[::-1]
    found = sparse.coo_array((numbers.normal(size=4000), (rows, columns)), shape=(300, 300)).tocsc()
    found.sum_duplicates()
    return found


def test_what_is_written_in_place_is_what_triplets_make(lower):
    found = columns_in_place(lower)
    assert found.size == (300, 300)
    for one, other in zip(parts(found), parts(of_triplets(lower)), strict=True):
        np.testing.assert_array_equal(one, other)


def test_it_keeps_its_own_numbers(lower):
    found = columns_in_place(lower)
    before = lower.data.copy()
    lower.data[:] = 0
    np.testing.assert_array_equal(parts(found)[2], before)


def test_rows_that_are_not_in_order_are_sorted(lower):
    turned = lower.copy()
    first = slice(*turned.indptr[:2])
    for of in (turned.indices, turned.data):
        of[first] = of[first][::-1].copy()
    turned = sparse.csc_array((turned.data, turned.indices, turned.indptr), shape=turned.shape)
    assert turned.indptr[1] > 1
    assert columns_in_place(turned) is None
    for one, other in zip(parts(as_cvxopt(turned)), parts(of_triplets(lower)), strict=True):
        np.testing.assert_array_equal(one, other)


def test_a_matrix_that_does_not_look_as_expected_is_left_alone(lower, monkeypatch):
    """A pointer too few before its size, and what stands there is another."""
    fields = [of for of in fea.columns._Columns._fields_ if of[0] != "rows"]
    moved = type("Moved", (ctypes.Structure,), {"_fields_": fields})
    monkeypatch.setattr(fea.columns, "_Columns", moved)
    assert columns_in_place(lower) is None
    for one, other in zip(parts(as_cvxopt(lower)), parts(of_triplets(lower)), strict=True):
        np.testing.assert_array_equal(one, other)


def test_without_the_functions_it_is_made_of_triplets(lower, monkeypatch):
    monkeypatch.delattr(fea.columns.base, "_C_API")
    assert columns_in_place(lower) is None
    assert as_cvxopt(lower).size == (300, 300)

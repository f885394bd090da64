"""Orders of elimination: what they leave of a grid in space, with each library and without."""

import numpy as np
import pytest
from scipy import sparse

import fea.condensed
import fea.elimination
from fea.condensed import CondensedFactor
from fea.elimination import elimination_order, factor_entries
from fea.factor import Factor

SIDE = 12


@pytest.fixture(scope="module")
def grid():
    """Nodes of a cube, each coupled with its neighbours across faces, edges and corners."""
    line = sparse.diags_array(
        [np.ones(SIDE - 1), np.ones(SIDE), np.ones(SIDE - 1)], offsets=[-1, 0, 1]
    )
    return sparse.csr_array(sparse.kron(line, sparse.kron(line, line)))


def entries(grid, order):
    """Of the factor, counted."""
    dense = grid.toarray()[np.ix_(order, order)] - 30 * np.eye(SIDE**3)
    return np.count_nonzero(np.abs(np.linalg.cholesky(-dense)) > 0)


def test_dissection_leaves_less_than_minimum_degree_and_that_less_than_none(grid, monkeypatch):
    pytest.importorskip("pymetis")
    dissected = elimination_order(grid)
    monkeypatch.setattr(fea.elimination, "pymetis", None)
    by_degree = elimination_order(grid)
    monkeypatch.setattr(fea.elimination, "cholmod", None)
    as_they_stand = elimination_order(grid)
    for order in (dissected, by_degree, as_they_stand):
        assert sorted(order) == list(range(SIDE**3))
    left = [entries(grid, order) for order in (dissected, by_degree, as_they_stand)]
    assert left[0] < 0.9 * left[1] < 0.8 * left[2]


def test_room_is_told_before_it_is_taken(grid, monkeypatch):
    """Within what bundles of columns are filled up by; without the library not less than it is."""
    order = elimination_order(grid)
    counted = entries(grid, order)
    assert counted <= factor_entries(grid, order, 1) < 1.5 * counted
    assert factor_entries(grid, order, 3) == 9 * factor_entries(grid, order, 1)
    monkeypatch.setattr(fea.elimination, "cholmod", None)
    assert counted <= factor_entries(grid, order, 1)


def test_nodes_that_nothing_couples_are_left_as_they_stand():
    assert elimination_order(sparse.csr_array((4, 4))).tolist() == [0, 1, 2, 3]


def test_a_condensed_matrix_asks_for_its_room_first(grid, monkeypatch):
    asked = []

    def refuse(entries):
        asked.append(entries)
        raise MemoryError

    monkeypatch.setattr(fea.condensed, "require_room", refuse)
    lower = sparse.csc_array(sparse.tril(30 * sparse.eye_array(SIDE**3) - grid))
    with pytest.raises(MemoryError, match=f"{SIDE**3} unknowns were condensed to 9"):
        CondensedFactor(lower, 9)
    assert asked[0] > lower.nnz


def test_many_loads_are_answered_as_one_by_one(grid):
    factor = Factor(sparse.csc_array(sparse.tril(30 * sparse.eye_array(SIDE**3) - grid)))
    loads = np.random.default_rng(5).normal(size=(SIDE**3, 7))
    loads[:, 3] = 0
    together = factor.solve(loads)
    assert together == pytest.approx(
        np.stack([factor.solve(load) for load in loads.T], axis=1), abs=1e-14
    )
    assert (together[:, 3] == 0).all()

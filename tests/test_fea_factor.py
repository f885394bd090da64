"""Both libraries give the same solution and refuse a matrix that is not positive definite."""

import numpy as np
import pytest
from scipy import sparse

import fea.factor
from fea.factor import Factor, NotPositiveDefiniteError


@pytest.fixture(params=["cvxopt", "scipy"])
def library(request, monkeypatch):
    if request.param == "scipy":
        monkeypatch.setattr(fea.factor, "cholmod", None)
    return request.param


def chain(values):
    """Springs in a row, fixed at one end, as the lower triangle of their stiffness."""
    values = np.asarray(values, dtype=float)
    main = values + np.append(values[1:], 0)
    return sparse.csc_array(sparse.diags_array([main, -values[1:]], offsets=[0, -1]))


def test_solves_and_names_its_library(library):
    factor = Factor(chain([2.0, 3.0, 4.0]))
    pulled = factor.solve(np.array([0.0, 0.0, 12.0]))
    assert pulled == pytest.approx([6.0, 10.0, 13.0])  # 12/2, + 12/3, + 12/4
    assert library in factor.name


def test_several_right_hand_sides(library):
    factor = Factor(chain([2.0, 3.0, 4.0]))
    loads = np.array([[0.0, 12.0], [0.0, 0.0], [12.0, 0.0]])
    found = factor.solve(loads)
    assert found[:, 0] == pytest.approx([6.0, 10.0, 13.0])
    assert found[:, 1] == pytest.approx([6.0, 6.0, 6.0])


def test_refactor_takes_new_values(library):
    factor = Factor(chain([2.0, 3.0, 4.0]))
    factor.refactor(chain([4.0, 6.0, 8.0]))
    assert factor.solve(np.array([0.0, 0.0, 12.0])) == pytest.approx([3.0, 5.0, 6.5])


def test_refuses_what_is_not_positive_definite(library):
    with pytest.raises(NotPositiveDefiniteError, match="3 unknowns not positive definite"):
        Factor(chain([-2.0, 3.0, 4.0]))

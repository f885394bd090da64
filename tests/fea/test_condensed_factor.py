"""A matrix condensed to its last unknowns, by each way to the end of its factor."""

import ctypes

import numpy as np
import pytest
from scipy import sparse

import fea.condensed
import fea.elimination
import fea.factor
import fea.supernodal
from fea.condensed import CondensedFactor
from fea.factor import NotPositiveDefiniteError

LAST = 60


@pytest.fixture(params=["in place", "copied", "without CHOLMOD"])
def way(request, monkeypatch):
    if request.param == "copied":
        monkeypatch.setattr(fea.condensed, "end_in_place", lambda *_: None)
    if request.param == "without CHOLMOD":
        monkeypatch.setattr(fea.condensed, "cholmod", None)
        monkeypatch.setattr(fea.factor, "cholmod", None)
        monkeypatch.setattr(fea.elimination, "cholmod", None)


@pytest.fixture(scope="module")
def dense():
    some = sparse.random(400, 400, 0.01, random_state=1)
    return (some @ some.T + 2 * sparse.eye(400)).toarray()


def lower(dense):
    return sparse.csc_array(sparse.tril(dense))


@pytest.mark.usefixtures("way")
def test_what_is_left_of_a_matrix(dense):
    factor = CondensedFactor(lower(dense), LAST)
    whole = np.linalg.inv(dense)[-LAST:, -LAST:]
    assert np.tril(factor.inverse()) == pytest.approx(np.tril(whole), abs=1e-12)
    assert factor.root @ factor.root.T == pytest.approx(np.linalg.inv(whole), abs=1e-12)
    assert (np.triu(factor.root, 1) == 0).all()


@pytest.mark.usefixtures("way")
def test_the_rest_by_the_last(dense):
    factor = CondensedFactor(lower(dense), LAST, order=np.arange(400 - LAST)[::-1])
    load = np.random.default_rng(3).normal(size=400)
    half, unmet = factor.reduce(load)
    last = np.linalg.solve(factor.root @ factor.root.T, unmet)
    assert factor.expand(half, last) == pytest.approx(np.linalg.solve(dense, load), abs=1e-12)


@pytest.mark.usefixtures("way")
@pytest.mark.parametrize("count", [1, 2, 5])
def test_several_loads_at_once_are_each_as_alone(dense, count):
    factor = CondensedFactor(lower(dense), LAST)
    loads = np.random.default_rng(4).normal(size=(400, count))
    halves, unmet = factor.reduce(loads)
    found = factor.expand(halves, 2 * unmet)
    for load, half, felt, whole in zip(loads.T, halves.T, unmet.T, found.T, strict=True):
        alone = factor.reduce(load)
        assert half == pytest.approx(alone[0], abs=1e-12)
        assert felt == pytest.approx(alone[1], abs=1e-12)
        assert whole == pytest.approx(factor.expand(half, 2 * felt), abs=1e-12)


def test_last_unknowns_that_meet_no_other_are_read_in_place(dense, monkeypatch):
    """The factor puts them before all others, as it does held unknowns of a joint."""
    monkeypatch.setattr(fea.condensed, "end_of_copy", None)
    held = dense.copy()
    for at in (350, 377, 399):
        held[at] = held[:, at] = 0
        held[at, at] = 4.0
    factor = CondensedFactor(lower(held), LAST)
    whole = np.linalg.inv(held)[-LAST:, -LAST:]
    assert np.tril(factor.inverse()) == pytest.approx(np.tril(whole), abs=1e-12)
    load = np.random.default_rng(4).normal(size=400)
    half, unmet = factor.reduce(load)
    last = np.linalg.solve(factor.root @ factor.root.T, unmet)
    assert factor.expand(half, last) == pytest.approx(np.linalg.solve(held, load), abs=1e-12)


def test_a_factor_that_does_not_look_as_expected_is_copied(dense, monkeypatch):
    """An integer too few before the kind of the factor, and its place tells nothing."""
    fields = [of for of in fea.supernodal.CholmodFactor._fields_ if of[0] != "ordering"]
    moved = type("Moved", (ctypes.Structure,), {"_fields_": fields})
    monkeypatch.setattr(fea.supernodal, "CholmodFactor", moved)
    factor = CondensedFactor(lower(dense), LAST)
    whole = np.linalg.inv(dense)[-LAST:, -LAST:]
    assert np.tril(factor.inverse()) == pytest.approx(np.tril(whole), abs=1e-12)


@pytest.mark.usefixtures("way")
def test_a_matrix_that_is_not_positive_definite(dense):
    for at in (5, 399):
        wrong = dense.copy()
        wrong[at, at] = -1.0
        with pytest.raises(NotPositiveDefiniteError):
            CondensedFactor(lower(wrong), LAST)

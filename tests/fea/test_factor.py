"""Both libraries give the same solution and refuse a matrix that is not positive definite."""

from concurrent.futures import ThreadPoolExecutor
from time import sleep
from types import SimpleNamespace

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


def test_a_corner_of_the_inverse(row):
    inverse = np.array([[1, 1, 1], [1, 5 / 3, 5 / 3], [1, 5 / 3, 13 / 6]]) / 4  # 1/2, 1/3, 1/4
    corner = row["soft"].corner_of_inverse(chain([4.0, 6.0, 8.0]).data, np.array([2, 0]))
    assert np.tril(corner) == pytest.approx(np.tril(inverse[np.ix_([2, 0], [2, 0])]))
    for name, pulled in PULLED.items():
        assert row[name].solve(PULL) == pytest.approx(pulled)


@pytest.mark.parametrize("way", ["end_in_place", "end_of_copy"])
def test_a_corner_of_a_large_inverse(library, monkeypatch, way):
    """Out of the factor where it lies, or of a copy where that looks otherwise."""
    if way == "end_in_place":
        monkeypatch.setattr(fea.factor, "end_of_copy", None)
    else:
        monkeypatch.setattr(fea.factor, "end_in_place", lambda *_: None)
    stiffness = 1 + np.arange(300) % 7
    corner = np.arange(295, 5, -2)
    found = Factor(chain(stiffness)).corner_of_inverse(chain(stiffness).data, corner)
    ends = np.cumsum(1 / stiffness)[corner]
    assert np.tril(found) == pytest.approx(np.tril(np.minimum.outer(ends, ends)))


def test_a_corner_of_what_has_no_inverse(row):
    with pytest.raises(NotPositiveDefiniteError):
        row["soft"].corner_of_inverse(-chain([2.0, 3.0, 4.0]).data, np.array([1]))
    assert row["soft"].solve(PULL) == pytest.approx(PULLED["soft"])


@pytest.fixture
def row(library):
    """A row of springs, and the same with each of them twice as stiff."""
    soft = Factor(chain([2.0, 3.0, 4.0]))
    return {"soft": soft, "hard": soft.refactor(chain([4.0, 6.0, 8.0]).data)}


PULL = np.array([0.0, 0.0, 12.0])
PULLED = {"soft": [6.0, 10.0, 13.0], "hard": [3.0, 5.0, 6.5]}


def test_factors_of_one_pattern_do_not_disturb_each_other(row):
    for name in ("hard", "soft", "soft", "hard", "hard", "soft"):
        assert row[name].solve(PULL) == pytest.approx(PULLED[name])


def watched(monkeypatch, **instead):
    """CHOLMOD with some of its functions replaced."""
    cholmod = fea.factor.cholmod
    plain = {name: getattr(cholmod, name) for name in ("symbolic", "numeric", "solve")}
    monkeypatch.setattr(fea.factor, "cholmod", SimpleNamespace(**plain | instead))


def test_factors_of_one_pattern_can_be_asked_from_several_threads(monkeypatch):
    solve = fea.factor.cholmod.solve

    def solve_late(factor, right):
        sleep(1e-3)  # lets another thread go first
        solve(factor, right)

    watched(monkeypatch, solve=solve_late)
    soft = Factor(chain([2.0, 3.0, 4.0]))
    row = {"soft": soft, "hard": soft.refactor(chain([4.0, 6.0, 8.0]).data)}
    names = ["soft", "hard"] * 20
    with ThreadPoolExecutor(4) as pool:
        found = list(pool.map(lambda name: row[name].solve(PULL), names))
    assert found == [pytest.approx(PULLED[name]) for name in names]


def test_factor_keeps_its_own_copy_of_the_values(library):
    matrix = chain([2.0, 3.0, 4.0])
    factor = Factor(matrix)
    other = factor.refactor(2 * matrix.data)
    matrix.data[:] = 0
    assert factor.solve(PULL) == pytest.approx(PULLED["soft"])
    assert other.solve(PULL) == pytest.approx(PULLED["hard"])


def test_refused_values_leave_the_first_factor_good(row):
    with pytest.raises(NotPositiveDefiniteError, match="3 unknowns not positive definite"):
        row["soft"].refactor(chain([-2.0, 3.0, 4.0]).data)
    for name in ("hard", "soft"):  # the one that was factored last is asked first
        assert row[name].solve(PULL) == pytest.approx(PULLED[name])
    with pytest.raises(ValueError, match=r"\(4,\) values for a pattern of 5 entries"):
        row["soft"].refactor(np.ones(4))


def test_ordering_is_found_once(monkeypatch):
    calls = []
    symbolic = fea.factor.cholmod.symbolic
    watched(monkeypatch, symbolic=lambda matrix: calls.append(1) or symbolic(matrix))
    factor = Factor(chain([2.0, 3.0, 4.0]))
    factor.refactor(chain([4.0, 6.0, 8.0]).data).refactor(chain([1.0, 1.0, 1.0]).data)
    assert len(calls) == 1


def out_of_memory(*_given, **_named):
    raise MemoryError


@pytest.mark.parametrize("function", ["symbolic", "numeric", "solve"])
def test_memory_that_runs_out_is_named(monkeypatch, function):
    watched(monkeypatch, **{function: out_of_memory})
    with pytest.raises(MemoryError, match=r"memory ran out while CHOLMOD .* 3 unknowns"):
        Factor(chain([2.0, 3.0, 4.0])).solve(PULL)


def test_memory_that_the_other_library_lacks_is_named(monkeypatch):
    def no_memory(*_given, **_named):
        raise RuntimeError("SUPERLU_MALLOC fails for buf in intCalloc()")

    monkeypatch.setattr(fea.factor, "cholmod", None)
    monkeypatch.setattr(fea.factor, "splu", no_memory)
    with pytest.raises(MemoryError, match=r"memory ran out while SuperLU .* 3 unknowns"):
        Factor(chain([2.0, 3.0, 4.0]))


def test_memory_is_asked_for_before_the_library_takes_it(monkeypatch):
    monkeypatch.setattr(fea.factor, "FILL", 1e17)  # more than any machine can address
    watched(monkeypatch, symbolic=lambda *_given: pytest.fail("not asked before"))
    with pytest.raises(MemoryError, match="memory ran out"):
        Factor(chain([2.0, 3.0, 4.0]))


def test_refuses_what_is_not_positive_definite(library):
    with pytest.raises(NotPositiveDefiniteError, match="3 unknowns not positive definite"):
        Factor(chain([-2.0, 3.0, 4.0]))


def test_factors_apart_are_asked_in_turn_without_factoring_again(library, monkeypatch):
    soft = Factor(chain([2.0, 3.0, 4.0]))
    hard = soft.apart(chain([4.0, 6.0, 8.0]).data)
    if library == "cvxopt":
        monkeypatch.setattr(fea.factor.cholmod, "numeric", None)
    pull = np.array([0.0, 0.0, 12.0])
    for _ in range(2):
        assert soft.solve(pull) == pytest.approx([6.0, 10.0, 13.0])
        assert hard.solve(pull) == pytest.approx([3.0, 5.0, 6.5])

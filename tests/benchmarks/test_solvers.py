"""Sparse solvers on this project's matrices: pytest tests/benchmarks --benchmark-only -n 0 -k solv.

CPU time; set OMP_NUM_THREADS=1 and OPENBLAS_NUM_THREADS=1. The benchmark times the factorisation,
from scipy's arrays to the factor. The extra info tells what other values on the same pattern cost
(all of it again where a library keeps nothing), one and eight right-hand sides, and how far the
displacement is from CHOLMOD's. Libraries that aren't installed are skipped: the project depends on
scipy and cvxopt only.

Measured, one thread, CPU ms: factor / refactor / 1 right-hand side / 8. All displacements agree to
1.5e-10.

    solver                bare 31k      bare 121k          bare 304k
    SuperLU COLAMD        156/149/5/16  1002/1021/37/111   4076/4037/123/348
    SuperLU MMD, symm.    136/137/4/15  753/766/29/84      2731/2746/87/271
    CHOLMOD (cvxopt)      51/18/2/14    300/101/17/154     1121/348/58/457
    CHOLMOD (kvxopt)      49/19/2/14    286/99/18/124      1118/348/54/434
    cholespy              128/129/1/5   717/735/18/52      2493/2497/50/145
    qdldl                 54/27/2/14    372/230/26/188     1720/1104/79/625
    rslab                 101/32/3/7    427/159/19/46      1641/550/58/133
    pypardiso             144/143/6/35  494/498/46/180     1313/1319/142/569

    solver                bank 63k        bank 117k         bank 293k
    SuperLU COLAMD        588/588/26/65   1386/1396/55/135  5823/5437/139/393
    SuperLU MMD, symm.    349/356/13/43   879/837/32/94     3418/3275/86/267
    CHOLMOD (cvxopt)      123/52/5/36     299/109/20/113    1046/359/56/459
    CHOLMOD (kvxopt)      119/50/4/33     282/108/16/95     1014/356/58/467
    cholespy              325/322/4/12    720/729/14/45     2652/2602/55/152
    qdldl                 194/139/7/60    504/344/28/233    2503/1835/87/697
    rslab                 212/82/8/23     569/169/20/49     1876/522/58/134
    pypardiso             247/273/18/90   492/489/43/177    1725/1343/131/521

MMD is MMD_AT_PLUS_A. Taken: CHOLMOD through cvxopt, the fastest to factor and to re-factor and the
better kept of the two.
"""

from dataclasses import replace
from functools import cache
from importlib import import_module
from time import process_time

import numpy as np
import pytest
from random_blocks import MATERIALS
from scipy import sparse
from scipy.sparse.linalg import splu
from sections import BANK, SINGLE, UNIFORM, section

import fea.model
from fea import Factor, SectionModel
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

SECTIONS = {
    "bare": (replace(SINGLE, liner=0.0, barrel_wall=8.5), None),
    "uniform": (replace(SINGLE, liner=0.0, barrel_wall=8.5), UNIFORM),
    "bank": (BANK, replace(UNIFORM, slots=())),
}
FINENESS = {
    "bare": {"30k": 0.86, "120k": 0.395, "300k": 0.243},
    "uniform": {"30k": 1.25, "120k": 0.495, "300k": 0.305},
    "bank": {"60k": 2.5, "120k": 0.74, "300k": 0.44},
}
MATRICES = [(name, size) for name, sizes in FINENESS.items() for size in sizes]
pytestmark = pytest.mark.benchmark(timer=process_time)


def whole(lower):
    return sparse.csc_array(lower + sparse.tril(lower, -1).T)


def superlu(lower, **options):
    factor = splu(whole(lower), **options)
    return factor.solve, None


def cholmod_of(package):
    def factor(lower):
        cholmod, base = import_module(f"{package}.cholmod"), import_module(package)
        columns = np.repeat(np.arange(lower.shape[1]), np.diff(lower.indptr))
        rows = lower.indices.astype(np.int64)
        taken = base.spmatrix(*map(base.matrix, (lower.data, rows, columns)), lower.shape)
        kept = cholmod.symbolic(taken)
        cholmod.numeric(taken, kept)

        def solve(loads):
            right = base.matrix(loads)
            cholmod.solve(kept, right)
            return np.array(right).reshape(loads.shape)

        def refactor(values):
            taken.V = base.matrix(values)
            cholmod.numeric(taken, kept)

        return solve, refactor

    return factor


def cholespy(lower):
    library = import_module("cholespy")
    matrix = whole(lower)
    factor = library.CholeskySolverD(
        matrix.shape[0], matrix.indptr, matrix.indices, matrix.data, library.MatrixType.CSC
    )

    def solve(loads):
        found = np.zeros_like(loads)
        factor.solve(np.ascontiguousarray(loads), found)
        return found

    return solve, None


def qdldl(lower):
    factor = import_module("qdldl").Solver(sparse.csc_matrix(lower.T), upper=True)

    def solve(loads):
        return np.apply_along_axis(factor.solve, 0, loads)

    def refactor(values):
        changed = sparse.csc_matrix((values, lower.indices, lower.indptr), shape=lower.shape)
        factor.update(sparse.csc_matrix(changed.T), upper=True)

    return solve, refactor


def rslab(lower):
    kept = import_module("rslab").analyze(lower, path="ldlt", threads=1)
    factors = [kept.factor(lower.data)]

    def solve(loads):
        return factors[-1].solve(loads) if loads.ndim == 1 else factors[-1].solve_many(loads)

    def refactor(values):
        factors[:] = [kept.factor(values)]

    return solve, refactor


def pardiso(lower):
    solver = import_module("pypardiso").PyPardisoSolver(mtype=2)
    upper = sparse.csr_matrix(lower.T)
    solver.factorize(upper)
    return lambda loads: solver.solve(upper, loads), None


CANDIDATES = {
    "SuperLU COLAMD": superlu,
    "SuperLU MMD_AT_PLUS_A symmetric": lambda lower: superlu(
        lower,
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0,
        options={"SymmetricMode": True},
    ),
    "cvxopt CHOLMOD": cholmod_of("cvxopt"),
    "kvxopt CHOLMOD": cholmod_of("kvxopt"),
    "cholespy": cholespy,
    "qdldl": qdldl,
    "rslab": rslab,
    "pypardiso": pardiso,
}


@cache
def stiffness_of(name, size):
    """Lower triangle that a model would factor."""
    taken = []
    mesh = mesh_outline(
        draw_section(section(*SECTIONS[name])), element_size=4.0, fineness=FINENESS[name][size]
    )
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fea.model, "Factor", taken.append)
        SectionModel(mesh, MATERIALS)
    return taken[0]


def milliseconds(call, rounds=3):
    seconds = []
    for _ in range(rounds):
        start = process_time()
        call()
        seconds.append(process_time() - start)
    return round(1000 * min(seconds), 2)


@pytest.mark.parametrize(("name", "size"), MATRICES)
@pytest.mark.parametrize("candidate", CANDIDATES)
def test_solver(benchmark, candidate, name, size):
    lower = stiffness_of(name, size)
    loads = np.random.default_rng(0).standard_normal((lower.shape[0], 8))
    one = np.ascontiguousarray(loads[:, 0])
    kept = []

    def factor():
        kept[:] = [CANDIDATES[candidate](lower)]

    try:
        benchmark.pedantic(factor, rounds=1 if size == "300k" else 3)
    except ImportError as error:
        pytest.skip(f"{error.name} is not installed")
    ((solve, refactor),) = kept
    exact = Factor(lower).solve(one)
    again = factor if refactor is None else lambda: refactor(lower.data)
    benchmark.extra_info |= {
        "unknowns": lower.shape[0],
        "entries": lower.nnz,
        "refactor_ms": milliseconds(again),
        "one_ms": milliseconds(lambda: solve(one)),
        "eight_ms": milliseconds(lambda: solve(loads)),
        "off": float(np.abs(solve(one) - exact).max() / np.abs(exact).max()),
    }

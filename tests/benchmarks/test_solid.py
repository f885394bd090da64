"""What a solid costs: assembly, factor, a further load, its stress.

    pytest tests/benchmarks/test_solid.py --benchmark-only -n 0

A further load, answered and its stress recovered, is held against the first solve in one run.
"""

from time import process_time

import numpy as np
import pytest

from cases.check.sheets import bent_box
from fea.material import Material
from fea.solid import SolidModel
from fea.solid.stress import recover, recover_many

IRON = Material("iron", 110_000.0, 0.26)
FURTHER = 0.03
"""Back-substitution and recovery of a further load, each over the first solve, at most."""
LOADS = 8


@pytest.fixture(scope="module")
def mesh():
    """A thick half tube of 10 layers, 130,000 unknowns."""

    def to(x, y, z):
        r, angle = 40 + 25 * x, np.pi * y
        return r * np.cos(angle), r * np.sin(angle), z

    names = {"bore": lambda x, y, z: x < 1e-9}
    return bent_box(10, 50, -90 * np.linspace(1, 0, 11) ** 1.5, to, names)


def timed(work):
    start = process_time()
    found = work()
    return found, process_time() - start


def test_further_load_costs_little_of_a_first_solve(mesh, benchmark):
    model, assembled = timed(lambda: SolidModel(mesh, {"block": IRON}, {"floor": "xyz"}))
    load = model.pressure_load("bore", 10.0, reach=28.0)
    solution, solved = timed(lambda: model.solve(load))
    _, recovered = timed(lambda: recover(solution))
    first = assembled + solved + recovered
    loads = [load * share for share in np.linspace(0.1, 1, LOADS)]
    more, answering = timed(lambda: benchmark.pedantic(model.solve_many, (loads,), rounds=1))
    _, reading = timed(lambda: recover_many(more))
    benchmark.extra_info.update(
        unknowns=mesh.points.size,
        assembly_s=round(assembled, 2),
        factor_and_solve_s=round(solved, 2),
        first_recovery_s=round(recovered, 2),
        further_answer_share=round(answering / LOADS / first, 4),
        further_stress_share=round(reading / LOADS / first, 4),
    )
    assert answering / LOADS <= FURTHER * first
    assert reading / LOADS <= FURTHER * first

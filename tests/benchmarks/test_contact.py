"""What contact costs on the bundled block: run this file with --benchmark-only.

About 35,000 unknowns. Read ``share_of_bonded`` in the extra info: set-up and four load steps with
friction over mesh, bonded solve and recovery (goal 3).
"""

from pathlib import Path
from time import perf_counter

import numpy as np
import pytest

import cases
from cases.case import read_case
from fea import Fit, FittedModel, SectionModel, recover
from geometry.mesh import mesh_outline
from geometry.outline import draw_section
from geometry.parted import part_off

FITS = {part: Fit(overlap=0.005, friction=0.15) for part in ("barrel", "outer wall", "tie")}


@pytest.fixture(scope="module", params=["uniform", "local"])
def posed(request):
    case = read_case(Path(cases.__file__).parent / "library" / "hillclimb_four.toml")
    (design,) = (design for design in case.designs if design.name == request.param)
    start = perf_counter()
    mesh = mesh_outline(draw_section(case.section(design)), element_size=6.0, detail=0.35)
    solution = SectionModel(mesh, materials := case.part_materials(design)).solve(case.line_load)
    recover(solution)
    return case, part_off(mesh, "insert"), materials, perf_counter() - start


def load_steps(case, parted, materials):
    """Model, load, and the number of the step before."""
    cold = FittedModel(parted, materials, FITS)
    x, y = parted.mesh.points.T
    warm = cold.at(100 + 50 * np.exp(-(np.hypot(x, y) - 43.5) / 8))
    load = cold.model.edge_load("bore", lambda _x, _y, nx, ny: -case.line_load * np.stack([nx, ny]))
    return (cold, None, None), (warm, None, 0), (warm, load, 1), (cold, load, 0)


def test_service(benchmark, posed):
    *problem, bonded = posed

    def service():
        solved = []
        for model, load, after in load_steps(*problem):
            solved.append(model.solve(load, None if after is None else solved[after]))
        return solved

    solved = benchmark.pedantic(service, rounds=3)
    benchmark.extra_info["unknowns"] = 2 * len(problem[1].mesh.points)
    benchmark.extra_info["iterations"] = [step.iterations for step in solved]
    benchmark.extra_info["share_of_bonded"] = benchmark.stats.stats.min / bonded

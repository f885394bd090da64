"""What a solid costs: assembly, factor, a further load, its stress.

    pytest tests/benchmarks/test_solid.py --benchmark-only -n 0

A further load, answered and its stress recovered, is held against the first solve in one run, all
load steps of a fitted insert against one solve in one piece, and a block from its numbers to its
stress against a general library.

Measured on a machine with much other work, processor seconds of one thread. A block of one bore
beside NGSolve (:mod:`solid_elsewhere`), against 421.5 MPa (order 4 there, 222,000 unknowns):

    NGSolve, order 3, told where the peak is   2.1 % in 2.6 s, 32,000 unknowns
    here, coarse, told nothing                 2.2 % in 2.2 s, 45,000
    here, fine, told nothing                   0.3 % in 3.2 s, 72,000

So the ratio is 0.86, not the quarter that is aimed at: on so plain a block the third order there
needs few elements, and all of the stress is recovered here. Bundled block, coarse: ``uniform``,
133,000 unknowns, one piece 7.1 s, all 20 load steps of the fit 4.5 s (0.64 of it); ``local``,
154,000 unknowns, one piece 10.2 s, 21 load steps 13.4 s (1.3), as one of them is sought from inside
the cones of friction, by one convex problem of 5 s where it was five.
"""

from time import process_time

import numpy as np
import pytest

from cases import read_case
from cases.check.sheets import bent_box
from cases.cli import DEMO
from cases.gas.solve import gas_load
from cases.solid.gas import HELD, gas_forces, instants
from cases.solid.life import FittedSolidLife, solid_life
from cases.solid.solve import solid_materials
from fea.material import Material
from fea.solid import SolidModel
from fea.solid.cones import _Laws
from fea.solid.fitted import FittedSolid
from fea.solid.stress import principal, recover, recover_many
from geometry.section import Block, ReliefCut, Tie
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, mesh_solid

IRON = Material("iron", 110_000.0, 0.26)
FURTHER = 0.03
"""Back-substitution and recovery of a further load, each over the first solve, at most."""
LOADS = 8
MOST_OF_A_FIT = 1.5
"""All load steps of a fitted insert over one solve of its block in one piece, at most."""


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


def test_a_block_beside_a_general_library(benchmark):
    """Both at 2 to 3 % of one common reference, from the numbers of the block to the stress."""
    elsewhere = pytest.importorskip(
        "benchmarks.solid_elsewhere", reason="needs the extra compare", exc_type=ImportError
    )
    reference, _ = elsewhere.worst_stress(10.0, 1.5, 4)
    (theirs, their_unknowns), their_time = timed(lambda: elsewhere.worst_stress(20.0, 3.0, 3))

    def ours():
        block = Block(
            bores=1, bore=2 * elsewhere.BORE, barrel_wall=elsewhere.BARREL - elsewhere.BORE,
            jacket=elsewhere.JACKET - elsewhere.BARREL,
            outer_wall=elsewhere.OUTER - elsewhere.JACKET,
            ties=tuple(
                Tie(clock=clock, width=elsewhere.TIE_WIDTH, depth=elsewhere.TIE_DEPTH)
                for clock in (2.0, 8.0)
            ),
            relief_cuts=(
                ReliefCut(
                    clock=elsewhere.CUT_CLOCK, radius=elsewhere.CUT_AT,
                    diameter=2 * elsewhere.CUT_RADIUS, depth=elsewhere.CUT_DEPTH,
                ),
            ),
            jacket_depth=elsewhere.JACKET_DEPTH, crankcase_floor=elsewhere.FLOOR,
            floor_radius=0.0, underside_radius=0.0,
        )  # fmt: skip
        mesh = mesh_solid(section_of(block, None), COARSE)
        metal = Material("alloy", elsewhere.MODULUS, elsewhere.POISSON)
        model = SolidModel(mesh, dict.fromkeys(mesh.parts, metal), HELD)
        load = model.pressure_load("bore", elsewhere.PRESSURE, elsewhere.REACH)
        (barrel,) = (of for of in recover(model.solve(load)) if of.part == "barrel")
        on_cut = np.isin(barrel.nodes, mesh.sides["relief"])
        on_cut &= mesh.points[barrel.nodes, 2] > -8
        return principal(barrel.stress[:, on_cut])[0][0].max(), mesh.points.size

    (here, unknowns), time = timed(lambda: benchmark.pedantic(ours, rounds=1))
    benchmark.extra_info.update(
        seconds=round(time, 2),
        over_theirs=round(time / their_time, 2),
        error=round(here / reference - 1, 4),
        their_error=round(theirs / reference - 1, 4),
        unknowns=unknowns,
        their_unknowns=their_unknowns,
    )
    assert here == pytest.approx(reference, rel=0.03)
    assert theirs == pytest.approx(reference, rel=0.03)
    assert time < 1.5 * their_time


@pytest.mark.parametrize("name", ["uniform", "local"])
def test_all_steps_of_a_fit_beside_one_solve(name, benchmark, monkeypatch):
    """Bundled block, coarse: pressed in, warm, and warm at every crank angle."""
    case = read_case(DEMO)
    design = next(of for of in case.designs if of.name == name)
    gas = gas_load(case)
    pressed = instants(case, gas)
    mesh = mesh_solid(section_of(case.block, design.insert, case.thinnest_wall), COARSE)
    materials = solid_materials(case, design)

    def in_one_piece():
        model = SolidModel(mesh, {part: materials[part] for part in mesh.parts}, HELD)
        return recover_many(model.solve_many(gas_forces(model, pressed)[:1]))

    _, one_piece = timed(in_one_piece)
    steps, problems = [], []
    solve, inside = FittedSolid.solve_many, _Laws.solve

    def solved(self, forces, *more):
        found, seconds = timed(lambda: solve(self, forces, *more))
        steps.append((len(forces), seconds))
        return found

    monkeypatch.setattr(FittedSolid, "solve_many", solved)
    monkeypatch.setattr(_Laws, "solve", lambda *given: problems.append(0) or inside(*given))
    life = solid_life(case, design, gas, pressed, mesh)
    assert isinstance(life, FittedSolidLife)
    benchmark.pedantic(life.at_gas, (life.engine_states[0],), rounds=1)
    count, seconds = np.sum(steps, axis=0)
    benchmark.extra_info.update(
        unknowns=mesh.points.size, steps=int(count), from_inside_the_cones=len(problems),
        steps_s=round(seconds, 2), one_piece_s=round(one_piece, 2),
        share=round(seconds / one_piece, 2),
    )  # fmt: skip
    assert len(problems) <= 1
    assert seconds < MOST_OF_A_FIT * one_piece

"""The deck section of a design: meshed, solved and recovered until its hot spots are settled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from functools import partial

from cases.base.faults import RunError, memory_ran_out
from cases.case import Case, Design
from cases.stress.result import DesignResult
from fea.adaptive import adapt
from fea.bore import BoreShape, bore_growth
from fea.closed_form import joint_pressure, lame_ring
from fea.equilibrium import fine_enough, self_checks
from fea.hotspots import HotSpot, hot_spots
from fea.model import SectionModel, Solution
from fea.refinement import REFINEMENT
from fea.stress import LayerStress, recover
from geometry.outline import Outline, draw_section
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

START = {
    "coarse": {"element_size": 8.0, "detail": 0.25},
    "normal": {"element_size": 6.0, "detail": 0.35},
    "fine": {"element_size": 4.0, "detail": 1.0},
}
"""First mesh, as :func:`geometry.mesh.mesh_outline` takes it; the solution asks for the next."""
QUICK = 0.10
"""Numerical error of a hot spot that bores are ranked and set beside each other by."""


Stage = Callable[[str], AbstractContextManager[None]]
"""A context that announces and times a stage of a design's run."""


def untold(_stage: str) -> AbstractContextManager[None]:
    """Announces nothing."""
    return nullcontext()


def quick_section(
    case: Case,
    design: Design,
    line_load: float,
    bore: int,
    meshes: int = REFINEMENT.most_passes,
) -> DesignResult:
    """A design in one piece with some bore firing, on a coarse mesh, its hot spots to ``QUICK``.

    Parameters
    ----------
    case : Case
    design : Design
    line_load : float
        Of the gas. [N/mm]
    bore : int
        That fires.
    meshes : int
        Made at most for its hot spots.

    Raises
    ------
    RunError
        If it can't be solved.
    """
    fired = replace(
        case, mesh="coarse", tolerance=max(QUICK, case.tolerance),
        block=replace(case.block, firing_bore=bore),
    )  # fmt: skip
    outline = draw_section(fired.section(design))
    return solve_section(fired, design, outline, line_load, meshes=meshes)


def solve_section(
    case: Case,
    design: Design,
    outline: Outline,
    line_load: float,
    stage: Stage = untold,
    meshes: int = REFINEMENT.most_passes,
) -> DesignResult:
    """Mesh, solve and recover a design until its hot spots are settled.

    Parameters
    ----------
    case : Case
    design : Design
    outline : Outline
    line_load : float
        Of the gas on the bore wall. [N/mm]
    stage : callable
        Told "mesh", "solve" and "recover".
    meshes : int
        Made at most for its hot spots.

    Raises
    ------
    RunError
        If the mesher can't be loaded.
    Exception
        As the mesher, the solver and the self-checks raise it; ``stage`` makes it a RunError.
    """
    mesh_outline = partial(load_mesher(), outline)

    def mesh_at(wishes: Sequence[SizeWishes]) -> SectionMesh:
        with stage("mesh"):
            return mesh_outline(wishes=wishes, **START[case.mesh])

    def solve(mesh: SectionMesh) -> Solution:
        with stage("solve"):
            return SectionModel(mesh, case.part_materials(design)).solve(line_load)

    def read(solution: Solution) -> tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]:
        with stage("recover"):
            bores.append(bore_growth(solution))
            stresses = recover(solution)
            return stresses, hot_spots(solution, stresses)

    bores: list[BoreShape] = []
    given = line_load, ring_growth(case, design, line_load)

    def fine(solution: Solution, stresses: Sequence[LayerStress]) -> bool:
        with stage("recover"):
            return fine_enough(solution, stresses, *given)

    adapted = adapt(mesh_at, solve, case.tolerance, most_passes=meshes, read=read, fine_enough=fine)
    with stage("recover"):
        bore = bores[-1].changed_from(bores[-2]) if len(bores) > 1 else bores[-1]
        checks = self_checks(adapted.solution, adapted.stresses, *given)
    return DesignResult(
        name=design.name,
        section=case.section(design),
        outline=outline,
        mesh=adapted.solution.model.mesh,
        solution=adapted.solution,
        stresses=adapted.stresses,
        hot_spots=adapted.hot_spots,
        passes=adapted.passes,
        stopped=adapted.stopped,
        bore=bore,
        checks=checks,
        open_area_mm2=outline.open_area,
        insert_area_mm2=outline.insert_area,
    )


def ring_growth(case: Case, design: Design, line_load: float) -> float | None:
    """Bore growth of a design that is a plain ring, with or without a liner, by Lame. [mm].

    None for any other section.
    """
    block = case.block
    if block.jacket > 0 or block.relief_cuts or block.varied_walls:
        return None
    pressure = line_load / case.section_depth
    materials = case.part_materials(design)
    barrel = materials["barrel"]
    a, c, b = block.bore / 2, block.liner_radius, block.barrel_radius
    if block.liner == 0:
        moduli = {"youngs_modulus": barrel.youngs_modulus, "poisson": barrel.poisson}
        return float(lame_ring(a, a, b, p_in=pressure, **moduli).growth)
    liner = materials["liner"]
    moduli = {"youngs_modulus": liner.youngs_modulus, "poisson": liner.poisson}
    joint = joint_pressure(
        a,
        c,
        b,
        p_in=pressure,
        inner=(liner.youngs_modulus, liner.poisson),
        outer=(barrel.youngs_modulus, barrel.poisson),
    )
    return float(lame_ring(a, a, c, p_in=pressure, p_out=joint, **moduli).growth)


def load_mesher() -> Callable[..., SectionMesh]:
    """``geometry.mesh.mesh_outline``; importing it loads gmsh with its shared libraries.

    Raises
    ------
    RunError
        Where the system lacks one of them.
    MemoryError
        Where they have no room.
    """
    try:
        from geometry.mesh import mesh_outline
    except ImportError as error:
        if memory_ran_out(error):
            raise MemoryError(str(error)) from error
        raise RunError(str(error)) from error
    return mesh_outline

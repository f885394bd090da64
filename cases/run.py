"""One readable pipeline: each design of a case is drawn, meshed, solved and recovered."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from time import perf_counter

from cases.case import Case, Design
from cases.errors import CaseError, Fault, RunError
from fea.bore import BoreShape, bore_growth
from fea.checks import Checks, self_checks
from fea.closed_form import joint_pressure, lame_ring
from fea.hotspots import HotSpot, hot_spots
from fea.model import SectionModel, Solution
from fea.stress import LayerStress, recover
from geometry.checks import SectionError
from geometry.outline import Outline, draw_section
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh

Progress = Callable[[str, str], None]  # name of the design, step that begins

STEPS = ("draw", "mesh", "solve", "recover")
FINENESS = {"coarse": 1.6, "normal": 1.0, "fine": 0.6}  # element size against the default


@dataclass(frozen=True, kw_only=True, slots=True)
class DesignResult:
    """What one design of a case does under the gas load."""

    name: str
    section: DeckSection
    outline: Outline
    mesh: SectionMesh
    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]  # worst first
    bore: BoreShape
    checks: Checks
    open_area_mm2: float  # open water seen at the deck
    insert_area_mm2: float
    seconds: dict[str, float]  # draw, mesh, solve, recover, total


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseResult:
    """All designs of a case, in its order."""

    case: Case
    designs: tuple[DesignResult, ...]


def solve_case(case: Case, progress: Progress | None = None) -> CaseResult:
    """Draw, mesh and solve every design of a case.

    Parameters
    ----------
    case : Case
        From :func:`cases.case.read_case`.
    progress : callable, optional
        Told the name of the design and the step in ``STEPS`` whenever one begins. All designs
        are drawn before the first is meshed, so that what can't be built is refused at once.

    Returns
    -------
    CaseResult

    Raises
    ------
    CaseError
        If a section can't be built.
    RunError
        If meshing or solving fails, or a result does not pass its own checks.
    """
    tell = progress or (lambda name, step: None)
    drawn = _draw_all(case, tell)
    mesh_outline = _load_mesher()
    results = []
    for design, (outline, drawing) in zip(case.designs, drawn, strict=True):
        seconds = {"draw": drawing}
        with _step(tell, design.name, "mesh", seconds):
            mesh = mesh_outline(outline, fineness=FINENESS[case.mesh])
        with _step(tell, design.name, "solve", seconds):
            model = SectionModel(mesh, case.part_materials(design))
            solution = model.solve(case.line_load)
        with _step(tell, design.name, "recover", seconds):
            stresses = recover(solution)
            spots = hot_spots(solution, stresses)
            bore = bore_growth(solution)
            checks = self_checks(solution, stresses, case.line_load, ring_growth(case, design))
        seconds["total"] = sum(seconds.values())
        results.append(
            DesignResult(
                name=design.name,
                section=case.section(design),
                outline=outline,
                mesh=mesh,
                solution=solution,
                stresses=stresses,
                hot_spots=spots,
                bore=bore,
                checks=checks,
                open_area_mm2=outline.open_area,
                insert_area_mm2=outline.insert_area,
                seconds=seconds,
            )
        )
    return CaseResult(case=case, designs=tuple(results))


def ring_growth(case: Case, design: Design) -> float | None:
    """Bore growth of a design that is a plain ring, with or without a liner, by Lame. [mm].

    None for any other section.
    """
    block = case.block
    if block.jacket > 0 or block.relief_cuts or block.wall_table:
        return None
    pressure = case.line_load / case.section_depth
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


@contextmanager
def _step(tell: Progress, name: str, step: str, seconds: dict[str, float]) -> Iterator[None]:
    """Announce, time and name a step."""
    tell(name, step)
    start = perf_counter()
    try:
        yield
    except Exception as error:  # gmsh raises bare Exceptions
        raise RunError(f'design "{name}", step {step}: {error}') from error
    seconds[step] = perf_counter() - start


def _draw_all(case: Case, tell: Progress) -> list[tuple[Outline, float]]:
    """Outline and drawing time of each design."""
    drawn = []
    refused: dict[str, SectionError] = {}
    for design in case.designs:
        tell(design.name, "draw")
        start = perf_counter()
        try:
            drawn.append((draw_section(case.section(design)), perf_counter() - start))
        except SectionError as error:
            refused[design.name] = error
    if refused:
        raise CaseError(str(case.source_path), _drawing_faults(case, refused))
    return drawn


def _drawing_faults(case: Case, refused: Mapping[str, SectionError]) -> list[Fault]:
    """Faults of the insert under its design; those of the block once for all designs."""
    found: dict[tuple[str, str], list[str]] = {}
    for name, error in refused.items():
        path = error.feature
        if re.match("insert|zone|slot", path):
            path = f'design "{name}".{path.removeprefix("insert").lstrip(".")}'.rstrip(".")
        found.setdefault((path, str(error)), []).append(name)
    faults = []
    for (path, text), names in found.items():
        some = not path.startswith("design") and len(names) < len(case.designs)
        where = f" This is so in design {', '.join(names)}." if some else ""
        faults.append(Fault(path, text + where))
    return faults


def _load_mesher() -> Callable[..., SectionMesh]:
    """``geometry.mesh.mesh_outline``; importing it loads gmsh with its shared libraries.

    Raises
    ------
    RunError
        Where the system lacks one of them.
    """
    try:
        from geometry.mesh import mesh_outline
    except ImportError as error:
        raise RunError(str(error)) from error
    return mesh_outline

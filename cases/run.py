"""One readable pipeline: each design of a case is drawn, meshed, solved and recovered."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import Executor
from contextlib import contextmanager
from functools import partial
from time import perf_counter

from cases.base.faults import CaseError, Fault, RunError
from cases.base.workers import relayed
from cases.case import Case, Design
from cases.crack.solve import run_cracks
from cases.depth.solve import depth_section
from cases.life.life import Life, has_service
from cases.rating.solve import _rate
from cases.stress.result import CaseResult, DesignResult
from cases.stress.solve import _solve_design
from geometry.checks import SectionError
from geometry.outline import Outline, draw_section
from geometry.section_mesh import SectionMesh

Progress = Callable[[str, str], None]  # name of the design, step that begins

STEPS = ("draw", "mesh", "solve", "recover", "service", "rating", "band")


def solve_case(
    case: Case,
    progress: Progress | None = None,
    executor: Executor | None = None,
    *,
    rate: bool = False,
) -> CaseResult:
    """Draw, mesh and solve every design of a case, refined until its hot spots are settled.

    Parameters
    ----------
    case : Case
        From :func:`cases.case.read_case`.
    progress : callable, optional
        Told the name of the design and the step in ``STEPS`` when one begins for the first time;
        with an executor from another thread. All designs are drawn before the first is meshed, so
        that what can't be built is refused at once.
    executor : concurrent.futures.Executor, optional
        Solves the designs side by side, each in a process of its own; the results are the same.
    rate : bool
        Whether to find what each design stands, too, and the depth section and the crack that the
        case asks for.

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
    if executor is None:
        solved = [
            _solve_drawn(case, design, *drawing, rate, tell)
            for design, drawing in zip(case.designs, drawn, strict=True)
        ]
    else:
        with relayed(tell) as tell_from_afar:
            working = [
                executor.submit(_solve_drawn, case, design, *drawing, rate, tell_from_afar)
                for design, drawing in zip(case.designs, drawn, strict=True)
            ]
            solved = [future.result() for future in working]
    depth = None
    if rate and case.depth:
        tell("all designs", "depth section")
        depth = depth_section(case, solved)
    crack = run_cracks(case, case.crack, solved, tell, executor) if rate and case.crack else None
    return CaseResult(case=case, designs=tuple(solved), depth=depth, crack=crack)


def _solve_drawn(
    case: Case,
    design: Design,
    outline: Outline,
    drawing: float,
    rate: bool,
    tell: Progress,
) -> DesignResult:
    """One design from its outline on."""
    seconds = {"draw": drawing}
    start = perf_counter()
    mesh_outline = _load_mesher()
    adapted, bore, checks = _solve_design(
        case, design, partial(mesh_outline, outline), partial(_step, tell, design.name, seconds)
    )
    service = rating = None
    if rate or has_service(case):
        with _step(tell, design.name, seconds, "service"):
            life = Life(case, design, adapted.solution.model.mesh)
            service = life.read() if has_service(case) else None
    if rate:
        step = partial(_step, tell, design.name, seconds)
        rating = _rate(case, design, adapted, life, mesh_outline, step)
    seconds["total"] = drawing + perf_counter() - start
    return DesignResult(
        name=design.name,
        section=case.section(design),
        outline=outline,
        mesh=adapted.solution.model.mesh,
        solution=adapted.solution,
        stresses=adapted.stresses,
        hot_spots=adapted.hot_spots,
        passes=adapted.passes,
        bore=bore,
        checks=checks,
        open_area_mm2=outline.open_area,
        insert_area_mm2=outline.insert_area,
        seconds=seconds,
        service=service,
        rating=rating,
    )


@contextmanager
def _step(tell: Progress, name: str, seconds: dict[str, float], step: str) -> Iterator[None]:
    """Announce, time and name a step; one that comes again adds to its time."""
    if step not in seconds:
        tell(name, step)
    start = perf_counter()
    try:
        yield
    except RunError:
        raise
    except Exception as error:  # gmsh raises bare Exceptions
        raise RunError(f'design "{name}", step {step}: {error}') from error
    seconds[step] = seconds.get(step, 0.0) + perf_counter() - start


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

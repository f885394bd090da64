"""One readable pipeline: each design of a case is drawn, meshed, solved and recovered."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass, replace
from functools import partial
from time import perf_counter

from cases.case import Case, Design
from cases.crack import CrackResult, run_cracks
from cases.depth import DepthResult, depth_section
from cases.errors import CaseError, Fault, RunError, memory_ran_out
from cases.rating import DesignRating, Judge, rate_design
from cases.service import Life, Service, has_service
from cases.spread import band_of
from cases.workers import relayed
from fea.adaptive import Adapted, Pass, adapt
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
from geometry.sizing import SizeWishes

Progress = Callable[[str, str], None]  # name of the design, step that begins

STEPS = ("draw", "mesh", "solve", "recover", "service", "rating", "band")
START = {
    "coarse": {"element_size": 8.0, "detail": 0.25},
    "normal": {"element_size": 6.0, "detail": 0.35},
    "fine": {"element_size": 4.0, "detail": 1.0},
}
"""First mesh, as :func:`geometry.mesh.mesh_outline` takes it; the solution asks for the next."""


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
    passes: tuple[Pass, ...] = ()  # mesh by mesh, where it was refined
    bore: BoreShape
    checks: Checks
    open_area_mm2: float  # open water seen at the deck
    insert_area_mm2: float
    seconds: dict[str, float]  # draw, mesh, solve, recover, total; service and rating if there
    service: Service | None = None  # load steps, where the case has fit or heat
    rating: DesignRating | None = None  # where it was asked for


@dataclass(frozen=True, kw_only=True, slots=True)
class CaseResult:
    """All designs of a case, in its order."""

    case: Case
    designs: tuple[DesignResult, ...]
    depth: DepthResult | None = None  # the barrel from the side, where the case asks for it
    crack: CrackResult | None = None  # a crack in every design, where the case asks for it


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
        _load_mesher()  # here too, so that what it lacks is told before any process starts
        with relayed(tell, executor) as tell_from_afar:
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


def _rate(
    case: Case,
    design: Design,
    adapted: Adapted,
    life: Life,
    mesh_outline: Callable[..., SectionMesh],
    step: Callable[[str], AbstractContextManager[None]],
) -> DesignRating:
    """What a design stands, with the band of its limit."""

    def other(changed: Case) -> tuple[Judge, Life]:
        mesh_changed = partial(mesh_outline, draw_section(changed.section(design)))
        adapted = _solve_design(changed, design, mesh_changed, lambda _: nullcontext())[0]
        life = Life(changed, design, adapted.solution.model.mesh)
        return _judge(changed, design, adapted, life), life

    with step("rating"):
        judge = _judge(case, design, adapted, life)
        rating = rate_design(judge, life)
    if not case.rating.draws or rating.limit is None or rating.limit.factor == 0:
        return rating
    try:
        with step("band"):
            band, untold = band_of(judge, life, rating.limit.factor, other)
    except RunError as error:
        note = f"no band: the design could not be solved around its limit. {error}"
        return replace(rating, notes=(*rating.notes, note))
    return replace(rating, band=band, notes=(*rating.notes, *untold))


def _judge(case: Case, design: Design, adapted: Adapted, life: Life) -> Judge:
    """The judge of a design, blind where the end of a bonded joint has no finite stress."""
    found = [(spot.x_mm, spot.y_mm) for spot in adapted.hot_spots if spot.sharp]
    return Judge(case, design, life.mesh, life.bond_ends() if design.fit else found)


def _solve_design(
    case: Case,
    design: Design,
    mesh_outline: Callable[..., SectionMesh],
    step: Callable[[str], AbstractContextManager[None]],
) -> tuple[Adapted, BoreShape, Checks]:
    """Mesh, solve and recover a design until its hot spots are settled."""

    def mesh_at(wishes: Sequence[SizeWishes]) -> SectionMesh:
        with step("mesh"):
            return mesh_outline(wishes=wishes, **START[case.mesh])

    def solve(mesh: SectionMesh) -> Solution:
        with step("solve"):
            return SectionModel(mesh, case.part_materials(design)).solve(case.line_load)

    def read(solution: Solution) -> tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]:
        with step("recover"):
            stresses = recover(solution)
            return stresses, hot_spots(solution, stresses)

    adapted = adapt(mesh_at, solve, case.tolerance, read=read)
    with step("recover"):
        bore = bore_growth(adapted.solution)
        checks = self_checks(
            adapted.solution, adapted.stresses, case.line_load, ring_growth(case, design)
        )
    return adapted, bore, checks


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
def _step(tell: Progress, name: str, seconds: dict[str, float], step: str) -> Iterator[None]:
    """Announce, time and name a step; one that comes again adds to its time."""
    if step not in seconds:
        tell(name, step)
    start = perf_counter()
    try:
        yield
    except (RunError, MemoryError):
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

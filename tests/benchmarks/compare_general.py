"""Time and accuracy beside a general library: python tests/benchmarks/compare_general.py.

The three designs of the bundled block are solved by this project and by NGSolve with Netgen (the
extra ``compare``), each with its own mesh, for the stress at the root of the deepest relief cut.
Imports are not timed; everything from the section to the stress is, with these two differences,
both against this project: it draws the section from its features, where the other library is
handed lines and arcs, and it finds the root among all hot spots, where the other is told the place
and refines towards it. The last ratio leaves the drawing out.

First both solve very finely, and must agree. Then each tries its settings, and the cheapest is
taken that stays within 1 % on all three designs, as it stands and with all sizes a little smaller,
so that a lucky mesh doesn't count. Those two settings are timed in turn, A B A B, with one thread
each and with the threads as they come. Other work on the machine slows the second threads most;
the processor time of the one-thread runs is the figure that suffers least from it.
"""

from __future__ import annotations

import cmath
import multiprocessing
import os
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import cache
from itertools import product
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import general_library
import ngsolve
import numpy as np
from general_library import Setting
from netgen.meshing import NgException

import cases
from cases.case import Case, Design, read_case
from fea import SectionModel, hot_spots, principal, recover
from geometry.clock import clock_to_angle
from geometry.mesh import mesh_outline
from geometry.outline import draw_section

PART = "barrel"
REACH = 1.5
"""The stress at a root is the largest within this distance. [mm]."""
ALLOWED = 0.01
AGREE = 0.001
SMALLER = 0.93
TURNS = 7
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")

OWN = [
    {"element_size": size, "detail": detail}
    for size, detail in product((8.0, 16.0, 32.0), (1.0, 0.7, 0.5, 0.42, 0.35))
]
OTHER = [
    Setting(order=order, grading=grading, per_edge=per_edge, root_size=size)
    for order, grading, per_edge, size in product(
        (2, 3, 4), (0.5, 0.7, 0.9), (1.0, 0.3), (0.8, 0.3)
    )
]
VERY_FINE = {"fineness": 0.35}
VERY_FINE_OTHER = Setting(order=5, max_size=4, grading=0.3, per_turn=24, root_size=0.1)


@dataclass(frozen=True)
class Run:
    """One way from a section to the stress at its root."""

    stress: float  # [MPa]
    unknowns: int
    draw: float  # [s]
    wall: float  # drawing included [s]
    processor: float  # [s]


@cache
def bundled_case() -> Case:
    """The invented block."""
    return read_case(Path(cases.__file__).parent / "library" / "hillclimb_four.toml")


def root_of(design: Design) -> complex:
    """Where the cut that leaves least wall pulls hardest.

    Bare, at the free edge of the metal left under the cut, and with an insert, which supports
    that edge, where the cut comes nearest to the bore.
    """
    block = bundled_case().block
    cut = min(block.relief_cuts, key=lambda cut: cut.radius - cut.diameter / 2)
    radius = cut.radius - cut.diameter / 2 if design.insert else block.barrel_radius
    return cmath.rect(radius, float(clock_to_angle(cut.clock)))


def own(design: Design, setting: dict[str, float]) -> Run:
    """By this project."""
    case = bundled_case()
    start, busy = perf_counter(), process_time()
    outline = draw_section(case.section(design))
    drawn = perf_counter()
    mesh = mesh_outline(outline, **setting)
    solution = SectionModel(mesh, case.part_materials(design)).solve(case.line_load)
    stresses = recover(solution)
    hot_spots(solution, stresses)
    at = mesh.points @ [1, 1j] - root_of(design)
    stress = max(
        principal(layer.stress[:, near])[0].max()
        for layer in stresses
        if layer.part == PART and (near := np.abs(at[layer.nodes]) < REACH).any()
    )
    wall, processor = perf_counter() - start, process_time() - busy
    return Run(float(stress), 2 * len(mesh.points), drawn - start, wall, processor)


@cache
def plain(design: str) -> general_library.PlainSection:
    """Lines, arcs and layers of a design, drawn once."""
    case = bundled_case()
    (found,) = (d for d in case.designs if d.name == design)
    return general_library.plain_section(draw_section(case.section(found)))


def other(design: Design, setting: Setting) -> Run:
    """By the general library."""
    case, section, root = bundled_case(), plain(design.name), root_of(design)
    start, busy = perf_counter(), process_time()
    solved = general_library.solve(
        section, case.part_materials(design), case.line_load, setting, root
    )
    stress = solved.largest_principal(PART, root, REACH)
    wall, processor = perf_counter() - start, process_time() - busy
    return Run(stress, solved.unknowns, 0.0, wall, processor)


def smaller(setting: dict[str, float] | Setting) -> dict[str, float] | Setting:
    """The setting with all sizes a little smaller."""
    if isinstance(setting, Setting):
        return replace(
            setting,
            max_size=setting.max_size * SMALLER,
            per_turn=setting.per_turn / SMALLER,
            root_size=setting.root_size * SMALLER,
        )
    return {
        "element_size": setting["element_size"] * SMALLER,
        "detail": setting["detail"] / SMALLER,
    }


def cheapest(
    solve: Callable[[Design, object], Run], settings: list, reference: dict[str, float]
) -> object:
    """The setting of least processor time that stays within the allowed error on every design."""
    found = []
    for setting in settings:
        errors, seconds, unknowns = [], [], []
        tries = product(bundled_case().designs, (setting, smaller(setting)))
        try:
            for design, variant in tries:
                run = solve(design, variant)
                errors.append(abs(run.stress / reference[design.name] - 1))
                seconds.append(run.processor)
                unknowns.append(run.unknowns)
        except NgException as error:
            print(f"  - {error}  {setting}")
            continue
        good = max(errors) <= ALLOWED
        print(
            f"  {'+' if good else '-'} {sum(seconds) / 2:6.3f} s  error {100 * max(errors):6.2f} %"
            f"  unknowns {min(unknowns):7,} to {max(unknowns):7,}  {setting}",
            flush=True,
        )
        if good:
            found.append((sum(seconds), len(found), setting))
    if not found:
        raise SystemExit("no setting reaches the allowed error")
    return min(found)[2]


def choose() -> tuple[dict[str, float], object, object]:
    """Stress at the roots by both, very finely, and the cheapest setting of each."""
    reference = {}
    for design in bundled_case().designs:
        ours, theirs = own(design, VERY_FINE), other(design, VERY_FINE_OTHER)
        apart = abs(ours.stress / theirs.stress - 1)
        print(
            f"{design.name:8s} very fine: {ours.stress:8.3f} MPa ({ours.unknowns:,} unknowns), "
            f"the other {theirs.stress:8.3f} MPa ({theirs.unknowns:,}), apart {100 * apart:.3f} %",
            flush=True,
        )
        if apart > AGREE:
            raise SystemExit("the very fine solves differ")
        reference[design.name] = (ours.stress + theirs.stress) / 2
    print("hoopclock: processor time of the three designs together")
    ours = cheapest(own, OWN, reference)
    print("the other library")
    return reference, ours, cheapest(other, OTHER, reference)


def time_in_turn(reference: dict[str, float], ours: object, theirs: object) -> None:
    """Medians of alternate runs on every design, and their ratios."""
    for design in bundled_case().designs:
        own(design, ours)
        other(design, theirs)
        runs = [(own(design, ours), other(design, theirs)) for _ in range(TURNS)]
        sides = list(zip(*runs, strict=True))
        wall = [median(run.wall for run in side) for side in sides]
        busy = [median(run.processor for run in side) for side in sides]
        undrawn = median(run.wall - run.draw for run in sides[0])
        for name, side, w, b in zip(("hoopclock", "the other"), sides, wall, busy, strict=True):
            error = 100 * abs(side[0].stress / reference[design.name] - 1)
            print(
                f"{design.name:8s} {name}: {w:6.3f} s, processor {b:6.3f} s, "
                f"{side[0].stress:8.3f} MPa, error {error:5.2f} %, {side[0].unknowns:7,} unknowns"
            )
        print(
            f"{design.name:8s} ratio {wall[0] / wall[1]:.2f}, of processor time "
            f"{busy[0] / busy[1]:.2f}, without drawing {undrawn / wall[1]:.2f}",
            flush=True,
        )


def one_thread() -> None:
    """Hold this process to one thread."""
    ngsolve.SetNumThreads(1)


def main() -> None:
    """Choose with one thread, then time with one thread and with the threads as they come."""
    spawn = multiprocessing.get_context("spawn")
    kept = dict(os.environ)
    os.environ.update(dict.fromkeys(THREADS, "1"))
    with ProcessPoolExecutor(1, spawn, initializer=one_thread) as pool:
        chosen = pool.submit(choose).result()
        print(f"chosen: hoopclock {chosen[1]}, the other {chosen[2]}\none thread each", flush=True)
        pool.submit(time_in_turn, *chosen).result()
    os.environ.clear()
    os.environ.update(kept)
    print(f"threads as they come, {os.cpu_count()} cores", flush=True)
    with ProcessPoolExecutor(1, spawn) as pool:
        pool.submit(time_in_turn, *chosen).result()


if __name__ == "__main__":
    main()

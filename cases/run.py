"""One readable pipeline: every design of a case is drawn, then each subject solves its part."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from itertools import groupby
from time import perf_counter
from typing import Any

from cases.base.checking import Faults
from cases.base.faults import RunError
from cases.base.progress import ENDED, RunPlan
from cases.base.spoken import refused_in
from cases.base.subject import Progress, Subject, Usual, Work
from cases.base.workers import relayed
from cases.block.drawn import Drawing, draw_all
from cases.bores.choose import choose_bore
from cases.bores.given import every_bore, firing
from cases.case import Case
from cases.solid.given import Setting, solid_given, with_solid
from cases.stress.result import CaseResult, DesignResult
from cases.stress.solve import load_mesher
from cases.subjects import SUBJECTS, case_table


def plan_of(
    case: Case, rate: bool, processes: int, subjects: Sequence[Subject] = SUBJECTS
) -> RunPlan:
    """What a run announces, with what each stage usually takes.

    Parameters
    ----------
    case : Case
    rate : bool
        Whether it is rated.
    processes : int
        How many designs are at work side by side, at the most.
    subjects : sequence of Subject
        In order.

    Returns
    -------
    RunPlan
    """
    each: list[Usual] = []
    once: list[Usual] = []
    for subject in subjects:
        if subject.asked(case, rate):
            (each if subject.by_design else once).extend(subject.stages(case))
    before = [EVERY_BORE, "draw"] if rate and every_bore(case) else ["draw"]
    designs = [design.name for design in case.designs]
    quick = [design.name for design in case.designs if design.insert is None]
    return RunPlan(before, designs, each, once, min(processes, len(designs)), quick)


def at_once(case: Case, rate: bool, subjects: Sequence[Subject] = SUBJECTS) -> int:
    """How many designs it pays to solve side by side."""
    long = any(subject.long and subject.asked(case, rate) for subject in subjects)
    return len(case.designs) if long else 1


def solve_case(
    case: Case,
    progress: Progress | None = None,
    executor: Executor | None = None,
    *,
    rate: bool = False,
    subjects: Sequence[Subject] = SUBJECTS,
) -> CaseResult:
    """Draw, mesh and solve every design of a case, refined until its hot spots are settled.

    Parameters
    ----------
    case : Case
        From :func:`cases.read.read_case`.
    progress : callable, optional
        Told the name of the design and the stage when one begins for the first time, once for each
        of ``plan_of`` at most, and when a design has ended; with an executor from another thread.
        All designs are drawn before the first is meshed, so that what can't be built is refused at
        once.
    executor : concurrent.futures.Executor, optional
        Solves the designs side by side, each in a process of its own; the results are the same.
    rate : bool
        Whether to find what each design stands, too, and the depth section and the crack that the
        case asks for.
    subjects : sequence of Subject
        In order.

    Returns
    -------
    CaseResult

    Raises
    ------
    CaseError
        If a section can't be built, or an engine can't give what is asked of it.
    RunError
        If meshing or solving fails, or a result does not pass its self-checks.
    """
    tell = progress or (lambda name, stage: None)
    with refused_in(case.spoken):
        drawn = draw_all(case, tell)
        asked = [subject for subject in subjects if subject.asked(case, rate)]
        faults = Faults(str(case.source_path), {}, case_table(tuple(subjects)))
        for subject in asked:
            subject.look(case, drawn, faults)
        faults.end()
        whole = Work(case=case, found={}, tell=tell, executor=executor)
        found: dict[str, Any] = {}
        designs: Sequence[DesignResult] = ()
        for by_design, group in groupby(asked, key=lambda subject: subject.by_design):
            if by_design:
                work = replace(whole, found=dict(found), designs=designs)
                designs = _side_by_side(work, list(group), drawn, executor)
            else:
                for subject in group:
                    found[subject.key] = subject.solve(
                        replace(whole, found=dict(found), designs=designs)
                    )
    return CaseResult(case=case, designs=tuple(designs), found=found)


EVERY_BORE = "every bore"
"""Stage of a rating that looks for the worst bore."""


def solve_bores(
    case: Case, progress: Progress | None = None, executor: Executor | None = None
) -> CaseResult:
    """Rate a case whose file leaves it to that which bore fires: by the worst.

    Parameters
    ----------
    case : Case
        Of several bores.
    progress, executor
        As of :func:`solve_case`, of the rating itself.

    Raises
    ------
    CaseError, RunError
        As :func:`solve_case`.
    """
    setting = solid_given(case).setting

    def judge(fired: Case) -> CaseResult:
        undrawn = fired.told("rating", replace(fired.given["rating"], draws=0))
        return rated_alone(undrawn, None if setting is None else "coarse", executor)

    with refused_in(case.spoken):
        found = choose_bore(case, judge)
    result = solve_case(firing(case, found.rated), progress, executor, rate=True)
    return replace(result, found={**result.found, "bores": found})


def rated_alone(
    case: Case,
    setting: Setting | None,
    executor: Executor | None = None,
    progress: Progress | None = None,
    *,
    fits: bool = False,
) -> CaseResult:
    """Limits of the designs of a case, and nothing that rests on them.

    Parameters
    ----------
    case : Case
    setting : str or None
        Of the solids; None for the section alone.
    executor, progress
        As of :func:`solve_case`.
    fits : bool
        Whether other fits of each are solved too, for the window of its fit.

    Raises
    ------
    CaseError, RunError
        As :func:`solve_case`.
    """
    until = [subject.key for subject in SUBJECTS].index("fit" if fits else "rating") + 1
    asked = with_solid(case, setting, lived=setting is not None, evidence=False, swept=fits)
    return solve_case(asked, progress, executor, rate=True, subjects=SUBJECTS[:until])


def _side_by_side(
    work: Work, subjects: Sequence[Subject], drawn: Sequence[Drawing], executor: Executor | None
) -> list[DesignResult]:
    """Each design through some subjects, in a process of its own where there is an executor."""
    before = work.designs or [None] * len(drawn)
    work = replace(work, designs=(), executor=None)
    if executor is None:
        return [
            _solve_design(work, subjects, drawing, solved)
            for drawing, solved in zip(drawn, before, strict=True)
        ]
    load_mesher()  # here too, so that what it lacks is told before any process starts
    with relayed(work.tell, executor) as tell_from_afar:
        sent = replace(work, tell=tell_from_afar)
        working = {
            at: executor.submit(_solve_design, sent, subjects, drawn[at], before[at])
            for at in _longest_first(drawn)
        }
        return [working[at].result() for at in range(len(drawn))]


def _longest_first(drawn: Sequence[Drawing]) -> list[int]:
    """Places of designs: none that takes long, with an insert and many curves, is begun last."""

    def quick(at: int) -> tuple[bool, int]:
        return drawn[at].design.insert is None, -len(drawn[at].outline.pieces)

    return sorted(range(len(drawn)), key=quick)


def _solve_design(
    work: Work, subjects: Sequence[Subject], drawing: Drawing, before: DesignResult | None
) -> DesignResult:
    """One design from its outline on, or from what subjects before have found."""
    start = perf_counter()
    seconds = dict(before.seconds) if before else {"draw": drawing.seconds}
    total = seconds.pop("total", drawing.seconds)
    found: dict[str, Any] = {"stress": before, **before.found} if before else {}
    live: dict[str, Any] = {}
    stage = partial(_stage, work.tell, drawing.name, seconds)
    for subject in subjects:
        here = replace(work, drawn=drawing, found={**work.found, **found}, live=live, stage=stage)
        found[subject.key] = subject.solve(here)
    work.tell(drawing.name, ENDED)
    seconds["total"] = total + perf_counter() - start
    solved: DesignResult = found.pop("stress")
    return replace(solved, seconds=seconds, found=found)


@contextmanager
def _stage(tell: Progress, name: str, seconds: dict[str, float], stage: str) -> Iterator[None]:
    """Announce, time and name a stage; one that comes again adds to its time."""
    if stage not in seconds:
        tell(name, stage)
    start = perf_counter()
    try:
        yield
    except (RunError, MemoryError):
        raise
    except Exception as error:  # gmsh raises bare Exceptions
        raise RunError(f'design "{name}", stage {stage}: {error}') from error
    seconds[stage] = seconds.get(stage, 0.0) + perf_counter() - start

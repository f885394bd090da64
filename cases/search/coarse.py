"""Designs that differ by their interference alone, by one coarse solid: what a search asks of many.

Of what a rating finds only that is sought which a search weighs: no section is solved, no state in
one piece, no window of fits. One mesh, factor and condensed joint, one temperature and the first
start of each load step serve all of them. Two further fits, a tolerance beyond the least and the
most, let each draw's fit be read between solids. One in three of the crank angles is solved, that
of most pressure among them. What thinner walls do to the limit is taken from the design that the
search begins with (:func:`wall_shifts`), by its section, as one more solid would cost as much as
the design itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from time import perf_counter
from typing import Any

from cases.base.faults import RunError
from cases.base.memory import give_back
from cases.block.drawn import Drawing, draw_all
from cases.case import Case
from cases.gas.solve import gas_load
from cases.life.given import life_given
from cases.life.steps import EngineState
from cases.rating.band import Solved
from cases.rating.depth_band import (
    OtherSolids,
    SolidDraws,
    band_of_solid,
    bands_at,
    draws_of,
    judging_of,
    read_fit,
)
from cases.rating.given import rating_given
from cases.rating.limit import MOST_FACTOR, stands
from cases.rating.own_heat import that_tell
from cases.rating.result import FIT, Band, FitPoint, rating_of
from cases.rating.solid import SolidLoads, place_words, rate_solid
from cases.rating.solid_fits import is_swept, limit_near
from cases.search.evaluate import Hands, Task, metal_of, solid_mesh
from cases.search.found import Found
from cases.solid.gas import Instant, instants
from cases.solid.hot import depth_heat
from cases.solid.life import FittedSolidLife, solid_life
from cases.solid.profiles import growth_down
from cases.stress.displaced import displaced
from cases.stress.solve import START, load_mesher
from cases.verdict.rows import DOUBTS, swept_levels, wetted_barrel
from fea.bore import shape_of
from geometry.outline import Outline
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh

DRAWS = 400
"""Draws, at the most: of all designs the same, so that they are set against each other by pairs."""
EVERY = 3
"""Of the crank angles that a rating solves, one in so many is."""

Shifts = Mapping[str, tuple[float, float, float]]
Outcome = Found | str
"""What was found, or why nothing was."""


def wall_shifts(hands: Hands, task: Task) -> dict[str, tuple[float, float, float]]:
    """What walls and liner shift the limit of a design by, as its section has it; none of the fit.

    Parameters
    ----------
    hands : Hands
    task : Task

    Raises
    ------
    RunError
        If it can't be solved.
    """
    (design,) = hands.solve(task.case(hands), None).designs
    band = rating_of(design).band
    return {name: of for name, of in (band.shifts if band else {}).items() if name != FIT}


def judge_alike(
    hands: Hands, tasks: Sequence[Task], bare_mm3: float, shifts: Shifts
) -> list[Outcome]:
    """Rate designs that differ by their interference alone by a coarse solid.

    Parameters
    ----------
    hands : Hands
    tasks : sequence of Task
        One at least.
    bare_mm3 : float
        Metal of the bare block's solid, as coarse.
    shifts : mapping
        As of :func:`wall_shifts`.

    Returns
    -------
    list of Found or str
        One for each task.
    """
    start = perf_counter()
    cases = [_few_draws(task.case(hands)) for task in tasks]
    fits = [_interference(case) for case in cases]
    first = sorted(range(len(cases)), key=lambda at: fits[at] or 0.0)[len(cases) // 2]
    try:
        found = _Alike(cases[first], bare_mm3).judged(fits, first, shifts)
    except MemoryError:
        raise
    except Exception as error:  # gmsh raises bare Exceptions
        found = [str(error)] * len(tasks)
    give_back()
    if found is None:
        return [judge_alike(hands, [task], bare_mm3, shifts)[0] for task in tasks]
    each = (perf_counter() - start) / len(tasks)
    return [of if isinstance(of, str) else replace(of, seconds=each) for of in found]


def _few_draws(case: Case) -> Case:
    given = rating_given(case)
    return case.told("rating", replace(given, draws=min(given.draws, DRAWS)))


def _interference(case: Case) -> float | None:
    """Common to the sides that are pressed; None where none is. [mm]."""
    fit = life_given(case).fits.get(case.designs[0].name)
    return fit.interference if fit else None


def fewer(pressed: Sequence[Instant]) -> tuple[Instant, ...]:
    """One in ``EVERY`` of what presses at the crank angles, that of most pressure among them."""
    most = max(range(len(pressed)), key=lambda at: pressed[at].pressure)
    return tuple(pressed[most % EVERY :: EVERY])


@dataclass(frozen=True, eq=False, slots=True)
class _Flat:
    """A design meshed in plan."""

    section: DeckSection
    outline: Outline
    mesh: SectionMesh


@dataclass(frozen=True, eq=False, slots=True)
class _AtFit:
    """One interference as it is solved."""

    loads: SolidLoads
    limit: float | None  # with all at its middle
    solved: Solved | None  # what draws are read from; None without a limit to draw about
    tried: float
    governs: str
    out_of_round_um: float


class _Alike:
    """A design solved at one interference, ready for others.

    Raises
    ------
    RunError
        If it can't be meshed or solved.
    """

    def __init__(self, case: Case, bare_mm3: float) -> None:
        (drawn,) = draw_all(case, lambda name, stage: None)
        self.case, self.gas = case, gas_load(case)
        mesh = solid_mesh(case, drawn.design, "coarse")
        self.life = solid_life(case, drawn.design, self.gas, fewer(instants(case, self.gas)), mesh)
        taken, cut = metal_of(mesh, drawn.section, drawn.outline.insert_area, bare_mm3)
        self.told: dict[str, Any] = {
            "open_mm2": float(drawn.outline.open_area),
            "wetted_mm2": wetted_barrel(mesh, case.block) if case.block.jacket else None,
            "taken_mm3": taken, "machining_mm3": cut, "mass_g": _mass(drawn), **self._heat(),
        }  # fmt: skip

    def _heat(self) -> dict[str, Any]:
        """Hottest metal, and what of its heat lets no limit hold."""
        life = self.life
        if life.given.heat is None or life.heat is None:
            return {"hottest_degc": None, "doubts": ()}
        heat = depth_heat(
            self.case.block, life.given.heat, life.heating, life.heat, life.materials,
            bond=life.bond,
        )  # fmt: skip
        flags = {flag.kind for flag in heat.flags}
        hottest = [of.temperature_degc for of in heat.hottest if of.part in ("barrel", "insert")]
        return {
            "hottest_degc": max(hottest, default=None),
            "doubts": tuple(kind for kind in DOUBTS if kind in flags),
        }

    def judged(
        self, fits: Sequence[float | None], first: int, shifts: Shifts
    ) -> list[Outcome] | None:
        """What is found at each interference [mm]; that of ``first`` is solved, the rest from it.

        None where there are others and the first has no limit to go on from.

        Raises
        ------
        RunError
            If no limit can be sought at that.
        """
        rated, loads, heats = rate_solid(self.life)
        if rated.untold:
            raise RunError("; ".join(rated.notes))
        limit = rated.limit.factor if rated.limit else None
        spot = rated.governing
        alone = _AtFit(
            loads=loads, limit=limit, solved=None, tried=rated.tried,
            governs=f"{spot.part} {spot.clock}, {spot.criterion}, {spot.state}" if spot else "",
            out_of_round_um=self._out_of_round(loads, 1.0),
        )  # fmt: skip
        if not limit or not loads.wishes.draws:
            return [self._found(alone, None)] if len(fits) == 1 else None
        told_heats, _ = that_tell(self.gas, heats, loads.heated_by)
        draws = draws_of(loads, limit, told_heats)
        if not is_swept(loads.life):
            return [self._found(alone, band_of_solid(draws, shifts)[0])] * len(fits)
        alone = replace(alone, solved=draws.solved)
        return self._swept([fit or 0.0 for fit in fits], first, shifts, draws, alone)

    def _swept(
        self,
        fits: Sequence[float],
        first: int,
        shifts: Shifts,
        draws: SolidDraws,
        alone: _AtFit,
    ) -> list[Outcome]:
        """Each interference, its draws read between all that are solved."""
        life, stated = alone.loads.life, fits[first]
        assert isinstance(life, FittedSolidLife)
        tolerance, filled = life.fit.tolerance, life.fit.compound is not None
        ends = {of for of in (min(fits) - tolerance, max(fits) + tolerance) if of > 0 or filled}
        solved: dict[float, _AtFit] = {stated: alone}
        unsolved: dict[float, str] = {}
        for fit in sorted({*fits, *ends} - {stated}, key=lambda of: abs(of - stated)):
            beside = min((*solved, *unsolved), key=lambda of: abs(of - fit))
            try:
                if beside in unsolved:  # that the one before it was not found costs enough
                    raise RunError(unsolved[beside])
                solved[fit] = self._at_fit(solved[beside], fit)
            except RunError as error:
                unsolved[fit] = str(error)
        others = _others(stated, tolerance, solved)
        known = [fit for fit in fits if fit in solved]
        bands = bands_at(draws, shifts, others, [1000 * fit for fit in known])
        told = dict(zip(known, bands, strict=True))
        return [
            self._found(solved[fit], told[fit]) if fit in solved else unsolved[fit] for fit in fits
        ]

    def _at_fit(self, beside: _AtFit, fit: float) -> _AtFit:
        """Another interference [mm], begun from one beside it.

        Raises
        ------
        RunError
            If contact is not found.
        """
        start = beside.limit or 1.0
        other = beside.loads.with_interference(fit, start)
        limit, place, _ = limit_near(other, start)
        at = 1.0 if limit is None else limit
        return _AtFit(
            loads=other,
            limit=limit,
            solved=read_fit(other, limit) if limit else None,
            tried=max(other.tried, default=0.0),
            governs=place_words(other.at_heat(limit or start), place, at) if place else "",
            out_of_round_um=self._out_of_round(other, start),
        )

    def _out_of_round(self, loads: SolidLoads, factor: float) -> float:
        """Of the bore at the asked gas, in proportion to a load that was solved. [um]."""
        life = loads.life
        engine: EngineState = life.engine_states[0]
        (gas,) = life.at_gas(engine, factor, (loads.at_worst(engine),))
        idle = life.idle(engine).displacement
        moved = idle + (gas.displacement - idle) / factor - life.idle(EngineState.COLD).displacement
        depth, growth, _ = growth_down(life.mesh, moved)
        levels = swept_levels(self.case, depth)
        return max(shape_of(growth[level]).out_of_round_um for level in levels)

    def _found(self, at: _AtFit, band: Band | None) -> Outcome:
        """What a search is told."""
        beyond = at.limit is None and at.tried >= 0.99 * MOST_FACTOR
        if at.limit is None and not beyond:
            return "no limit was found by its solid"
        factor = band.limit if band else at.limit if at.limit is not None else at.tried
        low, _, high = band.pressure_mpa if band else (None, None, None)
        reached = None if beyond and not band else stands(self.gas, factor).pressure_mpa
        return Found(
            limit=factor, at_least=beyond, limit_bar=_bar(reached), low_bar=_bar(low),
            high_bar=_bar(high), share=band.carries if band else None, governs=at.governs,
            out_of_round_um=at.out_of_round_um, seconds=0.0, **self.told,
        )  # fmt: skip


def _mass(drawn: Drawing) -> float | None:
    """Of the insert; None where its density is not known. [g]."""
    material = drawn.design.insert_material
    if material is None or not material.density:
        return None
    mesh = load_mesher()(drawn.outline, **START["coarse"])
    return material.density * displaced(_Flat(drawn.section, drawn.outline, mesh)).insert_mm3


def _others(stated: float, tolerance: float, solved: Mapping[float, _AtFit]) -> OtherSolids:
    """All interferences that were solved, rising."""
    rising = sorted(solved)
    points = tuple(
        FitPoint(
            interference_um=1000 * fit, held={}, over_yield={},
            out_of_round_um=solved[fit].out_of_round_um, limit=solved[fit].limit,
            tried=solved[fit].tried if solved[fit].limit is None else None,
        )
        for fit in rising
    )  # fmt: skip
    return OtherSolids(
        stated_um=1000 * stated, tolerance_um=1000 * tolerance,
        judging=judging_of(solved[stated].loads), points=points,
        solved=tuple(solved[fit].solved for fit in rising),
    )  # fmt: skip


def _bar(mpa: float | None) -> float | None:
    return None if mpa is None else 10 * mpa

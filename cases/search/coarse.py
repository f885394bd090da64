"""Designs that differ by their interference alone, by one coarse solid: what a search asks of many.

Of what a rating finds only that is sought which a search weighs: no section is solved, no state in
one piece, no window of fits, and no limit with all at its middle, which lies far above the load
that nearly all draws carry and is as hot as that. Solved are the wanted load and one or two more,
``WIDE`` apart, each at its own heat, and draws are read between them: whether the wanted load is
carried is told at just its heat. One mesh, factor and condensed joint, the temperatures and the
first start of each load step serve all fits. Fits are solved that leave no more than ``APART``
between them, and two further ones, a tolerance beyond the least and the most: each draw's fit is
read between these, and so is a design whose own fit lies between (9 um apart limits are off by up
to 3 %). One in three of the crank angles is solved, that of most pressure among them. What thinner
walls do to the limit is taken from the design that the search begins with (:func:`wall_shifts`), by
its section, as one more solid would cost as much as the design itself.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from time import perf_counter
from typing import Any

import numpy as np

from cases.base.faults import RunError
from cases.base.memory import give_back
from cases.block.drawn import Drawing, draw_all
from cases.case import Case
from cases.gas.solve import at_load, gas_load
from cases.life.given import life_given
from cases.life.steps import EngineState
from cases.rating.band import WIDEST, Solved
from cases.rating.depth_band import (
    OtherSolids,
    SolidDraws,
    SolidJudging,
    band_of_solid,
    bands_at,
    draws_of,
    judging_of,
    read_fit,
)
from cases.rating.given import rating_given
from cases.rating.limit import MOST_FACTOR, stands
from cases.rating.own_heat import WIDE
from cases.rating.result import FIT, Band, FitPoint, rating_of
from cases.rating.solid import SolidLoads, place_words
from cases.rating.solid_fits import is_swept
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
KNOWN = 0.95
"""Share of the largest load that draws are read up to, from which what carries it carries more."""

APART = 0.010
"""Interferences no farther apart than this have those between them read, not solved. [mm]."""

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
    give_back()
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
    some = to_solve([of or 0.0 for of in fits], _tolerance(cases[0]))
    first = [of or 0.0 for of in fits].index(some[len(some) // 2])
    found: list[Outcome]
    try:
        found = _Alike(cases[first], bare_mm3).judged(fits, first, shifts)
    except MemoryError:
        raise
    except Exception as error:  # gmsh raises bare Exceptions
        found = [str(error)] * len(tasks)
    give_back()
    each = (perf_counter() - start) / len(tasks)
    return [of if isinstance(of, str) else replace(of, seconds=each) for of in found]


def _few_draws(case: Case) -> Case:
    given = rating_given(case)
    return case.told("rating", replace(given, draws=min(given.draws, DRAWS)))


def _interference(case: Case) -> float | None:
    """Common to the sides that are pressed; None where none is. [mm]."""
    fit = life_given(case).fits.get(case.designs[0].name)
    return fit.interference if fit else None


def _tolerance(case: Case) -> float:
    """Of the interference; 0 where none is pressed. [mm]."""
    fit = life_given(case).fits.get(case.designs[0].name)
    return fit.tolerance if fit else 0.0


def to_solve(fits: Sequence[float], tolerance: float) -> list[float]:
    """Interferences that are solved, rising: the least, and others as far apart as can be. [mm].

    Parameters
    ----------
    fits : sequence of float
        [mm]
    tolerance : float
        Beyond the most one more is solved. [mm]

    Examples
    --------
    >>> to_solve([0.020, 0.024, 0.028, 0.032], 0.005)
    [0.02, 0.028]
    """
    rising = sorted(set(fits))
    kept = rising[:1]
    for fit, beyond in pairwise([*rising[1:], rising[-1] + tolerance]):
        if beyond - kept[-1] > APART:
            kept.append(fit)
    return kept


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

    solved: Solved  # what draws are read from
    governs: str  # of the wanted load, with all at its middle
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

    def judged(self, fits: Sequence[float | None], first: int, shifts: Shifts) -> list[Outcome]:
        """What is found at each interference [mm]; that of ``first`` is solved, the rest from it.

        Raises
        ------
        RunError
            If contact is not found at that.
        """
        loads = SolidLoads(self.life)
        loads.begin()
        loads.count_yield()
        if self.life.given.heat and self.life.given.heat.follows_gas:
            loads.know_heats(self.gas, [(1.0, loads)])
        alone, factors = self._solved(loads, (WIDE,)), [WIDE]
        draws = SolidDraws(self.gas, loads.wishes.reliability, judging_of(loads), alone.solved)
        while (band := band_of_solid(draws, shifts)[0]).limit > WIDE * factors[-1]:
            if factors[-1] > MOST_FACTOR / WIDE:
                break
            factors.append(WIDE * factors[-1])
            alone = self._solved(loads, factors[-1:])
            draws = replace(draws, solved=alone.solved)
        if not is_swept(self.life):
            return [self._found(alone, band)] * len(fits)
        return self._swept(
            [fit or 0.0 for fit in fits], first, shifts, draws, alone, loads, factors[-2:]
        )

    def _swept(
        self,
        fits: Sequence[float],
        first: int,
        shifts: Shifts,
        draws: SolidDraws,
        alone: _AtFit,
        start: SolidLoads,
        factors: Sequence[float],
    ) -> list[Outcome]:
        """Each interference, its draws read between all that are solved."""
        life, stated = start.life, fits[first]
        assert isinstance(life, FittedSolidLife)
        tolerance, filled = life.fit.tolerance, life.fit.compound is not None
        ends = {of for of in (min(fits) - tolerance, max(fits) + tolerance) if of > 0 or filled}
        some = to_solve(fits, tolerance)
        solved: dict[float, _AtFit] = {stated: alone}
        unsolved: dict[float, str] = {}
        wanted = sorted({*some, *ends})
        for outward in (
            [fit for fit in wanted if fit > stated],
            [fit for fit in reversed(wanted) if fit < stated],
        ):
            loads = start
            for at, fit in enumerate(outward):
                try:
                    loads = loads.with_interference(fit, 1.0)
                    solved[fit] = self._solved(loads, factors)
                except RunError as error:  # that one was not found costs enough
                    unsolved |= dict.fromkeys(outward[at:], str(error))
                    break
                give_back()
        others = _others(draws.judging, stated, tolerance, solved)
        low, high = min(solved), max(solved)
        known = [fit for fit in fits if low <= fit <= high and fit not in unsolved]
        bands = bands_at(draws, shifts, others, [1000 * fit for fit in known])
        told = dict(zip(known, bands, strict=True))
        return [
            self._found(_beside(solved, fit), told[fit])
            if fit in told
            else unsolved.get(fit) or next(iter(unsolved.values()))
            for fit in fits
        ]

    def _solved(self, loads: SolidLoads, factors: Sequence[float]) -> _AtFit:
        """A solid under the wanted load and others, each at its own heat.

        Raises
        ------
        RunError
            If contact is not found.
        """
        loads.used(1.0)
        hotter: list[tuple[float, SolidLoads]] = []
        for factor in factors:
            hot = loads.at_heat(factor)
            if hot is loads and self.life.given.heat and self.life.given.heat.follows_gas:
                if load := at_load(self.gas, factor):  # in one piece
                    hotter.append((factor, loads.heated_by(load)))
            else:
                hot.used(factor)
        fitted = isinstance(loads.life, FittedSolidLife)
        heats = [(1.0, loads), *hotter] if hotter else []
        place = max(loads.that_count(1.0, solved=False), key=lambda of: of.share, default=None)
        return _AtFit(
            solved=read_fit(loads, 1.0) if fitted else draws_of(loads, 1.0, heats).solved,
            governs=place_words(loads, place, 1.0) if place else "",
            out_of_round_um=self._out_of_round(loads),
        )

    def _out_of_round(self, loads: SolidLoads) -> float:
        """Of the bore at the wanted load. [um]."""
        life = loads.life
        engine: EngineState = life.engine_states[0]
        (gas,) = life.at_gas(engine, 1.0, (loads.at_worst(engine),))
        depth, growth, _ = growth_down(life.mesh, life.moved(gas))
        levels = swept_levels(self.case, depth)
        return max(shape_of(growth[level]).out_of_round_um for level in levels)

    def _found(self, at: _AtFit, band: Band) -> Found:
        """What a search is told."""
        end = KNOWN * min(at.solved.known_heat[1], WIDEST)
        low, _, high = band.pressure_mpa
        return Found(
            limit=band.limit, at_least=band.limit >= end,
            limit_bar=_bar(stands(self.gas, band.limit).pressure_mpa), low_bar=_bar(low),
            high_bar=_bar(high) if band.factor[-1] < end else None, share=band.carries,
            governs=at.governs,
            out_of_round_um=at.out_of_round_um, seconds=0.0, **self.told,
        )  # fmt: skip


def _beside(solved: Mapping[float, _AtFit], fit: float) -> _AtFit:
    """What is told at an interference [mm] beside its band: of the nearest, round in between."""
    rising = sorted(solved)
    rounds = [solved[of].out_of_round_um for of in rising]
    nearest = solved[min(rising, key=lambda of: abs(of - fit))]
    return replace(nearest, out_of_round_um=float(np.interp(fit, rising, rounds)))


def _mass(drawn: Drawing) -> float | None:
    """Of the insert; None where its density is not known. [g]."""
    material = drawn.design.insert_material
    if material is None or not material.density:
        return None
    mesh = load_mesher()(drawn.outline, **START["coarse"])
    return material.density * displaced(_Flat(drawn.section, drawn.outline, mesh)).insert_mm3


def _others(
    judging: SolidJudging, stated: float, tolerance: float, solved: Mapping[float, _AtFit]
) -> OtherSolids:
    """All interferences that were solved, rising."""
    rising = sorted(solved)
    points = tuple(
        FitPoint(
            interference_um=1000 * fit, held={}, over_yield={},
            out_of_round_um=solved[fit].out_of_round_um, limit=None, tried=None,
        )
        for fit in rising
    )  # fmt: skip
    return OtherSolids(
        stated_um=1000 * stated, tolerance_um=1000 * tolerance,
        judging=judging, points=points,
        solved=tuple(solved[fit].solved for fit in rising),
    )  # fmt: skip


def _bar(mpa: float | None) -> float | None:
    return None if mpa is None else 10 * mpa

"""A solid at other interferences: what holds, what yields, and what gas it stands.

The solid as it is made is solved again: its joint is condensed once and its factor kept, so another
fit costs what touches in three or four steps. Stated heat is held; where the engine heats the block
each load is at its own (:mod:`cases.rating.heats`). With gas, a load near the limit is judged over
all of the surface in the first state, warm where there is heat, at its worst crank angle; what uses
most is followed to the limit, in the state and at the angle that lead there. What each draw carries
is read at every fit too. A cold engine with heat in it is not looked at with gas for hold and
yield: gas presses the walls on the insert (bundled block, ``local``: it is held by 1.2 to 5 times
what it is as pressed in).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cases.life.steps import LoadStep
from cases.rating.band import Solved
from cases.rating.depth_band import OtherSolids, judging_of, read_fit
from cases.rating.limit import MOST_FACTOR, ROUGHLY, Tried, near_limit
from cases.rating.other_fits import OtherFits
from cases.rating.result import FitPoint, Stands
from cases.rating.solid import SHORT, SolidLoads, Spotted, place_words
from cases.rating.window import NEAR_BEST
from cases.solid.joint import least_held
from cases.solid.life import FittedSolidLife, SolidLife
from cases.solid.profiles import growth_down
from fea.solid.spots import spot_at
from fea.solid.stress import PartStress, recover

SOLVED = 4
"""Fits that are solved before the window is looked at, the stated one among them."""
NEW = 1.0
"""Nearer to a fit that is solved than this, another is the same. [um]."""
NEARLY = 0.02
"""Share of a strength from which the last step to a limit needs no solve."""
NARROW = 0.02
"""Share of a gas load between one that is carried and one that is not where shares jump."""
FAR_FROM_BEST = 0.7
"""Share of the best limit of all fits below which one is sought roughly."""
MOST_TURNS = 3
"""Times that a limit is sought with more places followed."""
STEPS = {
    True: (LoadStep.PRESSED, LoadStep.WARM, LoadStep.WARM_GAS),
    False: (LoadStep.PRESSED, LoadStep.COLD_GAS),
}
"""What is looked at for hold and yield, with heat and without."""
BLOCK_YIELDS = "yield of the block's metal"


def is_swept(life: SolidLife) -> bool:
    """Whether a solid has an interference, or a clearance that is filled, common to its sides."""
    return isinstance(life, FittedSolidLife) and life.fit.swept


def other_solids(loads: SolidLoads, limit: Stands | None) -> OtherSolids:
    """A fitted solid at other interferences.

    Parameters
    ----------
    loads : SolidLoads
        Of the stated fit, at the heat of its limit.
    limit : Stands or None
        Of the same; None where it is beyond all that is tried.

    Raises
    ------
    RunError
        If contact is not found at the stated fit.
    """
    fits = _SolidFits(loads, limit)
    fits.out()
    fits.fill(SOLVED)
    fits.ends()
    fits.ends()  # the first ones move them
    fits.middle()
    return fits.told()


def solids_in_tolerance(loads: SolidLoads, limit: Stands | None) -> OtherSolids:
    """A fitted solid at the ends of its tolerance, where no window is asked for.

    Parameters and errors are those of :func:`other_solids`.
    """
    fits = _SolidFits(loads, limit)
    fits.in_tolerance()
    return fits.told()


class _SolidFits(OtherFits):
    """A solid at other interferences, each begun from the stated one."""

    def __init__(self, loads: SolidLoads, limit: Stands | None) -> None:
        life = loads.life
        assert isinstance(life, FittedSolidLife)
        self.loads = loads
        self.solved: dict[float, Solved | None] = {}
        self._slopes: dict[float, float | None] = {}  # of shares by the gas load at limits
        factor = limit.factor if limit else None
        place = loads.all_that_lead(1.0 if factor is None else factor)
        first = self._point(life.fit.interference or 0.0, loads, factor, place, 1.0)
        if limit:
            first = replace(first, limit_error=limit.error)
        super().__init__(
            life.fit, first, limited=True, of_use=NEAR_BEST, beyond=1.0, nearest_um=NEW
        )

    def told(self) -> OtherSolids:
        """All that were solved."""
        return OtherSolids(
            stated_um=1000 * self.stated,
            tolerance_um=1000 * self.fit.tolerance,
            judging=judging_of(self.loads),
            points=self.in_order(),
            solved=tuple(self.solved[at] for at in sorted(self.points)),
            unsolved=tuple(self.unsolved),
        )

    def point(self, interference: float, near: float) -> FitPoint:
        """Another fit, its steps begun from those of the stated one, its limit from that beside."""
        start = self._expected(interference) or self.points[near].limit or 1.0
        of_no_use = FAR_FROM_BEST * max(point.limit or 0.0 for point in self.points.values())
        loads = self.loads.with_interference(interference, start)
        loads.at_heat(1.0)  # where a fit is held or not; one that can't be solved there is none
        limit, place, slope = limit_near(loads, start, self._slopes.get(near), of_no_use)
        self._slopes[interference] = slope
        found = self._point(interference, loads, limit, place, start)
        if limit is not None and limit < of_no_use:
            return replace(found, limit_error=found.limit_error + ROUGHLY * limit)
        return found

    def _expected(self, interference: float) -> float | None:
        """Limit of a fit [mm] between two that are solved; None beyond, or where one has none."""
        beside = [
            max((one for one in self.points if one <= interference), default=None),
            min((one for one in self.points if one >= interference), default=None),
        ]
        at = [one for one in beside if one is not None]
        limits = [self.points[one].limit for one in at]
        if len(at) < 2 or not all(limits):
            return None
        return float(np.interp(interference, at, np.array(limits, dtype=float)))

    def _point(
        self,
        interference: float,
        loads: SolidLoads,
        limit: float | None,
        place: Spotted | None,
        gas: float,
    ) -> FitPoint:
        """A fit, its limit, and what governs there; ``gas`` is a load near it that was solved.

        Where heat goes by the load all fits are held, and yield, at the asked one.
        """
        own = loads.at_heat(limit or gas)
        gas = gas if loads.heats is None else 1.0
        hot = loads.at_heat(gas)
        life = hot.life
        assert isinstance(life, FittedSolidLife)
        holds = life.fit.holds and not any(side.bonded for side in life.fit.sides.values())
        held, yields = dict[LoadStep, float](), dict[LoadStep, float]()
        stress: tuple[PartStress, ...] = ()
        for step in STEPS[len(life.engine_states) > 1]:
            engine = step.engine
            if step.gas:
                (state,) = life.states(engine, gas, (loads.at_worst(engine),))
                stress = recover(state.solution)
            else:
                state, stress = life.joint(engine), hot.idle(engine, 1.0)
            yields[step] = hot.over_yield(engine, stress)
            if holds:
                held[step] = least_held(life, engine, state)
        growth = growth_down(life.mesh, life.pressed_by)[1]
        at = 1.0 if limit is None else limit
        governs = place_words(own, place, at) if place else None
        if limit and own.yield_share * limit > 1 - SHORT:
            governs = BLOCK_YIELDS
        off = NARROW
        if place:
            of = next(one for one in stress if one.part == place.part)
            spot = spot_at(of, int(of.nodes[place.row]), 0.0)
            if spot.principal_mpa > 0:
                off += spot.error_mpa / spot.principal_mpa
        self.solved[interference] = read_fit(loads, limit) if loads.wishes.draws and limit else None
        return FitPoint(
            interference_um=1000 * interference,
            held=held,
            over_yield=yields,
            out_of_round_um=float(np.ptp(growth, axis=1).max()),
            limit=limit,
            limit_error=off * (limit or 0.0),
            tried=MOST_FACTOR if limit is None else None,
            governs=governs,
        )


class _Shares(Tried):
    """Largest share of a strength that a solid uses under gas loads, each solved once."""

    def __init__(self, loads: SolidLoads) -> None:
        self.loads, self.heat_held = loads, loads.heats is None
        self.solved: dict[float, float] = {}

    def used(self, factor: float) -> float:
        """Largest share of any strength under a gas load, at the heat of that load."""
        if factor not in self.solved:
            self.solved[factor] = self.loads.at_heat(factor).used(factor)
        return self.solved[factor]


def limit_near(
    loads: SolidLoads, start: float, slope: float | None = None, of_no_use: float = 0.0
) -> tuple[float | None, Spotted | None, float | None]:
    """The limit, and what uses most of a strength there; how shares grow with the load beside it.

    Where the engine heats the block each load is at its own heat.

    Parameters
    ----------
    loads : SolidLoads
    start : float
        A gas load near the limit, which is tried first.
    slope : float, optional
        Of the share by the factor near the limit, as a like solid has it.
    of_no_use : float
        A limit below this is sought roughly.

    Raises
    ------
    RunError
        If contact is not found.
    """
    place: Spotted | None = None
    limit: float | None = None
    for _ in range(MOST_TURNS):
        shares = _Shares(loads)
        limit = near_limit(
            shares, None, slope, first=start, nearly=NEARLY, narrow=NARROW, of_no_use=of_no_use
        )
        start, slope = limit or start, shares.slope() or slope
        at = shares.nearest(1.0 if limit is None else limit)
        place = loads.at_heat(at).all_that_lead(at)
        if place is None or place.share <= shares.used(at) * (1 + SHORT):
            break
        loads.follow(place)
    return limit, place, slope

"""What a design stands by its solid: the limit where its surface uses up a strength, in depth.

As the section's limit (:mod:`cases.rating.limit`), with all six components of the stress, node by
node of the surface about the bore that fires, at every crank angle. Nodes at a rim where stress has
no finite value are left out: the finite peak beside it stands for itself. Yield counts what the gas
adds, and lets a share of ``TAIL`` of the block's metal about that bore yield; it is taken to grow
in proportion to the gas.

All crank angles and nodes are judged at the asked gas load, of a second state those angles that
come near the worst of the first. What uses most of each state there is followed to the limit, and
all nodes are judged again at that load; what is then found to use more is followed too. Which
angles are solved for that, and which of a second state at all, is told by what the gas adds in
proportion, which is within 1 % of what is solved from the asked load to the limit, and within a
tenth, much the same at every angle, from warm to cold (bundled block, ``local``).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.gas.solve import GasLoad
from cases.life.steps import TAIL, EngineState
from cases.rating.flaws import fatigue_left
from cases.rating.given import rating_given
from cases.rating.heats import Heats
from cases.rating.judge import LOCAL, MOST_SHARE, RATED_PARTS
from cases.rating.limit import FAR, NEAR, factor_that_uses_all, hours_of, stands
from cases.rating.next_bore import hardest, pushed
from cases.rating.own_heat import SAME_LOAD, at_own_heat, those_apart
from cases.rating.result import TENSILE, DepthSpot, SolidRating, UsedPlace
from cases.rating.shares import Judged, judge, wanted_cycles
from cases.solid.life import FittedSolidLife, SolidLife
from cases.solid.result import OWN_PARTS, SurfacePlace
from fea.material import REFERENCE
from fea.solid.model import SolidSolution
from fea.solid.spots import near_rims, spot_at, surface_nodes
from fea.solid.stress import PartStress, SomeNodes, recover, von_mises
from fea.strength import beyond_tail
from geometry.clock import clock_of, format_clock

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
T = TypeVar("T")

FOLLOWED = 300
"""Nodes of a part that are followed to the limit."""
CLOSE = 0.95
"""Crank angles whose share is at least this of the largest of any state are followed."""
NEAR_WORST = 0.7
"""Those whose share is at least this of the largest of the state are looked at again at the limit,
and in the second state."""
LIKELY = 0.95
"""Share over the largest one, both by what the gas adds in proportion, from which an angle is
solved."""
LEADING = 0.98
"""The same of the angles that are followed, on the way to the limit."""
STATES = 0.75
"""Share over the largest one, both by what the gas adds in proportion, from which an engine state
is solved at another heat than the asked: what the gas adds there is less like itself."""
MOST_TURNS = 3
"""Times that the limit is sought with more places followed."""
APART = 4.0
"""Places nearer than this to one that uses more are one with it. [mm]."""
MOST_PLACES = 12
"""Places of a part that count in a state, at most."""
TOLD_PLACES, TOLD_APART = 3, 12.0
"""Places that are told, the one that governs first, and how far they stand apart in plan. [mm]."""
LEAST_SHARE = 0.6
"""A place counts that uses at least this share of what the worst one uses."""
SHORT = 5 * NEAR
"""Share above one at the limit found that asks for another turn."""


@dataclass(frozen=True, slots=True)
class Spotted:
    """A place that uses a share of a strength, at the crank angle that is worst for it."""

    share: float
    engine: EngineState
    angle: int
    part: str
    row: int  # node of the part's stress


class SolidLoads:
    """A solid under other gas loads, judged over its surface.

    Parameters
    ----------
    life : SolidLife
    """

    def __init__(self, life: SolidLife) -> None:
        self.life = life
        self.wishes = rating_given(life.case)
        self._rest = _at_rest(life, {})
        _, first = next(iter(self._rest.values()))
        rims = near_rims(life.idle(life.engine_states[0]).model)
        self._about = life.case.block.about_firing(life.mesh.points[:, 0])
        self._surface = {
            of.part: rows[(self._about & ~rims)[of.nodes[rows]]]
            for of in first
            if of.part in (*RATED_PARTS, *OWN_PARTS)
            and len(rows := np.searchsorted(of.nodes, surface_nodes(of)))
        }
        self.tried: list[float] = []
        self.lives: dict[EngineState, float] = {}
        self._angles = {engine: list(range(len(life.pressed))) for engine in life.engine_states}
        self._near = dict(self._angles)
        self._worst = dict.fromkeys(life.engine_states, 0)
        self._rows = dict(self._surface)
        self._adds: dict[tuple[EngineState, int], dict[str, Array]] = {}  # by the asked gas
        self._beside: dict[EngineState, dict[str, Array]] = {}  # (instants, 6, nodes)
        self._ready: dict[tuple[tuple[str, bytes], ...], SomeNodes] = {}
        self.yield_share = 0.0
        self._pulls: dict[tuple[EngineState, int], list[Array]] = {}  # von Mises, by the asked gas
        self._volumes: dict[str, Array] = {}
        self._least = LEADING
        self._states = 1.0  # share from which a state is solved beside the one that leads
        self._known: set[tuple[EngineState, float, int]] = set()  # solved at gas
        self.heats: Heats | None = None  # where other fits have the heat of their own load
        self._at_heat: dict[float, SolidLoads] = {}

    @property
    def parts(self) -> tuple[str, ...]:
        """That are judged."""
        return tuple(self._surface)

    def used(self, factor: float) -> float:
        """Largest share of any strength under a gas load.

        Raises
        ------
        RunError
            If contact is not found.
        """
        self.tried.append(factor)
        best = self.worst(factor, self._that_lead(factor), self._rows)
        return max(best.share, self.yield_share * factor) if best else self.yield_share * factor

    def heated_by(self, load: GasLoad) -> SolidLoads:
        """The same solid heated by the cycle of another gas load, the same places followed.

        What the asked gas adds to the stress that makes metal yield is as in this one.
        """
        other = self._heated(self.life.heated_by(load))
        other._angles = {engine: list(some) for engine, some in self._angles.items()}
        other._rows, other._states = dict(self._rows), STATES
        return other

    def at_heat(self, factor: float) -> SolidLoads:
        """The same fit at the heat of a gas load (:class:`cases.rating.heats.Heats`).

        Itself where heat stands still. What is followed in one is in all.

        Raises
        ------
        RunError
            If contact is not found.
        """
        if self.heats is None:
            return self
        nearest = min(self._at_heat, key=lambda of: abs(math.log(of / factor)))
        if abs(math.log(nearest / factor)) > SAME_LOAD:
            life, *others = (
                loads.life
                for _, loads in sorted(self._at_heat.items(), key=lambda of: of[0] != nearest)
                if isinstance(loads.life, FittedSolidLife)
            )
            self._at_heat[factor] = self._heated(life.warmed_as(self.heats.at(factor), others))
            return self._at_heat[factor]
        return self._at_heat[nearest]

    @property
    def at_heats(self) -> Mapping[float, SolidLoads]:
        """The same fit at each heat that was solved, by the factor of its load, rising."""
        return dict(sorted(self._at_heat.items()))

    def know_heats(self, gas: GasLoad, heats: Sequence[tuple[float, SolidLoads]]) -> None:
        """Have other fits at the heat of their own loads, as far as there can be other fits.

        Parameters
        ----------
        gas : GasLoad
            As asked.
        heats : sequence of (float, SolidLoads)
            The same solid at the heat of some loads, by their factors on that.
        """
        apart = those_apart(heats)
        lives = {factor: of.life for factor, of in apart if isinstance(of.life, FittedSolidLife)}
        if lives:
            self.heats, self._at_heat = Heats(gas, lives), dict(apart)

    def _heated(self, life: SolidLife) -> SolidLoads:
        """The same solid heated otherwise."""
        other = copy(self)
        other.life, other._rest = life, _at_rest(life, self._rest)
        other.tried, other.lives, other._known = [], {}, set()
        other.yield_share = other._share_that_yields()
        return other

    def with_interference(self, interference: float, factor: float) -> SolidLoads:
        """The same solid with another common interference [mm]: an insert is fitted in it.

        In the first engine state a gas load is judged over all of the surface, at the crank angle
        that uses most; of each load on the way to the limit, only the state and angle that lead.
        What gas adds at the others, and what yields by it, is as in this one.

        Parameters
        ----------
        interference : float
            On the diameter. [mm]
        factor : float
            Of that gas load, near the limit; its heat is that of the solid, unless heat stands
            still.

        Raises
        ------
        RunError
            If contact is not found.
        """
        assert isinstance(self.life, FittedSolidLife)
        warm = self.heats.at(factor) if self.heats else None
        other = self._heated(self.life.with_interference(interference, warm))
        other._adds, other._least = dict(self._adds), 1.0
        other._at_heat = {factor: other} if self.heats else {}
        followed: dict[str, list[Integers]] = {part: [] for part in self._surface}
        engine = self.life.engine_states[0]
        other._begun(engine, self._worst[engine], followed, factor)
        other._rows = {part: np.unique(np.concatenate(rows)) for part, rows in followed.items()}
        return other

    def at_worst(self, engine: EngineState) -> int:
        """Crank angle, by its number, that uses most of the asked gas load in a state."""
        return self._worst[engine]

    def idle(self, engine: EngineState, factor: float) -> tuple[PartStress, ...]:
        """Stress of every part with no gas, once there was gas of a load."""
        solution = self.life.rest_after(engine, factor)
        last, stress = self._rest[engine]
        if solution is not last:
            stress = recover(solution)
            self._rest[engine] = solution, stress
        return stress

    def begin(self) -> None:
        """Judge the asked gas load at every angle and node, and choose what is followed."""
        followed: dict[str, list[Integers]] = {part: [] for part in self._surface}
        told: dict[EngineState, dict[int, float]] = {}
        near = dict.fromkeys(range(len(self.life.pressed)), 1.0)
        for engine in self.life.engine_states:
            asked = list(near)
            if told:
                expected = {
                    angle: self._in_proportion(engine, 1.0, angle, self._surface) for angle in near
                }
                near = {angle: share for angle, (share, _) in expected.items()}
                shortest = min(expected, key=lambda angle: expected[angle][1])
                asked = sorted({shortest, *_likely(near, LIKELY)})
            self.life.at_gas(engine, 1.0, asked)  # abreast, and then at hand
            told[engine] = {angle: self._begun(engine, angle, followed) for angle in asked}
            self._worst[engine] = max(told[engine], key=lambda angle: told[engine][angle])
            near |= told[engine]
            least = NEAR_WORST * max(told[engine].values())
            near = {angle: share for angle, share in near.items() if share >= least}
            self._near[engine] = list(near)
        least = CLOSE * max(max(shares.values()) for shares in told.values())
        self._angles = {
            engine: [angle for angle, share in shares.items() if share >= least]
            for engine, shares in told.items()
        }
        self._rows = {part: np.unique(np.concatenate(rows)) for part, rows in followed.items()}

    def _begun(
        self,
        engine: EngineState,
        angle: int,
        followed: Mapping[str, list[Integers]],
        factor: float = 1.0,
    ) -> float:
        """Largest share of a gas load at an angle; what uses most is to be followed."""
        gas = self._gas(engine, factor, angle, self._surface)
        judged = self._judged(engine, factor, gas, self._surface)
        self.lives[engine] = min(_shortest(judged), self.lives.get(engine, np.inf))
        shares = _shares(judged)
        for part, share in shares.items():
            followed[part].append(self._surface[part][np.argsort(-share)[:FOLLOWED]])
        self._adds[engine, angle] = {
            of.part: (gas[of.part] - of.stress[:, self._surface[of.part]]) / factor
            for of in self.idle(engine, factor)
            if of.part in gas
        }
        return _largest(shares)

    def follow(self, place: Spotted) -> None:
        """Follow one more place."""
        if place.angle not in self._angles[place.engine]:
            self._angles[place.engine].append(place.angle)
        rows = self._rows[place.part]
        self._rows[place.part] = np.union1d(rows, [place.row])

    def everywhere(self, factor: float) -> Spotted | None:
        """What uses most of a strength under a gas load, of all nodes."""
        angles = self._likely(factor, self._near, self._surface, LIKELY)
        return self.worst(factor, angles, self._surface)

    def _that_lead(self, factor: float) -> dict[EngineState, list[int]]:
        """Of the angles that are followed those that lead under a gas load."""
        if not self._adds:
            return self._angles
        return self._likely(factor, self._angles, self._rows, self._least)

    def _likely(
        self,
        factor: float,
        angles: Mapping[EngineState, list[int]],
        rows: Mapping[str, Integers],
        least: float,
    ) -> dict[EngineState, list[int]]:
        """Angles whose share is that of the largest one at least, as by what the gas adds."""
        told = {
            (engine, angle): self._in_proportion(engine, factor, angle, rows)[0]
            for engine, some in angles.items()
            for angle in some
        }
        largest = max(told.values(), default=0.0)
        found: dict[EngineState, list[int]] = {}
        for engine in angles:
            own = {at: share for (of, at), share in told.items() if of is engine}
            most = max(own.values(), default=0.0)
            against = most if most >= self._states * largest else largest
            found[engine] = [at for at, share in own.items() if share >= least * against]
        return found

    def _in_proportion(
        self, engine: EngineState, factor: float, angle: int, rows: Mapping[str, Integers]
    ) -> tuple[float, float]:
        """Largest share and shortest life, if what the gas adds grows in proportion to it."""
        gas = self._gas_in_proportion(engine, factor, angle, rows)
        judged = self._judged(engine, factor, gas, rows)
        return _largest(_shares(judged)), _shortest(judged)

    def _gas_in_proportion(
        self, engine: EngineState, factor: float, angle: int, rows: Mapping[str, Integers]
    ) -> dict[str, Array]:
        """Stress of nodes at one crank angle, if what the gas adds grows in proportion to it."""
        first = self.life.engine_states[0]
        adds = self._adds.get((engine, angle), self._adds[first, angle])
        return {
            of.part: of.stress[:, some]
            + factor * adds[of.part][:, np.searchsorted(self._surface[of.part], some)]
            for of in self.idle(engine, factor)
            if (some := rows.get(of.part)) is not None
        }

    def worst(
        self,
        factor: float,
        angles: Mapping[EngineState, list[int]],
        rows: Mapping[str, Integers],
    ) -> Spotted | None:
        """What uses most of a strength that a place meets, of some angles and nodes."""
        best: Spotted | None = None
        for engine, some in angles.items():
            self.life.at_gas(engine, factor, some)  # abreast, and then at hand
            for angle in some:
                gas = self._gas(engine, factor, angle, rows)
                for part, share in _shares(self._judged(engine, factor, gas, rows)).items():
                    if not len(share):
                        continue
                    at = int(np.argmax(share))
                    if best is None or share[at] > best.share:
                        best = Spotted(float(share[at]), engine, angle, part, int(rows[part][at]))
        return best

    def that_count(self, factor: float, *, solved: bool = True) -> list[Spotted]:
        """Separate places that use most of a strength under a gas load, by state and part.

        Or, not ``solved``, those that would if what the gas adds grew in proportion to it.
        """
        at_gas = self._gas if solved else self._gas_in_proportion
        found: list[Spotted] = []
        for engine, followed in self._angles.items():
            angles = sorted({self._worst[engine], *followed})
            if solved:
                self.life.at_gas(engine, factor, angles)
            gas = [at_gas(engine, factor, angle, self._rows) for angle in angles]
            by_angle = [_told_apart(self._judged(engine, factor, of, self._rows)) for of in gas]
            for part, rows in self._rows.items():
                shares = np.array([of[part] for of in by_angle])
                most = shares.max(axis=0)
                idle = next(of for of in self.idle(engine, factor) if of.part == part)
                points = self.life.mesh.points[idle.nodes[rows]]
                kept: list[int] = []
                for at in np.argsort(-most):
                    away = np.linalg.norm(points[kept] - points[at], axis=1)
                    if away.min(initial=APART) >= APART:
                        kept.append(int(at))
                    if len(kept) == MOST_PLACES:
                        break
                found += [
                    Spotted(
                        float(most[at]), engine, angles[int(shares[:, at].argmax())], part,
                        int(rows[at]),
                    )
                    for at in kept
                ]  # fmt: skip
        # where more than all is used, as at more load than the limit, all that break may count
        least = LEAST_SHARE * min(max((place.share for place in found), default=0.0), 1.0)
        return [place for place in found if place.share >= least]

    def _gas(
        self, engine: EngineState, factor: float, angle: int, rows: Mapping[str, Integers]
    ) -> dict[str, Array]:
        """Stress of nodes at one crank angle, by part, shape (6, r). [MPa]."""
        (solution,) = self.life.at_gas(engine, factor, (angle,))
        self._known.add((engine, factor, angle))
        return self._nodes(solution, rows).stress(solution)

    def told(
        self,
        engine: EngineState,
        factor: float,
        angle: int,
        rows: Mapping[str, Integers],
        *,
        solved: bool = False,
    ) -> dict[str, Array]:
        """Stress of nodes at one crank angle as it was, or is, solved; else in proportion. [MPa].

        Parameters
        ----------
        engine : EngineState
        factor : float
            On the gas load.
        angle : int
            By its number.
        rows : mapping of str to ndarray of int, shape (r,)
            Nodes of each part.
        solved : bool
            Whether it is solved now where it was not.

        Raises
        ------
        RunError
            If contact is not found.
        """
        known = solved or (engine, factor, angle) in self._known
        return (self._gas if known else self._gas_in_proportion)(engine, factor, angle, rows)

    def all_that_lead(self, factor: float) -> Spotted | None:
        """What uses most of all nodes, at the crank angles that lead there under a gas load."""
        angles = self._likely(factor, self._near, self._surface, self._least)
        return self.worst(factor, angles, self._surface)

    def _judged(
        self,
        engine: EngineState,
        factor: float,
        gas: Mapping[str, Array],
        rows: Mapping[str, Integers],
    ) -> dict[str, Judged]:
        """Nodes at one crank angle, by part, with the stress of gas there."""
        return {
            idle.part: self.judged(engine, factor, idle, gas[idle.part], rows[idle.part])
            for idle in self.idle(engine, factor)
            if idle.part in rows
        }

    def _nodes(self, solution: SolidSolution, rows: Mapping[str, Integers]) -> SomeNodes:
        """Nodes of the parts, made ready when they are first asked for."""
        key = tuple((part, of.tobytes()) for part, of in rows.items())
        if key not in self._ready:
            self._ready[key] = SomeNodes(solution.model.smoothing, rows)
        return self._ready[key]

    def at_gas(self, engine: EngineState, factor: float, angle: int) -> tuple[PartStress, ...]:
        """Stress of every part at one crank angle."""
        (solution,) = self.life.at_gas(engine, factor, (angle,))
        return recover(solution)

    def judged(
        self, engine: EngineState, factor: float, idle: PartStress, gas: Array, rows: Integers
    ) -> Judged:
        """Nodes of a part, with the stress (6, r) of gas there, set against its strength."""
        rests = idle.stress[:, rows]
        adds = self.beside(engine, idle.part, rows, gas - rests)
        return judge(
            self.wishes,
            self.life.materials[idle.part],
            rests,
            gas,
            self.temperature(engine, idle)[rows],
            cycles=wanted_cycles(self.life.case, engine),
            strength=self.kept(engine, idle)[rows],
            left=fatigue_left(self.wishes, self.life.materials[idle.part], idle.part),
            standing=self.standing(engine, idle.part, rows),
            beside=None if adds is None else rests + factor * adds,
        )

    def beside(self, engine: EngineState, part: str, rows: Integers, own: Array) -> Array | None:
        """What the asked gas on a bore beside adds at nodes of a part, (6, r); None without. [MPa].

        That of the bore and instant which work most against ``own``, what the own gas adds (6, r).
        It is solved once, at the heat of the first gas load that asks for it.
        """
        if not self.life.case.block.axes_beside:
            return None
        if engine not in self._beside:
            idle, *pressed = (
                self._nodes(of, self._surface).stress(of)
                for of in (self.life.idle(engine), *self.life.beside(engine))
            )
            self._beside[engine] = {
                name: np.array([of[name] - idle[name] for of in pressed]) for name in self._surface
            }
        adds = self._beside[engine][part]
        if rows is not self._surface[part]:
            adds = adds[..., np.searchsorted(self._surface[part], rows)]
        return hardest(own, adds)

    def pushed(self, place: Spotted, factor: float) -> float:
        """How hard bores beside press a place (:func:`cases.rating.next_bore.pushed`)."""
        row = np.array([place.row])
        gas = self._gas(place.engine, factor, place.angle, {place.part: row})[place.part]
        idle = next(of for of in self.idle(place.engine, factor) if of.part == place.part)
        own = gas - idle.stress[:, row]
        adds = self.beside(place.engine, place.part, row, own)
        return 0.0 if adds is None else pushed(own[:, 0], factor * adds[:, 0])

    def standing(self, engine: EngineState, part: str, rows: Integers) -> Array | None:
        """Stress of nodes of a part in the engine that stands cold, where another one is warm."""
        if engine is not EngineState.WARM:
            return None
        cold = next(of for of in self._rest[EngineState.COLD][1] if of.part == part)
        return cold.stress[:, rows]

    def temperature(self, engine: EngineState, of: PartStress) -> Array:
        """At the nodes of a part, shape (k,). [degC]."""
        warm = self.life.temperature
        if warm is None or engine is not EngineState.WARM:
            return np.full(len(of.nodes), REFERENCE)
        return warm[of.nodes]

    def kept(self, engine: EngineState, of: PartStress) -> Array:
        """Share of its strength that hours hot have left cold metal, at nodes of a part, (k,)."""
        warm = self.life.temperature
        if warm is None or engine is EngineState.WARM:
            return np.ones(len(of.nodes))
        return self.life.materials[of.part].kept(warm[of.nodes])

    def count_yield(self) -> None:
        """Share of the yield strength that the asked gas uses of all but a tail of the block."""
        for engine in self.life.engine_states:
            for angle in {self._worst[engine], *self._angles[engine]}:
                gas, idle = self.at_gas(engine, 1.0, angle), self.idle(engine, 1.0)
                self._pulls[engine, angle] = [
                    von_mises(of.stress - rest.stress) for of, rest in zip(gas, idle, strict=True)
                ]
        self.yield_share = self._share_that_yields()

    def _share_that_yields(self) -> float:
        """Largest share of the yield strength, as hot as each place is."""
        shares = [
            self._beyond_yield(engine, self._rest[engine][1], pulls, as_rated=True)
            for (engine, _), pulls in self._pulls.items()
        ]
        return max(shares, default=0.0)

    def over_yield(self, engine: EngineState, parts: Sequence[PartStress]) -> float:
        """Share of the yield strength that the whole stress stays below, all but a tail.

        As the section has it (:meth:`cases.life.base.Life.share_of_yield`): casting quality and
        hours hot do not count.
        """
        pulls = [von_mises(of.stress) for of in parts]
        return self._beyond_yield(engine, parts, pulls, as_rated=False)

    def _beyond_yield(
        self,
        engine: EngineState,
        parts: Sequence[PartStress],
        pulls: Sequence[Array],
        *,
        as_rated: bool,
    ) -> float:
        shares, volumes = [np.zeros(1)], [np.zeros(1)]
        for of, pull in zip(parts, pulls, strict=True):
            material = self.life.materials[of.part]
            if of.part not in OWN_PARTS or not material.yield_points:
                continue
            about = self._about[of.nodes]
            strength = material.yield_strength(self.temperature(engine, of))
            if as_rated:
                strength = strength * self.kept(engine, of)
                strength *= self.wishes.casting_quality if material.cast else 1.0
            shares.append((pull / strength)[about])
            if of.part not in self._volumes:
                self._volumes[of.part] = _volumes(of)
            volumes.append(self._volumes[of.part][about])
        share = np.concatenate(shares)
        return float(share[beyond_tail(share, np.concatenate(volumes), TAIL)])


def _likely(told: Mapping[T, float], least: float) -> list[T]:
    """What is told to use so much of the largest share of all."""
    largest = max(told.values(), default=0.0)
    return [at for at, share in told.items() if share >= least * largest]


def _shares(judged: Mapping[str, Judged]) -> dict[str, Array]:
    """Largest share of any strength that a place meets, node by node of each part."""
    return {
        part: np.max([of.shares[kind] for kind in LOCAL], axis=0) for part, of in judged.items()
    }


def _told_apart(judged: Mapping[str, Judged]) -> dict[str, Array]:
    """As :func:`_shares`; places that are pulled beyond all strength in the order of their pull."""
    return {
        part: np.where(np.isfinite(share), share, MOST_SHARE * (1 + judged[part].shares[TENSILE]))
        for part, share in _shares(judged).items()
    }


def _largest(shares: Mapping[str, Array]) -> float:
    return max((float(of.max(initial=0.0)) for of in shares.values()), default=0.0)


def _shortest(judged: Mapping[str, Judged]) -> float:
    """Life of what fails first, in cycles."""
    ends = (float(of.life_cycles.min(initial=np.inf)) for of in judged.values())
    return min(ends, default=np.inf)


_AtRest = Mapping[EngineState, tuple[SolidSolution, tuple[PartStress, ...]]]


def _at_rest(
    life: SolidLife, known: _AtRest
) -> dict[EngineState, tuple[SolidSolution, tuple[PartStress, ...]]]:
    """Displacement and stress of each engine state with no gas, as they are ``known`` or anew."""
    found = {}
    for engine in life.engine_states:
        idle = life.idle(engine)
        same = engine in known and known[engine][0] is idle
        found[engine] = known[engine] if same else (idle, recover(idle))
    return found


def _volumes(of: PartStress) -> Array:
    """Of the prisms about each node of a part, in sum, shape (k,). [mm3]."""
    mesh = of.solution.model.mesh
    lower, upper = (mesh.points[mesh.prisms[of.elements, start : start + 3]] for start in (0, 12))
    (ax, ay), (bx, by) = ((lower[:, k] - lower[:, 0])[:, :2].T for k in (1, 2))
    size = np.abs(ax * by - ay * bx) / 2 * (upper - lower)[..., 2].mean(axis=1)
    to_nodes = np.repeat(size, of.prisms.shape[1])
    return np.asarray(np.bincount(of.prisms.ravel(), to_nodes, len(of.nodes)), dtype=float)


_Found = tuple[SolidLoads, float | None, Spotted | None]
"""A solid under its gas loads, its limit, and what uses most there."""


def rate_solid(life: SolidLife) -> tuple[SolidRating, SolidLoads, list[tuple[float, SolidLoads]]]:
    """What a design stands by its solid, without a band, and the loads that told it.

    And those at the heat of other gas loads, by their factors, that of the limit first
    (:class:`cases.rating.own_heat.OwnHeat`).

    Parameters
    ----------
    life : SolidLife
    """
    asked, notes, limit, untold = SolidLoads(life), list[str](), None, False
    loads, place, off = asked, None, NEAR
    heats: list[tuple[float, SolidLoads]] = []

    def exactly(found: _Found) -> tuple[_Found, float | None]:
        if found[2] is not None:
            return found, found[1]
        limit, place = _limit(found[0], found[0].tried[-1])
        return (found[0], limit, place), limit

    def carried(found: _Found, factor: float) -> tuple[_Found, float | None]:
        place = found[2] or found[0].everywhere(factor)
        if place is None:
            return (found[0], factor, None), factor
        found[0].follow(place)
        asked.follow(place)  # so that other heats are judged there too
        limit = factor / max(place.share, 1.0)
        return (found[0], limit, place), limit

    def reheated(heat: GasLoad, factor: float) -> tuple[_Found, float | None]:
        if asked.heats:
            hot = asked.at_heat(factor)
            share = max(hot.used(factor), 1 / MOST_SHARE)
            if abs(math.log(share)) > FAR:
                return (hot, factor / share, None), factor / share
        return told(asked.heated_by(heat), factor)

    def told(hotter: SolidLoads, factor: float) -> tuple[_Found, float | None]:
        share, place = max(hotter.used(factor), 1 / MOST_SHARE), None
        if abs(math.log(share)) <= SAME_LOAD and (place := hotter.everywhere(factor)):
            hotter.follow(place)
            asked.follow(place)  # so that other heats are judged there too
            share = place.share
            if abs(math.log(share)) > SAME_LOAD:  # by a place that was not followed: not there yet
                place = None
        return (hotter, factor / share, place), factor / share  # itself where the share is one

    try:
        asked.begin()
        asked.count_yield()
        heat = life.given.heat
        if heat and heat.follows_gas:
            asked.know_heats(life.load, [(1.0, asked)])
            own = at_own_heat(life.load, heat, told(asked, 1.0), reheated, carried, exactly)
            loads, limit, place = own.found
            heats = [(factor, of) for factor, (of, _, _) in own.heats]
            notes, off = [*notes, *own.notes], off + own.off
            loads.know_heats(life.load, heats or [(1.0, asked)])
        else:
            limit, place = _limit(asked)
    except RunError as error:
        notes.append(f"no limit by the solid: another gas load could not be solved. {error}")
        limit, untold = None, True
    governing = _spot(loads, place, 1.0 if limit is None else limit) if place else None
    reached = None
    if limit is not None:
        found = stands(life.load, limit)
        if governing and governing.principal_mpa > 0:
            off += governing.error_mpa / governing.principal_mpa
        reached = replace(found, error=limit * off)
    pushes = loads.pushed(place, limit or 1.0) if place else 0.0
    hours = hours_of(life.load, next(iter(asked.lives.values()))) if asked.lives else None
    rated = SolidRating(
        limit=reached, tried=max(loads.tried, default=0.0), governing=governing,
        yield_share=loads.yield_share, life_cycles=asked.lives, life_hours=hours,
        notes=tuple(notes), pushed=pushes,
        places=_places(loads, place, 1.0 if limit is None else limit), untold=untold,
    )  # fmt: skip
    return rated, loads, heats


def _places(loads: SolidLoads, governing: Spotted | None, factor: float) -> tuple[UsedPlace, ...]:
    """Places that stand apart in plan and use most of a strength, the governing one first."""
    if governing is None or factor <= 0:
        return ()
    order = sorted(loads.that_count(factor), key=lambda of: of.share, reverse=True)
    kept: list[UsedPlace] = []
    for place in (governing, *order):
        if len(kept) == TOLD_PLACES:
            break
        idle = next(of for of in loads.idle(place.engine, factor) if of.part == place.part)
        node = int(idle.nodes[place.row])
        x, y, _ = loads.life.mesh.points[node]
        away = [float(np.hypot(x - of.x_mm, y - of.y_mm)) for of in kept]
        if min(away, default=TOLD_APART) >= TOLD_APART:
            at = spot_at(idle, node, 0.0).told()
            kept.append(
                UsedPlace(
                    **{name: at[name] for name in SurfacePlace.__dataclass_fields__},
                    share=place.share,
                    state=place.engine,
                    crank_angle_deg=loads.life.pressed[place.angle].deg,
                )
            )
    return tuple(kept)


def _limit(loads: SolidLoads, start: float = 1.0) -> tuple[float | None, Spotted | None]:
    """The limit, sought from a load on, and what uses most of a strength there."""
    place: Spotted | None = None
    limit: float | None = None
    for _ in range(MOST_TURNS):
        limit = factor_that_uses_all(loads, limit or start)
        place = loads.everywhere(1.0 if limit is None else limit)
        if place is None or limit in (None, 0.0) or place.share <= 1 + SHORT:
            break
        loads.follow(place)
    return limit, place


def place_words(loads: SolidLoads, place: Spotted, factor: float) -> str:
    """A place and what it uses most of, such as "tie 12:20, fatigue, warm"."""
    idle = next(of for of in loads.idle(place.engine, factor) if of.part == place.part)
    rows = np.array([place.row])
    gas = loads.told(place.engine, factor, place.angle, {place.part: rows})[place.part]
    shares = loads.judged(place.engine, factor, idle, gas, rows).shares
    kind = max(LOCAL, key=lambda of: float(shares[of][0]))
    x, y, _ = loads.life.mesh.points[idle.nodes[place.row]]
    return f"{place.part} {format_clock(float(clock_of(x, y)))}, {kind}, {place.engine}"


def _spot(loads: SolidLoads, place: Spotted, factor: float) -> DepthSpot:
    gas, idle = (
        next(of for of in stresses if of.part == place.part)
        for stresses in (
            loads.at_gas(place.engine, factor, place.angle), loads.idle(place.engine, factor)
        )
    )  # fmt: skip
    row = np.array([place.row])
    judged = loads.judged(place.engine, factor, idle, gas.stress[:, row], row)
    at = spot_at(gas, int(gas.nodes[place.row]), 0.0)
    shares = {kind: float(judged.shares[kind][0]) for kind in judged.shares}
    warm = loads.life.temperature
    return DepthSpot(
        **at.told(),
        crank_angle_deg=loads.life.pressed[place.angle].deg,
        state=place.engine,
        criterion=max(LOCAL, key=lambda kind: shares[kind]),
        shares=shares,
        mean_mpa=float(judged.mean[0]),
        amplitude_mpa=float(judged.amplitude[0]),
        temperature_degc=float(loads.temperature(place.engine, gas)[place.row]),
        life_cycles=float(judged.life_cycles[0]),
        been_degc=None
        if warm is None or place.engine is EngineState.WARM
        else float(warm[gas.nodes[place.row]]),
    )

"""Strength against stress: which share of its strengths each place of a design uses.

Stress comes from the life of the design (:mod:`cases.life.life`), strength from its materials at
local temperature with the knock-downs of the case. Where stress is steep, its mean over a length of
the metal counts (:mod:`fea.strength.distance`), not its value at the place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.base.parts import PARENT_PARTS
from cases.case import Case, Design
from cases.life.base import StressCycle
from cases.life.steps import TAIL, EngineState
from cases.rating.flaws import fatigue_left
from cases.rating.given import rating_given
from cases.rating.next_bore import hardest, pushed
from cases.rating.result import DISTANCE, FATIGUE, KINDS, SURFACE, TENSILE, YIELD, RatedSpot
from cases.rating.shares import Judged, judge, known_strengths, wanted_cycles
from cases.rating.steep import Doubt, critical_distances
from fea.hotspots import (
    GAP_SHARE,
    LEAST_ERROR,
    SHARP_ELEMENTS,
    element_size,
    separate_peaks,
    spot_at,
)
from fea.material import REFERENCE
from fea.strength import (
    Ways,
    inward,
    over_yield,
    stacked,
    ways_into,
)
from fea.stress import LayerStress, extremes
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

LOCAL = (FATIGUE, TENSILE)
"""Those that a single place meets."""
RATED_PARTS = (*PARENT_PARTS, "insert", "liner")
"""Parts that can govern."""
HOTTER = 1.0
"""Temperature beyond the last that a strength is known at which is told. [K]."""
MOST_SHARE = 1e6
"""Share that stands for an infinite one."""
AROUND_STEEP = 0.5
"""What lies nearer than this to a steep place is judged by the critical distance. [mm]."""
ROUGH = 0.1
"""Error of a stress over it from which it is no value to judge by."""
LARGEST_ELEMENT = 2.0
"""Size of an element over the length 2L of a way, up to which a mean may be known on it."""
COUNTS = 0.5
"""A steep place that uses less than this share of what the worst uses needs no bound."""
LEAST, USUAL, MOST = 0, 1, 2
"""Critical distances that are judged by: of the least, the usual and the largest threshold."""
NO_THRESHOLD = "no threshold of its metal is known"
SHOWN = 6
"""Spots of a design that are listed, and the worst of each part."""
LEAST_SHOWN = 0.25
"""Share of a strength below which a spot is not listed, unless it is the worst of its part."""


@dataclass(frozen=True, eq=False, slots=True)
class Felt:
    """Stress that the nodes of a layer are judged by."""

    idle: Array  # (3, k) [MPa]
    gas: Array  # (3, k) [MPa]
    by_distance: Flags  # (k,) a mean over the critical distance
    standing: Array | None = None  # (3, k) of the engine that stands cold [MPa]
    beside: Array | None = None  # (3, k) while the bore beside fires that pushes hardest [MPa]


@dataclass(frozen=True, eq=False, slots=True)
class JudgedCycle:
    """A stress cycle of a whole design, judged layer by layer."""

    cycle: StressCycle
    layers: tuple[Judged, ...]  # as in ``cycle.gas``
    felt: tuple[Felt, ...]  # the same


@dataclass(frozen=True, eq=False, slots=True)
class Worst:
    """The largest share of one strength in a design."""

    share: float
    layer: int  # place among the layers
    row: int  # node of the layer


class Judge:
    """Sets the stress cycles of a design against strength, node by node.

    What is about the bore that fires is rated, the walls to its neighbours included
    (:meth:`geometry.section.Block.about_firing`): what is about another is worst when that one
    fires, and the mesh is made for the one that does.

    Parameters
    ----------
    case : Case
    design : Design
    mesh : SectionMesh
        That the stress is on.
    steep : sequence of (float, float)
        Places x, y where stress is steep or in doubt, beside the corners of the mesh: ends of a
        joint, spots that are not settled. What is near them is judged by the critical distance.
        [mm]
    """

    def __init__(
        self,
        case: Case,
        design: Design,
        mesh: SectionMesh,
        steep: Sequence[tuple[float, float]] = (),
    ) -> None:
        self.case, self.wishes, self.mesh = case, rating_given(case), mesh
        self.design = design
        self.materials = case.part_materials(design)
        self.parts = RATED_PARTS
        self.places = tuple(dict.fromkeys(steep))
        self.lengths = {
            part: critical_distances(self.wishes, material)
            for part, material in self.materials.items()
        }
        self.which = USUAL
        self.rated = case.block.about_firing(mesh.points[:, 0])
        self.steep = np.zeros(len(mesh.points), dtype=bool)
        size = np.zeros(len(mesh.points))
        corners = mesh.triangles[:, :3]
        np.maximum.at(size, mesh.triangles, element_size(mesh.points[corners])[:, None])
        nearest = np.full(len(mesh.points), np.inf)
        self._from = np.zeros((len(mesh.points), 2))  # steep place that each node is near
        for place in [*((corner.x, corner.y) for corner in mesh.corners), *self.places]:
            away = np.hypot(*(mesh.points - place).T)
            reach = max(SHARP_ELEMENTS * size[np.argmin(away)], AROUND_STEEP)
            near = (away <= reach) & (away < nearest)
            self.steep |= near
            self._from[near], nearest[near] = place, away[near]
        self._ways: dict[int, tuple[Integers, Ways | None]] = {}

    def with_steep(self, places: Iterable[tuple[float, float]]) -> Judge:
        """The same with more steep places x, y. [mm]."""
        return Judge(self.case, self.design, self.mesh, [*self.places, *places])

    def at_length(self, which: int) -> Judge:
        """The same by the least, the usual or the largest critical distance."""
        other = copy(self)
        other.which = which
        return other

    def cycles(self, state: EngineState) -> float:
        """Cycles that the metal has to last in a state."""
        return wanted_cycles(self.case, state)

    def left(self, part: str, by_distance: Flags) -> Array:
        """Share of the fatigue strength of bars that a part has, by its flaws, (k,)."""
        left = fatigue_left(self.wishes, self.materials[part], part, by_distance)
        return np.broadcast_to(left, by_distance.shape)

    def temperature(self, cycle: StressCycle, layer: LayerStress) -> Array:
        """Temperature at the nodes of a layer, shape (k,). [degC]."""
        if cycle.temperature is None:
            return np.full(len(layer.nodes), REFERENCE)
        return cycle.temperature[layer.nodes]

    def kept(self, cycle: StressCycle, layer: LayerStress) -> Array:
        """Share of its strength that hours hot have left cold metal, at nodes of a layer, (k,)."""
        if cycle.been is None:
            return np.ones(len(layer.nodes))
        return self.materials[layer.part].kept(cycle.been[layer.nodes])

    def __call__(self, cycle: StressCycle) -> JudgedCycle:
        """Every layer judged.

        Steep places of a metal without a threshold, and what is about other bores than the one that
        fires, as if unloaded.
        """
        felt = self.felt(cycle)
        layers = tuple(
            judge(
                self.wishes,
                self.materials[gas.part],
                of.idle,
                of.gas,
                self.temperature(cycle, gas),
                cycles=self.cycles(cycle.engine),
                strength=self.kept(cycle, gas),
                left=self.left(gas.part, of.by_distance),
                standing=of.standing,
                beside=of.beside,
            )
            for gas, of in zip(cycle.gas, felt, strict=True)
        )
        return JudgedCycle(cycle, layers, felt)

    def felt(self, cycle: StressCycle) -> tuple[Felt, ...]:
        """Stress that each layer is judged by."""
        rows, ways = self.ways(cycle.gas)
        states = [cycle.idle, cycle.gas, *([cycle.standing] if cycle.standing else [])]
        stresses = [stacked(layers) for layers in states]
        idle, gas = stresses[:2]
        if cycle.beside:
            adds = [stacked(layers).T for layers in cycle.beside]
            stresses.append(idle + hardest((gas - idle).T, adds).T)
        by_distance = np.zeros(len(gas), dtype=bool)
        if ways is not None:
            for stress in stresses:
                stress[rows] = ways.line @ stress
            by_distance[rows] = True
        found, start = [], 0
        for layer in cycle.gas:
            own = slice(start, start := start + len(layer.nodes))
            for stress in stresses:
                if self.lengths[layer.part] is None:
                    stress[own][self.steep[layer.nodes]] = 0
                stress[own][~self.rated[layer.nodes]] = 0
            at_idle, at_gas, *more = (stress[own].T for stress in stresses)
            standing = more[0] if cycle.standing else None
            beside = more[-1] if cycle.beside else None
            found.append(Felt(at_idle, at_gas, by_distance[own], standing, beside))
        return tuple(found)

    def ways(self, layers: Sequence[LayerStress]) -> tuple[Integers, Ways | None]:
        """Ways into the metal from the steep nodes of all layers, and their rows in them stacked.

        None where there are none. Normal to a free edge, else away from the steep place.
        """
        if self.which not in self._ways:
            starts = np.concatenate([[0], np.cumsum([len(layer.nodes) for layer in layers])])
            steep = [
                np.flatnonzero(self.steep[layer.nodes] & self.rated[layer.nodes])
                if self.lengths[layer.part]
                else np.zeros(0, np.int64)
                for layer in layers
            ]
            rows = np.concatenate([start + some for start, some in zip(starts, steep)])  # noqa: B905
            ways = self._make_ways(layers, steep) if len(rows) else None
            self._ways[self.which] = rows, ways
        return self._ways[self.which]

    def _make_ways(self, layers: Sequence[LayerStress], steep: Sequence[Integers]) -> Ways:
        number = np.repeat(np.arange(len(layers)), [len(some) for some in steep])
        node = np.concatenate(
            [layer.nodes[some] for layer, some in zip(layers, steep, strict=True)]
        )
        length = [(self.lengths[layers[at].part] or ())[self.which] for at in number.tolist()]
        away = self.mesh.points[node] - self._from[node]
        far = np.linalg.norm(away, axis=1, keepdims=True)
        away = np.where(far > 0, away / np.where(far > 0, far, 1), [1.0, 0.0])
        normal = inward(self.mesh)[node]
        on_edge = normal.any(axis=1, keepdims=True)
        metals = {part: material.name for part, material in self.materials.items()}
        return ways_into(
            self.mesh, layers, metals, layer=number, node=node,
            direction=np.where(on_edge, normal, away), length=length,
        )  # fmt: skip

    def doubts(self, judged: Sequence[JudgedCycle]) -> list[Doubt]:
        """Steep places that use half of what the worst uses and have no bound, the worst first.

        A mean has a bound where its way stays in the metal, where no element on it is longer than
        ``LARGEST_ELEMENT`` ways, and where the smooth and the raw stress agree on it within
        ``ROUGH``. At a re-entrant corner of 90 degrees drawn sharp, where neither settles, the
        mean is off by 11, 6, 5 and 2 % with elements of 1, 1/2, 1/4 and 1/8 ways there, and said to
        be by 14, 9, 6 and 3 %; on larger ones the two agree by chance.
        """
        found: dict[tuple[int, int], Doubt] = {}
        least = COUNTS * self.used(judged)
        for one in judged:
            layers, start = one.cycle.gas, 0
            rows, ways = self.ways(layers)
            for number, layer in enumerate(layers):
                own = np.flatnonzero((rows >= start) & (rows < start + len(layer.nodes)))
                at, start = rows[own] - start, start + len(layer.nodes)
                if layer.part not in self.parts:
                    continue
                if self.lengths[layer.part] is None:
                    there = self.steep[layer.nodes] & self.rated[layer.nodes]
                    for row in np.flatnonzero(there).tolist():
                        found[number, row] = self._doubt(layer, row, 0.0, NO_THRESHOLD)
                elif ways is not None and len(at):
                    shares = np.max([one.layers[number].shares[kind][at] for kind in LOCAL], axis=0)
                    counts = shares >= least
                    why = self._without_bound(one.cycle, ways, own[counts])
                    for row, share, words in zip(
                        at[counts].tolist(), shares[counts].tolist(), why, strict=True
                    ):
                        if words:
                            found[number, row] = self._doubt(layer, row, share, words)
        return sorted(found.values(), key=lambda doubt: -doubt.share)

    def _without_bound(self, cycle: StressCycle, ways: Ways, some: Integers) -> list[str]:
        """Why the mean of each of some ways has no bound; empty where it has one."""
        found = []
        for way, error, largest in zip(some, *self._error(cycle, ways, some), strict=True):
            reach, size = 2 * ways.length[way], ways.size[way]
            if not ways.whole[way]:
                found.append(f"2L = {reach:.2g} mm leads out of the metal")
            elif size > LARGEST_ELEMENT * reach:
                found.append(
                    f"elements of {size:.2g} mm there are too large for 2L = {reach:.2g} mm"
                )
            elif error > ROUGH * largest:
                found.append(f"the mean over 2L = {reach:.2g} mm is known to {error:.0f} of "
                             f"{largest:.0f} MPa")  # fmt: skip
            else:
                found.append("")
        return found

    def _doubt(self, layer: LayerStress, row: int, share: float, why: str) -> Doubt:
        x, y = self.mesh.points[layer.nodes[row]].tolist()
        return Doubt(layer.part, (x, y), share, why)

    def _error(self, cycle: StressCycle, ways: Ways, some: Integers) -> tuple[Array, Array]:
        """Error of the mean of some ways, and the largest of the mean, idle or at gas. [MPa]."""
        error, largest = np.zeros(len(some)), np.zeros(len(some))
        for layers in (cycle.idle, cycle.gas):
            mean = (ways.line @ stacked(layers)).T[:, some]
            off = np.abs(extremes(ways.raw_mean(layers)[:, some] - mean)).max(axis=0)
            largest = np.maximum(largest, np.abs(extremes(mean)).max(axis=0))
            error = np.maximum(error, GAP_SHARE * off)
        return error + LEAST_ERROR * largest, largest

    def worst(self, judged: Sequence[JudgedCycle], part: str | None = None) -> dict[str, Worst]:
        """The largest share of each criterion in the parts that can govern, by its name.

        In one of them where ``part`` says which; yield of the block is that of all.
        """
        found = {}
        for kind in KINDS:
            for one in judged:
                best = self.yielding(one.cycle) if kind == YIELD else self.peak(one, kind, part)
                if best.share > 0:
                    found[f"{kind}, {one.cycle.engine}"] = best
        return found

    def used(self, judged: Sequence[JudgedCycle]) -> float:
        """The largest share of any criterion; 0 where none could be judged."""
        return max((one.share for one in self.worst(judged).values()), default=0.0)

    def peak(self, judged: JudgedCycle, kind: str, part: str | None = None) -> Worst:
        """The largest share of a kind in the parts that can govern, or in one of them."""
        best = Worst(0.0, 0, 0)
        parts = self.parts if part is None else (part,)
        for number, (layer, of) in enumerate(zip(judged.cycle.gas, judged.layers, strict=True)):
            row = int(np.argmax(of.shares[kind]))
            share = float(of.shares[kind][row])
            if layer.part in parts and share > best.share:
                best = Worst(share, number, row)
        return best

    def yielding(self, cycle: StressCycle) -> Worst:
        """What the gas makes yield of the rated metal of the block, but for the tail let yield."""
        added = [
            replace(gas, stress=gas.stress - idle.stress)
            for idle, gas in zip(cycle.idle, cycle.gas, strict=True)
        ]
        share, layer, row = over_yield(
            added, self.materials, self.mesh, cycle.temperature, TAIL, PARENT_PARTS, self.rated
        )
        cast = self.materials["barrel"].cast
        return Worst(share / (self.wishes.casting_quality if cast else 1.0), layer, row)

    def spot(self, judged: Sequence[JudgedCycle], layer: int, row: int) -> RatedSpot:
        """A node of a layer, in the state that uses most of its strength."""
        shares = [
            {kind: float(one.layers[layer].shares[kind][row]) for kind in KINDS} for one in judged
        ]
        place = max(
            range(len(judged)), key=lambda place: max(shares[place][kind] for kind in LOCAL)
        )
        cycle, of = judged[place].cycle, judged[place].layers[layer]
        gas = cycle.gas[layer]
        spot = spot_at(self.mesh, gas, int(gas.nodes[row]))
        kind = max(LOCAL, key=lambda kind: shares[place][kind])
        by: dict[str, Any] = {"judged_by": SURFACE, "error_mpa": spot.error_mpa}
        rows, ways = self.ways(cycle.gas)
        if ways is not None and judged[place].felt[layer].by_distance[row]:
            start = sum(len(other.nodes) for other in cycle.gas[:layer])
            (way,) = np.flatnonzero(rows == start + row)
            (error,), _ = self._error(cycle, ways, np.array([way]))
            idle, at_gas = (
                (ways.point @ stacked(of))[way][:, None] for of in (cycle.idle, cycle.gas)
            )
            standing = None
            if cycle.standing:
                standing = (ways.point @ stacked(cycle.standing))[way][:, None]
            beside = None
            if cycle.beside:
                adds = [(ways.point @ stacked(of))[way][:, None] for of in cycle.beside]
                beside = idle + hardest(at_gas - idle, adds)
            at_point = judge(
                self.wishes, self.materials[gas.part], idle, at_gas,
                self.temperature(cycle, gas)[row : row + 1], cycles=self.cycles(cycle.engine),
                strength=self.kept(cycle, gas)[row : row + 1],
                left=self.left(gas.part, np.array([True])), standing=standing, beside=beside,
            )  # fmt: skip
            by = {
                "judged_by": DISTANCE,
                "error_mpa": float(error),
                "length_mm": float(ways.length[way]),
                "point_share": float(at_point.shares[kind][0]),
            }
        return RatedSpot(
            spot=spot,
            state=cycle.engine,
            kind=kind,
            **by,
            shares=shares[place],
            mean_mpa=float(of.mean[row]),
            amplitude_mpa=float(of.amplitude[row]),
            reversed_mpa=float(of.reversed[row]),
            temperature_degc=float(self.temperature(cycle, gas)[row]),
            life_cycles=min(float(one.layers[layer].life_cycles[row]) for one in judged),
            been_degc=None if cycle.been is None else float(cycle.been[gas.nodes[row]]),
        )

    def pushed(self, judged: Sequence[JudgedCycle], place: RatedSpot) -> float:
        """How hard bores beside press a place (:func:`cases.rating.next_bore.pushed`)."""
        of = next(one for one in judged if one.cycle.engine == place.state)
        for layer, felt in zip(of.cycle.gas, of.felt, strict=True):
            if (layer.part, layer.region) == (place.spot.part, place.spot.region):
                at = np.searchsorted(layer.nodes, place.spot.node)
                idle = felt.idle[:, at]
                if felt.beside is not None:
                    return pushed(felt.gas[:, at] - idle, felt.beside[:, at] - idle)
        return 0.0

    def spots(self, judged: Sequence[JudgedCycle]) -> tuple[RatedSpot, ...]:
        """Separate places that use most of their strength, most used first."""
        found: list[RatedSpot] = []
        layers = judged[0].cycle.gas
        for part in dict.fromkeys(layer.part for layer in layers):
            value = np.zeros(len(self.mesh.points))
            owner = np.zeros(len(value), dtype=np.int64)
            numbers = [number for number, layer in enumerate(layers) if layer.part == part]
            for number in numbers:
                nodes = layers[number].nodes
                used = np.max(
                    [one.layers[number].shares[kind] for one in judged for kind in LOCAL], axis=0
                )
                higher = used > value[nodes]
                value[nodes[higher]], owner[nodes[higher]] = used[higher], number
            elements = np.concatenate([layers[number].elements for number in numbers])
            peaks = separate_peaks(value, self.mesh.triangles[elements])
            for count, node in enumerate(peaks[: SHOWN if part in self.parts else 1]):
                if count == 0 or value[node] >= LEAST_SHOWN:
                    number = int(owner[node])
                    row = int(np.searchsorted(layers[number].nodes, node))
                    found.append(self.spot(judged, number, row))
        found.sort(key=lambda spot: (spot.spot.part not in self.parts, -spot.share))
        parts = [spot.spot.part for spot in found]
        return tuple(
            spot
            for place, spot in enumerate(found)
            if place < SHOWN or spot.spot.part not in parts[:place]
        )


def untold_strengths(judge: Judge, cycles: Iterable[StressCycle]) -> list[str]:
    """What is not known of the strengths, in words, material by material."""
    hottest: dict[str, float] = {}
    for cycle in cycles:
        for layer in cycle.gas:
            warmth = float(judge.temperature(cycle, layer).max())
            hottest[layer.part] = max(warmth, hottest.get(layer.part, warmth))
    notes: dict[str, None] = {}
    for part, warmth in sorted(hottest.items()):
        if part not in judge.parts:
            continue
        material = judge.materials[part]
        known = known_strengths(material)
        missing = [kind for kind in (YIELD, TENSILE, FATIGUE) if kind not in known]
        if missing:
            notes[f"{material.name}: not judged by {', '.join(missing)}, as no value is known."] = (
                None
            )
        hot = [
            points[-1][0] for points in (material.yield_points, material.tensile_points) if points
        ]
        if hot and warmth > min(hot) + HOTTER:
            what = (
                f"taken to fall on as before it to the {warmth:.0f} degC that it reaches"
                if len(material.tensile_points or material.yield_points) > 1
                else f"counted so at {warmth:.0f} degC, where it may be weaker"
            )
            notes[
                f"{material.name}: its strengths are known up to {min(hot):g} degC and {what}."
            ] = None
        if warmth > REFERENCE + HOTTER:
            notes |= {f"{material.name}: {note}.": None for note in material.notes}
    return list(notes)

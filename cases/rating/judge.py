"""Strength against stress: which share of its strengths each place of a design uses.

Stress comes from the life of the design (:mod:`cases.life.life`), strength from its materials at
local temperature with the knock-downs of the case.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.base.parts import PARENT_PARTS
from cases.case import Case, Design
from cases.life.given import life_given
from cases.life.life import StressCycle
from cases.life.steps import TAIL, EngineState
from cases.rating.given import Rating, rating_given
from cases.rating.result import FATIGUE, KINDS, TENSILE, YIELD, RatedSpot
from fea.hotspots import SHARP_ELEMENTS, element_size, separate_peaks, spot_at
from fea.material import REFERENCE, Material
from fea.strength import (
    CRITERIA,
    cycles_to_failure,
    knock_down,
    over_yield,
    reversed_amplitude,
    strength_at,
)
from fea.stress import LayerStress, principal, von_mises
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]

LOCAL = (FATIGUE, TENSILE)
"""Those that a single place meets."""
RATED_PARTS = (*PARENT_PARTS, "insert", "liner")
"""Parts that can govern."""
HOTTER = 1.0
"""Temperature beyond the last that a strength is known at which is told. [K]."""
MOST_SHARE = 1e6
"""Share that stands for an infinite one."""
AROUND_SHARP = 0.5
"""Nothing nearer to a corner drawn sharp is judged: some radius is there in metal (common practice,
no source), and how far its stress rises is not known. [mm]."""
SHOWN = 6
"""Spots of a design that are listed, and the worst of each part."""
LEAST_SHOWN = 0.25
"""Share of a strength below which a spot is not listed, unless it is the worst of its part."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Judged:
    """Shares of strength that a stress cycle uses; arrays of shape (...).

    A share is 0 where the material has no such strength on record, and life infinite.
    """

    mean: Array  # of the cycle, by the criterion of the case [MPa]
    amplitude: Array  # [MPa]
    reversed: Array  # amplitude about zero that wears as hard [MPa]
    shares: dict[str, Array]  # by kind
    life_cycles: Array  # to failure


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Counted:
    """Strengths that metal is judged by, knock-downs taken off; None where none is known.

    Arrays of the shape of the temperatures. [MPa].
    """

    yield_mpa: Array | None
    tensile_mpa: Array | None
    fatigue_mpa: Array | None  # fully reversed amplitude, for the cycles that are wanted


def counted(
    wishes: Rating,
    material: Material,
    temperature: ArrayLike,
    *,
    cycles: float,
    strength: float | Array = 1.0,
) -> Counted:
    """Strengths of a material at temperatures.

    Parameters
    ----------
    wishes : Rating
    material : Material
    temperature : array_like, shape (...)
        [degC]
    cycles : float
        That the metal has to last.
    strength : float or ndarray, shape (...)
        Factor on all of them.

    Raises
    ------
    ValueError
        As :func:`fea.strength.knock_down`, for a reliability that leaves nothing.
    """
    share = strength * (wishes.casting_quality if material.cast else 1.0)
    fatigue = None
    if material.fatigue and material.tensile_points:
        line = material.fatigue
        down = knock_down(
            material, temperature,
            reliability=wishes.reliability, casting_quality=wishes.casting_quality,
        )  # fmt: skip
        borne = strength_at(cycles, line.strength, line.cycles, line.exponent)
        fatigue = strength * down * borne
    return Counted(
        yield_mpa=share * material.yield_strength(temperature) if material.yield_points else None,
        tensile_mpa=share * material.tensile_strength(temperature)
        if material.tensile_points
        else None,
        fatigue_mpa=fatigue,
    )


def known_strengths(material: Material) -> tuple[str, ...]:
    """Kinds of strength that a material is judged by, of ``KINDS``."""
    known = {
        YIELD: bool(material.yield_points),
        TENSILE: bool(material.tensile_points),
        FATIGUE: bool(material.fatigue and material.tensile_points),
    }
    return tuple(kind for kind in KINDS if known[kind])


def wanted_cycles(case: Case, state: EngineState) -> float:
    """Cycles that the metal has to last in a state; without heat there is only one."""
    wishes = rating_given(case)
    only = not life_given(case).heat
    return wishes.cycles if only or state == EngineState.WARM else wishes.cold_cycles


def judge(
    wishes: Rating,
    material: Material,
    idle: Array,
    gas: Array,
    temperature: Array,
    *,
    cycles: float,
    strength: float | Array = 1.0,
) -> Judged:
    """Set a stress cycle against the strength of a material.

    Parameters
    ----------
    wishes : Rating
    material : Material
    idle, gas : ndarray, shape (3, ...)
        sxx, syy, sxy without gas and at its peak. [MPa]
    temperature : ndarray, shape (...)
        [degC]
    cycles : float
        That the metal has to last.
    strength : float or ndarray, shape (...)
        Factor on all strengths.

    Raises
    ------
    KeyError
        If there is no such criterion.
    ValueError
        If there is no such line of the mean stress, or as :func:`counted`.
    """
    known = counted(wishes, material, temperature, cycles=cycles, strength=strength)
    amplitudes, means = CRITERIA[wishes.criterion](idle, gas)
    amplitude, mean, none = amplitudes[0], means[0], np.zeros(amplitudes.shape[1:])
    shares = dict.fromkeys(KINDS, none)
    reversed_, life = none, np.full(none.shape, np.inf)
    if known.yield_mpa is not None:
        shares[YIELD] = von_mises(gas - idle) / known.yield_mpa
    if known.tensile_mpa is not None:
        shares[TENSILE] = np.maximum(principal(gas)[0], 0.0) / known.tensile_mpa
        if known.fatigue_mpa is not None:
            assert material.fatigue is not None
            wear = reversed_amplitude(amplitudes, means, wishes.mean_stress, known.tensile_mpa)
            worst = np.argmax(wear, axis=0)[None]
            amplitude, mean, reversed_ = (
                np.take_along_axis(of, worst, axis=0)[0] for of in (amplitudes, means, wear)
            )
            shares[FATIGUE] = reversed_ / known.fatigue_mpa
            life = cycles_to_failure(
                reversed_, known.fatigue_mpa, cycles, material.fatigue.exponent
            )
    return Judged(
        mean=mean, amplitude=amplitude, reversed=reversed_, shares=shares, life_cycles=life
    )


@dataclass(frozen=True, eq=False, slots=True)
class JudgedCycle:
    """A stress cycle of a whole design, judged layer by layer."""

    cycle: StressCycle
    layers: tuple[Judged, ...]  # as in ``cycle.gas``


@dataclass(frozen=True, eq=False, slots=True)
class Worst:
    """The largest share of one strength in a design."""

    share: float
    layer: int  # place among the layers
    row: int  # node of the layer


class Judge:
    """Sets the stress cycles of a design against strength, node by node.

    Parameters
    ----------
    case : Case
    design : Design
    mesh : SectionMesh
        That the stress is on.
    sharp : sequence of (float, float)
        Places x, y where stress has no finite value, beside the corners of the mesh; nothing near
        them is judged. [mm]
    """

    def __init__(
        self,
        case: Case,
        design: Design,
        mesh: SectionMesh,
        sharp: Sequence[tuple[float, float]] = (),
    ) -> None:
        self.case, self.wishes, self.mesh = case, rating_given(case), mesh
        self.materials = case.part_materials(design)
        self.parts = RATED_PARTS
        self.sound = np.ones(len(mesh.points), dtype=bool)
        size = np.zeros(len(mesh.points))
        corners = mesh.triangles[:, :3]
        np.maximum.at(size, mesh.triangles, element_size(mesh.points[corners])[:, None])
        for x, y in [*((corner.x, corner.y) for corner in mesh.corners), *sharp]:
            away = np.hypot(mesh.points[:, 0] - x, mesh.points[:, 1] - y)
            self.sound &= away > max(SHARP_ELEMENTS * size[np.argmin(away)], AROUND_SHARP)

    def at_median(self) -> Judge:
        """The same with the strength of half of the parts."""
        other = copy(self)
        other.wishes = replace(self.wishes, reliability=0.5)
        return other

    def cycles(self, state: EngineState) -> float:
        """Cycles that the metal has to last in a state."""
        return wanted_cycles(self.case, state)

    def temperature(self, cycle: StressCycle, layer: LayerStress) -> Array:
        """Temperature at the nodes of a layer, shape (k,). [degC]."""
        if cycle.temperature is None:
            return np.full(len(layer.nodes), REFERENCE)
        return cycle.temperature[layer.nodes]

    def __call__(self, cycle: StressCycle) -> JudgedCycle:
        """Every layer judged, places without a finite stress as if unloaded."""
        layers = []
        for idle, gas in zip(cycle.idle, cycle.gas, strict=True):
            sound = self.sound[gas.nodes]
            layers.append(
                judge(
                    self.wishes,
                    self.materials[gas.part],
                    idle.stress * sound,
                    gas.stress * sound,
                    self.temperature(cycle, gas),
                    cycles=self.cycles(cycle.engine),
                )
            )
        return JudgedCycle(cycle, tuple(layers))

    def worst(self, judged: Sequence[JudgedCycle]) -> dict[str, Worst]:
        """The largest share of each criterion in the parts that can govern, by its name."""
        found = {}
        for kind in KINDS:
            for one in judged:
                best = self.yielding(one.cycle) if kind == YIELD else self.peak(one, kind)
                if best.share > 0:
                    found[f"{kind}, {one.cycle.engine}"] = best
        return found

    def used(self, judged: Sequence[JudgedCycle]) -> float:
        """The largest share of any criterion; 0 where none could be judged."""
        return max((one.share for one in self.worst(judged).values()), default=0.0)

    def peak(self, judged: JudgedCycle, kind: str) -> Worst:
        """The largest share of a kind in the parts that can govern."""
        best = Worst(0.0, 0, 0)
        for number, (layer, of) in enumerate(zip(judged.cycle.gas, judged.layers, strict=True)):
            row = int(np.argmax(of.shares[kind]))
            share = float(of.shares[kind][row])
            if layer.part in self.parts and share > best.share:
                best = Worst(share, number, row)
        return best

    def yielding(self, cycle: StressCycle) -> Worst:
        """What the gas makes yield of the block, but for the tail that is let yield."""
        added = [
            replace(gas, stress=gas.stress - idle.stress)
            for idle, gas in zip(cycle.idle, cycle.gas, strict=True)
        ]
        share, layer, row = over_yield(
            added, self.materials, self.mesh, cycle.temperature, TAIL, PARENT_PARTS
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
        return RatedSpot(
            spot=spot_at(self.mesh, gas, int(gas.nodes[row])),
            state=cycle.engine,
            kind=max(LOCAL, key=lambda kind: shares[place][kind]),
            shares=shares[place],
            mean_mpa=float(of.mean[row]),
            amplitude_mpa=float(of.amplitude[row]),
            reversed_mpa=float(of.reversed[row]),
            temperature_degc=float(self.temperature(cycle, gas)[row]),
            life_cycles=min(float(one.layers[layer].life_cycles[row]) for one in judged),
        )

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
    if corners := len(judge.mesh.corners):
        notes[
            f"nothing within {AROUND_SHARP:g} mm of {corners} inside "
            f"corner{'s' * (corners > 1)} is judged: drawn sharp, where stress has no bound. Give "
            f"{'them' if corners > 1 else 'it'} a radius in the metal."
        ] = None
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
            notes[
                f"{material.name}: its strengths are known up to {min(hot):g} degC and counted "
                f"so at {warmth:.0f} degC, where it may be weaker."
            ] = None
    return list(notes)

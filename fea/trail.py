"""What is followed from mesh to mesh: a hot spot or a gauge, its values, and what they tell."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.hotspots import HotSpot
from fea.refinement import REFINEMENT
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True)
class Trail:
    """A spot, and its element sizes [mm] and stresses [MPa] from mesh to mesh."""

    spot: HotSpot
    at_junction: bool  # so near that the stress may not be smooth
    on_junction: bool
    scale: float  # stress that the error is set against [MPa]
    far: float  # error that elements further away bring, as a share of the scale
    sizes: tuple[float, ...]
    values: tuple[float, ...]
    beside_sharp: bool = False  # on the junction of another part's sharp spot
    there: tuple[float, float] | None = None  # size and stress on the mesh before, of a new spot
    at_bond_end: bool = False  # so near that stress may be that of the tip of a crack
    order: float = REFINEMENT.order  # of convergence away from junctions
    unabated: bool = False  # whether each halving near a junction is taken to bring the same
    by_ends: float = 0.0  # change of its stress if contact ended a pair sooner [MPa]
    by_breaking: float = 0.0  # the same if all broke that a finer mesh may break [MPa]
    told: float = 1.0  # factor on its error, to tell it
    least: float = 0.0  # error below which none is told [MPa]

    @property
    def place(self) -> complex:
        """Of the spot, x + iy. [mm]."""
        return complex(self.spot.x_mm, self.spot.y_mm)

    def beside(self, size: float, value: float) -> Trail:
        """The same with elements [mm] and a stress [MPa] that an earlier mesh has at its place."""
        return replace(self, there=(size, value))

    def rates(self) -> list[float]:
        """How steeply the stress grows with finer elements, refinement by refinement.

        Of a spot that is new from what the mesh before has at its place.
        """
        found = []
        (size, value), *later_ones = self._past()
        for finer, later in later_ones:
            if finer < 0.75 * size:
                found.append(float(np.log(later / value) / np.log(size / finer)))
                size, value = finer, later
        return found

    def fitted_exponent(self) -> float | None:
        """Least-squares slope of the logarithm of the stress over that of 1 / size."""
        sizes, values = np.array(self._past()).T
        if sizes[-1] > 0.5 * sizes[0]:
            return None
        slope, _ = np.polyfit(-np.log(sizes), np.log(values), 1)
        return float(slope)

    def _past(self) -> list[tuple[float, float]]:
        """Element sizes [mm] and pulls [MPa] from mesh to mesh."""
        new = len(self.values) == 1 and self.there is not None and self.there[1] > 0
        own = list(zip(self.sizes, self.values, strict=True))
        return [self.there, *own] if new and self.there else own

    def grows(self) -> bool:
        """Whether two refinements running made the stress grow at an unabated rate.

        On a junction and beside the end of a bond nothing rounds the peak off: one is enough.
        """
        rates = self.rates()[-2:]
        unrounded = self.on_junction or self.at_bond_end
        if self.beside_sharp or (unrounded and rates and rates[-1] > REFINEMENT.lasting):
            return True
        return (
            len(rates) == 2
            and rates[1] > REFINEMENT.lasting
            and rates[1] > REFINEMENT.slowing * rates[0]
        )

    def error(self) -> float:
        """The larger of what the two witnesses say, and what comes from further away. [MPa].

        Where the error falls like size to the power p, what is left after a change is the change
        over (ratio of the sizes)^p - 1; near a junction another halving may be taken to bring as
        much as the last. Never more than the change itself is taken.
        """
        near = self.spot.error_mpa
        known = len(self.values) > 1
        before = (self.sizes[-2], self.values[-2]) if known else self.there
        if before is not None:
            size, value = before
            ratio = size / self.sizes[-1]
            if self.at_junction and self.unabated:
                gain = float(np.log2(ratio))
            else:
                order = REFINEMENT.order_at_junction if self.at_junction else self.order
                gain = ratio**order - 1
            near = max(near, abs(self.values[-1] - value) / max(gain, 1.0))
        return near + self.far * self.scale

    @property
    def believed(self) -> bool:
        """Whether its error can be told: at a junction two meshes must say so."""
        return len(self.values) > 1 or not self.at_junction

    def settled(self, tolerance: float) -> bool:
        """Whether the error of the mesh is within the tolerance."""
        return self.believed and self.error() <= tolerance * self.scale

    def done(self, tolerance: float) -> bool:
        """Whether finer elements would tell no more."""
        if self.spot.sharp:
            return self.sizes[0] > REFINEMENT.enough * self.sizes[-1]
        return self.settled(tolerance) or self.grows()

    def shrink(self, tolerance: float, at_junction: float) -> float:
        """Share of the element size that should settle it; near a junction the one that is given.

        A sharp one takes the least at once.
        """
        if self.spot.sharp:
            return REFINEMENT.finest
        if self.at_junction:
            return at_junction
        need = tolerance * self.scale / self.error()
        return float(
            np.clip(
                REFINEMENT.safety * need ** (1 / REFINEMENT.order),
                REFINEMENT.finest,
                REFINEMENT.safety,
            )
        )

    def judged(self, tolerance: float) -> HotSpot:
        """The spot with what its past tells: its error times a factor, and that by ends of contact.

        Contact ends somewhere between a pair that touches and one that does not: what hangs on it
        is half of what a whole pair changes. What breaks counts in full.
        """
        sharp = self.spot.sharp or self.grows()
        by_joint = self.by_ends / 2 + self.by_breaking
        error = max(self.told * self.error() + by_joint, self.least)
        return replace(
            self.spot,
            error_mpa=error,
            sharp=sharp,
            settled=not sharp and self.believed and error <= tolerance * self.scale,
            exponent=self.fitted_exponent() if sharp else None,
        )


def sharp_place(mesh: SectionMesh, spot: HotSpot) -> complex:
    """The sharp corner that a spot belongs to."""
    corners = [complex(corner.x, corner.y) for corner in mesh.corners]
    return min(corners, key=lambda z: abs(z - complex(spot.x_mm, spot.y_mm)))


def followed(
    spot: HotSpot,
    trails: Sequence[Trail],
    junctions: Array,
    contact_ends: Array,
    bond_ends: Array,
    weak: float,
    far: float,
) -> Trail:
    """A spot with its past: the nearest earlier one of its part, if it can be the same.

    Near the end of a contact it is judged as near a junction, but stress is finite there.
    """
    here = complex(spot.x_mm, spot.y_mm)
    to_junction, to_contact_end, to_bond_end = (
        np.hypot(*(places - [spot.x_mm, spot.y_mm]).T).min(initial=np.inf)
        for places in (junctions, contact_ends, bond_ends)
    )
    near = REFINEMENT.junction_elements * spot.size_mm

    def away(trail: Trail) -> float:
        return abs(complex(trail.spot.x_mm, trail.spot.y_mm) - here)

    same = [trail for trail in trails if trail.spot.part == spot.part]
    before = min(same, key=away, default=None)
    if before and away(before) > max(REFINEMENT.same_place, before.spot.size_mm):
        before = None
    return Trail(
        spot,
        bool(min(to_junction, to_contact_end, to_bond_end) < near),
        bool(to_junction < REFINEMENT.on_junction * spot.size_mm),
        max(spot.principal_mpa, weak),
        far,
        (*(before.sizes if before else ()), spot.size_mm),
        (*(before.values if before else ()), spot.principal_mpa),
        at_bond_end=bool(to_bond_end < near),
    )


def beside_sharp_ones(trails: Sequence[Trail]) -> list[Trail]:
    """Spots on one junction are sharp together, part by part."""
    sharp = [complex(t.spot.x_mm, t.spot.y_mm) for t in trails if t.on_junction and t.grows()]

    def beside(trail: Trail) -> bool:
        here = complex(trail.spot.x_mm, trail.spot.y_mm)
        return trail.on_junction and any(abs(z - here) < trail.spot.size_mm for z in sharp)

    return [replace(trail, beside_sharp=beside(trail)) for trail in trails]


def junctions_of(mesh: SectionMesh) -> Array:
    """Places where region borders meet each other or a free edge, shape (n, 2). [mm]."""
    n = len(mesh.points)
    pairs = np.unique(mesh.region[:, None] * n + mesh.triangles[:, :3])
    regions = np.bincount(pairs % n, minlength=n)
    uses = np.bincount(mesh.triangles[:, 3:].ravel(), minlength=n)
    free = np.zeros(n, dtype=bool)
    for sides in mesh.edges.values():
        free[sides[uses[sides[:, 2]] == 1, :2]] = True
    return mesh.points[(regions > 2) | ((regions > 1) & free)]


@dataclass(frozen=True, eq=False, slots=True)
class Gauge:
    """A number that is read off along a part of a mesh, such as the force on a side of a joint.

    Attributes
    ----------
    name : hashable
        The same from mesh to mesh.
    what : str
        What it is, in words.
    value : float
    wanted : float
        Change from mesh to mesh at which it is settled, in the unit of the value.
    z : ndarray, shape (k,)
        Places where its error comes from. [mm]
    size : ndarray, shape (k,)
        Of the elements there. [mm]
    """

    name: Hashable
    what: str
    value: float
    wanted: float
    z: Complexes
    size: Array


@dataclass(frozen=True, eq=False, slots=True)
class GaugeTrail:
    """A gauge, and its value on the mesh before."""

    gauge: Gauge
    before: float | None

    @classmethod
    def of(cls, gauge: Gauge, trail: GaugeTrail | None) -> GaugeTrail:
        """A gauge with its past."""
        return cls(gauge, None if trail is None else trail.gauge.value)

    @property
    def error(self) -> float | None:
        """Its change from the mesh before; None on the first.

        Where the error falls like the size, halving leaves no more than the change itself.
        """
        return None if self.before is None else abs(self.gauge.value - self.before)

    @property
    def settled(self) -> bool:
        """Whether it is known as well as wanted; two meshes must say so."""
        return self.error is not None and self.error <= self.gauge.wanted

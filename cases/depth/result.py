"""The barrel from the side: its wall, what presses on it, and what it does."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.base.subject import Solved
from cases.solid.result import SolidSpot

Array = NDArray[np.float64]


ByDepth = Callable[[Array], Array]


@dataclass(frozen=True, slots=True)
class Wall:
    """A stretch of the barrel with the same outside."""

    top: float  # [mm]
    bottom: float  # [mm]
    outer: float  # radius [mm]


@dataclass(frozen=True, slots=True)
class Pressure:
    """What presses on the bore wall."""

    name: str  # "peak", "worst angle" or "envelope"
    by_depth: ByDepth  # [MPa]
    ends: tuple[float, ...]  # depths at which it steps [mm]


@dataclass(frozen=True, eq=False, slots=True)
class Curves:
    """The tube under one pressure.

    Attributes
    ----------
    growth_um : ndarray, shape (n,)
        Of the bore, outward, at ``depth_mm`` of the result. [um]
    bore_hoop_mpa : ndarray, shape (n,)
        On the bore wall, in the innermost part. [MPa]
    barrel_hoop_mpa : ndarray, shape (m,)
        Mean over the barrel wall, liner not counted, row by row. [MPa]
    """

    growth_um: Array
    bore_hoop_mpa: Array
    barrel_hoop_mpa: Array


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class Sweep:
    """The same insert, shallower and deeper.

    Attributes
    ----------
    depth_mm : ndarray, shape (k,)
        Of the insert, 0 for none. [mm]
    growth_um, hoop_mpa : ndarray, shape (k,)
        Largest growth and largest mean hoop stress of the barrel, at any depth.
    growth_gain, hoop_gain : ndarray, shape (k - 1,)
        What the next step takes off, as a share of the bare value, per mm.
    enough_growth_mm, enough_hoop_mm : float or None
        Smallest depth from which on no further millimetre gains what is asked; None if there is
        none as far as was tried.
    """

    depth_mm: Array
    growth_um: Array
    hoop_mpa: Array
    growth_gain: Array
    hoop_gain: Array
    enough_growth_mm: float | None
    enough_hoop_mm: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidDepth:
    """The worst spot of the block's own metal with the insert so deep, cold and in one piece."""

    depth_mm: float  # of the insert at the clock position
    spot: SolidSpot


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidDepths:
    """The same insert shallower and deeper, by the solid."""

    tried: tuple[SolidDepth, ...]  # rising
    drawn: SolidDepth  # one of them
    bare_mpa: float | None  # worst stress of the bare block's solid; None where it has none
    least_gain: float  # that is asked of a millimetre, as a share of that
    notes: tuple[str, ...] = ()

    @property
    def deeper(self) -> SolidDepth | None:
        """The next depth beyond that as drawn."""
        return next((one for one in self.tried if one.depth_mm > self.drawn.depth_mm), None)

    @property
    def gain(self) -> float | None:
        """What a further millimetre takes off, as a share of the bare block's worst stress.

        Of the insert as drawn where there is no bare block.
        """
        if self.deeper is None:
            return None
        fall = self.drawn.spot.principal_mpa - self.deeper.spot.principal_mpa
        whole = self.bare_mpa or self.drawn.spot.principal_mpa
        return fall / whole / (self.deeper.depth_mm - self.drawn.depth_mm)

    @property
    def pays(self) -> bool | None:
        """Whether it takes off what is asked; None where errors, or no solid, leave it open."""
        if self.gain is None or self.deeper is None:
            return None
        whole = self.bare_mpa or self.drawn.spot.principal_mpa
        error = self.drawn.spot.error_mpa + self.deeper.spot.error_mpa
        doubt = error / whole / (self.deeper.depth_mm - self.drawn.depth_mm)
        if abs(self.gain - self.least_gain) <= doubt:
            return None
        return self.gain > self.least_gain

    @property
    def words(self) -> str:
        """Whether deeper pays."""
        if self.deeper is None:
            return "no deeper one was solved"
        if self.pays is None:
            return "can't be told within the errors"
        return "deeper still pays" if self.pays else "deeper buys less than what is asked"


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class DesignDepth:
    """One design seen from the side."""

    name: str
    insert_depth: float  # at this clock position; 0 for none [mm]
    wall_share: float  # of the gas load that the wall carries around, by the deck section
    backing: float  # of the insert, mean over its depth; 0 for none [MPa/mm]
    curves: Mapping[str, Curves]  # by the name of the pressure
    growth_um: float  # largest
    growth_at_mm: float
    hoop_mpa: float  # largest of the barrel's means
    hoop_at_mm: float
    mean_hoop_mpa: float  # of them, over the section depth
    deck_mpa: float | None  # deck section: hoop stress at the barrel's outer side here
    sweep: Sweep | None = None  # of a design with an insert
    solid: SolidDepths | None = None  # of one that has a solid too

    @property
    def peak_factor(self) -> float:
        """Largest mean hoop stress of the wall over its mean over the section depth."""
        return self.hoop_mpa / self.mean_hoop_mpa

    @property
    def peak_mpa(self) -> float | None:
        """The deck section's stress, a mean over depth, times that factor. [MPa]."""
        return None if self.deck_mpa is None else self.peak_factor * self.deck_mpa


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class DepthResult:
    """The barrel of every design from the side, at one clock position.

    Attributes
    ----------
    depth_mm : ndarray, shape (n,)
        Where the bore is read. [mm]
    row_mm : ndarray, shape (2, m)
        Upper and lower end of each row of the barrel. [mm]
    """

    clock: float  # [h]
    chosen: bool  # whether the case states it
    floor: float  # [mm]
    section_depth: float  # [mm]
    least_gain: float
    bore_radius: float  # [mm]
    liner_radius: float  # outside of the liner, or of the bore [mm]
    walls: tuple[Wall, ...]  # of the barrel, from the deck down
    backing: float  # of the block itself [MPa/mm]
    backing_depth: float  # down to which it stands [mm]
    pressures: tuple[Pressure, ...]  # the first is the one that the numbers are of
    depth_mm: Array
    row_mm: Array
    designs: tuple[DesignDepth, ...]

    def with_solids(self, found: Mapping[str, SolidDepths]) -> DepthResult:
        """The same with what solids of other insert depths found, by the name of the design."""
        designs = tuple(replace(one, solid=found.get(one.name)) for one in self.designs)
        return replace(self, designs=designs)

    @property
    def cut_depth(self) -> float:
        """Of the deepest relief cut at this clock position; 0 without. [mm]."""
        return self.walls[-2].bottom if len(self.walls) > 1 else 0.0

    @property
    def thinnest(self) -> float:
        """The barrel wall where it is thinnest, liner not counted. [mm]."""
        return min(wall.outer for wall in self.walls) - self.liner_radius


@dataclass(frozen=True, slots=True)
class Even:
    """The same pressure down to a depth, and none below."""

    pressure: float  # [MPa]
    depth: float  # [mm]

    def __call__(self, z: ArrayLike) -> Array:
        """Pressure at depths of any shape [mm]. [MPa]."""
        return np.where(np.asarray(z) < self.depth, self.pressure, 0.0)


def depth_of(result: Solved) -> DepthResult | None:
    """The depth section of a solved case; None where there is none or it was refused."""
    found = result.found.get("depth")
    return found if isinstance(found, DepthResult) else None

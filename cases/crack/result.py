"""A crack in every design: its place, its stress intensity by length, its growth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.base.subject import Solved
from cases.crack.given import CrackInput
from fea.crack import Growth
from geometry.cracked import CrackPath

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackPlace:
    """Where a crack starts and which way it runs, in all designs alike."""

    part: str
    mouth: complex  # [mm]
    direction: complex  # unit vector into the metal
    clock_hours: float  # of the mouth, about the bore that fires [h]
    chosen: str  # how, in words

    @property
    def sense(self) -> str:
        """Whether the crack runs inward, outward or around."""
        outward = (self.direction * self.mouth.conjugate()).real / abs(self.mouth)
        return "inward" if outward < -0.5 else "outward" if outward > 0.5 else "around the bore"


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class SolidCrack:
    """A crack by the solid of a design, at the depth where it is opened most. K in MPa sqrt(m).

    Attributes
    ----------
    as_made : bool
        Whether the solid is the design as it is made; else cold and in one piece.
    depth_mm : float
        Below the deck.
    depths_mm, flaw_by_depth : ndarray, shape (d,)
        Depths that were looked at, and K of the flaw at gas there.
    largest_k1, idle_k1 : ndarray, shape (n,)
        At gas and with none, by the lengths of the series.
    crack_growth : Growth
    """

    as_made: bool
    depth_mm: float
    depths_mm: Array
    flaw_by_depth: Array
    largest_k1: Array
    idle_k1: Array
    crack_growth: Growth


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class CrackSeries:
    """A crack in one design, length by length. K in MPa sqrt(m).

    Attributes
    ----------
    design : str
    path : CrackPath
    length : ndarray, shape (n,)
        [mm]
    k1, k2 : ndarray, shape (n,)
        Of the gas alone, opening and sliding.
    kink_deg : ndarray, shape (n,)
        Direction in which it would go on, from straight ahead, counter-clockwise positive.
    idle_k1 : ndarray, shape (n,)
        With no gas: of press and heat in a load step, where the case has them; else 0.
    idle_step : str
        That load step; empty where there is none.
    crack_growth : Growth
    unknowns : int
        Of the largest mesh.
    solid : SolidCrack or None
        The same by the design's solid.
    """

    design: str
    path: CrackPath
    length: Array
    k1: Array
    k2: Array
    kink_deg: Array
    idle_k1: Array
    idle_step: str
    crack_growth: Growth
    unknowns: int
    solid: SolidCrack | None = None

    @property
    def told_growth(self) -> Growth:
        """Growth by the solid where there is one, else by the section."""
        return self.solid.crack_growth if self.solid else self.crack_growth

    @property
    def told_k1(self) -> Array:
        """With gas and all, shape (n,), by the solid where there is one. [MPa sqrt(m)]."""
        return self.solid.largest_k1 if self.solid else self.largest_k1

    @property
    def told_idle_k1(self) -> Array:
        """With no gas, the same."""
        return self.solid.idle_k1 if self.solid else self.idle_k1

    @property
    def largest_k1(self) -> Array:
        """With gas and all, shape (n,). [MPa sqrt(m)]."""
        return self.idle_k1 + self.k1

    @property
    def shut(self) -> NDArray[np.bool_]:
        """Whether the crack stays shut under gas, shape (n,)."""
        return self.largest_k1 <= 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackResult:
    """The same crack in every design of a case."""

    given: CrackInput
    place: CrackPlace
    series: tuple[CrackSeries, ...]
    notes: tuple[str, ...]


def crack_of(result: Solved) -> CrackResult | None:
    """The crack of a solved case; None where there is none or it was refused."""
    found = result.found.get("crack")
    return found if isinstance(found, CrackResult) else None

"""What the cuts leave of the walls at the deck, by clock position."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from geometry.clock import clock_to_angle
from geometry.outline import planned
from geometry.plan import Plan
from geometry.section import DeckSection

Floats = NDArray[np.float64]
Inside = Callable[[NDArray[np.complex128]], NDArray[np.bool_]]

EVERY = 1 / 60
"""Steps of the clock. [h]."""


@dataclass(frozen=True, eq=False, slots=True)
class WallsLeft:
    """Thickness of a wall around each bore; NaN where a tie or the next barrel joins it.

    Attributes
    ----------
    clock : ndarray, shape (k,)
        [h]
    thickness : ndarray, shape (bores, k)
        [mm]
    """

    clock: Floats
    thickness: Floats

    @property
    def least(self) -> tuple[float, float, int]:
        """Least thickness [mm], its clock position [h] and bore, counted from 1.

        NaN, 0 and 0 where the wall stands free nowhere.
        """
        if np.isnan(self.thickness).all():
            return np.nan, 0.0, 0
        bore, at = np.unravel_index(np.nanargmin(self.thickness), self.thickness.shape)
        return float(self.thickness[bore, at]), float(self.clock[at]), int(bore) + 1


@cache
def walls_left(section: DeckSection) -> tuple[WallsLeft, WallsLeft]:
    """What relief cuts and register leave of the barrel wall and of the outer wall at the deck.

    The barrel wall is measured from the liner, or the bore, outwards from the bore axis; the outer
    wall from the outside inwards, square to it.

    Parameters
    ----------
    section : DeckSection
        With a jacket.

    Returns
    -------
    barrel, outer wall : WallsLeft

    Raises
    ------
    SectionError
        Where the section can't be built.
    """
    plan = planned(section.at_deck)
    block = plan.block
    clock = np.linspace(0.0, 12.0, round(12 / EVERY), endpoint=False)
    ray = np.exp(1j * clock_to_angle(clock))

    def beyond(z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        return plan.off_bank(z) > block.jacket_radius

    found: tuple[list[Floats], list[Floats]] = ([], [])
    for number, axis in enumerate(block.axes, 1):

        def own(z: NDArray[np.complex128], number: int = number) -> NDArray[np.bool_]:
            return plan.in_barrel(z) & (block.nearest_bore(z.real, z.imag)[0] == number)

        start = axis + block.liner_radius * ray
        found[0].append(_depth_of(plan, start, ray, block.jacket_radius - block.liner_radius, own))
        edge = _outside(plan, axis, ray)
        foot = np.clip(edge.real, block.axes[0], block.axes[-1])
        inward = (foot - edge) / np.abs(foot - edge)
        outer = _depth_of(plan, edge, inward, 2 * block.outer_wall, beyond)
        outer[block.nearest_bore(edge.real, edge.imag)[0] != number] = np.nan
        found[1].append(outer)
    return WallsLeft(clock, np.array(found[0])), WallsLeft(clock, np.array(found[1]))


def _outside(plan: Plan, axis: float, ray: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """Where rays from a bore axis leave the block."""
    block = plan.block
    low, high = np.zeros(len(ray)), np.full(len(ray), 2 * block.outside_radius + np.ptp(block.axes))
    for _ in range(50):
        middle = (low + high) / 2
        within = plan.off_bank(axis + middle * ray) < block.outside_radius
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    return axis + low * ray


def _depth_of(
    plan: Plan,
    start: NDArray[np.complex128],
    way: NDArray[np.complex128],
    reach: float,
    of_wall: Inside,
) -> Floats:
    """How far metal that stands at the deck goes on from some points [mm].

    NaN where it goes on past the wall: ``of_wall`` tells what belongs to it.
    """

    def solid(z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        part, depth = plan.parent(z)
        return np.asarray((depth > 0) & (plan.taken(z, part, depth) == 0))

    steps = np.arange(1e-6, reach, 0.8)
    z = start + steps[:, None] * way
    stands = (solid(z.ravel()) & of_wall(z.ravel())).reshape(z.shape)
    ends = ~stands.all(axis=0)
    first = np.argmin(stands, axis=0)
    low, high = steps[np.maximum(first - 1, 0)], steps[first]
    for _ in range(14):
        middle = (low + high) / 2
        at = start + middle * way
        on = solid(at) & of_wall(at)
        low, high = np.where(on, middle, low), np.where(on, high, middle)
    open_ = ~solid(start + (high + 1e-3) * way)
    return np.where(ends & open_, high, np.nan)

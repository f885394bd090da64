"""What the gaskets of a case open over a design."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

from geometry.overlay import Loop

SHUT = 0.02
"""Share of what a hole opens over the bare deck below which it counts as blocked."""
WHOLE = 0.99
"""The same from which it counts as open as before."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Hole:
    """A water hole of a gasket over a design. Areas in mm2."""

    number: int  # in the order of the file, from 1
    name: str  # how messages call it
    bore: int  # nearest, from 1
    clock: float  # about that bore [h]
    radius: float  # of its middle, from that bore's axis [mm]
    vent: bool
    area: float  # of the gasket's opening
    bare: float  # that deck, gasket and head open together over the bare block
    open: float  # the same over the design

    @property
    def blocked(self) -> float:
        """What the design takes of it. [mm2]."""
        return max(self.bare - self.open, 0.0)

    @property
    def share(self) -> float:
        """Of what it opens over the bare deck; 1 where that is nothing."""
        return self.open / self.bare if self.bare > 1e-9 else 1.0

    @property
    def is_blocked(self) -> bool:
        """Whether the design shuts it."""
        return self.share < SHUT

    @property
    def is_open(self) -> bool:
        """Whether it opens as before."""
        return self.share >= WHOLE


@dataclass(frozen=True, kw_only=True, slots=True)
class BoreWater:
    """What a gasket opens about a bore. Areas in mm2."""

    bore: int
    bare: float
    open: float
    blocked: float
    holes: int
    holes_blocked: int
    flow: float | None = None  # through its holes [mm3/s]
    bare_flow: float | None = None  # the same of the bare block
    hole_speed: float | None = None  # mean, through what is open [m/s]
    jacket_speed: float | None = None  # along the bank beside it [m/s]


@dataclass(frozen=True, kw_only=True, slots=True)
class Lands:
    """Least metal between what must be kept apart; None where there is nothing to keep. [mm]."""

    slot_to_joint: float | None  # of the insert, with the block
    slot_to_slot: float | None
    slot_to_bead: float | None  # outside of the bead about a bore; negative: under it
    joint_to_bead: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class GasketWater:
    """One gasket over a design."""

    gasket: str
    holes: tuple[Hole, ...]
    bores: tuple[BoreWater, ...]
    lands: Lands
    idle: tuple[str, ...]  # deck openings that no hole of the gasket meets, by place
    notes: tuple[str, ...]
    flow: float | None = None  # through the block [mm3/s]
    bare_flow: float | None = None
    lost: float | None = None  # pressure, from the inlet to the head [MPa]
    bare_lost: float | None = None  # over the bare block, at its own flow

    @property
    def open(self) -> float:
        """What deck, gasket and head open together. [mm2]."""
        return sum(of.open for of in self.holes)

    @property
    def bare(self) -> float:
        """The same over the bare block. [mm2]."""
        return sum(of.bare for of in self.holes)

    @property
    def blocked(self) -> tuple[Hole, ...]:
        """Holes that the design shuts."""
        return tuple(of for of in self.holes if of.is_blocked)

    @property
    def vents_lost(self) -> tuple[Hole, ...]:
        """Vents that the design doesn't leave as open as they were."""
        return tuple(of for of in self.holes if of.vent and not of.is_open)


@dataclass(frozen=True, kw_only=True)
class DesignWater:
    """All gaskets over a design."""

    deck: tuple[tuple[Loop, ...], ...]  # what is open at the deck, patch by patch
    deck_area: float  # [mm2]
    gaskets: tuple[GasketWater, ...]

    @cached_property
    def worst(self) -> GasketWater:
        """The gasket that keeps the smallest share of what it opens over the bare deck."""
        return min(self.gaskets, key=lambda of: of.open / of.bare if of.bare else 1.0)


def water_of(design: Any) -> DesignWater | None:
    """What gaskets open over a solved design; None where the case has none."""
    found: DesignWater | None = design.found.get("gasket")
    return found

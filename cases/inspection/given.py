"""What was found on a block, and the rules that its casting is accepted by."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.inspection.readings import Readings
from cases.inspection.walls import Measured, WallFit
from geometry import Block


@dataclass(frozen=True, kw_only=True, slots=True)
class FoundCrack:
    """A crack that was found on the block."""

    bore: int
    clock: float  # [h]
    depth: float  # [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class FoundCut:
    """What the readings at a relief cut of a bore say of where it stands."""

    bore: int
    cut: int  # place in the drawing's list
    clock: float  # [h]
    depth: float  # of the cut [mm]
    drawn: float  # wall at its root by the drawing [mm]
    off: float  # how much further out it stands [mm]
    error: float  # standard, of that [mm]
    readings: tuple[Measured, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class Rules:
    """What a customer accepts; None where it is not asked for."""

    least_wall: float | None = None  # as cast, away from relief cuts [mm]
    largest_shift: float | None = None  # [mm]
    least_hardness: float | None = None  # [HBW]
    repairs_cracks: bool = False  # else a crack rejects the casting


@dataclass(frozen=True, kw_only=True, slots=True)
class Inspection:
    """What a case states of its block as it was found, and what comes of it."""

    drawn: Block  # as the file states it
    depth: float  # at which the section takes its walls [mm]
    bore_as_found: float | None = None  # [mm]
    bore_to_make: float | None = None  # [mm]
    readings: Readings | None = None
    fits: tuple[WallFit, ...] = ()  # of bores with enough readings; walls outside the liner
    few: tuple[int, ...] = ()  # bores with readings that tell no wall, or with none
    cuts: tuple[FoundCut, ...] = ()
    liner: tuple[Measured, ...] = ()  # readings of the liner alone
    notes: tuple[str, ...] = ()  # what was read and does not count, and why
    cracks: tuple[FoundCrack, ...] = ()
    hardness: float | None = None  # [HBW]
    rules: Rules | None = None

    @property
    def bore(self) -> float:
        """Diameter of the bores as they are to be run. [mm]."""
        return self.bore_to_make or self.bore_as_found or self.drawn.bore

    @property
    def off_wall(self) -> float:
        """What boring takes off the barrel wall as it was read; nothing of a lined block. [mm]."""
        if self.drawn.liner:
            return 0.0
        return (self.bore - (self.bore_as_found or self.drawn.bore)) / 2

    @property
    def liner_left(self) -> float:
        """Wall of the liner in bores as they are to be run; 0 without. [mm]."""
        return self.drawn.liner_radius - self.bore / 2 if self.drawn.liner else 0.0

    def fit_of(self, bore: int) -> WallFit | None:
        """The wall of a bore by its readings, if they tell it."""
        return next((of for of in self.fits if of.bore == bore), None)


def inspection_given(case: Case) -> Inspection | None:
    """What a case states of its block as it was found; None where it was not inspected."""
    return case.given.get("inspection")

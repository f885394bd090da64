"""What an insert does at other interferences, and which of them to make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.rating.result import FitPoint, Window

if TYPE_CHECKING:
    from cases.life.given import InsertCompound
    from cases.stress.result import DesignResult


@dataclass(frozen=True, slots=True, kw_only=True)
class FitSweep:
    """A design at interferences from almost none up, heat held."""

    asked_um: float  # interference of the case, on the diameter
    per_side: bool  # whether the case states it on each side
    tolerance_um: float  # of the case, to either side
    flattened_um: float  # what roughness takes off, on the diameter
    most_out_of_round_um: float  # that the press may leave
    ring_mm: float | None  # diameter that a round insert is fitted on; None for pieces
    rated: bool  # whether limits were sought
    points: tuple[FitPoint, ...]  # by interference, rising
    one_piece: float | None  # limit with insert and block one piece; None by the solid
    unsolved: tuple[str, ...]  # fits that could not be solved, in words
    by_solid: bool = False  # whether each fit is solved by the solid, else by the section
    compound: InsertCompound | None = None  # in its joint

    @property
    def asked(self) -> FitPoint:
        """The design as the case has it."""
        return min(self.points, key=lambda one: abs(one.interference_um - self.asked_um))


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAdvice:
    """Which interference to make, and what it is worth."""

    window: Window | None  # None where no interference will do
    why_none: str  # in words; empty where one will do
    cure: str  # what would change it
    limit_at_nominal: float | None  # as told of a design with its tolerance
    limit_at_nominal_error: float | None
    best_um: float | None  # interference of the highest limit that is not ruled out
    limit_best: float | None
    limit_bare: float | None  # None where the case has no bare design, or it has no limit
    milled_um: float  # spread of the interference that milling leaves, from end to end
    iso: str | None  # nearest ISO 286 fit of a ring, such as "H7/p6"
    iso_least_um: float | None  # interference of that fit
    iso_most_um: float | None
    inside: bool  # whether the asked interference, its tolerance apart, lies in the window
    at_most: bool = False  # whether the limits may be less, as that of the stated fit has no bound

    @property
    def match_machine(self) -> bool:
        """Whether milling to size leaves more than the window, so that a piece is cut to match."""
        return self.window is not None and self.window.total_um < self.milled_um


def sweep_of(design: DesignResult) -> FitSweep | None:
    """What a design does at other interferences; None where none is common to its sides."""
    return design.found.get("fit")

"""What an insert does at other interferences, and which of them to make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.life.steps import LoadStep

if TYPE_CHECKING:
    from cases.stress.result import DesignResult


@dataclass(frozen=True, slots=True, kw_only=True)
class FitPoint:
    """A design at one interference."""

    interference_um: float  # on the diameter
    held: dict[LoadStep, float]  # least hold over what is asked, by step; empty where not asked
    over_yield: dict[LoadStep, float]  # share of yield that all but a tail of the block is below
    out_of_round_um: float  # of the bore when pressed in
    limit: float | None = None  # factor on the gas load; None where not found, or not sought
    limit_error: float = 0.0
    tried: float | None = None  # up to which no limit was found
    governs: str | None = None  # at the limit, such as "tie 12:20, fatigue, warm"

    @property
    def least_limit(self) -> float | None:
        """The limit, or how far none was found; None where none was sought."""
        return self.tried if self.limit is None else self.limit

    @property
    def least_held(self) -> float | None:
        """Least hold over what is asked in any step; None where it is not asked."""
        return min(self.held.values(), default=None)


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
    one_piece: float | None  # limit with insert and block one piece: no way to hold
    unsolved: tuple[str, ...]  # fits that could not be solved, in words
    by_solid: bool = False  # limits in proportion, so that the asked fit's is that of its solid

    @property
    def asked(self) -> FitPoint:
        """The design as the case has it."""
        return min(self.points, key=lambda one: abs(one.interference_um - self.asked_um))


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Interferences on the diameter that may be made."""

    low_um: float
    high_um: float
    low_by: str  # what forbids less
    high_by: str  # what forbids more

    @property
    def nominal_um(self) -> float:
        """The middle, so that as much may be missed to either side."""
        return (self.low_um + self.high_um) / 2

    @property
    def total_um(self) -> float:
        """The largest tolerance, from end to end."""
        return self.high_um - self.low_um


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAdvice:
    """Which interference to make, and what it is worth."""

    window: Window | None  # None where no interference will do
    why_none: str  # in words; empty where one will do
    cure: str  # what would change it
    limit_at_nominal: float | None
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

"""What a design stands, as it was found."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from cases.life.steps import EngineState, LoadStep
from cases.solid.result import SurfacePlace
from fea.hotspots import HotSpot

if TYPE_CHECKING:
    from cases.stress.result import DesignResult

FATIGUE, YIELD, TENSILE = KINDS = ("fatigue", "yield", "tensile strength")
"""Criteria, each for the warm and for the cold engine.

Fatigue and tensile strength are met where the first place meets them. Yield counts the stress that
the gas adds, and is met where all but ``TAIL`` of the block's metal stays below it. What fit and
heat make yield gives way once and takes nothing off the load at which metal gives way for good, nor
does a notch that yields at its root (the theorems of limit analysis: Drucker, Prager & Greenberg,
*Quart. Appl. Math.* 9 (1952) 381-389, from memory).
"""


FIT, LINER, WALLS, PRESSURE = "fit", "liner interference", "wall thickness", "gas pressure"
LENGTH = "critical distance"
"""Inputs that are drawn, besides strengths."""
SURFACE, DISTANCE = "surface", "critical distance"
"""What a place is judged by: its own stress, or the mean over 2L from it into the metal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedSpot:
    """A place, and the strength that is used there."""

    spot: HotSpot  # stress at gas, in the state that uses most
    state: EngineState
    kind: str  # of ``KINDS``: what is used most
    shares: dict[str, float]  # by kind
    mean_mpa: float
    amplitude_mpa: float
    reversed_mpa: float
    temperature_degc: float
    life_cycles: float
    judged_by: str  # ``SURFACE`` or ``DISTANCE``: what shares, mean and amplitude are of
    error_mpa: float  # numerical error of that stress
    length_mm: float | None = None  # critical distance L
    point_share: float | None = None  # that the stress at L/2 would use of the same strength
    been_degc: float | None = None  # of a cold place, what it is at when the engine is warm

    @property
    def share(self) -> float:
        """Of the strength that is used most."""
        return self.shares[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stands:
    """A gas load on a design, as far as it is known in other words."""

    factor: float  # on the gas load of the case
    pressure_mpa: float | None  # peak of the mean cycle, as a sensor reads it, factor and scatter
    # taken out; None where no engine gives it
    wall_mpa: float | None = None  # the same on the wall, both in it
    intake_mpa: float | None = None  # absolute
    boost_mpa: float | None = None
    power_kw: float | None = None
    error: float = 0.0  # that the factor may be off by: of the search, and of the stress there
    at_most: bool = False  # a steep place that counts has no bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """How far the limit is spread by what is not known exactly.

    Three values each: what 5, 50 and 95 % of the draws stay below; None where no engine gives it.
    A draw whose fit and heat alone use all of a strength counts as 0. Shifts are the limits with an
    input at its least, its middle and its most, all else at its middle, over the middle one.
    Draws of designs of a case are of the same block, one by one.
    """

    reliability: float  # share of the draws that carry the limit
    limit: float  # factor on the gas load that they carry
    carries: float  # share of the draws that carry the asked gas load

    draws: int
    factor: tuple[float, ...]  # on the gas load of the case
    pressure_mpa: tuple[float | None, ...]  # peak of the mean cycle, as a sensor reads it
    power_kw: tuple[float | None, ...]
    causes: dict[str, float]  # share of the spread by each input alone, the largest first
    shifts: dict[str, tuple[float, float, float]] = field(default_factory=dict)  # of fit and walls
    boost_mpa: tuple[float | None, ...] = (None, None, None)  # gauge
    known: dict[str, float] = field(default_factory=dict)  # limit with an input known, over this
    each: tuple[float, ...] = field(default=(), repr=False)  # factor that each draw carries


@dataclass(frozen=True, slots=True, kw_only=True)
class DepthSpot(SurfacePlace):
    """A place on the surface of a solid, and the strength that is used there."""

    crank_angle_deg: float | None  # None where the gas is static
    state: EngineState
    criterion: str  # of ``KINDS``: what is used most
    shares: dict[str, float]  # by kind
    principal_mpa: float  # largest principal stress at gas
    error_mpa: float  # numerical error of it
    mean_mpa: float
    amplitude_mpa: float
    temperature_degc: float
    life_cycles: float
    been_degc: float | None = None  # as of :class:`RatedSpot`


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedPlace(SurfacePlace):
    """A place on the surface of a solid that uses much of a strength."""

    share: float  # of the strength that is used most there
    state: EngineState
    crank_angle_deg: float | None  # None where the gas is static


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
    band: tuple[float, float] | None = None  # what 5 and 95 % of the draws stay below
    # limit of draws whose fit lies within the stated tolerance of this one; None where not drawn
    within: float | None = None

    @property
    def least_limit(self) -> float | None:
        """The limit, or how far none was found; None where none was sought."""
        return self.tried if self.limit is None else self.limit

    @property
    def told(self) -> float | None:
        """The limit within the stated tolerance of this fit, where it is drawn; else its own."""
        return self.least_limit if self.within is None else self.within

    @property
    def least_held(self) -> float | None:
        """Least hold over what is asked in any step; None where it is not asked."""
        return min(self.held.values(), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Interferences on the diameter that may be made."""

    low_um: float
    high_um: float
    low_by: str  # what forbids less
    high_by: str  # what forbids more
    # what each end may be off by, as fits between those that were solved are read; None: not told
    low_error_um: float | None = None
    high_error_um: float | None = None

    @property
    def nominal_um(self) -> float:
        """The middle, so that as much may be missed to either side."""
        return (self.low_um + self.high_um) / 2

    @property
    def total_um(self) -> float:
        """The largest tolerance, from end to end."""
        return self.high_um - self.low_um


@dataclass(frozen=True, slots=True, kw_only=True)
class SolidRating:
    """What a design stands by its solid, as it is made."""

    limit: Stands | None  # as of :class:`DesignRating`
    tried: float  # largest factor on the gas load that was solved
    governing: DepthSpot | None  # at the limit, or at the asked gas load where there is none
    yield_share: float  # that the asked gas uses of all but a tail of the block's metal
    life_cycles: dict[EngineState, float]  # by state, at the asked gas load; infinite: no harm
    life_hours: float | None = None  # as of :class:`DesignRating`
    nominal: Stands | None = None  # as of :class:`DesignRating`
    band: Band | None = None  # None without draws, or without a limit
    notes: tuple[str, ...] = ()
    pushed: float = 0.0  # as of :class:`DesignRating`
    places: tuple[UsedPlace, ...] = ()  # separate ones at that load, the governing one first
    # other fits, the asked one among them, interference rising; none where none was solved
    fits: tuple[FitPoint, ...] = ()
    unsolved: tuple[str, ...] = ()  # fits that could not be solved, in words
    untold: bool = False  # whether there is no limit as a gas load could not be solved


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignRating:
    """What one design stands, by the case's criteria: an estimate."""

    # that the wanted share of the draws carry, the nominal one without draws; None where no
    # criterion is met up to ``tried``
    limit: Stands | None
    tried: float  # largest factor on the gas load that was solved
    governing: RatedSpot | None  # at the limit, or at the asked gas load where there is none
    used_at_limit: dict[str, float]  # share by criterion and state, "fatigue, warm"
    used: dict[str, float]  # the same at the asked gas load
    life_cycles: dict[EngineState, float]  # by state, at the asked gas load; infinite where no harm
    life_hours: float | None  # warm (cold without heat), at the speed; None where it is not known
    spots: tuple[RatedSpot, ...]  # at the asked gas load, most used first
    band: Band | None  # None without draws, or without a limit
    notes: tuple[str, ...]
    # the limit with all that is drawn at its middle, where it is not the one that is told
    nominal: Stands | None = None
    unsolved: str = ""  # why there is no limit, where a gas load could not be solved
    # by a bore beside at the place that governs, over what its own gas pulls there
    pushed: float = 0.0
    solid: SolidRating | None = None  # None where the solid was not solved as the design is made

    @property
    def stands(self) -> Stands | None:
        """The limit that is told: by the solid where there is one."""
        return self.solid.limit if self.solid else self.limit

    @property
    def told_band(self) -> Band | None:
        """The band of that limit."""
        return self.solid.band if self.solid else self.band


def is_rated(design: DesignResult) -> bool:
    """Whether a design has a rating."""
    return "rating" in design.found


def rating_of(design: DesignResult) -> DesignRating:
    """The rating of a design that has one."""
    return design.found["rating"]  # type: ignore[no-any-return]

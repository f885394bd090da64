"""What a head does to a design."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.base.faults import Refusal
from cases.head.clamp import Clamp
from fea.bore import BoreShape
from fea.hotspots import HotSpot

if TYPE_CHECKING:
    from cases.stress.result import DesignResult


FREE, FRICTION, HELD = WAYS = ("free", "by friction", "face held")
"""How the deck is held in its plane; the first is the section of all other chapters."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class DeckState:
    """The section at the asked gas, its deck held in one way, cold and in one piece."""

    worst: HotSpot | None  # of the block's own metal
    bore: BoreShape

    @property
    def worst_mpa(self) -> float:
        """Its stress; not a number where there is none. [MPa]."""
        return self.worst.principal_mpa if self.worst else float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressed:
    """What the gasket does to an insert."""

    area_mm2: float  # that it lies on
    down_n: float  # with which it presses the insert into the jacket
    water_n: float  # with which the coolant lifts it
    friction_n: float  # that it bears sideways, beside the fit
    hold_n: float | None  # least of its own in any load step, all pieces; None without a fit
    hold_step: str  # in which that is

    @property
    def wanting_n(self) -> float | None:
        """Load down beyond what the fit holds; None without a fit. [N]."""
        return None if self.hold_n is None else max(0.0, self.down_n - self.water_n - self.hold_n)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointStep:
    """Step across one side of a joint where it comes up to the deck."""

    part: str
    against: str
    step_um: float  # the largest; part above what it stands against, < 0 below
    clock: str  # where
    mean_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeckLoad:
    """Heights of the deck of a solid in one state, from where it was machined, cold and bare."""

    name: str
    ring_sag_um: float  # fire ring's seat below the rest of the gasket's, in the mean; < 0 above
    ring_uneven_um: float  # highest part of the fire ring's turn less its lowest
    steps: tuple[JointStep, ...]  # none where the solid is in one piece


@dataclass(frozen=True, slots=True, kw_only=True)
class DeckInDepth:
    """What a head does to a solid as it is made."""

    engine: str  # warm, or cold where there is no heat
    step_allowed_um: float  # that the gasket takes
    loads: tuple[DeckLoad, ...]  # without head, clamped, at gas
    worst_mpa: Mapping[str, float]  # of the block's own metal at the peak of the gas, by deck
    friction_used: float  # share of the friction at hand
    insert_gives_way: bool = False  # the gasket would push it down; told with none on it

    @property
    def largest_step(self) -> tuple[DeckLoad, JointStep] | None:
        """The largest step of any state; None where there is no joint."""
        steps = [(load, step) for load in self.loads for step in load.steps]
        return max(steps, key=lambda one: abs(one[1].step_um), default=None)

    @property
    def loses_seal(self) -> bool:
        """Whether a step is larger than the gasket takes, or the insert is pushed down."""
        largest = self.largest_step
        too_large = largest is not None and abs(largest[1].step_um) > self.step_allowed_um
        return too_large or self.insert_gives_way


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class DesignHead:
    """What a head does to one design: estimates and bounds of the section."""

    clamp: Clamp
    land_area_mm2: float  # that the gasket lies on outside the fire rings, all of the block
    land_pressure_mpa: float
    ring_friction_n_per_mm: float  # around the fire ring, at the asked gas
    states: Mapping[str, DeckState]  # by ``WAYS``
    slips: float  # share of the friction at hand that is used up, at the asked gas
    wall_mpa: Mapping[str, float]  # axial stress of the barrel's wall by part, no gas
    wall_at_gas_mpa: Mapping[str, float]  # the same at the asked gas
    von_mises_mpa: float | None  # at the worst place of the free deck, recovered there
    clamped_von_mises_mpa: float | None  # the same with the axial stress across the plane
    most_growth_um: float  # that clamping may add to the mean of the bore
    pressed: Pressed | None  # None without an insert
    in_depth: DeckInDepth | Refusal | None = None  # None where no solid is solved as it is made

    def worst_change(self, way: str) -> float:
        """Worst stress of the block against the free deck, as a share; not a number without."""
        return self.states[way].worst_mpa / self.states[FREE].worst_mpa - 1

    def limit_change(self, way: str) -> float:
        """What that does to the limit, taken as inversely proportional to the worst stress."""
        return self.states[FREE].worst_mpa / self.states[way].worst_mpa - 1


def head_of(design: DesignResult) -> DesignHead | None:
    """What a head does to a solved design; None where the case has none, or it wasn't found."""
    found = design.found.get("head")
    return None if isinstance(found, Refusal) else found

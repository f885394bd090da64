"""What the load steps of a design did, and what follows from them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.life.steps import TAIL, LoadStep
from fea.bore import BoreShape
from fea.contact import Contact, Pairs
from fea.heat import HeatField
from fea.hotspots import HotSpot
from fea.model import Solution
from fea.stress import LayerStress
from geometry.section_mesh import SectionMesh

if TYPE_CHECKING:
    from cases.stress.result import DesignResult


YIELD, OUT_OF_ROUND = "yield", "out of round"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideState:
    """One side of the insert in one step."""

    against: str  # "barrel", "outer wall" or "tie"
    bonded: bool
    open_share: float  # of its area
    slip_share: float  # of its area, of what touches and slides
    intact_share: float  # of its area, of compound with strength left
    broken_share: float  # of its area, of compound that is used up
    mean_pressure_mpa: float  # over all of its area
    largest_pressure_mpa: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceState:
    """One piece of the insert in one step; ties part it into several."""

    bore: int  # nearest bore, from 1
    clock: str  # of its middle, about that bore
    clock_hours: float
    pressing_force_n: float  # of all sides together
    hold_n: float  # against being pushed out along the bore: friction and compound, no bond
    open_share: float


@dataclass(frozen=True, eq=False, kw_only=True)
class JointState:
    """The joint of the insert in one step."""

    contact: Contact
    iterations: int
    open_share: float
    slip_share: float  # of the whole area, of what touches and slides
    intact_share: float  # of the whole area, of compound with strength left
    broken_share: float  # of the whole area, of compound that is used up
    sides: tuple[SideState, ...]
    pieces: tuple[PieceState, ...]
    tie_faces: tuple[TieFace, ...]

    @property
    def bonded(self) -> bool:
        """Whether a side is bonded, so that friction is not all that holds."""
        return any(side.bonded for side in self.sides)

    @property
    def hold_n(self) -> float:
        """Hold of all pieces together. [N]."""
        return sum(piece.hold_n for piece in self.pieces)

    @property
    def least_hold_n(self) -> float:
        """Hold of the piece that has least. [N]."""
        return min(piece.hold_n for piece in self.pieces)


@dataclass(frozen=True, eq=False, kw_only=True)
class SolvedStep:
    """What one load step of a design did."""

    name: LoadStep
    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]
    bore: BoreShape  # from the honed circle on; when pressed in, from the drawing
    joint: JointState | None  # None where the insert is one with the block, or absent
    over_yield: float  # von Mises stress of the block, but for ``TAIL``, over its yield strength
    ring: RingFollow | None  # after the hone, where the case states a piston ring


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotRange:
    """What gas makes of a hot spot, warm where there is heat: the cycle that fatigue sees.

    Stress is that in the direction of the largest principal stress in the step that it is hot in.
    """

    spot: HotSpot  # as it is in that step
    hot_in: LoadStep  # at gas, or without for what is hot there only
    idle_mpa: float  # with no gas
    gas_mpa: float

    @property
    def range_mpa(self) -> float:
        """Largest less smallest stress of the cycle. [MPa]."""
        return abs(self.gas_mpa - self.idle_mpa)

    @property
    def mean_mpa(self) -> float:
        """Middle of the cycle. [MPa]."""
        return (self.gas_mpa + self.idle_mpa) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class RingFollow:
    """Whether a piston ring can follow a bore, order by order and all together."""

    largest_um: dict[str, float]  # amplitude that the ring can follow, by order
    leaking: tuple[str, ...]  # orders whose amplitude is larger
    least_pressure: float  # smallest wall pressure over the mean, all orders together; < 0 leaks


@dataclass(frozen=True, eq=False, kw_only=True)
class Service:
    """The load steps of a design, and what follows from them."""

    mesh: SectionMesh
    pairs: Pairs | None
    heat: HeatField | None
    steps: tuple[SolvedStep, ...]
    ranges: tuple[SpotRange, ...]
    advice: FitAdvice | None  # None where no common interference decides what holds
    notes: tuple[str, ...]

    def step(self, name: LoadStep) -> SolvedStep | None:
        """What a load step did, if it was solved."""
        return next((step for step in self.steps if step.name == name), None)


def is_lived(design: DesignResult) -> bool:
    """Whether a design has load steps."""
    return design.found.get("life") is not None


def service_of(design: DesignResult) -> Service:
    """The load steps of a design that has them."""
    return design.found["life"]  # type: ignore[no-any-return]


@dataclass(frozen=True, slots=True, kw_only=True)
class TieFace:
    """One side of a tie in one step."""

    bore: int  # that has the tie, from 1
    clock: str  # of the tie's middle, about that bore
    clock_hours: float
    side: str  # "before" the tie as hours run, or "past" it
    area_mm2: float  # that the insert stands against
    mean_pressure_mpa: float  # over all of it
    open_share: float  # of it

    @property
    def name(self) -> str:
        """Side and clock position, such as ``past 10:53``."""
        return f"{self.side} {self.clock}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAdvice:
    """Between which interferences an insert neither comes loose nor asks too much of the block.

    Interferences are on the diameter, as machined: the tolerance is already taken off on both
    sides. Between solved fits hold and share of yield are taken as linear. Here yield counts the
    whole stress, of fit and heat too, in every step: metal that yields does not fail by that, but
    it gives up interference and roundness.
    """

    least_um: float | None  # None where none up to ``searched_um`` holds every piece
    searched_um: float
    least_step: LoadStep  # in which the insert would come loose first
    most_um: float | None  # None where no limit is met up to ``searched_um``
    most_by: str  # ``YIELD`` or ``OUT_OF_ROUND``
    most_step: LoadStep  # in which it is met first
    yields_anyway: dict[LoadStep, float]  # share of steps that yield with almost no press
    yield_leaves_out: float = TAIL  # share of the block's metal that may be stressed higher

    @property
    def empty(self) -> bool:
        """Whether no interference meets both ends."""
        return self.least_um is None or (self.most_um is not None and self.least_um > self.most_um)

"""What the load steps of a design did, and what follows from them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.life.flags import Flag
from cases.life.steps import LoadStep
from fea.bore import BoreShape
from fea.contact import Contact, Pairs
from fea.heat import HeatField
from fea.hotspots import HotSpot
from fea.model import Solution
from fea.stress import LayerStress
from geometry.section_mesh import SectionMesh

if TYPE_CHECKING:
    from cases.stress.result import DesignResult


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece of an insert."""

    number: int  # by bore, then in clock order, from 1
    body: int  # its number among the bodies of the mesh
    bore: int  # nearest to its middle, from 1
    clock: str  # of its middle, about that bore
    clock_hours: float
    length_mm: float  # along the middle of the jacket, water slots within it counted
    mass_g: float | None  # None where the density of its material is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class SideState:
    """One side of the insert in one step, its stretch about the bore that fires."""

    against: str  # "barrel", "outer wall" or "tie"
    bonded: bool
    open_share: float  # of its area
    slip_share: float  # of its area, of what touches and slides
    intact_share: float  # of its area, of compound with strength left
    broken_share: float  # of its area, of compound that is used up
    mean_pressure_mpa: float  # over all of its area
    largest_pressure_mpa: float
    largest_slip_um: float  # of what touches
    open_share_error: float | None = None  # change from the mesh before; None where there is none
    mean_pressure_error_mpa: float | None = None  # the same
    largest_pressure_error_mpa: float | None = None  # the same; at the end of a joint it may grow


@dataclass(frozen=True, slots=True, kw_only=True)
class CutState:
    """The stretch of the barrel's side of a joint that a relief cut has thinned, in one step."""

    bore: int  # that has the cut, from 1
    clock: str  # of the cut, about that bore
    clock_hours: float
    bonded: bool
    open_share: float  # of its area
    slip_share: float  # of its area, of what touches and slides
    mean_pressure_mpa: float  # over all of its area
    largest_pressure_mpa: float
    largest_slip_um: float  # of what touches
    open_share_error: float | None = None  # change from the mesh before; None where there is none
    mean_pressure_error_mpa: float | None = None  # the same
    largest_pressure_error_mpa: float | None = None  # the same


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceState:
    """One piece of the insert in one step; ties part it into several."""

    number: int  # by bore, then in clock order, from 1
    bore: int  # nearest bore, from 1
    clock: str  # of its middle, about that bore
    clock_hours: float
    pressing_force_n: float  # of all sides together
    hold_n: float  # against being pushed out along the bore: friction and compound, no bond
    asked_hold_n: float  # that it must keep
    open_share: float


@dataclass(frozen=True, eq=False, kw_only=True)
class JointState:
    """The joint of the insert in one step; its shares are of the area about the bore that fires."""

    contact: Contact
    iterations: int
    open_share: float
    slip_share: float  # of what touches and slides
    intact_share: float  # of compound with strength left
    broken_share: float  # of compound that is used up
    sides: tuple[SideState, ...]
    cuts: tuple[CutState, ...]
    pieces: tuple[PieceState, ...]
    tie_faces: tuple[TieFace, ...]
    open_share_error: float | None = None  # change from the mesh before; None where there is none

    @property
    def touches(self) -> bool:
        """Whether the insert touches the block anywhere."""
        return bool(self.contact.closed.any())

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

    @property
    def held_share(self) -> float:
        """Least hold over what is asked of a piece; infinite where nothing is."""
        return min(
            (piece.hold_n / piece.asked_hold_n for piece in self.pieces if piece.asked_hold_n),
            default=math.inf,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LinerState:
    """The joint of one liner in one step."""

    bore: int  # from 1
    open_share: float  # of its area
    slip_share: float  # of its area, of what touches and slides
    mean_pressure_mpa: float  # over all of its area
    largest_pressure_mpa: float
    largest_gap_um: float  # on the radius


@dataclass(frozen=True, eq=False, kw_only=True)
class SolvedStep:
    """What one load step of a design did."""

    name: LoadStep
    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]
    bore: BoreShape  # from the honed circle on; when pressed in, from the bore before
    joint: JointState | None  # None where the insert is one with the block, or absent
    liners: tuple[LinerState, ...]  # by bore; empty where they are one with the block, or absent
    over_yield: float  # von Mises stress of the block, but for ``TAIL``, over its yield strength
    ring: RingFollow | None  # after the hone, where the case states a piston ring


@dataclass(frozen=True, slots=True, kw_only=True)
class SpotRange:
    """What gas makes of a hot spot, warm where there is heat: the cycle that fatigue sees.

    It is the range over all firings, of the bores beside too. Stress is that in the direction of
    the largest principal stress in the step that it is hot in.
    """

    spot: HotSpot  # as it is in that step
    hot_in: LoadStep  # at gas, or without for what is hot there only
    idle_mpa: float  # with no gas
    gas_mpa: float
    beside_mpa: float | None = None  # the least while a bore beside fires; None without one

    @property
    def range_mpa(self) -> float:
        """Largest less smallest stress of the cycle. [MPa]."""
        return max(self._ends) - min(self._ends)

    @property
    def mean_mpa(self) -> float:
        """Middle of the cycle. [MPa]."""
        return (max(self._ends) + min(self._ends)) / 2

    @property
    def _ends(self) -> tuple[float, ...]:
        own = self.idle_mpa, self.gas_mpa
        return own if self.beside_mpa is None else (*own, self.beside_mpa)


@dataclass(frozen=True, slots=True, kw_only=True)
class RingFollow:
    """Whether a piston ring can follow a bore, order by order and all together."""

    largest_um: dict[str, float]  # amplitude that the ring can follow, by order
    leaking: tuple[str, ...]  # orders whose amplitude is larger
    least_pressure: float  # smallest wall pressure over the mean, all orders together; < 0 leaks
    least_pressure_with_gas: float | None  # the same with the gas of a step behind the ring


@dataclass(frozen=True, eq=False, kw_only=True)
class Service:
    """The load steps of a design, and what follows from them."""

    mesh: SectionMesh
    pairs: Pairs | None
    heat: HeatField | None
    steps: tuple[SolvedStep, ...]
    ranges: tuple[SpotRange, ...]
    pieces: tuple[Piece, ...]  # of a fitted insert, by number
    notes: tuple[str, ...]
    unknowns: tuple[int, ...] = ()  # of each mesh that its steps were solved on, the last counts
    flags: tuple[Flag, ...] = ()  # of its heat

    def step(self, name: LoadStep) -> SolvedStep | None:
        """What a load step did, if it was solved."""
        return next((step for step in self.steps if step.name == name), None)


def flags_of(design: DesignResult) -> tuple[Flag, ...]:
    """What no one may miss of the heat of a design: by its solid where that was heated too."""
    told = getattr(design.found.get("solid"), "flags", None)
    if told is None:
        return service_of(design).flags if is_lived(design) else ()
    return told  # type: ignore[no-any-return]


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

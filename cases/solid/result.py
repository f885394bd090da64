"""What was found of the solid of a design."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import Refusal
from cases.base.parts import PARENT_PARTS

if TYPE_CHECKING:
    from cases.life.flags import Flag
    from cases.solid.given import Setting
    from cases.solid.hot import DepthHeat
    from fea.solid.equilibrium import SolidChecks
    from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

OWN_PARTS = (*PARENT_PARTS, "floor")
"""Parts of the block's own metal; the floor is that of the jacket."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SurfacePlace:
    """A place on the surface of a solid."""

    part: str
    clock: str
    clock_hours: float  # [h]
    radius_mm: float
    x_mm: float
    y_mm: float
    depth_mm: float  # below the deck


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidSpot(SurfacePlace):
    """A place where a part is pulled hardest, at the crank angle that is worst for it."""

    principal_mpa: float  # largest principal stress
    error_mpa: float  # numerical error to reckon with
    sharp: bool  # at an edge where stress has no finite value: not to be rated by
    settled: bool  # error within what the setting promises
    crank_angle_deg: float | None  # None where the gas is static
    section_mpa: float | None  # largest principal stress of the section here; None: not this part

    @property
    def ratio(self) -> float | None:
        """Stress over that of the section at this clock position and part."""
        return self.principal_mpa / self.section_mpa if self.section_mpa else None


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidSide:
    """One side of a joint in a step, about the bore that fires."""

    step: str
    part: str  # the piece of its own
    against: str
    pressing_force_n: float  # that presses the two together
    open_share: float  # of its area
    slip_um: float  # largest, of what touches


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class PartField:
    """Largest principal stress of a part over all crank angles, node by node.

    Attributes
    ----------
    nodes : ndarray of int, shape (k,)
        Of the mesh.
    principal : ndarray, shape (k,)
        At the crank angle that is worst for each. [MPa]
    angle : ndarray of int, shape (k,)
        Place of that angle among those solved.
    stress : ndarray, shape (6, k)
        sxx, syy, szz, sxy, syz, szx at it. [MPa]
    """

    part: str
    nodes: Integers
    principal: Array
    angle: Integers
    stress: Array


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class SolidState:
    """A solid in one state, under gas at every crank angle that counts.

    Attributes
    ----------
    worst : tuple of SolidSpot
        Separate spots, worst first, sharp ones last.
    angles_deg : tuple of float
        Crank angles that were solved; empty where the gas is static.
    growth_um : ndarray, shape (360,)
        Outward, of the bore's edge at the deck, at the crank angle of the governing spot. [um]
    growth_crank_angle_deg : float or None
    growth_by_depth : ndarray, shape (d, 360)
        The same down the bore. [um]
    shift_um : float
        By how much the bore's edge at the deck moves aside as a whole. [um]
    depth_mm : ndarray, shape (d,)
        Of those. [mm]
    fields : tuple of PartField
    idle : tuple of ndarray, shape (6, k)
        Stress at the nodes of each field with no gas; empty where there is none then. [MPa]
    displacement : ndarray, shape (n, 3)
        At that crank angle. [mm]
    unknowns : int
    seconds : float
        On the clock, mesh included. [s]
    checks : SolidChecks
        Self-checks that it passed, at that crank angle.
    joint : tuple of SolidSide
        Step by step, with gas at the crank angle of the governing spot; empty in one piece.
    pressed_by_depth : ndarray, shape (d, 360), optional
        Growth of the bore by the press of the insert, before it is honed, from the bore with its
        liner in; None in one piece. [um]
    """

    worst: tuple[SolidSpot, ...]
    angles_deg: tuple[float, ...]
    growth_um: Array
    growth_crank_angle_deg: float | None
    growth_by_depth: Array
    shift_um: float
    depth_mm: Array
    mesh: SolidMesh
    fields: tuple[PartField, ...]
    displacement: Array
    unknowns: int
    seconds: float
    checks: SolidChecks
    idle: tuple[Array, ...] = ()
    joint: tuple[SolidSide, ...] = ()
    pressed_by_depth: Array | None = None

    @property
    def governing(self) -> SolidSpot | None:
        """The worst spot of the block's own metal that is not sharp; None if none is pulled."""
        return governing_of(self.worst)

    @property
    def ratio(self) -> float | None:
        """Stress of the governing spot over the section's there; None without a section."""
        spot = self.governing
        return spot.ratio if spot else None


def governing_of(spots: Iterable[SolidSpot]) -> SolidSpot | None:
    """The worst of the block's own metal that is not sharp; None if none is pulled."""
    own = (spot for spot in spots if spot.part in OWN_PARTS and not spot.sharp)
    return max(own, key=lambda spot: spot.principal_mpa, default=None)


@dataclass(frozen=True, kw_only=True, eq=False, slots=True)
class DesignSolid:
    """The solid of one design."""

    name: str
    setting: Setting
    # at 20 degC, every insert one piece with the block; None where only a limit is asked for
    one_piece: SolidState | None = None
    as_made: SolidState | None = None  # fitted where the design is, warm where the case has heat
    heat: DepthHeat | None = None  # warm at the asked load; None where it is not solved so
    untold: str = ""  # why it is not solved as it is made, where that was asked for

    @property
    def flags(self) -> tuple[Flag, ...] | None:
        """What no one may miss of its heat; None where that is not solved in depth."""
        return self.heat.flags if self.heat else None

    @property
    def shown(self) -> SolidState:
        """The state in which designs are set against each other: one piece, where it was solved."""
        state = self.one_piece or self.as_made
        assert state is not None
        return state

    @property
    def ratio(self) -> float | None:
        """Worst stress of the block's own metal over the section's there, cold and in one piece."""
        return self.one_piece.ratio if self.one_piece else None


def solid_of(design: Any) -> DesignSolid | None:
    """The solid of a solved design; None where there is none or it was refused."""
    found = design.found.get("solid")
    return found if isinstance(found, DesignSolid) else None


def refused_of(design: Any) -> Refusal | None:
    """Why a solved design has no solid."""
    found = design.found.get("solid")
    return found if isinstance(found, Refusal) else None

"""How an insert is fitted, what heats the block, the ring that follows the bore."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from cases.case import Case

LEAST_HOLD = 100.0
"""Hold that every piece keeps: some 0.2 kg shaken at 50 g (common practice, no source). [N]."""
MOST_OUT_OF_ROUND = 0.03
"""Out-of-round that the press may leave for the hone (common practice, no source). [mm]."""

LIGHT = 0.1
"""Interference on the diameter up to which a press is light and needs no look ahead. [mm]."""


SIDE_PARTS = {"barrel": "barrel", "outer_wall": "outer wall", "ties": "tie"}
"""Key in a case file and the part that this side of the insert stands against."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SideFit:
    """The fit of one side of an insert at 20 degC."""

    interference: float = 0.0  # on the diameter, or on both ends together; < 0 is clearance [mm]
    friction: float = 0.0  # Coulomb's coefficient
    bonded: bool = False  # brazed or glued: neither opens nor slides
    friction_left_out: bool = field(default=False, compare=False)  # by the case


@dataclass(frozen=True, kw_only=True, slots=True)
class InsertCompound:
    """What is wet in the joint while an insert is pressed in, and cures there."""

    tension: tuple[tuple[float, float], ...]  # tensile strength [MPa] by temperature [degC]
    shear: tuple[tuple[float, float], ...]  # shear strength, the same
    largest_gap: float  # of a side that it fills [mm]
    friction: float  # Coulomb's coefficient with it in the joint, wet or broken


@dataclass(frozen=True, kw_only=True, slots=True)
class InsertFit:
    """The fit of an insert.

    ``interference`` is that of the sides in ``pressed``, which is what a change of the fit
    changes; the other sides keep their own.
    """

    sides: Mapping[str, SideFit]  # by the part that they stand against
    pressed: tuple[str, ...]  # those with the fit's common interference
    tolerance: float = 0.0  # the interference may be this much more or less [mm]
    least_hold: float = LEAST_HOLD  # [N]
    most_out_of_round: float = MOST_OUT_OF_ROUND  # of the bore when pressed in [mm]
    compound: InsertCompound | None = None  # in the sides that are not bonded
    left_out: frozenset[str] = field(default=frozenset(), compare=False)  # keys not in the case

    @property
    def interference(self) -> float | None:
        """Common interference on the diameter; None where no side has it. [mm]."""
        return self.sides[self.pressed[0]].interference if self.pressed else None

    def with_interference(self, interference: float) -> InsertFit:
        """The same fit with another common interference [mm]."""
        changed = {
            part: replace(side, interference=interference) if part in self.pressed else side
            for part, side in self.sides.items()
        }
        return replace(self, sides=changed)


@dataclass(frozen=True, kw_only=True, slots=True)
class Heat:
    """What brings heat to the block and takes it away; None passes none."""

    gas: (
        tuple[float, float] | float | None
    )  # None: the engine's; film [W/(mm2 K)] and temperature [degC], or flux [W/mm2]
    coolant: tuple[float, float] | None = None
    head: tuple[float, float] | None = None
    outside: tuple[float, float] | None = None
    joint_conductance: float | None = None  # between insert and block [W/(mm2 K)]
    liner_conductance: float | None = None  # None where the liner is one with the barrel


@dataclass(frozen=True, kw_only=True, slots=True)
class PistonRing:
    """A piston ring, as far as it decides which bore it can follow."""

    radial_width: float  # [mm]
    axial_height: float  # [mm]
    youngs_modulus: float  # [MPa]
    tangential_force: float  # that closes its gap [N]


@dataclass(frozen=True, kw_only=True, slots=True)
class LifeInput:
    """What a case states of the life of its designs."""

    fits: Mapping[str, InsertFit] = field(default_factory=dict)  # by design; else one piece
    heat: Heat | None = None
    piston_ring: PistonRing | None = None
    liner_interference: float | None = None  # on the diameter, at 20 degC; None: not known [mm]

    @property
    def fitted(self) -> bool:
        """Whether any design's insert is a piece of its own."""
        return bool(self.fits)

    @property
    def has_steps(self) -> bool:
        """Whether there is fit or heat, of insert or liner, so that a life has steps."""
        return self.heat is not None or self.fitted or self.liner_interference is not None


def life_given(case: Case) -> LifeInput:
    """What a case states of the life of its designs."""
    return case.given.get("life", _NOTHING)  # type: ignore[no-any-return]


_NOTHING = LifeInput()


def under_gas_alone(case: Case) -> Case:
    """The case at 20 degC, insert and block one piece: no load steps."""
    return case.told("life", LifeInput())

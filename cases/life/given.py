"""How an insert is fitted, what heats the block, the ring that follows the bore."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from cases.case import Case, Design
from cases.coolant.given import CoolantInput

Array = NDArray[np.float64]

VIBRATION = 50.0
"""Shaking that a piece is held against, in gravities (common practice, no source)."""
GRAVITY = 9.80665  # standard, CGPM 1901 [m/s2]
UNWEIGHED_HOLD = 100.0
"""Hold that a piece of unknown density keeps: some 0.2 kg shaken at 50 g (common practice, no
source). [N]."""
FLATTENED = 0.8
"""What a press flattens of the roughness Rz of both faces together, on the diameter (DIN 7190, from
memory). Public manuals say that part 1 of 2017 takes 0.4, earlier editions 0.8; the larger is kept,
as what is lost loosens."""
DEPOSIT = 1e-3
"""Conductivity of what the burn leaves on metal (from memory: 0.2 to 2 W/(m K)). [W/(mm K)]."""
HOTTER = 0.1
"""What a section that lets no heat down the barrel is at most hotter by, in the mean around its
bore, than the solid's mean over its depth, as a share of the bore's rise above the coolant:
measured 0.03 on the bundled block (3 K, 6 K at the bridges), 0.09 on a short one without a head."""
MOST_OUT_OF_ROUND = 0.03
"""Out-of-round that the press may leave for the hone (common practice, no source). [mm]."""

LIGHT = 0.1
"""Interference on the diameter up to which a press is light and needs no look ahead. [mm]."""


CAST_IN, PRESSED_IN, SLIP = "cast in", "pressed", "slip"
"""How a liner is held: it has a key in the metal cast around it, and can't open; or it is a piece
of its own, held by a press, or loose until the gas presses it on."""
LINER_FRICTION = 0.0
"""A round joint bears gas and press without friction, which moves shear alone (common practice, no
source); with 0.15, of dry iron on aluminium, what touches is hard to find in a bank."""

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

    def times(self, share: float) -> InsertCompound:
        """The same with a share of its strengths."""
        tension, shear = (
            tuple((at, share * strength) for at, strength in points)
            for points in (self.tension, self.shear)
        )
        return replace(self, tension=tension, shear=shear)


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredPiece:
    """A piece of an insert whose own sizes are known."""

    number: int
    outline: tuple[tuple[float, float], ...]  # places x, y on its outline [mm]
    sides: Mapping[str, float]  # interference by part, as of a side [mm]


@dataclass(frozen=True, kw_only=True, slots=True)
class MoreByPiece:
    """Overlap of each piece of an insert beside that of all, at places of its joint."""

    outlines: tuple[tuple[tuple[float, float], ...], ...]
    more: tuple[float, ...]  # [mm]

    def __call__(self, places: Array) -> Array:
        """Of the piece whose outline is nearest, shape (k,). [mm].

        Parameters
        ----------
        places : ndarray, shape (k, 2)
            [mm]
        """
        from scipy.spatial import cKDTree

        points = np.concatenate(self.outlines)
        whose = np.repeat(np.arange(len(self.more)), [len(of) for of in self.outlines])
        _, near = cKDTree(points).query(places)
        return np.asarray(np.array(self.more)[whose[near]])


@dataclass(frozen=True, kw_only=True, slots=True)
class InsertFit:
    """The fit of an insert.

    ``interference`` is that of the sides in ``pressed`` or, where nothing is, in ``filled``: that
    is what a change of the fit changes; the other sides keep their own.
    """

    sides: Mapping[str, SideFit]  # by the part that they stand against
    pressed: tuple[str, ...]  # those with the fit's common interference
    tolerance: float = 0.0  # the interference may be this much more or less [mm]
    per_side: bool = False  # whether the case states its interference on each side
    roughness: tuple[float, float] | None = None  # Rz of the insert's and the block's faces [mm]
    press_creep: float = 0.0  # share of what presses that hours hot take off
    vibration: float = VIBRATION  # that every piece is held against, in gravities
    least_hold: float | None = None  # that every piece keeps whatever its mass [N]
    most_out_of_round: float = MOST_OUT_OF_ROUND  # of the bore when pressed in [mm]
    compound: InsertCompound | None = None  # in the sides that are not bonded
    filled: tuple[str, ...] = ()  # those with a common clearance, or none: compound fills it
    pieces: tuple[MeasuredPiece, ...] = ()  # whose own sizes are known
    left_out: frozenset[str] = field(default=frozenset(), compare=False)  # keys not in the case

    @property
    def common(self) -> tuple[str, ...]:
        """Sides with the common interference."""
        return self.pressed or self.filled

    @property
    def interference(self) -> float | None:
        """Common interference on the diameter, < 0 a clearance; None where no side has it. [mm]."""
        return self.sides[self.common[0]].interference if self.common else None

    @property
    def swept(self) -> bool:
        """Whether other interferences are looked at: of what is pressed, or filled by compound."""
        return bool(self.filled) or (self.interference or 0.0) > 0

    @property
    def holds(self) -> bool:
        """Whether any side has friction, without which nothing holds and hold is not asked."""
        return any(side.friction > 0 for side in self.sides.values())

    @property
    def flattened(self) -> float:
        """What the press loses to roughness, on the diameter; 0 where none is stated. [mm]."""
        return FLATTENED * sum(self.roughness or ())

    def pressing(
        self, part: str, *, crept: bool = False, interference: float | None = None
    ) -> float:
        """What presses of a side's interference, on the diameter; less than 0 is clearance. [mm].

        Roughness flattens first, down to no press and no further: faces that barely touch stand on
        their peaks. A clearance is left as it is.

        Parameters
        ----------
        part : str
            That the side stands against.
        crept : bool
            After hours hot.
        interference : float, optional
            Of one piece, in place of the side's. [mm]
        """
        stated = self.sides[part].interference if interference is None else interference
        if stated <= 0:
            return stated
        return max(stated - self.flattened, 0.0) * (1 - self.press_creep * crept)

    def more_by_piece(self, part: str, *, crept: bool = False) -> MoreByPiece | None:
        """What presses of each piece beyond what presses of the side; None where all are alike."""
        if not any(part in piece.sides for piece in self.pieces):
            return None
        usual = self.pressing(part, crept=crept)
        return MoreByPiece(
            outlines=tuple(piece.outline for piece in self.pieces),
            more=tuple(
                (self.pressing(part, crept=crept, interference=piece.sides.get(part)) - usual) / 2
                for piece in self.pieces
            ),
        )

    def asked_hold(self, mass_g: float | None) -> float:
        """Hold that a piece of some mass [g], None where it is not known, must keep. [N]."""
        if mass_g is None:
            return UNWEIGHED_HOLD if self.least_hold is None else self.least_hold
        return max(1e-3 * mass_g * self.vibration * GRAVITY, self.least_hold or 0.0)

    def with_interference(self, interference: float) -> InsertFit:
        """The same fit with another common interference [mm]."""
        changed = {
            part: replace(side, interference=interference) if part in self.common else side
            for part, side in self.sides.items()
        }
        if not self.compound:
            return replace(self, sides=changed)
        none: tuple[str, ...] = ()
        pressed, filled = (self.common, none) if interference > 0 else (none, self.common)
        return replace(self, sides=changed, pressed=pressed, filled=filled)


ONE_PIECE = InsertFit(sides={}, pressed=())
"""Of what is one with the block."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Heat:
    """What brings heat to the block and takes it away; None passes none."""

    gas: (
        tuple[float, float] | float | None
    )  # None: the engine's; film [W/(mm2 K)] and temperature [degC], or flux [W/mm2]
    coolant: tuple[float, float] | None = None
    water: CoolantInput | None = None  # in place of the film, which then boils
    deposit: float = 0.0  # resistance of what the burn leaves on the bore [mm2 K/W]
    head: tuple[float, float] | None = None
    outside: tuple[float, float] | None = None
    joint_conductance: float | None = None  # between insert and block [W/(mm2 K)]
    liner_conductance: float | None = None  # None where the liner is one with the barrel

    @property
    def follows_gas(self) -> bool:
        """Whether the engine's cycle says what heat comes, so that it follows the gas load."""
        return self.gas is None

    @property
    def wets(self) -> bool:
        """Whether the coolant takes heat."""
        return self.water is not None or (self.coolant is not None and self.coolant[0] > 0)

    def through_deposit(self, film: Array) -> Array:
        """Film coefficient of the gas behind what the burn leaves, shape (...). [W/(mm2 K)]."""
        return np.asarray(film / (1 + film * self.deposit))


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
    liner_joint: str = CAST_IN  # or ``PRESSED_IN`` or ``SLIP``
    liner_interference: float | None = None  # on the diameter, at 20 degC, < 0 is clearance [mm];
    # None: not known
    liner_friction: float = LINER_FRICTION  # Coulomb's coefficient, where it is not cast in

    @property
    def fitted(self) -> bool:
        """Whether any design's insert is a piece of its own."""
        return bool(self.fits)

    @property
    def heat_follows_gas(self) -> bool:
        """Whether there is heat, and it follows the gas load."""
        return self.heat is not None and self.heat.follows_gas

    @property
    def liner_opens(self) -> bool:
        """Whether the liner is a piece of its own, whose joint can open and slide."""
        return self.liner_joint != CAST_IN

    @property
    def has_steps(self) -> bool:
        """Whether there is fit or heat, of insert or liner, so that a life has steps."""
        held = self.liner_interference is not None or self.liner_opens
        return self.heat is not None or self.fitted or held


def life_given(case: Case) -> LifeInput:
    """What a case states of the life of its designs."""
    return case.given.get("life", _NOTHING)  # type: ignore[no-any-return]


_NOTHING = LifeInput()


def life_of(case: Case, design: Design) -> LifeInput:
    """The same of one design, its water as fast as gaskets let it past the bore that fires."""
    from cases.gasket.flow import water_past

    given = life_given(case)
    if given.heat is None or given.heat.water is None:
        return given
    return replace(given, heat=replace(given.heat, water=water_past(case, design)))


def under_gas_alone(case: Case) -> Case:
    """The case at 20 degC, insert and block one piece: no load steps."""
    return case.told("life", LifeInput())

"""How an insert is fitted, what heats the block, the ring that follows the bore, the rating."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from fea.strength import CASTING_QUALITY

LEAST_HOLD = 100.0
"""Hold that every piece keeps: some 0.2 kg shaken at 50 g (common practice, no source). [N]."""
MOST_OUT_OF_ROUND = 0.03
"""Out-of-round that the press may leave for the hone (common practice, no source). [mm]."""

LIGHT = 0.1
"""Interference on the diameter up to which a press is light and needs no look ahead. [mm]."""

WALL_TOLERANCE = 0.3
"""Casting and boring move a wall by this much to either side (common practice, no source). [mm]."""
PRESSURE_SCATTER = 0.05
"""Standard deviation of the peak from cycle to cycle, as a share (common practice, no source)."""
DRAWS = 2000

SIDES = {"barrel": "barrel", "outer_wall": "outer wall", "ties": "tie"}
"""Key in a case file and the part that this side of the insert stands against."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SideFit:
    """The fit of one side of an insert at 20 degC."""

    interference: float = 0.0  # on the diameter, or on both ends together; < 0 is clearance [mm]
    friction: float = 0.0  # Coulomb's coefficient
    bonded: bool = False  # brazed or glued: neither opens nor slides


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

    gas: tuple[float, float] | float  # film [W/(mm2 K)] and temperature [degC], or flux [W/mm2]
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


@dataclass(frozen=True, kw_only=True)
class Rating:
    """How a case wants its designs rated."""

    mean_stress: str = "Goodman"  # of fea.strength.MEAN_LINES
    criterion: str = "largest principal"  # of fea.strength.CRITERIA
    cycles: float = 1e7  # that the warm engine has to last
    cold_cycles: float = 1e5  # at full load before it is warm (common practice, no source)
    casting_quality: float = CASTING_QUALITY  # strength of cast metal over that of its table
    reliability: float = 0.5  # share of parts that bear the fatigue strength counted
    wall_tolerance: float = WALL_TOLERANCE  # walls may be this much thinner or thicker [mm]
    pressure_scatter: float = PRESSURE_SCATTER  # standard deviation of the gas load over its mean
    draws: int = DRAWS  # 0 for none

"""What designs are rated by."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from cases.case import Case
from cases.materials.hot import LONGEST
from fea.strength import CASTING_QUALITY, PORE_SCATTER

WALL_TOLERANCE = 0.3
"""Casting and boring move a wall by this much to either side (common practice, no source). [mm]."""


PRESSURE_SCATTER = 0.05
"""Standard deviation of the peak from cycle to cycle, as a share (common practice, no source)."""


MOST_OF_WALL = 0.25  # share of a wall that its tolerance may be
DRAWS = 2000


@dataclass(frozen=True, kw_only=True)
class Rating:
    """How a case wants its designs rated."""

    mean_stress: str = "Goodman"  # of fea.strength.MEAN_LINES
    criterion: str = "largest principal"  # of fea.strength.CRITERIA
    cycles: float = 1e7  # that the warm engine has to last
    cold_cycles: float = 1e5  # at full load before it is warm (common practice, no source)
    starts: float = 1000.0  # times that it is started cold and stopped again (no source)
    pull: float = 12.0  # how long one pull at the wanted load lasts (no source) [s]
    hours_hot: float = LONGEST  # at temperature, that strengths when hot are counted after [h]
    casting_quality: float = CASTING_QUALITY  # strength of cast metal over that of its table
    pore: float | None = None  # diameter of the block's largest at a cut [mm]
    pore_scatter: float = PORE_SCATTER  # standard deviation of the logarithm of its size
    pore_off: float = 1.0  # factor that it may be off by, where it stands for a casting class
    casting_class: str = ""  # of fea.strength.PORE_CLASSES; empty where none is stated
    surface: float | None = None  # mean peak to valley height Rz of the block's cuts [mm]
    reliability: float = 0.9  # share of the draws that carry the limit
    wall_tolerance: float = WALL_TOLERANCE  # walls may be this much thinner or thicker [mm]
    pressure_scatter: float = PRESSURE_SCATTER  # standard deviation of the gas load over its mean
    draws: int = DRAWS  # 0 for none
    bore_tolerances: tuple[float, ...] = ()  # the same by bore, where walls were read [mm]
    scatter_measured: bool = False  # of the peaks of a trace
    process_left_out: bool = False  # how the block is made is not stated
    left_out: frozenset[str] = field(default=frozenset(), compare=False)  # keys not in the case


def rating_given(case: Case) -> Rating:
    """What a case wants its designs rated by."""
    given: Rating = case.given.get("rating", _USUAL)
    if not given.bore_tolerances:
        return given
    return replace(given, wall_tolerance=given.bore_tolerances[case.block.firing_bore - 1])


_USUAL = Rating()

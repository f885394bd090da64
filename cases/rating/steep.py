"""What is known of steep places: the critical distance of a metal, and what has no bound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cases.rating.given import Rating
from fea.material import Material
from fea.strength import critical_distance, strength_at
from geometry.clock import format_clock

if TYPE_CHECKING:
    from geometry.section import Block


def critical_distances(wishes: Rating, material: Material) -> tuple[float, float, float] | None:
    """Critical distance by the least, the usual and the largest threshold of a material. [mm].

    The strength of plain metal is that of half of the bars for the cycles that the warm engine has
    to last, without what is taken off it for heat and casting: the longer of two lengths would help
    a place, and no life may rest on that. It serves for the tensile strength as well, whose own
    would be longer.

    Returns
    -------
    tuple of float
        None where no threshold or fatigue strength is known.
    """
    line = material.fatigue
    if line is None or line.threshold is None or not material.tensile_points:
        return None
    borne = 2 * strength_at(wishes.cycles, line.strength, line.cycles, line.exponent)
    low, usual, high = critical_distance(line.threshold, borne).tolist()
    return low, usual, high


@dataclass(frozen=True, slots=True)
class Doubt:
    """A steep place that counts and has no bound."""

    part: str
    place: tuple[float, float]  # [mm]
    share: float  # of a strength, as far as the mesh tells
    why: str


def told_doubts(block: Block, doubts: Sequence[Doubt]) -> list[str]:
    """What to say of a limit whose steep places have no bound, in words."""
    if not doubts:
        return []
    first = doubts[0]
    bore, hours = block.nearest_bore(*first.place)
    clock = format_clock(float(hours))
    places: list[tuple[float, float]] = []
    for doubt in doubts:
        if all(np.hypot(*np.subtract(doubt.place, other)) > 1.0 for other in places):
            places.append(doubt.place)
    more = f", and so at {len(places) - 1} more places" if len(places) > 1 else ""
    return [
        f"the limit, and its band, are at most what is told: the {first.part} at {clock} of bore "
        f"{bore} has no bound, {first.why}{more}."
    ]

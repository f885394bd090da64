"""Which hot spots are shown, and what is said of them."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING, Protocol

import numpy as np

from cases.base.parts import PARENT_PARTS
from geometry.clock import hours_between
from geometry.drawing import View

if TYPE_CHECKING:
    from cases.stress.result import CaseResult, DesignResult
    from fea.hotspots import HotSpot


LABELLED_SHARE = 0.4  # of the worst; weaker spots stay without a label
LABELLED_APART = 0.6  # around the clock; nearer ones would hide one another [h]


LISTED_SPOTS = 8  # of all parts together
LISTED_BY_PART = 3
CORNER_TEXT = "Sharp corner: no finite stress, don't rate by it. Give it a fillet."
JUNCTION_TEXT = (
    "Here a change of depth or material ends at a free edge, or several meet. The stress of the "
    "bonded model has no finite value there: don't rate by it. A fillet won't help; judge the spot "
    "beside it."
)
UNSETTLED_TEXT = "error not within the tolerance yet"
AT_CORNER = 2.0
"""A sharp spot within this many element sizes of a drawn corner is the corner's."""


def labelled_spots(design: DesignResult, view: View, most: int) -> list[tuple[int, HotSpot]]:
    """The spots that a map names, with their rank: the worst of each part, then the second, ...

    The block's own parts come before liner and insert.
    """
    shown = [
        (number, spot)
        for number, spot in enumerate(design.hot_spots, start=1)
        if view.holds(np.array([[spot.x_mm, spot.y_mm]]))[0]
    ]
    worst = max((spot.principal_mpa for _, spot in shown if not spot.sharp), default=0.0)
    turns: dict[str, int] = {}
    queue = []
    for number, spot in shown:
        if spot.principal_mpa >= LABELLED_SHARE * worst:
            turns[spot.part] = turns.get(spot.part, 0) + 1
            queue.append((turns[spot.part], spot.part not in PARENT_PARTS, number, spot))
    queue.sort(key=lambda item: item[:3])
    chosen: list[tuple[int, HotSpot]] = []
    for _, _, number, spot in queue:
        taken = np.array([other.clock_hours for _, other in chosen])
        if (
            len(chosen) < most
            and (np.abs(hours_between(taken, spot.clock_hours)) > LABELLED_APART).all()
        ):
            chosen.append((number, spot))
    return chosen


class WithSpots(Protocol):
    """A design, or a load step of one."""

    @property
    def hot_spots(self) -> tuple[HotSpot, ...]:
        """Worst first."""


def rated_spots(design: WithSpots, parts: Collection[str] = ()) -> list[HotSpot]:
    """The spots that can be rated, sharp corners left out, in the order of the design.

    ``parts`` narrows it to those parts.
    """
    return [
        spot for spot in design.hot_spots if not spot.sharp and (not parts or spot.part in parts)
    ]


def rated_worst(design: WithSpots, parts: Collection[str] = ()) -> HotSpot | None:
    """The spot that can be rated with the largest principal stress; None if there is none.

    ``parts`` narrows it to those parts.
    """
    return max(rated_spots(design, parts), key=lambda spot: spot.principal_mpa, default=None)


def sharp_texts(result: CaseResult) -> list[str]:
    """What to say of the sharp spots of a case, each once."""
    return list(
        dict.fromkeys(
            sharp_text(design, spot)
            for design in result.designs
            for spot in design.hot_spots
            if spot.sharp
        )
    )


def listed_spots(design: DesignResult) -> list[tuple[int, HotSpot]]:
    """The spots of the tables, with their rank: the worst of all, and the worst of every part."""
    listed = []
    seen: dict[str, int] = {}
    for number, spot in enumerate(design.hot_spots, start=1):
        seen[spot.part] = seen.get(spot.part, 0) + 1
        if number <= LISTED_SPOTS or seen[spot.part] <= LISTED_BY_PART or spot.sharp:
            listed.append((number, spot))
    return listed


def at_corner(design: DesignResult, spot: HotSpot) -> bool:
    """Whether a spot lies at a sharp corner of the drawing, which a fillet would mend."""
    reach = AT_CORNER * spot.size_mm
    return any(
        math.hypot(spot.x_mm - corner.x, spot.y_mm - corner.y) <= reach
        for corner in design.mesh.corners
    )


def sharp_text(design: DesignResult, spot: HotSpot) -> str:
    """Why a sharp spot has no stress to rate by, and what to do."""
    return CORNER_TEXT if at_corner(design, spot) else JUNCTION_TEXT

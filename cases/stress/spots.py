"""Which hot spots are shown, and what is said of them."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING, Protocol

import numpy as np

from cases.base.parts import PARENT_PARTS
from geometry.clock import hours_between
from geometry.drawing import view_of

if TYPE_CHECKING:
    from cases.stress.result import CaseResult, DesignResult
    from fea.hotspots import HotSpot


LABELLED_SPOTS = 5
"""That a map names."""
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


def labelled_spots(design: DesignResult, most: int = LABELLED_SPOTS) -> list[HotSpot]:
    """The spots that a map names, worst first: a map numbers them in that order.

    They are the worst of each part, then the second, ..., the block's own parts before liner and
    insert.
    """
    view = view_of(design.section.block)
    shown = [spot for spot in design.hot_spots if view.holds(np.array([[spot.x_mm, spot.y_mm]]))[0]]
    worst = max((spot.principal_mpa for spot in shown if not spot.sharp), default=0.0)
    turns: dict[str, int] = {}
    queue = []
    for place, spot in enumerate(shown):
        if spot.principal_mpa >= LABELLED_SHARE * worst:
            turns[spot.part] = turns.get(spot.part, 0) + 1
            queue.append((turns[spot.part], spot.part not in PARENT_PARTS, place))
    chosen: list[int] = []
    for *_, place in sorted(queue):
        taken = np.array([shown[other].clock_hours for other in chosen])
        apart = np.abs(hours_between(taken, shown[place].clock_hours)) > LABELLED_APART
        if len(chosen) < most and apart.all():
            chosen.append(place)
    return [shown[place] for place in sorted(chosen)]


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


def listed_spots(design: DesignResult) -> list[tuple[int | None, HotSpot]]:
    """The spots of the tables, each with its number on the maps: the worst of all and of each part.

    None where a map doesn't name it.
    """
    on_maps = labelled_spots(design)
    listed: list[tuple[int | None, HotSpot]] = []
    seen: dict[str, int] = {}
    for number, spot in enumerate(design.hot_spots, start=1):
        seen[spot.part] = seen.get(spot.part, 0) + 1
        named = next((at for at, one in enumerate(on_maps, start=1) if one is spot), None)
        if named or number <= LISTED_SPOTS or seen[spot.part] <= LISTED_BY_PART or spot.sharp:
            listed.append((named, spot))
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

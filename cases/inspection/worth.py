"""What walls have to spare at the asked load, by how a limit moves with all of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

THINNER = 0.5
"""How much thinner walls are solved where nothing was rated (judgement). [mm]."""
FURTHEST = 0.4
"""Share of a wall up to which the straight line of logarithms is trusted (judgement)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class WallWorth:
    """Limits of a design on the asked load, as drawn and with all walls ``THINNER`` thinner."""

    design: str
    bore: int  # that fires
    limit: float | None = None  # None where none was found
    thin: float | None = None
    untold: str = ""  # why it could not be solved


@dataclass(frozen=True, kw_only=True, slots=True)
class Spare:
    """What walls have to spare, negative where they lack it."""

    mm: float | None  # None where it can't be told
    words: str  # by what it is told, or why not


def spare_of(worth: WallWorth) -> Spare:
    """By two coarse solids."""
    by = f"two coarse solids of {worth.design}, bore {worth.bore} firing"
    known = worth.limit and worth.thin and 0 < worth.thin < worth.limit
    if not known:
        why = f" {worth.untold}" if worth.untold else ""
        return Spare(
            mm=None,
            words=f"By {by}, the least wall that the asked load needs can't be told.{why}",
        )
    assert worth.limit is not None
    assert worth.thin is not None
    spare = math.log(worth.limit) * THINNER / math.log(worth.limit / worth.thin)
    return Spare(
        mm=spare,
        words=f"The least wall is for the asked load by {by}, the worst by sections "
        f"({_has(spare)}), all walls alike, by how the limit moves with walls {THINNER:g} mm "
        f"thinner. {_FAR} It is a first estimate: nothing was rated. hoopclock rate into the same "
        "folder, then this again, gives it by the design to make, what is not known drawn.",
    )


def spare_of_rating(rated: Mapping[str, Any], tolerance: float | None) -> Spare:
    """By a rating, with the tolerance of the walls that it was drawn with. [mm]."""
    name = (rated.get("verdict") or {}).get("design") or rated["designs"][0]["design"]
    rating = next(of["rating"] for of in rated["designs"] if of["design"] == name)
    band = (rating.get("section") or {}).get("band") or rating.get("band") or {}
    ends, limit = band.get("walls_low_high"), rating["limit"]
    if (
        not tolerance
        or limit is None
        or not limit["factor"]
        or not ends
        or not 0 < ends[0] < ends[1]
    ):
        return Spare(
            mm=None,
            words=f'The rating of "{name}" doesn\'t tell what walls are worth, so the least wall '
            "that the asked load needs isn't told.",
        )
    worth = math.log(ends[1] / ends[0]) / (2 * tolerance)
    spare = math.log(limit["factor"]) / worth
    return Spare(
        mm=spare,
        words=f'The least wall is for the asked load on "{name}" by its rating ({_has(spare)}), '
        f"all walls alike, by how its limit moves with walls {tolerance:.2g} mm thinner and "
        f"thicker. {_FAR} It is an estimate.",
    )


_FAR = f"Where that leads further than {100 * FURTHEST:g} % of a wall, < or > says so."


def _has(spare: float) -> str:
    return f"{spare:.1f} mm to spare" if spare >= 0 else f"{-spare:.1f} mm too little"

"""From the table of a case file to what designs are rated by."""

from __future__ import annotations

import math
from typing import Any

from cases.base.checking import Faults
from cases.rating.given import MOST_OF_WALL, Rating


def read_rating(table: Any, faults: Faults) -> Rating:
    """What a case wants its designs rated by, checked.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    faults : Faults
    """
    rating = table.rating
    thinnest = min(table.block.barrel_wall, table.block.outer_wall or math.inf)
    faults.between(
        ("rating", "wall_tolerance"), rating.wall_tolerance, 0.0, MOST_OF_WALL * thinnest, "mm",
        "It is to either side of the wall as drawn.",
    )  # fmt: skip
    return Rating(**rating.model_dump(), left_out=rating.left_out)

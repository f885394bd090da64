"""From the table of a case file to what designs are rated by."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from cases.base.checking import Faults
from cases.case import Case
from cases.gas.given import gas_given
from cases.rating.given import MOST_OF_WALL, Rating


def read_rating(table: Any, case: Case, faults: Faults) -> Rating:
    """What a case wants its designs rated by, checked.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    case : Case
        With its gas.
    faults : Faults
    """
    rating = table.rating
    thinnest = min(table.block.barrel_wall, table.block.outer_wall or math.inf)
    faults.between(
        ("rating", "wall_tolerance"), rating.wall_tolerance, 0.0, MOST_OF_WALL * thinnest, "mm",
        "It is to either side of the wall as drawn.",
    )  # fmt: skip
    stated = Rating(**rating.model_dump(), left_out=rating.left_out)
    measured = gas_given(case).scatter
    if measured is None or "pressure_scatter" not in rating.left_out:
        return stated
    return replace(stated, pressure_scatter=measured.share, scatter_measured=True)

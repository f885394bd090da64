"""``[depth]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from cases.base.tables import Clock, Length, Table, share_within
from cases.depth.given import LEAST_GAIN

GAINS = (0.0001, 0.2)  # of another millimetre of insert, as a share


def _gain(value: object) -> float:
    return share_within(value, *GAINS, " per mm of insert")


class DepthTable(Table):
    """``[depth]``."""

    floor: Length = Field(
        description='the depth of the crankcase floor below the deck, such as "110 mm"'
    )
    clock: Clock | None = Field(
        None, description="the clock position to look at; of the worst hot spot if left out"
    )
    least_gain: Annotated[float, BeforeValidator(_gain)] = Field(
        LEAST_GAIN,
        description="what another millimetre of insert must take off, as a share of the bare "
        'growth or stress, such as "1 %"',
    )


class DepthKeys(Table):
    """The barrel from the side."""

    depth: DepthTable | None = Field(
        None, description='the barrel seen from the side, a heading [depth] with floor = "110 mm"'
    )

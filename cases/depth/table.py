"""``[depth]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from cases.base.tables import Clock, Length, Range, Table, key, share_within
from cases.base.units import SHARE
from cases.depth.given import DEEPEST_FLOOR, LEAST_GAIN

GAINS = Range(0.01, 20, "%")  # of another millimetre of insert


def _gain(value: object) -> float:
    return share_within(value, GAINS, " per mm of insert")


class DepthTable(Table):
    """``[depth]``."""

    floor: Length = key(
        "the depth of the crankcase floor below the deck",
        "110 mm",
        allowed="from the deepest of section, relief cuts, ties and inserts to "
        f"{DEEPEST_FLOOR:g} mm",
    )
    clock: Clock | None = key(
        "the clock position to look at",
        "7:35",
        None,
        left_out="where the bare block is pulled hardest",
    )
    least_gain: Annotated[float, BeforeValidator(_gain), SHARE, GAINS] = key(
        "what another millimetre of insert must take off, of the bare growth or stress",
        "1 %",
        LEAST_GAIN,
    )


class DepthKeys(Table):
    """The barrel from the side."""

    depth: DepthTable | None = Field(
        None, description='the barrel seen from the side, a heading [depth] with floor = "110 mm"'
    )

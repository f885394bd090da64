"""``[rating]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cases.base.tables import Efficiency, Length, Scatter, Table, share_within
from cases.rating.given import Rating
from fea.strength import CRITERIA, MEAN_LINES

FEWEST_DRAWS = 20


RELIABILITIES = (0.5, 0.9999)


def _reliability(value: object) -> float:
    return share_within(value, *RELIABILITIES, "")


def _cycles(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("Give a plain number of cycles, such as 1e7.")
    if not 1e3 <= value <= 1e10:
        raise ValueError(
            f"{value:g} cycles is outside 1e3 to 1e10: fewer break by yielding, more nobody tested."
        )
    return float(value)


def _draws(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError("Give a whole number of draws, such as 2000; 0 for no band.")
    if value != 0 and not FEWEST_DRAWS <= value <= 100_000:
        raise ValueError(
            f"{value} draws are not 0, for no band, or {FEWEST_DRAWS} to 100000: fewer have no 5 %."
        )
    return value


Reliability = Annotated[float, BeforeValidator(_reliability)]


Cycles = Annotated[float, BeforeValidator(_cycles)]


Draws = Annotated[int, BeforeValidator(_draws)]


class RatingTable(Table):
    """``[rating]``."""

    mean_stress: Literal[MEAN_LINES] = Field(  # type: ignore[valid-type]
        "Goodman", description="the line that weighs the mean of a stress cycle"
    )
    criterion: Literal[tuple(CRITERIA)] = Field(  # type: ignore[valid-type]
        "largest principal",
        description="what makes one stress of the stresses of the plane, for fatigue",
    )
    cycles: Cycles = Field(
        Rating.cycles, description="the cycles that the warm engine has to last, such as 1e7"
    )
    cold_cycles: Cycles = Field(
        Rating.cold_cycles,
        description="those at full load before the engine is warm, such as 1e5",
    )
    casting_quality: Efficiency = Field(
        Rating.casting_quality,
        description='the strength of cast metal here over that of its table, such as "70 %"',
    )
    reliability: Reliability = Field(
        Rating.reliability,
        description='the share of parts that have the fatigue strength counted, such as "90 %"',
    )
    wall_tolerance: Length = Field(
        Rating.wall_tolerance,
        description='how much thinner or thicker the walls may be, such as "0.3 mm"',
    )
    pressure_scatter: Scatter = Field(
        Rating.pressure_scatter,
        description='the standard deviation of the gas load over its mean, such as "5 %"',
    )
    draws: Draws = Field(Rating.draws, description="how often chance is asked; 0 for no band")


class RatingKeys(Table):
    """What the designs are rated by."""

    rating: RatingTable = Field(
        default_factory=lambda: RatingTable.model_validate({}),
        description="what the designs are rated by",
    )

"""``[rating]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cases.base.tables import Duration, Efficiency, Length, Range, Scatter, Table, key, share_within
from cases.base.units import SHARE
from cases.materials.hot import LONGEST, SHORTEST
from cases.rating.given import MOST_OF_WALL, Rating
from fea.strength import CRITERIA, MEAN_LINES

FEWEST_DRAWS, MOST_DRAWS = 20, 100_000
MOST_STARTS = 1e6
CYCLES = Range(1e3, 1e10, "")
HOURS = Range(
    SHORTEST, LONGEST, "h",
    "What is in between is what strengths when hot are known for: a block of a hill climb car sees "
    "20 to 200 h hot in its life, one of a road car thousands.",
)  # fmt: skip
RELIABILITIES = Range(50, 99.99, "%")


def _reliability(value: object) -> float:
    return share_within(value, RELIABILITIES, "")


def _cycles(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("Give a plain number of cycles, such as 1e7.")
    if not CYCLES.least <= value <= CYCLES.most:
        raise ValueError(
            f"{value:g} cycles is outside 1e3 to 1e10: fewer break by yielding, more nobody tested."
        )
    return float(value)


def _starts(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("Give a plain number of starts, such as 1000; 0 leaves them out.")
    if value != 0 and not 1 <= value <= MOST_STARTS:
        raise ValueError(f"{value:g} starts are not 0, or 1 to {MOST_STARTS:g}.")
    return float(value)


def _draws(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError("Give a whole number of draws, such as 2000; 0 for no band.")
    if value != 0 and not FEWEST_DRAWS <= value <= MOST_DRAWS:
        raise ValueError(
            f"{value} draws are not 0, for no band, or {FEWEST_DRAWS} to {MOST_DRAWS}: fewer have "
            "no 5 %."
        )
    return value


Reliability = Annotated[float, BeforeValidator(_reliability), SHARE, RELIABILITIES]
Cycles = Annotated[float, BeforeValidator(_cycles), CYCLES]
Starts = Annotated[float, BeforeValidator(_starts)]
Draws = Annotated[int, BeforeValidator(_draws)]


class RatingTable(Table):
    """``[rating]``."""

    mean_stress: Literal[MEAN_LINES] = key(  # type: ignore[valid-type]
        "the line that weighs the mean of a stress cycle", "Goodman", Rating.mean_stress
    )
    criterion: Literal[tuple(CRITERIA)] = key(  # type: ignore[valid-type]
        "what makes one stress of the stresses of the plane, for fatigue",
        "largest principal",
        Rating.criterion,
    )
    cycles: Cycles = key("the cycles that the warm engine has to last", 1e7, Rating.cycles)
    cold_cycles: Cycles = key(
        "those at full load before the engine is warm", 1e5, Rating.cold_cycles
    )
    starts: Starts = key(
        "how often the engine is started cold and stopped again; 0 leaves it out",
        1000,
        Rating.starts,
        allowed="0, or 1 to 1e6",
    )
    pull: Annotated[Duration, Range(0.1, 3600, "s")] = key(
        "how long one pull at the wanted load lasts, to tell cycles as pulls", "12 s", Rating.pull
    )
    hours_hot: Annotated[Duration, HOURS] = key(
        "the hours at temperature that the strengths when hot are counted after",
        "200 h",
        3600 * Rating.hours_hot,
        left_out="the most that tables know, where metal is weakest",
    )
    casting_quality: Efficiency = key(
        "the strength of cast metal here over that of its table", "70 %", Rating.casting_quality
    )
    reliability: Reliability = key(
        "the share of the draws that carry the limit; without draws it is the nominal one",
        "90 %",
        Rating.reliability,
    )
    wall_tolerance: Length = key(
        "how much thinner or thicker the walls may be",
        "0.3 mm",
        Rating.wall_tolerance,
        allowed=f"0 to {100 * MOST_OF_WALL:g} % of the thinner of barrel and outer wall",
    )
    pressure_scatter: Scatter = key(
        "the standard deviation of the gas load over its mean",
        "5 %",
        Rating.pressure_scatter,
        left_out="or of the peaks of the trace",
    )
    draws: Draws = key(
        "how often chance is asked; 0 for no band",
        2000,
        Rating.draws,
        allowed=f"0, or {FEWEST_DRAWS} to {MOST_DRAWS}",
    )


class RatingKeys(Table):
    """What the designs are rated by."""

    rating: RatingTable = Field(
        default_factory=lambda: RatingTable.model_validate({}),
        description="what the designs are rated by",
    )

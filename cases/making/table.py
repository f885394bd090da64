"""``[making]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from cases.base.tables import Film, Length, Range, Table, Temperature, key
from cases.making.given import (
    AIR_FILM,
    BLOCK_TEMPERATURE,
    CUTTER,
    FRICTION,
    HOTTEST_BLOCK,
    LEAST_CLEARANCE,
    Bath,
)

NO_SOURCE = "common practice, no source"
BLOCK_TEMPERATURES = Range(20, 250, "degC")
Friction = Annotated[float, Field(strict=True), Range(0.01, 1, "")]


class MakingTable(Table):
    """``[making]``."""

    block_temperature: Annotated[Temperature, BLOCK_TEMPERATURES] = key(
        "how warm the block is while the insert goes in",
        "130 degC",
        BLOCK_TEMPERATURE,
        left_out=NO_SOURCE,
    )
    hottest_block: Annotated[Temperature, BLOCK_TEMPERATURES] = key(
        "how warm the block may get: by its temper, and by what else is in it",
        "140 degC",
        HOTTEST_BLOCK,
        left_out="below the ageing of T6; from memory",
    )
    insert_cooled_in: Bath = key(
        "what the insert lies in before it goes in", "dry ice", "liquid nitrogen"
    )
    least_clearance: Annotated[Length, Range(0.001, 1, "mm")] = key(
        "the least clearance on each side while the insert goes in",
        "12 um",
        LEAST_CLEARANCE,
        left_out=NO_SOURCE,
    )
    air_film: Annotated[Film, Range(2, 500, "W/(m2 K)")] = key(
        "the film coefficient of the air around a cold piece",
        "20 W/(m2 K)",
        AIR_FILM,
        left_out="still air with frost, a judgement",
    )
    contact_film: Annotated[Film, Range(50, 50_000, "W/(m2 K)")] | None = key(
        "the film coefficient of a face of the insert that touches the block, not pressed yet",
        "4000 W/(m2 K)",
        None,
        left_out="joint_conductance of [heat]; without it 3000 W/(m2 K), a judgement",
    )
    friction_low: Friction = key(
        "the least Coulomb's coefficient of friction while the insert is pressed in, as oiled",
        0.08,
        FRICTION[0],
        left_out=NO_SOURCE,
    )
    friction_high: Friction = key(
        "the largest Coulomb's coefficient of friction while the insert is pressed in, as dry",
        0.25,
        FRICTION[1],
        left_out=NO_SOURCE,
    )
    cutter: Annotated[Length, Range(0.5, 50, "mm")] = key(
        "the diameter of the cutter that the insert is cut with", "4 mm", CUTTER, left_out=NO_SOURCE
    )


class MakingKeys(Table):
    """How the insert is made."""

    making: MakingTable | None = Field(
        None, description="how the insert is made and how it goes in, for hoopclock make"
    )

"""``[making]`` of a case file."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from cases.base.tables import Film, Length, Range, Table, Temperature, key, share_within
from cases.base.units import SHARE
from cases.making.given import (
    AIR_FILM,
    BLOCK_TEMPERATURE,
    CUTTER,
    DECK_STOCK,
    FRICTION,
    HOTTEST_BLOCK,
    LEAST_CLEARANCE,
    POCKET_SHARE,
    Bath,
)

NO_SOURCE = "common practice, no source"
BLOCK_TEMPERATURES = Range(20, 250, "degC")
POCKET_SHARES = Range(0, 90, "%")


def _pocket_share(value: object) -> float:
    return share_within(value, POCKET_SHARES, "")


PocketShare = Annotated[float, BeforeValidator(_pocket_share), SHARE, POCKET_SHARES]
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
    pocket_cutter: Annotated[Length, Range(0.5, 50, "mm")] | None = key(
        "the diameter of the cutter that the pocket is milled with",
        "6 mm",
        None,
        left_out="the insert's cutter",
    )
    pocket_share: PocketShare = key(
        "how much of what the fit may vary by is the pocket's to vary; the rest is the insert's",
        "40 %",
        POCKET_SHARE,
        left_out="a judgement",
    )
    deck_stock: Annotated[Length, Range(0, 5, "mm")] = key(
        "what the insert is made thicker by, to be taken off with the deck",
        "0.3 mm",
        DECK_STOCK,
        left_out=NO_SOURCE,
    )
    revision: str = key(
        "the revision that the drawings carry", "B", "", allowed="any text", left_out="none"
    )


class MakingKeys(Table):
    """How the insert is made."""

    making: MakingTable | None = Field(
        None, description="how the insert is made and how it goes in, for hoopclock make"
    )

"""From ``[making]`` to its input."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.making.given import MakingInput


def read_making(table: Any, faults: Faults) -> MakingInput:
    """What a case states of how its insert is made, checked; the usual where it says nothing."""
    stated = table.making
    if stated is None:
        return MakingInput()
    faults.within(("making",), stated)
    if stated.block_temperature > stated.hottest_block:
        faults.add(
            ("making", "block_temperature"),
            f"It is above hottest_block, {stated.hottest_block:g} degC. Heat the block less, or "
            "state what it bears.",
        )
    if stated.friction_low > stated.friction_high:
        faults.add(
            ("making", "friction_low"),
            f"It is above friction_high, {stated.friction_high:g}. Give the smaller of both here.",
        )
    return MakingInput(
        block_temperature=stated.block_temperature,
        hottest_block=stated.hottest_block,
        cooled_in=stated.insert_cooled_in,
        least_clearance=stated.least_clearance,
        air_film=stated.air_film,
        contact_film=stated.contact_film,
        cutter=stated.cutter,
        pocket_cutter=stated.pocket_cutter,
        pocket_share=stated.pocket_share,
        deck_stock=stated.deck_stock,
        revision=stated.revision,
        friction=(stated.friction_low, stated.friction_high),
    )

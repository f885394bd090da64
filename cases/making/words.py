"""How an insert goes in, in words."""

from __future__ import annotations

import math
from collections.abc import Iterator

from cases.gasket.words import over_words
from cases.making.compound import compound_words
from cases.making.make import Making

UM = 1000.0
LONG = 600.0
"""Nobody holds a piece in the air for longer. [s]."""


def seconds(value: float) -> str:
    """A time to handle.

    Examples
    --------
    >>> seconds(0.154), seconds(19.6), seconds(float("inf"))
    ('0.15 s', '19 s', 'no limit')
    """
    if value > LONG:
        return "no limit"
    return f"{value:.2g} s" if value < 10 else f"{math.floor(value)} s"


def temperatures(making: Making) -> str:
    """Of block and insert."""
    given = making.given
    cooled = (
        "as it is" if given.cooled_in == "none"
        else f"from {given.cooled_in} ({given.insert_temperature:g} degC)"
    )  # fmt: skip
    return f"the block at {given.block_temperature:g} degC and the insert {cooled}"


def goes_in(making: Making) -> Iterator[str]:
    """Whether it drops in, what would do, and the press; in the units of the case."""
    yield from map(making.case.spoken.told, _goes_in(making))


def _goes_in(making: Making) -> Iterator[str]:
    asked = UM * making.given.least_clearance
    if making.unknown:
        yield f"Whether it drops in is not known: {making.unknown}."
    elif making.drops_in:
        air = min(one.air_seconds for one in making.passages)
        touching = min(one.touching_seconds for one in making.passages)
        yield (
            f"It drops in: with {temperatures(making)} every side opens by at least "
            f"{UM * making.least:.0f} um, {asked:.0f} um asked."
        )
        yield (
            f"Time to handle: {seconds(air)} in the air; from the first touch {seconds(touching)} "
            "until it grips, so put it in in one stroke."
            if touching < math.inf
            else "It does not grip as it warms: no time presses."
        )
    else:
        worst = min(making.passages, key=lambda one: one.least)
        side = min(worst.sides, key=lambda of: of.least)
        stands = "presses by" if side.least < 0 else "opens by no more than"
        yield (
            f"It does not drop in: with {temperatures(making)} piece {worst.number} {stands} "
            f"{abs(UM * side.least):.0f} um on the side of the {side.part}, {asked:.0f} um of "
            "clearance asked."
        )
        yield f"What would do, each by itself: {'; '.join(making.cures)}."
    if making.made and making.made.note:
        yield making.made.note
    bent = [one.number for one in making.passages
            if one.unbent is not None and one.unbent < making.given.least_clearance]  # fmt: skip
    if making.drops_in and bent:
        yield (
            "They must bend a little to follow their pockets, as they shrink towards their own "
            f"middle: pieces {', '.join(map(str, bent))}."
        )
    yield from compound_words(making)
    for one in making.water:
        yield over_words(one, making.case.block.bores, lambda mm2: f"{mm2:.0f} mm2")
        for note in one.notes:
            yield f"Gasket {one.gasket}: {note}."
    if making.case.block.draft:
        insert = making.design.insert
        assert insert is not None
        yield (
            f"The jacket has draft: contours are those {insert.depth / 2:g} mm below the deck, "
            "unless a register is cut."
        )
    if making.press:
        low = min(of.low for of in making.press.pieces)
        high = max(of.high for of in making.press.pieces)
        yield (
            f"Pressed in cold: {low:.0f} to {high:.0f} N a piece, over {making.press.stroke:g} mm."
        )
    else:
        yield f"Press forces are not told. {making.rated}"

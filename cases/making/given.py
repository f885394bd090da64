"""How an insert is to be made and fitted, as a case states it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from cases.case import Case
from fea.material import REFERENCE

Bath = Literal["none", "dry ice", "liquid nitrogen"]

BATHS: Mapping[str, float] = {"none": REFERENCE, "dry ice": -78.5, "liquid nitrogen": -195.8}
"""Temperature that each leaves a piece at, at one atmosphere: the point where dry ice turns to gas,
the boiling point of nitrogen (handbook values, from memory). [degC]."""
BLOCK_TEMPERATURE = 120.0
"""Of a block from the oven (common practice, no source). [degC]."""
HOTTEST_BLOCK = 150.0
"""A T6 temper is aged at about 155 degC, so that an hour below takes nothing off it (from memory);
seals and sleeves bear less. [degC]."""
LEAST_CLEARANCE = 0.010
"""A side, so that a piece drops in by its weight (common practice, no source). [mm]."""
AIR_FILM = 25e-6
"""Of still air and the frost that grows from it on a cold piece (judgement). [W/(mm2 K)]."""
CONTACT_FILM = 3e-3
"""Of a face that touches and does not press yet (judgement). [W/(mm2 K)]."""
CUTTER = 3.0
"""Diameter of the smallest end mill that a shop likes to use at the depth of an insert (common
practice, no source). [mm]."""
POCKET_SHARE = 0.5
"""Of what an interference may vary by, that of the pocket (judgement). [1]."""
DECK_STOCK = 0.2
"""On the insert, to be taken off with the deck (common practice, no source). [mm]."""
FRICTION = (0.10, 0.20)
"""Coulomb's coefficient of aluminium on aluminium, oiled and dry (common practice, no source)."""


@dataclass(frozen=True, kw_only=True, slots=True)
class MakingInput:
    """What a case states of how its insert is made and fitted."""

    block_temperature: float = BLOCK_TEMPERATURE  # while it is fitted [degC]
    hottest_block: float = HOTTEST_BLOCK  # that temper and what else is in it bear [degC]
    cooled_in: Bath = "liquid nitrogen"  # of the insert
    least_clearance: float = LEAST_CLEARANCE  # a side, while it goes in [mm]
    air_film: float = AIR_FILM  # [W/(mm2 K)]
    contact_film: float | None = None  # None: the joint's of the heat model [W/(mm2 K)]
    cutter: float = CUTTER  # diameter, of the insert's [mm]
    pocket_cutter: float | None = None  # the same of the pocket's; None: the insert's [mm]
    pocket_share: float = POCKET_SHARE  # of what the interference may vary by [1]
    deck_stock: float = DECK_STOCK  # on the insert [mm]
    revision: str = ""  # of the drawings
    friction: tuple[float, float] = FRICTION  # low and high, while it is pressed in

    @property
    def cuts_pocket(self) -> float:
        """Diameter of the cutter that mills the pocket. [mm]."""
        return self.pocket_cutter or self.cutter

    @property
    def insert_temperature(self) -> float:
        """Of the insert as it leaves the bath. [degC]."""
        return BATHS[self.cooled_in]


def making_given(case: Case) -> MakingInput:
    """What a case states of how its insert is made and fitted."""
    return case.given.get("making") or MakingInput()

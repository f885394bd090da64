"""``[solid]`` of a case file."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from cases.base.tables import Table, key


class SolidTable(Table):
    """``[solid]``."""

    joint: Literal["one piece"] | None = key(
        "for a second opinion without a rating: the state in which every insert is one piece with "
        "the block; temperature goes with it",
        "one piece",
        None,
        left_out="every state of the design",
    )
    temperature: Literal["cold"] | None = key(
        "for the same: the engine cold, at 20 degC; joint goes with it",
        "cold",
        None,
        left_out="every state of the design",
    )


class SolidKeys(Table):
    """The block in depth."""

    solid: SolidTable | None = Field(
        None,
        description="the one state in which the solid is to be solved, a heading [solid] with "
        'joint = "one piece" and temperature = "cold"',
    )

"""From the table of a case file to its solid."""

from __future__ import annotations

from typing import Any

from cases.base.checking import Faults
from cases.solid.given import SolidInput


def read_solid(table: Any, faults: Faults) -> SolidInput:
    """What a case states of its solid, checked.

    Parameters
    ----------
    table : pydantic.BaseModel
        The whole case file.
    faults : Faults
    """
    stated = table.solid
    if stated is None:
        return SolidInput()
    for key, other, value in (
        ("joint", "temperature", "cold"),
        ("temperature", "joint", "one piece"),
    ):
        if getattr(stated, key) is not None and getattr(stated, other) is None:
            faults.add(
                ("solid", other),
                f"It is missing. {key} asks for one state alone, which is one piece and cold: give "
                f'{other} = "{value}" too, or leave out {key} for a rating.',
            )
    return SolidInput(alone=stated.joint is not None and stated.temperature is not None)

"""``[coolant]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field

from cases.base.tables import Flow, Pressure, Range, Table, key, share_within
from cases.base.units import SHARE
from cases.coolant.given import GLYCOL, MIXED, SYSTEM_PRESSURE, WATER

SHARES = Range(10, 60, "%")
NO_SOURCE = "common practice, no source"


def _glycol(value: object) -> float:
    return share_within(value, SHARES, ": it is the glycol in the mixture, by mass")


class CoolantTable(Table):
    """``[coolant]``."""

    fluid: Literal["water", "water and glycol"] = key(
        "what flows in the jacket", MIXED, WATER, left_out="water"
    )
    glycol: Annotated[float, BeforeValidator(_glycol), SHARE, SHARES] | None = key(
        "the ethylene glycol in the mixture, by mass",
        "40 %",
        None,
        left_out=f"{100 * GLYCOL:g} % of a mixture ({NO_SOURCE})",
    )
    pressure: Annotated[Pressure, Range(0, 5, "bar")] | None = key(
        "the pressure of the cooling system, above the atmosphere",
        "1.1 bar",
        None,
        left_out=f"{10 * SYSTEM_PRESSURE:g} bar ({NO_SOURCE})",
    )
    flow: (
        Annotated[
            Flow,
            Range(
                1, 2000, "L/min", "Without flow no film is known: give [heat] coolant_film instead."
            ),
        ]
        | None
    ) = key(
        "the flow of the pump, all of it along the bank, by halves on its two sides",
        "120 L/min",
        None,
        left_out="coolant_film under [heat] says the film",
        instead_of="coolant_film under [heat]",
    )


class CoolantKeys(Table):
    """What flows beside the barrels."""

    coolant: CoolantTable | None = Field(
        None, description="what flows in the jacket, for its film and for boiling"
    )

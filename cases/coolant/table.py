"""``[coolant]`` of a case file."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StrictInt

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
    pump: list[Annotated[tuple[Flow, Pressure], Field(strict=False)]] = key(
        "the pump's pressure by its flow, straight lines between rows; with [[gasket]] it says how "
        "much flows through each design, where flow is that of the bare block",
        [["0 L/min", "0.9 bar"], ["100 L/min", "0.7 bar"], ["200 L/min", "0 bar"]],
        [],
        left_out="flow, if stated, flows through every design",
        allowed="two rows or more, flows rising, pressures falling, the last of them 0",
    )
    inlet_bore: StrictInt = key(
        "the bore beside which the pump's water enters the bank, with [[gasket]]",
        1,
        1,
        allowed="the first or the last",
    )


class CoolantKeys(Table):
    """What flows beside the barrels."""

    coolant: CoolantTable | None = Field(
        None, description="what flows in the jacket, for its film and for boiling"
    )

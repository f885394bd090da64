"""From the table of a case file to its coolant."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from cases.base.checking import Faults
from cases.coolant.film import too_slow
from cases.coolant.fluid import Fluid
from cases.coolant.given import GLYCOL, MIXED, SYSTEM_PRESSURE, CoolantInput
from cases.gas.cylinder import ATMOSPHERE
from geometry.section import Block

LIQUID_BELOW = 99.0
"""Water boils above it under the atmosphere alone: what is colder needs no table of water, which is
long to import. [degC]."""


def read_coolant(whole: Any, block: Block, faults: Faults) -> CoolantInput | None:
    """What a case states of its coolant, checked.

    Parameters
    ----------
    whole : pydantic.BaseModel
        The whole case file.
    block : Block
    faults : Faults
    """
    table, heat = whole.coolant, whole.heat
    if table is None:
        return None
    faults.within(("coolant",), table)
    where = ("coolant",)
    if table.glycol is not None and table.fluid != MIXED:
        faults.add(
            (*where, "glycol"),
            f'It does not go with fluid = "{table.fluid}". Leave it out, or say fluid = "{MIXED}".',
        )
    if block.jacket == 0:
        faults.add(where, "The block has no water jacket. Leave [coolant] out.")
        return None
    if heat is None or heat.coolant_temperature is None:
        faults.add(
            where,
            "It takes no heat without the temperature of the liquid. Give [heat] with "
            'coolant_temperature, such as coolant_temperature = "95 degC", or leave [coolant] out.',
        )
        return None
    _check_pump(table, block, bool(whole.gasket), faults)
    if (table.flow is None) == (heat.coolant_film is None):
        faults.add(
            where,
            "Give the flow of the pump, or [heat] coolant_film where a film is known, not both.",
        )
        return None
    glycol = 0.0 if table.fluid != MIXED else GLYCOL if table.glycol is None else table.glycol
    gauge = SYSTEM_PRESSURE if table.pressure is None else table.pressure
    given = CoolantInput(
        glycol=glycol,
        pressure=gauge + ATMOSPHERE,
        temperature=heat.coolant_temperature,
        flow=table.flow,
        film=heat.coolant_film,
        width=block.jacket,
        depth=block.jacket_floor,
        pump=tuple(table.pump),
        inlet_bore=table.inlet_bore,
        assumed=tuple(_assumed(table, block)),
    )
    if given.flow and (slow := too_slow(given)) is not None:
        faults.add((*where, "flow"), slow)
    if given.temperature < LIQUID_BELOW:
        return given
    boils = Fluid(glycol).boils_at(given.pressure)
    if given.temperature >= boils:
        faults.add(
            ("heat", "coolant_temperature"),
            f"{given.temperature:g} degC is no liquid: at {10 * gauge:g} bar above the atmosphere "
            f"this coolant boils at {boils:.0f} degC. Give less, or more pressure under [coolant].",
        )
    return given


def _check_pump(table: Any, block: Block, gasket: bool, faults: Faults) -> None:
    """Whether a pump's curve falls to nothing, and has something to flow through."""
    where = ("coolant", "pump")
    if table.inlet_bore not in (1, block.bores):
        faults.add(
            ("coolant", "inlet_bore"),
            f"It is neither the first nor the last bore, 1 or {block.bores}.",
        )
    if not table.pump:
        return
    flows, heads = zip(*table.pump, strict=True)
    falls = all(a < b for a, b in pairwise(flows)) and all(a > b for a, b in pairwise(heads))
    if len(flows) < 2 or not falls or heads[-1] != 0 or flows[0] != 0:
        faults.add(
            where,
            'Give two rows or more, from ["0 L/min", ...] on with rising flows and falling '
            'pressures, to the flow at which nothing is left: ["200 L/min", "0 bar"].',
        )
    if not gasket:
        faults.add(
            where,
            "Without [[gasket]] nothing says what it pumps through. Add one, or leave pump out.",
        )


def _assumed(table: Any, block: Block) -> list[tuple[str, str]]:
    """Keys left out, and what stands for them."""
    found = []
    if table.pressure is None:
        found.append(
            (
                "coolant.pressure",
                f"cooling system at {10 * SYSTEM_PRESSURE:g} bar above the atmosphere (common "
                "practice, no source)",
            )
        )
    if table.fluid == MIXED and table.glycol is None:
        found.append(
            ("coolant.glycol", f"{100 * GLYCOL:g} % glycol by mass (common practice, no source)")
        )
    if table.flow is not None and block.jacket_depth is None:
        found.append(
            (
                "block.jacket_depth",
                f"water flows down to a usual jacket floor, {block.jacket_floor:.0f} mm deep",
            )
        )
    return found

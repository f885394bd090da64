"""Whether a solved temperature can be: metal that would have melted is no result."""

from __future__ import annotations

from collections.abc import Mapping

from cases.base.faults import RunError
from cases.materials.reading import STIFFEST_ALUMINIUM
from fea.heat import HeatField
from fea.material import Material

SOLIDUS = {"aluminium": 555.0, "iron": 1130.0}
"""At which metal begins to melt: cast aluminium with silicon, grey iron (from memory). [degC]."""
HOT = {"aluminium": 300.0, "iron": 500.0}
"""Above which metal of a block doesn't last (common practice, no source). [degC]."""


def temperature_notes(design: str, heat: HeatField, materials: Mapping[str, Material]) -> list[str]:
    """What is to be said of a design's hottest places, part by part.

    Parameters
    ----------
    design : str
    heat : HeatField
    materials : mapping of str to Material
        By part.

    Raises
    ------
    RunError
        If a part is so hot that it would have begun to melt.
    """
    parts = dict.fromkeys(layer.part for layers in heat.mesh.regions for layer in layers)
    notes = []
    for part in parts:
        material, place = materials[part], heat.hottest(part)
        metal = "aluminium" if material.youngs_modulus <= STIFFEST_ALUMINIUM else "iron"
        at = f"{place.temperature_degc:.0f} degC at {place.clock}"
        if place.temperature_degc >= SOLIDUS[metal]:
            raise RunError(
                f'design "{design}", heat: the {part} of {material.name} would be at {at}, and '
                f"{metal} begins to melt at some {SOLIDUS[metal]:g} degC, so this is no result. "
                "Check the units of the films and their temperatures under [heat]: too little "
                "coolant_film, or too much gas_film, gas_temperature or gas_heat_flux."
            )
        if place.temperature_degc > HOT[metal]:
            notes.append(
                f"warm: the {part} of {material.name} is at {at}. Above {HOT[metal]:g} degC "
                f"{metal} loses its strength within hours; check what [heat] says before anything "
                "else."
            )
    return notes

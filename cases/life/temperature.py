"""Whether a solved temperature can be: metal that would have melted is no result."""

from __future__ import annotations

from collections.abc import Mapping

from cases.base.faults import RunError
from cases.materials.reading import kind_of_metal
from fea.heat import HeatField
from fea.material import Material

SOLIDUS = {"aluminium": 555.0, "iron": 1130.0}
"""At which metal begins to melt: cast aluminium with silicon, grey iron (from memory). [degC]."""


def refuse_molten(design: str, heat: HeatField, materials: Mapping[str, Material]) -> None:
    """Refuse a temperature at which a part would have begun to melt.

    Parameters
    ----------
    design : str
    heat : HeatField
    materials : mapping of str to Material
        By part.

    Raises
    ------
    RunError
        If a part is so hot.
    """
    parts = dict.fromkeys(layer.part for layers in heat.mesh.regions for layer in layers)
    for part in parts:
        material, place = materials[part], heat.hottest(part)
        metal = kind_of_metal(material)
        at = f"{place.temperature_degc:.0f} degC at {place.clock}"
        if place.temperature_degc >= SOLIDUS[metal]:
            raise RunError(
                f'design "{design}", heat: the {part} of {material.name} would be at {at}, and '
                f"{metal} begins to melt at some {SOLIDUS[metal]:g} degC, so this is no result. "
                "Check the units of the films and their temperatures under [heat]: too little "
                "coolant_film, or too much gas_film, gas_temperature or gas_heat_flux."
            )

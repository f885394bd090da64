"""Heat of a section: conduction, which metal is under which film, and thermal strain.

Owns steady temperatures with joints that conduct where they touch, and the load of the strain
that they make. Modules are imported when a name is first asked for.

Heat lives on the mesh of the stress with the joint as a conductance; a liner joint cuts the liner
off as well, for heat only. Where the joint is open nothing crosses it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea.ondemand import on_demand

if TYPE_CHECKING:
    from fea.heat.films import CurvedFilm, Film, Films
    from fea.heat.steady import (
        HeatError,
        HeatField,
        HeatModel,
        HotPlace,
        WallPeak,
        conduction_products,
    )
    from fea.heat.surfaces import Surface, Underside, find_surfaces, paths_of
    from fea.heat.thermal import checked_temperature, thermal_load

__all__ = [
    "CurvedFilm",
    "Film",
    "Films",
    "HeatError",
    "HeatField",
    "HeatModel",
    "HotPlace",
    "Surface",
    "Underside",
    "WallPeak",
    "checked_temperature",
    "conduction_products",
    "find_surfaces",
    "paths_of",
    "thermal_load",
]

__getattr__ = on_demand(
    __name__,
    {
        "films": "CurvedFilm Film Films",
        "steady": "HeatError HeatField HeatModel HotPlace WallPeak conduction_products",
        "surfaces": "Surface Underside find_surfaces paths_of",
        "thermal": "checked_temperature thermal_load",
    },
)

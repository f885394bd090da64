"""The finite elements: meshes, materials and loads; it knows nothing of engines.

Nothing heavy is imported until it is used.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea.ondemand import on_demand

if TYPE_CHECKING:
    from fea.adaptive import Adapted, Pass, adapt
    from fea.bore import BoreShape, bore_growth
    from fea.contact import Contact, ContactError, Fit, Fitted, FittedModel
    from fea.equilibrium import SelfCheckError, SelfChecks, self_checks
    from fea.factor import Factor, NotPositiveDefiniteError
    from fea.heat import Film, Films, HeatField, HeatModel, HotPlace, thermal_load
    from fea.hotspots import HotSpot, hot_spots
    from fea.material import Fatigue, Material
    from fea.model import SectionModel, Solution
    from fea.stress import LayerStress, hoop, principal, radial, recover, von_mises

__all__ = [
    "Adapted",
    "BoreShape",
    "Contact",
    "ContactError",
    "Factor",
    "Fatigue",
    "Film",
    "Films",
    "Fit",
    "Fitted",
    "FittedModel",
    "HeatField",
    "HeatModel",
    "HotPlace",
    "HotSpot",
    "LayerStress",
    "Material",
    "NotPositiveDefiniteError",
    "Pass",
    "SectionModel",
    "SelfCheckError",
    "SelfChecks",
    "Solution",
    "adapt",
    "bore_growth",
    "hoop",
    "hot_spots",
    "principal",
    "radial",
    "recover",
    "self_checks",
    "thermal_load",
    "von_mises",
]

__getattr__ = on_demand(
    __name__,
    {
        "adaptive": "Adapted Pass adapt",
        "bore": "BoreShape bore_growth",
        "equilibrium": "SelfCheckError SelfChecks self_checks",
        "contact": "Contact ContactError Fit Fitted FittedModel",
        "factor": "Factor NotPositiveDefiniteError",
        "heat": "Film Films HeatField HeatModel HotPlace thermal_load",
        "hotspots": "HotSpot hot_spots",
        "material": "Fatigue Material",
        "model": "SectionModel Solution",
        "stress": "LayerStress hoop principal radial recover von_mises",
    },
)

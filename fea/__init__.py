"""The finite elements: meshes, materials and loads; it knows nothing of engines.

Nothing heavy is imported until it is used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fea.adaptive import Adapted, Pass, adapt
    from fea.bore import BoreShape, bore_growth
    from fea.checks import CheckError, Checks, self_checks
    from fea.contact import Contact, ContactError, Fit, Fitted, FittedModel
    from fea.draws import Draws, LoadStep, draw_fits
    from fea.factor import Factor, NotPositiveDefiniteError
    from fea.heat import Film, Films, HeatField, HeatModel, HotPlace
    from fea.hotspots import HotSpot, hot_spots
    from fea.material import Fatigue, Material
    from fea.model import SectionModel, Solution
    from fea.stress import LayerStress, hoop, principal, radial, recover, von_mises
    from fea.thermal import thermal_load

__all__ = [
    "Adapted",
    "BoreShape",
    "CheckError",
    "Checks",
    "Contact",
    "ContactError",
    "Draws",
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
    "LoadStep",
    "Material",
    "NotPositiveDefiniteError",
    "Pass",
    "SectionModel",
    "Solution",
    "adapt",
    "bore_growth",
    "draw_fits",
    "hoop",
    "hot_spots",
    "principal",
    "radial",
    "recover",
    "self_checks",
    "thermal_load",
    "von_mises",
]

_HOME = {
    "Adapted": "adaptive",
    "BoreShape": "bore",
    "CheckError": "checks",
    "Checks": "checks",
    "Contact": "contact",
    "ContactError": "contact",
    "Draws": "draws",
    "Factor": "factor",
    "Fatigue": "material",
    "Film": "heat",
    "Films": "heat",
    "Fit": "contact",
    "Fitted": "contact",
    "FittedModel": "contact",
    "HeatField": "heat",
    "HeatModel": "heat",
    "HotPlace": "heat",
    "HotSpot": "hotspots",
    "LayerStress": "stress",
    "LoadStep": "draws",
    "Material": "material",
    "NotPositiveDefiniteError": "factor",
    "Pass": "adaptive",
    "SectionModel": "model",
    "Solution": "model",
    "adapt": "adaptive",
    "bore_growth": "bore",
    "draw_fits": "draws",
    "hoop": "stress",
    "hot_spots": "hotspots",
    "principal": "stress",
    "radial": "stress",
    "recover": "stress",
    "self_checks": "checks",
    "thermal_load": "thermal",
    "von_mises": "stress",
}


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'fea' has no attribute {name!r}")
    return getattr(import_module(f"fea.{_HOME[name]}"), name)

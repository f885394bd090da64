"""A crack in a solved section: its stress intensity, and how it grows cycle by cycle.

Owns the interaction integral, loads on the faces of a crack, and growth laws with their sums.
Which way a crack runs, and when it is called long, is said from outside.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fea.ondemand import on_demand

if TYPE_CHECKING:
    from fea.crack.growth import IIW_ALUMINIUM, ROOT_M, Growth, GrowthLaw, grow
    from fea.crack.integral import (
        CrackLoad,
        FaceStress,
        Intensity,
        clear_radius,
        face_load,
        gas_on_faces,
        intensities,
        intensity,
        mode_gradient,
    )

__all__ = [
    "IIW_ALUMINIUM",
    "ROOT_M",
    "CrackLoad",
    "FaceStress",
    "Growth",
    "GrowthLaw",
    "Intensity",
    "clear_radius",
    "face_load",
    "gas_on_faces",
    "grow",
    "intensities",
    "intensity",
    "mode_gradient",
]

__getattr__ = on_demand(
    __name__,
    {
        "growth": "IIW_ALUMINIUM ROOT_M Growth GrowthLaw grow",
        "integral": (
            "CrackLoad FaceStress Intensity clear_radius face_load gas_on_faces intensities "
            "intensity mode_gradient"
        ),
    },
)

"""A crack in a solved section: its stress intensity, and how it grows cycle by cycle.

Owns the interaction integral, loads on the faces of a crack, and growth laws with their sums.
Which way a crack runs, and when it is called long, is said from outside.

The path of a crack is a line that the mesher follows (``Outline.cuts``), with a node at every tip
to be solved; one mesh serves all lengths, and ``opened`` doubles the nodes behind a tip. The domain
of the integral always lies in one region, so thickness and material leave it. K over domains from
0.1 to 0.98 of the clear radius spreads by 0.05 % at most on the bundled block. Mid-side nodes at a
quarter of the sides at the tip cut the error of an edge crack from 0.5 to 3 % down to 0.07 to
0.6 %, on one mesh with eight elements across the clear radius; with the 24 that are used it is 0.04
to 0.2 %, and 0.1 % at most beside the table of bore cracks. Against a mesh with finer tips and 0.7
of all other sizes the bundled block's K differs by 0.1 %, by 0.5 % for a tip right behind the edge
of a bonded insert.
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

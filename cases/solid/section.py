"""What the section says where the solid is pulled hardest."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fea.stress import LayerStress, extremes
from geometry.clock import clock_of, hours_between
from geometry.section_mesh import SectionMesh

ABOUT = (0.06, 0.15, 0.4)
"""Clock positions so near are one, 1.5 mm at a radius of 48 mm; wider where no node lies so near.
[h]."""
NEAR = 12.0
"""How far in plan the section's stress is still the same wall's. [mm]."""


def section_stress(
    mesh: SectionMesh, stresses: Sequence[LayerStress], part: str, x: float, y: float
) -> float | None:
    """Largest principal stress of a part at a clock position, in the section. [MPa].

    Parameters
    ----------
    mesh : SectionMesh
    stresses : sequence of LayerStress
    part : str
    x, y : float
        Of the spot in the solid. [mm]

    Returns
    -------
    float or None
        None where the section has nothing of the part there.
    """
    hours = float(clock_of(x, y))
    own = [layer for layer in stresses if layer.part == part]
    for about in ABOUT:
        found = []
        for layer in own:
            at = mesh.points[layer.nodes]
            near = np.hypot(at[:, 0] - x, at[:, 1] - y) < NEAR
            near &= np.abs(hours_between(clock_of(*at.T), hours)) < about
            found += extremes(layer.stress[:, near])[0].tolist()
        if found:
            return float(max(found))
    return None

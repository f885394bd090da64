"""What an insert takes of the coolant in depth: water, and barrel wall that water wets."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from fea.quadrature import in_triangles
from geometry.faces import Outline
from geometry.overlay import open_water
from geometry.planar import Area
from geometry.section import DeckSection
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]

BESIDE = 0.02
"""How far beside a wall is asked how deep the insert stands there. [mm]."""
APART = 0.5
"""Between places along a wall. [mm]."""


class Drawn(Protocol):
    """A design with its mesh."""

    @property
    def section(self) -> DeckSection:
        """Its section."""

    @property
    def outline(self) -> Outline:
        """Its outline."""

    @property
    def mesh(self) -> SectionMesh:
        """Its mesh."""


@dataclass(frozen=True, slots=True)
class Displaced:
    """What depth costs, of the whole block."""

    insert_mm3: float = 0.0  # its own volume
    water_mm3: float = 0.0  # that the insert takes the place of
    barrel_mm2: float = 0.0  # of barrel wall that it covers


def displaced(design: Drawn) -> Displaced:
    """Water and wetted barrel wall that an insert takes, none of a bare block.

    Walls with draft count as in the section, in the mean over its depth; what is machined for the
    insert was no water.
    """
    section = design.section
    if section.insert is None:
        return Displaced()
    # the bare block as the section has it, whose walls stand upright
    block = replace(section.mean_block, draft=0.0)
    water = open_water(replace(section, block=block, insert=None))

    def wet(z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        return np.any([patch.holds(z) for patch in water], axis=0)

    volume, water_volume, mesh = 0.0, 0.0, design.mesh
    for number, layers in enumerate(mesh.regions):
        for layer in layers:
            if layer.part == "insert":
                at = in_triangles(mesh.points, mesh.triangles[mesh.region == number], 4)
                under = layer.thickness(at.x, at.y) * at.size
                volume += float(under.sum())
                water_volume += float((under * wet(at.x + 1j * at.y)).sum())
    area = 0.0
    for curve in (of for patch in water for of in patch.curves if of.tag.startswith("barrel")):
        count = max(1, round(curve.length / APART))
        at_ = (np.arange(count) + 0.5) / count
        z = np.array([curve.point(t) + 1j * BESIDE * curve.direction(t) for t in at_.tolist()])
        area += float(insert_depth(design.outline, z).mean()) * curve.length
    return Displaced(insert_mm3=volume, water_mm3=water_volume, barrel_mm2=area)


def insert_depth(outline: Outline, z: NDArray[np.complex128]) -> Array:
    """How deep the insert stands at points, shape (n,); 0 where it doesn't. [mm]."""
    depth = np.zeros(len(z))
    for face in outline.faces:
        for layer in outline.regions[face.region]:
            if layer.part == "insert":
                own = Area(outline.loops(face)).holds(z)
                depth[own] = np.maximum(depth[own], layer.thickness(z[own].real, z[own].imag))
    return depth

"""Problems of heat, and of what it does to metal, whose answer is known; each posed once.

mm, N, MPa, W and degC; plane stress. Every one takes the fineness of its mesh, as
:func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.undersides import UNDERSIDES
from cases.check.gas import breathing_freely
from cases.check.sections import (
    ALLOY,
    DEPTH,
    FLAT,
    IRON,
    QUARTER,
    SYMMETRY,
    Answer,
    node_at,
    plane,
    ring,
)
from cases.gas.wall_load import WallLoad
from fea.heat import Film, Films, HeatField, HeatModel, thermal_load
from fea.material import Material
from fea.model import SectionModel
from fea.stress import recover
from geometry import Block, DeckSection
from geometry.outline import Outline, draw_section
from geometry.parted import part_off
from geometry.planar import arc, circle, line, polygon
from geometry.section_mesh import Layer, ProfileDepth, SectionMesh, UniformDepth

Array = NDArray[np.float64]

FIXED = 1000.0
"""A film coefficient that holds a wall at the film's temperature to a millionth. [W/(mm2 K)]."""
WARM_ALLOY = replace(ALLOY, expansion=22e-6, conductivity=0.15)
WARM_IRON = replace(IRON, expansion=12e-6, conductivity=0.05)


@dataclass(frozen=True)
class HeatAnswer:
    """A solved problem of heat, to be read at its nodes."""

    field: HeatField

    @property
    def points(self) -> Array:
        """Nodes, shape (n, 2). [mm]."""
        return self.field.mesh.points

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.field.solver

    def at(self, x: float, y: float) -> float:
        """Temperature of the node at (x, y). [degC].

        Raises
        ------
        ValueError
            If no node is there.
        """
        return float(self.field.temperature[node_at(self.points, x, y)])

    def on(self, edge: str, part: str | None = None) -> Array:
        """Temperatures of the k nodes of an edge, all or those of a part, shape (k,). [degC]."""
        mesh = self.field.mesh
        nodes = np.unique(mesh.edges[edge])
        if part is not None:
            has = [part in (layer.part for layer in layers) for layers in mesh.regions]
            nodes = np.intersect1d(nodes, mesh.triangles[np.array(has)[mesh.region]])
        return self.field.temperature[nodes]


def meshed(outline: Outline, fineness: float, element_size: float = 4.0) -> SectionMesh:
    """Mesh of an outline."""
    from geometry.mesh import mesh_outline

    return mesh_outline(outline, element_size=element_size, fineness=fineness)


def warmed(
    mesh: SectionMesh,
    materials: Mapping[str, Material],
    temperature: Array,
    fixed: Mapping[str, str] | None = None,
) -> Answer:
    """Solution of a section that a temperature at its nodes alone acts on.

    Parameters
    ----------
    mesh : SectionMesh
    materials : mapping of str to Material
    temperature : ndarray, shape (n,)
        [degC]
    fixed : mapping of str to str, optional
        As :class:`fea.model.SectionModel` takes it.
    """
    model = SectionModel(mesh, materials, fixed)
    solution = model.solve_forces(thermal_load(mesh, materials, temperature))
    solution = replace(solution, temperature=temperature)
    return Answer(solution, recover(solution))


def composite_cylinder(fineness: float = 1.0) -> HeatAnswer:
    """Rings of 50/56/70 mm, k = 50 and 150 W/(m K), 20,000 W/(m2 K) between them.

    Films of 600 W/(m2 K) at 900 degC inside and of 3000 W/(m2 K) at 90 degC outside.
    """
    section = DeckSection(block=Block(bore=100, liner=6, barrel_wall=14), depth=DEPTH)
    parted = part_off(meshed(draw_section(section), fineness), "liner")
    films = Films(gas=Film(6e-4, 900.0), outside=Film(3e-3, 90.0), joints={"liner": 0.02})
    materials = {"liner": WARM_IRON, "barrel": WARM_ALLOY}
    return HeatAnswer(HeatModel(parted.mesh, materials, films, [parted.joint]).solve())


WATER = 97.0
"""Beside the wall whose temperature was measured, 20 to 30 K below the 122 degC of three of its
sides (derived). [degC]."""


def measured_wall(fineness: float = 1.0) -> HeatAnswer:
    """The bore of a petrol engine of three cylinders and 800 cm3 at 6000 rpm and full throttle.

    Its wall, 6 mm of grey iron, over the whole stroke in the mean, in water of 6000 W/(m2 K). All
    but size, speed and load is what is usual, as the source does not say it.
    """
    bore, stroke = 68.5, 72.0
    cycle = breathing_freely(bore, stroke, 6000.0, 3)
    load = WallLoad(
        curve=cycle.curve, top_ring=0.07 * bore, crown_below_deck=0.0, section_depth=stroke,
        cycle=cycle,
    )  # fmt: skip
    section = DeckSection(block=Block(bore=bore, barrel_wall=6), depth=stroke)
    films = Films(gas=Film(*load.film), outside=Film(6e-3, WATER))
    mesh = meshed(draw_section(section), fineness)
    return HeatAnswer(HeatModel(mesh, {"barrel": WARM_IRON}, films).solve())


def cooled_plate(fineness: float = 1.0) -> HeatAnswer:
    """NAFEMS T4: 600 x 1000 mm, k = 52 W/(m K), 100 degC at its foot, insulated on its left.

    A film of 750 W/(m2 K) to 0 degC on its right and its top.
    """
    corners = [0j, 600 + 0j, 600 + 200j, 600 + 1000j, 1000j]
    tags = ["bore", "lower right", "upper right", "top", "outside"]
    layer = Layer("barrel", FLAT)
    outline = plane(
        [side.tagged(tag) for side, tag in zip(polygon(corners), tags, strict=True)],
        lambda z: (layer,) if 0 < z.real < 600 and 0 < z.imag < 1000 else (),
    )
    films = Films(gas=Film(FIXED, 100.0), coolant=Film(7.5e-4, 0.0))
    steel = Material("steel", 210000.0, 0.3, conductivity=0.052)
    mesh = meshed(outline, fineness, element_size=150)
    return HeatAnswer(HeatModel(mesh, {"barrel": steel}, films).solve())


_FACES = Film(2e-3, 90.0)  # above and below
_FIN = UniformDepth(10.0)
_SAME_FIN = ProfileDepth(10.0, (), 10.0)  # parts two regions, so that nodes lie between them


def straight_fin(fineness: float = 1.0) -> HeatAnswer:
    """Plate 10 mm thick, k = 150 W/(m K), from its foot at 180 degC 40 mm to a dry tip, 20 wide.

    Films of 2000 W/(m2 K) to 90 degC on both faces.
    """
    layer = Layer("insert", _FIN)
    tags = ["outside", "outside", "outside", "bore"]
    outline = plane(
        [
            side.tagged(tag)
            for side, tag in zip(polygon([0j, 40 + 0j, 40 + 20j, 20j]), tags, strict=True)
        ],
        lambda z: (layer,) if 0 < z.real < 40 and 0 < z.imag < 20 else (),
    )
    films = Films(gas=Film(FIXED, 180.0), coolant=_FACES, head=_FACES, undersides=UNDERSIDES)
    return HeatAnswer(HeatModel(meshed(outline, fineness), {"insert": WARM_ALLOY}, films).solve())


def annular_fin(fineness: float = 1.0) -> HeatAnswer:
    """Round plate 10 mm thick, k = 150 W/(m K), 180 degC at r = 50, dry at its rim of r = 90.

    Films of 2000 W/(m2 K) to 90 degC on both faces; nodes at r = 60.
    """

    def layers(z: complex) -> tuple[Layer, ...]:
        if not 50 < abs(z) < 90:
            return ()
        return (Layer("insert", _FIN if abs(z) < 60 else _SAME_FIN),)

    curves = [*circle(0, 50, "bore"), *circle(0, 60, "between"), *circle(0, 90, "outside")]
    films = Films(gas=Film(FIXED, 180.0), coolant=_FACES, head=_FACES, undersides=UNDERSIDES)
    mesh = meshed(plane(curves, layers), fineness)
    return HeatAnswer(HeatModel(mesh, {"insert": WARM_ALLOY}, films).solve())


def heated_ring(fineness: float = 1.0) -> Answer:
    """Free ring of 50/80 mm, bore 100 K warmer than its outside, which is at 20 degC."""
    mesh = meshed(ring(50, 80), fineness)
    materials = {"barrel": WARM_ALLOY}
    films = Films(gas=Film(FIXED, 120.0), outside=Film(FIXED, 20.0))
    return warmed(mesh, materials, HeatModel(mesh, materials, films).solve().temperature)


def cooled_compound_ring(fineness: float = 1.0) -> Answer:
    """Iron liner bonded in an alloy barrel, 45/55/80 mm, 80 K colder than when they were joined."""
    section = DeckSection(block=Block(bore=90, liner=10, barrel_wall=25), depth=DEPTH)
    mesh = meshed(draw_section(section), fineness)
    alloy = Material("alloy", 72000.0, 0.33, expansion=22e-6)
    return warmed(
        mesh, {"liner": WARM_IRON, "barrel": alloy}, np.full(len(mesh.points), 20.0 - 80.0)
    )


def hot_spot(fineness: float = 1.0) -> Answer:
    """NAFEMS T1: a quarter of a plate of 20 x 20 mm whose middle, radius 1, is 100 K warmer.

    E = 100 GPa, nu = 0.3, alpha = 1e-5 /K; in place of staying cold, the plate around the spot
    does not expand.
    """

    def layers(z: complex) -> tuple[Layer, ...]:
        if not (0 < z.real < 10 and 0 < z.imag < 10):
            return ()
        return (Layer("liner" if abs(z) < 1 else "barrel", FLAT),)

    outline = plane(
        [
            *arc(0, 1, 0, QUARTER, "spot"),
            line(0, 1, "y = 0"),
            line(1, 10, "y = 0"),
            line(10, 10 + 10j, "side"),
            line(10 + 10j, 10j, "side"),
            line(10j, 1j, "x = 0"),
            line(1j, 0, "x = 0"),
        ],
        layers,
    )
    mesh = meshed(outline, fineness, element_size=2)
    cold = Material("plate", 100000.0, 0.3)
    materials = {"liner": replace(cold, name="spot", expansion=1e-5), "barrel": cold}
    return warmed(mesh, materials, np.full(len(mesh.points), 120.0), SYMMETRY)

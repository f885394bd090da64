"""The deck section by a general finite-element library, NGSolve with Netgen, as its users do it.

Only for comparison: rational quadratic splines for arcs, Netgen's own mesh with curved elements,
finer towards a given place, moduli as coefficient functions by material, elements of any order
with the inner unknowns condensed, sparse Cholesky, stress straight from the displacement. What it
costs to draw the section by the library's own shapes is measured apart (:func:`draw`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np
from netgen.geom2d import SplineGeometry
from netgen.meshing import MeshingParameters
from netgen.occ import Face, Glue, OCCGeometry, WorkPlane
from ngsolve import (
    CF,
    VERTEX,
    BilinearForm,
    CoefficientFunction,
    Grad,
    GridFunction,
    Id,
    IfPos,
    InnerProduct,
    IntegrationRule,
    LinearForm,
    Mesh,
    NodeId,
    Sym,
    TaskManager,
    Trace,
    VectorH1,
    atan2,
    cos,
    ds,
    dx,
    specialcf,
    sqrt,
    x,
    y,
)

from fea.material import Material
from geometry.outline import Outline
from geometry.plan import placed, slot_radius
from geometry.section import Block, DeckSection, DeeperZone
from geometry.section_mesh import Depth, Layer, UniformDepth

QUARTER = 1.7
"""Arcs that turn more than this are handed over in two halves. [rad]."""

SAMPLES = 4
"""Stress is read at the corners of this many strips along each side of an element."""


@dataclass(frozen=True)
class Side:
    """A line or an arc with the numbers of the areas to its left and right; 0 is no metal."""

    start: complex
    end: complex
    control: complex | None  # where the tangents at the ends of an arc meet
    radius: float  # infinite for a line [mm]
    left: int
    right: int
    name: str


@dataclass(frozen=True)
class PlainSection:
    """What one would type in: sides, and the layers of metal on each area."""

    sides: tuple[Side, ...]
    areas: tuple[str, ...]  # material of areas 1, 2, ...
    layers: Mapping[str, tuple[Layer, ...]]  # by material


@dataclass(frozen=True, kw_only=True)
class Setting:
    """How finely to mesh, and the order of the displacement."""

    order: int = 3
    max_size: float = 16.0  # [mm]
    root_size: float = 0.5  # at the root [mm]
    grading: float = 0.5  # 0 even, 1 as steep as can be
    per_turn: float = 8.0  # elements round a full circle, at least
    per_edge: float = 1.0  # elements along a side, at least; also how strongly short sides count
    delaunay: bool = False  # the other of its two meshers: quicker, not the one it takes by itself
    smoothing: int = 3  # rounds of it after meshing; 3 is what it takes by itself


@dataclass(frozen=True)
class Solved:
    """Displacement of a section, to be read at places."""

    mesh: Mesh
    displacement: GridFunction
    section: PlainSection
    materials: Mapping[str, Material]

    @property
    def unknowns(self) -> int:
        """Number of unknowns, those inside the elements included."""
        return self.displacement.space.ndof

    def largest_principal(self, part: str, place: complex, reach: float) -> float:
        """Largest principal stress of a part's layers within reach of a place. [MPa]."""
        largest, _ = invariants(self.displacement, self.materials[part])
        named = [
            name
            for name, layers in self.section.layers.items()
            if any(layer.part == part for layer in layers)
        ]
        points = self.mesh.MapToAllElements(lattice(), self.mesh.Materials("|".join(named)))
        at = np.asarray(CF((x, y))(points)).reshape(-1, 2)
        near = np.abs(at @ [1, 1j] - place) < reach
        return float(np.asarray(largest(points[near])).max())

    def bore_growth(self) -> tuple[np.ndarray, np.ndarray]:
        """Angles round the bore [rad] and the outward displacement there [mm]."""
        stations = np.linspace(0, 1, 5)[:-1]
        rule = IntegrationRule([(s,) for s in stations], [1.0] * len(stations))
        points = self.mesh.MapToAllElements(rule, self.mesh.Boundaries("bore"))
        at = np.asarray(CF((x, y))(points)).reshape(-1, 2)
        moved = np.asarray(self.displacement(points)).reshape(-1, 2)
        return np.arctan2(at[:, 1], at[:, 0]), (at * moved).sum(axis=1) / np.hypot(*at.T)


def invariants(
    displacement: CoefficientFunction, material: Material
) -> tuple[CoefficientFunction, CoefficientFunction]:
    """Largest principal and von Mises stress of a material under a displacement. [MPa]."""
    strain = Sym(Grad(displacement))
    stress = material.lam * Trace(strain) * Id(2) + 2 * material.mu * strain
    mean, half = (stress[0, 0] + stress[1, 1]) / 2, (stress[0, 0] - stress[1, 1]) / 2
    shear = sqrt(half**2 + stress[0, 1] ** 2)
    return mean + shear, sqrt(mean**2 + 3 * shear**2)


def lattice() -> IntegrationRule:
    """Places of an element at which stress is read."""
    places = [
        (i / SAMPLES, j / SAMPLES) for i in range(SAMPLES + 1) for j in range(SAMPLES + 1 - i)
    ]
    return IntegrationRule(places, [1.0] * len(places))


def plain_section(outline: Outline) -> PlainSection:
    """The lines and arcs of an outline and its layers, metal on the left of every free side."""
    left, right = {}, {}
    for number, face in enumerate(outline.faces, 1):
        for loop in face.loops:
            for piece, forward in loop:
                (left if forward else right)[piece] = number
    sides = []
    for index, (piece, name) in enumerate(zip(outline.pieces, outline.names, strict=True)):
        beside = left.get(index, 0), right.get(index, 0)
        curve = piece
        if beside[0] == 0:  # the library takes the normal to point to the right
            curve, beside = piece.reversed(), beside[::-1]
        wide = abs(curve.sweep) > QUARTER
        for part in (curve.part(0, 0.5), curve.part(0.5, 1)) if wide else (curve,):
            control = None
            if part.bulge:
                reach = part.radius * math.tan(abs(part.sweep) / 2)
                control = part.start + part.direction(0) * reach
            sides.append(Side(part.start, part.end, control, part.radius, *beside, name))
    return PlainSection(
        tuple(sides),
        tuple(f"region{face.region}" for face in outline.faces),
        {f"region{index}": layers for index, layers in enumerate(outline.regions)},
    )


def draw(section: DeckSection) -> OCCGeometry:
    """Areas of a section by sums and differences of the library's own shapes.

    The least that its users must do: no fillets, no lines where a deeper zone begins, every slot
    round, and nothing is refused.
    """
    block, insert = section.block, section.insert
    axes = [complex(axis) for axis in block.axes]
    bores, liners, barrels = (
        _sum([_disc(axis, radius) for axis in axes])
        for radius in (block.bore / 2, block.liner_radius, block.barrel_radius)
    )
    inside, whole = _around(block, block.jacket_radius), _around(block, block.outside_radius)
    jacket = inside - barrels
    far = 2 * block.outside_radius
    strips = []
    for tie in placed(block.ties, block, "tie"):
        side = 0.5j * tie.feature.width * tie.ray
        ends = tie.axis - side, tie.axis + side
        strips.append(_polygon([*ends, ends[1] + far * tie.ray, ends[0] + far * tie.ray]))
    ties = _sum(strips)
    cuts = _sum(
        [
            _disc(cut.axis + cut.feature.radius * cut.ray, cut.feature.diameter / 2)
            for cut in placed(block.relief_cuts, block, "relief cut")
        ]
    )
    areas = [whole - inside, barrels - liners, jacket * ties]
    if insert is not None:
        room = jacket - ties
        if insert.width is not None:
            room = room * _sum([_disc(axis, block.barrel_radius + insert.width) for axis in axes])
        for slot in placed(insert.slots, block, "slot"):
            centre = slot.axis + slot_radius(slot, section) * slot.ray
            room = room - _disc(centre, slot.feature.width / 2)
        areas.append(room)
    pieces = [piece for area in areas for piece in (area - cuts, area * cuts)]
    return OCCGeometry(Glue([liners - bores, *pieces]), dim=2)


def _sum(shapes: Sequence[Face]) -> Face:
    return reduce(add, shapes)


def _disc(centre: complex, radius: float) -> Face:
    return WorkPlane().Circle(centre.real, centre.imag, radius).Face()


def _polygon(corners: Sequence[complex]) -> Face:
    plane = WorkPlane().MoveTo(corners[0].real, corners[0].imag)
    for corner in corners[1:]:
        plane.LineTo(corner.real, corner.imag)
    return plane.Close().Face()


def _around(block: Block, radius: float) -> Face:
    """Everything within a distance of the row of bore axes."""
    first, last = complex(block.axes[0]), complex(block.axes[-1])
    up = 1j * radius
    middle = _polygon([first - up, last - up, last + up, first + up])
    return _sum([_disc(first, radius), _disc(last, radius), middle])


def solve(
    section: PlainSection,
    materials: Mapping[str, Material],
    line_load: float,
    setting: Setting,
    root: complex,
    inverse: str = "sparsecholesky",
) -> Solved:
    """Mesh and solve a section under gas in its bore.

    Parameters
    ----------
    section : PlainSection
        Its metal must hang together.
    materials : mapping of str to Material
    line_load : float
        [N/mm]
    setting : Setting
    root : complex
        Place to refine towards. [mm]
    inverse : str
        The library's name of a factorisation.
    """
    mesh = meshed(section, setting, [root])
    lam, mu = moduli(mesh, section, materials)
    space = VectorH1(mesh, order=setting.order)
    u, v = space.TnT()
    strain, virtual = Sym(Grad(u)), Sym(Grad(v))
    stiffness = BilinearForm(space, symmetric=True, condense=True)
    work = lam * Trace(strain) * Trace(virtual) + 2 * mu * InnerProduct(strain, virtual)
    stiffness += work * dx
    load = LinearForm(-line_load * InnerProduct(specialcf.normal(2), v) * ds("bore"))
    displacement = GridFunction(space)
    free = space.FreeDofs(coupling=True)
    for unknown in held(mesh, space):
        free.Clear(unknown)
    with TaskManager():
        stiffness.Assemble()
        load.Assemble()
        rest = load.vec.CreateVector()
        rest.data = load.vec + stiffness.harmonic_extension_trans * load.vec
        displacement.vec.data = stiffness.mat.Inverse(free, inverse=inverse) * rest
        displacement.vec.data += stiffness.harmonic_extension * displacement.vec
        displacement.vec.data += stiffness.inner_solve * rest
    return Solved(mesh, displacement, section, materials)


def moduli(
    mesh: Mesh, section: PlainSection, materials: Mapping[str, Material]
) -> list[CoefficientFunction]:
    """Plane-stress pair times depth, summed over the layers of each area. [N/mm]."""
    return [
        mesh.MaterialCF(
            {
                name: sum(
                    (_depth(layer.thickness) * getattr(materials[layer.part], pair)
                     for layer in layers),
                    CF(0),
                )
                for name, layers in section.layers.items()
            }
        )
        for pair in ("lam", "mu")
    ]  # fmt: skip


def meshed(section: PlainSection, setting: Setting, roots: Sequence[complex]) -> Mesh:
    """Curved triangles on a section, finer towards some places."""
    geometry = SplineGeometry()
    number: dict[complex, int] = {}

    def point(z: complex) -> int:
        if z not in number:
            number[z] = geometry.AppendPoint(z.real, z.imag)
        return number[z]

    for side in section.sides:
        size = min(2 * math.pi * side.radius / setting.per_turn, setting.max_size)
        shape = ["line", point(side.start), point(side.end)]
        if side.control is not None:
            control = geometry.AppendPoint(side.control.real, side.control.imag)
            shape = ["spline3", shape[1], control, shape[2]]
        geometry.Append(
            shape, leftdomain=side.left, rightdomain=side.right, bc=side.name, maxh=size
        )
    for index, name in enumerate(section.areas, 1):
        geometry.SetMaterial(index, name)
    sizes = MeshingParameters(
        maxh=setting.max_size,
        grading=setting.grading,
        segmentsperedge=setting.per_edge,
        delaunay2d=setting.delaunay,
        optsteps2d=setting.smoothing,
    )
    for root in roots:
        sizes.RestrictH(root.real, root.imag, 0, setting.root_size)
    mesh = Mesh(geometry.GenerateMesh(mp=sizes))
    mesh.Curve(setting.order)
    return mesh


def held(mesh: Mesh, space: VectorH1) -> list[int]:
    """Three unknowns that take rigid motion: both at the left end, the upright one at the right."""
    corners = mesh.ngmesh.Coordinates()
    left, right = int(corners[:, 0].argmin()), int(corners[:, 0].argmax())
    return [
        space.Range(component).start
        + space.components[component].GetDofNrs(NodeId(VERTEX, corner))[0]
        for component, corner in ((0, left), (1, left), (1, right))
    ]


def _depth(depth: Depth) -> CoefficientFunction:
    """Depth of a layer as one would write it in the library's own functions. [mm]."""
    if isinstance(depth, UniformDepth):
        return CF(depth.thickness)
    deepest = CF(depth.base)
    for zone in depth.zones:
        shares = [_share(zone, depth.axis)]
        for axis in depth.beside if zone.blend else ():
            past = x - (depth.axis + axis) / 2
            length = depth.arc * math.radians(zone.blend)
            shares.append(_run_out(sqrt(past * past) / length) * _share(zone, axis))
        deepest = _most(deepest, depth.base + (zone.depth - depth.base) * reduce(_most, shares))
    return _least(deepest, depth.cap)


def _share(zone: DeeperZone, axis: float) -> CoefficientFunction:
    """Share of a zone's further depth, by the clock about a bore axis."""
    ray = math.radians(90 - 30 * zone.clock)
    along = (x - axis) * math.cos(ray) + y * math.sin(ray)
    off = y * math.cos(ray) - (x - axis) * math.sin(ray)
    beyond = atan2(sqrt(off * off), along) - math.radians(zone.width / 2)
    return _run_out(beyond / math.radians(zone.blend)) if zone.blend else IfPos(beyond, 0, 1)


def _run_out(share: CoefficientFunction) -> CoefficientFunction:
    """From 1 to 0 over shares from 0 to 1 of a blend."""
    return (1 + cos(math.pi * _least(_most(share, 0), 1))) / 2


def _most(a: CoefficientFunction, b: CoefficientFunction | float) -> CoefficientFunction:
    return IfPos(a - b, a, b)


def _least(a: CoefficientFunction, b: CoefficientFunction | float) -> CoefficientFunction:
    return IfPos(a - b, b, a)

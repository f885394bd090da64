"""An insert pressed into one bore by the general library, free of friction.

Only for comparison, and nothing of the joint is taken over: block and insert have spaces of their
own on one mesh of the library, of any order; along the joint a penalty presses wherever, at a
point of the quadrature, they would overlap; the insert's corners are written anew, as the nearest
way to an arc. Newton's method on the penalty finds where it presses.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from benchmarks.general_library import (
    PlainSection,
    Setting,
    held,
    invariants,
    lattice,
    meshed,
    moduli,
)
from ngsolve import (
    CF,
    BilinearForm,
    CoefficientFunction,
    Grad,
    GridFunction,
    IfPos,
    InnerProduct,
    IntegrationRule,
    LinearForm,
    Mesh,
    Sym,
    TaskManager,
    Trace,
    VectorH1,
    ds,
    dx,
    specialcf,
    sqrt,
    x,
    y,
)

from fea.material import Material
from geometry.section import Block

JOINT = "insert fit"
PENALTY = 3e7
"""Line load per overlap: 1e-5 mm where 30 MPa press over 10 mm. [N/mm2]."""
MOST_TURNS = 40
SAME = 5e-5
"""Change of the displacement, over its size, that ends Newton's method."""
STATIONS = 9
"""Places along each side of an element at which pressure is read."""


@dataclass(frozen=True)
class Corner:
    """An outer corner of the insert: an arc from one face of the pocket to another."""

    centre: complex  # [mm]
    ends: tuple[complex, complex]  # where it leaves the tie and the wall [mm]

    @property
    def gap(self) -> CoefficientFunction:
        """Distance from the pocket to the arc, where the arc is the nearest of the insert. [mm]."""
        toward = [end - self.centre for end in self.ends]
        turn = math.copysign(1.0, (toward[0].conjugate() * toward[1]).imag)
        across, up = x - self.centre.real, y - self.centre.imag
        beyond_first = turn * (toward[0].real * up - toward[0].imag * across)
        before_second = turn * (toward[1].imag * across - toward[1].real * up)
        radius = abs(toward[0])
        away = sqrt(across**2 + up**2) - radius
        near = IfPos(away, IfPos(radius - away, 1, 0), 0)
        return IfPos(beyond_first, IfPos(before_second, near * away, 0), 0)


def corners(block: Block, radius: float) -> list[Corner]:
    """Corners of the pieces of an insert, tangent to the ties and both walls of one bore."""
    found = []
    for tie in block.ties:
        ray = cmath.rect(1.0, math.radians(90 - 30 * tie.clock))
        for side in (1j, -1j):
            off = tie.width / 2 + radius
            for wall, reach in (
                (block.barrel_radius, block.barrel_radius + radius),
                (block.jacket_radius, block.jacket_radius - radius),
            ):
                centre = (math.sqrt(reach**2 - off**2) + off * side) * ray
                on_tie, on_wall = centre - radius * side * ray, wall * centre / abs(centre)
                found.append(Corner(centre, (on_tie, on_wall)))
    return found


@dataclass(frozen=True)
class Pressed:
    """The joint and the stress of one load.

    Attributes
    ----------
    z : ndarray, shape (k, STATIONS)
        Places along the joint, side by side of the elements. [mm]
    pressure : ndarray, shape (k, STATIONS)
        [MPa]
    stress : dict of str to tuple of ndarray
        By part: places, the largest principal and the von Mises stress there. [mm], [MPa]
    """

    z: np.ndarray
    pressure: np.ndarray
    stress: Mapping[str, tuple[np.ndarray, np.ndarray, np.ndarray]]


def press(
    section: PlainSection,
    materials: Mapping[str, Material],
    corners: Sequence[Corner],
    overlap: float,
    touching: float,
    line_loads: Sequence[float],
    setting: Setting,
) -> list[Pressed]:
    """Press an insert in and put gas in the bore, free of friction.

    Parameters
    ----------
    section : PlainSection
        Every area has one layer.
    materials : mapping of str to Material
    corners : sequence of Corner
        Of the insert; elements are finest where they end.
    overlap : float
        On each side. [mm]
    touching : float
        Depth over which insert and block touch. [mm]
    line_loads : sequence of float
        Of the gas, one after the other. [N/mm]
    setting : Setting
    """
    own = [name for name, (layer,) in section.layers.items() if layer.part == "insert"]
    mesh = meshed(_insert_left(section, own), setting, [end for c in corners for end in c.ends])
    insert = mesh.Materials("|".join(own))
    rest = mesh.Materials("|".join(name for name in section.areas if name not in own))
    space = VectorH1(mesh, order=setting.order, definedon=rest) * VectorH1(
        mesh, order=setting.order, definedon=insert
    )
    (u, w), (v, z) = space.TnT()
    lam, mu = moduli(mesh, section, materials)
    out = specialcf.normal(2)
    along = ds(JOINT, bonus_intorder=2 * setting.order)
    gap = sum((corner.gap for corner in corners), CF(0))
    moved = GridFunction(space)
    in_rest, in_insert = moved.components
    free = space.FreeDofs()
    for unknown in held(mesh, space.components[0]):
        free.Clear(unknown)

    def work(a, b):
        strain, virtual = Sym(Grad(a)), Sym(Grad(b))
        return lam * Trace(strain) * Trace(virtual) + 2 * mu * InnerProduct(strain, virtual)

    def closing(of_rest, of_insert):
        return InnerProduct(of_insert - of_rest, out)

    found = []
    over: CoefficientFunction = CF(1)  # all touches at first
    for line_load in line_loads:
        for _ in range(MOST_TURNS):
            presses = IfPos(over, PENALTY, 0)
            stiffness = BilinearForm(space, symmetric=True)
            stiffness += work(u, v) * dx(rest) + work(w, z) * dx(insert)
            stiffness += presses * closing(u, w) * closing(v, z) * along
            load = LinearForm(space)
            load += -line_load * InnerProduct(out, v) * ds("bore")
            load += presses * (gap - overlap) * closing(v, z) * along
            with TaskManager():
                stiffness.Assemble()
                load.Assemble()
                change = load.vec.CreateVector()
                change.data = stiffness.mat.Inverse(free, inverse="sparsecholesky") * load.vec
            change.data -= moved.vec
            moved.vec.data += change
            over = closing(in_rest, in_insert) + overlap - gap
            if change.Norm() < SAME * moved.vec.Norm():
                break
        else:
            raise RuntimeError(f"nothing settled in {MOST_TURNS} turns")
        pressure = PENALTY / touching * IfPos(over, over, 0)
        found.append(_read(mesh, section, materials, pressure, in_rest, in_insert))
    return found


def _insert_left(section: PlainSection, own: Sequence[str]) -> PlainSection:
    """The same section with the insert on the left of its joint: the normal points out of it."""
    numbers = [number for number, name in enumerate(section.areas, 1) if name in own]

    def turned(side):
        if side.name != JOINT or side.left in numbers:
            return side
        return replace(
            side, start=side.end, end=side.start, left=side.right, right=side.left
        )  # fmt: skip

    return replace(section, sides=tuple(turned(side) for side in section.sides))


def _read(
    mesh: Mesh,
    section: PlainSection,
    materials: Mapping[str, Material],
    pressure: CoefficientFunction,
    in_rest: GridFunction,
    in_insert: GridFunction,
) -> Pressed:
    shares = np.linspace(0, 1, STATIONS)
    rule = IntegrationRule([(share,) for share in shares], [1.0] * STATIONS)
    at = mesh.MapToAllElements(rule, mesh.Boundaries(JOINT))
    stress = {}
    for name, (layer,) in section.layers.items():
        displacement = in_insert if layer.part == "insert" else in_rest
        points = mesh.MapToAllElements(lattice(), mesh.Materials(name))
        stress[layer.part] = (
            _places(points),
            *(
                np.asarray(value(points)).ravel()
                for value in invariants(displacement, materials[layer.part])
            ),
        )
    return Pressed(
        _places(at).reshape(-1, STATIONS), np.asarray(pressure(at)).reshape(-1, STATIONS), stress
    )


def _places(points) -> np.ndarray:
    return np.asarray(CF((x, y))(points)).reshape(-1, 2) @ [1, 1j]

"""Solids whose stress is known, each posed once: meshed in prisms, held, loaded and read.

mm, N, MPa and degC; lengths that are published in m are taken as mm, which leaves stress as it is.
Every problem takes the fineness of its mesh, which scales all sizes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil

import numpy as np
from numpy.typing import NDArray

from cases.check.sections import DEPTH, kirsch_cut
from cases.check.sheets import bent, bent_box, draw_up, graded, named, quarter_disc
from fea.material import REFERENCE, Material
from fea.solid import SolidModel, SolidSolution
from fea.solid.spots import solid_spots
from fea.solid.stress import hoop, recover
from geometry.solid import SolidMesh

Array = NDArray[np.float64]

BENCH = Material("steel of the benchmarks", 210_000.0, 0.3, expansion=2.3e-4)
IRON = Material("iron", 110_000.0, 0.26)
CAST = Material("cast aluminium", 72_400.0, 0.33)


@dataclass(frozen=True)
class SolidAnswer:
    """A solid solved, with its stress."""

    solution: SolidSolution
    stress: Array  # shape (6, n), at the nodes of the mesh
    worst: float  # largest principal stress on the surface [MPa]
    solver: str

    @property
    def points(self) -> Array:
        """Nodes, shape (n, 3). [mm]."""
        return self.solution.model.mesh.points

    def nodes_at(self, radius: float, z: float) -> NDArray[np.int64]:
        """Nodes at a distance from the z axis and a height. [mm]."""
        r, height = np.hypot(*self.points.T[:2]), self.points[:, 2]
        return np.flatnonzero((abs(r - radius) < 1e-6) & (abs(height - z) < 1e-6))

    def growth(self, radius: float, depth: float) -> float:
        """Mean outward way of the nodes at a radius and a depth. [um]."""
        nodes = self.nodes_at(radius, -depth)
        x, y, _ = self.points[nodes].T
        outward = (self.solution.displacement[nodes, :2] * np.stack([x, y], axis=1)).sum(axis=1)
        return float(1000 * (outward / np.hypot(x, y)).mean())

    def hoop(self, radius: float, depth: float) -> float:
        """Mean stress around the z axis of the nodes at a radius and a depth. [MPa]."""
        nodes = self.nodes_at(radius, -depth)
        x, y, _ = self.points[nodes].T
        return float(hoop(self.stress[:, nodes], x, y).mean())

    @property
    def height_change(self) -> float:
        """By how much the solid gets shorter along z. [um]."""
        top = self.points[:, 2] > self.points[:, 2].max() - 1e-6
        bottom = self.points[:, 2] < self.points[:, 2].min() + 1e-6
        up = self.solution.displacement[:, 2]
        return float(1000 * (up[bottom].mean() - up[top].mean()))

    def at(self, x: float, y: float, z: float) -> Array:
        """Stress at the node nearest to a place, shape (6,). [MPa]."""
        away = self.points - [x, y, z]
        return self.stress[:, int((away**2).sum(axis=1).argmin())]


def _answer(model: SolidModel, forces: Array) -> SolidAnswer:
    solution = model.solve(forces)
    stresses = recover(solution)
    spots = [spot for spot in solid_spots(stresses) if not spot.sharp]
    worst = spots[0].principal_mpa if spots else 0.0
    return SolidAnswer(solution, stresses[0].stress, worst, model.factor.name)


def _cells(count: float, fineness: float) -> int:
    return max(1, ceil(count / fineness))


def _finer(levels: Sequence[float], fineness: float) -> Array:
    """Levels with each layer in as many as the fineness asks for."""
    each = _cells(1, fineness)
    places = np.arange(each * (len(levels) - 1) + 1) / each
    return np.interp(places, np.arange(len(levels)), levels)


def tube(inner: float, outer: float, levels: Sequence[float], fineness: float) -> SolidMesh:
    """A quarter of a tube about the z axis, its deck at the last level."""

    def to(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        r, angle = inner + (outer - inner) * x, np.pi / 2 * y
        return r * np.cos(angle), r * np.sin(angle), z

    names = {
        "bore": lambda x, y, z: x < 1e-9,
        "beside x": lambda x, y, z: y < 1e-9,
        "beside y": lambda x, y, z: y > 1 - 1e-9,
    }
    return bent_box(_cells(3, fineness), _cells(7, fineness), _finer(levels, fineness), to, names)


IN_A_QUARTER = {"beside x": "y", "beside y": "x"}
TOP = (-2.5, -1, 0)
BELOW_28 = (-90, -75, -62, -50, -42, -36, -32, -28.8, -28, -27.2, -25, -22, -17, -12, -8, -5, *TOP)
LONG = (-160, -130, -105, -85, -70, -58, -48, -40, -34, -30, -28, -26, -22, -17, -12, -8, -5, *TOP)


def tube_with_free_ends(fineness: float = 1.0) -> SolidAnswer:
    """Radii 45 and 55, 90 long, 15 MPa in all of the bore."""
    model = SolidModel(tube(45, 55, (-90, -45, 0), fineness), {"block": IRON}, IN_A_QUARTER)
    return _answer(model, model.pressure_load("bore", 15.0))


def tube_pressed_at_its_top(material: Material, fineness: float = 1.0) -> SolidAnswer:
    """The same tube, 15 MPa in the top 28 mm, standing on a plane."""
    fixed = {**IN_A_QUARTER, "floor": "z"}
    model = SolidModel(tube(45, 55, BELOW_28, fineness), {"block": material}, fixed)
    return _answer(model, model.pressure_load("bore", 15.0, reach=28.0))


@cache
def _long_tube(fineness: float) -> SolidModel:
    """Radii 44.5 and 51.5, 160 long."""
    fixed = {**IN_A_QUARTER, "floor": "z"}
    return SolidModel(tube(44.5, 51.5, LONG, fineness), {"block": IRON}, fixed)


def half_infinite_tube(fineness: float = 1.0) -> SolidAnswer:
    """15 MPa in the top 28 mm of the bore of a long tube."""
    model = _long_tube(fineness)
    return _answer(model, model.pressure_load("bore", 15.0, reach=28.0))


def pulled_end(fineness: float = 1.0) -> SolidAnswer:
    """The same tube, 100 N outward on each mm of its mean circumference, even across its wall.

    Stress goes as 1/r, so that the wall is loaded evenly though it is longer outside.
    """
    return _on_its_end(fineness, lambda r: (100 / 7 * 48 / r, 0 * r))


def turned_end(fineness: float = 1.0) -> SolidAnswer:
    """The same, 1000 N mm on each mm, in proportion to the way off mid-wall, no force left over."""
    return _on_its_end(fineness, lambda r: (0 * r, 12 * 1000 / 7**3 * (48 - r) * 48 / r))


def _on_its_end(fineness: float, pull: Callable[[Array], tuple[Array, Array]]) -> SolidAnswer:
    """The long tube with tractions out and up on its free end, by radius. [MPa]."""
    model = _long_tube(fineness)

    def traction(place: Array, _normal: Array) -> Array:
        r = np.hypot(place[0], place[1])
        out, up = pull(r)
        return np.stack([out * place[0] / r, out * place[1] / r, up])

    return _answer(model, model.face_load("deck", traction))


def thick_plate(fineness: float = 1.0) -> SolidAnswer:
    """A quarter of an elliptic plate, 1 MPa on top."""
    across, along = _cells(6, fineness), _cells(8, fineness)

    def to(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        angle = np.pi / 2 * graded(y, along, 1.3)
        share = graded(x, across, 1.5)
        along_x, along_y = 2 + 1.25 * share, 1 + 1.75 * share
        return along_x * np.cos(angle), along_y * np.sin(angle), z

    names = {
        "outer": lambda x, y, z: x > 1 - 1e-9,
        "beside x": lambda x, y, z: y < 1e-9,
        "beside y": lambda x, y, z: y > 1 - 1e-9,
    }
    levels = _finer((-0.6, -0.3, -0.1, 0), fineness)
    mesh = bent_box(across, along, levels, to, names)
    fixed = {**IN_A_QUARTER, "outer": "xy"}
    outer = np.unique(mesh.sides["outer"])
    line = outer[abs(mesh.points[outer, 2] + 0.3) < 1e-9]
    model = SolidModel(mesh, {"block": BENCH}, fixed, supported=3 * line + 2)
    return _answer(model, model.pressure_load("deck", 1.0))


def warm_taper(fineness: float = 1.0) -> SolidAnswer:
    """A quarter of a solid of revolution, between planes, its temperature r + z."""
    root, across = np.sqrt(0.5), _cells(5, fineness)

    def meridian(x: Array, y: Array) -> tuple[Array, Array]:
        """Places r and z, x from inside to outside, y from the middle to the end."""
        ends = [0, 0.5, 0.8, 1]
        turn = np.pi * np.minimum(y / 0.5, 1) / np.array([[4], [6]])  # of the two spheres
        r_in, z_in = np.cos(turn[0]), np.sin(turn[0])
        r_out, z_out = 1.4 * np.cos(turn[1]), 1.4 * np.sin(turn[1])
        above = y > 0.5
        r_in = np.where(above, root, r_in)
        z_in = np.where(above, np.interp(y, ends, [0, root, 1.39, 1.79]), z_in)
        r_out = np.where(above, np.interp(y, ends, [0, 1.4 * np.cos(np.pi / 6), 1, 1]), r_out)
        z_out = np.where(above, np.interp(y, ends, [0, 0.7, 1.39, 1.79]), z_out)
        share = graded(x, across, 1.5)
        return r_in + (r_out - r_in) * share, z_in + (z_out - z_in) * share

    def to(y: Array, x: Array, z: Array) -> tuple[Array, Array, Array]:
        r, height = meridian(x, y)
        return r * np.cos(z), r * np.sin(z), height

    names = {"middle": lambda y, x, z: y < 1e-9, "end": lambda y, x, z: y > 1 - 1e-9}
    levels = np.linspace(0, np.pi / 2, _cells(6, fineness) + 1)
    mesh = bent_box(10 * _cells(1, fineness), across, levels, to, names)
    fixed = {"middle": "z", "end": "z", "floor": "y", "deck": "x"}
    x, y, z = mesh.points.T
    model = SolidModel(mesh, {"block": BENCH}, fixed).at(REFERENCE + np.hypot(x, y) + z)
    return _answer(model, np.zeros_like(mesh.points))


def hole_in_thick_plate(
    over_diameter: float, fineness: float = 1.0, material: Material = BENCH
) -> SolidAnswer:
    """An eighth of a plate, 50 MPa along x; hole of radius 10, thickness by its diameter."""

    def to(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        r, angle = 10 * 12.0**x, np.pi / 2 * y
        return r * np.cos(angle), r * np.sin(angle), z

    names = {
        "far": lambda x, y, z: x > 1 - 1e-9,
        "beside x": lambda x, y, z: y < 1e-9,
        "beside y": lambda x, y, z: y > 1 - 1e-9,
    }
    share = 1 - (1 - np.linspace(0, 1, _cells(7, fineness) + 1)) ** 1.6
    levels = 10 * over_diameter * (share - 1)
    mesh = bent_box(_cells(9, fineness), _cells(8, fineness), levels, to, names)
    model = SolidModel(mesh, {"block": material}, {**IN_A_QUARTER, "floor": "z"})
    far = kirsch_cut(10)

    def traction(place: Array, normal: Array) -> Array:
        x, y, _ = place
        return np.stack([*far(x, y, normal[0], normal[1]), 0 * x]) / DEPTH

    return _answer(model, model.face_load("far", traction))


def filleted_shaft(
    large: float, small: float, fillet: float, bending: bool, fineness: float = 1.0
) -> SolidAnswer:
    """A quarter of a stepped shaft of two diameters; the smaller one's mean stress is 1 MPa.

    In bending, 1 MPa is that at its surface.
    """
    R, r = large / 2, small / 2
    length = 2 * R
    arc, face = _cells(10, fineness), _cells(3, fineness)
    turn = np.linspace(0, np.pi / 2, 2 * arc + 1)[1:]
    even = [np.linspace(0, 1, 2 * _cells(count, fineness) + 1) for count in (7, 5)]
    before = 1 - graded(1 - even[0], _cells(7, fineness), 3)
    after = graded(even[1], _cells(5, fineness), 1.5)[1:]
    outer = np.linspace(0, 1, 2 * face + 1)[1:]
    first, second = -length - fillet, length
    # radius and height along the surface, height on the axis, at all levels of nodes
    radius = [r + 0 * before, r + fillet * (1 - np.cos(turn)),
              r + fillet + (R - r - fillet) * outer, R + 0 * after]  # fmt: skip
    surface = [first + (-fillet - first) * before, fillet * (np.sin(turn) - 1), 0 * outer,
               second * after]  # fmt: skip
    deep = -1.5 * fillet, 0.3 * fillet, 0.3 * fillet + 0.6 * (R - r)
    axis = [first + (deep[0] - first) * before, deep[0] + (deep[1] - deep[0]) * turn / turn[-1],
            deep[1] + (deep[2] - deep[1]) * outer,
            deep[2] + (second - deep[2]) * after]  # fmt: skip
    lines = [np.concatenate(of) for of in (radius, surface, axis)]
    levels = np.arange(0.0, len(lines[0]), 2)

    def to(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        share = np.hypot(x, y)
        at_surface, height, inside = (of[np.round(z).astype(int)] for of in lines)
        return x * at_surface, y * at_surface, inside + (height - inside) * share**2

    disc = draw_up(*quarter_disc(_cells(4, fineness), _cells(8, fineness)), levels)
    names = {"beside x": lambda x, y, z: y < 1e-9, "beside y": lambda x, y, z: x < 1e-9}
    mesh = bent(named(disc, names), to)
    fixed = {"beside x": "y", "beside y": "yz" if bending else "x", "deck": "z"}
    model = SolidModel(mesh, {"block": BENCH}, fixed)

    def traction(place: Array, normal: Array) -> Array:
        return normal * (place[0] / r if bending else 1.0)

    return _answer(model, model.face_load("floor", traction))


def along_x(answer: SolidAnswer, depth: float) -> float:
    """Stress along x beside the hole at a depth, over the pull. [1]."""
    return float(answer.at(0, 10, -depth)[0] / 50)

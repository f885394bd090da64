"""Problems whose answer is known, each posed once: drawn, loaded, solved, and read at a place.

Those of heat stand in :mod:`cases.check.heat`. mm, N and MPa; plane stress but for one
problem, which says so. Every one takes the fineness of its mesh, as
:func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.closed_form import kirsch_plate
from fea.elasticity import Traction
from fea.material import Material
from fea.model import SectionModel, Solution
from fea.stress import LayerStress, recover
from geometry import Block, DeckSection
from geometry.outline import Outline, draw_section, outline_from_curves
from geometry.planar import Curve, arc, circle, line, polygon, smooth_curve
from geometry.section_mesh import Depth, Layer, UniformDepth

Array = NDArray[np.float64]

DEPTH = 20.0
FLAT = UniformDepth(DEPTH)
ALLOY = Material("alloy", 70000.0, 0.33)
IRON = Material("iron", 110000.0, 0.26)
SYMMETRY = {"x = 0": "x", "y = 0": "y"}
QUARTER = np.pi / 2


def node_at(points: Array, x: float, y: float) -> int:
    """The node at (x, y).

    Raises
    ------
    ValueError
        If no node of ``points``, shape (n, 2), is there. [mm]
    """
    away = np.hypot(*(points - [x, y]).T)
    if not away.min() < 1e-6 * np.abs(points).max():
        raise ValueError(f"no node at ({x:g}, {y:g}).")
    return int(np.argmin(away))


@dataclass(frozen=True)
class Answer:
    """A solved problem, to be read at its nodes."""

    solution: Solution
    stresses: tuple[LayerStress, ...]

    @property
    def points(self) -> Array:
        """Nodes, shape (n, 2). [mm]."""
        return self.solution.model.mesh.points

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self.solution.model.factor.name

    def nodes(self, edge: str) -> NDArray[np.int64]:
        """Nodes of a named edge, shape (k,)."""
        return np.unique(self.solution.model.mesh.edges[edge])

    def node_at(self, x: float, y: float) -> int:
        """The node at (x, y).

        Raises
        ------
        ValueError
            If none is there.
        """
        return node_at(self.points, x, y)

    def moved(self, x: float, y: float) -> Array:
        """Displacement of the node at (x, y), shape (2,). [mm].

        Raises
        ------
        ValueError
            If none is there.
        """
        return self.solution.displacement[self.node_at(x, y)]

    def stress(self, nodes: ArrayLike, part: str | None = None) -> Array:
        """Recovered sxx, syy, sxy at nodes, shape (3, n), from the only part or the named one.

        Raises
        ------
        ValueError
            If that part is not at all of the nodes.
        """
        values = np.full((3, len(self.points)), np.nan)
        for layer in self.stresses:
            if part in (None, layer.part):
                values[:, layer.nodes] = layer.stress
        found = values[:, np.atleast_1d(nodes)]
        if np.isnan(found).any():
            raise ValueError(f"no {part or 'metal'} at some of the nodes.")
        return found

    def polar(
        self, nodes: ArrayLike, part: str | None = None, centre: ArrayLike = (0.0, 0.0)
    ) -> Array:
        """Recovered radial, hoop and shear stress about a point, shape (3, n)."""
        x, y = (self.points[np.atleast_1d(nodes)] - np.asarray(centre)).T
        sxx, syy, sxy = self.stress(nodes, part)
        c, s = np.array([x, y]) / np.hypot(x, y)
        return np.stack([
            sxx * c**2 + syy * s**2 + 2 * sxy * s * c,
            sxx * s**2 + syy * c**2 - 2 * sxy * s * c,
            (syy - sxx) * s * c + sxy * (c**2 - s**2),
        ])  # fmt: skip


def solve_outline(
    outline: Outline,
    materials: Mapping[str, Material],
    tractions: Mapping[str, Traction],
    *,
    fixed: Mapping[str, str] | None = None,
    forces: Mapping[tuple[float, float], tuple[float, float]] | None = None,
    fineness: float = 1.0,
    element_size: float = 4.0,
) -> Answer:
    """Mesh an outline, load it, solve and recover.

    Parameters
    ----------
    outline : Outline
    materials : mapping of str to Material
    tractions : mapping of str to Traction
        On named edges, integrated over the depth. [N/mm]
    fixed : mapping of str to str, optional
        As :class:`fea.model.SectionModel` takes it.
    forces : mapping, optional
        Forces on the nodes at (x, y), integrated over the depth. [N]
    fineness, element_size : float
        As :func:`geometry.mesh.mesh_outline` takes them.

    Raises
    ------
    ValueError
        If a force is to act where no node is.
    """
    from geometry.mesh import mesh_outline

    mesh = mesh_outline(outline, element_size=element_size, fineness=fineness)
    model = SectionModel(mesh, materials, fixed)
    load = np.zeros((len(mesh.points), 2))
    for edge, traction in tractions.items():
        load += model.edge_load(edge, traction)
    for place, force in (forces or {}).items():
        load[node_at(mesh.points, *place)] += force
    solution = model.solve_forces(load)
    return Answer(solution, recover(solution))


LayersAt = Callable[[complex], tuple[Layer, ...]]
"""Layers at a point x + iy; none where there is no metal."""


def plane(curves: Sequence[Curve], layers: LayersAt) -> Outline:
    """Outline of metal between curves."""
    return outline_from_curves(curves, lambda z: [layers(complex(at)) for at in z])


def metal(inside: Callable[[float, float], bool], depth: Depth = FLAT) -> LayersAt:
    """One part wherever (x, y) is inside."""
    layer = Layer("barrel", depth)
    return lambda z: (layer,) if inside(z.real, z.imag) else ()


def gas(q: float) -> Traction:
    """Traction of a line load that pushes on the metal. [N/mm]."""
    return lambda _x, _y, nx, ny: -q * np.stack([nx, ny])


def ring(a: float, b: float, depth: Depth = FLAT) -> Outline:
    """A ring about the origin, edges "bore" and "outside"."""
    return plane(
        [*circle(0, a, "bore"), *circle(0, b, "outside")],
        metal(lambda x, y: a < np.hypot(x, y) < b, depth),
    )


# --- rings ---


def lame_ring(poisson: float = 0.33, fineness: float = 1.0) -> Answer:
    """Ring of 50/80 mm with 10 MPa in its bore, drawn as any section is."""
    section = DeckSection(block=Block(bore=100, barrel_wall=30), depth=DEPTH)
    return solve_outline(
        draw_section(section),
        {"barrel": Material("alloy", 70000.0, poisson)},
        {"bore": gas(10 * DEPTH)},
        fineness=fineness,
    )


def compound_ring(fineness: float = 1.0) -> Answer:
    """Iron liner bonded in an alloy barrel, 45/55/80 mm, 9 MPa in the bore."""
    section = DeckSection(block=Block(bore=90, liner=10, barrel_wall=25), depth=DEPTH)
    materials = {"liner": IRON, "barrel": Material("alloy", 72000.0, 0.33)}
    return solve_outline(
        draw_section(section), materials, {"bore": gas(9 * DEPTH)}, fineness=fineness
    )


def layered_ring(fineness: float = 1.0) -> Answer:
    """Ring of 50/80 mm, 12 mm of alloy and 8 mm of iron over one another, 10 MPa in the bore."""
    layers = (Layer("barrel", UniformDepth(12.0)), Layer("insert", UniformDepth(8.0)))
    outline = plane(
        [*circle(0, 50, "bore"), *circle(0, 80, "outside")],
        lambda z: layers if 50 < abs(z) < 80 else (),
    )
    materials = {"barrel": ALLOY, "insert": IRON}
    return solve_outline(outline, materials, {"bore": gas(10 * DEPTH)}, fineness=fineness)


def stepped_ring(fineness: float = 1.0) -> Answer:
    """Ring 8 mm deep from r = 50 to 60 and 20 mm from there to 90, 10 MPa on the 8 mm face."""

    def layers(z: complex) -> tuple[Layer, ...]:
        if not 50 < abs(z) < 90:
            return ()
        return (Layer("barrel", UniformDepth(8.0 if abs(z) < 60 else 20.0)),)

    curves = [*circle(0, 50, "bore"), *circle(0, 60, "joint"), *circle(0, 90, "outside")]
    return solve_outline(
        plane(curves, layers), {"barrel": ALLOY}, {"bore": gas(10 * 8.0)}, fineness=fineness
    )


@dataclass(frozen=True)
class FallingDepth:
    """Depth of 20 mm at r = 50, falling as r^-1.5."""

    def __call__(self, x: Array, y: Array) -> Array:
        """Depth at x, y of shape (...), of the same shape. [mm]."""
        return 20.0 * (np.hypot(x, y) / 50) ** -1.5


def power_law_ring(fineness: float = 1.0) -> Answer:
    """Ring of 50/90 mm whose depth falls as r^-1.5, 10 MPa in the bore."""
    outline = ring(50, 90, cast(Depth, FallingDepth()))
    return solve_outline(outline, {"barrel": ALLOY}, {"bore": gas(10 * 20.0)}, fineness=fineness)


def harmonic_ring(order: int = 2, fineness: float = 1.0) -> Answer:
    """Ring of 50/80 mm under a pressure of 10 MPa cos n theta in its bore."""

    def push(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        return -10 * DEPTH * np.cos(order * np.arctan2(y, x)) * np.stack([nx, ny])

    return solve_outline(ring(50, 80), {"barrel": ALLOY}, {"bore": push}, fineness=fineness)


def eccentric_bore(fineness: float = 1.0) -> Answer:
    """Ring of 50/80 mm whose bore is 15 mm off the centre, thick side at +x, 10 MPa in it."""
    outline = plane(
        [*circle(0, 50, "bore"), *circle(15, 80, "outside")],
        metal(lambda x, y: np.hypot(x, y) > 50 and np.hypot(x - 15, y) < 80),
    )
    return solve_outline(outline, {"barrel": ALLOY}, {"bore": gas(10 * DEPTH)}, fineness=fineness)


def squeezed_ring(a: float = 40.0, b: float = 80.0, fineness: float = 1.0) -> Answer:
    """Ring squeezed on its outside by two loads of 1000 N per mm of depth, at +x and -x."""
    return solve_outline(
        ring(a, b),
        {"barrel": Material("alloy", 70000.0, 0.3)},
        {},
        forces={(b, 0): (-1000 * DEPTH, 0.0), (-b, 0): (1000 * DEPTH, 0.0)},
        fineness=fineness,
    )


class PlaneStrain(Material):
    """A material that can't strain across the plane.

    E / (1 - nu^2) and nu / (1 - nu) take the places of E and nu in plane stress, which leaves mu
    and makes lambda that of the solid.
    """

    __slots__ = ()

    @property
    def lam(self) -> float:
        """E nu / ((1 + nu) (1 - 2 nu)). [MPa]."""
        return self.youngs_modulus * self.poisson / ((1 + self.poisson) * (1 - 2 * self.poisson))


def plane_strain_cylinder(poisson: float, fineness: float = 1.0) -> Answer:
    """Cylinder of radii 3 and 9, E = 1000, unit pressure in its bore, plane strain."""
    materials = {"barrel": PlaneStrain("rubber", 1000.0, poisson)}
    return solve_outline(ring(3, 9), materials, {"bore": gas(1 * DEPTH)}, fineness=fineness)


# --- plates ---


def ellipse(along_x: float, along_y: float, tag: str, gaps: int = 24) -> list[Curve]:
    """A quarter from the x axis to the y axis in tangent arcs."""
    t = np.linspace(0, QUARTER, gaps + 1)
    points = along_x * np.cos(t) + 1j * along_y * np.sin(t)
    points[-1] = 1j * along_y
    tangents = -along_x * np.sin(t) + 1j * along_y * np.cos(t)
    tangents[-1] = -1
    return smooth_curve(points, tangents / np.abs(tangents), tag)


def pull(x: Array, y: Array, nx: Array, ny: Array) -> Array:
    """Traction of a unit stress that pulls on the metal, shape (2, ...). [N/mm].

    Parameters
    ----------
    x, y : ndarray, shape (...)
        Place, which doesn't matter. [mm]
    nx, ny : ndarray, shape (...)
        Outward normal.
    """
    return DEPTH * np.stack([nx, ny])


def kirsch_cut(a: float) -> Traction:
    """Traction of Kirsch's field, 50 MPa along x, on cuts around a hole of radius a."""

    def traction(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        r, theta = np.hypot(x, y), np.arctan2(y, x)
        field = kirsch_plate(r, theta, a, 50.0, youngs_modulus=70000.0, poisson=0.33)
        c, s = np.array([x, y]) / r
        sxx = field.radial * c**2 + field.hoop * s**2 - 2 * field.shear * s * c
        syy = field.radial * s**2 + field.hoop * c**2 + 2 * field.shear * s * c
        sxy = (field.radial - field.hoop) * s * c + field.shear * (c**2 - s**2)
        return DEPTH * np.stack([sxx * nx + sxy * ny, sxy * nx + syy * ny])

    return traction


def square_with_hole(a: float, half: float) -> Outline:
    """A quarter of a square of half-width ``half`` with a hole of radius a, cut out of a plate."""
    return plane(
        [
            *arc(0, a, 0, QUARTER, "hole"),
            line(a, half, "y = 0"),
            line(half, half + 1j * half, "cut"),
            line(half + 1j * half, 1j * half, "cut"),
            line(1j * half, 1j * a, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half and 0 < y < half and np.hypot(x, y) > a),
    )


def kirsch_hole(fineness: float = 1.0) -> Answer:
    """A quarter of a plate with a hole of radius 10, pulled along x with 50 MPa.

    A square of half-width 40 is cut out of it, and Kirsch's tractions put on the cuts.
    """
    a, half = 10.0, 40.0
    return solve_outline(
        square_with_hole(a, half), {"barrel": ALLOY}, {"cut": kirsch_cut(a)},
        fixed=SYMMETRY, fineness=fineness,
    )  # fmt: skip


def square_with_ellipse(across: float, along: float, gaps: int = 24) -> Outline:
    """A quarter of a plate of half-width 800 with an elliptic hole, edge "pulled" at its top."""
    half = 800.0
    return plane(
        [
            *ellipse(across, along, "hole", gaps),
            line(across, half, "y = 0"),
            line(half, half + 1j * half, "side"),
            line(half + 1j * half, 1j * half, "pulled"),
            line(1j * half, 1j * along, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half and 0 < y < half and np.hypot(x / across, y / along) > 1),
    )


def inglis_hole(across: float, along: float, fineness: float = 1.0) -> Answer:
    """A quarter of a plate of half-width 800 with an elliptic hole, unit pull along y."""
    return solve_outline(
        square_with_ellipse(across, along), {"barrel": ALLOY}, {"pulled": pull},
        fixed=SYMMETRY, fineness=fineness, element_size=160,
    )  # fmt: skip


def quarter_membrane(gaps: int = 24) -> Outline:
    """NAFEMS LE1 with its metres taken as dm, edge "outside" pulled outward."""
    return plane(
        [
            *ellipse(20, 10, "hole", gaps),
            line(20, 32.5, "y = 0"),
            *ellipse(32.5, 27.5, "outside"),
            line(27.5j, 10j, "x = 0"),
        ],
        metal(
            lambda x, y: (
                x > 0 and y > 0 and np.hypot(x / 20, y / 10) > 1 > np.hypot(x / 32.5, y / 27.5)
            )
        ),
    )


def elliptic_membrane(fineness: float = 1.0) -> Answer:
    """NAFEMS LE1 with its metres taken as dm, E = 210 GPa, nu = 0.3, 10 MPa outward."""
    return solve_outline(
        quarter_membrane(),
        {"barrel": Material("steel", 210000.0, 0.3)},
        {"outside": lambda x, y, nx, ny: 10 * pull(x, y, nx, ny)},
        fixed=SYMMETRY,
        fineness=fineness,
    )


def cook_membrane(fineness: float = 1.0) -> Answer:
    """Cook's tapered panel, built in at its left, sheared up at its right with a load of 1.

    E = 1, nu = 1/3, depth 1.
    """
    corners = [0j, 48 + 44j, 48 + 52j, 48 + 60j, 44j]
    tags = ["lower", "below", "above", "upper", "built in"]
    outline = plane(
        [side.tagged(tag) for side, tag in zip(polygon(corners), tags, strict=True)],
        metal(lambda x, y: 0 < x < 48 and 44 * x < 48 * y < 48 * 44 + 16 * x, UniformDepth(1.0)),
    )

    def shear(x: Array, _y: Array, _nx: Array, _ny: Array) -> Array:
        return np.stack([np.zeros_like(x), np.full_like(x, 1 / 16)])

    return solve_outline(
        outline, {"barrel": Material("unit", 1.0, 1 / 3)}, {"below": shear, "above": shear},
        fixed={"built in": "xy"}, fineness=fineness,
    )  # fmt: skip


NOTCH = 10.0


def notched_plate(width: float, half_length: float) -> Outline:
    """Right half of a plate pulled along x, a notch of radius 10 at x = 0 in its upper edge."""
    corner = half_length - 1j * width
    return plane(
        [
            *arc(0, NOTCH, -QUARTER, 0, "notch"),
            line(NOTCH, half_length, "upper"),
            line(half_length, corner, "pulled"),
            line(corner, -1j * width, "lower"),
            line(-1j * width, -1j * NOTCH, "x = 0"),
        ],
        metal(lambda x, y: 0 < x < half_length and -width < y < 0 and np.hypot(x, y) > NOTCH),
    )


def _notched(
    outline: Outline,
    traction: Traction,
    fixed: Mapping[str, str],
    fineness: float,
    element_size: float,
) -> Answer:
    return solve_outline(
        outline, {"barrel": ALLOY}, {"pulled": traction},
        fixed=fixed, fineness=fineness, element_size=element_size,
    )  # fmt: skip


def edge_notch(fineness: float = 1.0) -> Answer:
    """Semicircular notch of radius 10 in the edge of a plate 800 wide, unit pull."""
    return _notched(notched_plate(800.0, 800.0), pull, {"x = 0": "x"}, fineness, 160)


def opposite_notches(width: float, fineness: float = 1.0) -> Answer:
    """Strip with two opposite semicircular notches of radius 10, unit pull on the full width."""
    fixed = {"x = 0": "x", "lower": "y"}
    return _notched(notched_plate(width / 2, 2.5 * width), pull, fixed, fineness, 16)


def single_notch(width: float, fineness: float = 1.0) -> Answer:
    """Strip with one semicircular notch of radius 10, unit mean pull.

    The load acts through the centre of the net section, half a radius beyond that of the strip.
    """

    def traction(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        return (1 - 6 * NOTCH * (y + width / 2) / width**2) * pull(x, y, nx, ny)

    return _notched(notched_plate(width, 2.5 * width), traction, {"x = 0": "x"}, fineness, 16)

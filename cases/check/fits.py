"""Problems of fit whose answer is known; each posed once.

mm, N, MPa and degC; plane stress; one ring pressed into another of the same depth, or a punch on a
plane. Every one takes the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.heat import meshed
from cases.check.sections import ALLOY, DEPTH, FLAT, Answer, plane
from fea.contact import Contact, Fit, FittedModel
from fea.material import REFERENCE, Material
from fea.stress import recover
from geometry import Block, DeckSection
from geometry.outline import draw_section
from geometry.parted import part_off
from geometry.planar import arc, line
from geometry.section_mesh import Layer
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]

WROUGHT = Material("wrought alloy", 71700.0, 0.33)
CAST = Material("cast alloy", 72400.0, 0.33, expansion=21.5e-6)
GREY_IRON = Material("grey iron", 110000.0, 0.26, expansion=11e-6)


@dataclass(frozen=True)
class FitAnswer(Answer):
    """A solved problem with its joint."""

    contact: Contact


def pressed_rings(
    radii: tuple[float, float, float],
    inner: Material,
    outer: Material,
    overlap: float,
    *,
    warmer: float = 0.0,
    fineness: float = 1.0,
) -> FitAnswer:
    """A ring pressed into another, both evenly warmer than 20 degC.

    Parameters
    ----------
    radii : tuple of float
        Bore, joint and outside. [mm]
    inner, outer : Material
    overlap : float
        Radial, at 20 degC. [mm]
    warmer : float
        [K]
    fineness : float
    """
    a, c, b = radii
    section = DeckSection(block=Block(bore=2 * a, liner=c - a, barrel_wall=b - c), depth=DEPTH)
    parted = part_off(meshed(draw_section(section), fineness), "liner")
    edges = {**parted.mesh.edges, "liner fit": parted.joint.other}  # read on the outer ring
    parted = replace(parted, mesh=replace(parted.mesh, edges=edges))
    materials = {"liner": inner, "barrel": outer}
    model = FittedModel(parted, materials, {("liner", "barrel"): Fit(overlap=overlap)})
    if warmer:
        model = model.at(np.full(len(parted.mesh.points), REFERENCE + warmer))
    fitted = model.solve()
    return FitAnswer(fitted.solution, recover(fitted.solution), fitted.contact)


def shrink_fit(fineness: float = 1.0) -> FitAnswer:
    """Steel rings of radii 4, 6 and 8 in, 0.005 in too large; drawn at 10 mm to the inch."""
    psi = 0.0068947573
    steel = replace(WROUGHT, name="steel", youngs_modulus=30e6 * psi, poisson=0.3)
    return pressed_rings((40.0, 60.0, 80.0), steel, steel, 0.05, fineness=fineness)


def ring_in_block(fineness: float = 1.0) -> FitAnswer:
    """A wrought ring of 45/52 mm in a cast one up to 75 mm, 0.05 mm too large on the radius."""
    return pressed_rings((45.0, 52.0, 75.0), WROUGHT, CAST, 0.05, fineness=fineness)


def warm_iron_ring(fineness: float = 1.0) -> FitAnswer:
    """An iron ring in a cast one, 50 K warmer than fitted: more than half of its grip is lost."""
    return pressed_rings((45.0, 52.0, 75.0), GREY_IRON, CAST, 0.05, warmer=50.0, fineness=fineness)


@dataclass(frozen=True)
class PunchAnswer(FitAnswer):
    """A punch on a plane."""

    x: Array  # of the pairs, from the middle [mm]

    @property
    def pressed(self) -> Array:
        """Places of the pairs that touch. [mm]."""
        return self.x[self.contact.closed]


PUNCH_FLAT, PUNCH_RADIUS, PUNCH_LOAD = 5.0, 50.0, 2235.37
"""Half the flat face, the radius of its edges [mm], and the load for each mm of depth [N/mm]."""


def punch_on_plane(fineness: float = 1.0) -> PunchAnswer:
    """A flat punch with rounded edges on a plane, each half of a disc that stands for a half-plane.

    The discs are loaded as a force at the middle of a half-plane loads them there (Flamant).
    """
    from geometry.mesh import mesh_outline

    far = 100.0
    curves = [*arc(0, far, 0, np.pi, "above"), *arc(0, far, np.pi, 2 * np.pi, "below"),
              line(-far, far, "middle")]  # fmt: skip
    parts = {True: (Layer("insert", FLAT),), False: (Layer("barrel", FLAT),)}
    outline = plane(curves, lambda z: parts[z.imag > 0] if abs(z) < far else ())
    touching = PUNCH_FLAT * np.linspace(-1.4, 1.4, 141, dtype=np.complex128)
    sizes = SizeWishes(touching, np.full(len(touching), 0.1 * fineness), 0.25)
    parted = part_off(mesh_outline(outline, wishes=[sizes]), "insert")
    x = parted.mesh.points[parted.joint.own, 0]
    gap = np.maximum(np.abs(x) - PUNCH_FLAT, 0.0) ** 2 / (2 * PUNCH_RADIUS)
    parted = replace(parted, joints=(replace(parted.joint, gap=gap),))
    model = FittedModel(parted, {"insert": ALLOY, "barrel": ALLOY}, {("insert", "barrel"): Fit()})

    def pushed(x: Array, y: Array, nx: Array, ny: Array) -> Array:
        radial = -2 * PUNCH_LOAD * DEPTH * np.abs(y) / (np.pi * (x**2 + y**2))
        return radial * np.stack([nx, ny])

    forces = model.model.edge_load("above", pushed) + model.model.edge_load("below", pushed)
    fitted = model.solve(forces)
    at = parted.mesh.points[model.pairs.own, 0]
    return PunchAnswer(fitted.solution, recover(fitted.solution), fitted.contact, at)

"""Problems of fit whose answer is known; each posed once.

mm, N, MPa and degC; plane stress; one ring pressed into another of the same depth. Every one takes
the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cases.check.heat import meshed
from cases.check.sections import DEPTH, Answer
from fea.contact import Contact, Fit, FittedModel
from fea.material import REFERENCE, Material
from fea.stress import recover
from geometry import Block, DeckSection
from geometry.outline import draw_section
from geometry.parted import part_off

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

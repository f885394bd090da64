"""Problems of fit whose answer is known; each posed once.

mm, N, MPa and degC; plane stress; one ring pressed into another of the same depth. Every one takes
the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.heat import meshed
from cases.check.sections import DEPTH, Answer
from cases.check.sections import gas as pressure
from fea.contact import Contact, Fit, FittedModel
from fea.elasticity import Traction
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
    gas: float = 0.0,
    behind: bool = False,
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
    gas : float
        Pressure in the bore. [MPa]
    behind : bool
        Whether it stands in the joint as well, on both faces.
    fineness : float
    """
    a, c, b = radii
    section = DeckSection(block=Block(bore=2 * a, liner=c - a, barrel_wall=b - c), depth=DEPTH)
    parted = part_off(meshed(draw_section(section), fineness), "liner")
    edges = {**parted.mesh.edges, "both faces": parted.mesh.edges["liner fit"],
             "liner fit": parted.joint.other}  # read on the outer ring  # fmt: skip
    parted = replace(parted, mesh=replace(parted.mesh, edges=edges))
    materials = {"liner": inner, "barrel": outer}
    model = FittedModel(parted, materials, {("liner", "barrel"): Fit(overlap=overlap)})
    if warmer:
        model = model.at(np.full(len(parted.mesh.points), REFERENCE + warmer))
    load = model.model.edge_load("bore", pressure(gas * DEPTH))
    if behind:
        load += model.model.edge_load("both faces", pressure(gas * DEPTH))
    fitted = model.solve(load)
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


def gas_in_the_bore(fineness: float = 1.0) -> FitAnswer:
    """The wrought ring in the cast one at 10 MPa: the joint is pressed harder than that."""
    return pressed_rings((45.0, 52.0, 75.0), WROUGHT, CAST, 0.05, gas=10.0, fineness=fineness)


def gas_behind(fineness: float = 1.0) -> FitAnswer:
    """The same at 25 MPa, beyond where the gas gets into the joint and stands on both faces."""
    return pressed_rings(
        (45.0, 52.0, 75.0), WROUGHT, CAST, 0.05, gas=25.0, behind=True, fineness=fineness
    )


@dataclass(frozen=True)
class TurnedAnswer(FitAnswer):
    """A fit that is turned."""

    most: float  # torque that friction holds, if all of the joint slips at once [N mm]
    twist: float  # of the outer ring at the joint beside its rim, under that torque [rad]


def turned_fit(fineness: float = 1.0) -> TurnedAnswer:
    """The same ring 8 mm deep, friction 0.12, turned by shear on its bore against the rim."""
    a, c, b, friction, depth = 45.0, 52.0, 75.0, 0.12, 8.0
    section = DeckSection(block=Block(bore=2 * a, liner=c - a, barrel_wall=b - c), depth=depth)
    parted = part_off(meshed(draw_section(section), fineness), "liner")
    side, fit = ("liner", "barrel"), Fit(overlap=0.05)
    model = FittedModel(parted, {"liner": WROUGHT, "barrel": CAST}, {side: fit})
    pressed = model.solve()  # without friction, which would be locked in
    model = model.with_fits({side: replace(fit, friction=friction)})

    def shear(radius: float, torque: float) -> Traction:
        force = torque / (2 * np.pi * radius**3)
        return lambda x, y, _nx, _ny: force * np.stack([-y, x])

    unit = model.model.edge_load("bore", shear(a, 1.0))
    unit += model.model.edge_load("outside", shear(b, -1.0))
    most = friction * float(pressed.contact.force.sum()) * c
    held = model.solve(0.95 * most * unit, pressed)
    if not held.contact.sticks.all():
        raise ValueError("the joint slips below the torque that its friction holds.")
    points, moved = parted.mesh.points, held.solution.displacement - pressed.solution.displacement

    def turn(nodes: NDArray[np.int64]) -> float:
        x, y = points[nodes].T
        u, v = moved[nodes].T
        return float(((x * v - y * u) / (x**2 + y**2)).mean())

    twist = turn(np.unique(parted.joint.other)) - turn(np.unique(parted.mesh.edges["outside"]))
    return TurnedAnswer(held.solution, recover(held.solution), held.contact, most, twist / 0.95)

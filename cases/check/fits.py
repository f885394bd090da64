"""Problems of fit whose answer is known; each posed once.

mm, N, MPa and degC; plane stress; one ring pressed into another of the same depth. Every one takes
the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from cases.check.heat import meshed
from cases.check.sections import DEPTH, Answer
from fea.contact import Compound, Contact, ContactError, Fit, Fitted, FittedModel
from fea.material import REFERENCE, Material
from fea.stress import recover
from geometry import Block, DeckSection
from geometry.outline import draw_section
from geometry.parted import Parted, part_off

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
    parted = _parted_rings(radii, fineness)
    edges = {**parted.mesh.edges, "liner fit": parted.joint.other}  # read on the outer ring
    parted = replace(parted, mesh=replace(parted.mesh, edges=edges))
    materials = {"liner": inner, "barrel": outer}
    model = FittedModel(parted, materials, {("liner", "barrel"): Fit(overlap=overlap)})
    if warmer:
        model = model.at(np.full(len(parted.mesh.points), REFERENCE + warmer))
    fitted = model.solve()
    return FitAnswer(fitted.solution, recover(fitted.solution), fitted.contact)


def _parted_rings(radii: tuple[float, float, float], fineness: float) -> Parted:
    """A ring in another, of radii at bore, joint and outside."""
    a, c, b = radii
    section = DeckSection(block=Block(bore=2 * a, liner=c - a, barrel_wall=b - c), depth=DEPTH)
    return part_off(meshed(draw_section(section), fineness), "liner")


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
class StrengthAnswer(FitAnswer):
    """Rings whose joint is filled with compound, under the most that it holds."""

    most: float  # rise of temperature [K] or torque [N mm]


TENSILE, SHEAR = 2.0, 3.0  # strength of the compound [MPa]
NEAR = 1e-3  # share of the most by which it is tried on both sides


def heated_until_it_opens(fineness: float = 1.0) -> StrengthAnswer:
    """An iron ring in a cast one, bonded by compound and evenly warmer: the cast one grows more."""
    model = _filled_rings(fineness)

    def warmer(rise: float, pressed: Fitted) -> Fitted:
        warm = model.at(np.full(len(model.parted.mesh.points), REFERENCE + rise))
        return warm.solve(before=pressed)

    return _most_held(model, warmer, 10.0)


def turned_until_it_slips(fineness: float = 1.0) -> StrengthAnswer:
    """The same at 20 degC, turned in the bore against the outside."""
    model = _filled_rings(fineness)

    def turning(radius: float, torque: float) -> Callable[..., np.ndarray]:
        shear = torque / (2 * np.pi * radius**3)
        return lambda x, y, _nx, _ny: shear * np.stack([-y, x])

    def turned(torque: float, pressed: Fitted) -> Fitted:
        forces = model.model.edge_load("bore", turning(45.0, torque))
        return model.solve(
            forces + model.model.edge_load("outside", turning(75.0, -torque)), pressed
        )

    return _most_held(model, turned, 5e5)


def _filled_rings(fineness: float) -> FittedModel:
    """Iron and cast rings of 45, 52 and 75 mm, compound between them."""
    compound = Compound(
        tension=((REFERENCE, TENSILE), (200.0, TENSILE)),
        shear=((REFERENCE, SHEAR), (200.0, SHEAR)),
        fills=0.1,
        friction=0.12,
    )
    parted = _parted_rings((45.0, 52.0, 75.0), fineness)
    fits = {("liner", "barrel"): Fit(compound=compound)}
    return FittedModel(parted, {"liner": GREY_IRON, "barrel": CAST}, fits)


def _most_held(
    model: FittedModel, under: Callable[[float, Fitted], Fitted], some: float
) -> StrengthAnswer:
    """The most that breaks no compound; none if it doesn't break right beyond it.

    It is read in proportion off the stress that ``some`` makes, and tried.
    """
    pressed = model.solve()
    contact = under(some, pressed).contact
    pull, shear = np.maximum(-contact.pressure, 0.0), contact.friction / model.pairs.area
    most = some / float(np.hypot(pull / TENSILE, shear / SHEAR).max())
    best = under((1 - NEAR) * most, pressed)
    try:
        breaks = bool(under((1 + NEAR) * most, pressed).contact.broken.all())
    except ContactError:  # nothing holds the ring any more
        breaks = True
    held = most if breaks and best.contact.intact.all() else 0.0
    return StrengthAnswer(best.solution, recover(best.solution), best.contact, held)

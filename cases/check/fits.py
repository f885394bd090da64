"""Problems of fit whose answer is known; each posed once.

mm, N, MPa and degC; plane stress; one ring pressed into another of the same depth, or a punch on a
plane. Every one takes the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.heat import meshed
from cases.check.sections import ALLOY, DEPTH, FLAT, Answer, plane
from cases.check.sections import gas as pressure
from fea.contact import Compound, Contact, ContactError, Fit, Fitted, FittedModel
from fea.elasticity import Traction
from fea.material import REFERENCE, Material
from fea.stress import recover
from geometry import Block, DeckSection
from geometry.outline import draw_section
from geometry.parted import Parted, part_off
from geometry.planar import arc, circle, line
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
    parted = _parted_rings(radii, fineness)
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


def ring_on_a_lined_barrel(fineness: float = 1.0) -> FitAnswer:
    """A ring of 54/64 mm pressed on a barrel that its cast-in liner has pressed out before.

    Liner 40/44 of iron, 0.03 mm too large on the radius; ring 0.006 mm too small on the radius for
    the barrel as that stands then.
    """
    parts = ((40.0, 44.0, "liner"), (44.0, 54.0, "barrel"), (54.0, 64.0, "insert"))
    curves = [*circle(0, 40.0, "bore"), *circle(0, 44.0, "cast"), *circle(0, 54.0, "fit"),
              *circle(0, 64.0, "outside")]  # fmt: skip

    def layers(at: complex) -> tuple[Layer, ...]:
        return tuple(Layer(part, FLAT) for low, high, part in parts if low < abs(at) < high)

    parted = part_off(meshed(plane(curves, layers), fineness), "insert")
    metals = {"liner": replace(GREY_IRON, misfit=0.03 / 44), "barrel": CAST, "insert": WROUGHT}
    fit = {("insert", "barrel"): Fit(overlap=0.006)}
    drawn = FittedModel(parted, metals, fit)
    drawn = drawn.at(np.full(len(parted.mesh.points), REFERENCE))
    clear = drawn.with_fits({("insert", "barrel"): Fit(overlap=-1.0)}).solve()
    fitted = drawn.fitted_as(clear, "insert").solve()
    return FitAnswer(fitted.solution, recover(fitted.solution), fitted.contact)


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

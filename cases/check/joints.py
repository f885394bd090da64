"""Problems of joints that slide and of edges that press, whose answer is known; each posed once.

mm, N and MPa; plane stress, 1 mm deep. Every one takes the fineness of its mesh, as
:func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.contacts import ALLOY, SIDE, STRIP, TAU, UNIT, ContactAnswer, even, solved
from cases.check.sections import plane
from fea.contact import Fit, Fitted, FittedModel
from fea.elasticity import Traction
from fea.material import Material
from fea.stress import recover
from geometry.mesh import mesh_outline
from geometry.parted import Parted, part_off
from geometry.planar import Curve, arc, line
from geometry.section_mesh import Layer, UniformDepth
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def _meshed(
    curves: Sequence[Curve],
    layers: Callable[[complex], tuple[Layer, ...]],
    places: Complexes,
    size: Array,
    grading: float = 0.3,
) -> Parted:
    """A section whose "insert" is a piece of its own, meshed by the sizes wished for at places."""
    outline = plane(curves, layers)
    return part_off(mesh_outline(outline, wishes=[SizeWishes(places, size, grading)]), SIDE[0])


def _grid(left: complex, right: complex, steps: int = 161) -> Complexes:
    """Places in a rectangle between two corners."""
    x, y = np.meshgrid(
        np.linspace(left.real, right.real, steps), np.linspace(left.imag, right.imag, steps)
    )
    return (x + 1j * y).ravel()


# --- a sharp edge on a flat ---

HUB, HUB_PRESS = 10.0, 100.0
"""Half-width of the hub [mm], and mean pressure under it [MPa]."""
NEAREST, FURTHEST = 0.004, 0.08
"""From the edge: between them the slope is read, over the half-width."""
EDGE_FRICTION = 0.3


@dataclass(frozen=True)
class EdgeAnswer(ContactAnswer):
    """A hub with square edges on a flat."""

    def slope(self, side: int) -> float:
        """Exponent s of the pressure r^-s at the right (1) or the left edge (-1)."""
        away = HUB - side * self.x
        pressure = self.steps[-1].contact.pressure
        near = (away > NEAREST * HUB) & (away < FURTHEST * HUB) & (pressure > 0)
        return -float(np.polyfit(np.log(away[near]), np.log(pressure[near]), 1)[0])

    @property
    def opening_slope(self) -> float:
        """The same of what is alike on both sides of the line that halves the right corner's metal.

        The stress across the joint and that across the flank's line drawn on into the flat, in
        sum: the corner's other stress, which grows as r^-0.0915, cancels in it.
        """
        from scipy.interpolate import LinearNDInterpolator

        (layer,) = (of for of in self.stresses if of.part == "barrel")
        turned = 1j * (
            self.points[layer.nodes] @ [1, 1j] - HUB
        )  # the line down is +x, the joint -y
        near = (np.abs(turned) > 0) & (np.abs(turned) < HUB / 2)
        from_edge = np.log(turned[near])
        values = LinearNDInterpolator(
            np.stack([from_edge.real, from_edge.imag], axis=1), layer.stress[:2, near].T
        )
        places = np.log(HUB * np.geomspace(NEAREST, FURTHEST, 30))
        joint = values(places, np.full_like(places, -np.pi / 2 + 1e-6))[:, 1]
        down = values(places, np.zeros_like(places))[:, 0]
        return -float(np.polyfit(places, np.log(-joint - down), 1)[0])


def hub(fit: Fit, share: float = 0.0, fineness: float = 1.0) -> EdgeAnswer:
    """A square hub pressed on a flat of its metal, then pushed toward +x.

    Parameters
    ----------
    fit : Fit
    share : float
        Of the push over friction times load.
    fineness : float
    """
    half, high = 8 * HUB, 2 * HUB
    curves = [
        line(-half, half, "joint"),
        line(half, half - 1j * half, "side"),
        line(half - 1j * half, -half - 1j * half, "bottom"),
        line(-half - 1j * half, -half, "side"),
        line(HUB, HUB + 1j * high, "hub"),
        line(HUB + 1j * high, -HUB + 1j * high, "top"),
        line(-HUB + 1j * high, -HUB, "hub"),
    ]  # fmt: skip

    def layers(z: complex) -> tuple[Layer, ...]:
        if abs(z.real) < HUB and 0 < z.imag < high:
            return (Layer(SIDE[0], UNIT),)
        return (Layer(SIDE[1], UNIT),) if abs(z.real) < half and -half < z.imag < 0 else ()

    edges = np.array([-HUB + 0j, HUB + 0j])
    places = np.append(_grid(-half - 1j * half, half + 1j * high), edges)
    away = np.abs(places[:, None] - edges).min(axis=1)
    size = fineness * np.minimum(0.25 * NEAREST * HUB + 0.25 * away, 8.0)
    parted = _meshed(curves, layers, places, size, 0.25)
    model = FittedModel(parted, dict.fromkeys(SIDE, ALLOY), {SIDE: fit})
    load = 2 * HUB * HUB_PRESS
    forces = model.model.edge_load("top", even(0, -HUB_PRESS))
    forces += model.model.edge_load("bottom", even(0, load / (2 * half)))
    loads = [forces]
    if share:
        push = share * fit.friction * load
        pushed = model.model.edge_load("top", along(push, HUB, high))
        loads.append(forces + pushed + model.model.edge_load("bottom", along(-push, half, -half)))
    answer = solved(model, loads)
    return EdgeAnswer(answer.solution, answer.stresses, model, answer.steps)


def along(force: float, half: float, high: float, middle: float = 0.0) -> Traction:
    """A force along a level edge of a half-width, with the moment that brings it down to y = 0.

    Parameters
    ----------
    force : float
        Toward +x. [N]
    half, high, middle : float
        Half-width of the edge, its height and the x of its middle. [mm]
    """
    turn = 1.5 * force * high / half**3
    return lambda x, _y, _nx, _ny: np.stack([
        np.full_like(x, force / (2 * half)), turn * (x - middle)
    ])  # fmt: skip


def smooth_hub(fineness: float = 1.0) -> EdgeAnswer:
    """Without friction."""
    return hub(Fit(), fineness=fineness)


def bonded_hub(fineness: float = 1.0) -> EdgeAnswer:
    """One with the flat."""
    return hub(Fit(bonded=True), fineness=fineness)


def sliding_hub(fineness: float = 1.0) -> EdgeAnswer:
    """All but a little of it slides toward +x."""
    return hub(Fit(friction=EDGE_FRICTION), 0.995, fineness)


# --- a lap of two bars ---

LAP, LAP_PULL = 800.0, 6000.0


@dataclass(frozen=True)
class LapAnswer(ContactAnswer):
    """Bars that slide on one another, joint on both faces of the inner one."""

    def slip_length(self, side: int, step: int) -> float:
        """Length that slides from the right (1) or the left end (-1). [mm]."""
        contact = self.steps[step].contact
        slides = contact.closed & ~contact.sticks & (side * self.x > 0)
        return float(self.model.pairs.area[slides].sum()) / 2

    def end_slip(self, side: int, step: int) -> float:
        """Slip of the pairs at an end, since the press. [mm]."""
        slip = np.abs(self.steps[step].contact.slip - self.steps[0].contact.slip)
        return float(slip[side * self.x > LAP / 2 - 1e-6].mean())

    def lost(self, steps: Sequence[int]) -> float:
        """Work of friction in some steps, each in one sense from its first slip on. [N mm]."""
        return work_of_friction(self.steps, steps)


def work_of_friction(solved_steps: Sequence[Fitted], steps: Sequence[int]) -> float:
    """In some steps, each in one sense from its first slip on. [N mm]."""
    return sum(
        float(np.abs(now.friction * (now.slip - before.slip)).sum())
        for step in steps
        for now, before in [(solved_steps[step].contact, solved_steps[step - 1].contact)]
    )


def lap(fineness: float = 1.0) -> LapAnswer:
    """A bar between two of its kind, pulled out to the right with 6000 N and let go, twice.

    The outer two are held at their left ends; together they are twice as stiff. Between them the
    bars don't bend.
    """
    half, high, friction = LAP / 2, 4.0, 0.15
    curves = [
        line(-half + at * 1j * high, half + at * 1j * high, name)
        for name, at in (("outside", 1.5), ("joint", 0.5), ("joint", -0.5), ("outside", -1.5))
    ]
    for side, (inner, outer) in {1: ("pulled", "free"), -1: ("end", "held")}.items():
        x = side * half
        curves.append(line(x - 0.5j * high, x + 0.5j * high, inner))
        curves.append(line(x + 0.5j * high, x + 1.5j * high, outer))
        curves.append(line(x - 0.5j * high, x - 1.5j * high, outer))

    def layers(z: complex) -> tuple[Layer, ...]:
        if abs(z.real) > half or abs(z.imag) > 1.5 * high:
            return ()
        return (Layer(SIDE[0] if abs(z.imag) > high / 2 else SIDE[1], UNIT),)

    places = _grid(-half - 6j, half + 6j)
    parted = _meshed(curves, layers, places, np.full(len(places), 2.5 * fineness))
    metal = Material("bar", STRIP / high, 0.0)  # so that the press does not lengthen it
    model = FittedModel(parted, dict.fromkeys(SIDE, metal), {SIDE: Fit(friction=friction)})
    squeeze = TAU / 2 / friction
    pressed = model.model.edge_load("outside", lambda _x, _y, nx, ny: -squeeze * np.stack([nx, ny]))
    pulled = pressed + model.model.edge_load("pulled", even(LAP_PULL / high, 0))
    pulled += model.model.edge_load("held", even(-LAP_PULL / (2 * high), 0))
    answer = solved(model, [pressed, pulled, pressed, pulled, pressed])
    return LapAnswer(answer.solution, answer.stresses, model, answer.steps)


# --- a block on a spring that slides on its ground ---

SPRING, WEIGHT, GROUND_FRICTION = 1000.0, 100.0, 0.2
"""Stiffness [N/mm], press [N] and coefficient."""


@dataclass(frozen=True)
class BlockAnswer(ContactAnswer):
    """A block that slides to and fro."""

    def stands_at(self, step: int) -> float:
        """Mean slip of the block. [mm]."""
        slides = ~self.model.bonded
        slip = self.steps[step].contact.slip * self.model.pairs.tangent[:, 0]
        return float(slip[slides].mean())

    def lost(self, steps: Sequence[int]) -> float:
        """Work of friction in some steps, each in one sense from its first slip on. [N mm]."""
        return work_of_friction(self.steps, steps)


def block_on_a_spring(most: float, fineness: float = 1.0) -> BlockAnswer:
    """A stiff block pressed on the ground, held by a bar, pushed by ``most`` [N] and let go, twice.

    The bar is bonded to a wall on its left; it is thin, so that it alone gives way.
    """
    long, high, wide, bar = 100.0, 10.0, 60.0, 2.0
    stiff = 7e7
    thin = UniformDepth(SPRING * long / (stiff * bar))
    x = long + wide
    curves = [
        line(-wide, x, "ground"),
        line(x - 10j, -wide - 10j, "bottom"),
        line(x, x - 10j, "side"),
        line(-wide - 10j, -wide, "side"),
        line(-wide, -wide + 1j * high, "side"),
        line(-wide + 1j * high, 1j * high, "side"),
        line(1j * high, 0, "wall"),
        line(4j, long + 4j, "bar"),
        line((4 + bar) * 1j, long + (4 + bar) * 1j, "bar"),
        line(long, long + 1j * high, "block"),
        line(long + 1j * high, x + 1j * high, "top"),
        line(x, x + 1j * high, "block"),
    ]

    def layers(z: complex) -> tuple[Layer, ...]:
        if -wide < z.real < x and -10 < z.imag < 0:
            return (Layer("barrel", UNIT),)
        if -wide < z.real < 0 and 0 < z.imag < high:
            return (Layer("outer wall", UNIT),)
        if long < z.real < x and 0 < z.imag < high:
            return (Layer("insert", UNIT),)
        return (Layer("insert", thin),) if 0 < z.real < long and 4 < z.imag < 4 + bar else ()

    places = _grid(-wide - 10j, x + 1j * high)
    parted = _meshed(curves, layers, places, np.full(len(places), 2.0 * fineness))
    metal = Material("stiff", stiff, 0.0)
    parts = ("barrel", "outer wall", "insert")
    model = FittedModel(
        parted,
        dict.fromkeys(parts, metal),
        {SIDE: Fit(friction=GROUND_FRICTION), ("insert", "outer wall"): Fit(bonded=True)},
    )
    pressed = model.model.edge_load("top", even(0, -WEIGHT / wide))
    pressed += model.model.edge_load("bottom", even(0, WEIGHT / (x + wide)))
    push = along(most, wide / 2, high, long + wide / 2)
    pushed = pressed + model.model.edge_load("top", push)
    answer = solved(model, [pressed, pushed, pressed, pushed, pressed])
    return BlockAnswer(answer.solution, answer.stresses, model, answer.steps)


# --- a cord around a drum ---

DRUM, CORD, CORD_FRICTION = 50.0, 1e6, 0.2
"""Radius at the cord's middle [mm], its EA [N], and coefficient."""
HELD, PULLED = 1000.0, 1500.0
"""Tension at its ends. [N]."""
STAGES = 10
"""In which it is pulled: it slides a little further in each."""


@dataclass(frozen=True)
class CordAnswer(ContactAnswer):
    """A cord around half of a drum, first drawn tight without friction."""

    radius: float  # of the drum [mm]

    @property
    def slip_arc(self) -> float:
        """Angle over which it slides. [rad]."""
        contact = self.steps[-1].contact
        return float(self.model.pairs.area[contact.closed & ~contact.sticks].sum()) / self.radius

    @property
    def end_moves(self) -> float:
        """Slip at the pulled end as it is pulled. [mm]."""
        slip = np.abs(self.steps[-1].contact.slip - self.steps[0].contact.slip)
        return float(slip[np.argmax(self.x)])


def cord(fineness: float = 1.0) -> CordAnswer:
    """A cord over a stiff half drum, its ends hanging; one is then pulled harder."""
    thick = 0.2
    inner, outer = DRUM - thick / 2, DRUM + thick / 2
    curves = [
        *arc(0, inner, 0, np.pi, "joint"),
        *arc(0, outer, 0, np.pi, "outside"),
        line(-inner, inner, "base"),
        line(inner, outer, "pulled"),
        line(-outer, -inner, "held"),
    ]

    def layers(z: complex) -> tuple[Layer, ...]:
        if z.imag < 0 or abs(z) > outer:
            return ()
        return (Layer("insert" if abs(z) > inner else "barrel", UNIT),)

    places: Complexes = inner * np.exp(1j * np.linspace(0, np.pi, 400))
    parted = _meshed(curves, layers, places, np.full(400, 0.8 * fineness))
    metal = Material("cord", CORD / thick, 0.0)
    materials = {"insert": metal, "barrel": replace(metal, youngs_modulus=1e3 * CORD / thick)}
    model = FittedModel(parted, materials, {SIDE: Fit()})

    def tight(right: float) -> Array:
        """Both ends drawn down, the drum holding against them."""
        forces = model.model.edge_load("pulled", even(0, -right / thick))
        forces += model.model.edge_load("held", even(0, -HELD / thick))
        up, turn = right + HELD, (right - HELD) * DRUM

        def holds(x: Array, _y: Array, _nx: Array, _ny: Array) -> Array:
            return np.stack([np.zeros_like(x), up / (2 * inner) + 1.5 * turn * x / inner**3])

        return forces + model.model.edge_load("base", holds)

    first = model.solve(tight(HELD))
    model = model.with_fits({SIDE: Fit(friction=CORD_FRICTION)})
    pulled = first
    for tension in np.linspace(HELD, PULLED, STAGES + 1)[1:].tolist():
        pulled = model.solve(tight(tension), pulled)
    return CordAnswer(pulled.solution, recover(pulled.solution), model, (first, pulled), inner)

"""Problems of contact and friction whose answer is known; each posed once.

mm, N and MPa; plane stress. Two blocks that meet along a flat line are half-planes to a contact
much narrower than they are; a round one stands off that line by its initial gap. Every one takes
the fineness of its mesh, as :func:`geometry.mesh.mesh_outline` does.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.check.sections import Answer, plane
from fea.contact import Fit, Fitted, FittedModel
from fea.elasticity import Traction
from fea.material import Material
from fea.stress import recover
from geometry.mesh import mesh_outline
from geometry.parted import Parted, part_off
from geometry.planar import circle, line
from geometry.section_mesh import Layer, UniformDepth
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]

SIDE = ("insert", "barrel")
UNIT = UniformDepth(1.0)
ALLOY = Material("alloy", 70_000.0, 0.33)


@dataclass(frozen=True)
class ContactAnswer(Answer):
    """A solved joint, pair by pair."""

    model: FittedModel
    steps: tuple[Fitted, ...]  # in order; ``solution`` is that of the last

    def pressure_towards(self, angle: float) -> float:
        """Pressure between the pairs about an angle from +x. [MPa].

        Parameters
        ----------
        angle : float
            [deg]
        """
        x, y = self.model.parted.mesh.points[self.model.pairs.own].T
        at = np.degrees(np.arctan2(y, x))
        order = np.argsort(at)
        pressure = self.steps[-1].contact.pressure
        return float(np.interp(angle, at[order], pressure[order], period=360))

    @property
    def x(self) -> Array:
        """Place of each pair along the joint, shape (k,). [mm]."""
        return self.model.parted.mesh.points[self.model.pairs.own, 0]

    def pressure_at(self, x: float, step: int = -1) -> float:
        """Pressure between the pairs about x. [MPa]."""
        return self._between(x, self.steps[step].contact.pressure)

    def friction_at(self, x: float, step: int = -1) -> float:
        """Friction on the upper body toward +x, over the area, between the pairs about x. [MPa]."""
        pairs, contact = self.model.pairs, self.steps[step].contact
        return self._between(x, contact.friction * pairs.tangent[:, 0] / pairs.area)

    def along(self, x: float, part: str) -> Array:
        """Stress sxx, syy, sxy of a body at x on the joint. [MPa]."""
        mesh, joint = self.model.parted.mesh, self.model.parted.joint
        nodes = np.unique(joint.own if part == joint.part else joint.other)
        nodes = nodes[np.argsort(mesh.points[nodes, 0])]
        found = self.stress(nodes, part)
        return np.array([np.interp(x, mesh.points[nodes, 0], of) for of in found])

    def largest_shear(self, part: str, near: float, depth: tuple[float, float]) -> float:
        """Largest shear stress of a body between two depths, within ``near`` of x = 0. [MPa]."""
        (layer,) = (of for of in self.stresses if of.part == part)
        x, y = self.points[layer.nodes].T
        here = (np.abs(x) < near) & (np.abs(y) > depth[0]) & (np.abs(y) < depth[1])
        sxx, syy, sxy = layer.stress[:, here]
        return float(np.hypot((sxx - syy) / 2, sxy).max())

    def half_width(self, where: Callable[[Fitted], NDArray[np.bool_]], step: int = -1) -> float:
        """Half of the length of the joint where something is so. [mm]."""
        return float(self.model.pairs.area[where(self.steps[step])].sum()) / 2

    def _between(self, x: float, values: Array) -> float:
        order = np.argsort(self.x)
        return float(np.interp(x, self.x[order], values[order]))


def solved(model: FittedModel, loads: Sequence[Array]) -> ContactAnswer:
    """A model under loads one after the other."""
    steps: list[Fitted] = []
    for load in loads:
        steps.append(model.solve(load, steps[-1] if steps else None))
    solution = steps[-1].solution
    return ContactAnswer(solution, recover(solution), model, tuple(steps))


def two_blocks(
    half: float, low: float, high: float, size: Callable[[NDArray[np.complex128]], Array]
) -> Parted:
    """Blocks of a half-width that meet at y = 0, ``low`` and ``high`` in height. [mm].

    Edges "top" and "bottom", and "left" and "right" of the upper one; ``size`` gives that of the
    elements by place x + iy. [mm].
    """
    below, above = -1j * low, 1j * high
    outline = plane(
        [
            line(-half, half, "joint"),
            line(-half + below, half + below, "bottom"),
            line(half + below, half, "side"),
            line(half, half + above, "right"),
            line(half + above, -half + above, "top"),
            line(-half + above, -half, "left"),
            line(-half, -half + below, "side"),
        ],
        lambda z: (
            (Layer(SIDE[0] if z.imag > 0 else SIDE[1], UNIT),)
            if abs(z.real) < half and -low < z.imag < high
            else ()
        ),
    )
    x, y = np.meshgrid(np.linspace(-half, half, 241), np.linspace(-low, high, 241))
    z = (x + 1j * y).ravel()
    return part_off(mesh_outline(outline, wishes=[SizeWishes(z, size(z), 0.3)]), SIDE[0])


def standing_off(parted: Parted, gap: Callable[[Array], Array]) -> Parted:
    """The same with an initial gap by the place x along the joint."""
    x = parted.mesh.points[parted.joint.own, 0]
    return replace(parted, joints=(replace(parted.joint, gap=gap(x)),))


def even(x: float, y: float) -> Traction:
    """The same traction everywhere. [N/mm]."""
    return lambda at, _y, _nx, _ny: np.stack([np.full_like(at, x), np.full_like(at, y)])


HERTZ_RADIUS, HERTZ_HALF = 50.0, 30.0


def hertz(
    fineness: float = 1.0, *, friction: float = 0.0, sideways: Sequence[float] = ()
) -> ContactAnswer:
    """A cylinder of radius 50 on a flat, pressed with 1000 N/mm, then pushed along.

    Parameters
    ----------
    fineness : float
    friction : float
    sideways : sequence of float
        Force on the cylinder toward +x in the steps that follow, over friction times the press.
    """
    half, press = HERTZ_HALF, 1000.0
    parted = standing_off(
        two_blocks(half, half, half, lambda z: fineness * np.minimum(
            0.1 + 0.3 * np.hypot(np.maximum(np.abs(z.real) - 1.6, 0), z.imag), 8.0
        )),
        lambda x: x**2 / (2 * HERTZ_RADIUS),
    )  # fmt: skip
    model = FittedModel(
        parted, dict.fromkeys(SIDE, ALLOY), {SIDE: Fit(overlap=0.0, friction=friction)}
    )
    pressed = model.model.edge_load("top", even(0, -press / (2 * half)))
    pressed += model.model.edge_load("bottom", even(0, press / (2 * half)))

    def pushed(force: float) -> Array:
        along = force / (2 * half)
        turned = 1.5 * force / half**2  # linear over the edge: the moment of the force about y = 0
        top = model.model.edge_load("top", lambda x, _y, _nx, _ny: np.stack([
            np.full_like(x, along), turned * x
        ]))  # fmt: skip
        bottom = model.model.edge_load("bottom", lambda x, _y, _nx, _ny: np.stack([
            np.full_like(x, -along), turned * x
        ]))  # fmt: skip
        return top + bottom

    loads = [pressed + pushed(share * friction * press) for share in sideways]
    return solved(model, [pressed, *loads])


STRIP, TAU = 72_400.0 * 160.0, 15.0
"""Stiffness EA of the strip [N], and friction that its press can bear along it [N/mm]."""


@dataclass(frozen=True)
class SlidingAnswer(ContactAnswer):
    """A joint that slides to and fro."""

    def end_moves(self, step: int) -> float:
        """Slip of the pair at the right end. [mm]."""
        return float(self.steps[step].contact.slip[np.argmax(self.x)]) * self._sign

    def slip_length(self, step: int) -> float:
        """Length that slides. [mm]."""
        contact = self.steps[step].contact
        return float(self.model.pairs.area[contact.closed & ~contact.sticks].sum())

    def lost(self, steps: Sequence[int]) -> float:
        """Work of friction in some steps, each in one sense from its first slip on. [N mm]."""
        return sum(
            float(np.abs(
                self.steps[step].contact.friction
                * (self.steps[step].contact.slip - self.steps[step - 1].contact.slip)
            ).sum())
            for step in steps
        )  # fmt: skip

    @property
    def _sign(self) -> float:
        return float(np.sign(self.model.pairs.tangent[0, 0]))


FRICTION = 0.3
"""Of the cylinder on the flat."""


def pushed(*shares: float, fineness: float = 1.0) -> ContactAnswer:
    """The cylinder pushed along by shares of friction times load, one after the other."""
    return hertz(fineness, friction=FRICTION, sideways=shares)


def strip(fineness: float = 1.0) -> SlidingAnswer:
    """A thin strip pressed on a rigid base, pulled at its right end with 6000 N and let go, twice.

    Its height of 4 mm is little beside the length that slides, so that it is a bar.
    """
    half, height, friction, pull = 300.0, 4.0, 0.15, 6000.0
    metal = Material("strip", STRIP / height, 0.0)  # so that the press does not lengthen it
    parted = two_blocks(
        half, 10.0, height,
        lambda z: fineness * np.where(z.imag > -1, 2.5, 2.5 + 0.3 * np.abs(z.imag + 1)),
    )  # fmt: skip
    base = replace(metal, name="rigid", youngs_modulus=1e3 * metal.youngs_modulus)
    model = FittedModel(
        parted, dict(zip(SIDE, (metal, base), strict=True)), {SIDE: Fit(friction=friction)}
    )
    pressed = model.model.edge_load("top", even(0, -TAU / friction))
    pressed += model.model.edge_load("bottom", even(0, TAU / friction))
    pulled = pressed + model.model.edge_load("right", even(pull / height, 0))
    answer = solved(model, [pressed, pulled, pressed, pulled, pressed])
    return SlidingAnswer(answer.solution, answer.stresses, model, answer.steps)


PIN, PLATE = 25.0, 250.0
"""Radius of the pin, and of the plate that is cut out of an endless one. [mm]."""


def pin(load: float, overlap: float, fineness: float = 1.0) -> ContactAnswer:
    """A pin of radius 25 in an endless plate, pushed along +x at its middle.

    The plate takes the load, and the pressure of the fit, by the tractions that they have at its
    rim (Timoshenko & Goodier, *Theory of Elasticity*, 3rd ed., 1970, force at a point of a plate).

    Parameters
    ----------
    load : float
        For each mm of depth. [N/mm]
    overlap : float
        Radius of the pin less that of the hole. [mm]
    fineness : float
    """
    outline = plane(
        [*circle(0, PIN, "joint"), *circle(0, PLATE, "outside")],
        lambda z: (Layer(SIDE[0] if abs(z) < PIN else SIDE[1], UNIT),) if abs(z) < PLATE else (),
    )
    x, y = np.meshgrid(*[np.linspace(-PLATE, PLATE, 241)] * 2)
    z = np.append((x + 1j * y).ravel(), PIN * np.exp(1j * np.linspace(0, 2 * np.pi, 181)))
    size = fineness * np.minimum(0.9 + 0.3 * np.abs(np.abs(z) - PIN), 30.0)
    parted = part_off(mesh_outline(outline, wishes=[SizeWishes(z, size, 0.3)]), SIDE[0])
    model = FittedModel(parted, dict.fromkeys(SIDE, ALLOY), {SIDE: Fit(overlap=overlap)})
    nu = ALLOY.poisson
    squeeze = max(ALLOY.youngs_modulus * overlap / (2 * PIN), 0.0) * (PIN / PLATE) ** 2

    def far_away(x: Array, y: Array, _nx: Array, _ny: Array) -> Array:
        r = np.hypot(x, y)
        c, s = x / r, y / r
        radial = -(3 + nu) * load * c / (4 * np.pi * r) - squeeze
        shear = (1 - nu) * load * s / (4 * np.pi * r)
        return np.stack([radial * c - shear * s, radial * s + shear * c])

    forces = model.model.edge_load("outside", far_away)
    points = parted.mesh.points
    middle = np.flatnonzero(np.hypot(*points.T) < PIN / 5)
    through_it = np.stack([np.ones(len(middle)), *points[middle].T])
    forces[middle, 0] += load * np.linalg.pinv(through_it)[:, 0]
    return solved(model, [forces])

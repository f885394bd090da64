"""What presses on the bore of a solid, crank angle by crank angle: gas, and the piston's thrust."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.given import gas_given
from cases.gas.solve import GasLoad
from cases.gas.thrust import side_thrust
from fea.solid import SolidModel
from geometry.clock import clock_to_angle

Array = NDArray[np.float64]

BORE = "bore"
"""Name of the wall that fires."""
FLOOR = "crankcase"
"""Name of the face on which the block stands."""
HELD = {FLOOR: "z"}
"""Along the bore at the crankcase floor; free to grow sideways."""
SKIRT_ARC = 60.0
"""Half of the arc of wall that a piston's skirt leans on (common practice, no source). [deg]."""
SKIRT_OF_BORE = 0.5
"""Length of the skirt over the bore (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Instant:
    """What presses on the bore wall at one crank angle."""

    deg: float | None  # None of a static load
    pressure: float  # of the gas, on the wall [MPa]
    reach: float  # of the gas, below the deck [mm]
    thrust: float = 0.0  # of the piston [N]
    clock: float = 0.0  # of the side that it leans on [h]
    pin: float = 0.0  # depth of its pin below the deck [mm]


def instants(case: Case, load: GasLoad) -> tuple[Instant, ...]:
    """What presses on the wall at each crank angle that has to be solved.

    Parameters
    ----------
    case : Case
    load : GasLoad
        Where it is static there is one instant, without a piston.
    """
    wall, engine = load.wall_load, gas_given(case).engine
    if wall is None:
        return (Instant(None, load.peak_pressure, load.pressurised_depth),)
    assert engine is not None
    deg = wall.angles_to_solve(deepest(case))
    thrust = side_thrust(wall, engine.piston, engine.engine.speed, deg)
    values = (
        deg, wall.pressure_at(deg), wall.reach(deg), np.abs(thrust.force), thrust.side(),
        thrust.depth,
    )  # fmt: skip
    return tuple(Instant(*(float(one) for one in row)) for row in zip(*values, strict=True))


def deepest(case: Case) -> float:
    """Depth down to which a place may govern: section, cuts and inserts. [mm]."""
    inserts = [design.insert.lowest for design in case.designs if design.insert]
    return max([case.section_depth, *inserts, *(cut.depth for cut in case.block.relief_cuts)])


def gas_forces(model: SolidModel, pressed: tuple[Instant, ...]) -> list[Array]:
    """Nodal forces of each instant, shape (n, 3). [N]."""
    floor = _on_floor(model) if any(one.thrust for one in pressed) else []
    return [
        model.pressure_load(BORE, one.pressure, one.reach) + _leaning(model, one, floor)
        for one in pressed
    ]


def forces_beside(case: Case, model: SolidModel, pressed: Sequence[Instant]) -> list[Array]:
    """Nodal forces of the gas on each bore beside, at instants that press most, shape (n, 3). [N].

    Those of the largest pressure, and of the largest force. A solid ends half-way through a bore
    beside; the metal of its barrel is pulled there by what the half that is left is pressed with,
    falling off with depth over sqrt(R t), as far as a barrel's edge load reaches (Timoshenko &
    Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed., 1959, art. 114, from memory). Held
    against the solid of that bore firing, it pushes within 0.05 of the own pull as hard.
    """
    block = case.block
    outside, wall = block.barrel_radius, block.barrel_radius - block.bore / 2
    reach = float(np.sqrt(outside * wall))
    most = {
        max(pressed, key=lambda one: one.pressure),
        max(pressed, key=lambda one: one.pressure * one.reach),
    }
    found = []
    for axis in block.axes_beside:

        def pulls(at: Array, _normal: Array, axis: float = axis) -> Array:
            ours = (at[0] * axis > 0) & (np.abs(at[1]) < outside)
            return np.stack([np.where(ours, np.exp(at[2] / reach), 0.0), 0 * at[0], 0 * at[0]])

        answer = model.face_load("cut", pulls)
        for one in sorted(most, key=lambda one: one.reach):

            def presses(
                x: Array, _y: Array, _z: Array, axis: float = axis, one: Instant = one
            ) -> Array:
                return np.where(x * axis > 0, one.pressure, 0.0)

            gas = model.pressure_load("other bores", presses, one.reach)
            found.append(gas - answer * (gas[:, 0].sum() / answer[:, 0].sum()))
    return found


def _leaning(model: SolidModel, one: Instant, floor: Sequence[Array]) -> Array:
    """Nodal forces of the piston's thrust, shape (n, 3). [N].

    On the skirt's half of its arc and length about the pin, falling off to its sides as a cosine.
    """
    if not one.thrust:
        return np.zeros_like(model.mesh.points)
    bore = model.mesh.points[np.unique(model.mesh.sides[BORE])]
    half = SKIRT_OF_BORE * float(np.hypot(*bore[0, :2]))
    # no deeper than the wall goes
    pin = min(one.pin, float(-bore[:, 2].min()) - half)
    side = float(clock_to_angle(one.clock))

    def spread(x: Array, y: Array, z: Array) -> Array:
        off = np.abs(np.angle(np.exp(1j * (np.arctan2(y, x) - side))))
        share = np.cos(off * 90 / SKIRT_ARC)
        return np.where((off < np.deg2rad(SKIRT_ARC)) & (np.abs(z + pin) < half), share, 0.0)

    forces = model.pressure_load(BORE, spread)
    along = forces[:, 0].sum() * np.cos(side) + forces[:, 1].sum() * np.sin(side)
    return _balanced(model, forces * (one.thrust / along), floor)


def _on_floor(model: SolidModel) -> list[Array]:
    """What the crankcase may answer by across the bore: even shear along x and y, and a turn."""

    def along_x(at: Array) -> Array:
        return np.stack([at[0] ** 0, 0 * at[0], 0 * at[0]])

    def along_y(at: Array) -> Array:
        return np.stack([0 * at[0], at[0] ** 0, 0 * at[0]])

    def around(at: Array) -> Array:
        return np.stack([-at[1], at[0], 0 * at[0]])

    return [model.face_load(FLOOR, partial(_shear, way)) for way in (along_x, along_y, around)]


def _balanced(model: SolidModel, forces: Array, floor: Sequence[Array]) -> Array:
    """Forces with those on the floor that answer them across the bore.

    The moment that is left tilts the block on its floor, which is held along the bore.
    """
    x, y, _ = model.mesh.points.T

    def resultant(of: Array) -> Array:
        return np.array([of[:, 0].sum(), of[:, 1].sum(), (x * of[:, 1] - y * of[:, 0]).sum()])

    share = np.linalg.solve(np.column_stack([resultant(of) for of in floor]), -resultant(forces))
    return forces + sum(one * of for one, of in zip(share, floor, strict=True))


def _shear(way: Callable[[Array], Array], place: Array, _normal: Array) -> Array:
    """Traction that only the place says."""
    return way(place)

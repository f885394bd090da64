"""The head on a solid: its gasket presses the deck, holds it by friction, and feels each step.

The deck counts as machined flat with insert and liner in, cold and without the head; heights are
told from there. Bolts are taken to reach down to the crankcase floor, on which the solid stands:
what presses on the deck goes down through the metal to there.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgWarning

from cases.base.faults import Refusal, RunError
from cases.case import Case
from cases.head.clamp import Clamp
from cases.head.given import HeadInput, head_given
from cases.head.result import DeckInDepth, DeckLoad, DesignHead, JointStep
from cases.life.steps import EngineState
from cases.solid.life import FittedSolidLife, SolidLife
from cases.solid.result import OWN_PARTS
from fea.solid import SolidSolution
from fea.solid.envelope import worst_of
from fea.solid.faces import Traction, face_work
from fea.solid.fitted import FittedState
from fea.solid.rubbed import RubbingError, rubbed
from fea.solid.spots import SolidSpot, solid_spots
from geometry.clock import clock_of, format_clock
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

DECK = "deck"
GIVES = 2e-3
"""Slip at which a gasket's coating gives before it slides (common practice, no source). [mm]."""
SECTORS = 24
"""Parts of a fire ring's turn, over each of which its height is a mean."""
NO_HEAD, CLAMPED, AT_GAS = "without head", "clamped", "at gas"


@dataclass(frozen=True, eq=False, slots=True)
class SolidGasket:
    """What a gasket presses on the deck of a solid with.

    Attributes
    ----------
    ring, land : ndarray, shape (n,)
        Of the fire rings and of the rest, downwards. [N]
    firing : ndarray, shape (n,)
        Of the fire ring of the bore that fires alone. [N]
    """

    ring: Array
    land: Array
    firing: Array

    @property
    def down(self) -> Array:
        """Nodal forces of all of it, shape (n, 3). [N]."""
        found = np.zeros((len(self.ring), 3))
        found[:, 2] = -(self.ring + self.land)
        return found

    def relieved(self, nodes: Flags) -> SolidGasket:
        """The same with nothing on some nodes, shape (n,), beside the fire rings."""
        return replace(self, land=np.where(nodes, 0.0, self.land))

    @property
    def pressing(self) -> Array:
        """What presses on each node, for friction: never less than nothing, shape (n,). [N]."""
        return np.maximum(self.ring + self.land, 0.0)


def lay_in_depth(
    mesh: SolidMesh, case: Case, given: HeadInput, clamp: Clamp, land_pressure: float
) -> SolidGasket:
    """The gasket on the deck of a solid: the firing bore's fire ring, half of its neighbours'.

    Parameters
    ----------
    mesh : SolidMesh
    case : Case
    given : HeadInput
    clamp : Clamp
    land_pressure : float
        On all but the fire rings. [MPa]
    """
    block = case.block
    first = block.firing_bore - 1
    inner = (given.fire_ring_diameter - given.fire_ring_width) / 2
    outer = (given.fire_ring_diameter + given.fire_ring_width) / 2
    axes = np.array(block.axes)

    def nearest(place: Array) -> tuple[Array, Array]:
        away = np.hypot(place[0][..., None] - axes, place[1][..., None])
        return away.min(axis=-1), away.argmin(axis=-1)

    def on_ring(bore: int) -> Traction:
        def traction(place: Array, normal: Array) -> Array:
            away, of = nearest(place)
            return -normal * ((away > inner) & (away < outer) & (of == bore))

        return traction

    def on_land(place: Array, normal: Array) -> Array:
        return -normal * (nearest(place)[0] >= outer)

    rings = np.zeros(len(mesh.points))
    firing = rings
    for bore, load in enumerate(clamp.ring_loads):
        even = -face_work(mesh, DECK, on_ring(bore))[:, 2]
        if even.sum() <= 0:
            continue
        here = even / even.sum() * (load if bore == first else load / 2)
        rings = rings + here
        if bore == first:
            firing = here
    return SolidGasket(rings, -land_pressure * face_work(mesh, DECK, on_land)[:, 2], firing)


def deck_in_depth(case: Case, head: DesignHead, life: SolidLife) -> DeckInDepth | Refusal:
    """What a head does to a solid as it is made; why not, where the joint gives way under it.

    An insert that the gasket pushes out of its fit is told so, with no gasket on it.

    Parameters
    ----------
    case : Case
        With a head.
    head : DesignHead
        What it does to the section.
    life : SolidLife
    """
    given, clamp = head_given(case), head.clamp
    assert given is not None
    gasket = lay_in_depth(life.mesh, case, given, clamp, head.land_pressure_mpa)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", LinAlgWarning)  # of a joint that lets go
        found = _under_gasket(case, given, clamp, life, gasket)
    if isinstance(found, DeckInDepth) or "insert" not in life.mesh.parts:
        return found
    again = _under_gasket(case, given, clamp, life, gasket.relieved(insert_nodes(life.mesh)))
    if isinstance(again, Refusal):
        return found
    return replace(again, insert_gives_way=True)


def insert_nodes(mesh: SolidMesh) -> Flags:
    """Nodes of a solid that are of the insert, shape (n,)."""
    found = np.zeros(len(mesh.points), dtype=bool)
    if "insert" in mesh.parts:
        found[mesh.prisms[mesh.part == mesh.parts.index("insert")]] = True
    return found


def _under_gasket(
    case: Case, given: HeadInput, clamp: Clamp, life: SolidLife, gasket: SolidGasket
) -> DeckInDepth | Refusal:
    """What the head does, whose gasket lies like this; why not, where the joint gives way."""
    engine = life.engine_states[0]
    hardest = int(np.argmax([one.pressure for one in life.pressed]))
    gas = life.forces[hardest]
    try:
        built = life.held(engine)
        clamped = life.under(engine, "clamped", gasket.down)
        left = clamp.left * gasket.down
        free = life.under(engine, "clamped at gas", gas + left, clamped)
        last = [free]

        def under(friction: Array) -> Array:
            last[0] = life.under(engine, "clamped at gas", gas + left + friction, clamped, last[0])
            return last[0][0].displacement

        rubbing = rubbed(
            under,
            given.gasket_friction * clamp.left * gasket.pressing,
            clamped[0].displacement,
            GIVES,
        )
    except (RunError, RubbingError) as error:
        return Refusal(
            f"Under the head the solid finds no rest, so its fit may not hold what the gasket "
            f"presses it down with: {error}"
        )
    reader = _Reader(case, life, gasket)
    bare = life.at_gas(engine, 1.0, (hardest,))[0]
    return DeckInDepth(
        engine=str(engine),
        step_allowed_um=1000 * given.gasket_step,
        loads=(
            reader.load(NO_HEAD, built),
            reader.load(CLAMPED, clamped),
            reader.load(AT_GAS, last[0]),
        ),
        worst_mpa={
            "no head": _worst(case, bare), "free": _worst(case, free[0]),
            "by friction": _worst(case, last[0][0]),
        },
        friction_used=rubbing.used,
    )  # fmt: skip


def _worst(case: Case, solution: SolidSolution) -> float:
    """Largest stress of the block's own metal that is not sharp. [MPa]."""

    def counts(spot: SolidSpot) -> bool:
        about = bool(case.block.about_firing(spot.x_mm))
        return spot.part in OWN_PARTS and not spot.sharp and about

    spots = solid_spots(worst_of([solution]))
    return max((spot.principal_mpa for spot in spots if counts(spot)), default=0.0)


class _Reader:
    """Heights of a deck, from where it was machined on."""

    def __init__(self, case: Case, life: SolidLife, gasket: SolidGasket) -> None:
        self.life, self.gasket = life, gasket
        self.block = case.block
        self.flat = life.idle(EngineState.COLD).displacement[:, 2]
        x, y, _ = life.mesh.points.T
        self.sector = (clock_of(x, y) * SECTORS / 12).astype(int) % SECTORS

    def load(self, name: str, at: tuple[SolidSolution, FittedState | None]) -> DeckLoad:
        """Sag and steps of one state."""
        solution, state = at
        up = self._level(1000 * (solution.displacement[:, 2] - self.flat))
        weight = self.gasket.firing
        ring = float(weight @ up / weight.sum())
        land = self.gasket.land
        beside = float(land @ up / land.sum()) if land.sum() > 0 else ring
        sums = np.bincount(self.sector, weight, SECTORS)
        heights = np.bincount(self.sector, weight * up, SECTORS)[sums > 0] / sums[sums > 0]
        return DeckLoad(
            name=name,
            ring_sag_um=beside - ring,
            ring_uneven_um=float(np.ptp(heights)) if len(heights) else 0.0,
            steps=self._steps(up, state),
        )

    def _level(self, up: Array) -> Array:
        """Heights above the plane that a flat head would lie on, in the mean."""
        points, weight = self.life.mesh.points, np.sqrt(self.gasket.pressing)
        plane = np.column_stack([np.ones(len(points)), points[:, :2]])
        on = weight > 0
        fitted = np.linalg.lstsq(plane[on] * weight[on, None], up[on] * weight[on], rcond=None)[0]
        return np.asarray(up - plane @ fitted)

    def _steps(self, up: Array, state: FittedState | None) -> tuple[JointStep, ...]:
        """Largest step across each side of each joint, where it comes up to the deck."""
        life = self.life
        if state is None or not isinstance(life, FittedSolidLife):
            return ()
        fitted = life.fitted[EngineState.COLD]
        at = fitted.corners
        own, other = fitted.joint.own[at], fitted.joint.other[at]
        x, y, z = life.mesh.points[own].T
        on_deck = (np.abs(z) < 1e-9) & self.block.about_firing(x)
        adrift = state.loose & ~life.loose.is_of("liner")[at]  # a wedge that the model's end cuts
        on_deck &= ~(adrift | fitted.apart | fitted.stuck)
        rise, sides = up[own] - up[other], np.array(fitted.side)
        found = []
        for side in sorted(set(sides[on_deck])):
            part, against = life.loose.names[side]
            pairs = np.flatnonzero(on_deck & (sides == side))
            worst = pairs[np.argmax(np.abs(rise[pairs]))]
            found.append(
                JointStep(
                    part=part,
                    against=against,
                    step_um=float(rise[worst]),
                    clock=format_clock(float(clock_of(x[worst], y[worst]))),
                    mean_um=float(rise[pairs].mean()),
                )
            )
        return tuple(found)

"""A design under its head: the deck held by friction, the wall clamped, the insert pressed down."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cases.base.parts import PARENT_PARTS
from cases.case import Case
from cases.gas.solve import GasLoad
from cases.head.clamp import Clamp, clamp_of, most_growth, wall_stress
from cases.head.given import HeadInput, head_given
from cases.head.result import FREE, FRICTION, HELD, DeckState, DesignHead, Pressed
from cases.life.result import Service
from cases.stress.result import DesignResult
from cases.stress.spots import rated_worst
from fea.bore import bore_growth
from fea.friction import nodal_forces, rub
from fea.hotspots import HotSpot, hot_spots
from fea.model import SectionModel, Solution
from fea.stress import LayerStress, recover, von_mises
from geometry.section import Block

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Gasket:
    """Where a gasket lies on a meshed deck, and what its load comes to at the nodes.

    Attributes
    ----------
    ring : ndarray, shape (n,)
        Of the fire rings. [N]
    land : ndarray, shape (n,)
        Of a pressure of 1 MPa on the rest. [N]
    on_insert : float
        Area of that rest on the insert. [mm2]
    springs : ndarray, shape (n,)
        Of the metal below, which shears. [N/mm]
    """

    ring: Array
    land: Array
    on_insert: float
    springs: Array

    @property
    def land_area(self) -> float:
        """Of the rest. [mm2]."""
        return float(self.land.sum())


def under_head(
    case: Case,
    gas: GasLoad,
    solved: DesignResult,
    service: Service | None,
) -> DesignHead:
    """What a head does to a design.

    Parameters
    ----------
    case : Case
        With a head.
    gas : GasLoad
    solved : DesignResult
    service : Service or None
        Its load steps, where it has any.

    Raises
    ------
    FrictionError
        If no balance of friction and gas is found.
    """
    given = head_given(case)
    assert given is not None
    clamp = clamp_of(case, given, gas)
    gasket = lay(solved.solution.model, case.block, given, clamp)
    land_pressure = clamp.land_load / gasket.land_area
    bearable = given.gasket_friction * clamp.left * (gasket.ring + land_pressure * gasket.land)
    states = {
        FREE: DeckState(worst=rated_worst(solved, PARENT_PARTS), bore=solved.bore),
    }
    model, q = solved.solution.model, gas.line_load
    forces = model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))
    slips = 0.0
    states[FRICTION] = states[FREE]
    if bearable.any():
        rubbed = rub(model, forces, bearable, springs=gasket.springs)
        states[FRICTION] = _state(rubbed.solution)
        used = float(np.hypot(*rubbed.force.T).sum())
        slips = used / float(bearable.sum())
    held = np.where(gasket.ring + gasket.land > 0, np.inf, 0.0)
    states[HELD] = _state(rub(model, forces, held, springs=gasket.springs).solution)
    wall = wall_stress(clamp.ring_load, case.block, model.materials)
    part = "liner" if "liner" in wall else "barrel"
    return DesignHead(
        clamp=clamp,
        land_area_mm2=gasket.land_area,
        land_pressure_mpa=land_pressure,
        ring_friction_n_per_mm=given.gasket_friction * clamp.left * clamp.ring_line,
        states=states,
        slips=slips,
        wall_mpa=wall,
        wall_at_gas_mpa={name: clamp.left * stress for name, stress in wall.items()},
        von_mises_mpa=_clamped(solved, states[FREE].worst, 0.0),
        clamped_von_mises_mpa=_clamped(solved, states[FREE].worst, clamp.left * wall["barrel"]),
        most_growth_um=1000 * most_growth(wall[part], model.materials[part], case.block.bore / 2),
        pressed=_pressed(given, solved, service, gasket, land_pressure),
    )


def lay(model: SectionModel, block: Block, given: HeadInput, clamp: Clamp) -> Gasket:
    """The gasket on a meshed deck: fire rings on metal that reaches the deck, the land around them.

    Parameters
    ----------
    model : SectionModel
    block : Block
    given : HeadInput
    clamp : Clamp
    """
    mesh = model.mesh
    at_deck = [any(layer.top == 0 for layer in layers) for layers in mesh.regions]
    deck = np.flatnonzero(np.array(at_deck)[mesh.region])
    inner = (given.fire_ring_diameter - given.fire_ring_width) / 2
    outer = (given.fire_ring_diameter + given.fire_ring_width) / 2
    axes = np.array(block.axes)

    def away(x: Array, y: Array) -> Array:
        """Distance from each bore axis."""
        return np.hypot(x[..., None] - axes, y[..., None])

    def within(x: Array, y: Array) -> Array:
        nearest = away(x, y).min(axis=-1)
        return ((nearest > inner) & (nearest < outer)).astype(float)

    def beyond(x: Array, y: Array) -> Array:
        return (away(x, y).min(axis=-1) >= outer).astype(float)

    even = nodal_forces(mesh, deck, within)
    bore = away(*mesh.points.T).argmin(axis=-1)
    of_ring = np.array(clamp.ring_loads) / np.bincount(bore, even, block.bores)
    of_insert = [
        any(layer.part == "insert" and layer.top == 0 for layer in layers)
        for layers in mesh.regions
    ]
    inserts = np.flatnonzero(np.array(of_insert)[mesh.region])
    return Gasket(
        ring=even * of_ring[bore],
        land=nodal_forces(mesh, deck, beyond),
        on_insert=float(nodal_forces(mesh, inserts, beyond).sum()),
        springs=shear_springs(model),
    )


def shear_springs(model: SectionModel) -> Array:
    r"""What holds the mean of the depth where the deck's face is held.

    .. math:: k = 3 G / t

    for each area: a force that is even over the depth t of a column held at its face shears it by
    f t^2 / (3 G) in the mean (derived). Neighbouring columns are not asked.

    Parameters
    ----------
    model : SectionModel

    Returns
    -------
    ndarray, shape (n,)
        At its nodes. [N/mm]
    """
    mesh, found = model.mesh, np.zeros(len(model.mesh.points))
    for region, layers in enumerate(mesh.regions):
        for layer in layers:
            if layer.top == 0:
                modulus, depth = model.materials[layer.part].mu, layer.thickness
                found += nodal_forces(
                    mesh,
                    np.flatnonzero(mesh.region == region),
                    lambda x, y, modulus=modulus, depth=depth: 3 * modulus / depth(x, y),  # type: ignore[misc]
                )
    return found


def _state(solution: Solution) -> DeckState:
    stresses = recover(solution)
    spots = hot_spots(solution, stresses)
    rated = [spot for spot in spots if not spot.sharp and spot.part in PARENT_PARTS]
    worst = max(rated, key=lambda spot: spot.principal_mpa, default=None)
    return DeckState(worst=worst, bore=bore_growth(solution))


def _clamped(solved: DesignResult, spot: HotSpot | None, axial: float) -> float | None:
    """Von Mises stress at a place of the free section, with the axial stress of its wall."""
    if spot is None:
        return None
    layer = next(
        layer
        for layer in solved.stresses
        if layer.part == spot.part and layer.region == spot.region
    )
    return float(clamped_von_mises(_at(layer, spot.node), axial if spot.part == "barrel" else 0.0))


def _at(layer: LayerStress, node: int) -> Array:
    return layer.stress[:, int(np.searchsorted(layer.nodes, node))]


def clamped_von_mises(stress: Array, axial: float) -> Array:
    r"""Equivalent stress of a plane stress with a stress across the plane.

    .. math:: \sqrt{\sigma_v^2 - \sigma_z(\sigma_{xx} + \sigma_{yy}) + \sigma_z^2}

    sigma_v is that of the plane alone; worked out from von Mises' formula (derived).

    Parameters
    ----------
    stress : ndarray, shape (3, ...)
        sxx, syy, sxy. [MPa]
    axial : float
        sigma_z. [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    Examples
    --------
    >>> float(clamped_von_mises(np.array([-100.0, -100.0, 0.0]), -100.0))
    0.0
    """
    return np.asarray(np.sqrt(von_mises(stress) ** 2 - axial * (stress[0] + stress[1]) + axial**2))


def _pressed(
    given: HeadInput,
    solved: DesignResult,
    service: Service | None,
    gasket: Gasket,
    land_pressure: float,
) -> Pressed | None:
    """What the gasket does to the insert; None without one."""
    if solved.section.insert is None:
        return None
    down = land_pressure * gasket.on_insert
    joints = (
        [(step.joint.hold_n, str(step.name)) for step in service.steps if step.joint]
        if service
        else []
    )
    least = min(joints, default=(None, ""))
    return Pressed(
        area_mm2=gasket.on_insert,
        down_n=down,
        water_n=given.water_pressure * solved.insert_area_mm2,
        friction_n=given.gasket_friction * down,
        hold_n=least[0],
        hold_step=least[1],
    )

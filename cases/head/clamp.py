"""What the bolts press the head down with, and the gas that lifts it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.head.given import HeadInput
from fea.material import Material
from geometry.clock import clock_to_angle
from geometry.section import Block

ONE_BOLT = 20.0
"""Places of two neighbouring bores' bolts nearer than this are one bolt, which both share (common
practice, no source: no two heads of bolts find room there). [mm]."""


@dataclass(frozen=True, slots=True)
class Bolt:
    """A bolt of the block."""

    place: complex  # x + iy [mm]
    clock_hours: float  # about the first of its bores [h]
    bores: tuple[int, ...]  # that it stands about, from 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Clamp:
    """What presses on the deck of a block, and how much of it is about the bore that fires."""

    bolts: int  # of the whole block
    about: int  # the bore that fires
    shared: int  # of those, with a neighbour, each by halves
    all_load: float  # of all bolts [N]
    load: float  # about the bore that fires [N]
    ring_loads: tuple[float, ...]  # on the fire ring of each bore [N]
    ring_load: float  # of the bore that fires [N]
    ring_line: float  # along its mean circle [N/mm]
    ring_pressure: float  # [MPa]
    land_load: float  # on the rest of the gasket, all of the block [N]
    sealed_area: float  # within the mean circle of the fire ring [mm2]
    lifts_at: float  # pressure on the wall at which nothing is left of the load [MPa]
    ring_lifts_at: float  # the same where the fire ring alone is unloaded [MPa]
    left: float  # share of the load that the asked gas leaves, 0 where the head lifts


def bolts_of(given: HeadInput, block: Block) -> tuple[Bolt, ...]:
    """The bolts of a block; what is near to a bolt of the bore before is the same one.

    Parameters
    ----------
    given : HeadInput
    block : Block
    """
    found: list[Bolt] = []
    for bore, axis in enumerate(block.axes, 1):
        before = len(found)
        for clock in given.bolt_clocks:
            place = axis + given.bolt_circle / 2 * complex(np.exp(1j * clock_to_angle(clock)))
            number = next(
                (k for k in range(before) if abs(found[k].place - place) < ONE_BOLT), None
            )
            if number is None:
                found.append(Bolt(place, clock, (bore,)))
            else:
                one = found[number]
                middle = (one.place + place) / 2
                found[number] = Bolt(middle, one.clock_hours, (*one.bores, bore))
    return tuple(found)


def clamp_of(case: Case, given: HeadInput, gas: GasLoad) -> Clamp:
    r"""What a head presses with, and at which pressure it lifts.

    .. math:: p = F / A, \qquad A = \pi d^2 / 4

    F is the load of the bolts about the bore, d the mean diameter of the fire ring. No share of the
    gas force is counted to stretch the bolts (a load factor of 0), so this is the safe side of when
    the joint parts.

    Parameters
    ----------
    case : Case
    given : HeadInput
    gas : GasLoad

    References
    ----------
    .. [1] VDI 2230, part 1: clamp load left in a bolted joint, F_KR = F_M - (1 - phi) F_A (from
       memory); settling of the joint and scatter of tightening are not taken off.
    """
    block, bolts = case.block, bolts_of(given, case.block)
    loads = np.zeros(block.bores)
    for bolt in bolts:
        loads[np.array(bolt.bores) - 1] += given.bolt_preload / len(bolt.bores)
    firing = block.firing_bore
    about = [bolt for bolt in bolts if firing in bolt.bores]
    load = float(loads[firing - 1])
    around = math.pi * given.fire_ring_diameter
    area = math.pi * given.fire_ring_diameter**2 / 4
    ring_load = given.fire_ring_share * load
    all_load = float(loads.sum())
    return Clamp(
        bolts=len(bolts),
        about=len(about),
        shared=sum(len(bolt.bores) > 1 for bolt in about),
        all_load=all_load,
        load=load,
        ring_loads=tuple((given.fire_ring_share * loads).tolist()),
        ring_load=ring_load,
        ring_line=ring_load / around,
        ring_pressure=ring_load / (around * given.fire_ring_width),
        land_load=(1 - given.fire_ring_share) * all_load,
        sealed_area=area,
        lifts_at=load / area,
        ring_lifts_at=ring_load / area,
        left=max(0.0, 1 - gas.peak_pressure * area / load),
    )


def wall_stress(load: float, block: Block, materials: Mapping[str, Material]) -> dict[str, float]:
    """Axial stress of a barrel's wall under a load on its fire ring, by part.

    Liner and barrel are squeezed by the same strain: each carries by its modulus and area. It is
    the mean over a plain wall; relief cuts and what neighbours share are not taken off.

    Parameters
    ----------
    load : float
        That presses. [N]
    block : Block
    materials : mapping of str to Material

    Returns
    -------
    dict of str to float
        Negative, as it presses. [MPa]

    Examples
    --------
    >>> ring = Block(bore=80, barrel_wall=10)
    >>> stress = wall_stress(9000 * np.pi, ring, {"barrel": Material("alloy", 7e4, 0.33)})
    >>> round(stress["barrel"], 9)
    -10.0
    """
    radii = {"barrel": (block.liner_radius, block.barrel_radius)}
    if block.liner > 0:
        radii["liner"] = (block.bore / 2, block.liner_radius)
    moduli = {part: materials[part].youngs_modulus for part in radii}
    stiffness = sum(
        moduli[part] * math.pi * (high**2 - low**2) for part, (low, high) in radii.items()
    )
    return {part: -load * moduli[part] / stiffness for part in radii}


def most_growth(stress: float, material: Material, radius: float) -> float:
    """How far a wall squeezed along its axis grows, if nothing holds it. [mm].

    Poisson's strain times the radius: the most that clamping can do to the mean of a bore.
    """
    return -material.poisson * stress / material.youngs_modulus * radius

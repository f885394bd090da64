"""Flow through block, gasket and head: each bore's share, its speeds, and the pressure lost.

Water enters at one end of the bank and runs along it, by halves on its two sides, with the friction
of a smooth passage. Beside each bore some of it leaves to the head: through a slot of the insert,
or from the open pocket of a bare block, then through what of the gasket's holes lies over it. Over
all holes the head is one room. Of a pump whose curve is stated, what the bare block doesn't lose at
the stated flow is lost in the rest of the circuit, as the square of the flow.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cases.case import Case, Design
from cases.coolant.film import TURBULENT, hydraulic_diameter, reynolds_of, speed_of
from cases.coolant.fluid import Fluid, Liquid
from cases.coolant.given import CoolantInput, coolant_given
from cases.gasket.areas import Common, common_of, deck_of, middle_of
from cases.gasket.given import Gasket, gasket_given
from cases.gasket.orifices import discharge, drop_through, flow_through, in_series, side_by_side
from geometry import planar
from geometry.section import Block


@dataclass(frozen=True, kw_only=True)
class Bank:
    """The passages of a block under a gasket, bore by bore from where water enters.

    Attributes
    ----------
    passing : tuple of float
        C A of all that leaves beside each bore. [mm2]
    width, depth : float
        Of the jacket. [mm]
    pitch : float
        [mm]
    """

    passing: tuple[float, ...]
    liquid: Liquid
    width: float
    depth: float
    pitch: float

    def friction(self, flow: float) -> float:
        """Pressure lost along one pitch of the jacket, by halves on both sides. [MPa]."""
        from fluids.friction import friction_factor

        if flow <= 0:
            return 0.0
        size = hydraulic_diameter(self.width, self.depth)
        speed = 1e-3 * flow / (2 * self.width * self.depth)
        reynolds = self.liquid.density * speed * 1e-3 * size / self.liquid.viscosity
        factor = float(friction_factor(Re=reynolds, eD=0.0))
        return 0.5e-6 * factor * self.pitch / size * self.liquid.density * speed**2

    def from_far_end(self, pressure: float) -> tuple[float, list[float]]:
        """Pressure where water enters [MPa] and flow by bore [mm3/s], by that at the far end."""
        past = 0.0
        flows: list[float] = []
        for place, passing in enumerate(reversed(self.passing)):
            if place:
                pressure += self.friction(past)
            flows.append(flow_through(passing, pressure, self.liquid.density))
            past += flows[-1]
        return pressure, flows[::-1]

    def at_flow(self, flow: float) -> tuple[float, list[float]]:
        """The same by the flow of all. [mm3/s]."""
        from scipy.optimize import brentq

        most = drop_through(side_by_side(self.passing), flow, self.liquid.density)
        far = brentq(lambda of: sum(self.from_far_end(of)[1]) - flow, 0.0, most * (1 + 1e-9))
        return self.from_far_end(float(far))


@dataclass(frozen=True, kw_only=True, slots=True)
class BankFlow:
    """What flows through a block under a gasket."""

    flow: float  # [mm3/s]
    lost: float  # pressure, from where water enters to the head [MPa]
    by_bore: tuple[float, ...]  # to the head, by bore from 1 [mm3/s]
    past: tuple[float, ...]  # mean along the bank beside each bore [mm3/s]


def passages(
    common: Common, gasket: Gasket, block: Block, through: float | None
) -> tuple[float, ...]:
    """C A of what leaves beside each bore, from 1. [mm2].

    A slot is in series with all that lies over it; a hole over two slots passes through both.

    Parameters
    ----------
    common : Common
    gasket : Gasket
    block : Block
    through : float or None
        Depth of the insert; None of a bare block, whose pockets resist nothing. [mm]
    """
    found = [0.0] * block.bores
    sizes, bores = [], []
    for hole in common.holes:
        length = sum(curve.length for curve in hole)
        sizes.append((planar.signed_area(hole), hydraulic(planar.signed_area(hole), length)))
        z = middle_of(hole)
        bores.append(int(block.nearest_bore(z.real, z.imag)[0]) - 1)
    for patch, over in zip(common.deck, common.areas.T, strict=True):
        passing = [
            area * discharge(gasket.thickness, size * math.sqrt(min(area / whole, 1.0)))
            if area > 1e-9
            else 0.0
            for area, (whole, size) in zip(over.tolist(), sizes, strict=True)
        ]
        if not any(passing):
            continue
        slot = math.inf
        if through is not None:
            slot = patch.area * discharge(through, hydraulic(patch.area, patch.perimeter))
        all_over = side_by_side(passing)
        share = in_series(slot, all_over) / all_over
        for bore, one in zip(bores, passing, strict=True):
            found[bore] += share * one
    return tuple(found)


def hydraulic(area: float, perimeter: float) -> float:
    """Four times an area over its edge. [mm]."""
    return 4 * area / perimeter


def bank_of(case: Case, gasket: Gasket, design: Design | None) -> Bank:
    """The passages of a design, of the bare block for None, under a gasket."""
    water = coolant_given(case)
    assert water is not None
    deck = deck_of(case, design)
    insert = design.insert if design else None
    found = passages(
        common_of(gasket, deck, case.block), gasket, case.block, insert.depth if insert else None
    )
    return Bank(
        passing=found if water.inlet_bore == 1 else found[::-1],
        liquid=Fluid(water.glycol).liquid(water.temperature, water.pressure),
        width=water.width,
        depth=water.depth,
        pitch=case.block.pitch or 0.0,
    )


def bank_flow(case: Case, gasket: Gasket, design: Design | None) -> BankFlow | None:
    """What flows through a design under a gasket; None where no flow is stated or nothing passes.

    Raises
    ------
    ValueError
        If the pump can't drive the stated flow through the bare block; in words.
    """
    water = coolant_given(case)
    if water is None or (water.flow is None and not water.pump):
        return None
    bank = bank_of(case, gasket, design)
    if not any(bank.passing):
        return None
    if not water.pump:
        assert water.flow is not None
        return _told(bank, *bank.at_flow(water.flow), water)
    rest = _rest(water, bank_of(case, gasket, None))
    head = curve_of(water.pump)
    flow = _where_zero(lambda of: head(of) - rest * of**2 - bank.at_flow(of)[0], water.pump[-1][0])
    return _told(bank, *bank.at_flow(flow), water)


def _told(bank: Bank, lost: float, flows: Sequence[float], water: CoolantInput) -> BankFlow:
    entering = np.cumsum(np.array(flows)[::-1])[::-1]
    past = entering - np.array(flows) / 2
    if water.inlet_bore != 1:
        flows, past = flows[::-1], past[::-1]
    return BankFlow(flow=sum(flows), lost=lost, by_bore=tuple(flows), past=tuple(past.tolist()))


def curve_of(pump: Sequence[tuple[float, float]]) -> Callable[[float], float]:
    """Pressure [MPa] of a pump by its flow [mm3/s], straight between its points."""
    flows, heads = zip(*pump, strict=True)
    return lambda flow: float(np.interp(flow, flows, heads))


def _rest(water: CoolantInput, bare: Bank) -> float:
    """What the rest of the circuit loses, over the square of the flow."""
    if water.flow is None or not any(bare.passing):
        return 0.0
    lost, _ = bare.at_flow(water.flow)
    left = curve_of(water.pump)(water.flow) - lost
    if left < 0:
        raise ValueError(
            f"At {60e-6 * water.flow:.4g} L/min the pump gives "
            f"{10 * curve_of(water.pump)(water.flow):.3g} bar, and the bare block alone loses "
            f"{10 * lost:.3g} bar. Give less flow, or a stronger pump."
        )
    return left / water.flow**2


def _where_zero(left: Callable[[float], float], most: float) -> float:
    """Flow at which a pump's pressure is used up. [mm3/s]."""
    from scipy.optimize import brentq

    least = 1e-6 * most
    return most if left(most) >= 0 else float(brentq(left, least, most))


def water_past(case: Case, design: Design | None) -> CoolantInput | None:
    """The coolant as it passes the bore that fires: under the gasket that leaves it least."""
    water = coolant_given(case)
    if water is None or water.flow is None:
        return water
    found = [bank_flow(case, gasket, design) for gasket in gasket_given(case).gaskets]
    if not found:
        return water
    fires = case.block.firing_bore - 1
    return replace(water, past=min(of.past[fires] if of else 0.0 for of in found))


def no_flow(case: Case, design: Design) -> list[str]:
    """Why no film is known of what flows in a design, in words."""
    water = coolant_given(case)
    if water is None or (water.flow is None and not water.pump):
        return []
    told = []
    fires = case.block.firing_bore
    for gasket in gasket_given(case).gaskets:
        try:
            found = bank_flow(case, gasket, design)
        except ValueError as error:
            return [f"Gasket {gasket.name}: {error}"]
        whose = f"Design {design.name} under gasket {gasket.name}"
        if found is None:
            told.append(
                f"{whose}: nothing opens through deck, gasket and head, so no water flows. Open "
                "some of it, or leave flow and pump out."
            )
        elif water.flow is not None:
            past = replace(water, past=found.past[fires - 1])
            if (reynolds := reynolds_of(past)) < TURBULENT:
                told.append(
                    f"{whose}: {speed_of(past):.2g} m/s pass bore {fires}, Re {reynolds:.0f}, and "
                    f"below {TURBULENT:g} no film is known. Open more holes of that bore or beyond "
                    "it, or give [heat] coolant_film in place of flow."
                )
    return told

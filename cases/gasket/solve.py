"""Every gasket of a case over a design: holes, bores, lands and flow."""

from __future__ import annotations

import numpy as np

from cases.case import Case, Design
from cases.coolant.given import coolant_given
from cases.gasket.areas import common_of, deck_of, lands_of, middle_of, place_words
from cases.gasket.flow import BankFlow, bank_flow
from cases.gasket.given import Gasket, gasket_given
from cases.gasket.place import OVER_SLOTS, better_way
from cases.gasket.result import BoreWater, DesignWater, GasketWater, Hole
from geometry import planar
from geometry.overlay import Patch


def design_water(case: Case, design: Design) -> DesignWater:
    """What the gaskets of a case open over a design, against the bare block."""
    bare = deck_of(case, None)
    deck = bare if design.insert is None else deck_of(case, design)
    found = (_over(case, design, gasket, bare, deck) for gasket in gasket_given(case).gaskets)
    return DesignWater(
        deck=tuple(patch.loops for patch in deck),
        deck_area=sum(patch.area for patch in deck),
        gaskets=tuple(found),
    )


def _over(
    case: Case, design: Design, gasket: Gasket, bare: tuple[Patch, ...], deck: tuple[Patch, ...]
) -> GasketWater:
    block = case.block
    before, after = common_of(gasket, bare, block), common_of(gasket, deck, block)
    holes = []
    for k, (opening, loop) in enumerate(zip(gasket.openings, after.holes, strict=True)):
        z = middle_of(loop)
        bore, hours = block.nearest_bore(z.real, z.imag)
        holes.append(
            Hole(
                number=k + 1, name=opening.name, bore=int(bore), clock=float(hours),
                radius=abs(z - block.axes[int(bore) - 1]), vent=opening.vent,
                area=planar.signed_area(loop), bare=float(before.by_hole[k]),
                open=float(after.by_hole[k]),
            )
        )  # fmt: skip
    flows, before_flows = bank_flow(case, gasket, design), bank_flow(case, gasket, None)
    lies = gasket.openings, block, gasket.lies
    words = better_way(*lies, bare, "the water of the bare deck", 1.0)
    if not words and design.insert is not None:
        words = better_way(*lies, deck, f"what {design.name} leaves open", OVER_SLOTS)
    met = after.areas.sum(axis=0) > 1e-6
    return GasketWater(
        gasket=gasket.name,
        holes=tuple(holes),
        bores=tuple(
            _about(number + 1, holes, case, flows, before_flows) for number in range(block.bores)
        ),
        lands=lands_of(case, design, gasket),
        idle=tuple(
            place_words(block, patch.loops[0])
            for patch, some in zip(deck, np.atleast_1d(met).tolist(), strict=True)
            if not some
        ),
        flow=flows.flow if flows else None,
        bare_flow=before_flows.flow if before_flows else None,
        lost=flows.lost if flows else None,
        bare_lost=before_flows.lost if before_flows else None,
        notes=(*((words,) if words else ()), *gasket.notes),
    )


def _about(
    bore: int, holes: list[Hole], case: Case, flows: BankFlow | None, bare: BankFlow | None
) -> BoreWater:
    own = [of for of in holes if of.bore == bore]
    open_ = sum(of.open for of in own)
    moving: dict[str, float] = {}
    if flows and bare:
        water = coolant_given(case)
        assert water is not None
        moving = {
            "flow": flows.by_bore[bore - 1],
            "bare_flow": bare.by_bore[bore - 1],
            "jacket_speed": 1e-3 * flows.past[bore - 1] / (2 * water.width * water.depth),
        }
        if open_ > 0:
            moving["hole_speed"] = 1e-3 * flows.by_bore[bore - 1] / open_
    return BoreWater(
        bore=bore,
        bare=sum(of.bare for of in own),
        open=open_,
        blocked=sum(of.blocked for of in own),
        holes=len(own),
        holes_blocked=sum(of.is_blocked for of in own),
        **moving,
    )

"""Picture of the slots proposed, under each gasket."""

from __future__ import annotations

from types import SimpleNamespace
from typing import TYPE_CHECKING

from cases.case import Case
from cases.gasket.figures import whole_deck
from cases.gasket.given import gasket_given
from cases.slots.result import SlotsFound
from cases.slots.solve import with_slots
from geometry.outline import draw_section

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def slots_figure(case: Case, found: SlotsFound) -> Figure:
    """The insert with the slots, once under each gasket."""
    design = next(of for of in case.designs if of.name == found.design)
    section = case.section(with_slots(design, found.slots))
    drawn = SimpleNamespace(section=section, outline=draw_section(section))
    assert found.water is not None
    gaskets = gasket_given(case).gaskets
    return whole_deck(
        case.block,
        [
            (f"{found.design} under {gasket.name}", drawn, found.water.deck, gasket, one)
            for gasket, one in zip(gaskets, found.water.gaskets, strict=True)
        ],
    )

"""The head, as a case file states it."""

from __future__ import annotations

from dataclasses import dataclass, field

from cases.case import Case

FIRE_RING_SHARE = 0.6
"""Of the clamp load (common practice, no source)."""
FIRE_RING_WIDTH = 3.0
"""(common practice, no source). [mm]."""
FIRE_RING_BEYOND = 4.0
"""Mean diameter of the fire ring over the bore (common practice, no source). [mm]."""
GASKET_FRICTION = 0.15
"""0.1 to 0.2 (common practice, no source)."""
GASKET_STEP = 0.03
"""Step across a joint of the deck that a gasket takes, 0.02 to 0.05 (common practice, no source).
[mm]."""
WATER_PRESSURE = 0.2
"""Of the coolant (common practice, no source). [MPa]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadInput:
    """What a case says of its head."""

    bolt_preload: float  # of each [N]
    bolt_clocks: tuple[float, ...]  # about each bore [h]
    bolt_circle: float  # diameter about a bore [mm]
    fire_ring_share: float  # of the clamp load
    fire_ring_diameter: float  # mean [mm]
    fire_ring_width: float  # [mm]
    gasket_friction: float
    water_pressure: float  # [MPa]
    gasket_step: float = GASKET_STEP  # [mm]
    assumed: tuple[tuple[str, str], ...] = field(
        default=(), compare=False
    )  # keys left out, and what stands for each


def head_given(case: Case) -> HeadInput | None:
    """What a case states of its head; None where it states none."""
    return case.given.get("head")

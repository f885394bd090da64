"""What a case asks of slots that are proposed."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case

OPEN_SHARE = 0.9
"""Of what each hole opens over the bare deck, where nothing is asked (judgement)."""
WEB = 1.5
"""Least metal of an insert beside a slot (common practice, no source). [mm]."""
OFF_BEAD = 1.0
"""Least distance of a slot from a bead (common practice, no source). [mm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SlotWishes:
    """Which slots are looked for."""

    design: str  # whose insert gets them, in place of its own
    cutter: float  # diameter of the one cutter [mm]
    share: float  # of what each hole opens over the bare deck
    web: float  # least metal to the joint and between slots [mm]
    off_bead: float  # least distance from a bead [mm]


def slots_given(case: Case) -> SlotWishes | None:
    """What a case asks of slots; None where it asks for none."""
    found: SlotWishes | None = case.given.get("slots")
    return found

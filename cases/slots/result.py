"""Slots that are proposed, what they open and what they cost."""

from __future__ import annotations

from dataclasses import dataclass

from cases.gasket.result import DesignWater, Hole
from geometry.section import WaterSlot


@dataclass(frozen=True, kw_only=True, slots=True)
class Missed:
    """A hole that no slot opens as far as is asked."""

    gasket: str
    hole: Hole
    asked: float  # share of what it opens over the bare deck
    reached: float


@dataclass(frozen=True, kw_only=True, slots=True)
class Strength:
    """Worst stress of a section, cold and in one piece. [MPa]."""

    name: str  # what of
    block: float  # largest principal stress of the block's own metal
    insert: float
    where: str  # of the block's


@dataclass(frozen=True, kw_only=True)
class SlotsFound:
    """A set of slots for an insert."""

    design: str
    slots: tuple[WaterSlot, ...]
    water: DesignWater | None  # what gaskets open through them; None where no slot fits
    missed: tuple[Missed, ...]
    area: float  # of all slots of all bores [mm2]
    count: int  # of slots in all bores
    strengths: tuple[Strength, ...]  # without slots, as stated, with these
    tried: int  # sets that the section was asked of
    why_none: str = ""

    @property
    def text(self) -> str:
        """The slots as a design of a case file has them."""
        return "\n".join(_text(slot) for slot in self.slots)


def _text(slot: WaterSlot) -> str:
    from geometry.clock import format_clock

    lines = ["[[design.slot]]", f'clock = "{format_clock(slot.clock)}"']
    lines.append(f'width = "{slot.width:g} mm"')
    if slot.arc:
        lines.append(f'arc = "{slot.arc:g} deg"')
    lines.append(f'radius = "{slot.radius:g} mm"')
    if slot.bores is not None:
        lines.append(f"bores = [{', '.join(map(str, slot.bores))}]")
    return "\n".join(lines) + "\n"

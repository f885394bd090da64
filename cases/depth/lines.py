"""What the terminal says of the depth section."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Solved
from cases.depth.result import depth_of
from geometry.clock import format_clock


def depth_lines(result: Solved) -> list[str]:
    """What the depth section comes to."""
    found = result.found.get("depth")
    if isinstance(found, Refusal):
        return [f"There is no depth section. {found.text}"]
    depth = depth_of(result)
    if depth is None:
        return []
    told = []
    for design in depth.designs:
        text = (
            f"{design.name} {design.hoop_mpa:.0f} MPa at {design.hoop_at_mm:.0f} mm, "
            f"{design.growth_um:.0f} um"
        )
        if design.sweep:
            enough = design.sweep.enough_hoop_mm
            text += (
                f" (an insert {enough:.0f} mm deep is enough)" if enough else " (deeper still pays)"
            )
        told.append(text)
    by_solid = [f"{design.name} {design.solid.words}" for design in depth.designs if design.solid]
    return [
        *(
            [
                f"How deep an insert pays, by the solid: {'; '.join(by_solid)}. Beside it, by the "
                "barrel from the side:"
            ]
            if by_solid
            else []
        ),
        f"The barrel from the side at {format_clock(depth.clock)}, mean hoop stress of the wall "
        f"and growth: {'; '.join(told)}.",
    ]

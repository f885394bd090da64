"""How the barrel is seen from the side where the case does not say it."""

from __future__ import annotations

from cases.base.subject import Solved
from cases.depth.given import depth_given
from cases.depth.result import depth_of
from geometry.clock import format_clock


def depth_assumed(result: Solved) -> list[tuple[str, str]]:
    """Key and stand-in of what the case leaves out, where there is a depth section."""
    found, given = depth_of(result), depth_given(result.case)
    if found is None or given is None:
        return []
    stands = []
    if not found.chosen:
        place = f"{format_clock(found.clock)}, where the bare block is pulled hardest"
        stands.append(("depth.clock", place))
    if "least_gain" in given.left_out and any(design.sweep for design in found.designs):
        gain = f"{100 * found.least_gain:g} % per mm (common practice, no source)"
        stands.append(("depth.least_gain", gain))
    return stands

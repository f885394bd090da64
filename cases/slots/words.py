"""What is told of slots in words."""

from __future__ import annotations

from cases.gasket.words import place_of
from cases.slots.result import SlotsFound

FILE = "slots.toml"


def found_words(found: SlotsFound, bores: int) -> str:
    """What was found, in one sentence."""
    if found.why_none:
        return f"No slots for {found.design}: {found.why_none}."
    first, last = found.strengths[0], found.strengths[-1]
    words = (
        f"{found.count} slot{'s' * (found.count > 1)} for {found.design} "
        f"({found.area:.0f} mm2 in all) open every hole of all gaskets as far as is asked"
    )
    if found.missed:
        left = "; ".join(
            f"{of.gasket} {place_of(of.hole, bores)} to {100 * of.reached:.0f} %"
            for of in found.missed
        )
        words = (
            f"{found.count} slots for {found.design} ({found.area:.0f} mm2 in all) open all but "
            f"some holes as far as is asked ({left})"
        )
    return (
        f"{words}; the section's worst stress is {last.block:.0f} MPa with them, "
        f"{first.block:.0f} MPa without any."
    )

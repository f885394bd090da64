"""What the terminal says of the crack."""

from __future__ import annotations

from cases.base.subject import Solved
from geometry.clock import format_clock


def crack_lines(result: Solved) -> list[str]:
    """What a crack does in each design."""
    crack = result.found.get("crack")
    if crack is None:
        return []
    told = []
    for series in crack.series:
        growth = series.crack_growth
        text = f"{series.design} {growth.words}"
        told.append(text if growth.stops else f"{text} after {growth.life:,.0f} cycles")
    return [
        f"A crack of {crack.given.flaw:g} mm in the {crack.place.part} at "
        f"{format_clock(crack.place.clock_hours)}: {'; '.join(told)}. Castings differ by far more "
        "than one constant can tell."
    ]

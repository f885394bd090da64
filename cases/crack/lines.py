"""What the terminal says of the crack."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Solved
from cases.crack.result import crack_of
from cases.rating.result import is_rated
from geometry.clock import format_clock


def crack_lines(result: Solved) -> list[str]:
    """What a crack does in each design."""
    found = result.found.get("crack")
    if isinstance(found, Refusal):
        return [f"No crack was followed. {found.text}"]
    crack = crack_of(result)
    if crack is None:
        return []
    told = []
    for series in crack.series:
        growth = series.told_growth
        text = f"{series.design} {growth.words}"
        told.append(text if growth.stops else f"{text} after {growth.life:,.0f} cycles")
    by = ", by the solids" if any(series.solid for series in crack.series) else ""
    return [
        f"A crack of {crack.given.flaw:g} mm in the {crack.place.part} at "
        f"{format_clock(crack.place.clock_hours)}{by}: {'; '.join(told)}.{no_limit(result)} "
        "Castings differ by far more than one constant can tell."
    ]


def no_limit(result: Solved) -> str:
    """That a crack which stops takes nothing off a limit; empty where none does, or is rated."""
    crack = crack_of(result)
    stops = crack is not None and any(series.told_growth.stops for series in crack.series)
    rated = any(is_rated(design) for design in result.designs)
    return " One that stops lifts no limit: those are of what starts a crack." * (stops and rated)

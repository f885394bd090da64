"""What a limit by the solid comes to, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cases.base.subject import TextTable
from cases.life.steps import EngineState
from cases.rating.result import DepthSpot, DesignRating, SolidRating, rating_of
from cases.rating.words import (
    governs_words,
    life_cycles_of,
    life_words,
    limit_words,
    three_words,
)
from cases.solid.words import place_words
from cases.stress.result import DesignResult
from fea.material import Material

LEADS = (
    "The limit stands on the solid: its surface is judged in every state and at every crank angle, "
    "each design as it is made. The section's limit, a mean over the depth, stands beside it, "
    "with all that is drawn at its middle where the solid's has a spread."
)


def by_solid(designs: Sequence[DesignResult]) -> list[tuple[DesignResult, SolidRating]]:
    """Rated designs that have a limit by the solid, or were judged by it."""
    return [(design, rated) for design in designs if (rated := rating_of(design).solid)]


def depth_state(spot: DepthSpot) -> str:
    """Criterion and state, with the crank angle where the gas has one."""
    angle = "" if spot.crank_angle_deg is None else f", {spot.crank_angle_deg:.0f} deg"
    return f"{spot.criterion}, {spot.state}{angle}"


def told_governs(rating: DesignRating) -> str:
    """What governs the limit that is told: by the solid where there is one."""
    if rating.solid is None:
        return governs_words(rating)
    spot = rating.solid.governing
    return f"{place_words(spot)}: {depth_state(spot)}" if spot else "nothing could be judged"


def told_lives(rating: DesignRating, materials: Mapping[str, Material]) -> dict[str, float | None]:
    """Lives of a design by state, by the solid where there is one, as :func:`life_cycles_of`."""
    by_section = life_cycles_of(rating, materials)
    if rating.solid is None:
        return by_section
    return {
        state: None if cycles is None else rating.solid.life_cycles.get(EngineState(state))
        for state, cycles in by_section.items()
    }


def told_hours(rating: DesignRating) -> float | None:
    """Hours of the life that is told, by the solid where there is one."""
    return rating.solid.life_hours if rating.solid else rating.life_hours


def bars(value: float | None) -> str:
    """A pressure [MPa] in bar; empty where there is none."""
    return "" if value is None else f"{10 * value:.0f}"


def spread_bars(rated: SolidRating) -> str:
    """What 5 and 95 % of the draws stay below, in bar; empty without draws."""
    if rated.band is None:
        return ""
    low, _, high = three_words(rated.band.pressure_mpa, "%.0f", 10)
    return f"{low}-{high}"


def depth_lines(designs: Sequence[DesignResult]) -> list[str | TextTable]:
    """The limits by the solid, for the terminal; none without one."""
    found = by_solid(designs)
    if not found:
        return []
    rows = []
    for design, rated in found:
        spot, section = rated.governing, rating_of(design).limit
        rows.append((
            design.name,
            limit_words(rated.limit) if rated.limit else f"> {rated.tried:.1f}",
            limit_words(section) if section else "",
            bars(rated.limit.pressure_mpa if rated.limit else None),
            spread_bars(rated),
            life_words(min(rated.life_cycles.values(), default=None)),
            f"{place_words(spot)}: {depth_state(spot)}" if spot else "",
        ))  # fmt: skip
    table = TextTable(
        title="What each design stands by its solid, an estimate",
        headings=(
            "Design", "Limit\nx asked", "Section's\nx asked", "Peak\nbar", "5-95 %\nbar",
            "Cycles at\nthe asked", "Governed by",
        ),
        rows=tuple(rows),
        words=(0, 6),
    )  # fmt: skip
    notes = [f"{design.name}: {note}" for design, rated in found for note in rated.notes]
    return [table, LEADS, *notes]

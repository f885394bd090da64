"""What the terminal says of the solid."""

from __future__ import annotations

from cases.base.subject import TextTable
from cases.solid.words import above_words, heat_words, solids, unsettled, worth_words
from cases.stress.result import CaseResult


def solid_lines(result: CaseResult) -> list[str | TextTable]:
    """The worst spot of each design in depth, beside the section; what that is worth."""
    found = solids(result)
    if not found:
        return []
    rows = []
    for design, solid in found:
        spot = solid.shown.governing
        if spot is None:
            rows.append((design.name, "no rated spot", "", "", "", "", ""))
            continue
        rows.append((
            design.name, f"{spot.part} {spot.clock}", f"{spot.depth_mm:.1f}",
            f"{spot.principal_mpa:.0f}{'' if spot.settled else '*'}", f"{spot.error_mpa:.1f}",
            "" if spot.section_mpa is None else f"{spot.section_mpa:.0f}",
            "" if spot.ratio is None else f"{spot.ratio:.2f}",
        ))  # fmt: skip
    table = TextTable(
        title=f"In depth ({found[0][1].setting} solid), cold, each insert one piece with the block",
        headings=(
            "Design", "Worst spot\nof the block", "Depth\nmm", "Stress\nMPa", "Error\nMPa",
            "Section\nMPa", "Times",
        ),
        rows=tuple(rows),
        words=(0, 1),
    )  # fmt: skip
    heat = [heat_words(design.name, of.heat) for design, of in found if of.heat]
    if above := above_words(result):
        heat.append(above)
    return [table, *heat, *(f"* {line}" for line in unsettled(result)), worth_words(result)]

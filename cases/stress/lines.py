"""What the terminal says of the stress at a glance."""

from __future__ import annotations

from cases.base.parts import PARENT_PARTS
from cases.stress.columns import part_name, worst_twins
from cases.stress.result import CaseResult
from cases.stress.spots import UNSETTLED_TEXT, sharp_text


def stress_lines(result: CaseResult) -> list[str]:
    """What the columns mean, which errors are large, which spots can't be rated."""
    shown = [
        spot
        for design in result.designs
        for parts in (PARENT_PARTS, ("liner",), ("insert",))
        for spot in worst_twins(design, parts)
    ]
    lines = [
        "Stress: largest principal stress at the worst spot of the block's own metal, then of its "
        "liners and insert; mean over the depth, cold, each insert one piece with the block. "
        f"Clock: about bore {result.case.block.firing_bore}, which fires. "
        "Growth: of its radius, mean. Water: open area at the deck."
    ]
    if not all(spot.settled for spot in shown):
        lines.append(f"* {UNSETTLED_TEXT}; report.html tells the error.")
    lines += [f"{design.name}: {design.stopped}" for design in result.designs if design.stopped]
    left_out: dict[str, list[str]] = {}
    for design in result.designs:
        for spot in design.hot_spots:
            if spot.sharp:
                where = f"{design.name}, {part_name(design.section.block, spot)} {spot.clock}"
                left_out.setdefault(sharp_text(design, spot), []).append(where)
    return [
        *lines, *(f"Left out: {'; '.join(places)}. {text}" for text, places in left_out.items())
    ]  # fmt: skip

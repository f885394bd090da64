"""What to know of a jacket with draft: how the section takes it, how an insert is cut for it.

It does little to the section: 1 deg on a small block (bore 80 mm, H 28 mm) takes 1.6 % off the
worst stress, bare and with an insert, and adds 1.2 % at the relief cut of the bare one, as what
stands beside it is stiffer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.base.subject import Solved
from cases.case import Case

PRESSED = 10
"""Press on each side that the contact of a straight insert is told for. [um]."""


def draft_limits(case: Case) -> list[str]:
    """How the section takes the draft, or that it has none."""
    block, depth = case.block, case.section_depth
    if not block.jacket:
        return []
    if block.draft == 0:
        if any(design.insert and design.insert.register for design in case.designs):
            return ["Walls as cast stand upright in the section: no draft is stated."]
        return []
    thicker = math.tan(math.radians(block.draft)) * depth / 2
    return [
        f"The jacket has a draft of {block.draft:g} deg. The section has its walls as thick as "
        f"half-way down its depth, {thicker:.2f} mm more than at the deck; the wedge itself, which "
        "makes them thinner above and thicker below, is not in it."
    ]


def draft_assumed(result: Solved) -> Sequence[tuple[str, str]]:
    """Key and stand-in: inserts without a register are cut with the draft."""
    draft = result.case.block.draft
    if draft == 0:
        return []
    bears = PRESSED / 1000 / math.tan(math.radians(draft))
    return [
        (
            f'design "{design.name}", register',
            f"none, so the insert is cut with the jacket's draft of {draft:g} deg; cut straight it "
            f"would touch along its lower edge only, {bears:.2g} mm high with a press of {PRESSED} "
            f"um a side, and stand off {_stands_off(draft, insert.depth):.2g} mm at the deck",
        )
        for design in result.designs
        if (insert := design.section.insert) and insert.register is None
    ]


def _stands_off(draft: float, depth: float) -> float:
    """Gap at the deck of a straight insert that touches at its lower edge. [mm]."""
    return depth * math.tan(math.radians(draft))

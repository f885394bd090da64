"""The chapter on the head."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Chapter
from cases.gas.solve import gas_of
from cases.head.given import head_given
from cases.head.lines import (
    case_clamp,
    depth_words,
    first_lines,
    heads,
    plate_words,
    pressed_words,
    refused_lines,
)
from cases.head.result import WAYS, DeckInDepth
from cases.stress.result import CaseResult


def head_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """What the head does, where the case has one."""
    found, given, clamp = heads(result), head_given(result.case), case_clamp(result)
    if given is None or clamp is None:
        return ()
    return (
        Chapter(
            key="head",
            title="What the head does",
            template="head/chapter.html.j2",
            finding=f"The head lifts at {10 * clamp.lifts_at:.0f} bar on the wall.",
            contents={
                "heads": found,
                "head": given,
                "clamp": clamp,
                "gas": gas_of(result),
                "first_lines": first_lines(result),
                "ways": WAYS,
                "pressed": [
                    pressed_words(design.name, one) for design, one in found if one.pressed
                ],
                "in_depth": [
                    (design.name, one.in_depth)
                    for design, one in found
                    if isinstance(one.in_depth, DeckInDepth)
                ],
                "seals": [
                    line for design, one in found for line in depth_words(design.name, one)[1:]
                ],
                "no_depth": [
                    f"{design.name}: {one.in_depth.text}"
                    for design, one in found
                    if isinstance(one.in_depth, Refusal)
                ],
                "plate": plate_words(given, found[0][1]) if found else "",
                "refused": refused_lines(result),
            },
        ),
    )

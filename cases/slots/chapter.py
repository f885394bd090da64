"""The chapter on slots that are proposed."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.slots.given import slots_given
from cases.slots.result import SlotsFound
from cases.slots.words import FILE, found_words


def slots_chapters(result: Solved) -> tuple[Chapter, ...]:
    """Slots that are proposed, where the case asks for them."""
    found: SlotsFound | None = result.found.get("slots")
    if found is None:
        return ()
    return (
        Chapter(
            key="slots",
            title="Slots proposed",
            template="slots/chapter.html.j2",
            finding=found_words(found, result.case.block.bores),
            contents={"slots": found, "wishes": slots_given(result.case), "file": FILE},
        ),
    )

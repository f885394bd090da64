"""The chapter on the crack."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved


def crack_chapters(result: Solved) -> tuple[Chapter, ...]:
    """What a crack does, where it was followed."""
    found = result.found.get("crack")
    if found is None:
        return ()
    return (
        Chapter(
            key="crack", title="What a crack does", template="crack/chapter.html.j2",
            contents={"crack": found},
        ),
    )  # fmt: skip

"""The chapter on the depth section."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.gas.solve import gas_of


def depth_chapters(result: Solved) -> tuple[Chapter, ...]:
    """The barrel from the side, where it was looked at."""
    found = result.found.get("depth")
    if found is None:
        return ()
    contents = {"depth": found, "gas": gas_of(result)}
    return (
        Chapter(
            key="depth", title="The barrel from the side", template="depth/chapter.html.j2",
            contents=contents,
        ),
    )  # fmt: skip

"""The chapter on the depth section."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Chapter, Solved
from cases.gas.solve import gas_of

TITLE = "The barrel from the side"


def depth_chapters(result: Solved) -> tuple[Chapter, ...]:
    """The barrel from the side, where it was looked at."""
    found = result.found.get("depth")
    if isinstance(found, Refusal):
        return (
            Chapter(
                key="depth", title=TITLE, template="base/refused.html.j2",
                contents={"what": "There is no depth section", "refusal": found},
            ),
        )  # fmt: skip
    if found is None:
        return ()
    contents = {"depth": found, "gas": gas_of(result)}
    return (
        Chapter(
            key="depth", title=TITLE, template="depth/chapter.html.j2",
            contents=contents,
        ),
    )  # fmt: skip

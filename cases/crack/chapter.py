"""The chapter on the crack."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import Chapter, Solved
from cases.crack.lines import no_limit
from cases.crack.result import CrackResult

TITLE = "What a crack does"


def crack_chapters(result: Solved) -> tuple[Chapter, ...]:
    """What a crack does, where it was followed."""
    found = result.found.get("crack")
    if isinstance(found, Refusal):
        return (
            Chapter(
                key="crack", title=TITLE, template="base/refused.html.j2",
                contents={"what": "No crack was followed", "refusal": found},
            ),
        )  # fmt: skip
    if found is None:
        return ()
    return (
        Chapter(
            key="crack", title=TITLE, template="crack/chapter.html.j2",
            contents={"crack": found}, finding=_ends(result, found),
        ),
    )  # fmt: skip


def _ends(result: Solved, found: CrackResult) -> str:
    """What becomes of the crack in each design."""
    ends = "; ".join(f"{one.design} {one.told_growth.words}" for one in found.series)
    return f"A crack of {found.given.flaw:g} mm: {ends}.{no_limit(result)}"

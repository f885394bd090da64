"""The chapter on the water through the gaskets."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.gasket.given import gasket_given
from cases.gasket.result import water_of
from cases.gasket.words import finding_words, place_of


def gasket_chapters(result: Solved) -> tuple[Chapter, ...]:
    """What the gaskets leave open, where the case states any."""
    given = gasket_given(result.case)
    if not given.gaskets:
        return ()
    found = {design.name: water_of(design) for design in result.designs}
    return (
        Chapter(
            key="gasket",
            title="Water through the gasket",
            template="gasket/chapter.html.j2",
            finding=finding_words(result),
            contents={
                "gaskets": given.gaskets,
                "designs": result.designs,
                "found": found,
                "block": result.case.block,
                "place_of": place_of,
            },
        ),
    )

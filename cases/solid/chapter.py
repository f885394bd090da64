"""The chapter on the solid."""

from __future__ import annotations

from cases.base.output import file_keys
from cases.base.subject import Chapter
from cases.gas.solve import gas_of
from cases.life.given import life_given
from cases.solid.figures import governing_places
from cases.solid.result import refused_of
from cases.solid.words import ERRORS, first_lines, shown_state, solids, unsettled, worth_words
from cases.stress.result import CaseResult

LISTED = 8
"""Spots of a design that are listed."""


def solid_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """The block in depth, where it was solved or refused."""
    found, life = solids(result), life_given(result.case)
    refused = [
        (design.name, refusal) for design in result.designs if (refusal := refused_of(design))
    ]
    if not found and not refused:
        return ()
    return (
        Chapter(
            key="solid",
            title="The block in depth",
            template="solid/chapter.html.j2",
            contents={
                "solids": [
                    (design, solid, shown_state(solid), shown_state(solid).governing)
                    for design, solid in found
                ],
                "refused": refused,
                "first_lines": first_lines(result),
                "unsettled": unsettled(result),
                "worth": worth_words(result),
                "promised": {name: 100 * error for name, error in ERRORS.items()},
                "most": LISTED,
                "fitted": any(
                    solid.as_made is not None and (life.fits.get(design.name) or life.liner_opens)
                    for design, solid in found
                ),
                "lined": life.liner_opens,
                "kind": "narrow" if len(governing_places(result)) == 1 else "full",
                "keys": file_keys(result),
                "gas": gas_of(result),
            },
        ),
    )

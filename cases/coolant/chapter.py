"""The chapter on the coolant."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.coolant.given import coolant_of
from cases.coolant.words import boiling_words, flow_words, unusual_words


def coolant_chapters(result: Solved) -> tuple[Chapter, ...]:
    """What the water takes, where the case says what flows."""
    film = coolant_of(result)
    if film is None:
        return ()
    return (
        Chapter(
            key="coolant",
            title="What the coolant takes",
            template="coolant/chapter.html.j2",
            finding=f"The coolant: {boiling_words(film)}.",
            contents={
                "film": film,
                "flow": flow_words(film),
                "boiling": boiling_words(film),
                "unusual": unusual_words(film),
                "assumed": [words for _, words in film.given.assumed],
            },
        ),
    )

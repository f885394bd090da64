"""What the chapter on fits shows."""

from __future__ import annotations

from cases.base.subject import Chapter
from cases.fit.advice import advice_of
from cases.fit.lines import CLEARANCE, advice_words, asked_words, flat_words
from cases.fit.result import FitAdvice, sweep_of
from cases.life.given import life_given
from cases.life.steps import TAIL
from cases.rating.window import NEAR_BEST
from cases.stress.result import CaseResult, DesignResult


def _to_make(design: DesignResult, advice: FitAdvice) -> str:
    window = advice.window
    if window is None:
        return f"{design.name} no interference will do"
    clear = f" ({CLEARANCE})" if window.low_um < 0 else ""
    return f"{design.name} {window.low_um:.0f} to {window.high_um:.0f} um{clear}"


def fit_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """Which fit to make, where any insert is fitted."""
    told = [
        (design, sweep, advice)
        for design in result.designs
        if (sweep := sweep_of(design)) and (advice := advice_of(result, design))
    ]
    if not told:
        return ()
    fits = [_to_make(design, advice) for design, _, advice in told]
    return (
        Chapter(
            key="fit",
            title="Which fit to make",
            template="fit/chapter.html.j2",
            finding=f"To make, on the diameter: {'; '.join(fits)}.",
            contents={
                "told": sorted(told, key=lambda one: one[2].inside),
                "section_only": flat_words(result),
                "by_solid": any(sweep.by_solid for _, sweep, _ in told),
                "one_piece": any(sweep.one_piece is not None for _, sweep, _ in told),
                "clears": any(sweep.points[0].interference_um < 0 for _, sweep, _ in told),
                "clearance": CLEARANCE,
                "rated": any(sweep.rated for _, sweep, _ in told),
                "advice_words": advice_words,
                "asked_words": asked_words,
                "life_input": life_given(result.case),
                "near_best": 1 - NEAR_BEST,
                "tail": TAIL,
            },
        ),
    )

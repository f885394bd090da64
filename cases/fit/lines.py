"""What the terminal says of the fits."""

from __future__ import annotations

from cases.fit.advice import advice_of, told_sweep
from cases.fit.result import FitAdvice, FitSweep
from cases.stress.result import CaseResult

AT_MOST = "Its limits are at most what is told: a stress that counts there has no bound."
BY_SOLID = (
    "What other fits change is told by the section, in proportion to the solid's limit as asked."
)


def first_lines(result: CaseResult) -> list[str]:
    """A sentence for each fitted design whose stated fit is no good."""
    return [text for inside, text in _told(result) if not inside]


def fit_lines(result: CaseResult) -> list[str]:
    """A sentence for each fitted design whose stated fit will do."""
    told = [text for inside, text in _told(result) if inside]
    return ["Interference, on the diameter:", *told] if told else []


def _told(result: CaseResult) -> list[tuple[bool, str]]:
    """Of each fitted design whether its stated fit lies in the window, and what to make."""
    return [
        (advice.inside, f"{design.name}: {advice_words(sweep, advice)}")
        for design in result.designs
        if (sweep := told_sweep(result, design)) and (advice := advice_of(result, design))
    ]


def asked_words(sweep: FitSweep) -> str:
    """The interference that the case states, such as "20 um (10 um per side)"."""
    text = f"{sweep.asked_um:.0f} um"
    return f"{text} ({sweep.asked_um / 2:.1f} um per side)" if sweep.per_side else text


def advice_words(sweep: FitSweep, advice: FitAdvice) -> str:
    """Whether the stated interference will do, what to make, and how sure its limits are."""
    text = _what_to_make(sweep, advice)
    doubts = [*([AT_MOST] if advice.at_most else ()), *([BY_SOLID] if sweep.by_solid else ())]
    return " ".join([text, *doubts])


def _what_to_make(sweep: FitSweep, advice: FitAdvice) -> str:
    window = advice.window
    if window is None:
        cure = f" What would change it: {advice.cure}." if advice.cure else ""
        return (
            f"the asked interference of {asked_words(sweep)} will not do: {advice.why_none}.{cure}"
        )
    where = "lies in" if advice.inside else "LIES OUTSIDE"
    text = (
        f"the asked interference of {asked_words(sweep)} {where} the window of "
        f"{window.low_um:.0f} to {window.high_um:.0f} um ({window.low_by}; {window.high_by}); make "
        f"{window.nominal_um:.0f} um ({window.nominal_um / 2:.1f} um per side), "
        f"{window.total_um:.0f} um of tolerance in all"
    )
    if advice.limit_at_nominal is None:
        text += ", by hold and yield only"
    else:
        asked = sweep.asked.least_limit or 0.0
        text += f", and it stands {advice.limit_at_nominal:.2f} times the asked gas load"
        text += f" ({asked:.2f} as asked"
        text += f", bare {advice.limit_bare:.2f})" if advice.limit_bare is not None else ")"
    if advice.iso:
        text += f"; nearest ISO fit {advice.iso}"
    if advice.match_machine:
        text += f"; machine to match, as milling to size leaves {advice.milled_um:.0f} um"
    if sweep.unsolved:
        text += f". Not solved: {'; '.join(sweep.unsolved)}"
    return text if text.endswith(".") else f"{text}."

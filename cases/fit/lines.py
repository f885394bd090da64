"""What the terminal says of the fits."""

from __future__ import annotations

from cases.fit.advice import advice_of
from cases.fit.result import FitAdvice, FitSweep, sweep_of
from cases.life.given import InsertCompound
from cases.stress.result import CaseResult

AT_MOST = "Its limits are at most what is told: a stress that counts there has no bound."
SECTION_ONLY = "Windows of fits are by the section only: no solid was solved at other fits."
RATE = "hoopclock rate solves them."
CLEARANCE = "less than 0 is clearance"


def first_lines(result: CaseResult) -> list[str]:
    """A sentence for each fitted design whose stated fit is no good; whether none is by a solid."""
    unfit = [text for inside, text in _told(result) if not inside]
    flat = flat_words(result)
    return [*unfit, flat] if flat else unfit


def flat_words(result: CaseResult) -> str:
    """That windows are by the section only, and what has them by the solid; "" where none is."""
    sweeps = [sweep for design in result.designs if (sweep := sweep_of(design))]
    flat = [sweep for sweep in sweeps if not sweep.by_solid]
    if not flat:
        return ""
    return SECTION_ONLY if any(sweep.rated for sweep in flat) else f"{SECTION_ONLY} {RATE}"


def fit_lines(result: CaseResult) -> list[str]:
    """A sentence for each fitted design whose stated fit will do."""
    told = [text for inside, text in _told(result) if inside]
    return ["Interference, on the diameter:", *told] if told else []


def _told(result: CaseResult) -> list[tuple[bool, str]]:
    """Of each fitted design whether its stated fit lies in the window, and what to make."""
    return [
        (advice.inside, f"{design.name}: {advice_words(sweep, advice)}")
        for design in result.designs
        if (sweep := sweep_of(design)) and (advice := advice_of(result, design))
    ]


def asked_words(sweep: FitSweep) -> str:
    """What the case states, such as "interference of 20 um (10 um per side)"."""
    um = abs(sweep.asked_um)
    text = f"{'clearance' if sweep.asked_um < 0 else 'interference'} of {um:.0f} um"
    return f"{text} ({um / 2:.1f} um per side)" if sweep.per_side else text


def compound_words(compound: InsertCompound) -> str:
    """What a joint is filled with."""
    (_, tension), (_, shear) = compound.tension[0], compound.shear[0]
    return (
        f"a compound of {tension:g} MPa in tension and {shear:g} MPa in shear at 20 degC, which "
        f"fills {1000 * compound.largest_gap:.0f} um a side"
    )


def advice_words(sweep: FitSweep, advice: FitAdvice) -> str:
    """Whether the stated interference will do, what to make, and how sure its limits are."""
    text = _what_to_make(sweep, advice)
    return f"{text} {AT_MOST}" if advice.at_most else text


def _what_to_make(sweep: FitSweep, advice: FitAdvice) -> str:
    window = advice.window
    if window is None:
        cure = f" What would change it: {advice.cure}." if advice.cure else ""
        return f"the asked {asked_words(sweep)} will not do: {advice.why_none}.{cure}"
    where = "lies in" if advice.inside else "LIES OUTSIDE"
    text = (
        f"the asked {asked_words(sweep)} {where} the window of "
        f"{window.low_um:.0f} to {window.high_um:.0f} um ({window.low_by}; {window.high_by}); make "
        f"{window.nominal_um:.0f} um ({window.nominal_um / 2:.1f} um per side), "
        f"{window.total_um:.0f} um of tolerance in all"
    )
    if window.low_um < 0:
        text += f" ({CLEARANCE})"
    if advice.limit_at_nominal is None:
        text += ", by hold and yield only"
    else:
        asked = sweep.asked.told or 0.0
        text += f", and it stands {advice.limit_at_nominal:.2f} times the asked gas load"
        text += f" ({asked:.2f} as asked"
        text += f", bare {advice.limit_bare:.2f})" if advice.limit_bare is not None else ")"
    if advice.iso:
        text += f"; nearest ISO fit {advice.iso}"
    if advice.match_machine:
        text += f"; machine to match, as milling to size leaves {advice.milled_um:.0f} um"
    if sweep.compound:
        text += f"; held by {compound_words(sweep.compound)}"
    if sweep.unsolved:
        text += f". Not solved: {'; '.join(sweep.unsolved)}"
    return text if text.endswith(".") else f"{text}."

"""What the terminal says of the load steps."""

from __future__ import annotations

from cases.base.parts import PARENT_PARTS
from cases.life.chapter import firing_liners, life_title
from cases.life.result import YIELD, FitAdvice, is_lived, service_of
from cases.life.steps import WARM_GAS
from cases.stress.result import CaseResult
from cases.stress.spots import rated_worst


def life_lines(result: CaseResult) -> list[str]:
    """What the load steps of each design come to."""
    lines = []
    for design in result.designs:
        if not is_lived(design):
            continue
        service = service_of(design)
        step = service.step(WARM_GAS) or service.steps[-1]
        spot = rated_worst(step, PARENT_PARTS)
        text = f"{design.name}, {step.name}: " + (
            f"block {spot.principal_mpa:.0f} MPa at {spot.part} {spot.clock}, " if spot else ""
        )
        text += (
            f"bore {step.bore.mean_growth_um:+.0f} um, {step.bore.out_of_round_um:.0f} um out of "
            "round"
        )
        if step.joint:
            text += f", joint {100 * step.joint.open_share:.0f} % open"
        for of, liner in firing_liners(design):
            if of is step:
                text += f", liner {100 * liner.open_share:.0f} % open"
        advice = service.advice
        if advice and advice.least_um is None:
            text += f", no interference up to {advice.searched_um:.0f} um holds every piece"
        elif advice and advice.empty:
            text += f", no interference meets both limits: {_limits(advice)}"
        elif advice:
            text += f", interference {_limits(advice)}"
        lines += [f"{text}.", *(f"{design.name}, {note}" for note in service.notes)]
    title = life_title(result.case)
    return [f"{title}, bore from the honed circle on:", *lines] if lines else []


def _limits(advice: FitAdvice) -> str:
    """Both ends of an advised interference, each with the step that sets it."""
    least = f"at least {advice.least_um:.0f} um (or {advice.least_step}: loose)"
    if advice.most_um is None:
        return least
    most = f"at most {advice.most_um:.0f} um" if advice.most_um > 0 else "at most none"
    yields = f"over {100 * advice.yield_leaves_out:g} % of the block yields"
    what = yields if advice.most_by == YIELD else "out of round"
    return f"{least}, {most} (or {advice.most_step}: {what})"

"""What the terminal says of the load steps."""

from __future__ import annotations

from cases.base.parts import PARENT_PARTS
from cases.base.words import give_or_take
from cases.life.chapter import life_title
from cases.life.result import YIELD, FitAdvice, JointState, is_lived, service_of
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
            f"block {spot.principal_mpa:.0f}{give_or_take(spot.error_mpa)} MPa at {spot.part} "
            f"{spot.clock}, "
            if spot
            else ""
        )
        bore, joint = step.bore, step.joint
        text += (
            f"bore {bore.mean_growth_um:+.0f}{give_or_take(bore.growth_error_um)} um, "
            f"{bore.out_of_round_um:.0f}{give_or_take(bore.out_of_round_error_um)} um out of round"
        )
        if joint:
            text += f", joint {100 * joint.open_share:.0f}{give_or_take(_percent(joint))} % open"
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


def _percent(joint: JointState) -> float | None:
    """Error of the open share of a joint. [%]."""
    return None if joint.open_share_error is None else 100 * joint.open_share_error


def _limits(advice: FitAdvice) -> str:
    """Both ends of an advised interference, each with the step that sets it."""
    least = f"at least {advice.least_um:.0f} um (or {advice.least_step}: loose)"
    if advice.most_um is None:
        return least
    most = f"at most {advice.most_um:.0f} um" if advice.most_um > 0 else "at most none"
    yields = f"over {100 * advice.yield_leaves_out:g} % of the block yields"
    what = yields if advice.most_by == YIELD else "out of round"
    return f"{least}, {most} (or {advice.most_step}: {what})"

"""What the terminal says of the load steps."""

from __future__ import annotations

from cases.base.parts import PARENT_PARTS
from cases.base.words import give_or_take
from cases.life.chapter import firing_liners, life_title
from cases.life.result import JointState, is_lived, service_of
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
        for of, liner in firing_liners(design):
            if of is step:
                text += f", liner {100 * liner.open_share:.0f} % open"
        lines += [f"{text}.", *(f"{design.name}, {note}" for note in service.notes)]
    title = life_title(result.case)
    return [f"{title}, bore from the honed circle on:", *lines] if lines else []


def _percent(joint: JointState) -> float | None:
    """Error of the open share of a joint. [%]."""
    return None if joint.open_share_error is None else 100 * joint.open_share_error

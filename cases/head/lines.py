"""What is said of the head: first of all, in the terminal, as limits and as cautions."""

from __future__ import annotations

from cases.base.faults import Refusal
from cases.base.subject import TextTable
from cases.gas.solve import gas_of
from cases.head.clamp import Clamp, clamp_of
from cases.head.given import HeadInput, head_given
from cases.head.result import FREE, FRICTION, HELD, DeckInDepth, DesignHead, head_of
from cases.rating.result import is_rated, rating_of
from cases.stress.result import CaseResult, DesignResult, first_of

OFF_BARE, OFF_INSERT = (0.17, 0.21), (0.02, 0.06)
"""What friction under a gasket took off the worst stress of two blocks, bare and with an insert
(measured elsewhere, with ``MEASURED_AT`` around the fire ring). A section, which is held over all
its depth, can't show how much less that is below the deck, where an insert's worst place may be."""
MEASURED_AT = 30.0
"""150 N/mm on the fire ring at a friction of 0.2. [N/mm]."""
NOT_COUNTED = (
    "No head clamping, as the case states no [head]: it would lift at some gas pressure, squeeze "
    "the barrel's wall along its axis, press an insert down, and hold the deck in its plane up to "
    "the gasket's friction, which changes what an insert gains."
)


_DEPTH_LIMITS = (
    "In depth the head's load goes down to the crankcase floor, as if the bolts reached there; "
    "where their threads pull the block up is not drawn. Heights are from a deck machined flat "
    "with all parts in, cold and bare.",
)


def heads(result: CaseResult) -> list[tuple[DesignResult, DesignHead]]:
    """Designs with what the head does to each; none without a head."""
    return [(design, found) for design in result.designs if (found := head_of(design))]


def case_clamp(result: CaseResult) -> Clamp | None:
    """What presses on the deck of a case; None without a head."""
    given = head_given(result.case)
    return clamp_of(result.case, given, gas_of(result)) if given else None


def refused_lines(result: CaseResult) -> list[str]:
    """Designs whose head could not be laid on, and why."""
    return [
        f"{design.name}: what the head does to it was not found. {refusal.text}"
        for design in result.designs
        if isinstance(refusal := design.found.get("head"), Refusal)
    ]


def first_lines(result: CaseResult) -> list[str]:
    """Whether the head lifts first, and what it makes of an insert's gain."""
    clamp = case_clamp(result)
    if clamp is None:
        return []
    told = []
    asked = gas_of(result).peak_pressure
    lifts = f"The head lifts at {10 * clamp.lifts_at:.0f} bar"
    beaten = [
        f"{design.name} ({limit_words(result, design)})"
        for design in result.designs
        if lifts_first(result, design)
    ]
    if clamp.lifts_at < asked:
        told.append(
            f"{lifts}, below the {10 * asked:.0f} bar that is asked: with these bolts no design "
            "bears it."
        )
    if beaten:
        told.append(
            f"{lifts}, below the limit of {', '.join(beaten)}: what stands above it is not there "
            "to be used with these bolts."
        )
    return [*told, *_gain_lines(result)]


def limit_at(result: CaseResult, design: DesignResult) -> float | None:
    """Gas pressure of the limit, or up to which none was met; None without a rating. [MPa]."""
    if not is_rated(design):
        return None
    rating, peak = rating_of(design), gas_of(result).peak_pressure
    if rating.limit is None:
        return rating.tried * peak
    return rating.limit.wall_mpa or rating.limit.factor * peak


def lifts_first(result: CaseResult, design: DesignResult) -> bool:
    """Whether the head lifts below the limit of a design's rating."""
    clamp, limit = case_clamp(result), limit_at(result, design)
    return clamp is not None and limit is not None and clamp.lifts_at < limit


def limit_words(result: CaseResult, design: DesignResult) -> str:
    """The gas pressure of a design's limit."""
    limit = limit_at(result, design)
    above = "" if rating_of(design).limit else "above "
    return f"{above}{10 * limit:.0f} bar" if limit is not None else ""


def gains(result: CaseResult, design: DesignResult) -> tuple[float, float] | None:
    """What a design takes off the worst stress of the first, its deck free and held by friction.

    Shares; None for the first itself, or where there is nothing to compare.
    """
    first = first_of(result)
    head, bare = head_of(design), head_of(first)
    if head is None or bare is None or design is first:
        return None
    free, friction = (
        1 - head.states[way].worst_mpa / bare.states[way].worst_mpa for way in (FREE, FRICTION)
    )
    return free, friction


def _gain_lines(result: CaseResult) -> list[str]:
    """What a head leaves of each insert's gain over the bare block."""
    first = first_of(result)
    head = head_of(first)
    told = []
    for design in result.designs:
        if (found := gains(result, design)) and design.section.insert is not None:
            free, friction = found
            least, most = narrowed(free)
            told.append(
                f"{design.name} takes {100 * least:.0f} to {100 * most:.0f} % off {first.name}'s, "
                f"not {100 * free:.0f} % (held over all its depth, as in this section, "
                f"{100 * friction:.0f} %)"
            )
    if head is None or first.section.insert is not None or not told:
        return []
    bare, insert = ([100 * share for share in of] for of in (OFF_BARE, OFF_INSERT))
    return [
        f"A head narrows what an insert gains: {MEASURED_AT:g} N per mm of friction around the "
        f"fire ring (here {head.ring_friction_n_per_mm:.1f}) took {bare[0]:.0f} to {bare[1]:.0f} % "
        f"off the worst stress of two bare blocks and {insert[0]:.0f} to {insert[1]:.0f} % off "
        f"that with an insert (other blocks, measured elsewhere). By that {'; '.join(told)}."
    ]


def narrowed(gain: float) -> tuple[float, float]:
    """What is left of an insert's gain by ``OFF_BARE`` and ``OFF_INSERT``, least and most.

    Examples
    --------
    >>> [round(gain, 3) for gain in narrowed(0.5)]
    [0.38, 0.434]
    """
    left = 1 - gain
    return (
        1 - left * (1 - OFF_INSERT[0]) / (1 - OFF_BARE[1]),
        1 - left * (1 - OFF_INSERT[1]) / (1 - OFF_BARE[0]),
    )


def head_lines(result: CaseResult) -> list[str | TextTable]:
    """What the head does, and what of it isn't computed."""
    found, given, clamp = heads(result), head_given(result.case), case_clamp(result)
    if given is None or clamp is None:
        return []
    words = clamp_words(given, clamp, result.case.block.firing_bore)
    if not found:
        return [words, *refused_lines(result)]
    return [
        words,
        TextTable(
            title="The deck held by the head at the asked gas, bounds of the section",
            headings=(
                "Design", "Free\nMPa", "Friction\nMPa", "Face held\nMPa", "Growth\nfree um",
                "Friction\num", "Face held\num", "Limit by\nfriction", "Limit,\nface held",
            ),
            rows=tuple(_row(design.name, head) for design, head in found),
        ),
        wall_words(found[0][1]),
        *(pressed_words(design.name, head) for design, head in found if head.pressed),
        *(line for design, head in found for line in depth_words(design.name, head)),
        plate_words(given, found[0][1]),
        *refused_lines(result),
    ]  # fmt: skip


def _row(name: str, head: DesignHead) -> tuple[str, ...]:
    states = [head.states[way] for way in (FREE, FRICTION, HELD)]
    return (
        name,
        *(
            f"{state.worst.principal_mpa:.0f} +-{state.worst.error_mpa:.1f}" if state.worst else ""
            for state in states
        ),
        *(f"{state.bore.mean_growth_um:.1f}" for state in states),
        *(f"{100 * head.limit_change(way):+.0f} %" for way in (FRICTION, HELD)),
    )


def clamp_words(given: HeadInput, clamp: Clamp, bore: int) -> str:
    """The clamp load, and when it is gone."""
    shared = f", {clamp.shared} of them shared with a neighbour" if clamp.shared else ""
    lifts = (
        f"the asked gas leaves {100 * clamp.left:.0f} % of it"
        if clamp.left > 0
        else "the asked gas leaves nothing of it"
    )
    return (
        f"Head: {clamp.bolts} bolts of {given.bolt_preload / 1000:g} kN, {clamp.about} about bore "
        f"{bore}{shared}: {clamp.load / 1000:.0f} kN, {clamp.ring_line:.0f} N per mm on its fire "
        f"ring. It lifts at {10 * clamp.lifts_at:.0f} bar, its fire ring alone is unloaded at "
        f"{10 * clamp.ring_lifts_at:.0f} bar; {lifts}."
    )


def wall_words(head: DesignHead) -> str:
    """What squeezes the barrel's wall along its axis."""
    parts = ", ".join(f"{part} {stress:.0f} MPa" for part, stress in head.wall_mpa.items())
    at_gas = ", ".join(f"{stress:.0f}" for stress in head.wall_at_gas_mpa.values())
    return (
        f"The fire ring squeezes the wall along its axis, in the mean: {parts}; at the asked gas "
        f"{at_gas} MPa. That adds to von Mises stress and yield, and leaves the principal stresses "
        "of the plane as they are."
    )


def pressed_words(name: str, head: DesignHead) -> str:
    """What the gasket does to an insert, beside what the fit holds."""
    pressed = head.pressed
    assert pressed is not None
    text = (
        f"{name}: the gasket presses the insert down with {pressed.down_n / 1000:.1f} kN (the "
        f"water lifts it with {pressed.water_n / 1000:.1f} kN) and would hold it sideways with "
        f"{pressed.friction_n / 1000:.1f} kN more; not added to its hold"
    )
    if pressed.hold_n is None or pressed.wanting_n is None:
        return f"{text}."
    holds = f". Its fit holds {pressed.hold_n / 1000:.1f} kN at the least ({pressed.hold_step})"
    if pressed.wanting_n > 0:
        return (
            f"{text}{holds}: {pressed.wanting_n / 1000:.1f} kN too little, so it needs a ledge to "
            "stand on, or a gasket that is relieved over it."
        )
    return f"{text}{holds}, which is enough."


def depth_words(name: str, head: DesignHead) -> list[str]:
    """What the head does to a design's solid."""
    found = head.in_depth
    if isinstance(found, Refusal):
        return [f"{name}, in depth: {found.text}"]
    if found is None:
        return []
    sag = ", ".join(
        f"{load.ring_sag_um:.0f} um {load.name} (uneven by {load.ring_uneven_um:.0f} um)"
        for load in found.loads
    )
    worst = ", ".join(f"{mpa:.0f} MPa {way}" for way, mpa in found.worst_mpa.items())
    told = [
        f"{name}, in depth, {found.engine}: the fire ring's seat lies below the rest of the deck "
        f"by {sag}, above it where that is negative; steps are against what the gasket takes, "
        f"{found.step_allowed_um:g} um. "
        f"{_step_words(found)} Worst stress at the peak of the gas: {worst}."
    ]
    if found.loses_seal:
        told.append(f"{name}: {seal_words(found)}")
    return told


def _step_words(found: DeckInDepth) -> str:
    if found.largest_step is None:
        return "There is no joint that could step."
    load, step = found.largest_step
    above = "above" if step.step_um > 0 else "below"
    return (
        f"The largest, {load.name}: {step.part} {abs(step.step_um):.0f} um {above} the "
        f"{step.against} at {step.clock}."
    )


def seal_words(found: DeckInDepth) -> str:
    """Why the gasket may not seal."""
    if found.insert_gives_way:
        return (
            "the fit does not hold the insert against the gasket, which pushes it down: the bead "
            "over it loses its seal. Give it a ledge to stand on, more press or friction, or "
            "relieve the gasket over it. What is told is with no gasket on it."
        )
    return (
        f"a step of {abs(found.largest_step[1].step_um):.0f} um under the gasket, which takes "  # type: ignore[index]
        f"{found.step_allowed_um:g} um: a joint that moves under the bead loses its seal."
    )


def plate_words(given: HeadInput, head: DesignHead) -> str:
    """What a plate for honing has to do, and what isn't computed."""
    clamp = head.clamp
    return (
        f"Hone with a plate that clamps alike: {given.bolt_preload / 1000:g} kN a bolt, "
        f"{clamp.ring_pressure:.0f} MPa under the fire ring, {head.land_pressure_mpa:.1f} MPa on "
        f"the rest. Clamping may add up to {head.most_growth_um:.1f} um to the mean of the bore "
        "(Poisson, nothing holding the wall); how it goes out of round is three-dimensional and "
        "not computed here."
    )


def head_limits(result: CaseResult) -> list[str]:
    """What of a head isn't counted."""
    if head_given(result.case) is None:
        return [NOT_COUNTED]
    return [
        "The head is no part of the section. Its bolts' load is known and even, the head is rigid, "
        "and all of the gas force comes off the clamp load: when the joint parts is on the safe "
        "side of that, how it leaks before is not seen. Settling, scatter of tightening and heat "
        "in the bolts are not taken off.",
        "The section has one plane, so what holds the deck's face holds the mean of all its depth, "
        "through columns of metal that shear one by one: bounds, cold and in one piece. In the "
        "solid the metal below moves more freely. Limits by them are in proportion to the worst "
        "stress, nothing judged anew; nothing of the head is in the rating.",
        *(_DEPTH_LIMITS if any(head.in_depth for _, head in heads(result)) else ()),
    ]


def head_cautions(result: CaseResult) -> list[str]:
    """What is dangerous about a head."""
    if head_given(result.case) is None:
        return []
    unsealed = [
        f"{design.name}: {seal_words(head.in_depth)}"
        for design, head in heads(result)
        if isinstance(head.in_depth, DeckInDepth) and head.in_depth.loses_seal
    ]
    return [
        *unsealed,
        "A head that lifts lets burning gas out and bolts that are overtightened break: follow the "
        "maker's procedure and order of tightening, and never stand over a plate that is loaded.",
    ]

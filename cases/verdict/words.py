"""The verdict in words: line 1, cells of its rows, what would change it, a paragraph for a mail."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cases.fit.lines import CLEARANCE
from cases.rating.words import (
    LEAST_CYCLES,
    MOST_CYCLES,
    count_words,
    hours_words,
    life_words,
    of_hundred,
)
from cases.verdict.result import (
    COST,
    FAILS,
    HOLDS,
    MARGINAL,
    UNKNOWN,
    WATER,
    Assumption,
    Distortion,
    FitToMake,
    Measurement,
    Row,
    Spreading,
    Verdict,
)

QUICK = (
    "Quick look: the section and a coarse solid, cold, each insert one piece with the block. It "
    "shows where the metal is pulled and what a design changes there. It can't tell what a design "
    "carries, how long it lasts, or which one to make: run hoopclock rate."
)
QUICK_SECTION = QUICK.replace("the section and a coarse solid", "the section alone")
"""First line of a run that rates nothing."""
UNRANKED = (
    "It can't rank these designs either: a fit is asked, and a press, a joint that opens and heat "
    "change their order."
)
"""What is added where an insert is fitted."""
WHY_TAKEN = {WATER: "it keeps more water", COST: "it is the cheaper to make"}


def sentence(verdict: Verdict) -> str:
    """Line 1: which design, how held, with what fit, what it carries against what is wanted."""
    choice, row = verdict.choice, verdict.row
    lead = {
        HOLDS: f"HOLDS: {_make(row)}.",
        MARGINAL: f"MARGINAL: {_nearest(verdict, 'no design holds for sure')}.",
        FAILS: f"DOES NOT HOLD: {_nearest(verdict, 'no design holds')}.",
        UNKNOWN: f"NOT KNOWN: no limit was found; {_named(row)} is the first to look at.",
    }[choice.status]
    words = [lead, f"{carries_words(verdict, row)}.", *_lacking(verdict, row)]
    if choice.alike:
        why = WHY_TAKEN.get(choice.alike_by)
        taken = f": {row.design} is taken as {why}" if why else " within draws and errors"
        if choice.alike_by == COST:
            taken += _besides(verdict)
        words.append(f"No difference to {', '.join(choice.alike)}{taken}.")
    if choice.also:
        words.append(f"Also holds: {', '.join(choice.also)}, which carries less.")
    if verdict.worse_bores:
        words.append("This is of the bore that was rated; another is worse, see below.")
    if verdict.flags:
        words.append(f"Heat: {len(verdict.flags)} flag{'s' * (len(verdict.flags) > 1)}, see below.")
    return verdict.both(" ".join(words))


def _besides(verdict: Verdict) -> str:
    """What a design that is no different takes more than the one to make; empty where nothing."""
    others = [row for row in verdict.rows if row.design in verdict.choice.alike]
    more = [
        f"{other.design} takes {other.machined[-1]} besides"
        for other in others
        if len(other.machined) > len(verdict.row.machined)
    ]
    return f": {' and '.join(more)}" if more else ""


def _make(row: Row) -> str:
    if not row.held:
        return f"leave the block bare ({row.design})"
    return f"make {_named(row)}"


def _nearest(verdict: Verdict, none: str) -> str:
    """The design that comes nearest, of several after what is so of all of them."""
    named = _named(verdict.row)
    return named if len(verdict.rows) == 1 else f"{none}; nearest is {named}"


def _named(row: Row) -> str:
    """A design, how it is held and with what fit."""
    if not row.held:
        return f"{row.design}, no insert"
    fit = f", {fit_words(row.fit)}" if row.fit else ""
    return f"{row.design}, {row.held}{fit}"


def fit_words(fit: FitToMake) -> str:
    """The interference to make, such as "4.5 to 12.5 um per side, nominal 8.5 um"."""
    iso = f" (nearest ISO fit {fit.iso})" if fit.iso else ""
    clear = f" ({CLEARANCE})" if fit.low_um < 0 else ""
    return (
        f"{fit.low_um:.1f} to {fit.high_um:.1f} um {fit.measured}{clear}, nominal "
        f"{fit.nominal_um:.1f} um{iso}"
    )


def nominal_words(fit: FitToMake) -> str:
    """What it would carry in its nominal fit; empty where that is not known."""
    if fit.limit_bar is None:
        return ""
    return f"; at the nominal {fit.nominal_um:.1f} um it carries {fit.limit_bar:.0f} bar"


def stated_outside(rows: Sequence[Row]) -> list[str]:
    """Of which fit limit and life are told, where that is none to be made."""
    return [
        f"{row.design}: limit and life are of {row.fit.stated_um:.1f} um {row.fit.measured}, as "
        f"stated{nominal_words(row.fit)}"
        for row in rows
        if row.fit and not row.fit.inside
    ]


def wanted_words(verdict: Verdict) -> str:
    """The load that is wanted."""
    power = "" if verdict.wanted_kw is None else f" ({verdict.wanted_kw:.0f} kW)"
    return f"{verdict.wanted_bar:.0f} bar{power}"


def stands_on_words(verdict: Verdict) -> str:
    """What limits stand on: solids or sections, and which design on another than the chosen one."""
    kinds = {"solid": "by the solid", "section": "by the section, a mean over the depth"}
    by = verdict.row.by
    others = [row.design for row in verdict.rows if row.by != by]
    if not others:
        return kinds[by]
    (other,) = (kinds[kind] for kind in kinds if kind != by)
    return f"{kinds[by]}; of {', '.join(others)} {other}, so don't set them side by side"


def carries_words(verdict: Verdict, row: Row) -> str:
    """What a design carries, with its band, against what is wanted, and the share that does."""
    wanted = wanted_words(verdict)
    if row.beyond is not None:
        return f"It carries more than {row.beyond:.1f} times the {wanted} wanted"
    if row.limit_factor is None:
        return f"What it carries of the {wanted} wanted was not found"
    if row.limit_factor == 0:
        return f"It carries nothing of the {wanted} wanted: fit and heat alone use up a strength"
    limit = f"{'at most ' * row.at_most}{limit_words(row, '5 to 95 % of draws: ')}"
    share = (
        f"{'its band was not found' if verdict.draws else 'nothing is drawn'}, so half of such "
        "blocks carry less"
        if row.share is None
        else f"{of_hundred(row.share, verdict.reliability)} of 100 draws carry that, "
        f"{100 * verdict.reliability:g} are asked"
    )
    return f"It carries {limit}{_power(row)}; {wanted} wanted: {share}"


def _power(row: Row) -> str:
    return "" if row.power_kw is None else f", {row.power_kw:.0f} kW"


def limit_words(row: Row, which: str = "") -> str:
    """A limit with its band, such as "68 bar (62 to 127 bar)", and what that is, if it is said."""
    if row.limit_bar is None:
        return "" if row.limit_factor is None else f"{row.limit_factor:.2f} times what is wanted"
    band = (
        band_words(row.limit_low_bar, row.limit_high_bar, " to ", unit=" bar")
        if row.share is not None
        else ""
    )
    return f"{row.limit_bar:.0f} bar{f' ({which}{band})' if band else ''}"


def band_words(
    low: float | None, high: float | None, between: str, form: str = "%.0f", unit: str = ""
) -> str:
    """What 5 and 95 % of the draws stay below; an end out of the engine's reach is a word."""
    if low is None and high is None:
        return ""
    first = "below" if low is None else form % low
    if high is None:
        return f"{first}{unit}{between}beyond"
    return f"{first}{between}{form % high}{unit}"


def _lacking(verdict: Verdict, row: Row) -> list[str]:
    """What the nearest design lacks."""
    if verdict.choice.status == HOLDS:
        return []
    words = []
    if row.limit_bar is not None and row.limit_bar < verdict.wanted_bar:
        words.append(
            f"It lacks {verdict.wanted_bar - row.limit_bar:.0f} bar: {governs_words(row)} governs."
        )
    if row.doubts:
        words.append(f"Heat keeps it from holding for sure ({', '.join(row.doubts)}).")
    if row.at_most:
        words.append("A stress that counts has no bound, so its limit is an upper one.")
    if row.unfit:
        words.append(f"No interference will do: {row.unfit}.")
    return words


def governs_words(row: Row) -> str:
    """Part, clock, depth, criterion and state of what governs."""
    if not row.places:
        return "nothing that could be judged"
    return f"{row.places[0].words} ({', '.join(filter(None, (row.criterion, row.state)))})"


def life_hours_words(row: Row) -> str:
    """The least life of cold and warm, in hours and pulls, or in cycles; empty where none."""
    cycles = row.life_cycles
    if cycles is None:
        return ""
    if math.isinf(cycles):
        return life_words(cycles)
    if cycles < LEAST_CYCLES:
        return f"minutes, below {LEAST_CYCLES:.0f} cycles"
    if cycles > MOST_CYCLES or row.life_hours is None:
        return f"{life_words(cycles)} cycles"
    pulls = "" if row.life_pulls is None else f", {count_words(row.life_pulls)} pulls"
    return f"{hours_words(cycles, row.life_hours)}{pulls}"


def short_life(row: Row) -> str:
    """The same in a narrow cell; cycles where no speed is stated."""
    cycles = row.life_cycles
    if cycles is None:
        return ""
    if cycles < LEAST_CYCLES:
        return "minutes"
    if cycles > MOST_CYCLES or row.life_hours is None:
        return life_words(cycles)
    return hours_words(cycles, row.life_hours)


def distortion_words(row: Row) -> str:
    """The bore warm at gas against what hone and ring take; empty where it is not known."""
    bore = row.distortion
    if bore is None:
        return ""
    where = "" if bore.depth_mm is None else f", {bore.depth_mm:.0f} mm down"
    words = [f"{bore.out_of_round_um:.0f} um {bore.state}{where}"]
    if bore.ring_follows is not None:
        words.append(_ring_words(bore))
    if bore.pressed_um is not None:
        words.append(f"the press leaves {bore.pressed_um:.0f} of {bore.hone_takes_um:g} um to hone")
    return "; ".join(words)


def _ring_words(bore: Distortion) -> str:
    """Whether the top ring follows, by itself or with gas behind it."""
    if bore.ring_follows:
        return "the ring follows"
    if bore.ring_follows_with_gas:
        return "the ring follows with gas behind it, NOT by itself"
    return "the ring does NOT follow"


def drop_in_words(row: Row) -> str:
    """Whether an insert drops in, at which temperatures; empty where it is not known."""
    of = row.drop_in
    if of is None:
        return ""
    at = f"block at {of.block_degc:g} degC, insert at {of.insert_degc:g} degC"
    if of.drops_in:
        return f"drops in: {at}, {of.least_um:.0f} um clear a side at the least"
    short = f"{abs(of.least_um):.0f} um {'tight' if of.least_um < 0 else 'clear'}"
    return f"does NOT drop in: {at}, {short} at the tightest side, {of.asked_um:.0f} um clear asked"


def spreading_words(one: Spreading) -> str:
    """An input that spreads the limit, with its share and worth."""
    worth = (
        ""
        if one.worth_percent is None
        else f"; if measured to be usual, the limit moves by {one.worth_percent:+.0f} %"
    )
    return f"{one.input}: {100 * one.share:.0f} % of the spread{worth}"


def assumption_words(one: Assumption) -> str:
    """What stood for an input, with its worth."""
    worth = "" if one.worth_percent is None else f" ({one.worth_percent:+.0f} % of the limit)"
    return f"{one.input}: {one.stand_in}{worth}"


def measurement_words(one: Measurement) -> str:
    """What to measure, and where."""
    return f"{one.what}: {one.where}"


def paragraph(verdict: Verdict) -> str:
    """The verdict as one paragraph that stands alone."""
    row = verdict.row
    words = [sentence(verdict)]
    if verdict.choice.status == HOLDS and row.places:
        words.append(f"{governs_words(row).capitalize()} governs.")
    if (life := life_hours_words(row)) and not math.isinf(row.life_cycles or 0.0):
        words.append(f"At the wanted load it lasts {life} ({row.life_state} engine).")
    if row.fit and not row.fit.inside:
        words.append(
            f"The case states {row.fit.stated_um:.1f} um {row.fit.measured}, outside of what to "
            f"make; its limit is told for that{nominal_words(row.fit)}."
        )
    bare = next((one for one in verdict.rows if not one.held), None)
    if bare is not None and row.held:
        words.append(
            f"Of {bare.open_water_mm2:.0f} mm2 of open water at the deck it leaves "
            f"{row.open_water_mm2:.0f}."
        )
    if row.machined:
        words.append(f"To machine: {'; '.join(row.machined)}.")
    if verdict.spreading:
        words.append(f"Least known: {', '.join(one.input for one in verdict.spreading)}.")
    if verdict.measure_first:
        told = "; ".join(measurement_words(one) for one in verdict.measure_first[:2])
        words.append(f"Measure first: {told}.")
    return verdict.both(" ".join([*words, *verdict.told_first, CAUTION]))


CAUTION = "An estimate to compare designs by, not a promise; detonation is not covered."
"""What goes with a verdict wherever it is pasted."""


def not_chosen(rows: Sequence[Row]) -> list[str]:
    """Why designs are passed over for which no fit will do."""
    return [f"{row.design}: {row.unfit}" for row in rows if row.unfit]

"""What the terminal says of the gas."""

from __future__ import annotations

from cases.base.subject import Solved
from cases.gas.cycle import COOLANT_BY_SPEED, COOLANT_SHARE, LEAST_WALL_SHARE, Cycle
from cases.gas.given import gas_given
from cases.gas.solve import GasLoad, gas_of
from cases.gas.trace import SPREAD

CRANK = ("stroke", "rod", "top_ring", "crown_below_deck", "compression_ratio")
"""Keys of the crank, whose stand-ins the terminal tells too."""


def gas_lines(result: Solved) -> list[str]:
    """The load by crank angle, where it comes from, and what was assumed of the crank for it."""
    gas = gas_of(result)
    load, given = gas.wall_load, gas_given(result.case)
    if load is None:
        return []
    first = f"Gas: {10 * load.curve.peak:.0f} bar absolute"
    if gas.cycle is not None:
        first = (
            f"Gas: {10 * gas.cycle.engine.intake_pressure:.2f} bar absolute in the intake and "
            f"{gas.cycle.power:.0f} kW; {10 * load.curve.peak:.0f} bar"
        )
    found = [
        f"{first} at {load.curve.peak_deg:.0f} deg after the top, most load on the section at "
        f"{load.line_load_deg:.0f} deg. Detonation is not covered."
    ]
    if words := scatter_words(gas):
        found.append(f"Of the trace: {words}.")
    if gas.cycle is not None and (words := share_words(gas.cycle)):
        found.append(words)
    engine = given.engine
    stands = [words for key, words in engine.assumed if key in CRANK] if engine else []
    stands += [words for _, words in given.assumed]
    if stands:
        found.append(f"Assumed of the gas: {'; '.join(stands)}.")
    return found


def scatter_words(gas: GasLoad) -> str:
    """The scatter of a trace, and what is counted of it; empty without."""
    of = gas.scatter
    if of is None:
        return ""
    return (
        f"{of.cycles} cycles peak at {10 * of.mean:.1f} bar absolute in the mean, with a standard "
        f"deviation of {10 * of.deviation:.1f} bar; mean and {SPREAD:g} deviations are counted, "
        f"{of.allowance:.3f} times the peak of the mean cycle"
    )


def share_words(cycle: Cycle) -> str:
    """That the walls get too little or too much of the fuel's heat; empty where they don't."""
    share = cycle.wall_share
    if LEAST_WALL_SHARE <= share <= COOLANT_BY_SPEED[1]:
        return ""
    return (
        f"The closed gas would give {100 * share:.1f} % of the fuel's heat to the walls; "
        f"{coolant_words()}. Check speed, power and what [engine] says of the burn."
    )


def coolant_words() -> str:
    """What share of the fuel's heat a coolant takes, by two sources that differ."""
    low, high = COOLANT_SHARE
    fast, slow = COOLANT_BY_SPEED
    return (
        f"a coolant takes {100 * low:.0f} to {100 * high:.0f} % at full load, exhaust ports and "
        f"friction included (Heywood 1988, from memory), or {100 * fast:.0f} % at high speed to "
        f"{100 * slow:.0f} % at low (lecture notes on heat balances, opened)"
    )

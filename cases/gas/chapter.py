"""The chapter on gas."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.gas.cylinder import Capacity
from cases.gas.given import all_assumed, gas_given
from cases.gas.lines import coolant_words, scatter_words, share_words
from cases.gas.solve import gas_of
from cases.gas.thrust import thrust_of
from geometry.clock import format_clock


def gas_chapter(result: Solved) -> Chapter:
    """The load on the bore wall, and where it comes from."""
    gas, given = gas_of(result), gas_given(result.case)
    cycle = gas.cycle
    return Chapter(
        key="gas",
        title="Gas pressure",
        template="gas/chapter.html.j2",
        contents={
            "gas": gas,
            "given": given,
            "load": gas.wall_load,
            "cycle": cycle,
            "read": gas.read(gas.peak_pressure),
            "scatter_words": scatter_words(gas),
            "thrust": thrust_of(result.case, gas).largest() if gas.wall_load else None,
            "format_clock": format_clock,
            "assumed": [words for _, words in all_assumed(given)],
            "share_words": share_words(cycle) if cycle else "",
            "coolant_words": coolant_words(),
            "usual_gamma": cycle is not None and cycle.engine.capacity == Capacity(),
        },
    )

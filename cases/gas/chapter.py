"""The chapter on gas."""

from __future__ import annotations

from cases.base.subject import Chapter, Solved
from cases.gas.cylinder import Capacity
from cases.gas.given import gas_given
from cases.gas.solve import gas_of


def gas_chapter(result: Solved) -> Chapter:
    """The load on the bore wall, and where it comes from."""
    gas, given = gas_of(result), gas_given(result.case)
    load = gas.wall_load
    return Chapter(
        key="gas",
        title="Gas pressure",
        template="gas/chapter.html.j2",
        contents={
            "gas": gas,
            "load": load,
            "assumed": [words for _, words in given.engine.assumed] if given.engine else [],
            "usual_gamma": load is not None and load.cycle.engine.capacity == Capacity(),
        },
    )

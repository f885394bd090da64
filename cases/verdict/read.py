"""The verdict of a rated case."""

from __future__ import annotations

from cases import block, coolant, gas, head, life, rating
from cases.bores.words import worse_lines
from cases.fit.advice import advice_of
from cases.gas.solve import gas_of
from cases.life.hot import hot_lines
from cases.rating.given import rating_given
from cases.rating.result import is_rated
from cases.stress.result import CaseResult
from cases.verdict.change import assumptions, measurements, spreading
from cases.verdict.choose import choose
from cases.verdict.result import Verdict
from cases.verdict.rows import row_of

ROOMS = (block, gas, coolant, life, rating, head)
"""Whose inputs a limit stands on."""


def verdict_of(result: CaseResult) -> Verdict | None:
    """Which design to make; None where not all designs are rated.

    Parameters
    ----------
    result : CaseResult
    """
    if not result.designs or not all(is_rated(design) for design in result.designs):
        return None
    asked, wishes = gas_of(result), rating_given(result.case)
    rows = tuple(row_of(result, design, advice_of(result, design)) for design in result.designs)
    choice = choose(rows)
    design = next(one for one in result.designs if one.name == choice.design)
    row = next(row for row in rows if row.design == choice.design)
    spread = spreading(design)
    left_out = [pair for room in ROOMS for pair in room.SUBJECT.assumed(result)]
    return Verdict(
        choice=choice,
        rows=rows,
        reliability=wishes.reliability,
        draws=wishes.draws,
        wanted_bar=10 * asked.read(asked.peak_pressure),
        wanted_kw=asked.cycle.power if asked.cycle else None,
        spreading=spread,
        assumed=assumptions(result.case, design, left_out),
        measure_first=measurements(result.case, design, row),
        flags=tuple(hot_lines(result)),
        worse_bores=tuple(worse_lines(result)),
        spoken=result.case.spoken,
    )

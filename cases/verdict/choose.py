"""Which design to make, of rows that are finished."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from cases.verdict.result import COST, FAILS, HOLDS, MARGINAL, STATUSES, UNKNOWN, WATER, Choice, Row

HALF = 0.5
"""Share of the draws from which a design is marginal."""
SURE = 0.95
"""Share of the draws that have to say the same for two designs to differ."""
MORE_WATER = 0.02
"""Share of open water by which one design keeps more than another."""


def status_of(
    share: float | None,
    reliability: float,
    factor: float | None,
    *,
    beyond: bool = False,
    doubtful: bool = False,
) -> str:
    """Whether a design carries the wanted load.

    Parameters
    ----------
    share : float or None
        Of the draws that carry it; None where nothing is drawn, and the nominal limit, which half
        of such blocks carry, tells no more than that.
    reliability : float
        Share that has to.
    factor : float or None
        Limit over the wanted load; None where none is found.
    beyond : bool
        Whether that is because it is beyond all that was tried.
    doubtful : bool
        Whether limit or heat are known as bounds only, by which nothing holds for sure.
    """
    if share is None:
        if factor is None:
            found = HOLDS if beyond else UNKNOWN
        else:
            found = MARGINAL if factor >= 1 else FAILS
    elif share >= reliability:
        found = HOLDS
    else:
        found = MARGINAL if share >= HALF else FAILS
    return MARGINAL if doubtful and found == HOLDS else found


def carries_more(one: Row, other: Row) -> float | None:
    """Share of the draws in which a design carries more than another by more than their errors.

    Those are of two meshes and independent, so that their squares add up. None where the two are
    not drawn alike.
    """
    if not one.each or len(one.each) != len(other.each):
        return None
    first, second = np.array(one.each), np.array(other.each)
    return float(np.mean(first > second * (1 + math.hypot(one.error, other.error))))


def differ(one: Row, other: Row) -> bool:
    """Whether one design carries more than another for sure."""
    told = carries_more(one, other), carries_more(other, one)
    if None not in told:
        return max(share for share in told if share is not None) >= SURE
    less, more = sorted((_carried(one), _carried(other)))
    return more > less * (1 + math.hypot(one.error, other.error))


def choose(rows: Sequence[Row]) -> Choice:
    """The design to make, or where none holds the nearest to it.

    Designs that no fit will do for come last. Of those of the best status the one with the largest
    limit is taken; where they hold, of all that don't differ from it, that which keeps more water,
    then that which is cheaper to make.

    Parameters
    ----------
    rows : sequence of Row
        One at least.
    """
    ranked = sorted(rows, key=lambda row: (bool(row.unfit), STATUSES.index(row.status)))
    best = [row for row in ranked if _rank(row) == _rank(ranked[0])]
    first = max(best, key=_carried)
    alike = [row for row in best if row is first or not differ(row, first)]
    most = max(row.open_water_mm2 for row in alike)
    wet = [row for row in alike if row.open_water_mm2 >= (1 - MORE_WATER) * most]
    holds = first.status == HOLDS and not first.unfit
    chosen = min(wet, key=_cost) if holds else first
    others = tuple(row.design for row in alike if row is not chosen)
    also = tuple(
        row.design
        for row in rows
        if row.status == HOLDS and not row.unfit and row is not chosen and row.design not in others
    )
    return Choice(
        design=chosen.design,
        status=chosen.status,
        alike=others,
        alike_by="" if not (others and holds) else COST if len(wet) > 1 else WATER,
        also=also,
    )


def _rank(row: Row) -> tuple[bool, str]:
    return bool(row.unfit), row.status


def _carried(row: Row) -> float:
    """Limit over the wanted load, or how far none was found."""
    return row.limit_factor if row.limit_factor is not None else row.beyond or 0.0


def _cost(row: Row) -> tuple[int, int, float]:
    """What making it takes: machining of the block, pieces, metal."""
    return len(row.machined), row.pieces, row.mass_g or 0.0

"""What a case states of its search."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.search.space import Choice, Number


@dataclass(frozen=True, kw_only=True, slots=True)
class SearchInput:
    """What may be chosen, what must hold and what is wanted."""

    space: tuple[Number | Choice, ...]
    like: str  # name of the design to begin with; empty where the case has none with an insert
    clocks: tuple[tuple[str, ...], ...]  # of zones that are alike, group by group
    wanted: tuple[str, ...]
    least_open_water: float  # share of the bare block's
    least_passage_water: float  # of each passage, the same
    most_out_of_round: float | None  # [um]
    drops_in: bool
    chosen: tuple[str, ...] = ()  # what was chosen for the case, in words


def search_given(case: Case) -> SearchInput | None:
    """What a case states of its search; None where it has no ``[search]``."""
    return case.given.get("search")

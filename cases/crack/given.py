"""A crack, as a case file states it."""

from __future__ import annotations

from dataclasses import dataclass, field

from cases.case import Case
from fea.crack import IIW_ALUMINIUM, GrowthLaw


@dataclass(frozen=True, slots=True, kw_only=True)
class CrackInput:
    """What a case says of a crack."""

    part: str = "barrel"
    clock: float | None = None  # None: at the part's worst hot spot in the first design [h]
    flaw: float  # depth from the edge of the metal that growth starts with [mm]
    longest: float | None = None  # None: to the end of the wall [mm]
    gas_in_crack: bool
    law: GrowthLaw = IIW_ALUMINIUM
    speed: float  # of the crank; four strokes, so a cycle every two turns [rpm]
    left_out: frozenset[str] = field(default=frozenset(), compare=False)  # keys not in the case

    @property
    def cycles_per_hour(self) -> float:
        """Cycles of gas in an hour of running."""
        return self.speed * 60 / 2


def crack_given(case: Case) -> CrackInput:
    """What a case that asks for a crack states of it."""
    return case.given["crack"]  # type: ignore[no-any-return]

"""Which bore fires: the one that a case states, or each in turn."""

from __future__ import annotations

from dataclasses import dataclass, replace

from cases.case import Case


@dataclass(frozen=True, kw_only=True, slots=True)
class BoresInput:
    """What a case states of the bore that fires."""

    every: bool = False  # none is stated, and there are several


def every_bore(case: Case) -> bool:
    """Whether a case leaves it to a rating which bore fires."""
    given: BoresInput = case.given.get("bores") or BoresInput()
    return given.every


def firing(case: Case, bore: int) -> Case:
    """A case with another bore firing."""
    return replace(case, block=replace(case.block, firing_bore=bore))


def as_stated(case: Case) -> Case:
    """A case as its file states it, whichever bore a rating came to."""
    if not every_bore(case):
        return case
    return firing(case, 1)

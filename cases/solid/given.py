"""What a case states of its solid, and how finely a run wants it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from cases.case import Case

Setting = Literal["coarse", "fine"]
"""``fine`` for a rating; ``coarse`` for everything quick."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidInput:
    """What a case states of its solid."""

    alone: bool = False  # one piece and cold is all that is asked; nothing is rated
    setting: Setting | None = None  # None: the run solves no solid


def solid_given(case: Case) -> SolidInput:
    """What a case states of its solid."""
    return case.given.get("solid") or SolidInput()


def with_solid(case: Case, setting: Setting | None) -> Case:
    """A case that is to be solved in depth as well.

    Parameters
    ----------
    case : Case
    setting : str or None
        "coarse" or "fine"; None for the section alone.
    """
    return case.told("solid", replace(solid_given(case), setting=setting))

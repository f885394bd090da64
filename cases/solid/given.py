"""What a case states of its solid, and how finely a run wants it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from cases.case import Case

Setting = Literal["coarse", "fine"]
"""``fine`` for a rating; ``coarse`` for everything quick, the demo's rating with it."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SolidInput:
    """What a case states of its solid."""

    alone: bool = False  # one piece and cold is all that is asked; nothing is rated
    setting: Setting | None = None  # None: the run solves no solid
    lived: bool = False  # as it is made too, so that it can be rated
    evidence: bool = True  # what stands beside its limit too: in one piece as well
    swept: bool = True  # its window of fits too, where it is fitted


def solid_given(case: Case) -> SolidInput:
    """What a case states of its solid."""
    return case.given.get("solid") or SolidInput()


def with_solid(
    case: Case,
    setting: Setting | None,
    *,
    lived: bool | None = None,
    evidence: bool = True,
    swept: bool = True,
) -> Case:
    """A case that is to be solved in depth as well.

    Parameters
    ----------
    case : Case
    setting : str or None
        "coarse" or "fine"; None for the section alone.
    lived : bool, optional
        Whether as it is made too, so that it can be rated; left out, where it is fine.
    evidence : bool
        Whether one that is rated is solved in one piece too.
    swept : bool
        Whether a fitted one that is rated is solved at fits beyond its tolerance too.
    """
    lived = setting == "fine" if lived is None else lived
    given = solid_given(case)
    lived = lived and not given.alone
    told = replace(given, setting=setting, lived=lived, evidence=evidence, swept=swept)
    return case.told("solid", told)

"""A crack, as a case file states it."""

from __future__ import annotations

from cases.case import Case
from cases.growth import CrackInput


def crack_given(case: Case) -> CrackInput | None:
    """What a case states of a crack, if it asks for one."""
    return case.given.get("crack")

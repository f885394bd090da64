"""What was found on a block."""

from __future__ import annotations

from dataclasses import dataclass

from cases.case import Case
from cases.inspection.readings import Readings


@dataclass(frozen=True, kw_only=True, slots=True)
class Inspection:
    """What a case states of its block as it was found."""

    readings: Readings | None = None  # of its walls


def inspection_given(case: Case) -> Inspection | None:
    """What a case states of its block as it was found; None where it was not inspected."""
    return case.given.get("inspection")

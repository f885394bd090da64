"""Gaskets, as a case states them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from cases.case import Case
from cases.gasket.opening import Opening

THICKNESS = 1.0
"""Of a gasket between deck and head (common practice, no source). [mm]."""
BEAD_BEYOND = 4.0
"""Mean diameter of the bead that seals the gas, over the bore (common practice, no source).
[mm]."""
BEAD_WIDTH = 3.0
"""Of that bead (common practice, no source). [mm]."""

Lies = Literal[
    "as given", "turned by half a turn", "turned over along the bank", "turned over across the bank"
]
AS_GIVEN: Lies = "as given"


@dataclass(frozen=True, kw_only=True, slots=True)
class Gasket:
    """One variant: what it opens between deck and head.

    Openings are about the axis of bore 1, x along the bank, 12:00 up.
    """

    name: str
    openings: tuple[Opening, ...]
    head: tuple[Opening, ...] | None  # None: the head opens all that the gasket does
    thickness: float  # [mm]
    bead_inside: float  # radius within which the bead lies about each bore [mm]
    bead_outside: float  # [mm]
    lies: Lies = AS_GIVEN
    notes: tuple[str, ...] = ()  # how it was found to lie, and what was passed over


@dataclass(frozen=True, kw_only=True, slots=True)
class GasketInput:
    """All variants of a case, in its order."""

    gaskets: tuple[Gasket, ...] = ()
    assumed: tuple[tuple[str, str], ...] = field(default=(), compare=False)
    """Keys left out, and what stands for them."""


def gasket_given(case: Case) -> GasketInput:
    """What a case states of its gaskets; empty without."""
    return case.given.get("gasket") or GasketInput()

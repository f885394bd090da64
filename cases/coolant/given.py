"""The coolant, as a case states it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from cases.base.subject import Solved
from cases.case import Case

if TYPE_CHECKING:
    from cases.coolant.film import WetFilm

WATER, MIXED = "water", "water and glycol"
GLYCOL = 0.5
"""Glycol in a mixture, by mass, where a case says none (common practice, no source)."""
SYSTEM_PRESSURE = 0.11
"""What the cap of a cooling system holds, above the atmosphere (common practice, no source).
[MPa]."""
WATER_BOILS = 121.96
"""Where water boils at that pressure, as CoolProp has it, which takes 3 s of processor to import.
[degC]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CoolantInput:
    """What flows by the wet walls."""

    glycol: float  # in water, by mass; 0 of water
    pressure: float  # absolute [MPa]
    temperature: float  # of the liquid [degC]
    flow: float | None  # of the pump [mm3/s]; None: a film is stated
    film: float | None  # stated [W/(mm2 K)]; None: by the flow
    width: float  # of the jacket [mm]
    depth: float  # of the jacket [mm]
    pump: tuple[tuple[float, float], ...] = ()  # flow [mm3/s] and pressure [MPa], by flow
    inlet_bore: int = 1  # beside which the pump's water enters: first or last
    past: float | None = None  # of the flow, along the bank past the bore that fires [mm3/s]
    assumed: tuple[tuple[str, str], ...] = ()  # keys left out, and what stands for them


def coolant_given(case: Case) -> CoolantInput | None:
    """What a case states of its coolant; None where its film is all that is known."""
    return case.given.get("coolant")  # type: ignore[no-any-return]


def coolant_of(result: Solved) -> WetFilm | None:
    """The film of the coolant of a solved case; None where the case has none but a stated one."""
    return result.found.get("coolant")

"""What the assumptions on strength are worth: how far the limit moves with each, one at a time.

At the place that governs: its cycle at the nominal limit has an amplitude that goes with the gas
and an end without gas that doesn't. The gas load at which that place uses all of its strength is
sought again with one assumption taken back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from cases.base.checking import Faults
from cases.base.tables import Table
from cases.life.given import life_given
from cases.materials.hot import SHORTEST
from cases.materials.reading import Materials, library_materials, made_by
from cases.rating.flaws import class_words, fatigue_left, has_pore
from cases.rating.given import rating_given
from cases.rating.result import FATIGUE, YIELD, is_rated, rating_of
from cases.rating.shares import Counted, counted, kept_at, wanted_cycles
from fea.material import REFERENCE
from fea.strength import reversed_amplitude

if TYPE_CHECKING:
    from cases.case import Case
    from cases.life.steps import EngineState
    from cases.rating.given import Rating
    from cases.rating.result import DepthSpot, DesignRating, RatedSpot
    from cases.stress.result import DesignResult
    from fea.material import Material

WIDEST = 10.0  # times the nominal limit that a place is followed to
HALVINGS = 40
FEWER = 0.1
"""Of the cycles wanted, what they are set against."""
FULLEST = "Gerber"
"""Of the lines that weigh a mean, the one that lets most through (``MEAN_LINES``)."""


@dataclass(frozen=True, slots=True)
class Worth:
    """One assumption on strength."""

    words: str  # with its number
    percent: float | None  # of the limit that it takes off or, above 0, adds; None: not known


def worths_of(case: Case, designs: Sequence[DesignResult]) -> tuple[str, list[Worth]]:
    """The first design with a limit above 0, and what each assumption is worth where it ends.

    Parameters
    ----------
    case : Case
    designs : sequence of DesignResult
        Rated.

    Returns
    -------
    str, list of Worth
        Alloy and process, temperature, hours, pore or quality, reliability; empty where none has a
        limit.
    """
    for design in designs:
        if ends := _ends(design):
            return design.name, _worths(case, rating_of(design), *ends)
    return "", []


def worth_of_line(case: Case, design: DesignResult) -> float | None:
    """What the line that weighs the mean of a cycle takes off the limit, against ``FULLEST``. [%].

    None where the design has no limit, or ends by no fatigue.
    """
    ends = _ends(design)
    if ends is None:
        return None
    spot, material = ends
    of = _counted_at(case, spot, material)
    now, other = (_gas_borne(spot, line, of) for line in (rating_given(case).mean_stress, FULLEST))
    return 100 * (now / other - 1) if other > 0 else None


def worth_of_starts(case: Case, design: DesignResult) -> float | None:
    """What starting and stopping takes off the limit, against an engine that never cools. [%].

    None where the design has no limit, or ends by no fatigue.
    """
    found = _counted_where_it_ends(case, design)
    if found is None:
        return None
    spot, of = found
    share = spot.shares.get(FATIGUE)
    if _kind(spot) != FATIGUE or share is None or of.fatigue_mpa is None:
        return None
    alone = _gas_borne(
        spot, rating_given(case).mean_stress, replace(of, fatigue_mpa=share * of.fatigue_mpa)
    )
    return min(100 * (1 / alone - 1), 0.0) if alone > 0 else None


def worth_of_cycles(case: Case, design: DesignResult, state: EngineState) -> float | None:
    """What the cycles wanted in a state take off the limit, against ``FEWER`` of them. [%].

    0 where the design ends in another state; None as of :func:`worth_of_starts`.
    """
    ends = _ends(design)
    now, fewer = (_counted_where_it_ends(case, design, times) for times in (1.0, FEWER))
    if ends is None or now is None or fewer is None or _kind(ends[0]) != FATIGUE:
        return None
    if life_given(case).heat and ends[0].state != state:
        return 0.0
    line = rating_given(case).mean_stress
    other = _gas_borne(fewer[0], line, fewer[1])
    return 100 * (_gas_borne(now[0], line, now[1]) / other - 1) if other > 0 else None


def worth_of_process(case: Case, design: DesignResult) -> float | None:
    """What the process that the block's metal is taken for is worth, against the others known. [%].

    That of them which moves the limit most; 0 where the design ends in another metal. None where no
    other is known.
    """
    ends = _ends(design)
    if ends is None:
        return None
    spot, material = ends
    if material.name != case.materials["barrel"].name:
        return 0.0
    row, wishes = library_materials().get(material.name), rating_given(case)
    processes = made_by(row) if row else ()
    others = [
        made
        for process in processes
        if process != material.process and (made := _after(material, wishes.hours_hot, process))
    ]
    now, *then = (
        _gas_borne(spot, wishes.mean_stress, _counted_at(case, spot, metal))
        for metal in (material, *others)
    )
    return max((100 * (now / other - 1) for other in then if other > 0), key=abs, default=None)


def _counted_where_it_ends(
    case: Case, design: DesignResult, times: float = 1.0
) -> tuple[RatedSpot | DepthSpot, Counted] | None:
    """The place where a design ends, and its strengths, for so many times the cycles wanted."""
    ends = _ends(design)
    return None if ends is None else (ends[0], _counted_at(case, *ends, times))


def _counted_at(
    case: Case, spot: RatedSpot | DepthSpot, material: Material, times: float = 1.0
) -> Counted:
    wishes = rating_given(case)
    return counted(
        wishes, material, np.array(spot.temperature_degc),
        cycles=times * wanted_cycles(case, spot.state),
        strength=kept_at(material, spot.been_degc),
        left=float(fatigue_left(wishes, material, _part(spot))),
    )  # fmt: skip


def _kind(spot: RatedSpot | DepthSpot) -> str:
    return spot.kind if hasattr(spot, "kind") else spot.criterion


def _ends(design: DesignResult) -> tuple[RatedSpot | DepthSpot, Material] | None:
    """Where a design ends, and its metal there; None where it has no limit above 0."""
    if not is_rated(design):
        return None
    rating = rating_of(design)
    spot = rating.solid.governing if rating.solid else rating.governing
    if spot is None or not rating.stands or rating.stands.factor <= 0:
        return None
    materials = design.solution.model.materials
    return spot, materials.get(_part(spot), materials["barrel"])


def _part(spot: RatedSpot | DepthSpot) -> str:
    return spot.part if hasattr(spot, "part") else spot.spot.part


def _worths(
    case: Case, rating: DesignRating, spot: RatedSpot | DepthSpot, material: Material
) -> list[Worth]:
    wishes, part = rating_given(case), _part(spot)
    warmth = spot.temperature_degc
    cycles = wanted_cycles(case, spot.state)

    def limit(
        metal: Material, asked: Rating, strength: float = 1.0, *, heated: bool = True
    ) -> float:
        at, kept = (warmth, kept_at(metal, spot.been_degc)) if heated else (REFERENCE, 1.0)
        of = counted(
            asked, metal, np.array(at), cycles=cycles, strength=strength * kept,
            left=float(fatigue_left(asked, metal, part)),
        )  # fmt: skip
        return _gas_borne(spot, asked.mean_stress, of)

    now = limit(material, wishes)

    def worth(words: str, other: float) -> Worth:
        return Worth(words, 100 * (now / other - 1) if other > 0 else None)

    scatter = material.fatigue.scatter if material.fatigue else 0.0
    made = f", {material.process}" if material.process else ""
    short = _after(material, SHORTEST)
    bars = replace(wishes, casting_quality=1.0, pore=None, surface=None)
    flaw = (
        f"largest pore {wishes.pore:g} mm{class_words(wishes)}"
        if has_pore(wishes, material, part)
        else f"casting quality {100 * wishes.casting_quality:g} %"
        if material.cast
        else "metal without pores"
    )
    been = "" if spot.been_degc is None else f", {spot.been_degc:.0f} when warm"
    found = [
        worth(
            f"{material.name}{made} ({part}), scatter {100 * scatter:g} %",
            limit(material, wishes, 1 / (1 - scatter)),
        ),
        worth(f"{warmth:.0f} degC where it governs{been}", limit(material, wishes, heated=False)),
        worth(f"{wishes.hours_hot:g} h hot", limit(short, wishes))
        if short
        else Worth(f"{wishes.hours_hot:g} h hot", None),
        worth(flaw, limit(material, bars)),
    ]
    stands, band = rating.stands, rating.told_band
    if band is None or stands is None or not band.factor[1]:
        return [*found, Worth("nothing drawn, so that half of such blocks carry less", None)]
    off = 100 * (stands.factor / band.factor[1] - 1)
    return [*found, Worth(f"{100 * band.reliability:g} of 100 draws", off)]


def _after(material: Material, hours: float, process: str | None = None) -> Material | None:
    """The same metal after other hours hot, or made otherwise; None if not of the library."""
    if material.name not in library_materials():
        return None
    faults = Faults("the library", {}, Table)
    process = process or material.process or None
    return Materials({}, faults, hours).named(material.name, ("block", "material"), "", process)


def _gas_borne(spot: RatedSpot | DepthSpot, line: str, of: Counted) -> float:
    """Gas load, over that of the spot, at which it uses all of the strength that governs there."""
    kind = _kind(spot)
    if kind != FATIGUE or of.fatigue_mpa is None or of.tensile_mpa is None:
        strength = of.yield_mpa if kind == YIELD else of.tensile_mpa
        return 0.0 if strength is None else float(strength)
    idle, half = spot.mean_mpa - spot.amplitude_mpa, spot.amplitude_mpa
    low, high = 0.0, WIDEST
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        wear = reversed_amplitude(middle * half, idle + middle * half, line, of.tensile_mpa)
        low, high = (low, middle) if wear >= of.fatigue_mpa else (middle, high)
    return low

"""Whether the casting is accepted: the customer's rules against what was found, with the place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from cases.inspection.given import Inspection
from cases.inspection.places import place_of
from cases.inspection.walls import NINETY
from geometry.clock import format_clock

Word = Literal["accept", "accept with", "reject"]
WORDS: tuple[Word, ...] = ("accept", "accept with", "reject")
CLOCKS = np.arange(0, 12, 0.25)  # at which walls are looked at [h]


@dataclass(frozen=True, kw_only=True, slots=True)
class Ruling:
    """One rule, and what it comes to."""

    rule: str
    asked: str
    found: str
    word: Word
    why: str  # with the place; what has to be done where it is accepted with something


@dataclass(frozen=True, kw_only=True, slots=True)
class LeastWall:
    """The thinnest place of a bore's wall as cast, in bores as they are to be run."""

    bore: int
    clock: float  # [h]
    depth: float  # [mm]
    wall: float  # [mm]
    error: float  # standard [mm]
    drawn: float  # by the drawing there [mm]


def least_walls(found: Inspection) -> tuple[LeastWall, ...]:
    """The thinnest place of each bore that was read, where its wall stands free.

    Looked for at the depths that were read on it, to the millimetre.
    """
    least = []
    for fit in found.fits:
        places = [
            (clock, depth)
            for depth in sorted({float(round(of.depth)) for of in fit.readings})
            for clock in CLOCKS.tolist()
            if place_of(found.drawn, fit.bore, clock, depth).kind == "free"
        ]
        if not places:
            continue
        clocks, depths = np.array(places).T
        wall, error = fit.at(clocks, depths)
        at = int(np.argmin(wall))
        clock, depth = places[at]
        least.append(
            LeastWall(
                bore=fit.bore, clock=clock, depth=depth, wall=float(wall[at]) - found.off_wall,
                error=float(error[at]), drawn=place_of(found.drawn, fit.bore, clock, depth).wall,
            )
        )  # fmt: skip
    return tuple(least)


def rulings(found: Inspection) -> tuple[Ruling, ...]:
    """Each rule of the case with what it comes to; none where the case has no rules."""
    return tuple(_rulings(found)) if found.rules else ()


def word_of(ruled: tuple[Ruling, ...]) -> Word:
    """What all of them come to: the hardest."""
    return max((of.word for of in ruled), key=WORDS.index, default="accept")


def _rulings(found: Inspection) -> Iterator[Ruling]:
    rules = found.rules
    assert rules is not None
    if rules.least_wall is not None:
        yield _of_walls(found, rules.least_wall)
    if rules.largest_shift is not None:
        yield _of_shift(found, rules.largest_shift)
    if rules.least_hardness is not None:
        yield _of_hardness(found, rules.least_hardness)
    yield _of_cracks(found, repairs=rules.repairs_cracks)


def _against(value: float, error: float, least: float) -> Word:
    """A value that has to reach a least one, with what it may be off by."""
    if value < least - NINETY * error:
        return "reject"
    return "accept with" if value < least + NINETY * error else "accept"


def _unread(found: Inspection) -> str:
    bores = ", ".join(map(str, found.few))
    return f"measure bore{'s' if len(found.few) > 1 else ''} {bores}, of which too little was read"


def _of_walls(found: Inspection, least: float) -> Ruling:
    rule, asked = "least wall", f"{least:.2f} mm"
    thin = least_walls(found)
    if not thin:
        return Ruling(
            rule=rule, asked=asked, found="not measured", word="accept with",
            why="measure the walls: hoopclock sheet says where",
        )  # fmt: skip
    worst = min(thin, key=lambda of: of.wall)
    word = _against(worst.wall, worst.error, least)
    place = f"bore {worst.bore} at {format_clock(worst.clock)}, {worst.depth:g} mm deep"
    why = place
    if word == "accept with":
        why = f"{place}: within its error, measure again there"
    elif found.few and word == "accept":
        word, why = "accept with", f"{place}; {_unread(found)}"
    return Ruling(
        rule=rule, asked=asked, word=word, why=why,
        found=f"{worst.wall:.2f} +- {NINETY * worst.error:.2f} mm, by the drawing "
        f"{worst.drawn - found.off_wall:.2f} mm",
    )  # fmt: skip


def _of_shift(found: Inspection, most: float) -> Ruling:
    rule, asked = "largest shift", f"{most:.2f} mm"
    if not found.fits:
        return Ruling(
            rule=rule, asked=asked, found="not measured", word="accept with",
            why="measure the walls: hoopclock sheet says where",
        )  # fmt: skip
    worst = max(found.fits, key=lambda of: of.shift.size)
    shift = worst.shift
    word: Word = "reject" if shift.low > most else "accept with" if shift.high > most else "accept"
    place = f"bore {worst.bore}, thickest towards {format_clock(shift.clock)}"
    why = place
    if word == "accept with":
        why = f"{place}: within its error, measure more places"
    elif found.few and word == "accept":
        word, why = "accept with", f"{place}; {_unread(found)}"
    return Ruling(
        rule=rule, asked=asked, word=word, why=why,
        found=f"{shift.size:.2f} mm ({shift.low:.2f} to {shift.high:.2f} mm), drawn without",
    )  # fmt: skip


def _of_hardness(found: Inspection, least: float) -> Ruling:
    if found.hardness is None:
        return Ruling(
            rule="least hardness", asked=f"{least:g} HBW", found="not measured",
            word="accept with", why="measure it",
        )  # fmt: skip
    sound = found.hardness >= least
    return Ruling(
        rule="least hardness", asked=f"{least:g} HBW", found=f"{found.hardness:g} HBW",
        word="accept" if sound else "reject", why="" if sound else "softer than is asked for",
    )  # fmt: skip


def _of_cracks(found: Inspection, *, repairs: bool) -> Ruling:
    places = ", ".join(
        f"bore {of.bore} at {format_clock(of.clock)}, {of.depth:g} mm deep" for of in found.cracks
    )
    word: Word = "accept" if not places else "accept with" if repairs else "reject"
    return Ruling(
        rule="no crack", asked="none, or repaired" if repairs else "none",
        found=f"{len(found.cracks)}" if places else "none stated", word=word,
        why=f"repair: {places}" if word == "accept with" else places,
    )  # fmt: skip

"""What the report's chapter on ratings shows: limits, lives and strengths in words and rows."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cases.case import PARENT_PARTS, library_materials
from cases.cautions import RATING_CAUTIONS
from cases.gas import INTAKE_RANGE
from cases.rating import (
    FATIGUE,
    MOST_FACTOR,
    TENSILE,
    YIELD,
    counted,
    known_strengths,
    rated_parts,
    wanted_cycles,
)
from cases.steps import TAIL
from fea.material import REFERENCE
from fea.strength import BASQUIN_TOP, reliability_share, temperature_share

if TYPE_CHECKING:
    from cases.case import Case
    from cases.rating import DesignRating, RatedSpot
    from cases.run import CaseResult, DesignResult
    from fea.material import Material, Points

LEAST_CYCLES = BASQUIN_TOP[0]
"""Shorter lives lie outside the line that gives them."""
MOST_CYCLES = 1e10
"""Longer lives are told as beyond this: no test lasts as long."""
OUTSIDE, BEYOND, NO_HARM = (
    f"below {LEAST_CYCLES:.0f}: outside the line", "beyond 1e10", "no harm",
)  # fmt: skip
NO_BOUND, NOT_JUDGED = "no bound", "not judged"
WHY_CRITERION = {
    "largest principal": (
        "a crack in a brittle metal opens across the largest pull, at gas or with none, and its "
        "plane stays where it is while the stress goes to and fro; that suits cast alloys and grey "
        "iron"
    ),
    "signed von Mises": (
        "in ductile metal shear moves the first grains of a crack; the sign is that of the sum of "
        "the principal stresses. It suits wrought metal"
    ),
}
WHY_MEAN = {
    "Goodman": (
        "a straight line from the fatigue strength without a mean to the tensile strength; on the "
        "careful side for brittle metal. A squeezing mean is given no credit"
    ),
    "Gerber": (
        "a parabola through the same two ends, the middle of tests of ductile metal, so half of "
        "those tests lie below it. A squeezing mean is given no credit"
    ),
    "Smith-Watson-Topper": (
        "it multiplies the peak of the cycle by its amplitude, needs no tensile strength and is "
        "good for aluminium. A squeezing mean is given credit: a cycle that never pulls does no "
        "harm"
    ),
}


def rating_of(design: DesignResult) -> DesignRating:
    """The rating of a design that has one."""
    assert design.rating is not None
    return design.rating


def _two_digits(value: float) -> str:
    """A number to two digits with its thousands set apart."""
    return f"{float(f'{value:.2g}'):,.10g}"


def count_words(cycles: float) -> str:
    """A number of cycles, to two digits.

    Examples
    --------
    >>> [count_words(cycles) for cycles in (35_922.0, 1e7, 2.4e9)]
    ['36,000', '10 million', '2,400 million']
    """
    return f"{_two_digits(cycles / 1e6)} million" if cycles >= 1e6 else _two_digits(cycles)


def lives_of(rating: DesignRating, materials: Mapping[str, Material]) -> dict[str, float | None]:
    """Lives of a design by state; None where the block's metal has no fatigue strength on record.

    Parameters
    ----------
    rating : DesignRating
    materials : mapping
        Of the design, by part.
    """
    judged = FATIGUE in known_strengths(materials["barrel"])
    return {state: cycles if judged else None for state, cycles in rating.life_cycles.items()}


def life_words(cycles: float | None) -> str:
    """A life in cycles, as far as it can be told; None is one that could not be judged.

    Examples
    --------
    >>> [life_words(cycles) for cycles in (35.5, 35_922.0, 2e14, math.inf, None)]
    ['below 1000: outside the line', '36,000', 'beyond 1e10', 'no harm', 'not judged']
    """
    if cycles is None:
        return NOT_JUDGED
    if math.isinf(cycles):
        return NO_HARM
    if cycles > MOST_CYCLES:
        return BEYOND
    return OUTSIDE if cycles < LEAST_CYCLES else count_words(cycles)


def hours_words(cycles: float | None, hours: float) -> str:
    """A life in hours or minutes, as far as it can be told; a dash where its cycles can't.

    Examples
    --------
    >>> [hours_words(1e7, 51.3), hours_words(36_000.0, 0.184), hours_words(2e14, 1e9)]
    ['51 h', '11 min', 'beyond 1e10 cycles']
    """
    if cycles is None or math.isinf(cycles):
        return life_words(cycles)
    if cycles > MOST_CYCLES:
        return f"{BEYOND} cycles"
    if cycles < LEAST_CYCLES:
        return "\N{EN DASH}"
    return f"{_two_digits(hours)} h" if hours >= 1 else f"{_two_digits(60 * hours)} min"


def three_words(values: Sequence[float | None], form: str, times: float = 1.0) -> list[str]:
    """The values of a band, rising, in words, also where they are out of an engine's reach.

    Examples
    --------
    >>> three_words((None, 250.0, 301.4), "%.0f"), three_words((1.0, 2.0, None), "%.0f", 10)
    (['below', '250', '301'], ['10', '20', 'beyond'])
    """
    known = [place for place, value in enumerate(values) if value is not None]
    return [
        form % (times * value)
        if value is not None
        else "below"
        if known and place < known[0]
        else "beyond"
        for place, value in enumerate(values)
    ]


def share_words(share: float) -> str:
    """A share of a strength; it has no bound where the mean stress reaches the tensile strength."""
    return NO_BOUND if math.isinf(share) else f"{share:.2f}"


def mpa_words(stress: float) -> str:
    """A stress [MPa]; it has no bound where :func:`share_words` says so."""
    return NO_BOUND if math.isinf(stress) else f"{stress:.0f}"


def governing_name(rating: DesignRating) -> str | None:
    """The criterion and state that use most at the limit, such as "fatigue, warm".

    At the asked gas load where there is no limit; None where nothing could be judged.
    """
    used = rating.used_at_limit or rating.used
    return max(used, key=lambda name: used[name], default=None)


def governs_words(rating: DesignRating) -> str:
    """What governs, such as "barrel 7:34, fatigue warm"."""
    name = governing_name(rating)
    if name is None or rating.governing is None:
        return "nothing could be judged"
    spot = rating.governing.spot
    return f"{spot.part} {spot.clock}, {name.replace(', ', ' ')}"


def no_limit_words(rating: DesignRating) -> str:
    """Why a design has no limit."""
    if not rating.used:
        return "nothing could be judged"
    if rating.tried < MOST_FACTOR:
        return f"not found up to {rating.tried:.2g} times what is asked"
    return f"beyond {rating.tried:.2g} times what is asked"


def haigh_spot(case: Case, design: DesignResult) -> RatedSpot | None:
    """The place in the block whose temperature and state a Haigh diagram is drawn for.

    The governing one where it governs by fatigue, else the one that uses most of its fatigue
    strength at the asked gas load; None where the block's metal has no such strength on record.
    """
    rating = rating_of(design)
    material = case.materials["barrel"]
    if not (material.fatigue and material.tensile_points):
        return None
    name = governing_name(rating)
    governing = rating.governing
    if governing and name and name.startswith(FATIGUE) and governing.spot.part in PARENT_PARTS:
        return governing
    own = [spot for spot in rating.spots if spot.spot.part in PARENT_PARTS]
    return max(own, key=lambda spot: spot.shares[FATIGUE], default=None)


@dataclass(frozen=True, slots=True)
class Strength:
    """One strength of a material, as the report lists it."""

    kind: str
    cold_mpa: float | None  # on record at 20 degC
    hot: str  # the others on record
    counted_mpa: float | None  # at the temperature of the row
    words: str  # more about it


@dataclass(frozen=True, slots=True)
class MaterialRow:
    """A material and the strengths it is rated by."""

    parts: str
    material: Material
    governs: bool  # whether its parts can govern
    temperature: float  # of its hottest rated spot [degC]
    strengths: tuple[Strength, ...]
    source: str
    how_sure: str


def _plain(value: Any) -> float | None:
    return None if value is None else float(value)


def _material_row(case: Case, parts: str, material: Material, spots: Sequence[RatedSpot]) -> Any:
    temperature = max((spot.temperature_degc for spot in spots), default=REFERENCE)
    cycles = wanted_cycles(case, "warm")
    strengths = counted(case.rating, material, temperature, cycles=cycles)
    rows = []
    for kind, points, value in (
        (YIELD, material.yield_points, strengths.yield_mpa),
        (TENSILE, material.tensile_points, strengths.tensile_mpa),
    ):
        cold = points[0][1] if points else None
        rows.append(Strength(kind, cold, _hot_words(points), _plain(value), ""))
    line = material.fatigue
    words = "" if line is None else (
        f"amplitude borne {count_words(line.cycles)} times on record, {count_words(cycles)} times "
        f"counted; scatter {100 * line.scatter:g} %, Basquin's exponent {line.exponent:.3f}"
    )  # fmt: skip
    rows.append(
        Strength(FATIGUE, line.strength if line else None, "", _plain(strengths.fatigue_mpa), words)
    )
    library = library_materials().get(material.name)
    return MaterialRow(
        parts=parts,
        material=material,
        governs=any(part in rated_parts(case) for part in parts.split(", ")),
        temperature=temperature,
        strengths=tuple(rows),
        source=library["source"] if library else material.source or "the case gives none",
        how_sure=library["how_sure"] if library else "the case's own numbers; not looked into here",
    )


def _hot_words(points: Points) -> str:
    return ", ".join(f"{value:g} at {at:g}" for at, value in points[1:])


def knock_downs(case: Case, materials: Sequence[MaterialRow]) -> list[str]:
    """What is taken off the strengths on record, with its figures."""
    wishes = case.rating
    found = []
    cast = [row.material.name for row in materials if row.material.cast]
    if cast:
        found.append(
            f"casting quality: {100 * wishes.casting_quality:g} % of every strength of "
            f"{', '.join(cast)} is counted, as what is on record is of bars"
        )
    tired = [row for row in materials if row.material.fatigue and row.material.tensile_points]
    if wishes.reliability == 0.5 and tired:
        found.append(
            "reliability of 50 %: nothing is taken off for it, so half of all such parts have "
            "less fatigue strength than is counted"
        )
    for row in tired:
        assert row.material.fatigue is not None
        if wishes.reliability != 0.5:
            share = reliability_share(wishes.reliability, row.material.fatigue.scatter)
            found.append(
                f"reliability of {100 * wishes.reliability:g} %: {100 * share:.0f} % of the "
                f"fatigue strength of {row.material.name}"
            )
        if not case.heat:
            continue
        warm = float(temperature_share(row.material, row.temperature))
        found.append(
            f"heat: {100 * warm:.0f} % of the fatigue strength of {row.material.name} at "
            f"{row.temperature:.0f} degC, as much as is left of its tensile strength"
        )
    return found


def _notes(designs: Sequence[DesignResult]) -> dict[str, list[str]]:
    """Each note once, with the designs that it is about."""
    notes: dict[str, list[str]] = {}
    for design in designs:
        for note in rating_of(design).notes:
            notes.setdefault(note, []).append(design.name)
    return notes


@dataclass(frozen=True, slots=True)
class Cause:
    """The input that spreads a limit most."""

    design: str
    name: str
    share: float


def rating_contents(result: CaseResult, materials: Sequence[tuple[str, Any]]) -> dict[str, Any]:
    """What the chapter shows.

    Parameters
    ----------
    result : CaseResult
    materials : sequence of (str, Material)
        Parts, and what they are made of.
    """
    rated = [design for design in result.designs if design.rating]
    rows = [
        _material_row(
            result.case, parts, material,
            [spot for design in rated for spot in rating_of(design).spots
             if spot.spot.part in parts.split(", ")],
        )
        for parts, material in materials
    ] if rated else []  # fmt: skip
    wishes, line = result.case.rating, result.case.materials["barrel"].fatigue
    return {
        "has_rating": bool(rated),
        "has_haigh": any(haigh_spot(result.case, design) for design in rated),
        "rated": rated,
        "has_used": any(rating_of(design).used for design in rated),
        "life_lost": None if line is None else 1 - 1.1 ** (1 / line.exponent),
        "banded": [design for design in rated if rating_of(design).band],
        "main_causes": [
            Cause(design.name, *max(band.causes.items(), key=lambda item: item[1]))
            for design in rated
            if (band := rating_of(design).band) and band.causes
        ],
        "rating_notes": _notes(rated),
        "known": {
            (design.name, part): known_strengths(material)
            for design in result.case.designs
            for part, material in result.case.part_materials(design).items()
        },
        "lives": {
            design.name: lives_of(rating_of(design), result.case.materials) for design in rated
        },
        "rated_materials": rows,
        "knock_downs": knock_downs(result.case, rows),
        "why_criterion": WHY_CRITERION[wishes.criterion],
        "why_mean": WHY_MEAN[wishes.mean_stress],
        "tail": TAIL,
        "least_cycles": LEAST_CYCLES,
        "life_words": life_words,
        "hours_words": hours_words,
        "count_words": count_words,
        "wanted": lambda state: count_words(wanted_cycles(result.case, state)),
        "three_words": three_words,
        "open_ended": any(
            None in (*band.pressure_mpa, *band.power_kw)
            for design in rated
            if (band := rating_of(design).band) and result.case.wall_load
        ),
        "intake_range": INTAKE_RANGE,
        "share_words": share_words,
        "mpa_words": mpa_words,
        "rating_cautions": RATING_CAUTIONS,
        "governing_name": governing_name,
        "governs_words": governs_words,
        "no_limit_words": no_limit_words,
    }

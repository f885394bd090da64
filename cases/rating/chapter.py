"""What the chapter on ratings shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.subject import Chapter
from cases.block.chapter import used_materials
from cases.gas.cycle import INTAKE_RANGE
from cases.gas.solve import gas_of
from cases.life.given import life_given
from cases.life.liner import counted_interference, liner_unknown
from cases.life.steps import TAIL, EngineState
from cases.materials.hot import hot_tables
from cases.materials.reading import library_materials, library_row
from cases.rating.depth_words import LEADS, by_solid, depth_state, told_hours, told_lives
from cases.rating.flaws import (
    class_words,
    fatigue_left,
    has_pore,
    pore_share,
    surface_share,
)
from cases.rating.given import rating_given
from cases.rating.judge import ROUGH
from cases.rating.limit import hours_of
from cases.rating.result import FATIGUE, TENSILE, YIELD, is_rated, rating_of
from cases.rating.shares import counted, kept_at, known_strengths, wanted_cycles
from cases.rating.steep import critical_distances
from cases.rating.words import (
    LEAST_CYCLES,
    RATING_CAUTIONS,
    count_words,
    governing_name,
    governs_words,
    haigh_spot,
    haigh_spots,
    hours_words,
    judged_words,
    life_words,
    limit_meaning,
    limit_words,
    mpa_words,
    no_limit_words,
    notes_by_design,
    share_words,
    three_words,
)
from cases.rating.worth import worths_of
from cases.stress.why import place_of
from fea.material import REFERENCE
from fea.strength import temperature_share

if TYPE_CHECKING:
    from cases.case import Case
    from cases.gas.solve import GasLoad
    from cases.rating.given import Rating
    from cases.rating.result import RatedSpot
    from cases.stress.result import CaseResult, DesignResult
    from fea.material import Material, Points

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


TOLD = (
    life_words, hours_words, three_words, share_words, mpa_words, governing_name, governs_words,
    no_limit_words, limit_words, judged_words,
)  # fmt: skip
"""What the template tells numbers by, under the same names."""

WHY_MEAN = {
    "Goodman": (
        "a straight line from the fatigue strength without a mean to the tensile strength; on the "
        "careful side for brittle metal. A squeezing mean is given no credit, but that a cycle "
        "which never pulls does no harm, and one that hardly does less"
    ),
    "Gerber": (
        "a parabola through the same two ends, the middle of tests of ductile metal, so half of "
        "those tests lie below it. A squeezing mean is given no credit, but that a cycle which "
        "never pulls does no harm, and one that hardly does less"
    ),
    "Smith-Watson-Topper": (
        "it multiplies the peak of the cycle by its amplitude, needs no tensile strength and is "
        "good for aluminium. A squeezing mean is given credit: a cycle that never pulls does no "
        "harm"
    ),
}


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
    temperature: float  # of its hottest rated spot [degC]
    strengths: tuple[Strength, ...]
    source: str
    how_sure: str
    hot: str  # where its strengths when hot are from; empty where that is not told


def hot_words(table: str, hours: float) -> str:
    """Where the strengths of a table are from, and what other sources give of the same."""
    of = hot_tables()[table]
    others = []
    for one in of.also:
        shares = " and ".join(
            f"{100 * share:.0f} % of {kind}" for kind, share in one.shares.items()
        )
        others.append(f"{shares} at {one.at:g} degC after {one.hours:g} h ({one.source})")
    counted = f"{of.source}, after {max(hours, of.hours[0]):g} h"
    return f"{counted}; others give {'; '.join(others)}" if others else counted


def _material_row(
    case: Case, parts: str, material: Material, spots: Sequence[RatedSpot]
) -> MaterialRow:
    hottest = max(spots, key=lambda spot: spot.temperature_degc, default=None)
    temperature = hottest.temperature_degc if hottest else REFERENCE
    cycles = wanted_cycles(case, EngineState.WARM)
    left = fatigue_left(rating_given(case), material, parts.split(", ")[0])
    kept = kept_at(material, hottest.been_degc if hottest else None)
    strengths = counted(
        rating_given(case), material, temperature, cycles=cycles, strength=kept, left=left
    )
    rows = []
    for kind, points, value in (
        (YIELD, material.yield_points, strengths.yield_mpa),
        (TENSILE, material.tensile_points, strengths.tensile_mpa),
    ):
        cold = points[0][1] if points else None
        rows.append(Strength(kind, cold, _hot_words(points), _number(value), ""))
    line = material.fatigue
    words = "" if line is None else (
        f"amplitude borne {count_words(line.cycles)} times on record, {count_words(cycles)} times "
        f"counted; scatter {100 * line.scatter:g} %, Basquin's exponent {line.exponent:.3f}"
    )  # fmt: skip
    rows.append(
        Strength(
            FATIGUE, line.strength if line else None, "", _number(strengths.fatigue_mpa), words
        )
    )
    library = None
    if material.name in library_materials():
        library = library_row(material.name, material.process)
    return MaterialRow(
        parts=parts,
        material=material,
        temperature=temperature,
        strengths=tuple(rows),
        source=library["source"] if library else material.source or "the case gives none",
        how_sure=library["how_sure"] if library else "the case's own numbers; not looked into here",
        hot=hot_words(library["hot"], rating_given(case).hours_hot) if library else "",
    )


def _number(value: NDArray[np.float64] | None) -> float | None:
    return None if value is None else float(value)


def _hot_words(points: Points) -> str:
    return ", ".join(f"{value:.0f} at {at:g}" for at, value in points[1:])


def knock_downs(case: Case, materials: Sequence[MaterialRow]) -> list[str]:
    """What is taken off the strengths on record, with its figures."""
    wishes = rating_given(case)
    found = []
    cast = [row.material.name for row in materials if row.material.cast]
    if cast:
        found.append(
            f"casting quality: {100 * wishes.casting_quality:g} % of every strength of "
            f"{', '.join(cast)} is counted, as what is on record is of bars"
        )
    block = case.materials["barrel"]
    if has_pore(wishes, block, "barrel") and critical_distances(wishes, block):
        found[-1] += ", but for the fatigue strength of the block, whose pore counts"
        pored = float(pore_share(wishes, block))
        found.append(
            f"pore of {wishes.pore:g} mm{class_words(wishes)}, a small crack of its area "
            f"(Murakami; El Haddad): {100 * pored:.0f} % of the fatigue strength of "
            f"{block.name}; where stress is steep the critical distance stands in its place"
        )
    if (rough := surface_share(wishes, block, "barrel")) < 1:
        assert wishes.surface is not None
        also = ", where that is less than the pore leaves" if wishes.pore else ""
        found.append(
            f"surface of Rz {1000 * wishes.surface:g} um: {100 * rough:.0f} % of the fatigue "
            f"strength of {block.name} (FKM){also}"
        )
    tired = [row for row in materials if row.material.fatigue and row.material.tensile_points]
    for row in tired:
        assert row.material.fatigue is not None
        if not life_given(case).heat:
            continue
        warm = float(temperature_share(row.material, row.temperature))
        found.append(
            f"heat: {100 * warm:.0f} % of the fatigue strength of {row.material.name} at "
            f"{row.temperature:.0f} degC, as much as is left of its tensile strength"
        )
    return found


def pushed_words(rated: Sequence[DesignResult]) -> str:
    """What bores beside do at the places that govern; empty where none does anything."""
    told = {
        design.name: (rating.solid or rating).pushed
        for design in rated
        if (rating := rating_of(design)).stands
    }
    if not any(told.values()):
        return ""
    by_design = ", ".join(f"{name} {100 * pushed:.1f} %" for name, pushed in told.items())
    return (
        "A bore beside that fires presses the place that governs by so much of what its own gas "
        f"pulls there: {by_design}. Every place's cycle goes from there, where that wears harder "
        "than from no gas."
    )


def _wanted_times(gas: GasLoad, wishes: Rating) -> dict[str, str]:
    """What the wanted cycles come to at the engine's speed: hours, and pulls; empty without."""
    hours = hours_of(gas, wishes.cycles)
    if hours is None:
        return {"wanted_hours": "", "wanted_pulls": ""}
    return {
        "wanted_hours": hours_words(wishes.cycles, hours),
        "wanted_pulls": count_words(3600 * hours / wishes.pull),
    }


@dataclass(frozen=True, slots=True)
class Cause:
    """The input that spreads a limit most."""

    design: str
    name: str
    share: float


def _limits(rated: Sequence[DesignResult]) -> str:
    """The limit of each design."""
    told = []
    for design in rated:
        limit = rating_of(design).stands
        if limit is None:
            told.append(f"{design.name} no limit found")
        elif limit.pressure_mpa is None:
            told.append(f"{design.name} {limit_words(limit)} times the gas load")
        else:
            most = "at most " if limit.at_most else ""
            told.append(f"{design.name} {most}{10 * limit.pressure_mpa:.0f} bar")
    return f"Limits: {', '.join(told)}."


def rating_chapters(result: CaseResult) -> tuple[Chapter, ...]:
    """What each design stands, where that was asked for."""
    case = result.case
    rated = [design for design in result.designs if is_rated(design)]
    if not rated:
        return ()
    rows = [
        _material_row(
            case, parts, material,
            [spot for design in rated for spot in rating_of(design).spots
             if spot.spot.part in parts.split(", ")],
        )
        for parts, material in used_materials(case)
    ]  # fmt: skip
    wishes, line = rating_given(case), case.materials["barrel"].fatigue
    worth_of, worths = worths_of(case, rated)
    contents = {
        **{told.__name__: told for told in TOLD},
        "wishes": wishes,
        "gas": gas_of(result),
        "limit_meaning": limit_meaning(gas_of(result), rated),
        "life_input": life_given(case),
        "follows": life_given(case).heat_follows_gas,
        "liner_unknown": liner_unknown(case),
        "liner_um": 1000 * counted_interference(case) if case.block.liner else None,
        "place_of": lambda spot: place_of(case.block, spot),
        "has_haigh": any(haigh_spot(case, design) for design in rated),
        "dots": {design.name: _dots(case, design) for design in rated},
        "rated": rated,
        "has_used": any(rating_of(design).used for design in rated),
        "life_lost": None if line is None else 1 - 1.1 ** (1 / line.exponent),
        "banded": [design for design in rated if rating_of(design).told_band],
        "pushes": pushed_words(rated),
        "main_causes": [
            Cause(design.name, *max(band.causes.items(), key=lambda item: item[1]))
            for design in rated
            if (band := rating_of(design).told_band) and band.causes
        ],
        "rating_notes": notes_by_design(rated),
        "known": {
            (design.name, part): known_strengths(material)
            for design in case.designs
            for part, material in case.part_materials(design).items()
        },
        "lives": {design.name: told_lives(rating_of(design), case.materials) for design in rated},
        "hours": {design.name: told_hours(rating_of(design)) for design in rated},
        "rated_materials": rows,
        "from_memory": [sum(row.material.from_memory[at] for row in rows) for at in (0, 1)],
        "unsure": max((row.material.unsure for row in rows), default=0.0),
        "knock_downs": knock_downs(case, rows),
        "why_criterion": WHY_CRITERION[wishes.criterion],
        "why_mean": WHY_MEAN[wishes.mean_stress],
        "tail": TAIL,
        "rough": ROUGH,
        "lengths": {
            material.name: three
            for _, material in used_materials(case)
            if (three := critical_distances(wishes, material))
        },
        "least_cycles": LEAST_CYCLES,
        **_wanted_times(gas_of(result), wishes),
        "worths_of_design": worth_of,
        "worths": worths,
        "wanted": lambda state: count_words(wanted_cycles(case, state)),
        "open_ended": any(
            None in (*band.pressure_mpa, *band.power_kw)
            for design in rated
            if (band := rating_of(design).told_band) and gas_of(result).cycle
        ),
        "intake_range": INTAKE_RANGE,
        "rating_cautions": RATING_CAUTIONS,
        "solid_limits": by_solid(rated),
        "solid_fits": any(solid.fits for _, solid in by_solid(rated)),
        "solid_leads": LEADS,
        "depth_state": depth_state,
    }
    return (
        Chapter(
            key="rating", title="What each design stands", template="rating/chapter.html.j2",
            contents=contents, glance="What each design stands", finding=_limits(rated),
        ),
    )  # fmt: skip


def _dots(case: Case, design: DesignResult) -> list[int | None]:
    """Number in its Haigh diagram of each place of a design; empty where there is no diagram."""
    drawn = [id(spot) for spot in haigh_spots(case, design)]
    if not drawn:
        return []
    return [
        drawn.index(id(spot)) + 1 if id(spot) in drawn else None for spot in rating_of(design).spots
    ]

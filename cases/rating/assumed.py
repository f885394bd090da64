"""What designs are rated by where the case does not say it."""

from __future__ import annotations

from cases.gas.solve import gas_of
from cases.life.given import life_given
from cases.rating.given import rating_given
from cases.rating.judge import RATED_PARTS
from cases.rating.result import FATIGUE, WALLS, is_rated, rating_of
from cases.rating.shares import known_strengths
from cases.rating.words import count_words
from cases.stress.result import CaseResult


def rating_assumed(result: CaseResult) -> list[tuple[str, str]]:
    """Key and value of each wish that the case leaves out and the ratings went by."""
    case = result.case
    wishes, heated = rating_given(case), life_given(case).heat is not None
    rated = [design for design in result.designs if is_rated(design)]
    judged = [
        (material, known_strengths(material))
        for design in rated
        for part, material in design.solution.model.materials.items()
        if part in RATED_PARTS
    ]
    fatigue = any(FATIGUE in known for _, known in judged)
    cast = any(material.cast and known for material, known in judged)
    bands = [band for design in rated if (band := rating_of(design).told_band)]
    walls = any(WALLS in band.causes for band in bands)
    last = f"{count_words(wishes.cycles)} cycles{' of the warm engine' if heated else ''}"
    usual = "(common practice, no source)"
    stands = (
        ("mean_stress", fatigue, wishes.mean_stress),
        ("criterion", fatigue, wishes.criterion),
        ("cycles", fatigue, last),
        (
            "cold_cycles", fatigue and heated,
            f"{count_words(wishes.cold_cycles)} before the engine is warm {usual}",
        ),
        (
            "starts", fatigue and heated,
            f"{wishes.starts:g} cold starts {usual}",
        ),
        (
            "pull", fatigue and bool(gas_of(result).speed),
            f"{wishes.pull:g} s {usual}",
        ),
        (
            "hours_hot", heated and bool(judged),
            f"{wishes.hours_hot:g} h at temperature, the most that tables know",
        ),
        (
            "casting_quality", cast,
            f"{100 * wishes.casting_quality:g} % of the strength of cast metal",
        ),
        (
            "reliability", bool(bands),
            f"{100 * wishes.reliability:g} % of the draws carry the limit",
        ),
        (
            "wall_tolerance", walls,
            f"{wishes.wall_tolerance:.3g} mm either way "
            f"{'by the error of the readings' if wishes.bore_tolerances else usual}",
        ),
        (
            "pressure_scatter", bool(bands),
            f"{100 * wishes.pressure_scatter:.3g} % of the gas load "
            f"{'by the peaks of the trace' if wishes.scatter_measured else usual}",
        ),
        ("draws", bool(bands), f"{wishes.draws}"),
    )  # fmt: skip
    process = case.materials["barrel"].process
    made = [("block.process", f"{process}, as {case.materials['barrel'].name} usually is made")]
    return [
        *(made if judged and process and wishes.process_left_out else []),
        *(
            (f"rating.{key}", words)
            for key, counts, words in stands
            if counts and key in wishes.left_out
        ),
    ]

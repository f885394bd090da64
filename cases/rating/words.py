"""What the report's chapter on ratings shows: limits, lives and strengths in words and rows."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from cases.base.parts import PARENT_PARTS
from cases.gas.solve import DETONATION
from cases.rating.limit import MOST_FACTOR
from cases.rating.result import DISTANCE, FATIGUE, rating_of
from cases.rating.shares import known_strengths
from fea.strength import BASQUIN_TOP

if TYPE_CHECKING:
    from cases.case import Case
    from cases.gas.solve import GasLoad
    from cases.rating.result import DesignRating, RatedSpot, Stands
    from cases.stress.result import DesignResult
    from fea.material import Material


def of_hundred(share: float, asked: float) -> str:
    """Draws of a hundred, rounded, but not up to so many as are asked where they are fewer."""
    told = round(100 * share)
    return str(told - 1 if share < asked <= told / 100 else told)


MEANS = (
    "The limit in bar is the mean cycle's peak as a sensor would read it, with scatter and "
    "detonation factor allowed for"
)
"""What a limit in bar is, said once."""
RATING_CAUTIONS = (
    "Every limit and every life here is an estimate to compare designs by, not a promise.",
    (
        "Detonation is not covered: it multiplies the peak pressure within one cycle and without "
        "warning, whatever limit stands here."
    ),
    (
        "Casting defects decide: a pore or a crack at the governing place breaks it earlier than "
        "any number here. Sonic-test and pressure-test the block."
    ),
)
"""What stands right beside every rating."""
LEAST_CYCLES = BASQUIN_TOP[0]
"""Shorter lives lie outside the line that gives them."""
MOST_CYCLES = 1e10
"""Longer lives are told as beyond this: no test lasts as long."""
OUTSIDE, BEYOND, NO_HARM = (
    f"below {LEAST_CYCLES:.0f}: outside the line", "beyond 1e10", "no harm",
)  # fmt: skip
NO_BOUND, NOT_JUDGED = "no bound", "not judged"


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


def life_cycles_of(
    rating: DesignRating, materials: Mapping[str, Material]
) -> dict[str, float | None]:
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


def limit_words(limit: Stands) -> str:
    """A limit as times the gas load, and where it has no bound that it is at most that."""
    return f"at most {limit.factor:.2f}" if limit.at_most else f"{limit.factor:.2f}"


def limit_is(designs: Sequence[DesignResult]) -> str:
    """Which load a limit is: that a share of the draws carry, or the nominal one.

    Parameters
    ----------
    designs : sequence of DesignResult
        Rated.
    """
    bands = [band for design in designs if (band := rating_of(design).told_band)]
    if not bands:
        return "A limit is nominal: nothing is drawn, and half of such blocks carry less"
    nominal = " (nominal where there are no draws)" if len(bands) < len(designs) else ""
    return f"A limit is the load that {100 * bands[0].reliability:g} of 100 draws carry{nominal}"


def limit_meaning(gas: GasLoad, designs: Sequence[DesignResult]) -> str:
    """What the limits in bar are: how a sensor reads, what is allowed for, what else would leave.

    Parameters
    ----------
    gas : GasLoad
    designs : sequence of DesignResult
        Rated.
    """
    kind = "an absolute" if gas.absolute else "a gauge"
    means = f"{limit_is(designs)}. {MEANS}. It is {kind} pressure"
    if not gas.smooth:
        of = gas.scatter
        allowed = [
            *([f"{of.allowance:.3f} for the scatter of the trace"] if of else ()),
            *([f"{gas.detonation:g} for detonation"] if gas.detonation > 1 else ()),
        ]
        return f"{means}; what is rated is the mean cycle times {', times '.join(allowed)}."
    left = [
        f"{design.name} {10 * gas.read(limit.wall_mpa, DETONATION):.0f} bar"
        for design in designs
        if (limit := rating_of(design).stands) and limit.wall_mpa
    ]
    leaves = f"; a factor of {DETONATION:g} would leave {', '.join(left)}" if left else ""
    return (
        f"{means}. Neither is given here, so it is for a smooth cycle{leaves}. Give a trace of "
        "many cycles, or pressure_factor under [gas]."
    )


def judged_words(rated: RatedSpot) -> str:
    """What a place is judged by, such as "critical distance, L = 0.13 mm"."""
    if rated.length_mm is None:
        return rated.judged_by
    return f"{rated.judged_by}, L = {rated.length_mm:.2g} mm"


def governs_words(rating: DesignRating) -> str:
    """What governs, such as "barrel 7:34, fatigue warm"."""
    name = governing_name(rating)
    if name is None or rating.governing is None:
        return "nothing could be judged"
    spot = rating.governing.spot
    how = f" by {DISTANCE}" if rating.governing.judged_by == DISTANCE else ""
    return f"{spot.part} {spot.clock}, {name.replace(', ', ' ')}{how}"


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


def haigh_spots(case: Case, design: DesignResult) -> list[RatedSpot]:
    """Places of the block in the state of its Haigh diagram, worst first; none without one."""
    at = haigh_spot(case, design)
    return [
        spot
        for spot in rating_of(design).spots
        if at is not None and spot.spot.part in PARENT_PARTS and spot.state == at.state
    ]


def notes_by_design(designs: Sequence[DesignResult]) -> dict[str, list[str]]:
    """Each note of some ratings once, with the names of the designs that it is about."""
    notes: dict[str, list[str]] = {}
    for design in designs:
        for note in rating_of(design).notes:
            notes.setdefault(note, []).append(design.name)
    return notes

"""What is told of the coolant in words."""

from __future__ import annotations

from cases.base.subject import Solved
from cases.coolant.film import USUAL_FILMS, WetFilm
from cases.coolant.given import MIXED, WATER, coolant_of


def coolant_lines(result: Solved) -> list[str]:
    """The film, where it boils, and the critical heat flux."""
    film = coolant_of(result)
    if film is None:
        return []
    found = [f"Coolant: {flow_words(film)}; {boiling_words(film)}."]
    if note := unusual_words(film):
        found.append(note)
    return found


def fluid_words(film: WetFilm) -> str:
    """What flows."""
    glycol = film.given.glycol
    return WATER if glycol == 0 else f"{MIXED} ({100 * glycol:.0f} % by mass)"


def flow_words(film: WetFilm) -> str:
    """The film of forced convection, and the flow that gives it."""
    convection = f"{1e6 * film.convection:.0f} W/(m2 K)"
    if film.speed is None:
        return f"{fluid_words(film)} with the case's own film of {convection}"
    assert film.given.flow is not None
    return (
        f"{fluid_words(film)}, {60e-6 * film.given.flow:.0f} L/min along both sides of the bank at "
        f"{film.speed:.2f} m/s give {convection}"
    )


def boiling_words(film: WetFilm) -> str:
    """Where it boils, and what a wall may give at most."""
    return (
        f"it boils at {film.boils_at:.0f} degC, and above {film.critical_flux:.2f} MW/m2 steam may "
        f"cover the wall"
    )


def unusual_words(film: WetFilm) -> str:
    """That the film is out of what jackets have; empty where it is not."""
    if film.usual:
        return ""
    low, high = (1e6 * of for of in USUAL_FILMS)
    return (
        f"The film of {1e6 * film.convection:.0f} W/(m2 K) is out of what water jackets commonly "
        f"have, {low:.0f} to {high:.0f} W/(m2 K) (common practice, no source): check flow, jacket "
        "and units."
    )

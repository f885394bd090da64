"""Heat of a solid: the films of the case on its faces, each down to where it reaches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.life.given import Heat
from cases.life.heat import gas_film, to_coolant
from fea.heat import CurvedFilm, Film
from fea.solid.heat import ByDepth, SolidFilm
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]

GAS_FACES = ("bore", "other bores")
WATER_FACES = ("jacket", "relief", "slots", "undersides", "floors")
FLUX_FILM = 1e-7
"""Coefficient of a film that stands for a heat flux, so small that the wall's own temperature
counts for nothing. [W/(mm2 K)]."""
FILM_POWER = 0.8
"""Power of the pressure that the film of the gas goes by: Woschni, SAE 670931 (1967), from
memory."""
LEVELS = 121


def films_of(
    given: Heat, case: Case, load: GasLoad, mesh: SolidMesh
) -> dict[str, SolidFilm | CurvedFilm | float]:
    """Films by the name of faces, for :class:`fea.solid.heat.SolidHeat`.

    The gas reaches each depth for a part of the cycle only; what is stated, or worked out, as the
    mean over the section depth H is spread by that.

    Parameters
    ----------
    given : Heat
    case : Case
    load : GasLoad
    mesh : SolidMesh
    """
    share = reached(case, load)
    gas = gas_film(given, load)
    if gas is None:
        assert isinstance(given.gas, float)
        of_gas = SolidFilm(lambda depth: FLUX_FILM * share(depth), given.gas / FLUX_FILM)
    else:
        coefficient, hot = gas

        def film(depth: Array) -> Array:
            return given.through_deposit(coefficient * share(depth))

        of_gas = SolidFilm(film, hot)
    coolant = to_coolant(given)
    wanted: list[tuple[Sequence[str], SolidFilm | CurvedFilm | None]] = [
        (GAS_FACES, of_gas),
        (
            WATER_FACES,
            SolidFilm(coolant.coefficient, coolant.temperature)
            if isinstance(coolant, Film)
            else coolant,
        ),
        (("deck",), SolidFilm(*given.head) if given.head else None),
        (("outside",), SolidFilm(*given.outside) if given.outside else None),
    ]
    return {
        name: film
        for names, film in wanted
        for name in names
        if film is not None and (name in mesh.sides or name in mesh.flats)
    }


def reached(case: Case, load: GasLoad) -> ByDepth:
    """Film of the gas at depths, over its mean down to the section depth H.

    By crank angle it goes as the pressure to the power 0.8 while the gas reaches a depth, closed
    or not; a static load reaches its own depth.

    Parameters
    ----------
    case : Case
    load : GasLoad
    """
    wall = load.wall_load
    if wall is None:
        deep = load.pressurised_depth
        whole = case.section_depth / min(deep, case.section_depth)
        return lambda depth: np.where(depth <= deep, whole, 0.0)
    levels = np.linspace(0.0, 2.5 * case.section_depth, LEVELS)
    weight = np.maximum(wall.pressure + wall.crankcase, 0.0) ** FILM_POWER
    reach = wall.reach(wall.deg)
    passed = np.gradient(wall.deg)
    film = np.array([(weight * passed)[reach >= level].sum() for level in levels])
    inside = levels <= case.section_depth
    mean = np.trapezoid(film[inside], levels[inside]) / levels[inside][-1]
    return lambda depth: np.interp(depth, levels, film / mean)

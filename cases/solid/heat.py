"""Heat of a solid: the films of the case on its faces, each down to where it reaches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.cylinder import ZERO_CELSIUS
from cases.gas.solve import GasLoad
from cases.gas.wall_load import CYCLE, WallLoad
from cases.life.given import Heat
from cases.life.heat import to_coolant
from fea.heat import CurvedFilm, Film
from fea.solid.heat import ByDepth, SolidFilm
from geometry.section import default_depth
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
LEVELS = 241
BELOW = 1.01
"""Depth to which a film by depth is worked out, over that which the gas reaches."""


def films_of(
    given: Heat, case: Case, load: GasLoad, mesh: SolidMesh
) -> dict[str, SolidFilm | CurvedFilm | float]:
    """Films by the name of faces, for :class:`fea.solid.heat.SolidHeat`.

    The gas reaches each depth for a part of the cycle only; a mean over some depth is spread by
    that. One that is worked out is known at each depth. One that is stated counts as the mean over
    the usual depth of a section, whatever H: the block doesn't get hotter by what stands for it.

    Parameters
    ----------
    given : Heat
    case : Case
    load : GasLoad
    mesh : SolidMesh
    """
    of_gas = _of_gas(given, case, load)
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


def _of_gas(given: Heat, case: Case, load: GasLoad) -> SolidFilm:
    """Film of the gas by depth, behind what the burn leaves."""
    if given.gas is None:
        assert load.wall_load is not None
        found = worked_out(load.wall_load)
    else:
        share = reached(load, usual_depth(case))
        if isinstance(given.gas, float):
            flux = given.gas
            return SolidFilm(lambda depth: FLUX_FILM * share(depth), flux / FLUX_FILM)
        coefficient, temperature = given.gas
        found = SolidFilm(lambda depth: coefficient * share(depth), temperature)
    return SolidFilm(lambda depth: given.through_deposit(found.at(depth)[0]), found.temperature)


def usual_depth(case: Case) -> float:
    """Section depth of a case that states none. [mm]."""
    inserts = [design.insert.lowest for design in case.designs if design.insert]
    return default_depth(case.block, max(inserts, default=0.0))


def reached(load: GasLoad, over: float) -> ByDepth:
    """Film of the gas at depths, over its mean down to one.

    By crank angle it goes as the pressure to the power 0.8 while the gas reaches a depth, closed
    or not; a static load reaches its own depth.

    Parameters
    ----------
    load : GasLoad
    over : float
        Depth of the mean. [mm]
    """
    wall = load.wall_load
    if wall is None:
        deep = load.pressurised_depth
        whole = over / min(deep, over)
        return lambda depth: np.where(depth <= deep, whole, 0.0)
    weight = np.maximum(wall.pressure + wall.crankcase, 0.0) ** FILM_POWER
    reach = wall.reach(wall.deg)
    levels = np.linspace(0.0, BELOW * float(reach.max()), LEVELS)
    (felt,) = _felt(reach, wall.deg, levels, [weight])
    inside = weight * np.gradient(wall.deg) * np.minimum(reach, over)
    mean = float(inside.sum()) / over
    return lambda depth: np.interp(depth, levels, felt / mean)


def worked_out(wall: WallLoad) -> SolidFilm:
    """Film of a worked-out cycle: its mean at each depth, and the temperature weighed with it.

    The temperature is higher by what brings the heat of the rings. Where the gas never gets the
    film is none but what brings that.
    """
    assert wall.cycle is not None
    deg, _, hot, film = wall.cycle.whole
    levels = np.linspace(0.0, wall.lowest_ring, LEVELS)
    passed, carried = _felt(wall.bared(deg), deg, levels, [film, film * hot])
    passed, carried = passed / CYCLE + FLUX_FILM, carried / CYCLE + FLUX_FILM * ZERO_CELSIUS
    carried = carried + wall.heat_by_rings(levels)

    def wetted(depth: Array) -> Array:
        return np.asarray(np.interp(depth, levels, passed, right=FLUX_FILM))

    def temperature(depth: Array) -> Array:
        # of what is carried: far off itself where there is next to no film
        at = np.interp(depth, levels, carried, right=FLUX_FILM * ZERO_CELSIUS)
        return np.asarray(at / wetted(depth) - ZERO_CELSIUS)

    return SolidFilm(wetted, temperature)


def _felt(reach: Array, deg: Array, levels: Array, values: Sequence[Array]) -> list[Array]:
    """Integrals over the cycle of values by crank angle, at depths that are reached then."""
    step = np.gradient(deg)
    return [np.array([(of * step)[reach >= level].sum() for level in levels]) for of in values]

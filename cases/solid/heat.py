"""Heat of a solid: the films of the case on its faces, each down to where it reaches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from cases.case import Case
from cases.gas.solve import GasLoad
from cases.gas.wall_load import WallLoad
from cases.life.given import Heat
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


def films_of(
    given: Heat, case: Case, load: GasLoad, mesh: SolidMesh
) -> dict[str, SolidFilm | float]:
    """Films by the name of faces, for :class:`fea.solid.heat.SolidHeat`.

    The gas reaches each depth for a part of the cycle only; a mean over some depth is spread by
    that. One that is worked out is the mean over the section depth H. One that is stated counts as
    the mean over the usual depth of a section, whatever H: the block doesn't get hotter by what
    stands for it.

    Parameters
    ----------
    given : Heat
    case : Case
    load : GasLoad
    mesh : SolidMesh
    """
    gas = given.gas
    if gas is None:
        assert load.wall_load is not None
        gas, share = load.wall_load.film, worked_out(load.wall_load)
    else:
        share = reached(load, usual_depth(case))
    if isinstance(gas, float):
        of_gas = _film(FLUX_FILM, gas / FLUX_FILM, share)
    else:
        of_gas = _film(*gas, share)
    wanted: list[tuple[Sequence[str], SolidFilm | None]] = [
        (GAS_FACES, of_gas),
        (WATER_FACES, SolidFilm(*given.coolant) if given.coolant else None),
        (("deck",), SolidFilm(*given.head) if given.head else None),
        (("outside",), SolidFilm(*given.outside) if given.outside else None),
    ]
    return {
        name: film
        for names, film in wanted
        for name in names
        if film is not None and (name in mesh.sides or name in mesh.flats)
    }


def _film(coefficient: float, temperature: float, share: ByDepth) -> SolidFilm:
    return SolidFilm(lambda depth: coefficient * share(depth), temperature)


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
    return _spread(wall, wall.deg, weight, over)


def worked_out(wall: WallLoad) -> ByDepth:
    """Film of a worked-out cycle at depths, over its mean down to the section depth H."""
    assert wall.cycle is not None
    deg, _, _, film = wall.cycle.whole
    return _spread(wall, deg, film, wall.section_depth)


def _spread(wall: WallLoad, deg: Array, film: Array, over: float) -> ByDepth:
    """What a film by crank angle comes to at depths, over its mean down to one."""
    reach = wall.reach(deg)
    passed = film * np.gradient(deg)
    levels = np.linspace(0.0, max(2.5 * over, float(reach.max())), LEVELS)
    felt = np.array([passed[reach >= level].sum() for level in levels])
    mean = float((passed * np.minimum(reach, over)).sum()) / over
    return lambda depth: np.interp(depth, levels, felt / mean)

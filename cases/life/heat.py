"""A section that conducts: its films and joints, as a case states them.

Heat leaves its plane by the films alone: of deck to head (``head_film``), of the undersides of ties
and insert. None goes down the barrel, which leaves its bore too hot by up to a tenth of its rise
above the coolant; the solid has that flow, and decides where one ran. A sink in its place was
reckoned: a fin of the wall's thickness, k m = sqrt(h k / t), to the wall below, whose heat is known
by the film there. On a plain tube of the bench (H = 24 mm, 186 degC) it takes 14 K off where the
solid is 7 K cooler, with four ties 14 where that is 9: no nearer, as the gas heats less and less
down the wall and not by a step at H, and between two bores, where no water is near, less so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.undersides import UNDERSIDES
from cases.coolant.film import wet_film
from cases.gas.solve import GasLoad
from cases.life.given import Heat
from fea.heat import CurvedFilm, Film, Films, HeatField, HeatModel
from geometry.parted import Joint, carried, part_off
from geometry.section_mesh import SectionMesh

if TYPE_CHECKING:
    from fea.material import Material

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Conducting:
    """A section with its liner, where heat crosses a joint there, cut loose from the barrel.

    Attributes
    ----------
    model : HeatModel
    origin : ndarray of int, shape (m,)
        Node of the section that each node of the heat's mesh comes from.
    opening : tuple of str
        Parts that are pieces of their own in the section: their joints can open.
    """

    model: HeatModel
    origin: NDArray[np.int64]
    opening: tuple[str, ...]

    def solve(self, touching: Array | None = None) -> HeatField:
        """Steady temperatures.

        Parameters
        ----------
        touching : ndarray, shape (n,), optional
            Share of the conductance that each node of the section has across joints that can open;
            all if left out.
        """
        if touching is None:
            return self.model.solve()
        return self.model.solve(dict.fromkeys(self.opening, touching[self.origin]))

    def on_section(self, heat: HeatField) -> Array:
        """Temperature at the nodes of the section, the mean where the liner is cut loose.

        Returns
        -------
        ndarray, shape (n,)
            [degC].
        """
        return np.asarray(np.bincount(self.origin, heat.temperature) / np.bincount(self.origin))


def conducting(
    given: Heat,
    load: GasLoad,
    mesh: SectionMesh,
    materials: Mapping[str, Material],
    joints: Sequence[Joint],
) -> Conducting:
    """The equations of a section's heat.

    Parameters
    ----------
    given : Heat
    load : GasLoad
        Whose engine heats the bore where the case states no other film.
    mesh : SectionMesh
    materials : mapping of str to Material
        By part.
    joints : sequence of Joint
        Of insert and liner with the block, in the numbers of ``mesh``; none of what is one with it.

    Raises
    ------
    ValueError
        If a material does not conduct, or a joint has no conductance.
    """
    origin = np.arange(len(mesh.points))
    opening = tuple(joint.part for joint in joints)
    if given.liner_conductance is not None and "liner" not in opening:
        cut = part_off(mesh, "liner")
        joints = [*(carried(of, cut) for of in joints), cut.joint]
        mesh, origin = cut.mesh, cut.origin
    stated = {"insert": given.joint_conductance, "liner": given.liner_conductance}
    head, outside = (Film(*film) if film else None for film in (given.head, given.outside))
    films = Films(
        gas=_from_gas(given, load), coolant=to_coolant(given), head=head, outside=outside,
        joints={of.part: value for of in joints if (value := stated[of.part]) is not None},
        undersides=UNDERSIDES,
    )  # fmt: skip
    return Conducting(HeatModel(mesh, materials, films, joints), origin, opening)


def _from_gas(given: Heat, load: GasLoad) -> Film | float:
    """Film of the gas behind what the burn leaves, or its heat flux [W/mm2]."""
    if isinstance(given.gas, float):
        return given.gas
    film = gas_film(given, load)
    assert film is not None
    return Film(float(given.through_deposit(np.asarray(film[0]))), film[1])


def gas_film(given: Heat, load: GasLoad) -> tuple[float, float] | None:
    """Mean coefficient [W/(mm2 K)] and temperature [degC] of the gas: as stated, or the engine's.

    None of a stated heat flux.
    """
    if isinstance(given.gas, float):
        return None
    if given.gas is None:
        assert load.wall_load is not None  # the reading asks for an engine's cycle then
        return load.wall_load.film
    return given.gas


def to_coolant(given: Heat) -> Film | CurvedFilm | None:
    """Film of the coolant: as stated, or by what flows, with boiling on top."""
    if given.water is not None:
        return wet_film(given.water).curve
    return Film(*given.coolant) if given.coolant else None

"""A section that conducts: its films and joints, as a case states them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.undersides import UNDERSIDES
from cases.gas.solve import GasLoad
from cases.life.given import Heat
from fea.heat import Film, Films, HeatField, HeatModel
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
    """

    model: HeatModel
    origin: NDArray[np.int64]

    def solve(self, touching: NDArray[np.bool_] | None = None) -> HeatField:
        """Steady temperatures.

        Parameters
        ----------
        touching : ndarray of bool, shape (n,), optional
            Which nodes of the section touch across the joint of the insert; all if left out.
        """
        return self.model.solve({} if touching is None else {"insert": touching[self.origin]})

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
    joint: Joint | None,
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
    joint : Joint or None
        Of the insert with the block, in the numbers of ``mesh``; None where it is one with it.

    Raises
    ------
    ValueError
        If a material does not conduct, or a joint has no conductance.
    """
    joints = [joint] if joint else []
    origin = np.arange(len(mesh.points))
    if given.liner_conductance is not None:
        cut = part_off(mesh, "liner")
        joints = [*(carried(of, cut) for of in joints), cut.joint]
        mesh, origin = cut.mesh, cut.origin
    stated = {"insert": given.joint_conductance, "liner": given.liner_conductance}
    coolant, head, outside = (
        Film(*film) if film else None for film in (given.coolant, given.head, given.outside)
    )
    films = Films(
        gas=_from_gas(given, load), coolant=coolant, head=head, outside=outside,
        joints={of.part: value for of in joints if (value := stated[of.part]) is not None},
        undersides=UNDERSIDES,
    )  # fmt: skip
    return Conducting(HeatModel(mesh, materials, films, joints), origin)


def _from_gas(given: Heat, load: GasLoad) -> Film | float:
    """Film of the gas, or its heat flux [W/mm2]: as stated, else the engine's."""
    if given.gas is None:
        assert load.wall_load is not None  # the reading asks for an engine then
        return Film(*load.wall_load.film)
    return given.gas if isinstance(given.gas, float) else Film(*given.gas)

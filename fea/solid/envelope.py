"""Of several loads the one that pulls hardest at each node, and the stress under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.solid.model import SolidSolution
from fea.solid.stress import PartStress, extremes, recover

Array = NDArray[np.float64]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class WorstStress(PartStress):
    """Stress of one part, at each node under the load that pulls hardest there.

    Attributes
    ----------
    principal : ndarray, shape (k,)
        Largest principal stress. [MPa]
    load : ndarray of int, shape (k,)
        Place of that load among them.
    under : tuple of PartStress
        The part's stress under each load.
    """

    principal: Array
    load: Integers
    under: tuple[PartStress, ...]

    def raw_of(self, elements: Integers) -> Array:
        """As :meth:`PartStress.raw_of`, each node under its own load."""
        rows = self.prisms[np.searchsorted(self.elements, elements)]
        load = self.load[rows]
        raw = np.empty((6, *load.shape))
        for number in np.unique(load):
            here = load == number
            raw[:, here] = self.under[number].raw_of(elements)[:, here]
        return raw


def worst_of(solutions: Sequence[SolidSolution]) -> tuple[WorstStress, ...]:
    """Stress of every part, each node under the load that pulls hardest there.

    Parameters
    ----------
    solutions : sequence of SolidSolution
        Of one mesh, at least one.

    Returns
    -------
    tuple of WorstStress
        In the order of ``mesh.parts``.
    """
    return tuple(map(_worst, zip(*(recover(one) for one in solutions), strict=True)))


def _worst(under: tuple[PartStress, ...]) -> WorstStress:
    first = under[0]
    principal = extremes(first.stress)[0]
    load = np.zeros(len(principal), dtype=np.int64)
    stress, inside = first.stress.copy(), first.inside.copy()
    for number, other in enumerate(under[1:], 1):
        largest = extremes(other.stress)[0]
        more = largest > principal
        principal[more], load[more] = largest[more], number
        stress[:, more], inside[:, more] = other.stress[:, more], other.inside[:, more]
    return WorstStress(
        part=first.part, nodes=first.nodes, prisms=first.prisms, elements=first.elements,
        stress=stress, inside=inside, solution=first.solution, principal=principal, load=load,
        under=under,
    )  # fmt: skip

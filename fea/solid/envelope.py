"""Of several loads the one that pulls hardest at each node, and the stress under it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.solid.model import SolidSolution
from fea.solid.stress import PartStress, extremes, raw_stress, recover

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
    under : tuple of SolidSolution
        Of each load.
    """

    principal: Array
    load: Integers
    under: tuple[SolidSolution, ...]

    def raw_of(self, elements: Integers) -> Array:
        """As :meth:`PartStress.raw_of`, each node under its own load."""
        rows = self.prisms[np.searchsorted(self.elements, elements)]
        load = self.load[rows]
        raw = np.empty((6, *load.shape))
        for number in np.unique(load):
            here = load == number
            raw[:, here] = raw_stress(self.under[number], self.part, elements)[:, here]
        return raw


def worst_of(solutions: Sequence[SolidSolution]) -> tuple[WorstStress, ...]:
    """Stress of every part, each node under the load that pulls hardest there.

    One load after the other: no more than the worst so far is kept.

    Parameters
    ----------
    solutions : sequence of SolidSolution
        Of one mesh, at least one.

    Returns
    -------
    tuple of WorstStress
        In the order of ``mesh.parts``.
    """
    under = tuple(solutions)
    found = [
        WorstStress(
            part=of.part, nodes=of.nodes, prisms=of.prisms, elements=of.elements,
            stress=of.stress, inside=of.inside, solution=of.solution,
            principal=extremes(of.stress)[0], load=np.zeros(len(of.nodes), dtype=np.int64),
            under=under,
        )
        for of in recover(under[0])
    ]  # fmt: skip
    for number, solution in enumerate(under[1:], 1):
        for worst, other in zip(found, recover(solution), strict=True):
            largest = extremes(other.stress)[0]
            more = largest > worst.principal
            worst.principal[more], worst.load[more] = largest[more], number
            worst.stress[:, more] = other.stress[:, more]
            worst.inside[:, more] = other.inside[:, more]
    return tuple(found)

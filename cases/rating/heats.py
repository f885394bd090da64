"""What heat makes of a fitted solid, load by load of the gas that heats it.

Where the engine heats the block another fit is sought at the heat of its own limit. Temperatures
are solved at loads that stand in steps of ``WIDE`` and come from the limit of the stated fit
besides; between them they lie along straight lines, so that a further heat costs a step of contact
and no more. Heat crosses the joint as it does at the stated fit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from cases.base.faults import RunError
from cases.gas.solve import GasLoad, at_load
from cases.rating.own_heat import SAME_LOAD, WIDE
from cases.solid.life import FittedSolidLife
from fea.heat import HeatError
from fea.solid.fitted import FittedSolid


class Heats:
    """A fitted solid warm by the cycle of one gas load or another.

    Parameters
    ----------
    gas : GasLoad
        As asked.
    solved : mapping of float to FittedSolidLife
        The stated fit at the heat of some loads, by their factors on that; one at least.
    """

    def __init__(self, gas: GasLoad, solved: Mapping[float, FittedSolidLife]) -> None:
        self._gas, self._lives = gas, dict(solved)
        self._warm = {factor: life.warm for factor, life in solved.items()}
        self._least, self._most = 0.0, math.inf  # that the engine can give, as far as is known

    def at(self, factor: float) -> FittedSolid:
        """The solid, warm by a gas load; by the nearest that the engine gives, where it can't.

        Raises
        ------
        RunError
            If heat and its films do not settle.
        """
        factor = min(max(factor, self._least), self._most)
        if (known := self._alike(factor)) is not None:
            return self._warm[known]
        below = WIDE ** math.floor(math.log(factor, WIDE) + SAME_LOAD)
        low = max((of for of in self._warm if below <= of < factor), default=below)
        if not self._is_solved(low):
            if low < 1:
                self._least = WIDE * below
            else:
                self._most = below / WIDE
            return self.at(factor)
        if (known := self._alike(factor)) is not None:
            return self._warm[known]
        high = min((of for of in self._warm if factor < of <= WIDE * below), default=WIDE * below)
        if not self._is_solved(high):
            self._most = low
            return self._warm[low]
        return self._warm[low].between(self._warm[high], (factor - low) / (high - low))

    def _alike(self, factor: float) -> float | None:
        """A load that is solved and hardly another."""
        nearest = min(self._warm, key=lambda of: abs(math.log(of / factor)))
        return nearest if abs(math.log(nearest / factor)) <= SAME_LOAD / 2 else None

    def _is_solved(self, factor: float) -> bool:
        """Whether a load's heat is solved, now if not before; not where the engine can't give it.

        Raises
        ------
        RunError
            If heat and its films do not settle.
        """
        if factor in self._warm:
            return True
        if (load := at_load(self._gas, factor)) is None:
            return False
        nearest = min(self._lives, key=lambda of: abs(math.log(of / factor)))
        try:
            self._warm[factor] = self._lives[nearest].conducted(load)
        except HeatError as error:
            raise RunError(f"the heat of {factor:.3g} times the asked load: {error}") from error
        return True

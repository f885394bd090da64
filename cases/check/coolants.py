"""Problems of the coolant whose answer is known, each posed once. MPa, W, mm and degC."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version

import numpy as np

from cases.coolant.film import HOTTEST, critical_flux, gnielinski, nucleate
from cases.coolant.fluid import Fluid


@dataclass(frozen=True)
class CoolantAnswer:
    """A coolant, to be read; it has no mesh, so fineness changes nothing."""

    fluid: Fluid

    @property
    def solver(self) -> str:
        """Libraries of properties and correlations."""
        return f"CoolProp {version('coolprop')}, ht {version('ht')}"

    def boils_at(self, bar: float) -> float:
        """Boiling point at an absolute pressure [bar]. [degC]."""
        return self.fluid.boils_at(bar / 10)

    def critical_flux(self, bar: float) -> float:
        """Critical heat flux of a pool at an absolute pressure [bar]. [MW/m2]."""
        return critical_flux(self.fluid, bar / 10, self.boils_at(bar))

    def critical_superheat(self, bar: float) -> float:
        """Superheat of a wall in a pool at its critical heat flux. [K]."""
        return self.superheat(bar, self.critical_flux(bar))

    def superheat(self, bar: float, flux: float) -> float:
        """Superheat of a wall in a pool that gives so much by bubbles [MW/m2]. [K]."""
        hot = np.arange(0.0, HOTTEST, 0.1)
        return float(np.interp(flux, nucleate(self.fluid, bar / 10, self.boils_at(bar), hot), hot))

    def nusselt(self, reynolds: float, prandtl: float) -> float:
        """Of turbulent flow in a smooth passage."""
        return gnielinski(reynolds, prandtl)


def water(fineness: float = 1.0) -> CoolantAnswer:
    """Water."""
    return CoolantAnswer(Fluid(0.0))


def half_glycol(fineness: float = 1.0) -> CoolantAnswer:
    """Water and glycol, one half of each by mass."""
    return CoolantAnswer(Fluid(0.5))

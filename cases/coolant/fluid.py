"""Water, and water with ethylene glycol: properties of the liquid, and where it boils.

CoolProp is imported when a property is first asked. Glycol doesn't boil away with the water: its
vapour is neglected, so the mixture boils where the water's share of molecules brings the pressure
of water to that of the system (Raoult). Latent heat and vapour are those of water. The liquid's
properties of a mixture are known up to 100 degC, and stand there for hotter ones. Surface tension
of a mixture is taken between those of its liquids by mass.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

ZERO_CELSIUS = 273.15  # [K], exact
WATER_MOLAR, GLYCOL_MOLAR = 18.015, 62.068
"""Molar masses of H2O and C2H6O2, from the atomic weights. [g/mol]."""
GLYCOL_TENSION = 0.040
"""Surface tension of glycol at some 110 degC (from memory). [N/m]."""
HOTTEST_MIXTURE = 100.0
"""Up to which CoolProp knows the mixture. [degC]."""
BESIDE = 0.01
"""How far below the boiling point water counts as a liquid there. [K]."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """A liquid at one temperature, in SI units."""

    density: float  # [kg/m3]
    capacity: float  # [J/(kg K)]
    viscosity: float  # [Pa s]
    conductivity: float  # [W/(m K)]

    @property
    def prandtl(self) -> float:
        """Cp mu / k."""
        return self.capacity * self.viscosity / self.conductivity


@dataclass(frozen=True)
class Fluid:
    """A coolant with so much glycol by mass, 0 of water.

    Examples
    --------
    >>> f"{Fluid(0.0).boils_at(0.2):.1f}, {Fluid(0.5).boils_at(0.2):.1f}"
    '120.2, 128.5'
    """

    glycol: float

    @cached_property
    def molar_water(self) -> float:
        """Share of water among the molecules."""
        water = (1 - self.glycol) / WATER_MOLAR
        return water / (water + self.glycol / GLYCOL_MOLAR)

    def boils_at(self, pressure: float) -> float:
        """Boiling point at an absolute pressure [MPa]. [degC]."""
        return _water("T", "P", 1e6 * pressure / self.molar_water) - ZERO_CELSIUS

    def vapour_pressure(self, temperature: float) -> float:
        """Pressure at which it boils at a temperature [degC]. [MPa]."""
        return 1e-6 * self.molar_water * _water("P", "T", temperature + ZERO_CELSIUS)

    def liquid(self, temperature: float, pressure: float) -> Liquid:
        """The liquid at a temperature [degC] no higher than its boiling point, and a pressure.

        Parameters
        ----------
        temperature : float
            [degC]
        pressure : float
            Absolute. [MPa]
        """
        from CoolProp.CoolProp import PropsSI

        if self.glycol == 0:
            name, known = "Water", min(temperature, self.boils_at(pressure) - BESIDE)
        else:
            name, known = f"INCOMP::MEG-{100 * self.glycol:g}%", min(temperature, HOTTEST_MIXTURE)
        state = ("T", known + ZERO_CELSIUS, "P", 1e6 * pressure, name)
        return Liquid(*(float(PropsSI(of, *state)) for of in "DCVL"))

    def surface_tension(self, temperature: float) -> float:
        """At a temperature [degC]. [N/m]."""
        water = _water("I", "T", temperature + ZERO_CELSIUS)
        return (1 - self.glycol) * water + self.glycol * GLYCOL_TENSION


def latent_heat(pressure: float) -> float:
    """Of water at an absolute pressure [MPa]. [J/kg]."""
    return _water("H", "P", 1e6 * pressure, 1) - _water("H", "P", 1e6 * pressure, 0)


def vapour_density(pressure: float) -> float:
    """Of steam at an absolute pressure [MPa]. [kg/m3]."""
    return _water("D", "P", 1e6 * pressure, 1)


def _water(of: str, by: str, value: float, vapour: int = 0) -> float:
    """A property of water where it boils, in SI units."""
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI(of, by, value, "Q", vapour, "Water"))

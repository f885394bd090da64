r"""What a wet wall gives to the coolant, by its temperature: Chen's superposition below saturation.

.. math:: q = h_c (T_w - T_b) + S\, h_{nb} (T_w - T_s)

with the film of forced convection :math:`h_c` (Gnielinski), that of nucleate boiling
:math:`h_{nb}` (Forster and Zuber) from the boiling point :math:`T_s` on, and Chen's share S of it
that flow leaves, as Edelstein, Perez and Chen put it (1984), with no steam in the bulk (F = 1).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cases.coolant.fluid import Fluid, latent_heat, vapour_density
from cases.coolant.given import CoolantInput
from fea.heat import CurvedFilm

Array = NDArray[np.float64]

TURBULENT = 3000.0
"""Reynolds number from which Gnielinski's correlation holds."""
ZUBER = 0.149
"""Zuber's constant of critical heat flux as it is commonly taken (Kreith, Manglik and Bohn, as the
documentation of ht cites it)."""
HOTTEST = 80.0
"""Superheat up to which the curve is made, far beyond the boiling crisis. [K]."""
STEP = 0.5  # [K]
RUNNY, RUNNY_FROM, RUNNY_GLYCOL = 2e-6, 60.0, 0.6
"""Kinematic viscosity that liquids don't reach which are so hot with so little glycol: 1.7e-6 at
the most, as CoolProp has it, which is long to import and needed for no flow that is plainly
turbulent. [m2/s, degC, 1]."""
USUAL_FILMS = (1e-3, 2e-2)
"""Films of forced convection in water jackets (common practice, no source). [W/(mm2 K)]."""


@dataclass(frozen=True, eq=False, kw_only=True)
class WetFilm:
    """The film on every wet wall.

    Attributes
    ----------
    curve : CurvedFilm
        Heat flux by the wall's temperature.
    convection : float
        Film of forced convection, h_c. [W/(mm2 K)]
    boils_at : float
        Boiling point. [degC]
    critical_flux : float
        Beyond which steam covers the wall, of a pool at its boiling point. [W/mm2]
    speed : float or None
        Of the liquid in the jacket; None where the film is stated. [m/s]
    reynolds, nusselt : float or None
    """

    given: CoolantInput
    curve: CurvedFilm
    convection: float
    boils_at: float
    critical_flux: float
    speed: float | None = None
    reynolds: float | None = None
    nusselt: float | None = None

    @property
    def usual(self) -> bool:
        """Whether forced convection is as strong as it commonly is."""
        return USUAL_FILMS[0] <= self.convection <= USUAL_FILMS[1]

    @property
    def critical_wall(self) -> float:
        """Wall temperature at the critical heat flux. [degC]."""
        return float(np.interp(self.critical_flux, self.curve.flux, self.curve.wall))


@lru_cache(maxsize=16)
def wet_film(given: CoolantInput) -> WetFilm:
    """The film of a coolant; a stated flow is turbulent (:func:`too_slow`)."""
    fluid = Fluid(given.glycol)
    boils = fluid.boils_at(given.pressure)
    speed = reynolds = nusselt = None
    if given.film is not None:
        convection = given.film
        # what suppresses bubbles is the flow that gives this film by the same correlation
        flowing = _reynolds_for(convection, fluid, given)
    else:
        speed, flowing = speed_of(given), reynolds_of(given)
        reynolds = flowing
        nusselt, convection = forced_convection(given)
    share = suppression(flowing)
    hot = np.arange(0.0, HOTTEST + STEP / 2, STEP)
    wall = np.concatenate([[given.temperature], boils + hot])
    flux = convection * (wall - given.temperature)
    flux[1:] += share * nucleate(fluid, given.pressure, boils, hot)
    return WetFilm(
        given=given,
        curve=CurvedFilm(wall, flux),
        convection=convection,
        boils_at=boils,
        critical_flux=critical_flux(fluid, given.pressure, boils),
        speed=speed,
        reynolds=reynolds,
        nusselt=nusselt,
    )


def hydraulic_diameter(width: float, depth: float) -> float:
    """Four times the area of a passage over what wets it. [mm]."""
    return 2 * width * depth / (width + depth)


def speed_of(given: CoolantInput) -> float:
    """Of a stated flow along both sides of the bank, beside the bore that fires. [m/s]."""
    assert given.flow is not None
    flow = given.flow if given.past is None else given.past
    return 1e-3 * flow / (2 * given.width * given.depth)


def reynolds_of(given: CoolantInput) -> float:
    """Reynolds number of a stated flow."""
    liquid = Fluid(given.glycol).liquid(given.temperature, given.pressure)
    size = 1e-3 * hydraulic_diameter(given.width, given.depth)
    return liquid.density * speed_of(given) * size / liquid.viscosity


def too_slow(given: CoolantInput) -> str | None:
    """Why no film is known of a flow, in words; None where one is."""
    if given.flow is None:
        return None
    if given.temperature >= RUNNY_FROM and given.glycol <= RUNNY_GLYCOL:
        size = 1e-3 * hydraulic_diameter(given.width, given.depth)
        if speed_of(given) * size / RUNNY >= TURBULENT:
            return None
    if (reynolds := reynolds_of(given)) >= TURBULENT:
        return None
    return (
        f"It would flow at {speed_of(given):.2g} m/s, Re {reynolds:.0f}, and below {TURBULENT:g} "
        "no film is known. Give more flow, or [heat] coolant_film in its place."
    )


def forced_convection(given: CoolantInput) -> tuple[float, float]:
    """Nusselt number and film [W/(mm2 K)] of a stated flow that is turbulent.

    References
    ----------
    .. [1] Gnielinski, *Int. Chem. Eng.* 16 (1976) 359-368, as ht has it; friction of a smooth tube
       by Petukhov, (0.79 ln Re - 1.64)^-2.
    """
    liquid = Fluid(given.glycol).liquid(given.temperature, given.pressure)
    nusselt = gnielinski(reynolds_of(given), liquid.prandtl)
    size = hydraulic_diameter(given.width, given.depth)
    return nusselt, 1e-3 * nusselt * liquid.conductivity / size


def gnielinski(reynolds: float, prandtl: float) -> float:
    """Nusselt number of turbulent flow in a smooth passage.

    Examples
    --------
    >>> gnielinski(5e4, 2.0)
    185.79
    """
    from ht.conv_internal import turbulent_Gnielinski

    friction = (0.79 * math.log(reynolds) - 1.64) ** -2
    return float(turbulent_Gnielinski(Re=reynolds, Pr=prandtl, fd=friction))


def _reynolds_for(film: float, fluid: Fluid, given: CoolantInput) -> float:
    """Reynolds number of the flow that would give a stated film."""
    from scipy.optimize import brentq

    liquid = fluid.liquid(given.temperature, given.pressure)
    nusselt = 1e3 * film * hydraulic_diameter(given.width, given.depth) / liquid.conductivity
    low, high = TURBULENT, 5e6
    if nusselt <= gnielinski(low, liquid.prandtl):
        return low
    if nusselt >= gnielinski(high, liquid.prandtl):
        return high
    return float(brentq(lambda of: gnielinski(of, liquid.prandtl) - nusselt, low, high))


def suppression(reynolds: float) -> float:
    """Share of nucleate boiling that flow leaves, Chen's S without steam in the bulk.

    References
    ----------
    .. [1] Edelstein, Perez and Chen, *AIChE Journal* 30 (1984) 840-841, as ht has it.
    """
    return 0.9622 - 0.5822 * math.atan(reynolds / 6.18e4)


def nucleate(fluid: Fluid, pressure: float, boils: float, superheat: Array) -> Array:
    """Heat flux of boiling in a pool at superheats of the wall, shape (k,) [K]. [W/mm2].

    References
    ----------
    .. [1] Forster and Zuber, *AIChE Journal* 1 (1955) 531-535, as ht has it.
    """
    from ht.boiling_nucleic import Forster_Zuber

    liquid = fluid.liquid(boils, pressure)
    risen = [1e6 * (fluid.vapour_pressure(boils + of) - pressure) for of in superheat.tolist()]
    film = Forster_Zuber(
        rhol=liquid.density,
        rhog=vapour_density(pressure),
        mul=liquid.viscosity,
        kl=liquid.conductivity,
        Cpl=liquid.capacity,
        Hvap=latent_heat(pressure),
        sigma=fluid.surface_tension(boils),
        dPsat=np.maximum(risen, 0.0),  # type: ignore[arg-type]  # it takes arrays too
        Te=superheat,  # type: ignore[arg-type]
    )
    return np.asarray(1e-6 * film * superheat)


def critical_flux(fluid: Fluid, pressure: float, boils: float) -> float:
    """Heat flux beyond which steam covers a wall in a pool at its boiling point. [W/mm2].

    References
    ----------
    .. [1] Zuber, *Trans. ASME* 80 (1958) 711-720, as ht has it.
    """
    from ht.boiling_nucleic import Zuber

    return 1e-6 * float(
        Zuber(
            sigma=fluid.surface_tension(boils),
            Hvap=latent_heat(pressure),
            rhol=fluid.liquid(boils, pressure).density,
            rhog=vapour_density(pressure),
            K=ZUBER,
        )
    )

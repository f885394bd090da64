"""How metal shrinks and grows with temperature, and how fast a cold piece warms.

Below 20 degC by fits to measurements of 6061-T6, above it by an alloy's own mean expansion.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from fea.material import ABSOLUTE_ZERO, REFERENCE

Array = NDArray[np.float64]

COLD_FIT = (-412.77, -0.30389, 8.7696e-3, -9.9821e-6)
"""(L - L293) / L293 of 6061-T6 in 1e-5, powers of T [K], 18 to 300 K (NIST, cryogenic material
properties, 6061-T6, within 4 % of the data)."""
HEAT_FIT = (46.6467, -314.292, 866.662, -1298.3, 1162.27, -637.795, 210.351, -38.3094, 2.96344)
"""log10 of the specific heat of 6061-T6 [J/(kg K)], powers of log10 T [K], 4 to 300 K (the same
source, within 5 % of the data)."""
OF_6061 = 23.6e-6
"""Mean expansion of 6061, 20 to 100 degC; the cold fit goes by it for other alloys. [1/K]."""
GROWS = (25.2 / 23.6 - 1) / 200
"""How the mean expansion from 20 degC grows with the end it is taken to, above 100 degC: 23.6 of
6061 to 100 degC and 25.2 um/(m K) to 300 degC, as public data sheets have it. [1/K]."""
LEAST, MOST = -200.0, 300.0
"""Temperatures that this is good for. [degC]."""
FURTHEST = 300.0  # of the fit of specific heat [K]
STEPS = 400


def _cold(temperature: ArrayLike) -> Array:
    """Strain of 6061-T6 from 20 degC. [1]."""
    kelvin = np.asarray(temperature, dtype=float) - ABSOLUTE_ZERO
    fit = np.polynomial.Polynomial(COLD_FIT)
    return np.asarray(1e-5 * (fit(kelvin) - fit(REFERENCE - ABSOLUTE_ZERO)))


def strain(temperature: ArrayLike, expansion: float) -> Array:
    """Free strain of an aluminium alloy from 20 degC to a temperature.

    Parameters
    ----------
    temperature : array_like, shape (...)
        From -200 to 300. [degC]
    expansion : float
        Mean from 20 to 100 degC. [1/K]

    Returns
    -------
    ndarray, shape (...)
        Negative below 20 degC. [1]

    Notes
    -----
    Cold: the fit of 6061-T6, in proportion to the expansions. Hot: a (T - 20) (1 + g (T - 100)).

    Examples
    --------
    >>> [round(float(of) * 1e6) for of in strain([-195.8, -78.5, 100.0], 23.6e-6)]
    [-3887, -2136, 1888]
    """
    at = np.asarray(temperature, dtype=float)
    above = at - REFERENCE
    hot = expansion * above * (1 + GROWS * (at - 100))
    return np.where(above < 0, expansion / OF_6061 * _cold(at), hot)


def temperature_of(wanted: float, expansion: float) -> float:
    """The temperature at which metal has a free strain from 20 degC. [degC].

    Parameters
    ----------
    wanted : float
        [1]
    expansion : float
        Mean from 20 to 100 degC. [1/K]

    Raises
    ------
    ValueError
        If it has that at no temperature from -200 to 300 degC.
    """
    low, high = (float(strain(at, expansion)) for at in (LEAST, MOST))
    if not low <= wanted <= high:
        raise ValueError(f"no temperature gives a strain of {wanted:.3g}.")
    return float(brentq(lambda at: float(strain(at, expansion)) - wanted, LEAST, MOST))


def specific_heat(temperature: ArrayLike) -> Array:
    """Of 6061-T6; above 300 K that at 300 K, which is less, so that warming counts as faster.

    Parameters
    ----------
    temperature : array_like, shape (...)
        [degC]

    Returns
    -------
    ndarray, shape (...)
        [J/(kg K)]

    Examples
    --------
    >>> [round(float(of)) for of in specific_heat([-195.8, 20.0])]
    [351, 943]
    """
    kelvin = np.minimum(np.asarray(temperature, dtype=float) - ABSOLUTE_ZERO, FURTHEST)
    return np.asarray(10 ** np.polynomial.Polynomial(HEAT_FIT)(np.log10(kelvin)))


def warming_time(
    start: float,
    end: float,
    around: float,
    *,
    film: float,
    density: float,
    thickness: float,
    heat: float | None = None,
) -> float:
    """How long a piece, all of one temperature, takes from one to another towards what is around.

    Parameters
    ----------
    start, end, around : float
        [degC]
    film : float
        [W/(mm2 K)]
    density : float
        [g/mm3]
    thickness : float
        Its volume over its surface. [mm]
    heat : float, optional
        Specific heat, where it doesn't hang on temperature; else that of 6061-T6. [J/(kg K)]

    Returns
    -------
    float
        Infinite where it never comes there. [s]

    Notes
    -----
    t = rho (V/A) / h * int c(T) / (T_around - T) dT, which for a constant c is the exponential of
    lumped cooling (Incropera & DeWitt, *Fundamentals of Heat and Mass Transfer*, section 5.1, from
    memory; good below a Biot number h (V/A) / k of 0.1).
    """
    if start == end:
        return 0.0
    if not min(start, around) < end < max(start, around):
        return math.inf
    mass = 1e-3 * density * thickness / film
    # by the logarithm of what is left, in which the integrand is the specific heat alone
    left = np.linspace(0.0, math.log((around - start) / (around - end)), STEPS + 1)
    at = around - (around - start) * np.exp(-left)
    capacity = np.full(len(at), heat) if heat is not None else specific_heat(at)
    return float(mass * np.trapezoid(capacity, left))

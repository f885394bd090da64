"""Fatigue: how hard a cycle of stress wears, how many cycles metal lasts, and what weakens it.

Plain functions on arrays; they know stress and strength, not designs. A cycle has an amplitude,
half of its range, and a mean. Three steps lead from a cycle to a life: a criterion makes one stress
of the three of the plane (``CRITERIA``), a mean-stress line makes a cycle about zero of it
(``MEAN_LINES``), and Basquin's line gives its cycles to failure. MPa and degC.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from fea.material import Material

Array = NDArray[np.float64]

MEAN_LINES = ("Goodman", "Gerber", "Smith-Watson-Topper")
"""Lines that weigh the mean of a cycle. Goodman's is safe for brittle metal, Gerber's follows the
middle of tests of ductile metal, Smith, Watson and Topper's needs no tensile strength and is good
for aluminium (Dowling, ch. 9, from memory)."""

PULLS_WHOLE = 0.2
"""Pull at the top of a cycle, over its amplitude, from which the cycle counts whole; one that never
pulls counts as none, and between the two it counts in proportion (common practice, no source)."""
BASQUIN_TOP = (1e3, 0.9)
"""Cycles at which the amplitude borne is this share of the tensile strength: Shigley, *Mechanical
Engineering Design*, f = 0.9 (from memory)."""
WROUGHT_SCATTER = 0.08
"""Standard deviation of fatigue strength over its mean: Shigley, reliability factor k_e (from
memory)."""
CAST_SCATTER = 0.15
"""The same of a cast alloy, whose pores differ (common practice, no source)."""
CASTING_QUALITY = 0.7
"""Strength of the metal in a casting over that of bars cast by themselves, at the least: note of
EN 1706 (from memory)."""


def reversed_amplitude(
    amplitude: ArrayLike, mean: ArrayLike, line: str, tensile: ArrayLike
) -> Array:
    r"""Amplitude about zero mean that wears as hard as a cycle with a mean.

    .. math:: \text{Goodman}\ \frac{\sigma_a}{1 - \sigma_m / R_m}, \qquad
              \text{Gerber}\ \frac{\sigma_a}{1 - (\sigma_m / R_m)^2}, \qquad
              \text{Smith-Watson-Topper}\ \sqrt{(\sigma_m + \sigma_a)\, \sigma_a}

    A compressive mean counts as zero by Goodman and Gerber. It would help by Goodman's line, but
    here it comes from a press fit and from heat, which relax and come and go, so that no life may
    rest on it; Gerber's parabola falls on that side, where tests rise. Smith, Watson and Topper do
    give credit. By any line a cycle that never pulls does no damage; so that no step is where it
    begins to, by Goodman and Gerber it counts in proportion to its pull until that is
    ``PULLS_WHOLE`` of the amplitude.

    Where the mean reaches the tensile strength metal breaks at once, whatever the line.

    Parameters
    ----------
    amplitude, mean : array_like, shape (...)
        Of the cycle; the amplitude is not negative. [MPa]
    line : str
        One of ``MEAN_LINES``.
    tensile : array_like, shape (...)
        Ultimate tensile strength, positive. [MPa]

    Returns
    -------
    ndarray, shape (...)
        Infinite where the mean reaches the tensile strength. [MPa]

    Raises
    ------
    ValueError
        If there is no such line.

    References
    ----------
    .. [1] Dowling, *Mechanical Behavior of Materials*, 4th ed., 2013, ch. 9, mean stress (from
       memory); the Smith-Watson-Topper line is Walker's with an exponent of 0.5.
    .. [2] Smith, Watson & Topper, *Journal of Materials* 5 (1970) 767-778 (from memory).

    Examples
    --------
    >>> [round(float(reversed_amplitude(50.0, 60.0, line, 262.0)), 1) for line in MEAN_LINES]
    [64.9, 52.8, 74.2]
    """
    amplitude, mean, tensile = np.broadcast_arrays(
        *(np.asarray(value, dtype=float) for value in (amplitude, mean, tensile))
    )
    with np.errstate(over="ignore"):
        if line == "Smith-Watson-Topper":
            found = np.sqrt(np.maximum(mean + amplitude, 0) * amplitude)
        else:
            left = _left_by_mean(mean, line, tensile)
            whole = PULLS_WHOLE * np.where(amplitude > 0, amplitude, 1)
            pulls = np.clip((mean + amplitude) / whole, 0, 1)
            found = pulls * amplitude / np.where(left > 0, left, 1)
    return np.where(mean >= tensile, np.inf, found)


def allowed_amplitude(
    mean: ArrayLike, line: str, *, strength: ArrayLike, tensile: ArrayLike
) -> Array:
    r"""Amplitude that wears as hard as ``strength`` does about zero: the line of a Haigh diagram.

    The inverse of :func:`reversed_amplitude`, with the same lines; that of Smith, Watson and Topper
    is

    .. math:: \sigma_a = \sqrt{(\sigma_m / 2)^2 + S^2} - \sigma_m / 2

    Parameters
    ----------
    mean : array_like, shape (...)
        [MPa]
    line : str
        One of ``MEAN_LINES``.
    strength, tensile : array_like, shape (...)
        Fully reversed amplitude that is borne, and ultimate tensile strength, positive. [MPa]

    Returns
    -------
    ndarray, shape (...)
        0 where the mean reaches the tensile strength. [MPa]

    Raises
    ------
    ValueError
        If there is no such line.

    Examples
    --------
    >>> allowed_amplitude([-50.0, 0.0, 131.0, 262.0], "Goodman", strength=90.0, tensile=262.0)
    array([90., 90., 45.,  0.])
    """
    mean, strength, tensile = np.broadcast_arrays(
        *(np.asarray(value, dtype=float) for value in (mean, strength, tensile))
    )
    if line == "Smith-Watson-Topper":
        found = np.hypot(mean / 2, strength) - mean / 2
    else:
        with np.errstate(over="ignore"):
            found = strength * _left_by_mean(mean, line, tensile)
        found = np.maximum(found, PULLS_WHOLE * strength - mean)
    return np.where(mean >= tensile, 0.0, found)


def _left_by_mean(mean: Array, line: str, tensile: Array) -> Array:
    """Share of the fatigue strength that a mean leaves, by Goodman or Gerber; 1 in compression."""
    powers = {"Goodman": 1, "Gerber": 2}
    if line not in powers:
        raise ValueError(f'"{line}" is no mean-stress line. Known: {", ".join(MEAN_LINES)}.')
    return 1 - (np.maximum(mean, 0) / tensile) ** powers[line]


def largest_principal(idle: Array, gas: Array) -> tuple[Array, Array]:
    """Cycles of the stress in the directions of the largest principal stress at gas, and idle.

    A crack in a brittle metal opens across the largest tension, and its plane stays where it is
    while the stress goes to and fro; so both ends of a cycle are read in one direction. Where fit
    or heat pull across another plane than the gas does, that plane may be the worse. Suits cast
    alloys and grey iron.

    Parameters
    ----------
    idle, gas : ndarray, shape (3, ...)
        sxx, syy, sxy at the two ends of the cycle. [MPa]

    Returns
    -------
    amplitude, mean : ndarray, shape (2, ...)
        Across the plane of gas, and that of idle. [MPa]

    References
    ----------
    .. [1] Dowling, *Mechanical Behavior of Materials*, 4th ed., 2013, ch. 9, multiaxial fatigue
       (from memory): the maximum normal stress for brittle metal.

    Examples
    --------
    >>> idle, gas = np.array([20.0, 30.0, 0.0]), np.array([100.0, 10.0, 0.0])
    >>> amplitude, mean = largest_principal(idle, gas)
    >>> amplitude, mean
    (array([40., 10.]), array([60., 20.]))
    """
    gas_way, idle_way = _twice_the_angle(gas), _twice_the_angle(idle)
    low, high = (
        np.stack(np.broadcast_arrays(*(_across(end, *of) for of in (gas_way, idle_way))))
        for end in (idle, gas)
    )
    return cycle_between(*np.broadcast_arrays(low, high))


def _twice_the_angle(stress: Array) -> tuple[Array, Array]:
    """Cosine and sine of twice the angle from x to the largest principal stress."""
    half, shear = (stress[0] - stress[1]) / 2, stress[2]
    spread = np.hypot(half, shear)
    some = np.where(spread > 0, spread, 1.0)
    return np.where(spread > 0, half / some, 1.0), shear / some


def _across(stress: Array, cosine: Array, sine: Array) -> Array:
    """Normal stress across a plane whose normal's angle from x is half of one. [MPa]."""
    middle, half = (stress[0] + stress[1]) / 2, (stress[0] - stress[1]) / 2
    return np.asarray(middle + half * cosine + stress[2] * sine)


def signed_von_mises(idle: Array, gas: Array) -> tuple[Array, Array]:
    """Cycle of von Mises stress that has the sign of sxx + syy, the first invariant.

    Suits ductile metal, where shear moves the crack's first grains; common in industrial practice
    because it asks for no direction, no source. Where the sum of the principal stresses passes
    through zero (pure shear) the sign jumps and the range is too large there. A sum of zero counts
    as tension.

    The stress along the free surface of a fillet is nearly uniaxial, and there both criteria agree;
    where they differ the state is biaxial, and neither has more in its favour than the metal's
    brittleness.

    Parameters
    ----------
    idle, gas : ndarray, shape (3, ...)
        sxx, syy, sxy at the two ends of the cycle. [MPa]

    Returns
    -------
    amplitude, mean : ndarray, shape (1, ...)
        [MPa]

    References
    ----------
    .. [1] Dowling, *Mechanical Behavior of Materials*, 4th ed., 2013, ch. 9, multiaxial fatigue
       (from memory): octahedral shear for ductile metal, its mean by the first invariant.

    Examples
    --------
    >>> idle, gas = np.array([-40.0, 0.0, 0.0]), np.array([100.0, 0.0, 0.0])
    >>> signed_von_mises(idle, gas)
    (array([70.]), array([30.]))
    """
    from fea.stress import von_mises

    signs = (np.where(stress[0] + stress[1] < 0, -1.0, 1.0) for stress in (idle, gas))
    low, high = (sign * von_mises(stress) for sign, stress in zip(signs, (idle, gas), strict=True))
    return cycle_between(low[None], high[None])


def cycle_between(one: Array, other: Array) -> tuple[Array, Array]:
    """Amplitude and mean of a cycle between two stresses, of any shape. [MPa]."""
    return np.asarray(np.abs(other - one) / 2), np.asarray((one + other) / 2)


CRITERIA: dict[str, Callable[[Array, Array], tuple[Array, Array]]] = {
    "largest principal": largest_principal,
    "signed von Mises": signed_von_mises,
}
"""Amplitudes and means of a cycle between two states of stress, shape (3, ...), by name.

Shape (planes, ...): the plane that is worn most counts.
"""


def basquin_exponent(tensile: float, strength: float, cycles: float) -> float:
    r"""Exponent of the line from 0.9 of the tensile strength at 1000 cycles to a fatigue strength.

    .. math:: b = \frac{\ln(S / 0.9 R_m)}{\ln(N / 1000)}

    For want of tests between the two. Shorter lives than 1000 cycles lie outside it.

    Parameters
    ----------
    tensile, strength : float
        Ultimate tensile strength, and the fully reversed amplitude borne for ``cycles``. [MPa]
    cycles : float
        Above 1000.

    Returns
    -------
    float
        Negative.

    Raises
    ------
    ValueError
        If the fatigue strength is not below 0.9 of the tensile strength.

    References
    ----------
    .. [1] Shigley, *Mechanical Engineering Design*, fatigue strength at N cycles, f = 0.9 (from
       memory).

    Examples
    --------
    >>> basquin_exponent(283.0, 90.0, 5e8)
    -0.0793
    """
    top_cycles, share = BASQUIN_TOP
    if strength >= share * tensile:
        raise ValueError(
            f"The fatigue strength of {strength:g} MPa is not below {share:g} of the tensile "
            f"strength, {share * tensile:g} MPa, which metal bears for {top_cycles:g} cycles. It "
            "is an amplitude, half of the stress range."
        )
    return math.log(strength / (share * tensile)) / math.log(cycles / top_cycles)


def cycles_to_failure(
    amplitude: ArrayLike, strength: ArrayLike, at_cycles: float, exponent: float
) -> Array:
    r"""Life under a fully reversed amplitude, by Basquin's line.

    .. math:: N = N_S (\sigma_{ar} / S)^{1/b}

    The form :math:`\sigma_{ar} = \sigma_f' (2N)^b` is that of a strength :math:`\sigma_f'` at half
    a cycle. The line has no end: aluminium has no endurance limit, and iron is taken to have
    none.

    Parameters
    ----------
    amplitude : array_like, shape (...)
        From :func:`reversed_amplitude`, not negative. [MPa]
    strength : array_like, shape (...)
        Amplitude that is borne for ``at_cycles``, positive. [MPa]
    at_cycles, exponent : float
        As in :class:`fea.material.Fatigue`; the exponent is negative.

    Returns
    -------
    ndarray, shape (...)
        Cycles; infinite without an amplitude, or where they are too many for a number, and 0 at
        the other end. Below 1000 the line is outside what it was drawn for.

    References
    ----------
    .. [1] Basquin, *Proc. ASTM* 10 (1910) 625-630 (from memory).

    Examples
    --------
    >>> cycles_to_failure([90.0, 180.0, 0.0], 90.0, 1e7, -0.1)
    array([1.e+07, 9765.625, inf])
    """
    with np.errstate(divide="ignore", over="ignore"):
        share = np.asarray(amplitude, dtype=float) / np.asarray(strength, dtype=float)
        return np.asarray(at_cycles * share ** (1 / exponent))


def strength_at(cycles: ArrayLike, strength: ArrayLike, at_cycles: float, exponent: float) -> Array:
    """Fully reversed amplitude that is borne for some cycles: :func:`cycles_to_failure` inverted.

    Parameters
    ----------
    cycles : array_like, shape (...)
        Positive.
    strength : array_like, shape (...)
        Amplitude that is borne for ``at_cycles``, positive. [MPa]
    at_cycles, exponent : float
        As in :class:`fea.material.Fatigue`; the exponent is negative.

    Returns
    -------
    ndarray, shape (...)
        Infinite where it is too large for a number. [MPa]

    Examples
    --------
    >>> strength_at([1e7, 9765.625], 90.0, 1e7, -0.1)
    array([ 90., 180.])
    """
    with np.errstate(divide="ignore", over="ignore"):
        share = np.asarray(cycles, dtype=float) / at_cycles
        return np.asarray(np.asarray(strength, dtype=float) * share**exponent)


def temperature_share(material: Material, temperature: ArrayLike) -> Array:
    """Fatigue strength at temperatures over that at 20 degC: that of the tensile strength.

    Common practice; Shigley's temperature factor k_d is the same ratio, of steels (from memory).

    Parameters
    ----------
    material : Material
        Beyond the temperatures that its tensile strength is known at, the nearest one counts.
    temperature : array_like, shape (...)
        [degC]

    Returns
    -------
    ndarray, shape (...)

    Raises
    ------
    ValueError
        If the material has no tensile strength.
    """
    from fea.material import REFERENCE

    return material.tensile_strength(temperature) / material.tensile_strength(REFERENCE)

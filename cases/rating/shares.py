"""Shares of its strengths that a stress cycle uses, metal by metal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.case import Case
from cases.life.given import life_given
from cases.life.steps import EngineState
from cases.rating.given import Rating, rating_given
from cases.rating.result import FATIGUE, KINDS, TENSILE, YIELD
from fea.material import REFERENCE, Material
from fea.solid.stress import extremes as solid_extremes
from fea.solid.stress import von_mises as solid_von_mises
from fea.strength import (
    CRITERIA,
    GENERAL_CRITERIA,
    cycles_to_failure,
    reversed_amplitude,
    strength_at,
    temperature_share,
)
from fea.stress import extremes, von_mises

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Judged:
    """Shares of strength that a stress cycle uses; arrays of shape (...).

    A share is 0 where the material has no such strength on record, and life infinite.
    """

    mean: Array  # of the cycle, by the criterion of the case [MPa]
    amplitude: Array  # [MPa]
    reversed: Array  # amplitude about zero that wears as hard [MPa]
    shares: dict[str, Array]  # by kind
    life_cycles: Array  # to failure


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Counted:
    """Strengths that metal is judged by, knock-downs taken off; None where none is known.

    Arrays of the shape of the temperatures. [MPa].
    """

    yield_mpa: Array | None
    tensile_mpa: Array | None
    fatigue_mpa: Array | None  # fully reversed amplitude, for the cycles that are wanted


def counted(
    wishes: Rating,
    material: Material,
    temperature: ArrayLike,
    *,
    cycles: float,
    strength: float | Array = 1.0,
    left: float | Array | None = None,
) -> Counted:
    """Strengths of a material at temperatures, those of half of the parts.

    Parameters
    ----------
    wishes : Rating
    material : Material
    temperature : array_like, shape (...)
        [degC]
    cycles : float
        That the metal has to last.
    strength : float or ndarray, shape (...)
        Factor on all of them.
    left : float or ndarray, shape (...), optional
        Share of the fatigue strength of bars, by flaws (:func:`cases.rating.flaws.fatigue_left`);
        by casting quality if left out.
    """
    share = strength * (wishes.casting_quality if material.cast else 1.0)
    fatigue = None
    if material.fatigue and material.tensile_points:
        line = material.fatigue
        if left is None:
            left = wishes.casting_quality if material.cast else 1.0
        borne = strength_at(cycles, line.strength, line.cycles, line.exponent)
        fatigue = strength * left * temperature_share(material, temperature) * borne
    return Counted(
        yield_mpa=share * material.yield_strength(temperature) if material.yield_points else None,
        tensile_mpa=share * material.tensile_strength(temperature)
        if material.tensile_points
        else None,
        fatigue_mpa=fatigue,
    )


def kept_at(material: Material, been: float | None) -> float:
    """Share of its strength that hours hot have left of cold metal that is at ``been`` when warm.

    1 of metal that is warm, or has never been: None. [degC]
    """
    return 1.0 if been is None else float(material.kept(been))


def known_strengths(material: Material) -> tuple[str, ...]:
    """Kinds of strength that a material is judged by, of ``KINDS``."""
    known = {
        YIELD: bool(material.yield_points),
        TENSILE: bool(material.tensile_points),
        FATIGUE: bool(material.fatigue and material.tensile_points),
    }
    return tuple(kind for kind in KINDS if known[kind])


def wanted_cycles(case: Case, state: EngineState) -> float:
    """Cycles that the metal has to last in a state; without heat there is only one."""
    wishes = rating_given(case)
    only = not life_given(case).heat
    return wishes.cycles if only or state == EngineState.WARM else wishes.cold_cycles


def judge(
    wishes: Rating,
    material: Material,
    idle: Array,
    gas: Array,
    temperature: Array,
    *,
    cycles: float,
    strength: float | Array = 1.0,
    left: float | Array | None = None,
    standing: Array | None = None,
    beside: Array | None = None,
) -> Judged:
    """Set a stress cycle against the strength of a material.

    Parameters
    ----------
    wishes : Rating
    material : Material
    idle, gas : ndarray, shape (3, ...) or (6, ...)
        sxx, syy, sxy without gas and at its peak; or sxx, syy, szz, sxy, syz, szx. [MPa]
    temperature : ndarray, shape (...)
        [degC]
    cycles : float
        That the metal has to last.
    strength : float or ndarray, shape (...)
        Factor on all strengths.
    left : float or ndarray, shape (...), optional
        As of :func:`counted`.
    standing : ndarray, shape (3, ...) or (6, ...), optional
        Stress of the engine that stands cold: from it to the peak of the gas and back is a cycle
        too, ``wishes.starts`` times, summed with those of the gas by Miner. Its strength is that
        at the end which pulls harder, cold that which hours hot have left. [MPa]
    beside : ndarray, shape (3, ...) or (6, ...), optional
        Stress while a bore beside fires. The cycle goes from that to the peak of the own gas where
        this wears harder than from ``idle``. [MPa]

    Raises
    ------
    KeyError
        If there is no such criterion.
    ValueError
        If there is no such line of the mean stress.
    """
    known = counted(wishes, material, temperature, cycles=cycles, strength=strength, left=left)
    flat = len(gas) == 3
    criterion = (CRITERIA if flat else GENERAL_CRITERIA)[wishes.criterion]
    starts = standing is not None and bool(wishes.starts)
    lows = [low for low in (idle, beside, standing if starts else None) if low is not None]
    # planes of all lows together, as that of gas is one for all, (planes, lows, ...)
    ends = criterion(np.stack(np.broadcast_arrays(*lows, gas)[:-1], axis=1), gas[:, None])
    firing = len(lows) - starts
    # each size is given: where there are no places none can be told by the others
    amplitudes, means = (of[:, :firing].reshape(len(of) * firing, *of.shape[2:]) for of in ends)
    amplitude, mean, none = amplitudes[0], means[0], np.zeros(amplitudes.shape[1:])
    first = extremes if flat else solid_extremes
    shares = dict.fromkeys(KINDS, none)
    reversed_, life = none, np.full(none.shape, np.inf)
    if known.yield_mpa is not None:
        equivalent = von_mises if flat else solid_von_mises
        shares[YIELD] = equivalent(gas - idle) / known.yield_mpa
    if known.tensile_mpa is not None:
        largest = first(gas)[0]
        shares[TENSILE] = np.maximum(largest, 0.0) / known.tensile_mpa
        if known.fatigue_mpa is not None:
            assert material.fatigue is not None
            wear = reversed_amplitude(amplitudes, means, wishes.mean_stress, known.tensile_mpa)
            worst = np.argmax(wear, axis=0)[None]
            amplitude, mean, reversed_ = (
                np.take_along_axis(of, worst, axis=0)[0] for of in (amplitudes, means, wear)
            )
            line = material.fatigue
            shares[FATIGUE] = reversed_ / known.fatigue_mpa
            if standing is not None and starts:
                pulls_cold = first(standing)[0] > largest
                at = np.where(pulls_cold, REFERENCE, temperature)
                borne = strength * np.where(pulls_cold, material.kept(temperature), 1.0)
                of = counted(wishes, material, at, cycles=wishes.starts, strength=borne, left=left)
                assert of.tensile_mpa is not None
                swing, about = (end[:, -1] for end in ends)
                starting = reversed_amplitude(swing, about, wishes.mean_stress, of.tensile_mpa)
                worn = starting.max(axis=0) / of.fatigue_mpa
                shares[FATIGUE] = summed(shares[FATIGUE], worn, line.exponent)
            life = cycles_to_failure(shares[FATIGUE], 1.0, cycles, line.exponent)
    return Judged(
        mean=mean, amplitude=amplitude, reversed=reversed_, shares=shares, life_cycles=life
    )


def summed(one: Array, other: Array, exponent: float) -> Array:
    r"""Share of strength that two kinds of cycles use together, by Miner's sum of damage.

    .. math:: s = \left(s_1^{1/|b|} + s_2^{1/|b|}\right)^{|b|}

    as by Basquin's line a share :math:`s` of the strength for some cycles is a damage of
    :math:`s^{1/|b|}` in as many.

    Parameters
    ----------
    one, other : ndarray, shape (...)
        Shares of strength, each for its own number of cycles.
    exponent : float
        Basquin's b, negative.

    Returns
    -------
    ndarray, shape (...)

    References
    ----------
    .. [1] Miner, *J. Appl. Mech.* 12 (1945) A159-A164 (from memory).

    Examples
    --------
    >>> float(summed(np.array(1.0), np.array(0.5), -0.5).round(4))  # damage 1 and 0.25
    1.118
    """
    most = np.maximum(one, other)
    safe = np.where((most > 0) & np.isfinite(most), most, 1.0)
    less = np.where(np.isfinite(most), np.minimum(one, other), 0.0) / safe
    return np.asarray(most * (1 + less ** (-1 / exponent)) ** -exponent)

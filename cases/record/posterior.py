r"""The shop's factor on strength, from its engines: Bayes by quadrature.

An engine carries :math:`F m e^{\epsilon}`: ``m`` its predicted limit, ``F`` the factor that all of
the shop's engines share, :math:`\epsilon` its own. Both are lognormal, and together as wide as the
band of the limit: of its variance :math:`s^2` a part :math:`\rho` is shared,

.. math:: \ln F \sim N(0, \rho s^2), \qquad \epsilon \sim N(0, (1 - \rho) s^2),
          \qquad \rho \sim U(0, 1),

as no one knows how much of it is; engines that agree say that it is much. With ``y`` the logarithm
of its used load, an engine that lives has :math:`P(\ln F + \epsilon > y)`, one that failed at a
known moment the density there, one found cracked the probability between the two.

For every :math:`\rho` (Gauss-Legendre points) the posterior of ``ln F`` is log-concave: it is
summed by the trapezoidal rule over where it has fallen from its mode by less than ``FALLEN``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import log_ndtr, ndtr

from cases.record.engines import Engine

Array = NDArray[np.float64]

SHARES, PLACES = 16, 81
"""Points of the quadrature over the shared part, and over ln F at each."""
FALLEN = 32.0
FEW = 40
"""Up to so many engines each is left out exactly; of more by its own weight, which agrees."""
CHUNK = 500  # engines whose likelihood is held at once


@dataclass(frozen=True, eq=False, slots=True)
class Posterior:
    """Weighted points of the logarithm of the shop's factor and of the part that is shared."""

    log_factor: Array
    shared: Array
    weight: Array  # sum 1
    spread: float  # s, of the prior

    @property
    def mean(self) -> float:
        """Of the logarithm of the factor."""
        return float(self.weight @ self.log_factor)

    @property
    def deviation(self) -> float:
        """Standard, of the logarithm of the factor."""
        return float(np.sqrt(self.weight @ (self.log_factor - self.mean) ** 2))

    @property
    def shared_part(self) -> float:
        """Mean of the part of the variance that all engines share."""
        return float(self.weight @ self.shared)

    def factor(self, share: float) -> float:
        """What the shop's factor stays below with a probability."""
        order = np.argsort(self.log_factor)
        below = np.cumsum(self.weight[order]) - self.weight[order] / 2
        return float(np.exp(np.interp(share, below, self.log_factor[order])))

    def carries(self, log_load: float) -> float:
        """Probability that an engine yet to be built carries a load; over its predicted limit."""
        own = self.spread * np.sqrt(1 - self.shared)
        return float(self.weight @ ndtr((self.log_factor - log_load) / own))

    def capacity(self, share: float) -> float:
        """What such an engine carries less than with a probability, over its predicted limit."""
        wide = 12 * self.spread
        ends = self.log_factor.min() - wide, self.log_factor.max() + wide
        return float(np.exp(brentq(lambda at: self.carries(at) - (1 - share), *ends, xtol=1e-12)))


def log_likelihood(low: ArrayLike, high: ArrayLike, middle: ArrayLike, own: ArrayLike) -> Array:
    """Of engines whose logarithm of capacity is normal; the four broadcast together.

    Parameters
    ----------
    low, high : array_like
        As of :class:`cases.record.engines.Engine`; equal where the moment is known.
    middle, own : array_like
        Mean and standard deviation.

    Returns
    -------
    ndarray
        Logarithm of density where the moment is known, of probability elsewhere.
    """
    low, high, middle, own = np.broadcast_arrays(low, high, middle, own)
    a, b = (low - middle) / own, (high - middle) / own
    exact, lives = low == high, np.isposinf(high)
    told = np.empty(a.shape)
    told[lives] = log_ndtr(-a[lives])
    told[exact] = -0.5 * a[exact] ** 2 - np.log(own[exact] * np.sqrt(2 * np.pi))
    between = ~(exact | lives)
    lower, upper = a[between], b[between]
    mirrored = lower > 0  # of two tails the one that is small is subtracted
    least = np.where(mirrored, -upper, lower)
    most = np.where(mirrored, -lower, upper)
    tail = log_ndtr(most)
    told[between] = tail + np.log1p(-np.exp(np.minimum(log_ndtr(least) - tail, -1e-300)))
    return told


def posterior_of(engines: Sequence[Engine], spread: float) -> Posterior:
    """What a shop's engines say of its factor.

    Parameters
    ----------
    engines : sequence of Engine
        None gives the prior.
    spread : float
        Standard deviation of the logarithm of the limit that is to be restated.
    """
    low, high, wide = _arrays(engines)
    points, weights = np.polynomial.legendre.leggauss(SHARES)
    factors, shared, logs = [], [], []
    for part, weight in zip((points + 1) / 2, weights / 2, strict=True):
        own, prior = wide * np.sqrt(1 - part), spread * np.sqrt(part)
        places, told = _where_it_counts(low, high, own, prior)
        factors.append(places)
        shared.append(np.full(PLACES, part))
        logs.append(told + np.log(weight * (places[1] - places[0])))
    log = np.concatenate(logs)
    weight = np.exp(log - log.max())
    return Posterior(np.concatenate(factors), np.concatenate(shared), weight / weight.sum(), spread)


def _arrays(engines: Sequence[Engine]) -> tuple[Array, Array, Array]:
    told = np.array([(of.low, of.high, of.spread) for of in engines]).reshape(-1, 3)
    return told[:, 0], told[:, 1], told[:, 2]


def _where_it_counts(low: Array, high: Array, own: Array, prior: float) -> tuple[Array, Array]:
    """Even places over where the posterior counts for one shared part, and its logarithm there."""
    known = np.concatenate([low[np.isfinite(low)], high[np.isfinite(high)], [0.0]])
    ends = known.min() - 9 * prior, known.max() + 9 * prior
    while True:
        places = np.linspace(*ends, PLACES)
        told = -0.5 * (places / prior) ** 2 - np.log(prior * np.sqrt(2 * np.pi))
        for start in range(0, low.size, CHUNK):
            some = slice(start, start + CHUNK)
            told += log_likelihood(low[some, None], high[some, None], places, own[some, None]).sum(
                axis=0
            )
        above = np.flatnonzero(told > told.max() - FALLEN)
        first, last = max(above[0] - 1, 0), min(above[-1] + 1, PLACES - 1)
        if last - first > PLACES // 2:
            return places, told
        ends = places[first], places[last]


def shifts_of(engines: Sequence[Engine], posterior: Posterior) -> list[float]:
    """What each engine moved the factor by: with it over without it, less one."""
    if len(engines) <= FEW:
        without = [
            posterior_of([*engines[:at], *engines[at + 1 :]], posterior.spread).mean
            for at in range(len(engines))
        ]
    else:
        without = list(_means_without(engines, posterior))
    return [float(np.expm1(posterior.mean - mean)) for mean in without]


def _means_without(engines: Sequence[Engine], posterior: Posterior) -> Array:
    low, high, wide = _arrays(engines)
    counts = posterior.weight > 1e-14
    at, weight = posterior.log_factor[counts], posterior.weight[counts]
    own = np.sqrt(1 - posterior.shared[counts])
    means = []
    for start in range(0, len(engines), CHUNK):
        some = slice(start, start + CHUNK)
        told = log_likelihood(low[some, None], high[some, None], at, wide[some, None] * own)
        less = weight * np.exp(np.minimum(told.min(1, keepdims=True) - told, 0.0))
        means.append(less @ at / less.sum(1))
    return np.concatenate(means)

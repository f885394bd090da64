r"""The shop's factor on distortion: what its presses did to the bore, over what was predicted.

A job's ratio is lognormal about the factor ``G``, with a scatter that is not known:

.. math:: \ln r_i \sim N(\ln G, \tau^2), \qquad \ln G \sim N(0, s_0^2), \qquad
          \ln \tau \sim U(\ln \tau_0, \ln \tau_1).

For every scatter the posterior of ``ln G`` is normal (any text on Bayes); scatters are summed by
Gauss-Legendre points.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

PRIOR = 0.25
"""Standard deviation of ln G before any job: sections meet solids within 15 % in growth (measured),
friction and castings add to that (common practice, no source)."""
SCATTERS = (0.02, 0.5)
"""Of ln r from job to job (common practice, no source)."""
POINTS = 24


def distortion_factor(ratios: Sequence[float], shares: Sequence[float]) -> tuple[float, ...]:
    """What the shop's factor on distortion stays below with some probabilities.

    Parameters
    ----------
    ratios : sequence of float
        Measured over predicted, of each job; above 0.
    shares : sequence of float

    Examples
    --------
    >>> distortion_factor([], [0.5])
    (1.0,)
    """
    logs = np.log(np.asarray(ratios, dtype=float))
    points, weights = np.polynomial.legendre.leggauss(POINTS)
    low, high = np.log(SCATTERS)
    variance = np.exp(low + high + (high - low) * points)
    many = logs.size
    whole = 1 / PRIOR**2 + many / variance
    middle = logs.sum() / variance / whole
    evidence = (
        -0.5 * many * np.log(variance)
        - 0.5 * np.sum(logs**2) / variance
        + 0.5 * middle**2 * whole
        - 0.5 * np.log(whole)
    )
    weight = weights * np.exp(evidence - evidence.max())
    weight /= weight.sum()
    deviation = 1 / np.sqrt(whole)

    def above(at: float, share: float) -> float:
        return float(weight @ ndtr((at - middle) / deviation)) - share

    ends = middle.min() - 9 * PRIOR, middle.max() + 9 * PRIOR
    return tuple(float(np.exp(brentq(above, *ends, args=(share,), xtol=1e-10))) for share in shares)

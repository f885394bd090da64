"""What engines say that live, all or most of them: success runs, binomial with failures.

Sources: the success-run theorem and its Weibull form are those of reliability handbooks (from
memory; n = 22 for 90 % at 90 % confidence is the usual table's).
"""

from __future__ import annotations

import math

CONFIDENCE = 0.9


def failing_share(equivalents: float, confidence: float = CONFIDENCE, *, failed: int = 0) -> float:
    r"""Share that fails at most, of engines of which none failed, or some.

    .. math:: 1 - R = 1 - (1 - C)^{1/n}, \qquad
              \sum_{i=0}^{r} \binom{n}{i} (1 - R)^i R^{n-i} = 1 - C

    Parameters
    ----------
    equivalents : float
        n: how many ran; those that ran longer count for more, :func:`weibull_equivalents`, where
        none failed.
    confidence : float
    failed : int
        r, of them.

    Examples
    --------
    >>> round(failing_share(22), 3), round(failing_share(38, failed=1), 3)
    (0.099, 0.099)
    """
    if failed:
        from scipy.stats import beta

        lived = equivalents - failed
        return float(beta.ppf(confidence, failed + 1, lived)) if lived > 0 else 1.0
    return -math.expm1(math.log1p(-confidence) / equivalents)


def engines_needed(
    reliability: float, confidence: float, longer: float = 1.0, slope: float = 1.0
) -> float:
    r"""How many must live, each so many times as long, to show a reliability; not yet rounded up.

    .. math:: n = \frac{\ln(1 - C)}{L^\beta \ln R}

    Examples
    --------
    >>> engines_needed(0.9, 0.9), engines_needed(0.9, 0.9, longer=2, slope=2)
    (21.854, 5.4636)
    """
    return math.log1p(-confidence) / (longer**slope * math.log(reliability))


def weibull_equivalents(lives: list[float], life: float, slope: float) -> float:
    r"""How many that lived for one life those count for that lived for others.

    .. math:: n = \sum_i (t_i / t)^\beta

    Parameters
    ----------
    lives : list of float
        Of engines that live.
    life : float
        The one asked about.
    slope : float
        Weibull's, known.
    """
    return sum((one / life) ** slope for one in lives)


def weibull_slope(spread: float, slope: float) -> float:
    r"""Weibull slope of lives that scatter like a limit does.

    .. math:: \beta = \frac{\pi}{\sqrt 6} \frac{k}{s}

    The standard deviation of the logarithm of a Weibull life is pi / (sqrt(6) beta) (exact); that
    of a life by a limit of spread s on Basquin's line is s / k.

    Parameters
    ----------
    spread : float
        s, standard deviation of the logarithm of the limit.
    slope : float
        k, of its logarithm against that of the cycles; above 0.
    """
    return math.pi / math.sqrt(6) * slope / spread

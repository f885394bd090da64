"""What engines say, where it is known: success runs, censored lives; and circles through readings.

Hours and mm. They have no mesh, so their fineness changes nothing.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from cases.inspection.walls import terms_at
from cases.record.posterior import log_likelihood
from cases.record.success import engines_needed, failing_share
from geometry.clock import angle_to_clock

FAILED = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
ALIVE = 10
"""Lives [h] of 20 units of which ten failed within 500 h: NIST/SEMATECH, e-Handbook of Statistical
Methods, 8.4.1.3."""
ROUND = ((9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10))
"""Places x, y of the circle fits in the cookbook of a general library (SciPy)."""


@dataclass(frozen=True)
class ShopAnswer:
    """Numbers by their names."""

    found: Mapping[str, float]

    @property
    def solver(self) -> str:
        """Library that counted."""
        return f"numpy {np.__version__}"


def success_runs(fineness: float = 1.0) -> ShopAnswer:
    """How many engines must live, and what share fails at most where some don't."""
    return ShopAnswer(
        {
            "90 % at 90 %": engines_needed(0.9, 0.9),
            "99 % at 95 %": engines_needed(0.99, 0.95),
            "90 % at 90 %, twice as long, slope 2": engines_needed(0.9, 0.9, 2, 2),
            **{
                f"least of {engines} with {failed} failed": _fewest(engines, failed)
                for engines, failed in ((38, 1), (52, 2), (65, 3))
            },
        }
    )


def _fewest(near: int, failed: int) -> int:
    """Least number of engines of which some failed that shows 90 % at 90 %, sought near one."""
    return next(of for of in range(near // 2, 2 * near) if failing_share(of, failed=failed) <= 0.1)


def censored_lives(fineness: float = 1.0) -> ShopAnswer:
    """Lognormal lives of the most probability, ten of twenty units alive after 500 h."""
    from scipy.optimize import minimize

    low = np.log([*FAILED, *[500] * ALIVE])
    high = np.concatenate([np.log(FAILED), np.full(ALIVE, np.inf)])
    best = minimize(
        lambda at: -log_likelihood(low, high, at[0], math.exp(at[1])).sum(), [6.0, 0.0],
        method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10, "maxiter": 4000},
    )  # fmt: skip
    return ShopAnswer({"mu": float(best.x[0]), "sigma": math.exp(best.x[1])})


def circle(fineness: float = 1.0) -> ShopAnswer:
    """Mean and shift of walls, repeated about the centre they lead to, end at a circle."""
    places = np.array(ROUND, dtype=float) @ (1, 1j)
    centre = places.mean()
    radius = 0.0
    for _ in range(60):
        rays = places - centre
        clocks = np.asarray(angle_to_clock(np.angle(rays)))
        rows = terms_at(clocks, np.zeros(len(clocks)), 0.0)[:, :3]
        radius, x, y = np.linalg.lstsq(rows, np.abs(rays), rcond=None)[0].tolist()
        centre += complex(x, y)
    return ShopAnswer({"x": centre.real, "y": centre.imag, "R": radius})

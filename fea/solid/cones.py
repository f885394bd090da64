r"""Where a joint in space comes to rest, from the inside of its cones of friction.

Where a pair slips by s it is taken to open as well, by mu |s|. With that opening given, the forces
that obey Coulomb's law are those of a convex problem, however the pairs feel one another [1]_: the
jumps g minimise

.. math::

    \tfrac12 g^T K g - f^T g \quad\text{with}\quad
    \Bigl(\frac{d}{\mu} + |s|, -s\Bigr) \in \{(a, b): |b| \le a\}, \qquad d = -g_n - \delta,

whose multipliers are (mu lambda, tau). What slips follows, and the opening of it, again and again.
Each problem is solved by cvxopt's primal-dual method for second-order cones. Near the solution sets
lead to themselves that went round in circles before (:func:`fea.solid.coulomb.search`), mostly from
where the first problem ends.

References
----------
.. [1] Acary, Cadoux, Lemarechal & Malick, *Z. Angew. Math. Mech.* 91 (2011) 155-175 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve

from fea.contact.condensed import mixed

try:
    from cvxopt import matrix, solvers
except ImportError:  # no wheel for this machine
    solvers = None

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]

UNIT = 1e-3
"""Of the jumps of a problem, so that its numbers are near one. [mm]."""
NEAR = {"abstol": 1e-8, "reltol": 1e-7, "feastol": 1e-7, "maxiters": 40, "show_progress": False}
"""How near a convex problem is solved, as cvxopt names it."""
MOST = 30
"""Convex problems, at most."""
MIXED = 6
"""Of them that are mixed for the next."""
SETTLED = 1e-3
"""Change of what slips, over the largest slip, that is none: a pair then stands off by no more than
its friction coefficient of that."""


def towards_rest(
    stiffness: Array, load: Array, *, held: Flags, overlap: Array, start: Array, mu: Array
) -> Iterator[tuple[Array, bool]]:
    """Jumps nearer and nearer to those that obey the laws of contact, the last mostly settled.

    None where cvxopt can't be had, no more where a problem is not solved.

    Parameters
    ----------
    stiffness : ndarray, shape (3 k, 3 k)
        Of the metal on both sides, springs and all: along normals and then each tangent. [N/mm]
    load : ndarray, shape (3 k,)
        On the jumps. [N]
    held : ndarray of bool, shape (k,)
        Pairs that can neither open nor slide.
    overlap : ndarray, shape (k,)
        [mm]
    start : ndarray, shape (2, k)
        Slip at which friction carries nothing. [mm]
    mu : ndarray, shape (k,)
        Friction coefficient.

    Yields
    ------
    jumps : ndarray, shape (3 k,)
        [mm]
    settled : bool
    """
    if solvers is None:
        return
    known = np.concatenate([-overlap, *start]) * np.tile(held, 3)
    smooth, rubs = np.flatnonzero(~held & (mu <= 0)), np.flatnonzero(~held & (mu > 0))
    laws = _laws(stiffness, load - stiffness @ known, smooth, rubs, overlap, start, mu)
    slips = np.zeros(len(rubs))
    tried: list[tuple[Array, Array]] = []
    for _ in range(MOST):
        try:
            jumps = laws.solve(slips)
        except (ArithmeticError, ValueError, np.linalg.LinAlgError):
            return
        found = known.copy()
        found[laws.free], found[laws.rest] = jumps, laws.alone - laws.follows @ jumps
        slid = np.hypot(*found.reshape(3, -1)[1:, rubs] - start[:, rubs])
        settled = np.abs(slid - slips).max(initial=0.0) <= SETTLED * slid.max(initial=0.0)
        yield found, bool(settled)
        if settled:
            return
        tried.append((slips, slid - slips))
        slips = np.maximum(mixed(tried[-MIXED:]), 0.0)


@dataclass(frozen=True, eq=False, slots=True)
class _Laws:
    """A convex problem, its lengths in ``UNIT`` and its stiffness near one.

    Jumps that no law bounds, along pairs without friction, are not in it: they follow the others.
    Rows of its cones: pairs without friction, one each; then pairs that rub, three each.
    """

    stiffness: Array  # of the unknowns
    load: Array
    free: Integers  # jumps that are unknown
    rest: Integers  # those that no law bounds
    alone: Array  # the latter, where the former are 0 [mm]
    follows: Array  # what they come back by as those move
    smooth: int  # pairs without friction
    rows: Integers  # unknown that each row is of
    factors: Array  # on it
    least: Array  # row by row, beside what unknowns make

    def solve(self, slips: Array) -> Array:
        """Unknown jumps, with an opening that goes with slips (r,). [mm]."""
        some, least = self.smooth, self.least.copy()
        least[some::3] += slips / UNIT

        def stiff(x: Any, y: Any, alpha: float = 1.0, beta: float = 0.0) -> None:
            _put(y, alpha * (self.stiffness @ _of(x)) + beta * _of(y))

        def cones(x: Any, y: Any, alpha: float = 1.0, beta: float = 0.0, trans: str = "N") -> None:
            made = self._down(_of(x)) if trans == "N" else self._up(_of(x))
            _put(y, alpha * made + beta * _of(y))

        found = solvers.coneqp(
            stiff,
            matrix(-self.load),
            cones,
            matrix(least),
            {"l": some, "q": [3] * len(slips), "s": []},
            kktsolver=self._factored,
            options=NEAR,
        )
        return UNIT * _of(found["x"])

    def _down(self, unknowns: Array) -> Array:
        """What cvxopt's rows, which the bounds are above, have of unknowns."""
        return -self.factors * unknowns[self.rows]

    def _up(self, rows: Array) -> Array:
        return np.asarray(np.bincount(self.rows, -self.factors * rows, len(self.load)), np.float64)

    def _factored(self, scaling: Any) -> Any:
        """Of the equations of a step: stiffness, and that of the cones as they are scaled."""
        some = self.smooth
        plain = _of(scaling["di"])  # of W^-1
        turns = np.array([_of(of) for of in scaling["v"]]).reshape(-1, 3)
        turns[:, 1:] *= -1
        flip = np.diag([1.0, -1.0, -1.0])
        inverse = 2 * turns[:, :, None] * turns[:, None, :] - flip
        inverse /= np.array(scaling["beta"]).reshape(-1, 1, 1)
        inside = self.stiffness.copy()
        at, own = self.rows[:some], self.factors[:some]
        inside[at, at] += (own * plain) ** 2
        rows, owns = self.rows[some:].reshape(-1, 3), self.factors[some:].reshape(-1, 3)
        squared = inverse @ inverse * owns[:, :, None] * owns[:, None, :]
        inside[rows[:, :, None], rows[:, None, :]] += squared
        factor = cho_factor(inside, lower=True, overwrite_a=True, check_finite=False)

        def scaled(of: Array) -> Array:
            cones = np.einsum("rij,rj->ri", inverse, of[some:].reshape(-1, 3))
            return np.concatenate([plain * of[:some], cones.ravel()])

        def solve(x: Any, _: Any, z: Any) -> None:
            wanted = _of(z)
            unknowns = cho_solve(factor, _of(x) + self._up(scaled(scaled(wanted))))
            _put(x, unknowns)
            _put(z, scaled(self._down(unknowns) - wanted))

        return solve


def _laws(
    stiffness: Array,
    load: Array,
    smooth: Integers,
    rubs: Integers,
    overlap: Array,
    start: Array,
    mu: Array,
) -> _Laws:
    """The problem of pairs that rub and pairs that do not; what others carry is in the load."""
    k = len(mu)
    free = np.sort(np.concatenate([smooth, rubs, k + rubs, 2 * k + rubs]))
    rest = np.concatenate([k + smooth, 2 * k + smooth])
    between = stiffness[np.ix_(rest, free)]
    inside = cho_factor(stiffness[np.ix_(rest, rest)], lower=True, overwrite_a=True)
    follows, alone = cho_solve(inside, between), cho_solve(inside, load[rest])
    felt = stiffness[np.ix_(free, free)] - between.T @ follows
    scale = float(np.diag(felt).mean())
    along = np.searchsorted(free, rubs[:, None] + np.array([0, k, 2 * k]))
    factors = np.stack([-1 / mu[rubs], *-np.ones((2, len(rubs)))], axis=1)
    least = np.stack([-overlap[rubs] / mu[rubs], *start[:, rubs]], axis=1)
    return _Laws(
        stiffness=felt / scale,
        load=(load[free] - between.T @ alone) / (scale * UNIT),
        free=free,
        rest=rest,
        alone=alone,
        follows=follows,
        smooth=len(smooth),
        rows=np.concatenate([np.searchsorted(free, smooth), along.ravel()]),
        factors=np.concatenate([-np.ones(len(smooth)), factors.ravel()]),
        least=np.concatenate([-overlap[smooth], least.ravel()]) / UNIT,
    )


def _of(of: Any) -> Array:
    """Values of a matrix of cvxopt, in place."""
    return np.asarray(of).ravel()


def _put(of: Any, values: Array) -> None:
    np.asarray(of)[:, 0] = values

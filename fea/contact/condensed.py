"""A joint by itself: the jumps that forces on it make, through all the metal on both sides.

The bodies condensed to the joint are one dense matrix. Each set of pairs that touch and stick is
then a system for the forces of those alone, whatever the load, the fit or the friction.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky, solve_triangular
from scipy.linalg.blas import dsymv, dsyrk

from fea.contact.settings import SETTINGS

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Answer = TypeVar("Answer")
AT_ONCE = 256
"""Columns of a matrix that are turned over at a time."""


@dataclass(frozen=True, eq=False, slots=True)
class Condensed:
    """The bodies condensed to the jumps of a joint, normal and then tangential.

    Attributes
    ----------
    values : ndarray
        Entries of the stiffness that was condensed, without the springs.
    springs : ndarray, shape (2 k,)
        At the jumps. [N/mm]
    flexibility : ndarray, shape (2 k, 2 k)
        Jumps by the forces on them, springs and all, by columns. [mm/N]
    """

    values: Array
    springs: Array
    flexibility: Array
    _last: list[tuple[Array, Array]] = field(default_factory=list, repr=False)

    @staticmethod
    def of_lower(values: Array, springs: Array, lower: Array) -> Condensed:
        """With the flexibility's lower triangle; ``lower`` is overwritten."""
        for start in range(0, len(lower), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            lower[:start, some] = lower[some, :start].T
            block = np.tril(lower[some, some])
            lower[some, some] = block + np.tril(block, -1).T
        return Condensed(values, springs, lower)

    def with_springs(self, springs: Array) -> Condensed:
        """The same with stiffer springs at some jumps, springs of shape (2 k,). [N/mm].

        By the formula of Woodbury: exact, and worth it where they are few.
        """
        some = np.flatnonzero(springs != self.springs)
        columns = self.flexibility[:, some]
        within = columns[some] + np.diag(1 / (springs - self.springs)[some])
        root = cholesky(within, lower=True, check_finite=False)
        turned = solve_triangular(root, columns.T, lower=True, check_finite=False)
        flexibility = dsyrk(-1.0, turned, beta=1.0, c=self.flexibility, trans=True, lower=True)
        return Condensed.of_lower(self.values, springs, flexibility)

    def moved(self, forces: Array) -> Array:
        """Jumps by forces on them alone, both of shape (2 k,)."""
        return dsymv(1.0, self.flexibility, forces, lower=True)

    def under(self, load: Array) -> Array:
        """The same of a load that is mostly the last one again."""
        if not (self._last and np.array_equal(self._last[0][0], load)):
            self._last[:] = [(load, self.moved(load))]
        return self._last[0][1]

    def hold(self, held: Flags) -> Held:
        """The system with some of the jumps held, shape (2 k,)."""
        some = np.flatnonzero(held)
        within = self.flexibility.T[np.ix_(some, some)].T  # along the columns as they are stored
        factor = cho_factor(within, lower=True, overwrite_a=True, check_finite=False)
        return Held(self, held, factor)


@dataclass(frozen=True, eq=False, slots=True)
class Held:
    """A joint some of whose jumps are held."""

    joint: Condensed
    held: Flags
    factor: tuple[Array, bool]  # of the flexibility at those that are held

    def solve(
        self, known: Array, load: Array, tied: Array, share: Array, sliding: Array, settled: float
    ) -> tuple[Array, Array, Array]:
        """Jumps, and what holds them, with friction that follows the force on its pair.

        Parameters
        ----------
        known : ndarray, shape (2 k,)
            Where jumps are held. [mm]
        load : ndarray, shape (2 k,)
            On the jumps. [N]
        tied : ndarray, shape (2 k,)
            Jumps at which the springs carry nothing. [mm]
        share : ndarray, shape (k,)
            Friction over the force that presses a pair together, with its sign; 0 where it does
            not slide.
        sliding : ndarray, shape (k,)
            Friction to begin from. [N]
        settled : float
            Change of the friction from one solution to the next, over the largest, that is none.

        Returns
        -------
        jumps : ndarray, shape (2 k,)
            [mm]
        reaction : ndarray, shape (2 k,)
            What the pairs add to the load. [N]
        sliding : ndarray, shape (k,)
            Friction where pairs slide. [N]
        """
        joint, count = self.joint, len(share)
        held, slides = np.flatnonzero(self.held), np.flatnonzero(share != 0)
        free = joint.under(load + joint.springs * tied)
        spring = joint.springs * (known - tied)
        to_meet = (known - free)[held]
        by_sliding = joint.flexibility.T[np.ix_(count + slides, held)].T

        def pushed_by(sliding: Array) -> tuple[Array, Array]:
            put = np.zeros(2 * count)
            here = to_meet - by_sliding @ sliding[slides]
            put[held] = cho_solve(self.factor, here, check_finite=False)
            return put, share * (spring - put)[:count]

        put, sliding, follows = settle(pushed_by, np.where(share != 0, sliding, 0.0), settled)
        put[count:] += sliding
        jumps = np.where(self.held, known, free + joint.moved(put))
        return jumps, put - joint.springs * (jumps - tied), follows


def settle(
    led_to: Callable[[Array], tuple[Answer, Array]],
    at: Array,
    settled: float,
    most: int = SETTINGS.most_sweeps,
) -> tuple[Answer, Array, Array]:
    """Friction x = G(x) that follows the forces which it makes, by repeated solution.

    Parameters
    ----------
    led_to : callable
        From x to what it makes, and to G(x).
    at : ndarray, shape (k,)
        To begin from.
    settled : float
        Change from x to G(x), over the largest, that is none.
    most : int
        Solutions.

    Returns
    -------
    answer
        What the last x made.
    at, to : ndarray, shape (k,)
        That x, and G of it.
    """
    tried: list[tuple[Array, Array]] = []
    while True:
        answer, to = led_to(at)
        close = np.abs(to - at).max() <= settled * np.abs(to).max()
        if close or len(tried) == most - 1:
            return answer, at, to
        tried.append((at, to - at))
        at = mixed(tried)


def mixed(tried: Sequence[tuple[Array, Array]]) -> Array:
    """What to try next for x = G(x), shape (k,).

    Parameters
    ----------
    tried : sequence of tuple of ndarray, shape (k,)
        Each x, and G(x) - x.

    Notes
    -----
    Of all mixtures of what was tried, that whose change is the least (Anderson, *J. ACM* 12 (1965)
    547-560, from memory); for a linear G it is GMRES.
    """
    at, change = tried[-1]
    if len(tried) == 1:
        return at + change
    steps, turns = (
        np.stack([before[k] - tried[-1][k] for before in tried[:-1]], axis=1) for k in range(2)
    )
    weights = np.linalg.lstsq(turns, -change, rcond=None)[0]
    return at + change + (steps + turns) @ weights

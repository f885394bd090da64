"""Which pairs touch and slide, from the inside of the laws of contact.

A primal-dual interior-point method (Mehrotra, *SIAM J. Optim.* 2 (1992) 575-601, with the further
corrections of Gondzio, *Comput. Optim. Appl.* 6 (1996) 137-156; both from memory). Each law of
contact is a pair of numbers that are both positive and whose product goes to 0: the distance and
the force of a pair, and with a friction limit c = mu lambda, its slip each way and what friction
tau can still take that way, c + tau and c - tau. All pairs change together, so the systems needed
hardly grow with their number, where an active-set method opens a joint from its edge inwards. The
limit c follows the force from one system to the next.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.contact.settings import ContactSettings

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Integers = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class Inside:
    """What was found near the solution.

    Attributes
    ----------
    jumps : ndarray, shape (2 k,)
        [mm]
    closed : ndarray of bool, shape (k,)
    pull : ndarray, shape (k,)
        -1 or 1, the way that friction pulls along the tangent where a pair slides; 0 elsewhere.
    systems : int
        Factored.
    """

    jumps: Array
    closed: Flags
    pull: Array
    systems: int


def from_inside(
    factored: Callable[[Array], Callable[[Array], Array]],
    *,
    free: Flags,
    overlap: Array,
    start: Array,
    mu: Array,
    soft: Array,
    aid: Array,
    settings: ContactSettings,
) -> Inside:
    """Come near the jumps that obey the laws of contact.

    Parameters
    ----------
    factored : callable
        From the stiffness of springs at the jumps, normal and then tangential, shape (2 k,)
        [N/mm], to what gives the jumps from forces on them.
    free : ndarray of bool, shape (k,)
        Pairs that can open; the others keep their jumps.
    overlap, start : ndarray, shape (k,)
        Overlap of each pair, and slip at which friction carries nothing. [mm]
    mu : ndarray, shape (k,)
        Friction coefficient.
    soft : ndarray, shape (k,)
        Stiffness of the springs that the first jumps are found with. [N/mm]
    aid : ndarray, shape (2 k,)
        Stiffness of springs that are tied anew to each system's jumps. [N/mm]
    settings : ContactSettings
    """
    count = len(free)
    rubs = free & (mu > settings.no_friction)
    normal, tangent = np.flatnonzero(free), count + np.flatnonzero(rubs)
    springs = np.concatenate([np.where(free, soft, 0.0), np.where(rubs, soft, 0.0)])
    at = factored(springs + aid)(springs * np.concatenate([-overlap, start]))
    overlap, start, mu, soft = overlap[free], start[rubs], mu[rubs], soft[free]
    slides = rubs[free]
    laws = _Laws(normal, tangent, overlap, start, aid)
    gap, slip = -at[normal] - overlap, at[tangent] - start
    most = np.abs(gap).max() + 1e-6
    distance, force = np.maximum(gap, 0) + most, soft * (np.maximum(-gap, 0) + most)
    room = distance[slides] / mu
    primal = np.concatenate([distance, np.maximum(slip, 0) + room, np.maximum(-slip, 0) + room])
    share = np.zeros(len(mu))  # of the limit that friction takes
    closed, pull = ~free, np.zeros(count)
    first, systems = 0.0, 1
    while systems < settings.most_systems:
        limit = mu * force[slides]
        dual = np.concatenate([force, limit * (1 + share), limit * (1 - share)])
        now = _Now(laws, at, primal, dual)
        product = float((primal * dual).mean())
        first = first or product
        jumps_of = factored(now.springs())
        systems += 1
        step = _best_step(now, jumps_of, settings)
        gone = min(1.0, settings.inside * step.primal_share)
        at = at + gone * (step.jumps - at)
        primal = primal + gone * step.primal
        dual = dual + min(1.0, settings.inside * step.dual_share) * step.dual
        force, ways = dual[: len(normal)], dual[len(normal) :].reshape(2, -1)
        share = (ways[0] - ways[1]) / ways.sum(axis=0)

        stays = dual * now.primal > primal * now.dual  # the dual number falls less than the other
        was = closed, pull
        closed, pull = _sets(free, rubs, stays, share)
        changed = np.count_nonzero((closed != was[0]) | (pull != was[1]))
        if product < settings.nearest * first or (
            product < settings.near * first and changed <= settings.still
        ):
            break
    return Inside(at, closed, pull, systems)


def _sets(free: Flags, rubs: Flags, stays: Flags, share: Array) -> tuple[Flags, Array]:
    """Pairs that touch, and the way that friction pulls where they slide, each of shape (k,).

    A pair touches where its force stays, and sticks where its friction can still take more both
    ways.
    """
    some = np.count_nonzero(free)
    closed, pull = ~free, np.zeros(len(free))
    closed[free] = stays[:some]
    sticks = stays[some:].reshape(2, -1).all(axis=0)
    pull[rubs] = np.where(sticks, 0.0, np.sign(share))
    pull[~closed] = 0
    return closed, pull


@dataclass(frozen=True, eq=False, slots=True)
class _Laws:
    """Which jumps obey laws, and what is known of them."""

    normal: Integers  # of pairs that can open
    tangent: Integers  # of pairs that rub
    overlap: Array  # of the first
    start: Array  # of the second
    aid: Array


@dataclass(frozen=True, eq=False, slots=True)
class _Step:
    """Jumps to go to, changes of the numbers, and the share at which the first of them is 0."""

    jumps: Array
    primal: Array
    dual: Array
    primal_share: float
    dual_share: float


@dataclass(frozen=True, eq=False, slots=True)
class _Now:
    """Jumps; distances, and slips each way; forces, and what friction can still take each way."""

    laws: _Laws
    at: Array
    primal: Array
    dual: Array

    def parts(self) -> tuple[Array, Array]:
        """Stiffness that holds each pair apart, and softness of its friction each way."""
        some = len(self.laws.normal)
        softness = self.primal[some:] / self.dual[some:]
        return self.dual[:some] / self.primal[:some], softness.reshape(2, -1)

    def springs(self) -> Array:
        """Springs at the jumps that make the linear system."""
        stiff, softness = self.parts()
        springs = self.laws.aid.copy()
        springs[self.laws.normal] += stiff
        springs[self.laws.tangent] += 1 / softness.sum(axis=0)
        return springs

    def towards(self, goal: Array, jumps_of: Callable[[Array], Array]) -> _Step:
        """The step to where the products are about these."""
        laws, some = self.laws, len(self.laws.normal)
        stiff, softness = self.parts()
        distance, force = self.primal[:some], self.dual[:some]
        slips, ways = (of[some:].reshape(2, -1) for of in (goal / self.dual, self.dual))
        drive = slips[0] - slips[1] + laws.start
        forces = laws.aid * self.at
        forces[laws.normal] -= goal[:some] / distance + stiff * laws.overlap + force
        forces[laws.tangent] += (ways[0] - ways[1]) / 2 + drive / softness.sum(axis=0)
        jumps = jumps_of(forces)
        closer = -jumps[laws.normal] - laws.overlap - distance
        more = goal[:some] / distance - force - stiff * closer
        turn = (drive - jumps[laws.tangent]) / softness.sum(axis=0)
        both = np.stack([turn, -turn])
        further = slips - self.primal[some:].reshape(2, -1) - softness * both
        primal = np.concatenate([closer, further.ravel()])
        dual = np.concatenate([more, both.ravel()])
        shares = _until_zero(self.primal, primal), _until_zero(self.dual, dual)
        return _Step(jumps, primal, dual, *shares)

    def after(self, step: _Step, primal_share: float, dual_share: float) -> Array:
        """Products after shares of a step."""
        return (self.primal + primal_share * step.primal) * (self.dual + dual_share * step.dual)


def _best_step(now: _Now, jumps_of: Callable[[Array], Array], settings: ContactSettings) -> _Step:
    """Mehrotra's step, corrected as long as that makes it longer."""
    step = now.towards(np.zeros(len(now.primal)), jumps_of)
    reached = now.after(step, step.primal_share, step.dual_share).mean()
    aim = float(reached**3 / (now.primal * now.dual).mean() ** 2)
    goal = aim - step.primal * step.dual
    step = now.towards(goal, jumps_of)
    for _ in range(settings.most_corrections):
        shares = step.primal_share, step.dual_share
        if min(shares) >= settings.long:
            break
        further = now.after(step, *(min(1.0, 1.5 * share + 0.1) for share in shares))
        mended = further.clip(aim / settings.uneven, aim * settings.uneven) - further
        goal = goal + np.maximum(mended, -aim * settings.uneven)
        corrected = now.towards(goal, jumps_of)
        if corrected.primal_share + corrected.dual_share < sum(shares) + settings.longer:
            break
        step = corrected
    return step


def _until_zero(values: Array, change: Array) -> float:
    """Share of a change, 1 at most, that takes the first of positive values to 0."""
    falls = change < 0
    return float((-values[falls] / change[falls]).min(initial=1.0))

r"""What touches, sticks and slides at a joint in space that stands for the metal on both sides.

With the jump g, the overlap delta, the force lambda that presses a pair together and the friction
tau on the rest, both along the two tangents, the laws are those of :mod:`fea.contact.fitted`,

.. math::

    g_n + \delta \le 0, \quad \lambda \ge 0, \quad \lambda (g_n + \delta) = 0, \qquad
    |\tau| \le \mu \lambda, \quad \tau = \mu \lambda\, s / |s| \text{ where it slips by } s.

The sets are found by a primal-dual active-set method, a semi-smooth Newton method [1]_: a pair
sticks where w = tau + r s, with any r > 0, is within its limit c = mu lambda, and else slides along
e = w / |w| with

.. math:: \tau_e = \mu \lambda, \qquad s_\perp = \frac{|w| - c}{c\, r} \tau_\perp,

so that friction follows both the force on its pair and the way that it slips. Each set is one
dense system, for the forces of what is held or for the jumps of what is free, whichever is fewer.

References
----------
.. [1] Hueeber, Stadler & Wohlmuth, *SIAM J. Sci. Comput.* 30 (2008) 572-596 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import solve
from scipy.linalg.lapack import dpotri

from fea.solid.cones import towards_rest

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True)
class Sets:
    """Which pairs touch, which of those stick, and how the others slide.

    Attributes
    ----------
    closed, sticks : ndarray of bool, shape (k,)
    way : ndarray, shape (2, k)
        Unit vector along which friction pulls at the rest where a pair slides with friction,
        else 0.
    turn : ndarray, shape (k,)
        Slip across that way over the friction across it. [mm/N]
    """

    closed: Flags
    sticks: Flags
    way: Array
    turn: Array

    @property
    def rubs(self) -> Flags:
        """Pairs that slide with friction, shape (k,)."""
        return np.asarray((self.way != 0).any(axis=0))

    def changed(self, other: Sets) -> int:
        """Pairs that are in other sets there."""
        return int(np.count_nonzero(self._differs(other)))

    def _differs(self, other: Sets) -> Flags:
        return np.asarray(
            (self.closed != other.closed)
            | (self.sticks != other.sticks)
            | (self.rubs != other.rubs)
        )

    def key(self) -> bytes:
        """The sets as something to look up."""
        return self.closed.tobytes() + self.sticks.tobytes() + self.rubs.tobytes()

    def half_way(self, before: Sets, number: int) -> Sets:
        """Those before, but for one in so many of the pairs that differ."""
        differ = np.flatnonzero(self._differs(before))
        kept = np.ones(len(self.closed), dtype=bool)
        kept[differ[number % len(differ) :: 7]] = False
        return Sets(
            np.where(kept, before.closed, self.closed),
            np.where(kept, before.sticks, self.sticks),
            np.where(kept, before.way, self.way),
            np.where(kept, before.turn, self.turn),
        )


@dataclass(frozen=True, eq=False, slots=True)
class Task:
    """A load on a joint whose sets are sought.

    Attributes
    ----------
    load : ndarray, shape (3 k,)
        On the jumps, along normals and then each tangent. [N]
    overlap : ndarray, shape (k,)
        [mm]
    held : ndarray of bool, shape (k,)
        Pairs that can neither open nor slide.
    start : ndarray, shape (2, k)
        Slip at which friction carries nothing. [mm]
    mu : ndarray, shape (k,)
    tied : ndarray, shape (3 k,)
        Jumps at which the springs carry nothing. [mm]
    """

    load: Array
    overlap: Array
    held: Flags
    start: Array
    mu: Array
    tied: Array


@dataclass(frozen=True, eq=False, slots=True)
class Found:
    """What sets led to.

    Attributes
    ----------
    jumps : ndarray, shape (3 k,)
        [mm]
    push : ndarray, shape (3 k,)
        Force of the rest on the part. [N]
    """

    jumps: Array
    push: Array

    @property
    def force(self) -> Array:
        """That presses each pair together, shape (k,). [N]."""
        return -self.push[: len(self.push) // 3]

    @property
    def friction(self) -> Array:
        """Of the part on the rest, shape (2, k). [N]."""
        return -self.push[len(self.push) // 3 :].reshape(2, -1)


@dataclass(frozen=True, eq=False, slots=True)
class Since:
    """A solved state whose sets are begun from.

    Attributes
    ----------
    found : Found
    overlap : ndarray, shape (k,)
        That it was found for. [mm]
    """

    found: Found
    overlap: Array

    def to(self, task: Task, share: float, joint: CondensedJoint) -> Task:
        """A task that lies so far from what this state solves, 0, to another, 1."""
        jumps, push = self.found.jumps, self.found.push
        load = joint.stiffness @ jumps - joint.springs * jumps - push
        return replace(
            task,
            load=load + share * (task.load - load),
            overlap=self.overlap + share * (task.overlap - self.overlap),
        )


class CondensedJoint:
    """The metal on both sides of a joint, condensed to its jumps.

    Parameters
    ----------
    root : ndarray, shape (3 k, 3 k)
        Cholesky factor of the condensed stiffness, springs and all, lower triangle.
    flexibility : ndarray, shape (3 k, 3 k)
        Its inverse, lower triangle; 0 above. [mm/N]
    springs : ndarray, shape (3 k,)
        At the jumps. [N/mm]

    Attributes
    ----------
    stiffness : ndarray, shape (3 k, 3 k)
        [N/mm]
    flexibility : ndarray, shape (3 k, 3 k)
        [mm/N]
    """

    def __init__(self, root: Array, flexibility: Array, springs: Array) -> None:
        self.stiffness = root @ root.T
        self.flexibility = _whole(flexibility)
        self.springs = springs
        self._last_free: tuple[Task, Array] | None = None
        self._last_anchored: tuple[Flags, Array, CondensedJoint] | None = None

    @property
    def count(self) -> int:
        """Number of pairs."""
        return len(self.springs) // 3

    def with_springs(self, springs: Array) -> CondensedJoint:
        """The same with other springs, shape (3 k,). [N/mm]."""
        other = copy(self)
        other.stiffness = self.stiffness + np.diag(springs - self.springs)
        root = np.asarray(np.linalg.cholesky(other.stiffness), dtype=np.float64)
        other.flexibility, other.springs = _whole(dpotri(root, lower=1)[0]), springs
        other._last_free = other._last_anchored = None
        return other

    def anchored(self, pairs: Flags, springs: Array) -> CondensedJoint:
        """The same with other springs, shape (3 k,), at some pairs. [N/mm].

        Those along the normals count as metal from there on, no more as springs. The last one is
        kept, as the same piece is loose in one load step after another.
        """
        last = self._last_anchored
        if last and np.array_equal(last[0], pairs) and np.array_equal(last[1], springs):
            return last[2]
        other = self.with_springs(np.where(np.tile(pairs, 3), springs, self.springs))
        other.springs[: len(pairs)] = np.where(pairs, 0.0, self.springs[: len(pairs)])
        self._last_anchored = pairs, springs, other
        return other

    def solve(self, sets: Sets, task: Task) -> Found:
        """Jumps and forces of sets."""
        held = 3 * np.count_nonzero(task.held | sets.sticks)
        held += np.count_nonzero(sets.closed & ~(task.held | sets.sticks))
        held += np.count_nonzero(sets.rubs)
        by_forces = held <= 1.5 * self.count
        jumps, push = (self._by_forces if by_forces else self._by_jumps)(sets, task)
        return Found(jumps, push - self.springs * (jumps - task.tied))

    def _known(self, sets: Sets, task: Task) -> Array:
        """Jumps where they are held, else 0, shape (3 k,)."""
        fixed = task.held | sets.sticks
        normal = np.where(sets.closed, -task.overlap, 0.0)
        return np.concatenate([normal, *np.where(fixed | sets.rubs, task.start, 0.0)])

    def _by_forces(self, sets: Sets, task: Task) -> tuple[Array, Array]:
        """From the forces of what is held."""
        put, told, soft = self._held(sets, task)
        free = self._free(task)
        right = told.T @ (self._known(sets, task) - free)
        felt = put.T @ self.flexibility  # jumps by each force, as it is symmetric
        inside = np.asfortranarray(told.T @ felt.T)
        inside[np.diag_indices_from(inside)] += soft
        rubs = bool((sets.rubs & (task.mu > 0)).any())
        forces = solve(
            inside,
            right,
            overwrite_a=True,
            overwrite_b=True,
            check_finite=False,
            assume_a="gen" if rubs else "pos",
        )
        return free + forces @ felt, put @ forces

    def _free(self, task: Task) -> Array:
        """Jumps where nothing is held, whatever the sets."""
        if self._last_free is None or self._last_free[0] is not task:
            load = task.load + self.springs * task.tied
            self._last_free = task, self.flexibility @ load
        return self._last_free[1]

    def _held(self, sets: Sets, task: Task) -> tuple[sparse.csr_array, sparse.csr_array, Array]:
        """Forces of what is held as forces at the jumps; which jumps they hold; how softly."""
        k, rubs = self.count, sets.rubs
        fixed = np.flatnonzero(task.held | sets.sticks)
        normal, slides = np.flatnonzero(sets.closed), np.flatnonzero(rubs)
        number = np.cumsum(sets.closed) - 1
        size = len(normal) + 2 * len(fixed) + len(slides)
        columns = [np.arange(len(normal)), len(normal) + np.arange(2 * len(fixed))]
        rows = [normal, np.concatenate([k + fixed, 2 * k + fixed])]
        values = [np.ones(len(normal)), np.ones(2 * len(fixed))]
        across = len(normal) + 2 * len(fixed) + np.arange(len(slides))
        rows += [k + slides, 2 * k + slides]
        columns += [across, across]
        values += [-sets.way[1, slides], sets.way[0, slides]]
        told = _sparse(rows, columns, values, (3 * k, size))
        follows = number[slides]
        rows += [k + slides, 2 * k + slides]
        columns += [follows, follows]
        values += list((task.mu * sets.way)[:, slides])
        put = _sparse(rows, columns, values, (3 * k, size))
        soft = np.zeros(size)
        soft[across] = sets.turn[slides]
        return put, told, soft

    def _by_jumps(self, sets: Sets, task: Task) -> tuple[Array, Array]:
        """From the jumps of what is free."""
        k, rubs = self.count, sets.rubs
        opens = np.flatnonzero(~sets.closed)
        smooth = np.flatnonzero(~(task.held | sets.sticks | rubs))  # no friction: tangents free
        slides = np.flatnonzero(rubs)
        ahead, across = sets.way[:, slides], np.stack([-sets.way[1], sets.way[0]])[:, slides]
        plain = np.concatenate([opens, k + smooth, 2 * k + smooth])
        first, second = len(plain) + np.arange(2 * len(slides)).reshape(2, -1)
        size = len(plain) + 2 * len(slides)
        rows = [plain, *(k + slides, 2 * k + slides) * 2]
        columns = [np.arange(len(plain)), first, first, second, second]
        values = [np.ones(len(plain)), *ahead, *across]
        free = _sparse(rows, columns, values, (3 * k, size))
        rows.append(slides)
        columns.append(first)
        values.append(-task.mu[slides])
        felt = _sparse(rows, columns, values, (3 * k, size))
        load = task.load + self.springs * task.tied
        known = self._known(sets, task)
        unmet = load - self.stiffness @ known
        inside = _between(felt, self.stiffness, free)
        stiff = np.zeros(size)
        stiff[second] = 1 / np.maximum(sets.turn[slides], _LEAST / self.stiffness.max())
        inside[np.diag_indices_from(inside)] += stiff
        if size:
            found = solve(
                inside,
                felt.T @ unmet,
                overwrite_a=True,
                check_finite=False,
                assume_a="gen" if len(slides) else "pos",
            )
            known = known + free @ found
        push = self.stiffness @ known - load
        open_or_smooth = np.concatenate([~sets.closed, *[~(task.held | sets.sticks | rubs)] * 2])
        return known, np.where(open_or_smooth, 0.0, push)


def _whole(lower: Array) -> Array:
    """A symmetric matrix of its lower triangle, 0 above."""
    found = lower + lower.T
    found[np.diag_indices_from(found)] /= 2
    return found


_LEAST = 1e-6  # compliance of what slides across its way, over that of the stiffest jump


def _sparse(
    rows: list[NDArray[np.int64]],
    columns: list[NDArray[np.int64]],
    values: list[Array],
    shape: tuple[int, int],
) -> sparse.csr_array:
    place = np.concatenate(rows), np.concatenate(columns)
    return sparse.coo_array((np.concatenate(values), place), shape=shape).tocsr()


def _between(left: sparse.csr_array, dense: Array, right: sparse.csr_array) -> Array:
    """Transpose of one sparse matrix times a dense one times another sparse one."""
    return np.asfortranarray((right.T @ (left.T @ dense).T).T)


@dataclass(frozen=True, kw_only=True, slots=True)
class SearchSettings:
    """Numbers that steer the search for sets; the answer doesn't depend on them."""

    most: int = 100  # systems of an attempt
    patient: int = 12  # systems with the first tolerances
    stands: float = 0.9  # share of what friction is off its law that is left where it stands still
    easier: float = 1.35  # factor by which they grow with each further system, or where it does
    most_easing: int = 12  # systems that they grow with
    takes_off: float = 0.9  # of what is off the laws, left by a whole step that is taken as it is
    shares: tuple[float, ...] = tuple(0.4**n for n in range(1, 13))  # of a step, tried else
    stalls: float = 0.05  # share of a step below which all of it is taken if no pair changes
    no_force: float = 1e-3  # that is none anyway [N]
    no_limit: float = 1e-9  # limit of friction over a pair's mean force that is none
    near: float = 1e-4  # force, or friction off its way, that is none, over a pair's mean force
    closes: float = 1e-6  # overlap that closes no pair [mm]
    farthest: float = 0.5  # jump beyond the largest overlap that only a loose piece makes [mm]
    loose_aid: float = 1e-4  # springs that keep such a piece, over the stiffness at its pairs
    most_cones: int = 3  # times that all is sought from inside the laws, springs tied anew
    most_near: int = 20  # systems of an attempt from where that is not at rest yet
    most_walking: int = 40  # systems of an attempt part of the way from a solved state
    steps: int = 16  # of all of that way is the shortest one tried
    most_ties: int = 8  # times that springs are tied anew
    slight: float = 1e-4  # pull of the springs of a piece, over what presses it, that is none
    unfelt: float = 1e-5  # the same, whatever presses it [N]
    unmoved: float = 1e-6  # motion from one time that springs are tied to the next [mm]


SEARCH = SearchSettings()
QUICK = SearchSettings(most_cones=0)
"""Without what takes long (:mod:`fea.solid.cones`), where a load step can be taken in halves."""


@dataclass(frozen=True, eq=False, slots=True)
class Search:
    """Where a search ended.

    Attributes
    ----------
    sets : Sets
    found : Found
    systems : int
    settled : bool
        Whether the sets are those that they lead to.
    loose : ndarray of bool, shape (k,)
        Pairs of pieces that nothing but springs keeps.
    doubt : ndarray of int, shape (k,)
        How often each pair changed.
    """

    sets: Sets
    found: Found
    systems: int
    settled: bool
    loose: Flags
    doubt: NDArray[np.int64]


def search(
    joint: CondensedJoint,
    task: Task,
    first: Sets,
    piece: NDArray[np.int64],
    settings: SearchSettings = SEARCH,
    since: Since | None = None,
) -> Search:
    """Find the sets that lead to themselves.

    Where they are not found at once they are followed from a solved state, as far at a time as they
    are found. Where steps are cut short, the sets of a loose piece may stand still, and those of
    one that is about to slide go astray where they are not: they are sought again from inside the
    laws (:mod:`fea.solid.cones`), from each state on the way to rest, as one that is near will do.
    At rest the laws may be met while sets still go to and fro. Then they are sought from the first
    with whole steps from where they stand still; then the piece that changed most is kept as one
    that is loose, or all is begun open, which is what a clearance leaves in the end.

    Parameters
    ----------
    joint : CondensedJoint
    task : Task
    first : Sets
        To begin from.
    piece : ndarray of int, shape (k,)
        Body of the part that each pair belongs to.
    settings : SearchSettings
    since : Since, optional
        The solved state that the first sets are of.
    """
    none = np.zeros(joint.count)
    apart = Sets(task.held, task.held, np.stack([none, none]), none)
    none_loose = np.zeros(joint.count, dtype=bool)
    ended = _attempt(joint, task, first, piece, settings, True, none_loose)
    systems = ended.systems
    if since is not None and not ended.settled:
        walked = _walked(joint, task, first, piece, settings, since)
        systems += walked.systems
        if walked.settled:
            return replace(walked, systems=systems)
    anew, most_near = task, min(settings.most, settings.most_near)
    for _ in range(settings.most_cones):
        if ended.settled:
            break
        met = False
        for found, met in _from_cones(joint, anew):
            sets = _sets_at(found, anew, _stiff(joint))
            some = settings if met else replace(settings, most=most_near)
            ended = _attempt(joint, anew, sets, piece, some, True, none_loose, found)
            systems += ended.systems
            if ended.settled and not ended.loose.any():
                break
        if ended.settled or not met:
            break
        if _idle(joint, sets, found, anew, piece, settings).all():
            return Search(sets, found, systems, True, none_loose, ended.doubt)
        anew = replace(anew, tied=found.jumps)
    restless = np.asarray(np.bincount(piece, ended.doubt) / np.bincount(piece), dtype=np.float64)
    rattles = (restless == restless.max())[piece]
    for begun, goes_on, loose in (
        (first, False, none_loose),
        (first, True, rattles),
        (apart, True, none_loose),
    ):
        if ended.settled:
            break
        ended = _attempt(joint, task, begun, piece, settings, goes_on, loose)
        systems += ended.systems
    return replace(ended, systems=systems)


def _walked(
    joint: CondensedJoint,
    task: Task,
    first: Sets,
    piece: NDArray[np.int64],
    settings: SearchSettings,
    since: Since,
) -> Search:
    """Sets followed from a solved state to a task, by steps that are halved where none are found.

    In the end from those of the last step, where it settles.
    """
    none_loose = np.zeros(joint.count, dtype=bool)
    some = replace(settings, most=min(settings.most, settings.most_walking))
    reached, step, sets, systems = 0.0, 0.5, first, 0
    while True:
        share = min(reached + step, 1.0)
        ended = _attempt(joint, since.to(task, share, joint), sets, piece, some, True, none_loose)
        systems += ended.systems
        if ended.settled:
            if share == 1:
                return replace(ended, systems=systems)
            reached, step, sets = share, 2 * step, ended.sets
        elif (step := step / 2) < 1 / settings.steps:
            return replace(ended, systems=systems)


def _attempt(
    joint: CondensedJoint,
    task: Task,
    first: Sets,
    piece: NDArray[np.int64],
    settings: SearchSettings,
    goes_on: bool,
    loose: Flags,
    at: Found | None = None,
) -> Search:
    """Sets after sets until they lead to themselves, from standstill with whole steps or not.

    From a state ``at``, where it is given.
    """
    k, stiff = joint.count, _stiff(joint)
    sets = first
    if loose.any():
        joint, task = _kept(joint, task, loose, settings)
    doubt, seen = np.zeros(k, dtype=np.int64), set()
    ties = stood = 0
    error_before = np.inf
    far = settings.farthest + np.abs(task.overlap).max(initial=0.0)
    for number in range(1, settings.most + 1):
        found = joint.solve(sets, task)
        gone_on, share = (found, 1.0) if at is None else _best(at, found, task, stiff, settings)
        ease = settings.easier ** min(max(stood, number - settings.patient), settings.most_easing)
        after, error = _next_sets(sets, gone_on, task, stiff, settings, ease)
        changed = after.changed(sets)
        if goes_on and share < settings.stalls and not changed:
            gone_on, share = found, 1.0
            after, error = _next_sets(sets, gone_on, task, stiff, settings, ease)
            changed = after.changed(sets)
        stood += not changed and error > settings.stands * error_before
        error_before = error
        if changed or error > ease * settings.near or share < 1:
            doubt += after._differs(sets)
            key = after.key()
            if changed and share == 1 and key in seen:
                after = after.half_way(sets, number)
            seen.add(key)
            sets, at = after, gone_on
            continue
        gone = np.abs(found.jumps.reshape(3, k)).max(axis=0) > far
        busy = ~_idle(joint, sets, found, task, piece, settings)[piece]
        adrift = ~loose & (np.isin(piece, piece[gone]) | (busy & (ties == settings.most_ties)))
        if adrift.any():
            loose = loose | adrift
            joint, task = _kept(joint, task, adrift, settings)
            at, ties = None, 0
            seen.clear()
            continue
        if not (busy & ~loose).any():
            return Search(sets, found, number, True, loose, doubt)
        ties += 1
        tied = np.where(np.tile(loose, 3), task.tied, found.jumps)
        task, at = replace(task, tied=tied), None
    return Search(sets, found, settings.most, False, loose, doubt)


def _stiff(joint: CondensedJoint) -> Array:
    """Stiffness at each jump, normal and, in the mean, along, shape (2, k). [N/mm]."""
    stiff = np.diag(joint.stiffness).reshape(3, -1)
    return np.stack([stiff[0], stiff[1:].mean(axis=0)])


def _from_cones(joint: CondensedJoint, task: Task) -> Iterator[tuple[Found, bool]]:
    """Nearer and nearer to what obeys the laws of contact, and whether it does."""
    load = task.load + joint.springs * task.tied
    for jumps, met in towards_rest(
        joint.stiffness, load, held=task.held, overlap=task.overlap, start=task.start, mu=task.mu
    ):
        push = joint.stiffness @ jumps - task.load - joint.springs * jumps
        yield Found(jumps, push), met


def _sets_at(found: Found, task: Task, stiff: Array) -> Sets:
    """The sets that a state near the solution is in."""
    k = len(task.overlap)
    gap = -found.jumps[:k] - task.overlap
    slip = found.jumps[k:].reshape(2, k) - task.start
    closed = task.held | (found.force > stiff[0] * gap)
    limit, size = task.mu * np.maximum(found.force, 0.0), np.hypot(*found.friction)
    rubbing = closed & ~task.held & (task.mu > 0)
    slides = rubbing & (stiff[1] * np.hypot(*slip) > limit - size) & (size > 0)
    way = np.where(slides, found.friction / np.where(size > 0, size, 1.0), 0.0)
    turn = np.where(slides, np.hypot(*slip) / np.where(size > 0, size, 1.0), 0.0)
    return Sets(closed, task.held | (rubbing & ~slides), way, turn)


def _kept(
    joint: CondensedJoint, task: Task, loose: Flags, settings: SearchSettings
) -> tuple[CondensedJoint, Task]:
    """With springs that keep loose pieces near where they were fitted.

    Against the friction they are told apart from the joint, so that a piece that is pulled off is
    not found; along the normals they are not, or a pair that barely touches would close and open.
    """
    kept = joint.anchored(loose, settings.loose_aid * np.diag(joint.stiffness))
    return kept, replace(task, tied=np.where(np.tile(loose, 3), 0.0, task.tied))


def _best(
    at: Found, to: Found, task: Task, stiff: Array, settings: SearchSettings
) -> tuple[Found, float]:
    """As far from one state to the next as the laws are met best, and the share of the way.

    All of it where that takes off enough.
    """
    begun, ends = _unlawful(at, task, stiff), _unlawful(to, task, stiff)
    if ends <= max(settings.takes_off * begun, settings.near * float(np.linalg.norm(to.force))):
        return to, 1.0
    states = [(to, 1.0)]
    for share in settings.shares:
        jumps = at.jumps + share * (to.jumps - at.jumps)
        states.append((Found(jumps, at.push + share * (to.push - at.push)), share))
    return min(states, key=lambda state: _unlawful(state[0], task, stiff))


def _unlawful(found: Found, task: Task, stiff: Array) -> float:
    """How far a state is off the laws: root of the sum of squares. [N]."""
    k = len(task.overlap)
    free = ~task.held
    gap = -found.jumps[:k] - task.overlap
    slip = found.jumps[k:].reshape(2, k) - task.start
    pressed = np.maximum(found.force - stiff[0] * gap, 0.0)
    trial, limit = found.friction + stiff[1] * slip, task.mu * pressed
    size = np.hypot(*trial)
    friction = trial * np.minimum(1.0, limit / np.where(size > 0, size, 1.0))
    off = np.concatenate([(found.force - pressed)[None], found.friction - friction])
    return float(np.linalg.norm(off[:, free]))


def _next_sets(
    sets: Sets, found: Found, task: Task, stiff: Array, settings: SearchSettings, ease: float
) -> tuple[Sets, float]:
    """Sets by what the last ones led to, and how far friction is off its law.

    The latter over the mean force of the pairs that touch.
    """
    k = len(task.overlap)
    force, friction = found.force, found.friction
    mean = np.abs(force[sets.closed]).sum() / max(np.count_nonzero(sets.closed), 1)
    floor = ease * max(settings.near * mean, settings.no_force)
    gap = -found.jumps[:k] - task.overlap
    closes = ease * settings.closes * stiff[0]
    closed = task.held | (force - stiff[0] * gap > np.where(sets.closed, -floor, closes))
    slip = found.jumps[k:].reshape(2, k) - task.start
    limit = task.mu * np.maximum(force, 0.0)
    trial = friction + stiff[1] * slip
    size = np.hypot(*trial)
    rubbing = closed & ~task.held & (task.mu > 0) & sets.closed
    back = sets.rubs & ((slip * sets.way).sum(axis=0) < 0)  # against its friction: it sticks first
    sticks = task.held | (rubbing & (back | (size <= limit + np.where(sets.sticks, floor, 0.0))))
    slides = rubbing & ~sticks & (size > 0)
    way = np.where(slides, trial / np.where(size > 0, size, 1), 0.0)
    least = settings.no_limit * mean + np.finfo(float).tiny
    turn = np.where(slides, (size - limit) / (np.maximum(limit, least) * stiff[1]), 0.0)
    misses = np.where(sets.rubs & slides, np.hypot(*(friction - limit * way)), 0.0)
    error = float(misses.max(initial=0.0) / max(mean, settings.no_force / settings.near))
    return Sets(closed, sticks, way, turn), error


def _idle(
    joint: CondensedJoint,
    sets: Sets,
    found: Found,
    task: Task,
    piece: NDArray[np.int64],
    settings: SearchSettings,
) -> Flags:
    """Whether the springs of each piece carry nothing that counts."""
    fixed = task.held | sets.sticks
    free = np.stack([~sets.closed, ~fixed, ~fixed])
    motion = np.where(free, (found.jumps - task.tied).reshape(3, -1), 0.0)
    carried = np.abs(joint.springs.reshape(3, -1) * motion).sum(axis=0)
    by_piece = np.bincount(piece, carried)
    pressed = np.bincount(piece, np.abs(found.force))
    far = np.zeros(len(pressed))
    np.maximum.at(far, piece, np.abs(motion).max(axis=0))
    carries_none = by_piece <= np.maximum(settings.slight * pressed, settings.unfelt)
    return np.asarray(carries_none | (far < settings.unmoved))

"""Sets after sets of the pairs that touch and stick, until one obeys the laws of contact.

How sets follow from one another stands in :mod:`fea.contact.fitted`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.contact.condensed import Condensed, Held
from fea.contact.interior import from_inside
from fea.contact.joint import Found, JointModel, Sets, System
from fea.contact.settings import ContactSettings
from fea.contact.state import Contact, ContactError, Fitted
from fea.factor import Factor, NotPositiveDefiniteError
from fea.model import Solution

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True)
class _Task:
    """A load whose sets are sought."""

    load: Array  # in the unknowns of the jumps [N]
    overlap: Array  # of each pair [mm]
    held: Flags  # pairs that can neither open nor slide
    touched: Flags  # pairs that touched before
    start: Array  # slip of each pair before [mm]
    mu: Array  # friction coefficient of each pair
    softer: Array  # load that stands for softer metal, to begin from, shape (2 k,) [N]


@dataclass(frozen=True, slots=True)
class _Search:
    """How long sets are sought, and how finely."""

    most: int  # sets
    leaves_off: bool  # where the sets are not on their way
    near: bool  # the solution, where a piece that goes far is none that is loose
    patient: int  # sets before tolerances grow
    returns: int
    farthest: float  # [mm]


@dataclass(eq=False, slots=True, kw_only=True)
class _Way:
    """How far a search has come."""

    start: Array  # slip of each pair at which its friction carries nothing [mm]
    aid: Array  # stiffness of each piece's springs, over that of the metal
    tied: Array  # jumps at which they carry nothing [mm]
    condensed: Condensed | None  # the joint by itself, if it serves
    loaded: Array  # load on it where no pair has moved [N]
    softer: Array  # load on it that stands for softer metal [N]
    sliding: Array  # friction of each pair to begin from [N]
    returns: Integers  # of each pair from sliding to sticking


@dataclass(frozen=True, eq=False, slots=True)
class _Tried:
    """What sets led to, and what follows from it."""

    found: Found
    gap: Array  # of each pair [mm]
    slip: Array  # the same [mm]
    after: Sets
    far: Flags  # pieces that went too far
    idle: Flags  # pieces whose springs carry nothing
    backwards: Flags  # pairs that slide on against their friction, as they have returned too often

    def kept(self, sets: Sets) -> bool:
        """Whether these sets are the solution."""
        return self.after.same(sets) and not self.far.any() and bool(self.idle.all())


@dataclass(frozen=True, eq=False, slots=True)
class SetsSearch:
    """A joint whose sets are sought.

    Attributes
    ----------
    joint : JointModel
    points : ndarray, shape (n, 2)
        Nodes of the parted mesh. [mm]
    largest : float
        Overlap of any pair, its size. [mm]
    """

    joint: JointModel
    points: Array
    largest: float

    @property
    def settings(self) -> ContactSettings:
        """Numbers that steer it."""
        return self.joint.settings

    def slight(self, force: Array, closed: Flags) -> float:
        """Force on a pair that is none beside those that the pairs carry. [N]."""
        touching = max(np.count_nonzero(closed), 1)
        return float(self.settings.slight * np.abs(force).sum() / touching)

    def find(
        self,
        load: Array,
        overlap: Array,
        mu: Array,
        before: Fitted | None,
        guess: Fitted | None,
        held: Flags,
    ) -> Fitted:
        """Find what touches and slides with some pairs held, shape (k,)."""
        set_by = self.settings
        sets, start = self._first_sets(overlap, before, mu, held)
        tied = np.zeros(len(self.joint.jump)) if before is None else before.jumps
        begun = guess or before
        softer = np.zeros(len(tied)) if begun is None else begun.softer
        task = _Task(
            load, overlap, held, sets.closed, start, np.where(sets.closed, mu, 0.0), softer
        )
        if guess is not None:
            sets, _ = self._first_sets(overlap, guess, task.mu, held)
        aid = np.where(self._clear(overlap), set_by.aid, self._aid(sets))
        alone = self.joint.condense(aid) is not None
        at_once = _Search(
            most=set_by.most_alone if alone else set_by.most_at_once,
            leaves_off=True,
            near=False,
            patient=set_by.patient_alone if alone else set_by.patient,
            returns=set_by.most_returns,
            farthest=set_by.farthest,
        )
        found, count, doubt = self._search(task, sets, tied, aid, at_once)
        if found is None and alone and (task.mu > set_by.no_friction).any():
            touched = task.touched  # and none slides: a way from inside costs ten times as much
            still = Sets(touched, touched & (held | (task.mu > 0)), np.zeros(len(touched)))
            found, more, further = self._search(task, still, tied, self._aid(still), at_once)
            count += more
            doubt += further
        if found is None:
            inside, jumps, systems = self._near_sets(task)
            near = _Search(
                most=max(0, set_by.most_iterations - (0 if alone else count) - systems),
                leaves_off=False,
                near=True,
                patient=set_by.patient_near,
                returns=set_by.returns_near,
                farthest=set_by.farthest_near,
            )
            weak = np.full(len(aid), set_by.weak_aid * set_by.aid)
            found, more, further = self._search(task, inside, jumps, weak, near)
            count += systems + more
            doubt += further
            if found is None and (task.mu > set_by.no_friction).any():
                patiently = replace(at_once, most=set_by.most_iterations, leaves_off=False)
                sticks = sets.closed & (held | (task.mu > 0))
                stuck = Sets(sets.closed, sticks, np.zeros(len(sticks)))
                found, more, further = self._search(task, stuck, tied, aid, patiently)
                count += more
                doubt += further
        if found is None:
            raise self.error(
                f"what touches of the {{part}} was not found in {set_by.most_iterations} "
                "iterations.",
                doubt,
            )
        return replace(found, iterations=count)

    def _search(
        self, task: _Task, sets: Sets, tied: Array, aid: Array, how: _Search
    ) -> tuple[Fitted | None, int, Array]:
        """Sets after sets until one is kept; how many; and how often each pair changed."""
        set_by = self.settings
        way = self._set_out(task, tied, aid)
        doubt = np.zeros(len(task.start))
        changes: list[int] = []
        seen: set[bytes] = set()
        weakened = 0
        for iteration in range(1, how.most + 1):
            try:
                tried = self._try(task, sets, way, how, iteration)
            except NotPositiveDefiniteError:  # springs too weak for a piece that nothing holds
                return None, iteration, doubt
            after, far = tried.after, tried.far
            if tried.kept(sets):
                if how.leaves_off and tried.backwards.any():
                    return None, iteration, doubt
                return self._fitted(task, sets, tried, iteration), iteration, doubt
            if (far & (way.aid < set_by.loose_aid)).any() and not how.near:
                way.aid = np.where(far, set_by.loose_aid, way.aid)
                way.condensed = way.condensed and self.joint.condense(way.aid)
            elif not after.same(sets):
                if after.key() in seen:  # by turns: let one pair change alone
                    after = after.first_change(sets)
                seen.add(after.key())
                changed = after.differs(sets)
                doubt += changed
                changes.append(int(changed.sum()))
                alone = way.condensed is not None
                if how.leaves_off and self._not_on_their_way(changes, alone):
                    return None, iteration, doubt
                closes = after.closed & ~sets.closed & ~task.touched
                way.start = np.where(closes, tried.slip, way.start)
                way.returns += sets.closed & ~sets.sticks & after.sticks
                way.sliding = task.mu * after.pull * np.maximum(tried.found.force, 0.0)
                sets = after
            elif far.any():
                if how.leaves_off:
                    return None, iteration, doubt
                away = np.abs(tried.found.jumps).reshape(2, -1).max(axis=0)
                raise self.error("nothing holds the {part}: it slides away.", away)
            elif how.leaves_off and weakened == set_by.most_weakened:
                return None, iteration, doubt
            else:
                weakened += 1
                way.aid = np.where(tried.idle, way.aid, way.aid / set_by.weaker)
                way.condensed = None
        return None, how.most, doubt

    def tangent(self, load: Array, contact: Contact, held: Flags) -> Solution:
        """What a further load, in the unknowns of the jumps, makes with the sets of a step kept.

        Pairs that slide do so free of further friction; ``held`` can neither open nor slide.
        """
        joint, none = self.joint, np.zeros(len(held))
        sets = Sets(contact.closed, contact.sticks, none)
        still = np.zeros(len(joint.jump))
        task = _Task(load, none, held, sets.closed, none, none, still)
        way = self._set_out(task, still, self._aid(sets))
        factor, springs = self._factor(sets, way)
        system = joint.system(sets, none, none, none, springs, still)
        settled = self.settings.settled
        if isinstance(factor, Held):
            found = joint.solve_joint(system, factor, load, way.loaded, still, none, settled)
        else:
            found = joint.solve_section(system, factor, load, none, settled)
        return joint.solution(found, load)

    def _set_out(self, task: _Task, tied: Array, aid: Array) -> _Way:
        """Where a search begins."""
        none = np.zeros(len(tied))
        condensed = self.joint.condense(aid)
        loaded = softer = none
        if condensed is not None:
            loaded = self.joint.loaded(task.load)
            softer = none if self.joint.is_of(condensed) else task.softer
        return _Way(
            start=task.start,
            aid=aid,
            tied=tied,
            condensed=condensed,
            loaded=loaded,
            softer=softer,
            sliding=np.zeros(len(task.start)),
            returns=np.zeros(len(task.start), dtype=np.int64),
        )

    def _factor(self, sets: Sets, way: _Way) -> tuple[Factor | Held, Array]:
        """Of the joint by itself, or of the whole section, with the jumps of sets held; springs."""
        joint = self.joint
        if way.condensed is None:
            springs = joint.springs(way.aid)
            return joint.factored(joint.entries(joint.pinned(sets), springs)), springs
        return way.condensed.hold(joint.pinned(sets)[joint.jump]), way.condensed.springs

    def _try(self, task: _Task, sets: Sets, way: _Way, how: _Search, iteration: int) -> _Tried:
        """What sets lead to: roughly, then exactly, the springs tied anew until they are idle.

        Left off as soon as other sets are due or a piece is far.
        """
        set_by, joint = self.settings, self.joint
        ease = set_by.easier ** max(0, iteration - how.patient)
        may_return = way.returns < how.returns
        factor, springs = self._factor(sets, way)
        for settled in (set_by.rough, *[set_by.settled] * set_by.most_ties):
            system = joint.system(sets, task.overlap, way.start, task.mu, springs, way.tied)
            if isinstance(factor, Held):
                found = joint.solve_joint(
                    system, factor, task.load, way.loaded, way.softer, way.sliding, settled
                )
            else:
                found = joint.solve_section(system, factor, task.load, way.sliding, settled)
            if not np.isfinite(found.jumps).all():
                raise NotPositiveDefiniteError("nothing but springs holds a piece.")
            way.softer, way.sliding = found.softer, found.friction
            gap, slip = -found.jumps[: len(way.start)] - task.overlap, found.jumps[len(way.start) :]
            after = self._next_sets(sets, found, gap, slip - way.start, task, may_return, ease)
            far = self._beyond(found.jumps, how.farthest)
            idle = np.zeros(len(far), dtype=bool)
            if not after.same(sets) or far.any():
                break
            if settled == set_by.settled:
                idle = self._idle(system, found.jumps, found.force)
                if idle.all():
                    break
                way.tied = found.jumps
        slid = sets.pull * (slip - way.start) > ease * set_by.slips
        return _Tried(found, gap, slip, after, far, idle, slid & ~may_return)

    def _fitted(self, task: _Task, sets: Sets, tried: _Tried, iterations: int) -> Fitted:
        """The step that kept sets make."""
        found = tried.found
        none = np.zeros(len(task.start))
        contact = Contact(
            closed=sets.closed,
            sticks=sets.sticks,
            force=found.force,
            pressure=found.force / self.joint.pairs.area,
            friction=found.friction,
            gap=np.where(sets.closed, 0.0, tried.gap),
            slip=tried.slip,
            intact=none > 0,
            broken=none > 0,
            filler=none,
        )
        solution = self.joint.solution(found, task.load)
        return Fitted(solution, contact, iterations, found.jumps, task.load, found.softer)

    def _near_sets(self, task: _Task) -> tuple[Sets, Array, int]:
        """Sets and jumps near the solution, and the systems factored for them."""
        count = len(self.joint.normal)
        pinned = self.joint.pinned(Sets(task.held, task.held, np.zeros(count)))
        known = np.concatenate([-task.overlap, task.start])
        known = np.where(pinned[self.joint.jump], known, 0.0)
        right = task.load - known @ self.joint.at_jumps
        right[pinned] = 0
        right[self.joint.jump] += known

        def factored(springs: Array) -> Callable[[Array], Array]:
            factor = self.joint.factored(self.joint.entries(pinned, springs))

            def jumps_of(forces: Array) -> Array:
                pushed = right.copy()
                pushed[self.joint.jump] += np.where(pinned[self.joint.jump], 0.0, forces)
                return factor.solve(pushed)[self.joint.jump]

            return jumps_of

        metal = self.joint.values[self.joint.diagonal[self.joint.jump]]
        found = from_inside(
            factored,
            free=~task.held,
            overlap=task.overlap,
            start=task.start,
            mu=task.mu,
            soft=self.settings.soft * metal[:count],
            aid=self.settings.weak_aid * self.settings.aid * metal,
            settings=self.settings,
        )
        sticks = found.closed & (
            task.held | ((task.mu > self.settings.no_friction) & (found.pull == 0))
        )
        return Sets(found.closed, sticks, found.pull), found.jumps, found.systems

    def error(self, message: str, doubt: Array) -> ContactError:
        """With the side of a joint where most is in doubt, and the worst place there.

        ``{part}`` in the message is the part on its own.
        """
        pairs = self.joint.pairs
        in_doubt = doubt * pairs.area
        sides = {side: self._on(side) for side in set(pairs.side)}
        part, against = max(sides, key=lambda side: in_doubt[sides[side]].sum())
        worst = np.argmax(np.where(sides[part, against], doubt, -1.0))
        place = self.points[pairs.own[worst]]
        return ContactError(message.format(part=part), part, against, place)

    def _on(self, side: tuple[str, str]) -> Flags:
        """Pairs of one side: the part on its own, and the part of the rest."""
        part, against = side
        return (self.joint.pairs.part == part) & (self.joint.pairs.against == against)

    def _beyond(self, moved: Array, farthest: float) -> Flags:
        """Whether each piece went further than one that is kept."""
        far = np.zeros(self.joint.piece.max() + 1, dtype=bool)
        far[np.tile(self.joint.piece, 2)[np.abs(moved) > farthest + self.largest]] = True
        return far

    def _idle(self, system: System, moved: Array, force: Array) -> Flags:
        """Whether the springs of each piece carry nothing that counts."""
        sets = system.sets
        free = ~np.concatenate([sets.closed, sets.sticks])
        motion = np.where(free, moved - system.tied, 0.0)
        carried = np.abs(system.springs * motion).reshape(2, -1).sum(axis=0)
        by_piece = np.bincount(self.joint.piece, carried)
        pressed = np.bincount(self.joint.piece, np.abs(force))
        far = np.zeros(len(pressed))
        np.maximum.at(far, self.joint.piece, np.abs(motion).reshape(2, -1).max(axis=0))
        set_by = self.settings
        carries_none = by_piece <= np.maximum(set_by.slight * pressed, set_by.unfelt)
        return carries_none | (far < set_by.unmoved)

    def _aid(self, sets: Sets) -> Array:
        """Stiffness of each piece's springs to begin with: stiffer where too few pairs keep it."""
        loose = np.bincount(self.joint.piece, sets.closed) < self.settings.fewest
        return np.where(loose, self.settings.loose_aid, self.settings.aid)

    def _clear(self, overlap: Array) -> Flags:
        """Whether each piece stands off farther, at all its pairs, than one that is kept goes."""
        nearest = np.full(self.joint.piece.max() + 1, -np.inf)
        np.maximum.at(nearest, self.joint.piece, overlap)
        return nearest < -self.settings.farthest

    def _first_sets(
        self, overlap: Array, before: Fitted | None, mu: Array, held: Flags
    ) -> tuple[Sets, Array]:
        """Pairs that touched last, or all without clearance, free to slide; where they stick."""
        if before is None:
            closed = held | (overlap >= 0)
            none = np.zeros(len(closed))
            return Sets(closed, held, none), none
        contact = before.contact
        closed = held | contact.closed
        begins = contact.friction == 0  # it closed within that step
        sticks = closed & (held | ((mu > 0) & (contact.sticks | begins)))
        pull = np.where(sticks | (mu == 0), 0.0, np.sign(contact.friction))
        return Sets(closed, sticks, pull), contact.slip

    def _next_sets(
        self,
        sets: Sets,
        found: Found,
        gap: Array,
        slip: Array,
        task: _Task,
        may_return: Flags,
        ease: float,
    ) -> Sets:
        """Sets by what the last ones led to; ``slip`` is that of this step."""
        force, friction, set_by = found.force, found.friction, self.settings
        mu, held = task.mu, task.held
        floor = ease * self.slight(force, sets.closed)
        closed = held | np.where(sets.closed, force > -floor, gap < -ease * set_by.closes)
        over = np.abs(friction) > mu * np.maximum(force, 0.0) + floor
        backwards = may_return & (slip * sets.pull > ease * set_by.slips)
        unmoved = (sets.pull == 0) & (np.abs(slip) <= ease * set_by.slips)
        goes_on = np.where(sets.sticks, ~over, (backwards | unmoved) & sets.closed)
        sticks = held | (closed & (mu > 0) & goes_on)
        pull = np.where(sets.sticks, np.sign(friction), sets.pull)
        still = sets.closed & (sets.sticks | (pull != 0))
        pull = np.where(still, pull, -np.sign(slip))  # as it moved since
        return Sets(closed, sticks, np.where(closed & ~sticks & (mu > 0), pull, 0.0))

    def _not_on_their_way(self, changes: Sequence[int], alone: bool) -> bool:
        """Whether the pairs that changed from sets to sets don't fall fast enough.

        ``alone`` is by the joint by itself, where more sets cost less than a way from inside.
        """
        over = self.settings.over_alone if alone else self.settings.over
        few, slow = self.settings.few, self.settings.slow
        return len(changes) > over and changes[-1] > max(few, slow * changes[-1 - over])

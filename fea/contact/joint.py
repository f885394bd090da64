"""The joint of a fitted part in the unknowns of its jumps, and what sets of pairs lead to.

The unknowns of a pair are the displacement of the rest and the jump from it to the part. The
stiffness is carried over from that of the nodes once for a temperature; each set of pairs that
touch and stick is one linear system, solved by the joint alone (:mod:`fea.contact.condensed`) or
by the whole section.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.assembly import Pattern
from fea.contact.condensed import Condensed, Held, mixed, settle
from fea.contact.pairs import Pairs
from fea.contact.settings import ContactSettings
from fea.factor import Factor
from fea.heat.thermal import thermal_load
from fea.model import SectionModel, Solution
from geometry.runs import runs

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_LOADS = 3
"""Loads whose effect on the jumps is kept."""
SAME_LOAD = 1e-12
"""Part of a load that is none."""


@dataclass(frozen=True, eq=False, slots=True)
class Sets:
    """Which pairs touch, which of those stick, and which way friction pulls the part elsewhere.

    Each of shape (k,).
    """

    closed: Flags
    sticks: Flags
    pull: Array  # -1 or 1 along the tangent where it slides with friction, else 0

    def differs(self, other: Sets) -> Flags:
        """Pairs that are in other sets there, shape (k,)."""
        return (
            (self.closed != other.closed)
            | (self.sticks != other.sticks)
            | (self.pull != other.pull)
        )

    def same(self, other: Sets) -> bool:
        """Whether no pair differs."""
        return not self.differs(other).any()

    def key(self) -> bytes:
        """The sets as something to look up."""
        return self.closed.tobytes() + self.sticks.tobytes() + self.pull.tobytes()

    def first_change(self, before: Sets) -> Sets:
        """Those before, but for the first pair that differs."""
        one = np.arange(len(self.pull)) == np.flatnonzero(self.differs(before))[0]
        return Sets(
            np.where(one, self.closed, before.closed),
            np.where(one, self.sticks, before.sticks),
            np.where(one, self.pull, before.pull),
        )


@dataclass(frozen=True, eq=False, slots=True)
class System:
    """The linear system of sets of pairs."""

    sets: Sets
    known: Array  # jumps where pairs touch and stick, 0 elsewhere, shape (2 k,) [mm]
    share: Array  # friction over pressing force where pairs slide, with its sign, shape (k,)
    springs: Array  # at the jumps, shape (2 k,) [N/mm]
    tied: Array  # jumps at which they carry nothing, shape (2 k,) [mm]


@dataclass(frozen=True, eq=False, slots=True)
class Found:
    """What sets of pairs lead to."""

    jumps: Array  # shape (2 k,) [mm]
    force: Array  # that presses each pair together, shape (k,) [N]
    friction: Array  # shape (k,) [N]
    whole: Array  # displacement in the unknowns of the jumps, shape (N,) [mm]; empty by itself
    softer: Array  # load that stands for softer metal on the joint by itself, shape (2 k,) [N]


class JointModel:
    """A parted section in the unknowns of the jumps of its joint.

    Analysed once; another temperature (:meth:`at`) shares the pattern, the factors and the joint
    by itself.

    Parameters
    ----------
    model : SectionModel
        Of the parted mesh.
    pairs : Pairs
    settings : ContactSettings

    Attributes
    ----------
    normal, tangent : ndarray of int, shape (k,)
        Unknowns of the jumps of each pair.
    jump : ndarray of int, shape (2 k,)
        Both, one after the other.
    piece : ndarray of int, shape (k,)
        Body of the part that each pair belongs to.
    to_nodes : sparse array, shape (N, N)
        Displacement of the nodes from the unknowns.
    values : ndarray
        Entries of the stiffness.
    diagonal : ndarray of int, shape (N,)
        Which of them are its diagonal.
    at_jumps : sparse array, shape (2 k, N)
        Its rows of the jumps.
    expansion : ndarray, shape (N,)
        Load of the thermal strain, in the unknowns of the nodes. [N]
    temperature : ndarray, shape (n,), or None
        None at 20 degC.
    """

    def __init__(self, model: SectionModel, pairs: Pairs, settings: ContactSettings) -> None:
        self.model, self.pairs, self.settings = model, pairs, settings
        self.normal, self.tangent = model.dofs[pairs.own].T  # unknowns of the jumps
        self.followers = model.dofs[pairs.middle[:, 0]].ravel()  # no unknowns any more
        self.to_nodes = self._displacement()
        self.piece = np.unique(model.node_bodies[pairs.own], return_inverse=True)[1]
        self.held = self._hold()
        self._find_pattern()
        self._set_temperature(None)
        # shared with other temperatures: the joint by itself, by the pieces' springs, and a pattern
        self._alone: list[tuple[Array, Condensed]] = []
        self._by_itself = False
        self._family: list[Factor] = []

    def at(self, temperature: Array) -> JointModel:
        """The same at another temperature of the nodes, shape (n,). [degC]."""
        other = copy(self)
        other._by_itself = False
        other._set_temperature(temperature)
        return other

    def by_itself(self) -> JointModel:
        """The same, its joint condensed at its own temperature.

        For many loads: without, each set costs back-substitutions until the metal that the joint
        was condensed from is made as soft as this.
        """
        if self._by_itself or (self._alone and self.is_of(self._alone[0][1])):
            return self
        other = copy(self)
        other._alone, other._by_itself = [], True
        return other

    def _set_temperature(self, temperature: Array | None) -> None:
        self.temperature = temperature
        softens = any(material.softening for material in self.model.materials.values())
        if temperature is None or softens:
            self.values = self._pattern.entries(self._carry(self.model.stiffness(temperature)))
            self.values[self.diagonal[self.followers]] = 1
            columns, starts, shape = self._jump_pattern
            rows = sparse.csr_array((self.values[self._of_jumps], columns, starts), shape=shape)
            self._with_jumps_known: Factor | None = None
            self.at_jumps, self._at_held = rows[: len(self.jump)], rows[len(self.jump) :]
        self._met: list[tuple[Array, Array]] = []
        self.expansion = np.zeros(self.model.dofs.size)
        if temperature is not None:
            expansion = thermal_load(self.model.mesh, self.model.materials, temperature)
            self.expansion[self.model.dofs] = expansion

    def _find_pattern(self) -> None:
        """How the stiffness in the unknowns of the jumps comes out of that of the nodes."""
        nodal, to = self.model.pattern, self.to_nodes.tobsr((2, 2))
        count = np.diff(to.indptr)  # nodes that each node depends on
        alone = (count[nodal.row] == 1) & (count[nodal.column] == 1)
        self._same, self._changed = np.flatnonzero(alone), np.flatnonzero(~alone)
        below = nodal.row[self._changed] != nodal.column[self._changed]
        self._below = self._changed[below]
        rows = np.concatenate([nodal.row[self._changed], nodal.column[self._below]])
        columns = np.concatenate([nodal.column[self._changed], nodal.row[self._below]])
        # the block of (row, column) goes to all pairs of nodes that those two depend on
        of, left = runs(to.indptr[rows], count[rows])
        again, right = runs(to.indptr[columns[of]], count[columns[of]])
        of, left = of[again], left[again]
        kept = to.indices[left] >= to.indices[right]
        self._source, left, right = of[kept], left[kept], right[kept]
        self._left, self._right = (
            np.ascontiguousarray(to.data[at].transpose(1, 2, 0)) for at in (left, right)
        )
        followers = self.followers[::2] // 2
        self._pattern = Pattern(
            np.concatenate([to.indices[left], nodal.row[self._same], followers]),
            np.concatenate([to.indices[right], nodal.column[self._same], followers]),
        )
        self._to_pairs, self._to_same, _ = np.split(
            self._pattern.pairs, np.cumsum([len(left), len(self._same)])
        )
        self._rows, self._starts = self._pattern.rows, self._pattern.starts
        self.diagonal = self._starts[:-1]
        self.jump = np.concatenate([self.normal, self.tangent])
        size = self.model.dofs.size
        watched = np.concatenate([self.jump, self.held])
        number = np.full(size, -1)
        number[watched] = np.arange(len(watched))
        entries, rows, columns = self._pattern.touching(number >= 0)
        in_row, in_column = number[rows] >= 0, (number[columns] >= 0) & (rows != columns)
        rows, columns = (
            np.concatenate([number[rows[in_row]], number[columns[in_column]]]),
            np.concatenate([columns[in_row], rows[in_column]]),
        )
        entries = np.concatenate([entries[in_row], entries[in_column]])
        found = sparse.coo_array((entries, (rows, columns)), shape=(len(watched), size)).tocsr()
        self._of_jumps = found.data
        self._jump_pattern = found.indices, found.indptr, found.shape

    def _carry(self, blocks: Array) -> Array:
        """Stiffness between pairs of nodes in the unknowns of the jumps, from that of the nodes."""
        turned = np.take(blocks, self._below, axis=2).swapaxes(0, 1)
        both = np.concatenate([np.take(blocks, self._changed, axis=2), turned], axis=2)
        moved = np.einsum("ikn,ijn->kjn", self._left, np.take(both, self._source, axis=2))
        moved = np.einsum("kjn,jln->kln", moved, self._right)
        carried = np.zeros((2, 2, self._pattern.size))
        for i, j in np.ndindex(2, 2):
            carried[i, j, self._to_same] = blocks[i, j, self._same]
            np.add.at(carried[i, j], self._to_pairs, moved[i, j])
        return carried

    def _displacement(self) -> sparse.csr_array:
        """Displacement of the nodes from that of the rest and the jumps, shape (N, N)."""
        dofs, pairs = self.model.dofs, self.pairs
        own, other = dofs[pairs.own], dofs[pairs.other]
        middle, middle_other = dofs[pairs.middle[:, 0]], dofs[pairs.middle[:, 1]]
        kept = np.ones(dofs.size, dtype=bool)
        kept[own] = kept[middle] = False
        same = np.flatnonzero(kept)
        entries = [(same, same, np.ones(same.shape))]
        entries += [(own, other, np.ones(own.shape)), (middle, middle_other, np.ones(middle.shape))]
        for direction, unknown in ((pairs.normal, own[:, [0, 0]]), (pairs.tangent, own[:, [1, 1]])):
            entries.append((own, unknown, direction))
            for end in pairs.sides.T:
                entries.append((middle, unknown[end], direction[end] / 2))
        rows, columns, values = (
            np.concatenate([entry[k].ravel() for entry in entries]) for k in range(3)
        )
        return sparse.csr_array(
            sparse.coo_array((values, (rows, columns)), shape=(dofs.size, dofs.size))
        )

    def _hold(self) -> Integers:
        """Unknowns that hold one body of each assembly that hangs together by the joint."""
        model, pairs = self.model, self.pairs
        body = model.node_bodies
        size = np.bincount(model.bodies)
        kept = one_of_each(body[pairs.own], body[pairs.other], size)
        node_of = np.argsort(model.dofs[:, 0])
        return model.held[np.isin(body[node_of[model.held // 2]], kept)]

    def factored(self, entries: Array) -> Factor:
        """Factor of some entries, the pattern analysed when the first are factored.

        Parameters
        ----------
        entries : ndarray, shape (entries,)
            From :meth:`entries`.

        Raises
        ------
        NotPositiveDefiniteError
            If a pivot is not positive.
        """
        if self._family:
            return self._family[0].refactor(entries)
        shape = (self.model.dofs.size,) * 2
        self._family.append(
            Factor(sparse.csc_array((entries, self._rows, self._starts), shape=shape))
        )
        return self._family[0]

    def springs(self, aid: Array) -> Array:
        """Stiffness of the springs at the jumps, shape (2 k,). [N/mm].

        Parameters
        ----------
        aid : ndarray, shape (pieces,)
            That of each piece, over the stiffness of the metal at its nodes.
        """
        return np.tile(aid[self.piece], 2) * self.values[self.diagonal[self.jump]]

    def pinned(self, sets: Sets) -> Flags:
        """Unknowns that the sets make known, shape (N,)."""
        pinned = np.zeros(self.model.dofs.size, dtype=bool)
        pinned[self.held] = True
        pinned[self.followers] = True
        pinned[self.normal[sets.closed]] = True
        pinned[self.tangent[sets.sticks]] = True
        return pinned

    def entries(self, pinned: Flags, springs: Array) -> Array:
        """Lower triangle with the pinned unknowns cut off, and the springs at the jumps.

        Parameters
        ----------
        pinned : ndarray of bool, shape (N,)
        springs : ndarray, shape (2 k,)
            [N/mm]

        Returns
        -------
        ndarray
            In the order of ``values``. [N/mm]
        """
        values = self.values.copy()
        values[self.diagonal[self.jump]] += springs
        watched = np.concatenate([self.jump, self.held])
        _, starts, _ = self._jump_pattern
        values[self._of_jumps[np.repeat(pinned[watched], np.diff(starts))]] = 0
        values[self.diagonal[pinned]] = 1
        return values

    def condense(self, aid: Array) -> Condensed | None:
        """The joint by itself, if each piece has springs as usual or as of a loose one.

        None where the springs are others, or its matrix would be too large.

        That of the temperature that asks first serves all, but for those :meth:`by_itself`.

        Parameters
        ----------
        aid : ndarray, shape (pieces,)
            As :meth:`springs` takes it.
        """
        set_by = self.settings
        usual = np.full(len(aid), set_by.aid)
        known = np.isin(aid, (set_by.aid, set_by.loose_aid)).all()
        if len(self.jump) > set_by.most_condensed or not known:
            return None
        if not self._alone:
            springs = self.springs(usual)
            free = self.entries(self._pinned_all(False), springs)
            flexibility = self._bodies().corner_of_inverse(free, self.jump)
            self._alone.append((usual, Condensed.of_lower(self.values, springs, flexibility)))
        for kept, found in self._alone:
            if (kept == aid).all():
                return found
        first = self._alone[0][1]
        found = first.with_springs(first.springs * np.tile(aid[self.piece] / set_by.aid, 2))
        self._alone[1:] = [(aid, found), *self._alone[1 : set_by.most_kept - 1]]
        return found

    def is_of(self, condensed: Condensed) -> bool:
        """Whether the joint by itself has this stiffness."""
        return condensed.values is self.values

    def _pinned_all(self, jumps: bool) -> Flags:
        """Unknowns that are known with all jumps, or with none."""
        flags = np.full(len(self.normal), jumps)
        return self.pinned(Sets(flags, flags, np.zeros(len(flags))))

    def _bodies(self) -> Factor:
        """Factor of the section with all jumps known; it is asked in turn with others."""
        if self._with_jumps_known is None:
            entries = self.entries(self._pinned_all(True), np.zeros(len(self.jump)))
            if not self._family:
                self.factored(entries)
            self._with_jumps_known = self._family[0].apart(entries)
        return self._with_jumps_known

    def held_at(self, jumps: Array, load: Array) -> tuple[Array, Array]:
        """What a load makes with the jumps held.

        Parameters
        ----------
        jumps : ndarray, shape (2 k,)
            [mm]
        load : ndarray, shape (N,)
            In the unknowns of the jumps. [N]

        Returns
        -------
        whole : ndarray, shape (N,)
            Displacement in the unknowns of the jumps. [mm]
        unmet : ndarray, shape (2 k,)
            Load on the jumps that nothing has met. [N]
        """
        right = load - jumps @ self.at_jumps
        right[self.held] = right[self.followers] = 0
        right[self.jump] = jumps
        whole = self._bodies().solve(right)
        return whole, load[self.jump] - self.at_jumps @ whole

    def loaded(self, load: Array) -> Array:
        """Load on the jumps where none has moved, shape (2 k,), of a load of shape (N,). [N].

        Loads are mostly made of two, heat and gas: what was found of some serves for all that they
        make. What is on the jumps already stays there.
        """
        bodies = load.copy()
        bodies[self.jump] = 0
        if not bodies.any():
            return load[self.jump]
        if self._met:
            loads = np.stack([one for one, _ in self._met], axis=1)
            shares = np.linalg.lstsq(loads, load, rcond=None)[0]
            off = np.abs(loads @ shares - load).max()
            if off <= SAME_LOAD * np.abs(load).max():
                return np.stack([on for _, on in self._met], axis=1) @ shares
        on = self.held_at(np.zeros(len(self.jump)), load)[1]
        self._met[:] = [*self._met[1 - MOST_LOADS :], (load, on)]
        return on

    def system(
        self,
        sets: Sets,
        overlap: Array,
        start: Array,
        mu: Array,
        springs: Array,
        tied: Array,
    ) -> System:
        """The linear system of sets.

        Parameters
        ----------
        sets : Sets
        overlap, start : ndarray, shape (k,)
            Overlap of each pair, and its slip where it sticks. [mm]
        mu : ndarray, shape (k,)
            Friction coefficient.
        springs, tied : ndarray, shape (2 k,)
            Springs at the jumps [N/mm], and where they carry nothing. [mm]
        """
        known = np.where(sets.closed, -overlap, 0.0), np.where(sets.sticks, start, 0.0)
        return System(sets, np.concatenate(known), mu * sets.pull, springs, tied)

    def solve_joint(
        self,
        system: System,
        held: Held,
        load: Array,
        loaded: Array,
        softer: Array,
        sliding: Array,
        settled: float,
    ) -> Found:
        """What sets lead to, by the joint alone and the load on it where no pair has moved.

        Metal at another temperature than that of the joint is softer or stiffer: the difference
        of its forces is put on the joint as a load until there is none.

        Parameters
        ----------
        system : System
        held : Held
            The joint with the jumps of the sets held.
        load : ndarray, shape (N,)
            In the unknowns of the jumps. [N]
        loaded, softer : ndarray, shape (2 k,)
            Load on the joint where no pair has moved, and what stands for softer metal. [N]
        sliding : ndarray, shape (k,)
            Friction to begin from. [N]
        settled : float
            Change of the friction, over the largest, that is none.
        """
        sets, count = system.sets, len(self.normal)
        exact = self.is_of(held.joint)
        agreed = self.settings.rough if settled == self.settings.rough else self.settings.agreed
        whole = np.zeros(0)
        tried: list[tuple[Array, Array]] = []
        for _ in range(self.settings.most_sweeps):
            jumps, reaction, sliding = held.solve(
                system.known, loaded + softer, system.tied, system.share, sliding, agreed
            )
            if exact:
                break
            whole, unmet = self.held_at(jumps, load)
            differs = reaction + unmet
            tried.append((softer, differs))
            softer = mixed(tried)
            if np.abs(differs).max() <= max(agreed * np.abs(reaction).max(), self.settings.unfelt):
                break
        force = np.where(sets.closed, -reaction[:count], 0.0)
        friction = np.where(sets.sticks, reaction[count:], sliding)
        return Found(jumps, force, friction, whole, softer)

    def solve_section(
        self, system: System, factor: Factor, load: Array, sliding: Array, settled: float
    ) -> Found:
        """What sets lead to, by the whole section.

        The friction of pairs that slide follows their pressing force: the part of the linear
        system that is not symmetric is met by repeated back-substitution.

        Parameters
        ----------
        system : System
        factor : Factor
            Of the entries with the unknowns of the sets pinned.
        load : ndarray, shape (N,)
            In the unknowns of the jumps. [N]
        sliding : ndarray, shape (k,)
            Friction to begin from. [N]
        settled : float
            Change of the friction, over the largest, that is none.
        """
        sets, known, share = system.sets, system.known, system.share
        stiffness, count = self.at_jumps, len(self.normal)
        right = load - known @ stiffness
        right[self.jump] += system.springs * system.tied
        pinned = self.pinned(sets)
        right[pinned] = 0
        right[self.jump] = np.where(pinned[self.jump], known, right[self.jump])
        slides = sets.pull != 0

        def pushed_by(sliding: Array) -> tuple[tuple[Array, Array], Array]:
            pushed = right.copy()
            pushed[self.tangent[slides]] += sliding[slides]
            whole = factor.solve(pushed)
            reaction = stiffness @ whole - load[self.jump]
            return (whole, reaction), share * np.where(sets.closed, -reaction[:count], 0.0)

        (whole, reaction), _, sliding = settle(pushed_by, np.where(slides, sliding, 0.0), settled)
        force = np.where(sets.closed, -reaction[:count], 0.0)
        friction = np.where(sets.sticks, reaction[count:], sliding)
        return Found(whole[self.jump], force, friction, whole, np.zeros(2 * count))

    def jumped(self, jumps: Array) -> Array:
        """Displacement of the nodes, shape (n, 2), that jumps of shape (2 k,) are alone. [mm]."""
        whole = np.zeros(self.model.dofs.size)
        whole[self.jump] = jumps
        return np.asarray((self.to_nodes @ whole)[self.model.dofs])

    def solution(self, found: Found, load: Array) -> Solution:
        """The section as sets have led to it under a load in the unknowns of the jumps, (N,)."""
        whole = found.whole if len(found.whole) else self.held_at(found.jumps, load)[0]
        displacement = self.to_nodes @ whole
        reactions = np.zeros(len(load))
        reactions[self.held] = self._at_held @ whole - load[self.held]
        dofs = self.model.dofs
        return Solution(
            self.model,
            displacement[dofs],
            reactions[dofs],
            reactions[self.held],
            temperature=self.temperature,
        )


def one_of_each(own: Integers, other: Integers, size: Integers) -> Integers:
    """The body to be held of each assembly that hangs together by a joint.

    Of the rest where there is one of it, the largest of those.

    Parameters
    ----------
    own, other : ndarray of int, shape (k,)
        Body of the part and of the rest at each pair.
    size : ndarray of int, shape (bodies,)
        Elements of each body.

    Returns
    -------
    ndarray of int, shape (assemblies,)
    """
    count = len(size)
    links = sparse.coo_array((np.ones(len(own)), (own, other)), shape=(count, count))
    _, assembly = connected_components(links, directed=False)
    of_rest = np.isin(np.arange(count), other)
    return np.array(
        [
            max(np.flatnonzero(assembly == number), key=lambda one: (of_rest[one], size[one]))
            for number in range(assembly.max() + 1)
        ]
    )

"""Press fit: two bodies that touch along a joint, open, stick and slide.

Corner nodes lie in pairs along the joint (:mod:`geometry.parted`). The unknowns of a pair are the
displacement of the rest and the jump from it to the part, along the normal n out of the part and
along the tangent t; from pair to pair the jump is linear, so that the forces of quadratic sides
don't alternate from node to node. With an overlap delta (half of the interference on the
diameter) the jump g, the force lambda that presses a pair together and the friction force tau obey

    g_n + delta <= 0,   lambda >= 0,   lambda (g_n + delta) = 0,
    |tau| <= mu lambda,   tau = -mu lambda sign(slip) where it slips,

under small sliding. The jump of a pair that touches is known, so each set of pairs that touch and
stick is one linear system, symmetric and positive definite, on a pattern that is analysed once; the
sets are found by a primal-dual active-set method, which is a semi-smooth Newton method.

A pair that closes within a load step slides free of friction until the next. Soft springs keep a
piece that nothing holds; they are softened until what they carry no longer counts.

References
----------
.. [1] Hueeber & Wohlmuth, *Comput. Methods Appl. Mech. Engrg.* 194 (2005) 3147-3166
   (from memory).
.. [2] Hintermueller, Ito & Kunisch, *SIAM J. Optim.* 13 (2003) 865-888 (from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.elasticity import edge_points
from fea.factor import Factor
from fea.material import Material
from fea.model import SectionModel, Solution
from fea.thermal import thermal_load
from geometry.parted import Parted

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_ITERATIONS = 25
"""Linear solves that a load step may take."""
AID = 1e-7
"""Stiffness of the springs that keep a piece, over that of the metal at its nodes."""
LOOSE_AID, FIRST_AID, WEAKER = 1e-5, 1e-3, 10.0
"""The same where a piece is loose, to begin with, and the factor by which it falls from there."""
MOST_SWEEPS = 30
"""Back-substitutions that one set of pairs may take until its friction is settled."""
ROUGH, SETTLED = 0.01, 1e-5
"""Change of the friction forces from one to the next, over the largest, that is let pass while
the sets change, and when they don't."""
SLIGHT = 1e-4
"""Pull on a pair, or friction beyond its limit, over the mean force of a pair, that is none."""
CLOSES = SLIPS = 1e-7
"""Overlap that closes a pair, and slip against the friction that stops it. [mm]."""
MOST_RETURNS = 3
"""A pair that went back from sliding to sticking so often slides on, by less than it matters."""
FEWEST = 4
"""Pairs that touch and can keep a piece."""
FARTHEST = 0.5
"""Jump that only a loose piece makes. [mm]."""


_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(4)
_S, _S_WEIGHT = (1 + _GAUSS) / 2, _GAUSS_WEIGHT / 2
_SHAPES = np.stack([(1 - _S) * (1 - 2 * _S), _S * (2 * _S - 1), 4 * _S * (1 - _S)])


class ContactError(RuntimeError):
    """The pairs that touch were not found within the iterations allowed."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Fit:
    """How a part is fitted against one part of the rest.

    Raises
    ------
    ValueError
        If a number is not finite, or friction is negative.
    """

    overlap: float = 0.0  # of each side: half the interference on the diameter; < 0 clear [mm]
    friction: float = 0.0  # Coulomb's coefficient
    bonded: bool = False  # can neither open nor slide

    def __post_init__(self) -> None:
        if not np.isfinite(self.overlap):
            raise ValueError(f"overlap = {self.overlap:g} mm must be a number.")
        if not 0 <= self.friction < np.inf:
            raise ValueError(f"friction = {self.friction:g} must not be negative.")


@dataclass(frozen=True, eq=False, slots=True)
class Pairs:
    """The joint node by node.

    Attributes
    ----------
    own, other : ndarray, shape (k,)
        Corner nodes of the part and of the rest.
    sides : ndarray, shape (m, 2)
        The two pairs of each side of the joint.
    middle : ndarray, shape (m, 2)
        Mid-side node of the part, and of the rest.
    normal : ndarray, shape (k, 2)
        Out of the part.
    area : ndarray, shape (k,)
        Of contact that belongs to the pair, over the depth that touches. [mm2]
    against : ndarray of str, shape (k,)
        Part of the rest; where two meet, that of the larger area.
    """

    own: Integers
    other: Integers
    sides: Integers
    middle: Integers
    normal: Array
    area: Array
    against: NDArray[np.str_]

    @property
    def tangent(self) -> Array:
        """The normal turned a quarter counter-clockwise, shape (k, 2)."""
        return np.stack([-self.normal[:, 1], self.normal[:, 0]], axis=1)


def pairs_of(parted: Parted) -> Pairs:
    """The pairs of nodes of a joint.

    Parameters
    ----------
    parted : Parted
    """
    joint, points = parted.joint, parted.mesh.points
    _, (dx, dy) = edge_points(points[joint.own].transpose(2, 1, 0), _S)
    depth = np.einsum("ap,ka->pk", _SHAPES, joint.depth)
    hats = np.stack([1 - _S, _S])[:, :, None] * _S_WEIGHT[:, None]  # (2, points, 1)
    outward = np.stack([(hats * dy).sum(1), -(hats * dx).sum(1)])  # (2, 2, k)
    area = (hats * np.hypot(dx, dy) * depth).sum(1)  # (2, k)

    own, sides = np.unique(joint.own[:, :2], return_inverse=True)
    sides = sides.reshape(-1, 2)
    other = np.empty(len(own), dtype=np.int64)
    other[sides] = joint.other[:, :2]
    normal = np.stack([np.bincount(sides.T.ravel(), of.ravel(), len(own)) for of in outward], 1)
    normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    names = np.unique(joint.against)
    by_name = np.stack(
        [
            np.bincount(sides[joint.against == name].T.ravel(),
                        area[:, joint.against == name].ravel(), len(own))
            for name in names
        ]
    )  # fmt: skip
    middle = np.stack([joint.own[:, 2], joint.other[:, 2]], axis=1)
    against = names[by_name.argmax(axis=0)]
    return Pairs(own, other, sides, middle, normal, by_name.sum(axis=0), against)


@dataclass(frozen=True, eq=False, slots=True)
class Contact:
    """What the pairs of a joint do under a load.

    Attributes
    ----------
    closed, sticks : ndarray of bool, shape (k,)
        Whether a pair touches, and does not slide.
    force : ndarray, shape (k,)
        That presses the pair together; less than 0 only where it is bonded. [N]
    pressure : ndarray, shape (k,)
        The same over the area of the pair. [MPa]
    friction : ndarray, shape (k,)
        On the part, along the tangent (the normal turned a quarter counter-clockwise). [N]
    gap : ndarray, shape (k,)
        Opening; 0 where it touches. [mm]
    slip : ndarray, shape (k,)
        Of the part along the tangent, since it was fitted. [mm]
    """

    closed: Flags
    sticks: Flags
    force: Array
    pressure: Array
    friction: Array
    gap: Array
    slip: Array


@dataclass(frozen=True, eq=False, slots=True)
class Fitted:
    """A fitted section under one load step."""

    solution: Solution
    contact: Contact
    iterations: int  # linear solves


@dataclass(frozen=True, eq=False, slots=True)
class _Sets:
    """Which pairs touch, which of those stick, and which way friction pulls the part elsewhere."""

    closed: Flags
    sticks: Flags
    pull: Array  # -1 or 1 along the tangent where it slides with friction, else 0

    def differs(self, other: _Sets) -> Flags:
        """Pairs that are in other sets there."""
        return (
            (self.closed != other.closed)
            | (self.sticks != other.sticks)
            | (self.pull != other.pull)
        )

    def same(self, other: _Sets) -> bool:
        """Whether no pair differs."""
        return not self.differs(other).any()

    def key(self) -> bytes:
        """The sets as something to look up."""
        return self.closed.tobytes() + self.sticks.tobytes() + self.pull.tobytes()

    def first_change(self, before: _Sets) -> _Sets:
        """Those before, but for the first pair that differs."""
        one = np.arange(len(self.pull)) == np.flatnonzero(self.differs(before))[0]
        return _Sets(
            np.where(one, self.closed, before.closed),
            np.where(one, self.sticks, before.sticks),
            np.where(one, self.pull, before.pull),
        )


class FittedModel:
    """A part fitted into the rest, ready for load steps.

    Analysed once; each set of pairs that touch and stick costs a numeric factorisation, whatever
    the load, the fit (:meth:`with_fits`) or the temperature (:meth:`at`).

    Parameters
    ----------
    parted : Parted
    materials : mapping of str to Material
    fits : mapping of str to Fit
        By the part of the rest that is fitted against; bonded without overlap where none is named.
    aid : float
        Stiffness of the springs that keep a piece which touches nothing, over that of the metal
        at its nodes.

    Attributes
    ----------
    parted : Parted
    model : SectionModel
        Of the parted mesh.
    pairs : Pairs
    fits : mapping of str to Fit
    temperature : ndarray, shape (n,), or None
        None at 20 degC.

    Raises
    ------
    ValueError
        If a fit is named for a part that the joint does not touch, or the joint has no sides.
    """

    def __init__(
        self,
        parted: Parted,
        materials: Mapping[str, Material],
        fits: Mapping[str, Fit],
        aid: float = AID,
    ) -> None:
        if not len(parted.joint.own):
            raise ValueError(f"the {parted.joint.part} touches nothing.")
        self.parted = parted
        self.model = SectionModel(parted.mesh, materials)
        self.pairs = pairs_of(parted)
        self._set_fits(fits)
        self._normal, self._tangent = self.model.dofs[self.pairs.own].T  # unknowns of the jumps
        self._followers = self.model.dofs[self.pairs.middle[:, 0]].ravel()  # no unknowns any more
        self._to_nodes = self._jumps()
        self._body = np.full(len(parted.mesh.points), -1)
        self._body[parted.mesh.triangles] = self.model.bodies[:, None]
        self._piece = np.unique(self._body[self.pairs.own], return_inverse=True)[1]
        self._held = self._hold()
        self._aid = aid
        self._pattern = self._find_pattern()
        self._set_temperature(None)
        lower = self._stiffness[1]
        self._rows = lower.indices
        self._columns = np.repeat(np.arange(lower.shape[1]), np.diff(lower.indptr))
        self._diagonal = np.flatnonzero(self._rows == self._columns)
        none = np.zeros(len(self.pairs.own), dtype=bool)
        held = self._pinned(_Sets(none, none, np.zeros(len(none))))
        self._factor = Factor(
            sparse.csc_array(
                (self._entries(held, aid), lower.indices, lower.indptr), shape=lower.shape
            )
        )

    def with_fits(self, fits: Mapping[str, Fit]) -> FittedModel:
        """The same bodies with other fits; nothing is assembled or analysed again.

        Raises
        ------
        ValueError
            If a fit is named for a part that the joint does not touch.
        """
        other = copy(self)
        other._set_fits(fits)
        return other

    def at(self, temperature: ArrayLike) -> FittedModel:
        """The same bodies at another temperature: expansion, and the modulus where it changes.

        Parameters
        ----------
        temperature : array_like, shape (n,)
            At the nodes of the parted mesh. [degC]
        """
        other = copy(self)
        other._set_temperature(np.asarray(temperature, dtype=float))
        return other

    def _set_fits(self, fits: Mapping[str, Fit]) -> None:
        against = self.pairs.against
        if unknown := sorted(set(fits) - set(against)):
            raise ValueError(
                f"the {self.parted.joint.part} does not touch {', '.join(unknown)}. Choose from "
                f"{', '.join(np.unique(against))}."
            )
        self.fits = dict(fits)
        of = [fits.get(name, Fit(bonded=True)) for name in against]
        self._overlap = np.array([fit.overlap for fit in of])
        self._mu = np.array([fit.friction for fit in of])
        self._bonded = np.array([fit.bonded for fit in of])

    def _set_temperature(self, temperature: Array | None) -> None:
        self.temperature = temperature
        to = self._to_nodes
        alone = np.zeros(self.model.dofs.size)
        alone[self._followers] = 1
        whole = to.T @ self.model.stiffness(temperature) @ to + sparse.diags_array(alone)
        self._stiffness = sparse.csr_array(whole), _on_pattern(whole, self._pattern)
        self._expansion = np.zeros(self.model.dofs.size)
        if temperature is not None:
            expansion = thermal_load(self.parted.mesh, self.model.materials, temperature)
            self._expansion[self.model.dofs] = expansion

    def _find_pattern(self) -> sparse.csc_array:
        """Lower triangle of what the jumps may couple, entries that happen to be 0 among them."""
        coupled = abs(self.model.stiffness())
        coupled.data[:] = 1
        reach = abs(self._to_nodes)
        pattern = reach.T @ coupled @ reach + sparse.eye_array(self.model.dofs.size)
        lower = sparse.csc_array(sparse.tril(pattern, format="csc"))
        lower.sort_indices()
        return lower

    def _jumps(self) -> sparse.csr_array:
        """Displacement of the nodes from that of the rest and the jumps, shape (N, N)."""
        dofs, pairs = self.model.dofs, self.pairs
        own, other = dofs[pairs.own], dofs[pairs.other]
        middle, middle_other = dofs[pairs.middle[:, 0]], dofs[pairs.middle[:, 1]]
        same = np.ones(dofs.size)
        same[own] = same[middle] = 0
        entries = [(np.arange(same.size), np.arange(same.size), same)]
        entries += [(own, other, np.ones(own.shape)), (middle, middle_other, np.ones(middle.shape))]
        for direction, unknown in ((pairs.normal, own[:, [0, 0]]), (pairs.tangent, own[:, [1, 1]])):
            entries.append((own, unknown, direction))
            for end in pairs.sides.T:
                entries.append((middle, unknown[end], direction[end] / 2))
        rows, columns, values = (
            np.concatenate([entry[k].ravel() for entry in entries]) for k in range(3)
        )
        return sparse.csr_array(
            sparse.coo_array((values, (rows, columns)), shape=(same.size, same.size))
        )

    def _hold(self) -> Integers:
        """Unknowns that hold one body of each assembly that hangs together by the joint."""
        model, pairs = self.model, self.pairs
        body = self._body
        count = int(model.bodies.max()) + 1
        links = sparse.coo_array(
            (np.ones(len(pairs.own)), (body[pairs.own], body[pairs.other])), shape=(count, count)
        )
        _, assembly = connected_components(links, directed=False)
        of_rest = np.isin(np.arange(count), body[pairs.other])
        size = np.bincount(model.bodies, minlength=count)
        kept = [
            max(np.flatnonzero(assembly == number), key=lambda one: (of_rest[one], size[one]))
            for number in range(assembly.max() + 1)
        ]
        node_of = np.argsort(model.dofs[:, 0])
        return model.held[np.isin(body[node_of[model.held // 2]], kept)]

    def solve(self, forces: ArrayLike | None = None, before: Fitted | None = None) -> Fitted:
        """Find what touches under nodal forces, at the temperature of the model.

        Parameters
        ----------
        forces : array_like, shape (n, 2), optional
            On the nodes of the parted mesh; none if left out. [N]
        before : Fitted, optional
            The load step before, from which friction goes on.

        Raises
        ------
        ContactError
            If the iterations allowed do not suffice.
        """
        load = self._expansion.copy()
        if forces is not None:
            load[self.model.dofs] += np.asarray(forces, dtype=float)
        load = self._to_nodes.T @ load
        sets, start = self._first_sets(before)
        mu = np.where(sets.closed, self._mu, 0.0)
        aid = goal = self._aid
        if self._loose(sets):
            aid, goal = FIRST_AID, LOOSE_AID
        sliding = np.zeros(len(start))
        returns = np.zeros(len(start), dtype=np.int64)  # from sliding to sticking
        seen: set[bytes] = set()
        for iteration in range(1, MOST_ITERATIONS + 1):
            factor = self._factor.refactor(self._entries(self._pinned(sets), aid))
            for settled in (ROUGH, SETTLED):
                jumps, force, friction = self._solve_sets(
                    factor, load, sets, start, mu, sliding, settled
                )
                gap, slip = -jumps[self._normal] - self._overlap, jumps[self._tangent]
                after = self._next_sets(
                    sets, force, friction, gap, slip - start, mu, returns < MOST_RETURNS
                )
                sliding = friction
                if not after.same(sets):
                    break
            if max(np.abs(gap).max(), np.abs(slip).max()) > FARTHEST and aid < FIRST_AID:
                aid, goal = FIRST_AID, LOOSE_AID
            elif not after.same(sets):
                if after.key() in seen:  # by turns: let one pair change alone
                    after = after.first_change(sets)
                seen.add(after.key())
                start = np.where(after.closed & ~sets.closed, slip, start)
                returns += sets.closed & ~sets.sticks & after.sticks
                sets = after
            elif aid > 1.5 * goal and sets.closed.any():
                aid /= WEAKER
                seen.clear()
            else:
                gap = np.where(sets.closed, 0.0, gap)
                pressure = force / self.pairs.area
                contact = Contact(sets.closed, sets.sticks, force, pressure, friction, gap, slip)
                return Fitted(self._solution(jumps, load), contact, iteration)
        raise ContactError(
            f"what touches of the {self.parted.joint.part} was not found in {MOST_ITERATIONS} "
            "iterations."
        )

    def _loose(self, sets: _Sets) -> bool:
        """Whether a piece touches at fewer pairs than can keep it."""
        return bool((np.bincount(self._piece, sets.closed) < FEWEST).any())

    def _first_sets(self, before: Fitted | None) -> tuple[_Sets, Array]:
        """Pairs that touched last, or all that have no clearance; and where they stick."""
        if before is None:
            closed = self._bonded | (self._overlap >= 0)
            none = np.zeros(len(closed))
            return _Sets(closed, closed & (self._bonded | (self._mu > 0)), none), none
        contact = before.contact
        closed = self._bonded | contact.closed
        sticks = closed & (contact.sticks | self._bonded)
        pull = np.where(sticks, 0.0, np.sign(contact.friction))
        return _Sets(closed, sticks, pull), contact.slip

    def _next_sets(
        self,
        sets: _Sets,
        force: Array,
        friction: Array,
        gap: Array,
        slip: Array,
        mu: Array,
        may_return: Flags,
    ) -> _Sets:
        """Sets by what the last ones led to; ``slip`` is that of this step."""
        floor = SLIGHT * np.abs(force).sum() / max(np.count_nonzero(sets.closed), 1)
        closed = self._bonded | np.where(sets.closed, force > -floor, gap < -CLOSES)
        over = np.abs(friction) > mu * np.maximum(force, 0.0) + floor
        backwards = may_return & (slip * sets.pull > SLIPS)
        goes_on = np.where(sets.sticks, ~over, backwards)
        new = closed & ~sets.closed
        sticks = self._bonded | (closed & (mu > 0) & (goes_on | new))
        pull = np.where(sets.sticks, np.sign(friction), sets.pull)
        return _Sets(closed, sticks, np.where(closed & ~sticks & (mu > 0), pull, 0.0))

    def _pinned(self, sets: _Sets) -> Flags:
        """Unknowns that the sets make known."""
        pinned = np.zeros(self.model.dofs.size, dtype=bool)
        pinned[self._held] = True
        pinned[self._followers] = True
        pinned[self._normal[sets.closed]] = True
        pinned[self._tangent[sets.sticks]] = True
        return pinned

    def _entries(self, pinned: Flags, aid: float) -> Array:
        """Lower triangle with the pinned unknowns cut off, and the aid at the jumps."""
        values = self._stiffness[1].data.copy()
        jumps = self._diagonal[np.concatenate([self._normal, self._tangent])]
        values[jumps] *= 1 + aid
        values[pinned[self._rows] | pinned[self._columns]] = 0
        values[self._diagonal[pinned]] = 1
        return values

    def _solve_sets(
        self,
        factor: Factor,
        load: Array,
        sets: _Sets,
        start: Array,
        mu: Array,
        sliding: Array,
        settled: float,
    ) -> tuple[Array, Array, Array]:
        """Displacement in the unknowns of the jumps, pressing force and friction of each pair.

        The friction of pairs that slide follows their pressing force: the part of the linear
        system that is not symmetric is met by repeated back-substitution.
        """
        pinned = self._pinned(sets)
        known = np.zeros(len(load))
        known[self._normal[sets.closed]] = -self._overlap[sets.closed]
        known[self._tangent[sets.sticks]] = start[sets.sticks]
        stiffness = self._stiffness[0]
        right = load - stiffness @ known
        right[pinned] = known[pinned]
        share = mu * sets.pull
        slides = self._tangent[sets.pull != 0]
        sliding = np.where(sets.pull != 0, sliding, 0.0)
        for _ in range(MOST_SWEEPS):
            pushed = right.copy()
            pushed[slides] += sliding[sets.pull != 0]
            jumps = factor.solve(pushed)
            reaction = stiffness @ jumps - load
            force = np.where(sets.closed, -reaction[self._normal], 0.0)
            change = share * force - sliding
            sliding = share * force
            if np.abs(change).max() <= settled * np.abs(sliding).max():
                break
        friction = np.where(sets.sticks, reaction[self._tangent], sliding)
        return jumps, force, friction

    def _solution(self, jumps: Array, load: Array) -> Solution:
        displacement = self._to_nodes @ jumps
        reactions = np.zeros(len(load))
        reactions[self._held] = (self._stiffness[0] @ jumps - load)[self._held]
        dofs = self.model.dofs
        return Solution(
            self.model,
            displacement[dofs],
            reactions[dofs],
            reactions[self._held],
            temperature=self.temperature,
        )


def _on_pattern(matrix: sparse.csr_array, pattern: sparse.csc_array) -> sparse.csc_array:
    """Lower triangle of a symmetric matrix with the entries of a pattern that holds all of it."""
    lower = sparse.csc_array(sparse.tril(matrix, format="csc"))
    lower.sort_indices()
    if lower.nnz == pattern.nnz:
        return lower
    size = pattern.shape[0]
    here, there = (
        np.repeat(np.arange(size, dtype=np.int64), np.diff(m.indptr)) * size + m.indices
        for m in (lower, pattern)
    )
    values = np.zeros(pattern.nnz)
    values[np.searchsorted(there, here)] = lower.data
    return sparse.csc_array((values, pattern.indices, pattern.indptr), shape=pattern.shape)

"""Press fit: two bodies that touch along a joint, open, stick and slide.

Corner nodes lie in pairs along the joint (:mod:`geometry.parted`). The unknowns of a pair are the
displacement of the rest and the jump from it to the part, along the normal n out of the part and
along the tangent t; from pair to pair the jump is linear, so that the forces of quadratic sides
don't alternate from node to node. With an overlap delta (half of the interference on the
diameter) the jump g, the force lambda that presses a pair together and the friction force tau obey

    g_n + delta <= 0,   lambda >= 0,   lambda (g_n + delta) = 0,
    |tau| <= mu lambda,   tau = -mu lambda sign(slip) where it slips,

under small sliding. The jump of a pair that touches is known, so each set of pairs that touch and
stick is one linear system, symmetric and positive definite; the sets are found by a primal-dual
active-set method, which is a semi-smooth Newton method [1]_ [2]_. The bodies are condensed to the
joint once (:mod:`fea.contact.condensed`), so that a set costs no more than the forces of its
pairs. Where the method only opens the joint a few pairs at a time, it is begun anew from sets that
an interior-point method finds (:mod:`fea.contact.interior`), by the factor of the whole section,
whose pattern is analysed once; so is all with a piece that is loose, as its springs change.

A pair that closes within a load step slides free of friction until the next. Soft springs keep a
piece that nothing holds. They are tied to where the pairs stood last, and tied anew until they
carry nothing that counts (a proximal-point method [3]_), so that the answer is without them.

References
----------
.. [1] Hueeber & Wohlmuth, *Comput. Methods Appl. Mech. Engrg.* 194 (2005) 3147-3166
   (from memory).
.. [2] Hintermueller, Ito & Kunisch, *SIAM J. Optim.* 13 (2003) 865-888 (from memory).
.. [3] Rockafellar, *SIAM J. Control Optim.* 14 (1976) 877-898 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.assembly import Pattern
from fea.contact.condensed import MOST_SWEEPS, Condensed, Held, mixed, settle
from fea.contact.interior import NO_FRICTION, from_inside
from fea.elasticity import S_SHAPES, S_WEIGHT, S, edge_points
from fea.factor import Factor
from fea.heat.thermal import thermal_load
from fea.material import Material
from fea.model import SectionModel, Solution
from geometry.parted import Parted
from geometry.runs import runs

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

MOST_ITERATIONS = 25
"""Systems that one attempt at a load step, or at the part of one, may take."""
SLOW, FEW = 0.5, 5
"""Share of the pairs that changed two sets before, and pairs, above which so many changes mean
that the sets are not on their way."""
MOST_AT_ONCE = 10
"""Sets of an attempt that may be tried before it is begun anew from inside."""
MOST_CONDENSED = 3000
"""Jumps of the largest joint that is condensed."""
AID = 1e-7
"""Stiffness of the springs that keep a piece, over that of the metal at its nodes."""
LOOSE_AID, WEAKER = 1e-4, 10.0
"""The same for a piece that is loose, and the factor by which it falls while the piece moves on."""
WEAK_AID = 1e-3
"""Share of the first that is left near the solution: an open ring is softer than the springs."""
SOFT = 0.01
"""Stiffness of springs along a whole joint, over that of the metal, that show where it opens."""
MOST_TIES = 6
"""Times that the springs are tied anew before they are made weaker."""
MOST_WEAKENED = 4
"""Times that they are made weaker before it shows that the piece goes far."""
UNMOVED = 1e-6
"""Motion from one time to the next that is none. [mm]."""
UNFELT = 1e-5
"""Pull of the springs of a piece that is none, whatever presses it. [N]."""
ROUGH, SETTLED = 0.1, 1e-5
"""Change of the friction forces from one to the next, over the largest, that is let pass while
the sets change, and when they don't."""
AGREED = 1e-7
"""On a joint by itself, when settled: change of its friction, and difference of its forces from
those in the section, over the largest, that is none."""
SLIGHT = 1e-4
"""Pull on a pair, or friction beyond its limit, over the mean force of a pair, that is none."""
CLOSES = SLIPS = 1e-6
"""Overlap that closes a pair, and slip against the friction that stops it. [mm]."""
PATIENT, PATIENT_NEAR, EASIER = 10, 2, 1.35
"""Iterations with these tolerances, at once and near the solution, and the factor by which they
grow with each further one."""
MOST_HALVINGS = 2
"""Times that a load step whose sets are not found is halved."""
MOST_RETURNS, RETURNS_NEAR = 3, 1
"""A pair that went back from sliding to sticking so often slides on, by less than it matters; and
near the solution."""
FEWEST = 4
"""Pairs that touch and can keep a piece."""
FARTHEST, FARTHEST_NEAR = 0.5, 5.0
"""Jump beyond the largest overlap or clearance that only a loose piece makes, and one that nothing
holds makes near what was taken for the solution. [mm]."""


class ContactError(RuntimeError):
    """The pairs that touch were not found within the iterations allowed.

    Attributes
    ----------
    against : str
        Part of the rest on the side of the joint where most is in doubt.
    place : ndarray, shape (2,)
        Of the pair there that is most in doubt. [mm]
    """

    def __init__(self, message: str, against: str, place: Array) -> None:
        super().__init__(message)
        self.against, self.place = against, place


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
    _, (dx, dy) = edge_points(points[joint.own].transpose(2, 1, 0))
    depth = np.einsum("ap,ka->pk", S_SHAPES, joint.depth)
    hats = np.stack([1 - S, S])[:, :, None] * S_WEIGHT[:, None]  # (2, points, 1)
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
    iterations: int  # linear systems factored
    jumps: Array  # of the pairs along the normal, then along the tangent, shape (2 k,) [mm]
    load: Array  # in the unknowns of the jumps [N]
    softer: Array  # load that stands for softer metal on the joint by itself, shape (2 k,) [N]


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


@dataclass(frozen=True, eq=False, slots=True)
class _Task:
    """A load whose sets are sought."""

    load: Array  # in the unknowns of the jumps [N]
    overlap: Array  # of each pair [mm]
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


@dataclass(frozen=True, eq=False, slots=True)
class _System:
    """The linear system of sets of pairs."""

    sets: _Sets
    known: Array  # jumps where pairs touch and stick, 0 elsewhere, shape (2 k,) [mm]
    share: Array  # friction over pressing force where pairs slide, with its sign
    springs: Array  # at the jumps [N/mm]
    tied: Array  # jumps at which they carry nothing [mm]


@dataclass(frozen=True, eq=False, slots=True)
class _Found:
    """What sets of pairs lead to."""

    jumps: Array  # shape (2 k,) [mm]
    force: Array  # that presses each pair together [N]
    friction: Array  # [N]
    whole: Array  # displacement in the unknowns of the jumps; empty until settled [mm]
    softer: Array  # load that stands for softer metal on the joint by itself, shape (2 k,) [N]


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
    bonded : ndarray of bool, shape (k,)
        Pairs whose side is bonded.
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
        self._piece = np.unique(self.model.node_bodies[self.pairs.own], return_inverse=True)[1]
        self._held = self._hold()
        self._aid = aid
        self._find_pattern()
        self._set_temperature(None)
        self._alone: list[Condensed] = []  # these two are shared with other fits and temperatures
        self._family: list[Factor] = []

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
        self.bonded = np.array([fit.bonded for fit in of])

    def _set_temperature(self, temperature: Array | None) -> None:
        self.temperature = temperature
        softens = any(material.softening for material in self.model.materials.values())
        if temperature is None or softens:
            self._values = self._pattern.entries(self._carry(self.model.stiffness(temperature)))
            self._values[self._diagonal[self._followers]] = 1
            columns, starts, shape = self._jump_pattern
            rows = sparse.csr_array((self._values[self._of_jumps], columns, starts), shape=shape)
            self._with_jumps_known: Factor | None = None
            self._at_jumps, self._at_held = rows[: len(self._jump)], rows[len(self._jump) :]
        self._expansion = np.zeros(self.model.dofs.size)
        if temperature is not None:
            expansion = thermal_load(self.parted.mesh, self.model.materials, temperature)
            self._expansion[self.model.dofs] = expansion

    def _find_pattern(self) -> None:
        """How the stiffness in the unknowns of the jumps comes out of that of the nodes."""
        nodal, to = self.model.pattern, self._to_nodes.tobsr((2, 2))
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
        followers = self._followers[::2] // 2
        self._pattern = Pattern(
            np.concatenate([to.indices[left], nodal.row[self._same], followers]),
            np.concatenate([to.indices[right], nodal.column[self._same], followers]),
        )
        self._to_pairs, self._to_same, _ = np.split(
            self._pattern.pairs, np.cumsum([len(left), len(self._same)])
        )
        self._rows, self._starts = self._pattern.rows, self._pattern.starts
        self._diagonal = self._starts[:-1]
        self._jump = np.concatenate([self._normal, self._tangent])
        size = self.model.dofs.size
        watched = np.concatenate([self._jump, self._held])
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

    def _jumps(self) -> sparse.csr_array:
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

    def solve(
        self,
        forces: ArrayLike | None = None,
        before: Fitted | None = None,
        guess: Fitted | None = None,
    ) -> Fitted:
        """Find what touches under nodal forces, at the temperature of the model.

        Parameters
        ----------
        forces : array_like, shape (n, 2), optional
            On the nodes of the parted mesh; none if left out. [N]
        before : Fitted, optional
            The load step before, from which friction goes on.
        guess : Fitted, optional
            A step that is thought to touch at the same pairs: where to begin, no more.

        Raises
        ------
        ContactError
            If the iterations allowed do not suffice.
        """
        load = self._expansion.copy()
        if forces is not None:
            load[self.model.dofs] += np.asarray(forces, dtype=float)
        load = self._to_nodes.T @ load
        if before is None:
            most = max(0.0, self._overlap[~self.bonded].max(initial=0.0))
            least = np.where(self.bonded, 0.0, self._overlap - most)
            return self._by_halves(load, self._overlap, None, np.zeros(len(load)), least, guess)
        return self._by_halves(load, self._overlap, before, before.load, self._overlap, guess)

    def _by_halves(
        self,
        load: Array,
        overlap: Array,
        before: Fitted | None,
        load_before: Array,
        overlap_before: Array,
        guess: Fitted | None = None,
        halvings: int = MOST_HALVINGS,
    ) -> Fitted:
        """A load step at once, or in halves if its sets are not found."""
        try:
            return self._step(load, overlap, before, guess)
        except ContactError:
            if not halvings:
                raise
        load_half, overlap_half = (load + load_before) / 2, (overlap + overlap_before) / 2
        half = self._by_halves(
            load_half, overlap_half, before, load_before, overlap_before, halvings=halvings - 1
        )
        whole = self._by_halves(load, overlap, half, load_half, overlap_half, halvings=halvings - 1)
        return replace(whole, iterations=half.iterations + whole.iterations)

    def _step(
        self, load: Array, overlap: Array, before: Fitted | None, guess: Fitted | None
    ) -> Fitted:
        """Find what touches under a load in the unknowns of the jumps."""
        sets, start = self._first_sets(overlap, before, self._mu)
        tied = np.zeros(len(self._jump)) if before is None else before.jumps
        begun = guess or before
        softer = np.zeros(len(tied)) if begun is None else begun.softer
        task = _Task(
            load, overlap, sets.closed, start, np.where(sets.closed, self._mu, 0.0), softer
        )
        if guess is not None:
            sets, _ = self._first_sets(overlap, guess, task.mu)
        aid = np.where(self._loose(sets), LOOSE_AID, self._aid)
        at_once = _Search(MOST_AT_ONCE, True, False, PATIENT, MOST_RETURNS, FARTHEST)
        found, count, doubt = self._search(task, sets, tied, aid, at_once)
        if found is None:
            inside, jumps, systems = self._near_sets(task)
            left = max(0, MOST_ITERATIONS - count - systems)
            near = _Search(left, False, True, PATIENT_NEAR, RETURNS_NEAR, FARTHEST_NEAR)
            weak = np.full(len(aid), WEAK_AID * self._aid)
            found, more, further = self._search(task, inside, jumps, weak, near)
            count += systems + more
            doubt += further
            if found is None and (task.mu > NO_FRICTION).any():
                patiently = replace(at_once, most=MOST_ITERATIONS, leaves_off=False)
                sticks = sets.closed & (self.bonded | (task.mu > 0))
                stuck = _Sets(sets.closed, sticks, np.zeros(len(sticks)))
                found, more, further = self._search(task, stuck, tied, aid, patiently)
                count += more
                doubt += further
        if found is None:
            part = self.parted.joint.part
            raise self._error(
                f"what touches of the {part} was not found in {MOST_ITERATIONS} iterations.", doubt
            )
        return replace(found, iterations=count)

    def _search(
        self, task: _Task, sets: _Sets, tied: Array, aid: Array, how: _Search
    ) -> tuple[Fitted | None, int, Array]:
        """Sets after sets until one is kept; how many; and how often each pair changed."""
        start, mu = task.start, task.mu
        sliding = np.zeros(len(start))
        condensed = self._condense(aid)
        loaded = softer = np.zeros(len(tied))
        if condensed is not None:
            loaded = self._held_at(loaded, task.load)[1]
            softer = softer if self._is_of(condensed) else task.softer
        returns = np.zeros(len(start), dtype=np.int64)  # from sliding to sticking
        doubt = np.zeros(len(start))
        changes: list[int] = []
        seen: set[bytes] = set()
        weakened = 0
        for iteration in range(1, how.most + 1):
            ease = EASIER ** max(0, iteration - how.patient)
            factor: Factor | Held
            if condensed is None:
                springs = self._springs(aid)
                factor = self._factored(self._entries(self._pinned(sets), springs))
            else:
                springs = condensed.springs
                factor = condensed.hold(self._pinned(sets)[self._jump])
            for settled in (ROUGH, *[SETTLED] * MOST_TIES):
                system = self._system(sets, task.overlap, start, mu, springs, tied)
                if isinstance(factor, Held):
                    found = self._solve_joint(
                        system, factor, task.load, loaded, softer, sliding, settled
                    )
                else:
                    found = self._solve_section(system, factor, task.load, sliding, settled)
                moved, force, friction, softer = (
                    found.jumps,
                    found.force,
                    found.friction,
                    found.softer,
                )
                gap, slip = -moved[: len(start)] - task.overlap, moved[len(start) :]
                after = self._next_sets(
                    sets, force, friction, gap, slip - start, mu, returns < how.returns, ease
                )
                sliding = friction
                far = self._beyond(moved, how.farthest)
                if not after.same(sets) or far.any():
                    break
                if settled == SETTLED:
                    idle = self._idle(system, moved, force)
                    if idle.all():
                        gap = np.where(sets.closed, 0.0, gap)
                        pressure = force / self.pairs.area
                        contact = Contact(
                            sets.closed, sets.sticks, force, pressure, friction, gap, slip
                        )
                        solution = self._solution(found.whole, task.load)
                        return (
                            Fitted(solution, contact, iteration, moved, task.load, softer),
                            iteration,
                            doubt,
                        )
                    tied = moved
            if (far & (aid < LOOSE_AID)).any() and not how.near:
                aid, condensed = np.where(far, LOOSE_AID, aid), None
            elif not after.same(sets):
                if after.key() in seen:  # by turns: let one pair change alone
                    after = after.first_change(sets)
                seen.add(after.key())
                changed = after.differs(sets)
                doubt += changed
                changes.append(int(changed.sum()))
                if how.leaves_off and _not_on_their_way(changes):
                    return None, iteration, doubt
                start = np.where(after.closed & ~sets.closed & ~task.touched, slip, start)
                returns += sets.closed & ~sets.sticks & after.sticks
                sets = after
                sliding = mu * sets.pull * np.maximum(force, 0.0)
            elif far.any():
                if how.leaves_off:
                    return None, iteration, doubt
                away = np.abs(moved).reshape(2, -1).max(axis=0)
                part = self.parted.joint.part
                raise self._error(f"nothing holds the {part}: it slides away.", away)
            elif how.leaves_off and weakened == MOST_WEAKENED:
                return None, iteration, doubt
            else:
                weakened += 1
                aid, condensed = np.where(idle, aid, aid / WEAKER), None
        return None, how.most, doubt

    def _near_sets(self, task: _Task) -> tuple[_Sets, Array, int]:
        """Sets and jumps near the solution, and the systems factored for them."""
        count = len(self._normal)
        pinned = self._pinned(_Sets(self.bonded, self.bonded, np.zeros(count)))
        known = np.concatenate([-task.overlap, task.start])
        known = np.where(pinned[self._jump], known, 0.0)
        right = task.load - known @ self._at_jumps
        right[pinned] = 0
        right[self._jump] += known

        def factored(springs: Array) -> Callable[[Array], Array]:
            factor = self._factored(self._entries(pinned, springs))

            def jumps_of(forces: Array) -> Array:
                pushed = right.copy()
                pushed[self._jump] += np.where(pinned[self._jump], 0.0, forces)
                return factor.solve(pushed)[self._jump]

            return jumps_of

        metal = self._values[self._diagonal[self._jump]]
        found = from_inside(
            factored,
            free=~self.bonded,
            overlap=task.overlap,
            start=task.start,
            mu=task.mu,
            soft=SOFT * metal[:count],
            aid=WEAK_AID * self._aid * metal,
        )
        sticks = found.closed & (self.bonded | ((task.mu > NO_FRICTION) & (found.pull == 0)))
        return _Sets(found.closed, sticks, found.pull), found.jumps, found.systems

    def _error(self, message: str, doubt: Array) -> ContactError:
        """With the side of the joint where most is in doubt, and the worst place there."""
        pairs = self.pairs
        in_doubt = doubt * pairs.area
        against = max(
            np.unique(pairs.against), key=lambda side: in_doubt[pairs.against == side].sum()
        )
        worst = np.argmax(np.where(pairs.against == against, doubt, -1.0))
        return ContactError(message, str(against), self.parted.mesh.points[pairs.own[worst]])

    def _factored(self, entries: Array) -> Factor:
        """Factor of some entries, the pattern analysed when the first are factored."""
        if self._family:
            return self._family[0].refactor(entries)
        shape = (self.model.dofs.size,) * 2
        self._family.append(
            Factor(sparse.csc_array((entries, self._rows, self._starts), shape=shape))
        )
        return self._family[0]

    def _springs(self, aid: Array) -> Array:
        """Stiffness of the springs at the jumps, from that of each piece over the metal's."""
        return np.tile(aid[self._piece], 2) * self._values[self._diagonal[self._jump]]

    def _beyond(self, moved: Array, farthest: float) -> Flags:
        """Whether each piece went further than one that is kept."""
        far = np.zeros(self._piece.max() + 1, dtype=bool)
        far[np.tile(self._piece, 2)[np.abs(moved) > farthest + np.abs(self._overlap).max()]] = True
        return far

    def _idle(self, system: _System, moved: Array, force: Array) -> Flags:
        """Whether the springs of each piece carry nothing that counts."""
        sets = system.sets
        free = ~np.concatenate([sets.closed, sets.sticks])
        motion = np.where(free, moved - system.tied, 0.0)
        carried = np.abs(system.springs * motion).reshape(2, -1).sum(axis=0)
        by_piece = np.bincount(self._piece, carried)
        pressed = np.bincount(self._piece, np.abs(force))
        far = np.zeros(len(pressed))
        np.maximum.at(far, self._piece, np.abs(motion).reshape(2, -1).max(axis=0))
        return (by_piece <= np.maximum(SLIGHT * pressed, UNFELT)) | (far < UNMOVED)

    def _loose(self, sets: _Sets) -> Flags:
        """Whether each piece touches at fewer pairs than can keep it."""
        return np.bincount(self._piece, sets.closed) < FEWEST

    def _first_sets(self, overlap: Array, before: Fitted | None, mu: Array) -> tuple[_Sets, Array]:
        """Pairs that touched last, or all without clearance, free to slide; where they stick."""
        if before is None:
            closed = self.bonded | (overlap >= 0)
            none = np.zeros(len(closed))
            return _Sets(closed, self.bonded, none), none
        contact = before.contact
        closed = self.bonded | contact.closed
        begins = contact.friction == 0  # it closed within that step
        sticks = closed & (self.bonded | ((mu > 0) & (contact.sticks | begins)))
        pull = np.where(sticks | (mu == 0), 0.0, np.sign(contact.friction))
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
        ease: float,
    ) -> _Sets:
        """Sets by what the last ones led to; ``slip`` is that of this step."""
        floor = ease * SLIGHT * np.abs(force).sum() / max(np.count_nonzero(sets.closed), 1)
        closed = self.bonded | np.where(sets.closed, force > -floor, gap < -ease * CLOSES)
        over = np.abs(friction) > mu * np.maximum(force, 0.0) + floor
        backwards = may_return & (slip * sets.pull > ease * SLIPS)
        unmoved = (sets.pull == 0) & (np.abs(slip) <= ease * SLIPS)
        goes_on = np.where(sets.sticks, ~over, (backwards | unmoved) & sets.closed)
        sticks = self.bonded | (closed & (mu > 0) & goes_on)
        pull = np.where(sets.sticks, np.sign(friction), sets.pull)
        still = sets.closed & (sets.sticks | (pull != 0))
        pull = np.where(still, pull, -np.sign(slip))  # as it moved since
        return _Sets(closed, sticks, np.where(closed & ~sticks & (mu > 0), pull, 0.0))

    def _pinned(self, sets: _Sets) -> Flags:
        """Unknowns that the sets make known."""
        pinned = np.zeros(self.model.dofs.size, dtype=bool)
        pinned[self._held] = True
        pinned[self._followers] = True
        pinned[self._normal[sets.closed]] = True
        pinned[self._tangent[sets.sticks]] = True
        return pinned

    def _entries(self, pinned: Flags, springs: Array) -> Array:
        """Lower triangle with the pinned unknowns cut off, and the springs at the jumps."""
        values = self._values.copy()
        values[self._diagonal[self._jump]] += springs
        watched = np.concatenate([self._jump, self._held])
        _, starts, _ = self._jump_pattern
        values[self._of_jumps[np.repeat(pinned[watched], np.diff(starts))]] = 0
        values[self._diagonal[pinned]] = 1
        return values

    def _condense(self, aid: Array) -> Condensed | None:
        """The joint by itself, if the springs are the usual ones and its matrix is not too large.

        That of the temperature that asks first serves all.
        """
        if len(self._jump) > MOST_CONDENSED or (aid != self._aid).any():
            return None
        if not self._alone:
            springs = self._springs(aid)
            free = self._entries(self._pinned_all(False), springs)
            flexibility = self._bodies().corner_of_inverse(free, self._jump)
            self._alone.append(Condensed(self._values, springs, flexibility))
        return self._alone[0]

    def _is_of(self, condensed: Condensed) -> bool:
        """Whether the joint by itself has this stiffness."""
        return condensed.values is self._values

    def _pinned_all(self, jumps: bool) -> Flags:
        """Unknowns that are known with all jumps, or with none."""
        flags = np.full(len(self._normal), jumps)
        return self._pinned(_Sets(flags, flags, np.zeros(len(flags))))

    def _bodies(self) -> Factor:
        """Factor of the section with all jumps known."""
        if self._with_jumps_known is None:
            entries = self._entries(self._pinned_all(True), np.zeros(len(self._jump)))
            self._with_jumps_known = self._factored(entries)
        return self._with_jumps_known

    def _held_at(self, jumps: Array, load: Array) -> tuple[Array, Array]:
        """Displacement in the unknowns of the jumps, and load on these that nothing has met."""
        right = load - jumps @ self._at_jumps
        right[self._held] = right[self._followers] = 0
        right[self._jump] = jumps
        whole = self._bodies().solve(right)
        return whole, load[self._jump] - self._at_jumps @ whole

    def _system(
        self,
        sets: _Sets,
        overlap: Array,
        start: Array,
        mu: Array,
        springs: Array,
        tied: Array,
    ) -> _System:
        """The linear system of sets, from overlap, slip where it sticks and friction of pairs."""
        known = np.where(sets.closed, -overlap, 0.0), np.where(sets.sticks, start, 0.0)
        return _System(sets, np.concatenate(known), mu * sets.pull, springs, tied)

    def _solve_joint(
        self,
        system: _System,
        held: Held,
        load: Array,
        loaded: Array,
        softer: Array,
        sliding: Array,
        settled: float,
    ) -> _Found:
        """What sets lead to, by the joint alone and the load on it where no pair has moved.

        Metal at another temperature than that of the joint is softer or stiffer: the difference
        of its forces is put on the joint as a load until there is none.
        """
        sets, count = system.sets, len(self._normal)
        exact = self._is_of(held.joint)
        agreed = ROUGH if settled == ROUGH else AGREED
        whole = np.zeros(0)
        tried: list[tuple[Array, Array]] = []
        for _ in range(MOST_SWEEPS):
            jumps, reaction, sliding = held.solve(
                system.known, loaded + softer, system.tied, system.share, sliding, agreed
            )
            if exact and settled == ROUGH:
                break
            whole, unmet = self._held_at(jumps, load)
            if exact:
                break
            differs = reaction + unmet
            tried.append((softer, differs))
            softer = mixed(tried)
            if np.abs(differs).max() <= max(agreed * np.abs(reaction).max(), UNFELT):
                break
        force = np.where(sets.closed, -reaction[:count], 0.0)
        friction = np.where(sets.sticks, reaction[count:], sliding)
        return _Found(jumps, force, friction, whole, softer)

    def _solve_section(
        self, system: _System, factor: Factor, load: Array, sliding: Array, settled: float
    ) -> _Found:
        """What sets lead to, by the whole section.

        The friction of pairs that slide follows their pressing force: the part of the linear
        system that is not symmetric is met by repeated back-substitution.
        """
        sets, known, share = system.sets, system.known, system.share
        stiffness, count = self._at_jumps, len(self._normal)
        right = load - known @ stiffness
        right[self._jump] += system.springs * system.tied
        pinned = self._pinned(sets)
        right[pinned] = 0
        right[self._jump] = np.where(pinned[self._jump], known, right[self._jump])
        slides = sets.pull != 0

        def pushed_by(sliding: Array) -> tuple[tuple[Array, Array], Array]:
            pushed = right.copy()
            pushed[self._tangent[slides]] += sliding[slides]
            whole = factor.solve(pushed)
            reaction = stiffness @ whole - load[self._jump]
            return (whole, reaction), share * np.where(sets.closed, -reaction[:count], 0.0)

        (whole, reaction), _, sliding = settle(pushed_by, np.where(slides, sliding, 0.0), settled)
        force = np.where(sets.closed, -reaction[:count], 0.0)
        friction = np.where(sets.sticks, reaction[count:], sliding)
        return _Found(whole[self._jump], force, friction, whole, np.zeros(2 * count))

    def _solution(self, jumps: Array, load: Array) -> Solution:
        displacement = self._to_nodes @ jumps
        reactions = np.zeros(len(load))
        reactions[self._held] = self._at_held @ jumps - load[self._held]
        dofs = self.model.dofs
        return Solution(
            self.model,
            displacement[dofs],
            reactions[dofs],
            reactions[self._held],
            temperature=self.temperature,
        )


def _not_on_their_way(changes: Sequence[int]) -> bool:
    """Whether the pairs that changed from sets to sets don't fall fast enough."""
    return len(changes) > 2 and changes[-1] > max(FEW, SLOW * changes[-3])

"""Parts fitted into a solid: what touches, sticks and slides, load step by load step.

The laws are those of the section (:mod:`fea.contact.fitted`), friction with two components along
the joint. The unknowns of the joint stand in :mod:`fea.solid.jumps`; the bodies are condensed to it
once (:mod:`fea.condensed`), so that sets of pairs cost a dense system each
(:mod:`fea.solid.coulomb`), and a load step two half back-substitutions more. One factor serves all
temperatures: what the forces of softer metal differ by is put on as a load until there is no
difference.

A pair that closes within a load step slides free of friction until the next. A side that is bonded
keeps the mean jump of each corner; one without overlap lets what lies between corners be as free as
the metal. Soft springs keep a piece that nothing holds, and are tied anew to where it went until
they carry nothing; a piece that goes far, or goes on, as the wedge that the model's end cuts off an
insert, or an insert without friction between walls that lean, is kept by stiffer ones where it was
fitted, and told as loose.

A part may be made to fit the rest as that stands under stress of its own
(:meth:`FittedSolid.fitted_as_it_stands`): jumps count from there.

Compound that fills a joint cures, holds and breaks as in the section (:mod:`fea.solid.compound`).

Of a part of the joint that doesn't count, pairs can be stuck as they were fitted, overlap and all:
their jumps are known, and the search has none of them.
"""

from __future__ import annotations

from collections.abc import Generator, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import sparse
from scipy.sparse.linalg import spsolve

from fea.assembly import Pattern
from fea.condensed import CondensedFactor
from fea.contact.compound import Filling, breaking, share_used
from fea.contact.condensed import mixed
from fea.contact.joint import one_of_each
from fea.contact.pairs import Fit, overlaps_at
from fea.elimination import elimination_order
from fea.material import REFERENCE
from fea.solid.assembly import PrismForces, held_back, stiffness_share
from fea.solid.compound import cured, keeping, softened
from fea.solid.coulomb import (
    QUICK,
    SEARCH,
    CondensedJoint,
    Found,
    Search,
    SearchSettings,
    Sets,
    Since,
    Task,
    search,
)
from fea.solid.elasticity import lame
from fea.solid.jumps import Jumps
from fea.solid.model import SolidModel, SolidSolution
from geometry.solid.parted import SolidJoint

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

AID = 1e-7
"""Stiffness of the springs at the jumps over that of the metal there."""
MOST_HALVINGS = 2
"""Times that a load step whose sets are not found is halved."""
MOST_TURNS = 12
"""Solutions until softer metal is met."""
AGREED = 3e-4
"""Change of the load that stands for softer metal, over the load, that is none: as metal softens by
a tenth, a stress is off by a tenth of that."""
SLIGHT = 1e-4
"""Pull on a pair, or friction beyond its limit, over the mean force of a pair, that is none."""
AS_EQUAL = 1e-3
"""Difference of two shares of a compound's strength, over the share, that is none."""
CLEAR = 1.0
"""How far a part that is not in stands off the rest. [mm]."""
STOOD = 1e-4
"""Load that stands for a part that is gone, as it still changes, over its largest, that is none."""
MOST_GONE = 12
"""Times that solutions until such a part is gone are begun anew."""
ALIKE = 1e-3
"""Least singular value of the loads that one is put together of, over the largest."""


class SolidContactError(RuntimeError):
    """The pairs that touch were not found within the systems allowed.

    Attributes
    ----------
    side : str
        Side of the joint where most is in doubt.
    place : ndarray, shape (3,)
        Of the pair there that is most in doubt. [mm]
    number : int
        Of the load, where several were asked for.
    """

    def __init__(self, message: str, side: str, place: Array) -> None:
        super().__init__(message)
        self.side, self.place = side, place
        self.number = 0


@dataclass(frozen=True, eq=False, slots=True)
class FittedState:
    """A fitted solid under one load step; what is told by pair is told of its k corners.

    Attributes
    ----------
    solution : SolidSolution
    closed, sticks : ndarray of bool, shape (k,)
        Whether a pair touches, and does not slide.
    force : ndarray, shape (k,)
        That presses the pair together; less than 0 only where it is bonded or its compound is
        intact. [N]
    pressure : ndarray, shape (k,)
        The same over the area of the pair. [MPa]
    friction : ndarray, shape (2, k)
        Of the part on the rest, along the tangents. [N]
    gap : ndarray, shape (k,)
        Opening; 0 where it touches. [mm]
    slip : ndarray, shape (2, k)
        Of the part along the tangents, since it was fitted. [mm]
    loose : ndarray of bool, shape (k,)
        Pairs of pieces that nothing holds; leave them out of shares.
    systems : int
        Dense systems solved.
    intact, broken : ndarray of bool, shape (k,)
        Whether compound has filled a pair, with strength left, or used up for good. What has just
        been pressed in is cured at the end of that step.
    filler : ndarray, shape (k,)
        Thickness of that compound, which keeps what was open apart; 0 where the pair touched. [mm]
    """

    solution: SolidSolution
    closed: Flags
    sticks: Flags
    force: Array
    pressure: Array
    friction: Array
    gap: Array
    slip: Array
    loose: Flags
    systems: int
    jumps: Array  # along normals, then each tangent, shape (3 k,) [mm]
    load: Array  # on the nodes, with that of the thermal strain, shape (3 n,) [N]
    softer: Array  # load that stands for softer metal, shape (3 n,) [N]
    turn: Array  # slip across the way of friction over the friction across it, shape (k,) [mm/N]
    intact: Flags
    broken: Flags
    filler: Array

    def broken_as(self, others: Sequence[FittedState]) -> FittedState:
        """The same, with the compound broken that is broken in other steps as well."""
        broken = np.logical_or.reduce([self.broken, *(of.broken for of in others)])
        if (broken == self.broken).all():
            return self
        filler = self.filler.copy()
        for of in others:  # gone with its strength, or kept where it broke
            filler = np.where(of.broken, np.minimum(filler, of.filler), filler)
        return replace(self, intact=self.intact & ~broken, broken=broken, filler=filler)


_Asked = tuple[Array, Array | None]
"""Of the factor: a load to be brought half-way, or what was, with the jumps that go with it."""
_Way = Generator[_Asked, Any, FittedState]


class FittedSolid:
    """Parts fitted into a solid, ready for load steps.

    Factored and condensed once, whatever the loads, the fits (:meth:`with_fits`) and the
    temperature (:meth:`at`).

    Parameters
    ----------
    model : SolidModel
        Of the mesh with the part cut loose, at 20 degC.
    joint : SolidJoint
    fits : mapping of str to Fit
        By side of the joint; bonded without overlap where none is named.
    beyond : ndarray of bool, shape (n,), optional
        Nodes of the mesh where no contact is sought: what presses when fitted sticks as it is then,
        the rest stays apart. A piece that is all there sticks at every side without clearance, or
        stays apart at all of them; one that is there in part and sticks nowhere is sought as
        elsewhere. None if left out.

    Attributes
    ----------
    model : SolidModel
    joint : SolidJoint
    corners : ndarray of int, shape (k,)
        Pairs of the joint that carry force; what a state tells by pair is in this order.
    axes : ndarray, shape (k, 3, 3)
        Normal out of the part and two tangents of each.
    area : ndarray, shape (k,)
        [mm2]
    side : tuple of str, k long
    bonded : ndarray of bool, shape (k,)
    stuck, apart : ndarray of bool, shape (k,)
        Pairs that stick, or stay apart, for good.
    fits : mapping of str to Fit
    patience : int
        As :meth:`with_fits` takes it.
    stands : ndarray, shape (n, 3)
        Displacement that a part was made to fit (:meth:`fitted_as_it_stands`); 0 as drawn. [mm]

    Raises
    ------
    ValueError
        If a fit is named for a side that isn't there.
    """

    def __init__(
        self,
        model: SolidModel,
        joint: SolidJoint,
        fits: Mapping[str, Fit],
        beyond: Flags | None = None,
    ) -> None:
        self.model, self.joint = model, joint
        supported = np.zeros(model.mesh.points.size, dtype=bool)
        supported[model.supported] = True
        jumps = Jumps(model.mesh, joint, supported.reshape(-1, 3))
        self._to_nodes = jumps.to_nodes
        self.corners, self.axes = jumps.corners, jumps.axes
        self.area = joint.area[self.corners]
        self.side = tuple(joint.side[of] for of in self.corners)
        bodies = np.empty(len(model.mesh.points), dtype=np.int64)
        bodies[model.mesh.prisms] = model.bodies[:, None]
        self._set_fits(fits)
        own = joint.own[self.corners]
        far = np.zeros(len(own), dtype=bool) if beyond is None else beyond[own]
        piece = bodies[own]
        sought = np.isin(piece, piece[~far])
        presses = np.where(sought, self._overlap > 0, self._pressed)
        presses |= -self._overlap <= self._filling.fills
        self.stuck = far & (self.bonded | presses)
        held = np.isin(piece, piece[self.stuck])
        self.apart = far & ~self.stuck & (held | ~sought)
        self._live = np.flatnonzero(~(self.stuck | self.apart))
        along = jumps.unknowns.reshape(3, -1)
        self._unknowns = along[:, self._live].ravel()
        self._along = along
        self._known, self._apart = along[:, self.stuck], along[:, self.apart]
        self._piece = np.unique(piece[self._live], return_inverse=True)[1]
        self._held = _kept_holds(model, joint, bodies)
        pinned = np.zeros(len(supported), dtype=bool)
        pinned[model.supported] = True
        of_own = (3 * joint.own[:, None] + np.arange(3)).ravel()
        pinned[of_own] = False
        pinned[jumps.pinned] = True
        pinned[self._held] = True
        self._pinned = pinned
        self._carriers = np.setdiff1d(np.flatnonzero(pinned), of_own)
        self._condense(jumps.to_nodes)
        self._expansion = np.zeros(len(pinned))
        self.patience = MOST_HALVINGS
        self._softer: _Symmetric | _Softer | None = None
        self._forces = PrismForces(model.mesh)
        self._stood = np.zeros(along.shape)
        self.stands = np.zeros_like(model.mesh.points)
        self._last_held: tuple[Array, Array, Array] | None = None

    def _condense(self, to_nodes: sparse.csr_array) -> None:
        """The factor with the jumps last, behind them those that stick, and the joint by itself."""
        size, sought = len(self._pinned), len(self._unknowns)
        jumps = np.concatenate([self._unknowns, self._known.ravel()])
        count = len(jumps)
        last = np.zeros(size, dtype=bool)
        last[jumps] = True
        self._order = np.concatenate([np.flatnonzero(~last), jumps])
        pattern = self.model.pattern
        self._entries = pattern.entries(self.model.stiffness())
        asked = self._pinned.copy()
        asked[(3 * self.joint.own[:, None] + np.arange(3)).ravel()] = False
        asked[self._known] = True
        self._unmet = _Unmet(pattern, self._entries, to_nodes, asked)
        lower = _in_order(self._carried(to_nodes), self._order, self._pinned)
        ends = lower.indptr[size - count : size]  # of the diagonal
        springs = AID * lower.data[ends]
        lower.data[ends] += springs
        springs = springs[:sought]
        place = np.empty(size, dtype=np.int64)
        place[self._order] = np.arange(size)
        lower.data[lower.indptr[place[self._apart.ravel()]]] *= 1 + AID
        self._factor = CondensedFactor(lower, count, _order_by_nodes(lower, count))
        root = self._factor.root[:sought, :sought]
        self._condensed = CondensedJoint(root, self._factor.inverse(sought), springs)

    def _carried(self, to_nodes: sparse.csr_array) -> sparse.csc_array:
        """Lower triangle of the stiffness in the unknowns of the jumps."""
        pattern, size = self.model.pattern, len(self._pinned)
        changed = np.zeros(size, dtype=bool)
        changed[(3 * self.joint.own[:, None] + np.arange(3)).ravel()] = True
        entries, rows, columns = pattern.touching(changed)
        half = np.where(rows == columns, 0.5, 1.0) * self._entries[entries]
        touched = sparse.coo_array((half, (rows, columns)), shape=(size, size)).tocsr()
        carried = to_nodes.T @ (touched + touched.T) @ to_nodes
        rest = self._entries.copy()
        rest[entries] = 0
        whole = sparse.csc_array((rest, pattern.rows, pattern.starts), shape=(size, size))
        return whole + sparse.tril(carried, format="csc")

    def _set_fits(self, fits: Mapping[str, Fit]) -> None:
        for side in sorted(set(fits) - set(self.side)):
            known = ", ".join(sorted(set(self.side)))
            raise ValueError(f"the joint has no side {side}. Choose from {known}.")
        self.fits = dict(fits)
        of = [fits.get(side, Fit(bonded=True)) for side in self.side]
        self._dry = np.array([0.0 if fit.bonded else fit.friction for fit in of])
        self._filling = Filling(of)
        self.bonded = np.array([fit.bonded for fit in of])
        at = self.model.mesh.points[self.joint.own[self.corners], :2]
        overlap = overlaps_at(of, at)
        self._pressed = overlap >= 0
        self._overlap = np.where(self.bonded, overlap, overlap - self.joint.gap[self.corners])

    def with_fits(self, fits: Mapping[str, Fit], patience: int = MOST_HALVINGS) -> FittedSolid:
        """The same bodies with other fits; nothing is assembled or factored again.

        Parameters
        ----------
        fits : mapping of str to Fit
            By side of the joint.
        patience : int
            Times that a load step is halved where sets that are not found quickly are sought as
            long as it takes; 0 for what can be done without: the whole step alone, and from inside
            the cones once.

        Raises
        ------
        ValueError
            As the class itself.
        """
        other = copy(self)
        other._set_fits(fits)
        other.patience = patience
        return other

    def at(self, temperature: ArrayLike) -> FittedSolid:
        """The same bodies at another temperature: expansion, and the modulus where it changes.

        Parameters
        ----------
        temperature : array_like, shape (n,)
            At the nodes of the mesh. [degC]

        Raises
        ------
        ValueError
            If the temperatures are not one for each node, or one is below absolute zero.
        """
        warm = copy(self)
        warm.model = self.model.warmed(temperature)
        model = warm.model
        assert model.temperature is not None
        every = slice(None)
        held = held_back(model.mesh, model.materials, model.temperature, every)
        warm._expansion = self._forces.of_pressure(held).ravel()
        warm._softer = None
        share = stiffness_share(model.mesh, model.materials, model.temperature, every)
        if share is not None and np.any(model.temperature != REFERENCE):
            warm._softer = _Softer.of(self._forces, model, share - 1)
        return warm

    def between(self, other: FittedSolid, share: float) -> FittedSolid:
        """The same bodies at a temperature that lies so far from this one to that of another.

        Parameters
        ----------
        other : FittedSolid
            The same bodies at another temperature (:meth:`at`).
        share : float
            0 for this one, 1 for the other.
        """
        assert self.temperature is not None
        assert other.temperature is not None
        return self.at((1 - share) * self.temperature + share * other.temperature)

    def fitted_as_it_stands(self, part: str) -> FittedSolid:
        """The same at 20 degC, a part made to fit the rest as that stands without it, not as drawn.

        Its overlaps, and what its pairs open and slide by, count from there: with no overlap it
        touches all along that shape and is pressed by nothing.

        Parameters
        ----------
        part : str

        Raises
        ------
        SolidContactError
            If what touches of other parts is not found, or the rest without it does not settle.
        """
        nodes = np.zeros(len(self.model.mesh.points), dtype=bool)
        nodes[self.model.mesh.prisms[self.model.mesh.part == self.model.mesh.parts.index(part)]] = (
            True
        )
        ours = nodes[self.joint.own[self.corners]]
        clear = {self.side[pair]: Fit(overlap=-CLEAR) for pair in np.flatnonzero(ours)}
        off = self.with_fits({**self.fits, **clear})
        off._last_held, stood = None, np.zeros_like(self._stood)
        if (ours & self.stuck).any():
            moved = self._moved_alone() if ours.all() else off._moved_without(nodes)
            stood[:, ours & self.stuck] = self._jumps_from(moved)[:, ours & self.stuck]
            off._stood = stood
        stands = off.solve()
        other = copy(self)
        other.stands = stands.solution.displacement
        other._stood = np.where(ours & ~self.stuck, stands.jumps.reshape(3, -1), stood)
        other._last_held = None
        return other

    def _moved_alone(self) -> Array:
        """How far what no joint holds, but its springs, has moved, shape (n, 3). [mm]."""
        right = self._to_nodes.T @ self._expansion
        right[self._pinned] = 0
        unknowns = np.empty(len(right))
        unknowns[self._order] = self._factor.solve(right[self._order])
        return np.asarray(self._to_nodes @ unknowns).reshape(-1, 3)

    def _moved_without(self, nodes: Flags) -> Array:
        """How far the rest has moved without a part, shape (n, 3). [mm].

        The part, of these nodes, is metal with no stiffness: what it has carries none of the load.
        """
        pattern = self.model.pattern
        gone = copy(self)
        gone._softer = _Symmetric(pattern, np.where(nodes[pattern.rows // 3], -self._entries, 0.0))
        state = None
        for _ in range(MOST_GONE):
            state = gone.solve(guess=state)
            moved = state.solution.displacement
            change = state.softer + gone._softer @ moved.ravel()
            if np.abs(change).max() <= STOOD * np.abs(state.softer).max():
                return moved
        beside = self.joint.other[self.corners]
        worst = int(np.abs(change.reshape(-1, 3)[beside]).max(axis=1).argmax())
        raise SolidContactError(
            f"the rest without the part does not settle in {MOST_GONE} turns.",
            self.side[worst], self.model.mesh.points[beside[worst]],
        )  # fmt: skip

    def _jumps_from(self, moved: Array) -> Array:
        """Jumps, shape (3, k), from the rest that has moved so far to a part as drawn."""
        own = (3 * self.joint.own[:, None] + np.arange(3)).ravel()
        jump = self._to_nodes[own][:, own].tocsc()
        idle = np.diff(jump.indptr) == 0  # unknowns that are none
        jump += sparse.diags_array(idle.astype(float)).tocsc()
        of_nodes = np.zeros(len(self._pinned))
        of_nodes[own] = spsolve(jump, -moved[self.joint.other].ravel())
        return of_nodes[self._along]

    @property
    def solver(self) -> str:
        """Library that factored."""
        return self._factor.name

    @property
    def temperature(self) -> Array | None:
        """Of the nodes, shape (n,); None at 20 degC. [degC]."""
        return self.model.temperature

    def solve(
        self,
        forces: ArrayLike | None = None,
        before: FittedState | None = None,
        guess: FittedState | None = None,
        like: Sequence[FittedState] = (),
    ) -> FittedState:
        """Find what touches under nodal forces, at the temperature of the model.

        Parameters
        ----------
        forces : array_like, shape (n, 3), optional
            On the nodes of the mesh; none if left out. [N]
        before : FittedState, optional
            The load step before, from which friction goes on.
        guess : FittedState, optional
            A step that is thought to touch at the same pairs: where to begin, no more.
        like : sequence of FittedState, optional
            Steps at this temperature whose loads, put together, are much like this one: what they
            tell of softer metal is where it begins.

        Raises
        ------
        SolidContactError
            If the systems allowed do not suffice.
        """
        return self.solve_many([forces], before, [guess], like)[0]

    def solve_many(
        self,
        forces: Sequence[ArrayLike | None],
        before: FittedState | None,
        guesses: Sequence[FittedState | None],
        like: Sequence[FittedState] = (),
    ) -> list[FittedState]:
        """Find what touches under each of several loads, as :meth:`solve` does one by one.

        Abreast, so that what each asks of the factor is met at once, which reads it less often.

        Parameters
        ----------
        forces : sequence of array_like, shape (n, 3), or None
            [N]
        before : FittedState or None
            The load step before all of them.
        guesses : sequence of FittedState or None
            Of each.
        like : sequence of FittedState
            As :meth:`solve` takes it, of all.

        Raises
        ------
        SolidContactError
            If the systems allowed do not suffice for one.
        """
        ways = [
            self._way(of, before, guess, like) for of, guess in zip(forces, guesses, strict=True)
        ]
        found: dict[int, FittedState] = {}
        answers: dict[int, Any] = dict.fromkeys(range(len(ways)))
        while answers:
            asked: dict[int, _Asked] = {}
            for number, answer in answers.items():
                try:
                    asked[number] = ways[number].send(answer)
                except StopIteration as ended:
                    found[number] = ended.value
                except SolidContactError as error:
                    error.number = number
                    raise
            answers = self._answers(asked)
        return [found[number] for number in range(len(ways))]

    def _answers(self, asked: Mapping[int, _Asked]) -> dict[int, Any]:
        """What the factor makes of all that is asked of it, one half and the other together."""
        found: dict[int, Any] = {}
        if some := [number for number, (_, jumps) in asked.items() if jumps is None]:
            halves, unmet = self._factor.reduce(_columns(asked[number][0] for number in some))
            unmet = unmet[: len(self._unknowns)]
            found |= zip(some, zip(halves.T, unmet.T, strict=True), strict=True)
        if some := [number for number in asked if number not in found]:
            halves, sought = (_columns(asked[number][k] for number in some) for k in range(2))
            jumps = np.concatenate([sought, np.zeros((self._known.size, len(some)))])
            found |= zip(some, self._factor.expand(halves, jumps).T, strict=True)
        return found

    def _way(
        self,
        forces: ArrayLike | None,
        before: FittedState | None,
        guess: FittedState | None,
        like: Sequence[FittedState],
    ) -> _Way:
        """To what touches under a load, by what it asks of the factor."""
        load = self._expansion.copy()
        if forces is not None:
            load += np.asarray(forces, dtype=float).ravel()
        if before is None:
            kept = self.bonded | self.stuck | self.apart
            most = max(0.0, self._overlap[~kept].max(initial=0.0))
            least = np.where(kept, 0.0, self._overlap - most)
            pressed = yield from self._patiently(
                load, self._overlap, None, np.zeros(len(load)), least, guess, like
            )
            return cured(pressed, np.where(self.apart, -1.0, self._filling.fills))
        overlap_before = self._overlap + before.filler
        if self._filling:
            before = softened(before, *self.strengths())
        overlap = self._overlap + before.filler
        return (
            yield from self._patiently(
                load, overlap, before, before.load, overlap_before, guess, like
            )
        )

    def friction(self, before: FittedState | None) -> Array:
        """Coulomb's coefficient of each pair: that of the compound where there is some."""
        if before is None:
            return np.where(self.bonded, 0.0, self._filling.friction)
        return np.where(before.intact | before.broken, self._filling.friction, self._dry)

    def strengths(self) -> tuple[Array, Array]:
        """Tension and shear strength of the compound at each pair, as warm as it is. [MPa]."""
        at = np.full(len(self.corners), REFERENCE)
        if self.temperature is not None:
            of = self.joint.own[self.corners], self.joint.other[self.corners]
            at = self.temperature[np.stack(of)].mean(axis=0)
        return self._filling.strengths(at)

    def _patiently(
        self,
        load: Array,
        overlap: Array,
        before: FittedState | None,
        load_before: Array,
        overlap_before: Array,
        guess: FittedState | None,
        like: Sequence[FittedState],
    ) -> _Way:
        """A load step whose sets are sought quickly, and only where none are found patiently."""
        step = load, overlap, before, load_before, overlap_before
        try:
            return (yield from self._by_halves(*step, MOST_HALVINGS, QUICK, guess, like))
        except SolidContactError:
            settings = SEARCH if self.patience else replace(SEARCH, most_cones=1)
            return (yield from self._by_halves(*step, self.patience, settings, guess, like))

    def _by_halves(
        self,
        load: Array,
        overlap: Array,
        before: FittedState | None,
        load_before: Array,
        overlap_before: Array,
        halvings: int,
        settings: SearchSettings,
        guess: FittedState | None = None,
        like: Sequence[FittedState] = (),
    ) -> _Way:
        """A load step at once, or in halves if its sets are not found."""
        try:
            return (yield from self._step(load, overlap, before, settings, guess, like))
        except SolidContactError:
            if not halvings:
                raise
        half_load, half_overlap = (load + load_before) / 2, (overlap + overlap_before) / 2
        half = yield from self._by_halves(
            half_load, half_overlap, before, load_before, overlap_before, halvings - 1, settings
        )
        whole = yield from self._by_halves(
            load, overlap, half, half_load, half_overlap, halvings - 1, settings
        )
        return replace(whole, systems=half.systems + whole.systems)

    def _step(
        self,
        load: Array,
        overlap: Array,
        before: FittedState | None,
        settings: SearchSettings,
        guess: FittedState | None,
        like: Sequence[FittedState],
    ) -> _Way:
        """Find what breaks, touches and slides under a load."""
        if before is None or not before.intact.any():
            found = yield from self._touching(
                load, overlap, before, settings, guess, like, self.bonded
            )
            return found if before is None else keeping(found, before, before.intact)
        tension, shear = self.strengths()
        intact, mu = before.intact.copy(), self.friction(before)
        sought = self._of_all(np.ones(len(self._live), dtype=bool), False)
        systems, least = 0, 1
        while True:
            held = self.bonded | intact
            found = yield from self._touching(load, overlap, before, settings, guess, like, held)
            systems += found.systems
            floor = SLIGHT * float(np.abs(found.force).sum() / max(found.closed.sum(), 1))
            rubs = np.hypot(*found.friction)
            used = share_used(found.force, rubs, mu, tension, shear, self.area, floor)
            breaks = breaking(np.where(intact & sought, used, 0.0), least, AS_EQUAL)
            if not breaks.any():
                return replace(keeping(found, before, intact), systems=systems)
            intact &= ~breaks
            guess, least = found, 2 * least

    def _touching(
        self,
        load: Array,
        overlap: Array,
        before: FittedState | None,
        settings: SearchSettings,
        guess: FittedState | None,
        like: Sequence[FittedState],
        held: Flags,
    ) -> _Way:
        """Find what touches and slides under a load, turn by turn until softer metal is met."""
        live = self._live
        sets, start = self._first_sets(overlap, before, held)
        tied = np.zeros((3, len(self.corners))) if before is None else before.jumps.reshape(3, -1)
        task = Task(
            load=np.zeros(3 * len(live)),
            overlap=overlap[live],
            held=held[live],
            start=start,
            mu=np.where(sets.closed, self.friction(before)[live], 0.0),
            tied=tied[:, live].ravel(),
        )
        known, pressed = self._held_by(overlap)
        if guess is not None:
            sets, _ = self._first_sets(overlap, guess, held)
        begun_from = before if guess is None else guess
        since = None if begun_from is None else self._since(begun_from)
        softer = np.zeros(len(load))
        if self._softer is not None:
            begun = [of for of in (guess, before) if of is not None]
            softer = _put_together(load, like or begun[:1])
        tried: list[tuple[Array, Array]] = []
        systems = 0
        for _ in range(MOST_TURNS):
            right = self._to_nodes.T @ (load + softer - pressed)
            right[self._pinned] = 0
            half, unmet = yield right[self._order], None
            task = replace(task, load=unmet)
            ended = search(self._condensed, task, sets, self._piece, settings, since)
            systems += ended.systems
            if not ended.settled:
                raise self._error(ended)
            sets = ended.sets
            since = Since(ended.found, task.overlap)
            unknowns = np.empty(len(load))
            unknowns[self._order] = yield half, ended.found.jumps
            displacement = self._to_nodes @ (unknowns + known)
            if self._softer is None:
                break
            asked = -(self._softer @ displacement)
            change = asked - softer
            if np.abs(change).max() <= AGREED * np.abs(asked).max():
                softer = asked
                break
            tried.append((softer, change))
            softer = mixed(tried)
        return self._state(ended, overlap, unknowns, displacement, load, softer, systems)

    def _state(
        self,
        ended: Search,
        overlap: Array,
        unknowns: Array,
        displacement: Array,
        load: Array,
        softer: Array,
        systems: int,
    ) -> FittedState:
        k, found, sets = len(self.corners), ended.found, ended.sets
        # of what is held; softer metal's load is what its stiffness differs by, the sign turned
        unmet = self._unmet.at(displacement, load + softer)
        carried = unmet[self._carriers]
        solution = SolidSolution(
            self.model,
            displacement.reshape(-1, 3),
            self._carriers,
            carried,
            carried[np.isin(self._carriers, self._held)],
            self.temperature,
        )
        jumps, push = np.zeros((3, k)), np.zeros((3, k))
        jumps[:, self._live] = found.jumps.reshape(3, -1)
        jumps[0] = np.where(self.stuck, self._stays(overlap), jumps[0])
        jumps[:, self.apart] = unknowns[self._apart]
        push[:, self._live] = found.push.reshape(3, -1)
        push[:, self.stuck] = unmet[self._known]
        closed, sticks = (self._of_all(of, False) | self.stuck for of in (sets.closed, sets.sticks))
        force = np.where(closed, -push[0], 0.0)
        return FittedState(
            solution=solution,
            closed=closed,
            sticks=sticks,
            force=force,
            pressure=force / self.area,
            friction=np.where(sticks | self._of_all(sets.rubs, False), -push[1:], 0.0),
            gap=np.where(closed, 0.0, -jumps[0] - overlap),
            slip=jumps[1:],
            loose=self._of_all(ended.loose, False),
            systems=systems,
            jumps=jumps.ravel(),
            load=load,
            softer=softer,
            turn=self._of_all(sets.turn, 0.0),
            intact=np.zeros(k, dtype=bool),
            broken=np.zeros(k, dtype=bool),
            filler=np.zeros(k),
        )

    def _held_by(self, overlap: Array) -> tuple[Array, Array]:
        """Unknowns of the pairs that stick, and of what jumps count from; what it asks of nodes.

        Else 0; each of shape (3 n,).
        """
        if self._last_held is None or not np.array_equal(self._last_held[0], overlap):
            known = np.zeros(len(self._pinned))
            known[self._known[0]] = self._stays(overlap)[self.stuck]
            known[self._along] += self._stood
            pressed = self._stiffness() @ (self._to_nodes @ known)
            self._last_held = overlap.copy(), known, pressed
        return self._last_held[1:]

    def _stays(self, overlap: Array) -> Array:
        """Jump along the normal of pairs that stick: no gap is drawn shut."""
        return -np.where(self.bonded, overlap, np.maximum(overlap, 0.0))

    def _of_all(self, live: NDArray[Any], rest: float) -> NDArray[Any]:
        """What is told of the pairs that are sought, with a value for the others."""
        found = np.full(len(self.corners), rest, dtype=live.dtype)
        found[self._live] = live
        return found

    def _stiffness(self) -> _Symmetric:
        """Of the bodies at 20 degC."""
        return _Symmetric(self.model.pattern, self._entries)

    def _first_sets(
        self, overlap: Array, before: FittedState | None, held: Flags
    ) -> tuple[Sets, Array]:
        """Pairs that touched last, or all without clearance, free to slide; where they stick."""
        live = self._live
        bonded, rough = held[live], self.friction(before)[live] > 0
        none = np.zeros((2, len(live)))
        if before is None:
            closed = bonded | (overlap[live] >= 0)
            return Sets(closed, bonded, none, none[0]), none
        closed = bonded | before.closed[live]
        friction = before.friction[:, live]
        size = np.hypot(*friction)
        sticks = closed & (bonded | (rough & (before.sticks[live] | (size == 0))))
        slides = closed & ~sticks & rough
        way = np.where(slides, friction / np.where(size > 0, size, 1), 0.0)
        turn = np.where(slides, before.turn[live], 0.0)
        return Sets(closed, sticks, way, turn), before.slip[:, live]

    def _since(self, state: FittedState) -> Since:
        """What is sought of a state that is solved."""
        live = self._live
        push = -np.concatenate([state.force[None], state.friction])[:, live]
        jumps = state.jumps.reshape(3, -1)[:, live]
        return Since(Found(jumps.ravel(), push.ravel()), -jumps[0] - state.gap[live])

    def _error(self, ended: Search) -> SolidContactError:
        """With the side where most is in doubt, and the worst place there."""
        doubt = self._of_all(ended.doubt, 0)
        sides = {side: np.array(self.side) == side for side in set(self.side)}
        side = max(sides, key=lambda of: (doubt * self.area)[sides[of]].sum())
        worst = np.argmax(np.where(sides[side], doubt, -1))
        place = self.model.mesh.points[self.joint.own[self.corners[worst]]]
        return SolidContactError(
            f"what touches of the joint was not found in {ended.systems} systems, most in doubt "
            f"against the {side}.",
            side,
            place,
        )


def _kept_holds(model: SolidModel, joint: SolidJoint, bodies: Integers) -> Integers:
    """Unknowns that hold one body of each assembly that hangs together by the joint."""
    kept = one_of_each(bodies[joint.own], bodies[joint.other], np.bincount(model.bodies))
    return model.held[np.isin(bodies[model.held // 3], kept)]


def _in_order(lower: sparse.csc_array, order: Integers, pinned: Flags) -> sparse.csc_array:
    """A symmetric matrix in another order of its unknowns, some of them cut off.

    Parameters
    ----------
    lower : sparse array, shape (n, n)
        Lower triangle.
    order : ndarray of int, shape (n,)
        Old number of each unknown.
    pinned : ndarray of bool, shape (n,)
        By old number: 1 on the diagonal, and no more.
    """
    size = len(order)
    place = np.empty(size, dtype=np.int32)
    place[order] = np.arange(size, dtype=np.int32)
    columns = np.repeat(np.arange(size, dtype=np.int32), np.diff(lower.indptr))
    kept = ~(pinned[lower.indices] | pinned[columns]) & (lower.data != 0)
    alone = place[pinned]
    row, column = (np.concatenate([place[of[kept]], alone]) for of in (lower.indices, columns))
    values = np.concatenate([lower.data[kept], np.ones(len(alone))])
    del columns, kept
    both = np.maximum(row, column), np.minimum(row, column)
    found = sparse.coo_array((values, both), shape=(size, size)).tocsc()
    found.sort_indices()
    return found


def _order_by_nodes(lower: sparse.csc_array, count: int) -> Integers:
    """Order of elimination of all unknowns but the last, three of a node together."""
    rest = lower.shape[0] - count
    row, column = lower[:rest, :rest].tocoo().coords
    nodes = sparse.coo_array(
        (np.ones(len(row), dtype=np.int32), (row // 3, column // 3)), shape=(rest // 3, rest // 3)
    ).tocsr()
    order = elimination_order(sparse.csr_array(nodes + nodes.T))
    return (3 * order[:, None] + np.arange(3)).ravel()


class _Symmetric:
    """A symmetric matrix, of which the lower triangle is kept."""

    def __init__(self, pattern: Pattern, entries: Array) -> None:
        size = len(pattern.starts) - 1
        self._lower = sparse.csc_array((entries, pattern.rows, pattern.starts), shape=(size, size))
        self._diagonal = entries[pattern.starts[:-1]]

    def __matmul__(self, vector: Array) -> Array:
        return np.asarray(self._lower @ vector + self._lower.T @ vector - self._diagonal * vector)


@dataclass(frozen=True, eq=False, slots=True)
class _Softer:
    """What the stiffness of warm metal differs by from that at 20 degC.

    Attributes
    ----------
    forces : PrismForces
    lam, mu : ndarray, shape (m, q)
        What Lame's constants differ by at quadrature points. [MPa]
    """

    forces: PrismForces
    lam: Array
    mu: Array

    @staticmethod
    def of(forces: PrismForces, model: SolidModel, more: Array) -> _Softer:
        """By what more Young's modulus there is, over that at 20 degC, shape (m, q)."""
        mesh = model.mesh
        constants = np.array([lame(model.materials[part]) for part in mesh.parts])
        lam, mu = constants.T[:, mesh.part]
        return _Softer(forces, lam[:, None] * more, mu[:, None] * more)

    def __matmul__(self, vector: Array) -> Array:
        return self.forces.of_strain(vector.reshape(-1, 3), self.lam, self.mu).ravel()


class _Unmet:
    """What some unknowns lack of equilibrium.

    Parameters
    ----------
    pattern : Pattern
    entries : ndarray
        Of the stiffness on it.
    to_nodes : sparse array, shape (3 n, 3 n)
    asked : ndarray of bool, shape (3 n,)
        Those unknowns.
    """

    def __init__(
        self, pattern: Pattern, entries: Array, to_nodes: sparse.csr_array, asked: Flags
    ) -> None:
        size = len(asked)
        self._asked = np.flatnonzero(asked)
        felt = sparse.csr_array(to_nodes.tocsc()[:, self._asked].T)
        self._at = np.unique(felt.indices)
        self._felt = felt[:, self._at]
        place = np.full(size, -1)
        place[self._at] = np.arange(len(self._at))
        chosen, rows, columns = pattern.touching(place >= 0)
        values = entries[chosen]
        by_row, by_column = place[rows] >= 0, (place[columns] >= 0) & (rows != columns)
        self._rows = sparse.coo_array(
            (
                np.concatenate([values[by_row], values[by_column]]),
                (
                    np.concatenate([place[rows[by_row]], place[columns[by_column]]]),
                    np.concatenate([columns[by_row], rows[by_column]]),
                ),
            ),
            shape=(len(self._at), size),
        ).tocsr()

    def at(self, displacement: Array, load: Array) -> Array:
        """Inner forces less the load, shape (3 n,); 0 where they are not asked for. [N]."""
        found = np.zeros(len(displacement))
        found[self._asked] = self._felt @ (self._rows @ displacement - load[self._at])
        return found


def _columns(some: Iterable[Array | None]) -> Array:
    return np.stack([one for one in some if one is not None], axis=1)


def _put_together(load: Array, states: Sequence[FittedState]) -> Array:
    """What softer metal asks for under a load that is much like a mixture of some states'."""
    if not states:
        return np.zeros(len(load))
    *others, last = states
    if not others:
        return last.softer
    sought = load - last.load
    some = np.flatnonzero(
        np.logical_or.reduce([sought != 0, *(of.load != last.load for of in others)])
    )
    loads = np.stack([of.load[some] - last.load[some] for of in others], axis=1)
    weights = np.linalg.pinv(loads.T @ loads, rcond=ALIKE**2, hermitian=True) @ (
        loads.T @ sought[some]
    )
    softer = (1 - weights.sum()) * last.softer
    for weight, of in zip(weights, others, strict=True):
        softer += weight * of.softer
    return np.asarray(softer)

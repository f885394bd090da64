"""Press fit: bodies that touch along joints, open, stick and slide.

Corner nodes lie in pairs along the joint (:mod:`geometry.parted`). The unknowns of a pair are the
displacement of the rest and the jump from it to the part, along the normal n out of the part and
along the tangent t; from pair to pair the jump is linear, so that the forces of quadratic sides
don't alternate from node to node. With an overlap delta (half of the interference on the diameter,
less the gap at which a rounded edge stands off) the jump g, the force lambda that presses a pair
together and the friction force tau obey

    g_n + delta <= 0,   lambda >= 0,   lambda (g_n + delta) = 0,
    |tau| <= mu lambda,   tau = -mu lambda sign(slip) where it slips,

under small sliding. The jump of a pair that touches is known, so each set of pairs that touch and
stick is one linear system, symmetric and positive definite; the sets are found by a primal-dual
active-set method, which is a semi-smooth Newton method [1]_ [2]_. The bodies are condensed to the
joint once (:mod:`fea.contact.condensed`), so that a set costs no more than the forces of its
pairs. Where the method only opens the joint a few pairs at a time, it is begun anew from sets that
an interior-point method finds (:mod:`fea.contact.interior`), by the factor of the whole section,
whose pattern is analysed once; so is all with a piece that is loose, as its springs change.

Compound that fills a pair cures at the end of the first step, with no stress of its own: what
touches goes on to touch with the force that it has, what is open by no more than the compound
fills is kept at that gap. From then on the pair can neither open nor slide while

    (max(sigma, 0) / T)^2 + (max(|tau| - mu p, 0) / S)^2 <= 1,

sigma being the pull and p the pressure across it, T and S the compound's strengths in tension and
in shear as warm as the pair is. That friction adds to what the compound holds is measured [4]_; the
ellipse under a pull, and that p counts in full, are chosen. Beyond that the compound is broken for
good: the pair obeys the laws above, what is left of the compound between it. A compound with no
strength at its temperature is gone for good, and the pair as if there were none, but for the
friction. Each set of intact pairs is a problem of contact like any
other, its intact pairs bonded. What breaks depends on the order, as with all that is brittle; here
those furthest beyond their strength break first (within one part in a thousand together, so that
what is alike stays alike) and the rest is solved again. A pass breaks all that are beyond by half
as much as the worst, and twice as many as the pass before where so many are beyond: 7 to 23 passes
where half of a joint of 131 pairs gives way, or all of it, never more than there are pairs. Stress
at the end of what is intact has no finite peak, so that smaller sides break sooner, and what has
begun to open mostly goes on: a compound that yields before it breaks holds longer than this law.

A pair that closes within a load step slides free of friction until the next. Soft springs keep a
piece that nothing holds. They are tied to where the pairs stood last, and tied anew until they
carry nothing that counts (a proximal-point method [3]_), so that the answer is without them.

References
----------
.. [1] Hueeber & Wohlmuth, *Comput. Methods Appl. Mech. Engrg.* 194 (2005) 3147-3166
   (from memory).
.. [2] Hintermueller, Ito & Kunisch, *SIAM J. Optim.* 13 (2003) 865-888 (from memory).
.. [3] Rockafellar, *SIAM J. Control Optim.* 14 (1976) 877-898 (from memory).
.. [4] Ragni, Castagnetti & Dragoni, *Experimental validation of a simple shear strength model for
   hybrid friction-bonded interfaces*, *Int. J. Adhesion and Adhesives*: anaerobic adhesives under
   pressure; the work up to failure is that of a cohesive law and of friction in sum.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from fea.contact.condensed import Condensed, Held
from fea.contact.interior import from_inside
from fea.contact.joint import Found, JointModel, Sets, System
from fea.contact.pairs import Fit, Pairs, pairs_of
from fea.contact.settings import SETTINGS, ContactSettings
from fea.factor import Factor, NotPositiveDefiniteError
from fea.material import REFERENCE, Material
from fea.model import SectionModel, Solution
from geometry.parted import Parted

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


class ContactError(RuntimeError):
    """The pairs that touch were not found within the iterations allowed.

    Attributes
    ----------
    part, against : str
        Part on its own, and part of the rest on the side of its joint where most is in doubt.
    place : ndarray, shape (2,)
        Of the pair there that is most in doubt. [mm]
    """

    def __init__(self, message: str, part: str, against: str, place: Array) -> None:
        super().__init__(message)
        self.part, self.against, self.place = part, against, place


@dataclass(frozen=True, eq=False, slots=True)
class Contact:
    """What the pairs of a joint do under a load.

    Attributes
    ----------
    closed, sticks : ndarray of bool, shape (k,)
        Whether a pair touches, metal or cured compound, and does not slide.
    force : ndarray, shape (k,)
        That presses the pair together; less than 0 only where it is bonded or its compound is
        intact. [N]
    pressure : ndarray, shape (k,)
        The same over the area of the pair. [MPa]
    friction : ndarray, shape (k,)
        On the part, along the tangent (the normal turned a quarter counter-clockwise). [N]
    gap : ndarray, shape (k,)
        Opening; 0 where it touches. [mm]
    slip : ndarray, shape (k,)
        Of the part along the tangent, since it was fitted. [mm]
    intact, broken : ndarray of bool, shape (k,)
        Whether compound has filled a pair, with strength left, or used up for good. What has just
        been pressed in is cured at the end of that step.
    filler : ndarray, shape (k,)
        Thickness of that compound, which keeps what was open apart; 0 where the pair touched. [mm]
    """

    closed: Flags
    sticks: Flags
    force: Array
    pressure: Array
    friction: Array
    gap: Array
    slip: Array
    intact: Flags
    broken: Flags
    filler: Array

    def at(self, some: Flags) -> Contact:
        """That of some of the pairs, shape (k,)."""
        return Contact(*(getattr(self, of.name)[some] for of in fields(self)))


@dataclass(frozen=True, eq=False, slots=True)
class Fitted:
    """A fitted section under one load step."""

    solution: Solution
    contact: Contact
    iterations: int  # linear systems factored
    jumps: Array  # of the pairs along the normal, then along the tangent, shape (2 k,) [mm]
    load: Array  # in the unknowns of the jumps [N]
    softer: Array  # load that stands for softer metal on the joint by itself, shape (2 k,) [N]

    def broken_as(self, other: Contact) -> Fitted:
        """The same, with the compound broken that is broken in another step as well."""
        contact = self.contact
        breaks = contact.intact & other.broken
        if not breaks.any():
            return self
        contact = replace(
            contact,
            intact=contact.intact & ~breaks,
            broken=contact.broken | breaks,
            filler=np.where(breaks, other.filler, contact.filler),
        )
        return replace(self, contact=contact)


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

    def kept(self, sets: Sets) -> bool:
        """Whether these sets are the solution."""
        return self.after.same(sets) and not self.far.any() and bool(self.idle.all())


class FittedModel:
    """Parts fitted into the rest, ready for load steps.

    Analysed once; each set of pairs that touch and stick costs a numeric factorisation, whatever
    the load, the fit (:meth:`with_fits`) or the temperature (:meth:`at`).

    Parameters
    ----------
    parted : Parted
    materials : mapping of str to Material
    fits : mapping of (str, str) to Fit
        By the part on its own and the part of the rest that it is fitted against; bonded without
        overlap where none is named.
    settings : ContactSettings, optional
        ``SETTINGS`` if left out.

    Attributes
    ----------
    parted : Parted
    model : SectionModel
        Of the parted mesh.
    pairs : Pairs
    fits : mapping of (str, str) to Fit
    bonded : ndarray of bool, shape (k,)
        Pairs whose side is bonded.

    Raises
    ------
    ValueError
        If a fit is named for parts that don't touch, or a joint has no sides.
    """

    def __init__(
        self,
        parted: Parted,
        materials: Mapping[str, Material],
        fits: Mapping[tuple[str, str], Fit],
        settings: ContactSettings | None = None,
    ) -> None:
        settings = settings or SETTINGS
        for joint in parted.joints:
            if not len(joint.own):
                raise ValueError(f"the {joint.part} touches nothing.")
        self.parted, self.settings = parted, settings
        self.model = SectionModel(parted.mesh, materials)
        self.pairs = pairs_of(parted)
        self._set_fits(fits)
        self._joint = JointModel(self.model, self.pairs, settings)

    @property
    def temperature(self) -> Array | None:
        """Of the nodes, shape (n,); None at 20 degC. [degC]."""
        return self._joint.temperature

    def with_fits(self, fits: Mapping[tuple[str, str], Fit]) -> FittedModel:
        """The same bodies with other fits; nothing is assembled or analysed again.

        Raises
        ------
        ValueError
            If a fit is named for parts that don't touch.
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

        Raises
        ------
        ValueError
            If the temperatures are not one for each node, or one is below absolute zero.
        """
        other = copy(self)
        other._joint = self._joint.at(np.asarray(temperature, dtype=float))
        return other

    def by_itself(self) -> FittedModel:
        """The same, its joint condensed at its own temperature: to be solved under many loads."""
        other = copy(self)
        other._joint = self._joint.by_itself()
        return other

    def _set_fits(self, fits: Mapping[tuple[str, str], Fit]) -> None:
        sides = self.pairs.side
        for part, against in sorted(set(fits) - set(sides)):
            touched = sorted({at for of, at in sides if of == part})
            if not touched:
                parts = ", ".join(joint.part for joint in self.parted.joints)
                raise ValueError(f"the {part} is not cut loose. Choose from {parts}.")
            raise ValueError(
                f"the {part} does not touch {against}. Choose from {', '.join(touched)}."
            )
        self.fits = dict(fits)
        of = [fits.get(side, Fit(bonded=True)) for side in sides]
        overlap = np.array([fit.overlap for fit in of])
        self._dry = np.array([fit.friction for fit in of])
        self.bonded = np.array([fit.bonded for fit in of])
        self._wet, self._fills = self._dry.copy(), np.full(len(of), -1.0)
        self._compounds = [
            (compound, np.array([fit.compound == compound for fit in of]))
            for compound in {fit.compound for fit in of if fit.compound}
        ]
        for compound, where in self._compounds:
            self._wet[where], self._fills[where] = compound.friction, compound.fills
        self._largest = np.abs(overlap).max()
        self._overlap = np.where(self.bonded, overlap, overlap - self.pairs.gap)

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
        load = self._joint.expansion.copy()
        if forces is not None:
            load[self.model.dofs] += np.asarray(forces, dtype=float)
        load = self._joint.to_nodes.T @ load
        if before is None:
            most = max(0.0, self._overlap[~self.bonded].max(initial=0.0))
            least = np.where(self.bonded, 0.0, self._overlap - most)
            return self._cured(
                self._by_halves(
                    load, self._overlap, self._wet, None, np.zeros(len(load)), least, guess
                )
            )
        overlap_before = self._overlap + before.contact.filler
        before = self._softened(before)
        overlap = self._overlap + before.contact.filler
        mu = self.friction(before.contact)
        return self._by_halves(load, overlap, mu, before, before.load, overlap_before, guess)

    def friction(self, contact: Contact) -> Array:
        """Coulomb's coefficient of each pair once the compound has cured, shape (k,)."""
        return np.where(contact.intact | contact.broken, self._wet, self._dry)

    def strengths(self, temperature: Array | None) -> tuple[Array, Array]:
        """Tension and shear strength of the compound at each pair; 0 where there is none. [MPa].

        Parameters
        ----------
        temperature : ndarray, shape (n,), or None
            Of the nodes; None at 20 degC. [degC]

        Returns
        -------
        tension, shear : ndarray, shape (k,)
        """
        at = np.full(len(self.bonded), REFERENCE)
        if temperature is not None:
            at = temperature[np.stack([self.pairs.own, self.pairs.other])].mean(axis=0)
        tension, shear = np.zeros(len(at)), np.zeros(len(at))
        for compound, where in self._compounds:
            tension[where], shear[where] = compound.strengths(at[where])
        return tension, shear

    def _cured(self, pressed: Fitted) -> Fitted:
        """What has been pressed in, its compound cured where it fills the gap."""
        contact = pressed.contact
        fills = contact.gap <= self._fills
        closes = fills & ~contact.closed
        contact = replace(
            contact,
            closed=contact.closed | closes,
            sticks=contact.sticks | closes,
            gap=np.where(closes, 0.0, contact.gap),
            intact=fills,
            filler=np.where(closes, contact.gap, 0.0),
        )
        return replace(pressed, contact=contact)

    def _softened(self, before: Fitted) -> Fitted:
        """The step before, without the compound that has no strength where it is as warm as now."""
        contact = before.contact
        filled = contact.intact | contact.broken
        if not filled.any():
            return before
        tension, shear = self.strengths(self.temperature)
        gone = filled & (tension == 0) & (shear == 0)
        contact = replace(
            contact,
            intact=contact.intact & ~gone,
            broken=contact.broken | gone,
            filler=np.where(gone, 0.0, contact.filler),
        )
        return replace(before, contact=contact)

    def influence(self, forces: ArrayLike, at: Fitted) -> Solution:
        """What further nodal forces make while the joint keeps the state of a step.

        Pairs that touch stay together and those that stick don't slide; those that slide do so
        free of further friction. Costs a few back-substitutions where the joint is condensed, else
        a numeric factorisation.

        Parameters
        ----------
        forces : array_like, shape (n, 2)
            On the nodes of the parted mesh. [N]
        at : Fitted
            A step of this model.
        """
        joint, none = self._joint, np.zeros(len(self._overlap))
        sets = Sets(at.contact.closed, at.contact.sticks, none)
        load = np.zeros(joint.model.dofs.size)
        load[self.model.dofs] = np.asarray(forces, dtype=float)
        load = joint.to_nodes.T @ load
        still = np.zeros(len(joint.jump))
        held = self.bonded | at.contact.intact
        task = _Task(load, none, held, sets.closed, none, none, still)
        aid = np.where(self._loose(sets), self.settings.loose_aid, self.settings.aid)
        way = self._set_out(task, still, aid)
        factor, springs = self._factor(sets, way)
        system = joint.system(sets, none, none, none, springs, still)
        settled = self.settings.settled
        if isinstance(factor, Held):
            found = joint.solve_joint(system, factor, load, way.loaded, still, none, settled)
        else:
            found = joint.solve_section(system, factor, load, none, settled)
        return replace(joint.solution(found.whole, load), temperature=None)

    def carried(self, step: Fitted, pairs: Pairs, points: Array) -> Fitted:
        """A step of the same section on another mesh, as a joint to begin from.

        Each pair does what the nearest one on the same side of the joint did.

        Parameters
        ----------
        step : Fitted
        pairs : Pairs
            Of that step.
        points : ndarray, shape (n, 2)
            Nodes of its mesh. [mm]
        """
        nearest = np.zeros(len(self._overlap), dtype=np.int64)
        there = points[pairs.own]
        here = self.parted.mesh.points[self.pairs.own]
        for side in np.unique(self.pairs.against):
            of = np.flatnonzero(pairs.against == side)
            of = of if len(of) else np.arange(len(there))
            own = self.pairs.against == side
            nearest[own] = of[cKDTree(there[of]).query(here[own])[1]]
        contact = Contact(*(getattr(step.contact, one.name)[nearest] for one in fields(Contact)))
        none = np.zeros(len(self._joint.jump))
        return replace(step, contact=contact, iterations=0, jumps=none, softer=none)

    def _by_halves(
        self,
        load: Array,
        overlap: Array,
        mu: Array,
        before: Fitted | None,
        load_before: Array,
        overlap_before: Array,
        guess: Fitted | None = None,
        halvings: int | None = None,
    ) -> Fitted:
        """A load step at once, or in halves if its sets are not found."""
        halvings = self.settings.most_halvings if halvings is None else halvings
        try:
            return self._step(load, overlap, mu, before, guess)
        except ContactError:
            if not halvings:
                raise
        load_half, overlap_half = (load + load_before) / 2, (overlap + overlap_before) / 2
        half = self._by_halves(
            load_half, overlap_half, mu, before, load_before, overlap_before, halvings=halvings - 1
        )
        whole = self._by_halves(
            load, overlap, mu, half, load_half, overlap_half, halvings=halvings - 1
        )
        return replace(whole, iterations=half.iterations + whole.iterations)

    def _step(
        self, load: Array, overlap: Array, mu: Array, before: Fitted | None, guess: Fitted | None
    ) -> Fitted:
        """Find what breaks, touches and slides under a load in the unknowns of the jumps."""
        if before is None or not before.contact.intact.any():
            found = self._find(load, overlap, mu, before, guess, self.bonded)
            return found if before is None else self._keeping(found, before, before.contact.intact)
        tension, shear = self.strengths(self.temperature)
        intact = before.contact.intact.copy()
        count, least = 0, 1
        while True:
            found = self._find(load, overlap, mu, before, guess, self.bonded | intact)
            count += found.iterations
            used = np.where(intact, self._used(found.contact, mu, tension, shear), 0.0)
            breaks = _breaks(used, least, self.settings.as_equal)
            if not breaks.any():
                return replace(self._keeping(found, before, intact), iterations=count)
            intact &= ~breaks
            guess, least = found, 2 * least

    def _keeping(self, found: Fitted, before: Fitted, intact: Flags) -> Fitted:
        """What is found, with the compound of the step before as far as it is intact."""
        was = before.contact
        broken = (was.intact | was.broken) & ~intact
        contact = replace(found.contact, intact=intact, broken=broken, filler=was.filler)
        return replace(found, contact=contact)

    def _used(self, contact: Contact, mu: Array, tension: Array, shear: Array) -> Array:
        """Share of the compound's strength that each pair takes, shape (k,)."""
        area, floor = self.pairs.area, self._slight(contact.force, contact.closed)
        pulled = np.maximum(-contact.force - floor, 0.0) / area
        rubs = mu * np.maximum(contact.force, 0.0) + floor
        sheared = np.maximum(np.abs(contact.friction) - rubs, 0.0) / area
        none = self.settings.no_strength
        return np.hypot(pulled / np.maximum(tension, none), sheared / np.maximum(shear, none))

    def _slight(self, force: Array, closed: Flags) -> float:
        """Force on a pair that is none beside those that the pairs carry. [N]."""
        touching = max(np.count_nonzero(closed), 1)
        return float(self.settings.slight * np.abs(force).sum() / touching)

    def _find(
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
        tied = np.zeros(len(self._joint.jump)) if before is None else before.jumps
        begun = guess or before
        softer = np.zeros(len(tied)) if begun is None else begun.softer
        task = _Task(
            load, overlap, held, sets.closed, start, np.where(sets.closed, mu, 0.0), softer
        )
        if guess is not None:
            sets, _ = self._first_sets(overlap, guess, task.mu, held)
        aid = np.where(self._loose(sets), set_by.loose_aid, set_by.aid)
        alone = self._joint.condense(aid) is not None
        at_once = _Search(
            most=set_by.most_alone if alone else set_by.most_at_once,
            leaves_off=True,
            near=False,
            patient=set_by.patient_alone if alone else set_by.patient,
            returns=set_by.most_returns,
            farthest=set_by.farthest,
        )
        found, count, doubt = self._search(task, sets, tied, aid, at_once)
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
            raise self._error(
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
                return self._fitted(task, sets, tried, iteration), iteration, doubt
            if (far & (way.aid < set_by.loose_aid)).any() and not how.near:
                way.aid = np.where(far, set_by.loose_aid, way.aid)
                way.condensed = way.condensed and self._joint.condense(way.aid)
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
                raise self._error("nothing holds the {part}: it slides away.", away)
            elif how.leaves_off and weakened == set_by.most_weakened:
                return None, iteration, doubt
            else:
                weakened += 1
                way.aid = np.where(tried.idle, way.aid, way.aid / set_by.weaker)
                way.condensed = None
        return None, how.most, doubt

    def _set_out(self, task: _Task, tied: Array, aid: Array) -> _Way:
        """Where a search begins."""
        none = np.zeros(len(tied))
        condensed = self._joint.condense(aid)
        loaded = softer = none
        if condensed is not None:
            loaded = self._joint.held_at(none, task.load)[1]
            softer = none if self._joint.is_of(condensed) else task.softer
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
        joint = self._joint
        if way.condensed is None:
            springs = joint.springs(way.aid)
            return joint.factored(joint.entries(joint.pinned(sets), springs)), springs
        return way.condensed.hold(joint.pinned(sets)[joint.jump]), way.condensed.springs

    def _try(self, task: _Task, sets: Sets, way: _Way, how: _Search, iteration: int) -> _Tried:
        """What sets lead to: roughly, then exactly, the springs tied anew until they are idle.

        Left off as soon as other sets are due or a piece is far.
        """
        set_by, joint = self.settings, self._joint
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
        return _Tried(found, gap, slip, after, far, idle)

    def _fitted(self, task: _Task, sets: Sets, tried: _Tried, iterations: int) -> Fitted:
        """The step that kept sets make."""
        found = tried.found
        none = np.zeros(len(task.start))
        contact = Contact(
            closed=sets.closed,
            sticks=sets.sticks,
            force=found.force,
            pressure=found.force / self.pairs.area,
            friction=found.friction,
            gap=np.where(sets.closed, 0.0, tried.gap),
            slip=tried.slip,
            intact=none > 0,
            broken=none > 0,
            filler=none,
        )
        solution = self._joint.solution(found.whole, task.load)
        return Fitted(solution, contact, iterations, found.jumps, task.load, found.softer)

    def _near_sets(self, task: _Task) -> tuple[Sets, Array, int]:
        """Sets and jumps near the solution, and the systems factored for them."""
        count = len(self._joint.normal)
        pinned = self._joint.pinned(Sets(task.held, task.held, np.zeros(count)))
        known = np.concatenate([-task.overlap, task.start])
        known = np.where(pinned[self._joint.jump], known, 0.0)
        right = task.load - known @ self._joint.at_jumps
        right[pinned] = 0
        right[self._joint.jump] += known

        def factored(springs: Array) -> Callable[[Array], Array]:
            factor = self._joint.factored(self._joint.entries(pinned, springs))

            def jumps_of(forces: Array) -> Array:
                pushed = right.copy()
                pushed[self._joint.jump] += np.where(pinned[self._joint.jump], 0.0, forces)
                return factor.solve(pushed)[self._joint.jump]

            return jumps_of

        metal = self._joint.values[self._joint.diagonal[self._joint.jump]]
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

    def _error(self, message: str, doubt: Array) -> ContactError:
        """With the side of a joint where most is in doubt, and the worst place there.

        ``{part}`` in the message is the part on its own.
        """
        pairs = self.pairs
        in_doubt = doubt * pairs.area
        sides = {side: self._on(side) for side in set(pairs.side)}
        part, against = max(sides, key=lambda side: in_doubt[sides[side]].sum())
        worst = np.argmax(np.where(sides[part, against], doubt, -1.0))
        place = self.parted.mesh.points[pairs.own[worst]]
        return ContactError(message.format(part=part), part, against, place)

    def _on(self, side: tuple[str, str]) -> Flags:
        """Pairs of one side: the part on its own, and the part of the rest."""
        part, against = side
        return (self.pairs.part == part) & (self.pairs.against == against)

    def _beyond(self, moved: Array, farthest: float) -> Flags:
        """Whether each piece went further than one that is kept."""
        far = np.zeros(self._joint.piece.max() + 1, dtype=bool)
        far[np.tile(self._joint.piece, 2)[np.abs(moved) > farthest + self._largest]] = True
        return far

    def _idle(self, system: System, moved: Array, force: Array) -> Flags:
        """Whether the springs of each piece carry nothing that counts."""
        sets = system.sets
        free = ~np.concatenate([sets.closed, sets.sticks])
        motion = np.where(free, moved - system.tied, 0.0)
        carried = np.abs(system.springs * motion).reshape(2, -1).sum(axis=0)
        by_piece = np.bincount(self._joint.piece, carried)
        pressed = np.bincount(self._joint.piece, np.abs(force))
        far = np.zeros(len(pressed))
        np.maximum.at(far, self._joint.piece, np.abs(motion).reshape(2, -1).max(axis=0))
        set_by = self.settings
        carries_none = by_piece <= np.maximum(set_by.slight * pressed, set_by.unfelt)
        return carries_none | (far < set_by.unmoved)

    def _loose(self, sets: Sets) -> Flags:
        """Whether each piece touches at fewer pairs than can keep it."""
        return np.bincount(self._joint.piece, sets.closed) < self.settings.fewest

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
        floor = ease * self._slight(force, sets.closed)
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


def _breaks(used: Array, least: int, as_equal: float) -> Flags:
    """Pairs whose compound breaks first, shape (k,); none where no strength is used up.

    Those that are beyond it by more than half as much as the worst, but no fewer than ``least`` as
    long as so many are beyond; what is as good as equal breaks together.

    Parameters
    ----------
    used : ndarray, shape (k,)
        Share of its strength that each pair takes.
    least : int
    as_equal : float
        Difference of two shares, over the share, that is none.
    """
    beyond = used > 1
    if not beyond.any():
        return beyond
    worst = np.sort(used[beyond])[::-1]
    bound = min(1 + (worst[0] - 1) / 2, worst[min(least, len(worst)) - 1])
    return beyond & (used >= bound * (1 - as_equal))

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

A pair that closes within a load step slides free of friction until the next. A part may be made to
fit the rest as that stands under stress of its own (:meth:`FittedModel.fitted_as`): jumps count
from there. Soft springs keep a piece that nothing holds. They are tied to where the pairs stood
last, and tied anew until they carry nothing that counts (a proximal-point method [3]_), so that the
answer is without them.

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

from collections.abc import Mapping
from copy import copy
from dataclasses import fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import cKDTree

from fea.contact.compound import Filling, breaking, cured, keeping, share_used, softened
from fea.contact.joint import JointModel
from fea.contact.pairs import Fit, Pairs, overlaps_at, pairs_of
from fea.contact.search import SetsSearch
from fea.contact.settings import SETTINGS, ContactSettings
from fea.contact.state import Contact, ContactError, Fitted
from fea.material import REFERENCE, Material
from fea.model import SectionModel, Solution
from geometry.parted import Parted

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


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
        self._stood = np.zeros(len(self._joint.jump))

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

    def fitted_as(self, stands: Fitted, part: str) -> FittedModel:
        """The same, a part made to fit the rest as it stands in a step, and not as it is drawn.

        Its overlaps, and what its pairs open and slide by, count from there: with no overlap it
        touches all along that step's shape and is pressed by nothing.

        Parameters
        ----------
        stands : Fitted
            A step of this model, the part clear of the rest.
        part : str
        """
        other = copy(self)
        other._stood = np.where(np.tile(self.pairs.part == part, 2), stands.jumps, self._stood)
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
        self.fits, bonded = dict(fits), Fit(bonded=True)
        of = [fits.get(side, bonded) for side in sides]
        for (first, second), against in zip(self.pairs.sides, self.pairs.along, strict=True):
            along = fits.get((self.pairs.part[first], against), bonded)
            if along.bonded:  # as far as its part goes, whichever side of the last pair is longer
                of[first] = of[second] = along
        overlap = overlaps_at(of, self.parted.mesh.points[self.pairs.own])
        self._dry = np.array([fit.friction for fit in of])
        self.bonded = np.array([fit.bonded for fit in of])
        self._filling = Filling(of)
        self._largest = np.abs(overlap).max()
        self._overlap = np.where(self.bonded, overlap, overlap - self.pairs.gap)

    @property
    def _search(self) -> SetsSearch:
        return SetsSearch(self._joint, self.parted.mesh.points, float(self._largest))

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
        found = self._from_where_it_stood(forces, before, guess)
        moved = found.solution.displacement + self._joint.jumped(self._stood)
        return replace(found, solution=replace(found.solution, displacement=moved))

    def _from_where_it_stood(
        self, forces: ArrayLike | None, before: Fitted | None, guess: Fitted | None
    ) -> Fitted:
        """A step, its displacement less what the jumps that all counts from make of it."""
        joint = self._joint
        load = joint.expansion.copy()
        if forces is not None:
            load[self.model.dofs] += np.asarray(forces, dtype=float)
        load = joint.to_nodes.T @ load - self._stood @ joint.at_jumps
        if before is None:
            most = max(0.0, self._overlap[~self.bonded].max(initial=0.0))
            least = np.where(self.bonded, 0.0, self._overlap - most)
            pressed = self._by_halves(
                load, self._overlap, self._filling.friction, None, np.zeros(len(load)), least, guess
            )
            return cured(pressed, self._filling.fills)
        overlap_before = self._overlap + before.contact.filler
        if self._filling:
            before = softened(before, *self.strengths(self.temperature))
        overlap = self._overlap + before.contact.filler
        mu = self.friction(before.contact)
        return self._by_halves(load, overlap, mu, before, before.load, overlap_before, guess)

    def friction(self, contact: Contact) -> Array:
        """Coulomb's coefficient of each pair once the compound has cured, shape (k,)."""
        return np.where(contact.intact | contact.broken, self._filling.friction, self._dry)

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
        return self._filling.strengths(at)

    def compound_used(self, at: Fitted) -> Array:
        """Share of its strength that the compound of each pair takes in a step, shape (k,).

        0 where it is not intact.
        """
        contact = at.contact
        return np.where(contact.intact, self._used(contact, self.friction(contact)), 0.0)

    def _used(self, contact: Contact, mu: Array) -> Array:
        floor = self._search.slight(contact.force, contact.closed)
        tension, shear = self.strengths(self.temperature)
        rubs = np.abs(contact.friction)
        return share_used(contact.force, rubs, mu, tension, shear, self.pairs.area, floor)

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
        joint = self._joint
        load = np.zeros(joint.model.dofs.size)
        load[self.model.dofs] = np.asarray(forces, dtype=float)
        held = self.bonded | at.contact.intact
        found = self._search.tangent(joint.to_nodes.T @ load, at.contact, held)
        return replace(found, temperature=None)

    def let_go(self, pairs: Flags, at: Fitted) -> Solution:
        """What changes in a step if some pairs that touch let go, the others as in a tangent.

        They are pushed through one another then, by what pressed them together: it tells how much
        hangs on where contact ends.

        Parameters
        ----------
        pairs : ndarray of bool, shape (k,)
        at : Fitted
            A step of this model.
        """
        joint, contact = self._joint, at.contact
        load = np.zeros(joint.model.dofs.size)
        load[joint.normal[pairs]] = contact.force[pairs]
        load[joint.tangent[pairs]] = -contact.friction[pairs]
        held = (self.bonded | contact.intact) & ~pairs
        without = replace(contact, closed=contact.closed & ~pairs, sticks=contact.sticks & ~pairs)
        return replace(self._search.tangent(load, without, held), temperature=None)

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
            found = self._search.find(load, overlap, mu, before, guess, self.bonded)
            return found if before is None else keeping(found, before, before.contact.intact)
        intact = before.contact.intact.copy()
        count, least = 0, 1
        while True:
            found = self._search.find(load, overlap, mu, before, guess, self.bonded | intact)
            count += found.iterations
            used = self._used(found.contact, mu)
            breaks = breaking(np.where(intact, used, 0.0), least, self.settings.as_equal)
            if not breaks.any():
                return replace(keeping(found, before, intact), iterations=count)
            intact &= ~breaks
            guess, least = found, 2 * least

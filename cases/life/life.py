"""The life of a design, load step by load step: pressed in, honed, warm, at gas, cold at gas.

Each step starts from the one before, as far as friction remembers it. The bore is machined round
once the insert is in, so from there on its shape is counted from that circle. A life is of one of
two kinds: of a section in one piece, or of one whose insert is a piece of its own, held by a fit.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.base import Life, OnePieceLife, same_spot, with_misfit
from cases.life.given import LIGHT, ONE_PIECE, Heat, InsertCompound, InsertFit, life_given
from cases.life.heat import Conducting, conducting
from cases.life.liner import (
    Turns,
    counted_interference,
    liner_fits,
    liner_presses,
    share_conducting,
)
from cases.life.pieces import pieces_of
from cases.life.result import JointState, Piece
from cases.life.steps import (
    COLD_GAS,
    HONED,
    PRESSED,
    WARM,
    WARM_GAS,
    EngineState,
    LoadStep,
)
from fea.bore import BoreShape, bore_growth
from fea.contact import (
    Compound,
    Contact,
    ContactError,
    Fit,
    Fitted,
    FittedModel,
    last_pairs,
    wet,
)
from fea.hotspots import HotSpot
from fea.model import Solution
from fea.stress import LayerStress, Recovery, recover
from geometry.clock import format_clock
from geometry.parted import part_off, parts_off, without
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]

MOST_HEATINGS = 24
"""Turns of heat and contact, each with the joint open where the other left it, at most.

Where pairs barely touch each goes half as far from turn to turn, so that they end.
"""
SAME_TEMPERATURE = 3.0
"""Change from turn to turn that ends them. [K]."""
MAY_BREAK = 0.5
"""Share of a compound's strength from which on a mesh of half the size may break the end of a bond.

Stress falls as the root of one over the distance from it, as from the tip of a crack, so that pairs
half as large bear root two times as much; what slides on its friction bears more of it still.
"""
NONE_LEFT = 1e-6
"""Share of its strength at which all compound breaks."""
WHOLE = 0.5
"""Share of the block's own metal that yields when a press is refused."""
OFF = 1.0
"""How far an insert that is not in stands off the block. [mm]."""


def fits_of(
    fit: InsertFit, touched: Collection[str], *, crept: bool = False
) -> dict[tuple[str, str], Fit]:
    """The fit as contact takes it, for the sides that touch anything; half of it on each side.

    ``crept`` is after hours hot.
    """
    compound = None if fit.compound is None else compound_of(fit.compound)
    return {
        ("insert", part): Fit(
            overlap=fit.pressing(part, crept=crept) / 2,
            more=fit.more_by_piece(part, crept=crept),
            friction=side.friction,
            bonded=side.bonded,
            compound=None if side.bonded else compound,
        )
        for part, side in fit.sides.items()
        if part in touched
    }


def compound_of(compound: InsertCompound) -> Compound:
    """A compound as contact takes it."""
    return Compound(
        tension=compound.tension,
        shear=compound.shear,
        fills=compound.largest_gap,
        friction=compound.friction,
    )


@dataclass(frozen=True, eq=False, kw_only=True)
class Standing:
    """How well the steps of a refined life are known.

    Attributes
    ----------
    hot_spots : dict of LoadStep to tuple of HotSpot
        Worst first, with the error that the meshes tell.
    joints : dict of LoadStep to JointState
    bores : dict of LoadStep to BoreShape
        From the honed circle on; when pressed in, from the bore before.
    unknowns : tuple of int
        Of each mesh on the way.
    stopped : str
        What asked for more unknowns than are let be, in words; empty where nothing did.
    """

    hot_spots: Mapping[LoadStep, tuple[HotSpot, ...]]
    joints: Mapping[LoadStep, JointState]
    bores: Mapping[LoadStep, BoreShape]
    unknowns: tuple[int, ...]
    stopped: str


class FittedLife(Life):
    """The life of a section whose insert or liner, or both, are pieces of their own.

    Parameters
    ----------
    case : Case
    design : Design
    mesh : SectionMesh
        Of the whole section, refined as its stress needs.
    load : GasLoad
    fit : InsertFit
        ``ONE_PIECE`` where there is no insert, or it is one with the block.
    like : FittedLife, optional
        Of about the same section with the same fit on another mesh: what touches there is where
        each step and the turns of heat begin.
    heating : GasLoad, optional
        Whose cycle heats it, where the case states no other heat; ``load`` if left out.

    Raises
    ------
    ValueError
        If the insert touches the block nowhere at its own depth.
    RunError
        If a step can't be solved, heat finds no way out, or the press would yield the block
        everywhere.

    Attributes
    ----------
    whole : SectionMesh
        Of the section in one piece, that insert and liner were parted from.
    fit : InsertFit
        As the case states it.
    cold : FittedModel
        At 20 degC.
    joints : tuple of Joint
        Of insert and liner with the block, as far as they are pieces of their own.
    pieces : tuple of Piece
        Of the insert, by their number; none where it is one with the block.
    solved : dict of LoadStep to Fitted
        By step.
    as_cast : ndarray, shape (n, 2)
        What the liner moved before the insert was in and the bore was bored; 0 where it presses
        nothing. [mm]
    stands : Standing or None
        How well its steps are known, where they were refined for.
    heat_moves : float
        Largest change of temperature that the last turn of heat and contact asked for. [K]
    """

    def __init__(
        self,
        case: Case,
        design: Design,
        mesh: SectionMesh,
        load: GasLoad,
        fit: InsertFit,
        like: FittedLife | None = None,
        heating: GasLoad | None = None,
    ) -> None:
        loose = {"insert": bool(fit.sides), "liner": life_given(case).liner_opens}
        parted = parts_off(mesh, [part for part, opens in loose.items() if opens])
        if fit.sides and not len(parted.joint.own):
            raise ValueError(f'the insert of "{design.name}" touches the block nowhere.')
        super().__init__(case, design, parted.mesh, load, with_misfit(case, design))
        self.heating = heating or load
        self._recovered = Recovery(self.mesh)
        self.whole, self.fit, self.joints = mesh, fit, parted.joints
        cold = FittedModel(parted, self.materials, self._fits(fit))
        self.pieces: tuple[Piece, ...] = ()
        if fit.sides:
            own = next(joint.own for joint in self.joints if joint.part == "insert")
            self.pieces = pieces_of(case.block, cold.model, own, self.materials["insert"].density)
        rest = self._rest()
        cold = cold if rest is None else cold.at(rest)
        self.cold, self.as_cast = self._as_it_stands(cold)
        self._models = {EngineState.COLD: self.cold}
        self.forces = self._forces_of(self.cold.model)
        self.solved: dict[LoadStep, Fitted] = {}
        self._at_gas_load: dict[tuple[LoadStep, float], Contact] = {}
        self.heat_moves = 0.0
        self.stands: Standing | None = None
        self._stood: Standing | None = None  # at the fit that the meshes were made for
        self._broken: FittedLife | None = None  # with all compound broken, where it is asked for
        if like is None:
            self._refuse_crushing()
        self._live(like)

    @property
    def settled(self) -> bool:
        """Whether heat and contact agree on where the joint touches when warm."""
        return self.heat_moves <= SAME_TEMPERATURE

    @property
    def touched(self) -> set[str]:
        """Parts of the block that the insert touches."""
        return self._against("insert")

    @property
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""
        untold = () if self.fit.sides else (PRESSED,)
        return tuple(step for step in LoadStep if step in self.solved and step not in untold)

    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""
        return self.solved[step].solution

    def _as_it_stands(self, cold: FittedModel) -> tuple[FittedModel, Array]:
        """The insert made for the block as that stands; how far that has moved, shape (n, 2). [mm].

        A shop measures the pocket with the liner in: what is stated of the fit counts from there,
        whatever the liner has pressed the barrel out by.
        """
        if not self.fit.sides or not liner_presses(self.case):
            return cold, np.zeros_like(self.mesh.points)
        off = {side: Fit(overlap=-OFF) for side in cold.pairs.side if side[0] == "insert"}
        try:
            stands = cold.with_fits({**cold.fits, **off}).solve()
        except ContactError as error:
            raise self._not_found(PRESSED, error) from error
        return cold.fitted_as(stands, "insert"), stands.solution.displacement

    def _under(self, step: LoadStep, factor: float) -> Solution:
        self._await_many_loads()
        warm = self.solved.get(WARM_GAS)
        if (
            step == COLD_GAS
            and warm
            and self.fit.compound
            and (WARM_GAS, factor) not in self._at_gas_load
        ):
            self._solve(WARM_GAS, warm, factor)
        return self._solve(step, self.solved[step], factor).solution

    def _idle_after(self, gas: LoadStep, idle: LoadStep, factor: float) -> tuple[LayerStress, ...]:
        """Stress with no gas, with the compound broken that gas has broken."""
        rests = self.solved[idle]
        worn = rests.broken_as(self._at_gas_load[gas, factor])
        if worn is rests:
            return self.stress_of(idle)
        try:
            return self._recovered(self._model_of(idle).solve(before=worn, guess=rests).solution)
        except ContactError as error:
            raise self._not_found(idle, error) from error

    def _live(self, like: FittedLife | None) -> None:
        def known(step: LoadStep) -> Fitted | None:
            """The step of the other life, on this joint."""
            if like is None or step not in like.solved:
                return None
            return self.cold.carried(like.solved[step], like.cold.pairs, like.mesh.points)

        self.solved[PRESSED] = self.solved[HONED] = self._solve(PRESSED, known(PRESSED))
        if self.given.heat:
            self.solved[WARM] = self._warm_up(self.given.heat, known(WARM))
            self.solved[WARM_GAS] = self._solve(WARM_GAS, known(WARM_GAS))
        self.solved[COLD_GAS] = self._solve(COLD_GAS, known(COLD_GAS) or self.solved.get(WARM_GAS))

    def influence(self, step: LoadStep, forces: Array) -> Solution:
        """What further nodal forces, shape (n, 2) [N], make of a solved step, its joint held."""
        return self._models[step.engine].influence(forces, self.loaded(step))

    def _added(self, step: LoadStep, forces: Array) -> tuple[LayerStress, ...]:
        """Stress that further nodal forces, shape (n, 2) [N], add to a step, its joint held."""
        return self.recover(self.influence(step, forces))

    def loaded(self, step: LoadStep) -> Fitted:
        """A solved step as its load found the joint: compound is wet while it is pressed in."""
        return wet(self.solved[step]) if step == PRESSED else self.solved[step]

    def by_ends(self, step: LoadStep) -> tuple[tuple[LayerStress, ...], ...]:
        """What stress changes by in a step if contact ended a pair sooner.

        Where it ends one way along the joint, and where it ends the other way. Compound keeps what
        the press has left, so that where contact ended then goes on to count.
        """
        solved, model = self.loaded(step), self._models[step.engine]
        held = model.bonded | solved.contact.intact
        kept = self.by_ends(PRESSED) if self.fit.compound and step != PRESSED else ()
        own = (
            self.recover(model.let_go(some & ~held, solved))
            for some in last_pairs(model.pairs, solved.contact)
            if (some & ~held).any()
        )
        return (*own, *kept)

    def by_breaking(self, step: LoadStep) -> tuple[tuple[LayerStress, ...], ...]:
        """What stress changes by in a step if compound went that a finer mesh may break.

        Where what is intact ends, the pull on it grows as pairs become smaller: one of half the
        size breaks what this mesh leaves at ``MAY_BREAK`` of its strength, and what has begun to
        open mostly goes on. How far is not known: all of it is taken to be broken.
        """
        if self.fit.compound is None or step == PRESSED or not self._may_break:
            return ()
        if self._broken is None:
            fit = replace(self.fit, compound=self.fit.compound.times(NONE_LEFT))
            self._broken = self._refitted(self._fits(fit))
            self._broken.fit = fit
        try:
            self._broken.solve_like(self)
        except RunError:  # what would hold it then is not known: all of the stress may go
            return (self.stress_of(step),)
        both = zip(self._broken.stress_of(step), self.stress_of(step), strict=True)
        return (tuple(replace(new, stress=new.stress - old.stress) for new, old in both),)

    @property
    def _may_break(self) -> bool:
        """Whether a mesh of half the size may break compound in a step that this one leaves."""
        return any(
            (self._models[step.engine].compound_used(self.solved[step]) > MAY_BREAK).any()
            for step in self.steps
            if step not in (PRESSED, HONED)
        )

    def with_interference(self, interference: float, last: LoadStep | None = None) -> FittedLife:
        """The same life with another common interference, heat held.

        Parameters
        ----------
        interference : float
            On the diameter. [mm]
        last : LoadStep, optional
            That is needed, with those before it; all if left out.

        Raises
        ------
        RunError
            If contact is not found.
        """
        fit = self.fit.with_interference(interference)
        other = self._refitted(self._fits(fit))
        other.fit = fit
        other.solve_like(self, last)
        return other

    def heated_by(self, load: GasLoad) -> FittedLife:
        """The same life, its warm steps heated by the cycle of another gas load.

        What touches in this life is where each step begins.

        Raises
        ------
        RunError
            If contact is not found, or heat finds no way out.
        """
        other = self._refitted(self._fits(self.fit))
        other.heating, other.heat = load, None
        other._live(self)
        return other

    def solve_like(self, life: FittedLife, last: LoadStep | None = None) -> None:
        """Solve steps that are not solved yet, each begun from that of a life with another fit.

        Parameters
        ----------
        life : FittedLife
        last : LoadStep, optional
            That is needed, with those before it; all if left out.

        Raises
        ------
        RunError
            If contact is not found.
        """
        whole = (
            last is None or self.fit.compound is not None
        )  # a cold step has what warm ones broke
        wanted: Iterable[LoadStep] = life.steps if whole or last is None else last.way
        for step in wanted:
            if step not in self.solved:
                self.solved[step] = self._solve(step, life.solved[step])

    def mesh_error(self, spot: HotSpot, engine: EngineState) -> float:
        """As :meth:`Life.mesh_error`; at another fit what is told at the first."""
        stands = self.stands or self._stood
        return max(
            (
                known.error_mpa / known.principal_mpa
                for step, spots in (stands.hot_spots.items() if stands else ())
                for known in spots
                if step.engine == engine
                and not known.sharp
                and known.principal_mpa > 0
                and same_spot(known, spot)
            ),
            default=0.0,
        )

    def bond_ends(self) -> list[tuple[float, float]]:
        """Places x, y where a bonded side of the insert ends beside one that is not. [mm]."""
        pairs, bonded = self.cold.pairs, self.cold.bonded
        ends = pairs.sides[bonded[pairs.sides[:, 0]] != bonded[pairs.sides[:, 1]]]
        at = self.mesh.points[pairs.own[np.where(bonded[ends[:, 0]], ends[:, 0], ends[:, 1])]]
        return [(float(x), float(y)) for x, y in at]

    def sharp_places(self) -> list[tuple[float, float]]:
        """Places x, y where stress grew from mesh to mesh in a step without an end in sight. [mm].

        At another fit those of the first.
        """
        stands = self.stands or self._stood
        spots = (spot for of in stands.hot_spots.values() for spot in of) if stands else ()
        return [(spot.x_mm, spot.y_mm) for spot in spots if spot.sharp]

    def _solve(self, step: LoadStep, guess: Fitted | None = None, factor: float = 1.0) -> Fitted:
        """A step from the one before; the hone leaves the joint as it is.

        Compound that gas breaks in a warm engine is broken in a cold one as well. ``guess`` is a
        joint to begin from; ``factor`` is on the gas load of a step at gas.
        """
        before = None if step.before is None else self.solved[step.before]
        if step == HONED and before:
            return before
        warm = self._at_gas_load.get((WARM_GAS, factor))
        if step == COLD_GAS and before and warm:
            before = before.broken_as(warm)
        try:
            found = self._model_of(step).solve(factor * step.gas * self.forces, before, guess)
        except ContactError as error:
            raise self._not_found(step, error) from error
        if step.gas:
            self._at_gas_load[step, factor] = found.contact
        return found

    def _model_of(self, step: LoadStep) -> FittedModel:
        """Insert and block as a step finds them: once it has been hot the press has crept."""
        model = self._models[step.engine]
        if self.fit.press_creep and self.given.heat and step not in (PRESSED, HONED):
            return model.with_fits(self._fits(self.fit, crept=True))
        return model

    def _not_found(self, step: LoadStep, error: ContactError) -> RunError:
        """What to say where contact is not found in a step."""
        if error.part == "liner":
            pressed = counted_interference(self.case)
        else:
            pressed = max(side.interference for side in self.fit.sides.values())
        heavy = pressed > LIGHT
        cure = (
            f"An interference above {LIGHT:g} mm is no light press: give less."
            if heavy
            else "Change the fit or the friction."
        )
        bore, hours = self.case.block.nearest_bore(*error.place)
        return RunError(
            f'design "{self.design.name}", step "{step}", joint of {error.part} and block at the '
            f"{error.against}, {format_clock(float(hours))} of bore {bore}: {error} {cure}"
        )

    def conducting(self, given: Heat) -> Conducting:
        """The equations of the section's heat, whatever touches.

        Raises
        ------
        ValueError
            If a material does not conduct, or a joint has no conductance.
        """
        return conducting(given, self.heating, self.mesh, self.materials, self.joints)

    def crossing(self, contact: Contact) -> Array:
        """Share of its conductance that each pair of a joint has.

        All where it touches; none where the insert is off, some through the gas in a liner's gap.

        Returns
        -------
        ndarray, shape (k,)
        """
        share = contact.closed.astype(float)
        if self.given.heat and self.given.heat.liner_conductance:
            liner = self.cold.pairs.part == "liner"
            share[liner] = share_conducting(
                contact.closed[liner], contact.gap[liner], self.given.heat.liner_conductance
            )
        return share

    def at_nodes(self, share: Array) -> Array:
        """What each node of the mesh has of a share of each pair, shape (n,)."""
        pairs = self.cold.pairs
        found = np.zeros(len(self.mesh.points))
        found[pairs.own] = share
        found[pairs.middle[:, 0]] = share[pairs.sides].min(axis=1)
        return found

    def _warm_up(self, given: Heat, guess: Fitted | None) -> Fitted:
        """Warm with no gas; heat crosses the joint where it touches then.

        ``guess`` is a joint that is thought to touch where it does when warm.
        """
        try:
            section = self.conducting(given)
            state = guess or self.solved[HONED]
            turns = Turns(self.cold.pairs.part == "liner", self.crossing(state.contact))
            for turn in range(MOST_HEATINGS + 1):
                heat = section.solve(self.at_nodes(turns.share))
                if self.heat:
                    there = section.solve(self.at_nodes(turns.whole)) if turns.eased else heat
                    moved = np.abs(there.temperature - self.heat.temperature)
                    self.heat_moves = float(moved.max())
                    if self.settled:
                        break
                    if turn == MOST_HEATINGS:
                        raise self._unsettled(self.mesh.points[int(moved.argmax())])
                self.heat = heat
                self._models[EngineState.WARM] = self.cold.at(section.on_section(heat))
                state = self._solve(WARM, state if turn else guess)
                turns.go_on(self.crossing(state.contact))
        except ValueError as error:
            raise self._heat_refused(error) from error
        return state

    def _unsettled(self, place: Array) -> RunError:
        """What to say where heat and joint go on to and fro, most at a place. [mm]."""
        bore, hours = self.case.block.nearest_bore(*place)
        return RunError(
            f'design "{self.design.name}", step "{WARM}", heat and joint do not settle: where the '
            f"joint opens and where heat crosses it still change, and the temperature moves by "
            f"{self.heat_moves:.0f} K at {format_clock(float(hours))} of bore {bore} after "
            f"{MOST_HEATINGS} turns. Change the fit, or joint_conductance and liner_conductance "
            "under [heat]."
        )

    def _refuse_crushing(self) -> None:
        """Refuse a press that makes most of the block's own metal yield.

        Judged by a light press in proportion, as one that heavy may not be solved.
        """
        sides = self.fit.sides
        largest = max((side.interference for side in sides.values()), default=0.0)
        if largest <= LIGHT:
            return
        lighter = {
            part: replace(side, interference=side.interference * LIGHT / largest)
            for part, side in sides.items()
        }
        by_insert = fits_of(replace(self.fit, sides=lighter, roughness=None), self.touched)
        pressed = self._refitted(by_insert)._solve(PRESSED)
        share = self._over_yield(recover(pressed.solution), None, WHOLE) * largest / LIGHT
        if share > 1:
            raise RunError(
                f'design "{self.design.name}", step "{PRESSED}", joint of insert and block: the '
                f"interference would stress more than half of the block's own metal to {share:.1f} "
                "times its yield strength. Give less interference; a light press is meant."
            )

    def _await_many_loads(self) -> None:
        """Have the warm joint condensed at its own temperature: a rating and a sweep ask for it.

        The steps alone cost less by the cold one.
        """
        if EngineState.WARM in self._models:
            self._models[EngineState.WARM] = self._models[EngineState.WARM].by_itself()

    def _refitted(self, fits: Mapping[tuple[str, str], Fit]) -> FittedLife:
        """The same pieces with other fits, and no step solved yet."""
        self._await_many_loads()
        other = copy(self)
        other._models = {engine: model.with_fits(fits) for engine, model in self._models.items()}
        other.cold = other._models[EngineState.COLD]
        other.solved, other._stresses, other._at_gas, other._beside = {}, {}, {}, {}
        other.stands, other._stood, other._broken = None, self.stands or self._stood, None
        other._at_gas_load = {}
        return other

    def _fits(self, fit: InsertFit, *, crept: bool = False) -> dict[tuple[str, str], Fit]:
        """Of insert and liner, as far as they are pieces of their own."""
        of_liner = liner_fits(self.case, self._against("liner"))
        return {**fits_of(fit, self.touched, crept=crept), **of_liner}

    def _against(self, part: str) -> set[str]:
        """Parts of the block that a part on its own touches."""
        return {str(at) for joint in self.joints if joint.part == part for at in joint.against}


def bore_of(life: Life, step: LoadStep) -> BoreShape:
    """Shape of the bore in a step, from the honed circle on; when pressed in, from that before."""
    solution = life.solution(step)
    if step == PRESSED and isinstance(life, FittedLife):
        before = life.as_cast
    else:
        before = life.solution(HONED).displacement
    return bore_growth(replace(solution, displacement=solution.displacement - before))


def life_of(case: Case, design: Design, mesh: SectionMesh, load: GasLoad) -> Life:
    """The life of a design, of the kind that its fit asks for.

    An insert that touches the block nowhere at its own depth is idle: that life is of the block
    without it.

    Parameters
    ----------
    case : Case
    design : Design
    mesh : SectionMesh
        Of the whole section, refined as its stress needs.
    load : GasLoad

    Raises
    ------
    RunError
        If a step can't be solved, heat finds no way out, or the press would yield the block
        everywhere.
    """
    fit = life_given(case).fits.get(design.name, ONE_PIECE)
    if fit.sides and not len(part_off(mesh, "insert").joint.own):
        mesh, fit = without(mesh, "insert"), ONE_PIECE
    if not fit.sides and not life_given(case).liner_opens:
        return OnePieceLife(case, design, mesh, load)
    return FittedLife(case, design, mesh, load, fit)

"""The life of a design, load step by load step: pressed in, honed, warm, at gas, cold at gas.

Each step starts from the one before, as far as friction remembers it. The bore is machined round
once the insert is in, so from there on its shape is counted from that circle. A life is of one of
two kinds: of a section in one piece, or of one whose insert is a piece of its own, held by a fit.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.parts import PARENT_PARTS
from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.given import LIGHT, Heat, InsertCompound, InsertFit, life_given
from cases.life.heat import Conducting, conducting
from cases.life.steps import (
    COLD_GAS,
    GAS_CYCLES,
    HONED,
    PRESSED,
    TAIL,
    WARM,
    WARM_GAS,
    EngineState,
    LoadStep,
)
from fea.contact import Compound, Contact, ContactError, Fit, Fitted, FittedModel
from fea.heat import HeatField
from fea.material import REFERENCE, Material
from fea.model import SectionModel, Solution
from fea.strength import over_yield
from fea.stress import LayerStress, recover
from geometry.clock import format_clock
from geometry.parted import part_off
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]

MOST_HEATINGS = 6
"""Turns of heat and contact, each with the joint open where the other left it, at most."""
SAME_TEMPERATURE = 3.0
"""Change from turn to turn that ends them. [K]."""
WHOLE = 0.5
"""Share of the block's own metal that yields when a press is refused."""


def with_misfit(case: Case, design: Design) -> dict[str, Material]:
    """Material of every part of a design; the liner's has the misfit of its interference."""
    materials = case.part_materials(design)
    interference = life_given(case).liner_interference
    if interference is not None:
        misfit = interference / (2 * case.block.liner_radius)
        materials["liner"] = replace(materials["liner"], misfit=misfit)
    return materials


def fits_of(fit: InsertFit, touched: Collection[str]) -> dict[tuple[str, str], Fit]:
    """The fit as contact takes it, for the sides that touch anything; half of it on each side."""
    compound = None if fit.compound is None else _as_contact_takes(fit.compound)
    return {
        ("insert", part): Fit(
            overlap=side.interference / 2,
            friction=side.friction,
            bonded=side.bonded,
            compound=None if side.bonded else compound,
        )
        for part, side in fit.sides.items()
        if part in touched
    }


def _as_contact_takes(compound: InsertCompound) -> Compound:
    return Compound(
        tension=compound.tension,
        shear=compound.shear,
        fills=compound.largest_gap,
        friction=compound.friction,
    )


@dataclass(frozen=True, eq=False, kw_only=True)
class StressCycle:
    """What gas does to the metal each time a cylinder fires: without it, and at its peak.

    Attributes
    ----------
    engine : EngineState
    idle, gas : tuple of LayerStress
        Layer by layer alike.
    temperature : ndarray, shape (n,), or None
        At the nodes of the mesh; None at 20 degC. [degC]
    """

    engine: EngineState
    idle: tuple[LayerStress, ...]
    gas: tuple[LayerStress, ...]
    temperature: Array | None


class Life(ABC):
    """A design on its way through the load steps, all solved.

    Attributes
    ----------
    mesh : SectionMesh
        Of the solved section; a fitted insert is a body of its own in it.
    steps : tuple of LoadStep
        That are solved, in order.
    forces : ndarray, shape (n, 2)
        Of the gas load of the case, on the nodes of ``mesh``. [N]
    heat : HeatField or None
        Of the warm steps.
    """

    forces: Array

    def __init__(
        self,
        case: Case,
        design: Design,
        mesh: SectionMesh,
        load: GasLoad,
        materials: dict[str, Material],
    ) -> None:
        self.case, self.design, self.mesh, self.load = case, design, mesh, load
        self.given = life_given(case)
        self.materials = materials
        self.heat: HeatField | None = None
        self._stresses: dict[LoadStep, tuple[LayerStress, ...]] = {}
        self._at_gas: dict[float, tuple[StressCycle, ...]] = {}

    @property
    @abstractmethod
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""

    @abstractmethod
    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""

    @abstractmethod
    def _under(self, step: LoadStep, factor: float) -> Solution:
        """A step at gas with the gas load changed, from the step before."""

    def at_gas(self, factor: float) -> tuple[StressCycle, ...]:
        """The stress cycles, warm where there is heat and cold, with the gas load changed.

        Fit and heat are held. Solved again from the step before, as contact is not linear.

        Parameters
        ----------
        factor : float
            On the gas load of the case.

        Raises
        ------
        RunError
            If contact is not found.
        """
        if factor not in self._at_gas:
            self._at_gas[factor] = tuple(
                StressCycle(
                    engine=gas.engine,
                    gas=self.stress_of(gas) if factor == 1 else recover(self._under(gas, factor)),
                    idle=self._idle_after(gas, idle, factor),
                    temperature=self.solution(gas).temperature,
                )
                for gas, idle in GAS_CYCLES
                if gas in self.steps
            )
        return self._at_gas[factor]

    def _idle_after(self, gas: LoadStep, idle: LoadStep, factor: float) -> tuple[LayerStress, ...]:
        """Stress with no gas, once there was gas with the load changed."""
        return self.stress_of(idle)

    def stress_of(self, step: LoadStep) -> tuple[LayerStress, ...]:
        """Stress of a solved step."""
        if step not in self._stresses:
            self._stresses[step] = recover(self.solution(step))
        return self._stresses[step]

    def share_of_yield(self, step: LoadStep, stresses: Sequence[LayerStress]) -> float:
        """Share of the yield strength, as warm as in a step, that the block's stress stays below.

        ``TAIL`` of its metal is left out.
        """
        return self._over_yield(stresses, self.solution(step).temperature, TAIL)

    def _over_yield(
        self, stresses: Sequence[LayerStress], temperature: Array | None, tail: float
    ) -> float:
        """Share of the yield strength that the block's own metal stays below, but for a tail."""
        found = over_yield(stresses, self.materials, self.mesh, temperature, tail, PARENT_PARTS)
        return found[0]

    def _forces_of(self, model: SectionModel) -> Array:
        q = self.load.line_load
        return model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))

    def _rest(self) -> Array | None:
        """Temperature that the liner's interference is counted at; None where it is not known."""
        pressed = self.given.liner_interference
        return np.full(len(self.mesh.points), REFERENCE) if pressed else None

    def _heat_refused(self, error: ValueError) -> RunError:
        return RunError(f'design "{self.design.name}", heat: {error}')


class OnePieceLife(Life):
    """The life of a section in one piece: bare, or its insert one with the block.

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
        If a step can't be solved, or heat finds no way out.
    """

    def __init__(self, case: Case, design: Design, mesh: SectionMesh, load: GasLoad) -> None:
        super().__init__(case, design, mesh, load, with_misfit(case, design))
        model = SectionModel(mesh, self.materials)
        rest = self._rest()
        self._models = {EngineState.COLD: model if rest is None else model.at(rest)}
        self.forces = self._forces_of(self._models[EngineState.COLD])
        if self.given.heat:
            self._models[EngineState.WARM] = self._heated(self.given.heat)
        self._solved = {
            step: self._solve(step, float(step.gas))
            for step in LoadStep
            if step != PRESSED and step.engine in self._models
        }

    @property
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""
        return tuple(self._solved)

    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""
        return self._solved[step]

    def _under(self, step: LoadStep, factor: float) -> Solution:
        return self._solve(step, factor)

    def _solve(self, step: LoadStep, factor: float) -> Solution:
        return self._models[step.engine].solve_forces(factor * self.forces)

    def _heated(self, given: Heat) -> SectionModel:
        try:
            section = conducting(given, self.load, self.mesh, self.materials, None)
            self.heat = section.solve()
        except ValueError as error:
            raise self._heat_refused(error) from error
        return self._models[EngineState.COLD].at(section.on_section(self.heat))


class FittedLife(Life):
    """The life of a section whose insert is a piece of its own.

    Parameters
    ----------
    case : Case
    design : Design
    mesh : SectionMesh
        Of the whole section, refined as its stress needs.
    load : GasLoad
    fit : InsertFit

    Raises
    ------
    RunError
        If the insert touches nothing, a step can't be solved, heat finds no way out, or the press
        would yield the block everywhere.

    Attributes
    ----------
    fit : InsertFit
        As the case states it.
    cold : FittedModel
        At 20 degC.
    joint : Joint
        Of the insert with the block.
    solved : dict of LoadStep to Fitted
        By step.
    heat_moves : float
        Largest change of temperature in the last turn of heat and contact. [K]
    """

    def __init__(
        self, case: Case, design: Design, mesh: SectionMesh, load: GasLoad, fit: InsertFit
    ) -> None:
        parted = part_off(mesh, "insert")
        if not len(parted.joint.own):
            raise RunError(
                f'design "{design.name}": the insert touches the block nowhere at its own '
                "depth, so nothing can hold it. Make it wider, or deeper."
            )
        super().__init__(case, design, parted.mesh, load, with_misfit(case, design))
        self.fit, self.joint = fit, parted.joint
        cold = FittedModel(parted, self.materials, fits_of(fit, self.touched))
        rest = self._rest()
        self.cold = cold if rest is None else cold.at(rest)
        self._models = {EngineState.COLD: self.cold}
        self.forces = self._forces_of(self.cold.model)
        self.solved: dict[LoadStep, Fitted] = {}
        self._at_gas_load: dict[tuple[LoadStep, float], Contact] = {}
        self.heat_moves = 0.0
        self._refuse_crushing()
        self._live()

    @property
    def settled(self) -> bool:
        """Whether heat and contact agree on where the joint touches when warm."""
        return self.heat_moves <= SAME_TEMPERATURE

    @property
    def touched(self) -> set[str]:
        """Parts of the block that the insert touches."""
        return set(self.joint.against)

    @property
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""
        return tuple(step for step in LoadStep if step in self.solved)

    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""
        return self.solved[step].solution

    def _under(self, step: LoadStep, factor: float) -> Solution:
        return self._solve(step, self.solved[step], factor).solution

    def _idle_after(self, gas: LoadStep, idle: LoadStep, factor: float) -> tuple[LayerStress, ...]:
        """Stress with no gas, with the compound broken that gas has broken."""
        rests = self.solved[idle]
        worn = rests.broken_as(self._at_gas_load[gas, factor])
        if worn is rests:
            return self.stress_of(idle)
        try:
            return recover(self._models[idle.engine].solve(before=worn, guess=rests).solution)
        except ContactError as error:
            raise self._not_found(idle, error) from error

    def _live(self) -> None:
        self.solved[PRESSED] = self.solved[HONED] = self._solve(PRESSED)
        if self.given.heat:
            self.solved[WARM] = self._warm_up(self.given.heat)
            self.solved[WARM_GAS] = self._solve(WARM_GAS)
        self.solved[COLD_GAS] = self._solve(COLD_GAS, self.solved.get(WARM_GAS))

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
        other = self._refitted(self.fit.with_interference(interference))
        other.solve_like(self, last)
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

    def bond_ends(self) -> list[tuple[float, float]]:
        """Places x, y where a bonded side of the insert ends beside one that is not. [mm]."""
        pairs, bonded = self.cold.pairs, self.cold.bonded
        ends = pairs.sides[bonded[pairs.sides[:, 0]] != bonded[pairs.sides[:, 1]]]
        at = self.mesh.points[pairs.own[np.where(bonded[ends[:, 0]], ends[:, 0], ends[:, 1])]]
        return [(float(x), float(y)) for x, y in at]

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
            found = self._models[step.engine].solve(factor * step.gas * self.forces, before, guess)
        except ContactError as error:
            raise self._not_found(step, error) from error
        if step.gas:
            self._at_gas_load[step, factor] = found.contact
        return found

    def _not_found(self, step: LoadStep, error: ContactError) -> RunError:
        """What to say where contact is not found in a step."""
        heavy = max(side.interference for side in self.fit.sides.values()) > LIGHT
        cure = (
            f"An interference above {LIGHT:g} mm is no light press: give less."
            if heavy
            else "Change the fit or the friction."
        )
        bore, hours = self.case.block.nearest_bore(*error.place)
        return RunError(
            f'design "{self.design.name}", step "{step}", joint of insert and block at the '
            f"{error.against}, {format_clock(float(hours))} of bore {bore}: {error} {cure}"
        )

    def conducting(self, given: Heat) -> Conducting:
        """The equations of the section's heat, whatever touches.

        Raises
        ------
        ValueError
            If a material does not conduct, or the joint has no conductance.
        """
        return conducting(given, self.load, self.mesh, self.materials, self.joint)

    def touching(self, contact: Contact) -> NDArray[np.bool_]:
        """Whether each node of the mesh touches across the joint of the insert.

        Returns
        -------
        ndarray of bool, shape (n,)
        """
        pairs = self.cold.pairs
        closed = np.zeros(len(self.mesh.points), dtype=bool)
        closed[pairs.own] = contact.closed
        closed[pairs.middle[:, 0]] = contact.closed[pairs.sides].all(axis=1)
        return closed

    def _warm_up(self, given: Heat) -> Fitted:
        """Warm with no gas; heat crosses the joint where it touches then."""
        try:
            section = self.conducting(given)
            state = self.solved[HONED]
            for turn in range(MOST_HEATINGS + 1):
                heat = section.solve(self.touching(state.contact))
                if self.heat:
                    moved = heat.temperature - self.heat.temperature
                    self.heat_moves = float(np.abs(moved).max())
                    if self.settled or turn == MOST_HEATINGS:
                        break
                self.heat = heat
                self._models[EngineState.WARM] = self.cold.at(section.on_section(heat))
                state = self._solve(WARM, state if turn else None)
        except ValueError as error:
            raise self._heat_refused(error) from error
        return state

    def _refuse_crushing(self) -> None:
        """Refuse a press that makes most of the block's own metal yield.

        Judged by a light press in proportion, as one that heavy may not be solved.
        """
        sides = self.fit.sides
        largest = max(side.interference for side in sides.values())
        if largest <= LIGHT:
            return
        lighter = {
            part: replace(side, interference=side.interference * LIGHT / largest)
            for part, side in sides.items()
        }
        pressed = self._refitted(replace(self.fit, sides=lighter))._solve(PRESSED)
        share = self._over_yield(recover(pressed.solution), None, WHOLE) * largest / LIGHT
        if share > 1:
            raise RunError(
                f'design "{self.design.name}", step "{PRESSED}", joint of insert and block: the '
                f"interference would stress more than half of the block's own metal to {share:.1f} "
                "times its yield strength. Give less interference; a light press is meant."
            )

    def _refitted(self, fit: InsertFit) -> FittedLife:
        """The same pieces with another fit, and no step solved yet."""
        other = copy(self)
        fits = fits_of(fit, self.touched)
        other._models = {engine: model.with_fits(fits) for engine, model in self._models.items()}
        other.cold = other._models[EngineState.COLD]
        other.solved, other._stresses, other._at_gas = {}, {}, {}
        other._at_gas_load = {}
        return other


def life_of(case: Case, design: Design, mesh: SectionMesh, load: GasLoad) -> Life:
    """The life of a design, of the kind that its fit asks for.

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
        If the insert touches nothing, a step can't be solved, heat finds no way out, or the press
        would yield the block everywhere.
    """
    fit = life_given(case).fits.get(design.name)
    if fit is None:
        return OnePieceLife(case, design, mesh, load)
    return FittedLife(case, design, mesh, load, fit)

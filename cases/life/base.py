"""What every life has: stress of its steps, and cycles of stress under other gas loads.

And the life of a section in one piece.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.parts import PARENT_PARTS
from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.given import Heat, life_given, life_of
from cases.life.heat import conducting
from cases.life.steps import (
    GAS_CYCLES,
    HONED,
    PRESSED,
    TAIL,
    WARM,
    EngineState,
    LoadStep,
)
from fea.heat import HeatField
from fea.hotspots import APART, APART_ELEMENTS, HotSpot
from fea.material import REFERENCE, Material
from fea.model import SectionModel, Solution
from fea.strength import over_yield
from fea.stress import LayerStress, Recovery, recover
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]


def with_misfit(case: Case, design: Design) -> dict[str, Material]:
    """Material of every part of a design; a liner's has the misfit of what it is cast in with."""
    materials, given = case.part_materials(design), life_given(case)
    if given.liner_interference is not None and not given.liner_opens:
        misfit = given.liner_interference / (2 * case.block.liner_radius)
        materials["liner"] = replace(materials["liner"], misfit=misfit)
    return materials


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
    standing : tuple of LayerStress, optional
        Where it is warm, the stress of the cold engine before it starts and after it stopped.
    been : ndarray, shape (n,), optional
        Where it is cold, what the metal is at when the engine is warm. [degC]
    beside : tuple of tuple of LayerStress
        What the same gas on each bore beside adds to the stress without gas: a place that its own
        gas pulls may be pushed while the next bore fires.
    """

    engine: EngineState
    idle: tuple[LayerStress, ...]
    gas: tuple[LayerStress, ...]
    temperature: Array | None
    standing: tuple[LayerStress, ...] | None = None
    been: Array | None = None
    beside: tuple[tuple[LayerStress, ...], ...] = ()


def same_spot(one: HotSpot, other: HotSpot) -> bool:
    """Whether hot spots of two steps are the same place of a part."""
    apart = float(np.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm))
    return one.part == other.part and apart < max(APART, APART_ELEMENTS * one.size_mm)


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
    heating : GasLoad
        Whose cycle heats the warm steps, where the case states no other heat.
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
        self.heating = load
        self.given = life_of(case, design)
        self.materials = materials
        self.heat: HeatField | None = None
        self._recovered: Callable[[Solution], tuple[LayerStress, ...]] = recover
        self._stresses: dict[LoadStep, tuple[LayerStress, ...]] = {}
        self._at_gas: dict[tuple[LoadStep, float], StressCycle] = {}
        self._beside: dict[LoadStep, tuple[tuple[LayerStress, ...], ...]] = {}

    @property
    @abstractmethod
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""

    @abstractmethod
    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""

    @abstractmethod
    def heated_by(self, load: GasLoad) -> Life:
        """The same life, its warm steps heated by the cycle of another gas load.

        Raises
        ------
        RunError
            If contact is not found, or heat finds no way out.
        """

    @abstractmethod
    def _added(self, step: LoadStep, forces: Array) -> tuple[LayerStress, ...]:
        """Stress that further nodal forces, shape (n, 2) [N], add to a step."""

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
        return tuple(self.cycle_at(state, factor) for state in self.engine_states)

    @property
    def engine_states(self) -> tuple[EngineState, ...]:
        """In which there is gas, warm first."""
        return tuple(gas.engine for gas, _ in GAS_CYCLES if gas in self.steps)

    def cycle_at(self, state: EngineState, factor: float) -> StressCycle:
        """One of the cycles of :meth:`at_gas`."""
        gas, idle = next(steps for steps in GAS_CYCLES if steps[0].engine == state)
        if (gas, factor) not in self._at_gas:
            if factor != 1 and self._recovered is recover:
                self._recovered = Recovery(self.mesh)  # where one is asked for, many are
            self._at_gas[gas, factor] = StressCycle(
                engine=state,
                gas=self.stress_of(gas)
                if factor == 1
                else self._recovered(self._under(gas, factor)),
                idle=self._idle_after(gas, idle, factor),
                temperature=self.solution(gas).temperature,
                standing=self.stress_of(HONED) if gas.warm else None,
                been=None
                if gas.warm or WARM not in self.steps
                else self.solution(WARM).temperature,
                beside=tuple(
                    tuple(replace(of, stress=factor * of.stress) for of in layers)
                    for layers in self._of_bores_beside(idle)
                ),
            )
        return self._at_gas[gas, factor]

    def _idle_after(self, gas: LoadStep, idle: LoadStep, factor: float) -> tuple[LayerStress, ...]:
        """Stress with no gas, once there was gas with the load changed."""
        return self.stress_of(idle)

    def _of_bores_beside(self, idle: LoadStep) -> tuple[tuple[LayerStress, ...], ...]:
        """What the case's gas load on each bore beside adds to a step without gas, joints held."""
        if idle not in self._beside:
            model = self.solution(idle).model
            self._beside[idle] = tuple(
                self._added(idle, self._forces_beside(model, axis))
                for axis in self.case.block.axes_beside
            )
        return self._beside[idle]

    def mesh_error(self, spot: HotSpot, engine: EngineState) -> float:
        """Error of a spot's stress in a state that a change of mesh tells, over the stress.

        0 where no other mesh tells any.
        """
        return 0.0

    def stress_of(self, step: LoadStep) -> tuple[LayerStress, ...]:
        """Stress of a solved step."""
        if step not in self._stresses:
            self._stresses[step] = self._recovered(self.solution(step))
        return self._stresses[step]

    def recover(self, solution: Solution) -> tuple[LayerStress, ...]:
        """Stress of a solution on the mesh of the life."""
        return self._recovered(solution)

    def forget(self) -> None:
        """Drop the stresses of all steps and gas loads; they are recovered again when asked for."""
        self._stresses, self._at_gas, self._beside = {}, {}, {}

    def share_of_yield(self, step: LoadStep, stresses: Sequence[LayerStress]) -> float:
        """Share of the yield strength, as warm as in a step, that the block's stress stays below.

        Of its metal about the bore that fires, ``TAIL`` of that left out.
        """
        rated = self.case.block.about_firing(self.mesh.points[:, 0])
        return self._over_yield(stresses, self.solution(step).temperature, TAIL, rated)

    def _over_yield(
        self,
        stresses: Sequence[LayerStress],
        temperature: Array | None,
        tail: float,
        counts: NDArray[np.bool_] | None = None,
    ) -> float:
        """Share of the yield strength that the block's own metal stays below, but for a tail."""
        return over_yield(
            stresses, self.materials, self.mesh, temperature, tail, PARENT_PARTS, counts
        )[0]

    def _forces_of(self, model: SectionModel) -> Array:
        q = self.load.line_load
        return model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))

    def _forces_beside(self, model: SectionModel, axis: float) -> Array:
        """The same on another bore, by the x of its axis. [mm]."""
        q, reach = self.load.line_load, self.case.block.liner_radius

        def pressed(x: Array, _y: Array, nx: Array, ny: Array) -> Array:
            return np.where(np.abs(x - axis) < reach, -q, 0.0) * np.stack([nx, ny])

        return model.edge_load("other bores", pressed)

    def _rest(self) -> Array | None:
        """Temperature that the liner's interference is counted at; None where it is not known."""
        misfit = self.given.liner_interference and not self.given.liner_opens
        return np.full(len(self.mesh.points), REFERENCE) if misfit else None

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
        self._solved = self._lived()

    def _lived(self) -> dict[LoadStep, Solution]:
        return {
            step: self._solve(step, float(step.gas))
            for step in LoadStep
            if step != PRESSED and step.engine in self._models
        }

    def heated_by(self, load: GasLoad) -> OnePieceLife:
        """The same life, its warm steps heated by the cycle of another gas load."""
        other = copy(self)
        other.heating, other._stresses, other._at_gas, other._beside = load, {}, {}, {}
        if self.given.heat:
            warm = other._heated(self.given.heat)
            other._models = {**self._models, EngineState.WARM: warm}
            other._solved = other._lived()
        return other

    @property
    def steps(self) -> tuple[LoadStep, ...]:
        """That are solved, in order."""
        return tuple(self._solved)

    def solution(self, step: LoadStep) -> Solution:
        """Displacement of a solved step."""
        return self._solved[step]

    def _under(self, step: LoadStep, factor: float) -> Solution:
        return self._solve(step, factor)

    def _added(self, step: LoadStep, forces: Array) -> tuple[LayerStress, ...]:
        """Stress that further nodal forces, shape (n, 2) [N], add to a step."""
        loaded = self.recover(
            self._models[step.engine].solve_forces(step.gas * self.forces + forces)
        )
        return tuple(
            replace(of, stress=of.stress - before.stress)
            for of, before in zip(loaded, self.stress_of(step), strict=True)
        )

    def _solve(self, step: LoadStep, factor: float) -> Solution:
        return self._models[step.engine].solve_forces(factor * self.forces)

    def _heated(self, given: Heat) -> SectionModel:
        try:
            section = conducting(given, self.heating, self.mesh, self.materials, ())
            self.heat = section.solve()
        except ValueError as error:
            raise self._heat_refused(error) from error
        return self._models[EngineState.COLD].at(section.on_section(self.heat))

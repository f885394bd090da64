"""The life of a solid: pressed in, warm, at gas of every crank angle, warm and cold.

As :mod:`cases.life.life` has it for a section: each step starts from the one before, as far as
friction remembers it, and growth counts from the bore as it was honed.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Mapping, Sequence
from copy import copy
from dataclasses import replace
from typing import Self

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.base import with_misfit
from cases.life.flags import Bond, hottest_bond
from cases.life.given import ONE_PIECE, Heat, InsertFit, life_given, life_of
from cases.life.life import SAME_TEMPERATURE, compound_of
from cases.life.liner import Turns, liner_fits, liner_presses, share_conducting
from cases.life.steps import EngineState
from cases.solid.gas import HELD, Instant, forces_beside, gas_forces
from cases.solid.heat import films_of
from fea.contact import Fit
from fea.material import REFERENCE, Material
from fea.solid import SolidModel, SolidSolution
from fea.solid.fitted import FittedSolid, FittedState, SolidContactError
from fea.solid.heat import SolidHeat, SolidTemperature
from fea.solid.ordering import node_order
from fea.solid.smoothing import Smoothing
from geometry.clock import clock_of, format_clock
from geometry.solid.loose import SolidParted, parts_off
from geometry.solid.mesh import SolidMesh
from geometry.solid.parted import side_of, together

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]

Held = tuple[SolidSolution, FittedState | None]
"""A solved step, and what its joint does where it has one."""

MOST_ALIKE = 6
"""Solved loads, at most, that another is put together of."""
ABREAST = 4
"""Crank angles, at most, that are solved together: the factor is read for four loads at a time."""
MOST_HEATINGS = 12
"""Turns of heat and contact, each with the joint open where the other left it, at most."""


def life_materials(case: Case, design: Design) -> dict[str, Material]:
    """Material of every part that a solid of a design can have, the liner's with its misfit."""
    materials = with_misfit(case, design)
    return {**materials, "floor": materials["barrel"]}


class SolidLife(ABC):
    """A solid on its way through the load steps.

    Attributes
    ----------
    mesh : SolidMesh
        A fitted insert is a body of its own in it.
    materials : mapping of str to Material
        By part of the mesh.
    pressed : tuple of Instant
        Crank angles.
    forces : list of ndarray, shape (n, 3)
        Of each. [N]
    temperature : ndarray, shape (n,), or None
        Of the warm steps; None without heat. [degC]
    heat : SolidTemperature or None
        The same on the mesh that conducts, and the heat that flows.
    heating : GasLoad
        Whose cycle heats the warm steps, where the case states no other heat and they are not
        :meth:`FittedSolidLife.warmed_as` is told.
    """

    mesh: SolidMesh
    materials: Mapping[str, Material]
    forces: list[Array]
    temperature: Array | None = None
    heat: SolidTemperature | None = None

    def __init__(self, case: Case, design: Design, load: GasLoad, pressed: Sequence[Instant]):
        self.case, self.design, self.load = case, design, load
        self.heating = load
        self.pressed = tuple(pressed)
        self.given = life_of(case, design)
        self._conduction: Conduction | None = None

    @property
    def engine_states(self) -> tuple[EngineState, ...]:
        """In which there is gas, warm first."""
        warm = (EngineState.WARM,) if self.given.heat else ()
        return (*warm, EngineState.COLD)

    @property
    def bond(self) -> Bond | None:
        """Where the compound in its joint is hottest; None without one."""
        return None

    @abstractmethod
    def idle(self, engine: EngineState) -> SolidSolution:
        """With no gas; cold, as honed."""

    @property
    def pressed_by(self) -> Array:
        """What the press of the insert moves, shape (n, 3); none of what its liner does. [mm]."""
        return np.zeros_like(self.mesh.points)

    @abstractmethod
    def heated_by(self, load: GasLoad) -> Self:
        """The same life, its warm steps heated by the cycle of another gas load.

        Raises
        ------
        RunError
            If contact is not found in a step, or heat and joint do not settle.
        """

    @abstractmethod
    def beside(self, engine: EngineState) -> tuple[SolidSolution, ...]:
        """While the case's gas presses on a bore beside, not on the own one; none without such."""

    @abstractmethod
    def at_gas(
        self, engine: EngineState, factor: float = 1.0, angles: Sequence[int] | None = None
    ) -> tuple[SolidSolution, ...]:
        """At each crank angle, or at some of them, the gas load times a factor."""

    def rest_after(self, engine: EngineState, factor: float) -> SolidSolution:
        """With no gas, once there was gas of a load."""
        return self.idle(engine)

    def held(self, engine: EngineState) -> Held:
        """With no gas, and what its joint does."""
        return self.idle(engine), None

    def under(
        self,
        engine: EngineState,
        name: str,
        forces: Array,
        before: Held | None = None,
        guess: Held | None = None,
    ) -> Held:
        """Under other forces than gas.

        Parameters
        ----------
        engine : EngineState
        name : str
            Of the step, for errors.
        forces : ndarray, shape (n, 3)
            [N]
        before : Held, optional
            The step before, from which friction goes on; that without gas if left out.
        guess : Held, optional
            A step that is thought to touch at the same pairs.

        Raises
        ------
        RunError
            If contact is not found.
        """
        return self.idle(engine).model.solve(forces), None

    def moved(self, solution: SolidSolution) -> Array:
        """Displacement from the honed bore on, shape (n, 3). [mm]."""
        return solution.displacement - self.idle(EngineState.COLD).displacement

    def _conducting(self, load: GasLoad, mesh: SolidMesh, loose: Loose | None = None) -> Conduction:
        """The solid's heat by the cycle of a gas load; assembled once for all of them."""
        if self._conduction is None:
            assert self.given.heat is not None
            self._conduction = Conduction(
                self.given.heat, self.case, load, mesh, self.materials, loose
            )
            return self._conduction
        return self._conduction.under(load)


class Loose:
    """Parts of a solid cut loose, all along one joint.

    Parameters
    ----------
    mesh : SolidMesh
        In one piece.
    parts : sequence of str
        One at least.

    Attributes
    ----------
    parted : SolidParted
    joint : SolidJoint
        Of all parts, its sides named by both (:func:`geometry.solid.parted.side_of`).
    names : dict of str to (str, str)
        Part and what it is against, by side.
    """

    def __init__(self, mesh: SolidMesh, parts: Sequence[str]) -> None:
        self.parted = parts_off(mesh, parts)
        self.parts = tuple(parts)
        joints = dict(zip(parts, self.parted.joints, strict=True))
        self.joint = together(joints)
        self.names = {
            side_of(part, against): (part, against)
            for part, joint in joints.items()
            for against in joint.side
        }
        self._ends = np.cumsum([len(joint.own) for joint in self.parted.joints])

    def against(self, part: str) -> set[str]:
        """What a part touches; nothing where it is not loose."""
        return {against for of, against in self.names.values() if of == part}

    def is_of(self, part: str) -> Flags:
        """Whether each pair of the joint is of a part, shape (k,)."""
        found = np.zeros(len(self.joint.own), dtype=bool)
        for name, some in zip(self.parts, self._slices(), strict=True):
            found[some] = name == part
        return found

    def by_part(self, values: Array) -> dict[str, Array]:
        """Values of the pairs of the joint, shape (k,), part by part."""
        return {part: values[some] for part, some in zip(self.parts, self._slices(), strict=True)}

    def _slices(self) -> list[slice]:
        return [slice(start, end) for start, end in zip([0, *self._ends], self._ends, strict=False)]


class Conduction:
    """Temperature of a solid, on a mesh of its own where heat crosses a joint.

    What was solved last stays at hand: ``found``.

    Parameters
    ----------
    given : Heat
    case : Case
    load : GasLoad
    whole : SolidMesh
        In one piece.
    materials : mapping of str to Material
    loose : Loose, optional
        The solid that the temperature is for; the whole if left out.
    """

    def __init__(
        self,
        given: Heat,
        case: Case,
        load: GasLoad,
        whole: SolidMesh,
        materials: Mapping[str, Material],
        loose: Loose | None,
    ) -> None:
        stated = {"insert": given.joint_conductance, "liner": given.liner_conductance}
        parts = list(loose.parts) if loose else []
        if given.liner_conductance is not None and "liner" in {*whole.parts} - {*parts}:
            parts.append("liner")
        parted = parts_off(whole, parts) if parts else None
        self._mesh = parted.mesh if parted else whole
        self._target = loose.parted.mesh if loose else whole
        self._joints = parted.joints if parted else ()
        self._parts, self._parted, self._loose = parts, parted, loose
        self._given, self._case = given, case
        conductances = [stated[part] or 0.0 for part in parts]
        self._heat = SolidHeat(
            self._mesh,
            {part: materials[part] for part in self._mesh.parts},
            films_of(given, case, load, self._mesh),
            joints=list(zip(self._joints, conductances, strict=True)),
            order=_in_order_of(whole, parted),
        )

    found: SolidTemperature

    def under(self, load: GasLoad) -> Conduction:
        """The same solid heated by the cycle of another gas load; nothing is assembled anew."""
        other = copy(self)
        other._heat = self._heat.under(films_of(self._given, self._case, load, self._mesh))
        return other

    def solve(self, touching: Array | None = None) -> Array:
        """Temperature at the nodes of the solid, shape (n,). [degC].

        Parameters
        ----------
        touching : ndarray, shape (k,), optional
            Share of its conductance that each pair of the joint of what is loose has; all if left
            out.
        """
        given = {} if touching is None or not self._loose else self._loose.by_part(touching)
        shares = [
            self._carried(part, given[part], joint.own)
            if part in given
            else np.ones(len(joint.own))
            for part, joint in zip(self._parts, self._joints, strict=True)
        ]
        self.found = self._heat.solve(shares)
        found = self.found.temperature
        # prism by prism, as both meshes are of the same prisms
        total = np.zeros(len(self._target.points))
        count = np.zeros(len(total))
        np.add.at(total, self._target.prisms, found[self._mesh.prisms])
        np.add.at(count, self._target.prisms, 1.0)
        return np.asarray(total / count)

    def _carried(self, part: str, share: Array, own: Integers) -> Array:
        """Shares of the pairs of a part of the fitted solid on those of the heat's."""
        assert self._loose is not None
        assert self._parted is not None
        fitted = self._loose.parted
        at = fitted.origin[fitted.joints[self._loose.parts.index(part)].own]
        order = np.argsort(at)
        place = np.searchsorted(at[order], self._parted.origin[own])
        return np.asarray(share[order[np.clip(place, 0, len(at) - 1)]])


def _in_order_of(whole: SolidMesh, parted: SolidParted | None) -> Integers:
    """Nodes in the order found for the solid in one piece, those of a pair together."""
    nodes = node_order(whole).nodes
    if parted is None:
        return nodes
    rank = np.empty(len(nodes), dtype=np.int64)
    rank[nodes] = np.arange(len(nodes))
    return np.argsort(rank[parted.origin], kind="stable")


class OnePieceSolid(SolidLife):
    """Bare, or with an insert that is one with the block.

    Parameters
    ----------
    case : Case
    design : Design
    load : GasLoad
    pressed : sequence of Instant
    mesh : SolidMesh
    model : SolidModel, optional
        Of the same mesh and metals at 20 degC, without misfit, whose factor serves again.

    Raises
    ------
    ValueError
        If heat finds no way out.
    """

    def __init__(
        self,
        case: Case,
        design: Design,
        load: GasLoad,
        pressed: Sequence[Instant],
        mesh: SolidMesh,
        model: SolidModel | None = None,
    ) -> None:
        super().__init__(case, design, load, pressed)
        self.mesh = mesh
        materials = life_materials(case, design)
        self.materials = {part: materials[part] for part in mesh.parts}
        plain = cold = (
            model.with_materials(self.materials)
            if model
            else SolidModel(mesh, self.materials, HELD)
        )
        if any(material.misfit for material in self.materials.values()):
            cold = plain.at(np.full(len(mesh.points), REFERENCE))
        self.forces = gas_forces(plain, self.pressed)
        beside = forces_beside(case, plain, self.pressed)
        self._plain, self._loads = plain, [np.zeros_like(self.forces[0]), *self.forces, *beside]
        # cold is done with before the factor turns to warm metal
        self._solved = {EngineState.COLD: cold.solve_many(self._loads)}
        self._warm_up()

    def _warm_up(self) -> None:
        if self.given.heat:
            heat = self._conducting(self.heating, self.mesh)
            self.temperature, self.heat = heat.solve(), heat.found
            warm = self._plain.at(self.temperature).solve_many(self._loads)
            self._solved = {**self._solved, EngineState.WARM: warm}

    def heated_by(self, load: GasLoad) -> Self:
        """The same life, its warm steps heated by the cycle of another gas load."""
        other = copy(self)
        other.heating = load
        other._warm_up()
        return other

    def idle(self, engine: EngineState) -> SolidSolution:
        """With no gas."""
        return self._solved[engine][0]

    def beside(self, engine: EngineState) -> tuple[SolidSolution, ...]:
        """While the case's gas presses on a bore beside."""
        return self._solved[engine][1 + len(self.pressed) :]

    def at_gas(
        self, engine: EngineState, factor: float = 1.0, angles: Sequence[int] | None = None
    ) -> tuple[SolidSolution, ...]:
        """At crank angles: what the gas adds is in proportion to it."""
        idle, *gas = self._solved[engine][: 1 + len(self.pressed)]
        some = range(len(gas)) if angles is None else angles
        return tuple(
            replace(
                gas[angle],
                displacement=idle.displacement
                + factor * (gas[angle].displacement - idle.displacement),
            )
            for angle in some
        )


class FittedSolidLife(SolidLife):
    """With an insert that is held by a fit, or a liner that can open, or both.

    Contact is sought about the bore that fires, the walls to its neighbours included. About those
    the insert sticks where it is pressed in, and stays apart where it has clearance; so do the
    neighbours' liners.

    Parameters
    ----------
    case : Case
    design : Design
    load : GasLoad
    pressed : sequence of Instant
    mesh : SolidMesh
        In one piece.
    smoothing : Smoothing, optional
        Of that mesh and its metals.

    Raises
    ------
    ValueError
        If heat finds no way out.
    RunError
        If contact is not found in a step, or heat and joint do not settle.

    Attributes
    ----------
    loose : Loose
        What is a piece of its own.
    fit : InsertFit
        Of the insert.
    """

    def __init__(
        self,
        case: Case,
        design: Design,
        load: GasLoad,
        pressed: Sequence[Instant],
        mesh: SolidMesh,
        smoothing: Smoothing | None = None,
    ) -> None:
        super().__init__(case, design, load, pressed)
        self.loose = Loose(mesh, loose_parts(case, design, mesh))
        self.mesh = self.loose.parted.mesh
        materials = life_materials(case, design)
        self.materials = {part: materials[part] for part in mesh.parts}
        self.fit = self.given.fits.get(design.name, ONE_PIECE)
        model = SolidModel(self.mesh, self.materials, HELD)
        if smoothing:
            model.smooth_as(smoothing)
        fitted = FittedSolid(model, self.loose.joint, self._fits(), self._beyond())
        if any(material.misfit for material in self.materials.values()):
            fitted = fitted.at(np.full(len(self.mesh.points), REFERENCE))
        if "insert" in self.loose.parts and liner_presses(case):
            try:
                fitted = fitted.fitted_as_it_stands("insert")  # measured with the liner in
            except SolidContactError as error:
                raise self._not_found("with its liner in", error) from error
        self.fitted = {EngineState.COLD: fitted}
        self.forces = gas_forces(model, self.pressed)
        self._forces_beside = forces_beside(case, model, self.pressed)
        self._idle = {EngineState.COLD: self._step("pressed in", EngineState.COLD)}
        self._at_gas: dict[tuple[EngineState, float, int], FittedState] = {}
        self._begun = self._at_gas  # where steps at gas begin, while none is solved
        self._worn: dict[tuple[EngineState, float], FittedState] = {}
        self._rests: dict[tuple[EngineState, bytes], SolidSolution] = {}
        self._whole = mesh
        self._unheated = fitted
        self._warm_up()

    def heated_by(self, load: GasLoad) -> Self:
        """The same life, its warm steps heated by the cycle of another gas load."""
        other = self._to_be_warmed()
        other.heating, other.temperature = load, None
        other._warm_up()
        return other

    def with_interference(self, interference: float, warm: FittedSolid | None = None) -> Self:
        """The same life with another common interference [mm].

        Each step begins from the same one of this life.

        Parameters
        ----------
        interference : float
            On the diameter. [mm]
        warm : FittedSolid, optional
            As :meth:`warmed_as` takes it; heat is held if left out.

        Raises
        ------
        RunError
            If contact is not found in a step.
        """
        other = copy(self)
        other.fit = self.fit.with_interference(interference)
        other.fitted = {
            engine: of.with_fits(other._fits(crept=engine is EngineState.WARM), patience=0)
            for engine, of in self.fitted.items()
        }
        other._unheated = other.fitted[EngineState.COLD]
        other._begun, other._at_gas, other._worn, other._rests = self._at_gas, {}, {}, {}
        pressed = other._step("pressed in", EngineState.COLD, self._idle[EngineState.COLD])
        other._idle = {EngineState.COLD: pressed}
        if EngineState.WARM in self.engine_states:
            other._warm_as(warm or self.warm, self._idle[EngineState.WARM])
        return other

    def warmed_as(self, warm: FittedSolid, like: Sequence[FittedSolidLife] = ()) -> Self:
        """The same life, its warm steps at the temperature of other ones.

        Parameters
        ----------
        warm : FittedSolid
            The same bodies, warm (:attr:`fitted`, :meth:`conducted`); of any fit.
        like : sequence of FittedSolidLife
            Further ones of this fit at other temperatures, which tell of softer metal.

        Raises
        ------
        RunError
            If contact is not found in a step.
        """
        other = self._to_be_warmed()
        other._begun = self._at_gas
        others = [life.joint(EngineState.WARM) for life in like]
        other._warm_as(warm, self.joint(EngineState.WARM), *others)
        return other

    @property
    def warm(self) -> FittedSolid:
        """Insert and block, warm."""
        return self.fitted[EngineState.WARM]

    def _to_be_warmed(self) -> Self:
        """The same life, its warm steps to be solved anew."""
        other = copy(self)
        other.fitted, other._idle = dict(self.fitted), dict(self._idle)
        other._at_gas = {
            at: state for at, state in self._at_gas.items() if at[0] is not EngineState.WARM
        }
        other._begun = other._at_gas
        other._worn, other._rests = {}, {}
        return other

    def _warm_as(self, warm: FittedSolid, guess: FittedState, *others: FittedState) -> None:
        self.temperature = warm.temperature
        self.fitted[EngineState.WARM] = warm.with_fits(
            self._fits(crept=True), self.fitted[EngineState.COLD].patience
        )
        self._idle[EngineState.WARM] = self._step("warm", EngineState.WARM, guess, others)

    def conducted(self, load: GasLoad) -> FittedSolid:
        """Warm bodies, heated by the cycle of a gas load, with the joint as it is in this life.

        Heat crosses it where it touches in the warm step.
        """
        heat = self._conducting(load, self._whole, self.loose)
        cold, state = self._unheated, self._idle[EngineState.WARM]
        of_liner = self.loose.is_of("liner")[cold.corners]
        share = np.zeros(len(cold.joint.own))
        share[cold.corners] = self._crossing(state, of_liner)
        return cold.at(heat.solve(share))

    @property
    def bond(self) -> Bond | None:
        """Where the compound in the insert's joint is hottest, warm without gas."""
        if self.temperature is None:
            return None
        here = self.loose.is_of("insert")
        own, other = self.loose.joint.own[here], self.loose.joint.other[here]
        warm = self.temperature[np.stack([own, other])].mean(axis=0)
        return hottest_bond(self.case.block, self.fit.compound, warm, self.mesh.points[own])

    @property
    def pressed_by(self) -> Array:
        """What the press of the insert moves, shape (n, 3); none of what its liner does. [mm]."""
        fitted = self.fitted[EngineState.COLD]
        return self.idle(EngineState.COLD).displacement - fitted.stands

    def _beyond(self) -> Flags:
        """Nodes that are not about the bore that fires: liners of its neighbours are none."""
        x, y, _ = self.mesh.points.T
        beyond = ~self.case.block.about_firing(x)
        joint = self.loose.joint
        own = joint.own[self.loose.is_of("liner")]
        beyond[own] = np.hypot(x[own], y[own]) > self.case.block.barrel_radius
        return beyond

    def _fits(self, *, crept: bool = False) -> dict[str, Fit]:
        """Of insert and liner, as far as they are pieces of their own, by side of the joint."""
        insert, liner = (self.loose.against(part) for part in ("insert", "liner"))
        found = {
            ("insert", at): fit for at, fit in solid_fits(self.fit, insert, crept=crept).items()
        }
        found |= liner_fits(self.case, liner)
        return {side_of(*names): fit for names, fit in found.items()}

    def _warm_up(self) -> None:
        """Warm with no gas; heat crosses the joint where it touches then."""
        if not self.given.heat:
            return
        heat, cold = self._conducting(self.heating, self._whole, self.loose), self._unheated
        if self.fit.press_creep:
            cold = cold.with_fits(self._fits(crept=True))
        state = self._idle[EngineState.COLD]
        of_liner = self.loose.is_of("liner")[cold.corners]
        turns = Turns(of_liner, self._crossing(state, of_liner))
        moved = np.zeros(len(self.mesh.points))

        def at(corners: Array) -> Array:
            share = np.zeros(len(cold.joint.own))
            share[cold.corners] = corners
            return heat.solve(share)

        for turn in range(MOST_HEATINGS):
            temperature = at(turns.share)
            before, self.temperature = self.temperature, temperature
            self.heat = heat.found
            self.fitted.pop(EngineState.WARM, None)  # its metal's stiffness is no small thing
            self.fitted[EngineState.WARM] = cold.at(temperature)
            state = self._step("warm", EngineState.WARM, state if turn else None)
            if before is not None:
                moved = np.abs(temperature - before)
                if moved.max() <= SAME_TEMPERATURE and turns.eased:
                    moved = np.abs(at(turns.whole) - before)
                if moved.max() <= SAME_TEMPERATURE:
                    break
            turns.go_on(self._crossing(state, of_liner))
        else:
            raise self._unsettled(moved)
        self._idle[EngineState.WARM] = state

    def _crossing(self, state: FittedState, of_liner: Flags) -> Array:
        """Share of its conductance that each pair has: the gap behind a liner conducts a little."""
        share = state.closed.astype(float)
        assert self.given.heat is not None
        if self.given.heat.liner_conductance:
            share[of_liner] = share_conducting(
                state.closed[of_liner], state.gap[of_liner], self.given.heat.liner_conductance
            )
        return share

    def _unsettled(self, moved: Array) -> RunError:
        """What to say where heat still moves with the joint by so much at the nodes. [K]."""
        x, y, z = self.mesh.points[int(moved.argmax())]
        bore, hours = self.case.block.nearest_bore(x, y)
        return RunError(
            f'design "{self.design.name}": heat and joint of the solid do not settle in '
            f"{MOST_HEATINGS} turns: each opens or shuts where the other left it, and the "
            f"temperature still moves by {moved.max():.0f} K at {format_clock(float(hours))} of "
            f"bore {bore}, {abs(z):.3g} mm down. Change the fit, or joint_conductance and "
            "liner_conductance under [heat]."
        )

    def idle(self, engine: EngineState) -> SolidSolution:
        """With no gas; cold, as honed."""
        return self._idle[engine].solution

    def beside(self, engine: EngineState) -> tuple[SolidSolution, ...]:
        """While the case's gas presses on a bore beside."""
        idle, forces = self._idle[engine], self._forces_beside
        try:
            found = self.fitted[engine].solve_many(forces, idle, [idle] * len(forces))
        except SolidContactError as error:
            raise self._not_found(f"{engine} with a bore beside at gas", error) from error
        return tuple(state.solution for state in found)

    def states(
        self, engine: EngineState, factor: float = 1.0, angles: Sequence[int] | None = None
    ) -> tuple[FittedState, ...]:
        """The joint at each crank angle, or at some of them, the gas load times a factor.

        Compound that breaks at one of them is broken at all, and in a cold engine what broke in a
        warm one.
        """
        wanted = range(len(self.pressed)) if angles is None else angles
        while True:
            rest = self._before_gas(engine, factor)
            due = [
                angle for angle in dict.fromkeys(wanted) if self._due(engine, factor, angle, rest)
            ]
            rounds, done = -(-len(due) // ABREAST), list[int]()
            for first in range(rounds):
                some = due[first::rounds]
                self._solve_at_gas(engine, factor, some, rest, done)
                done += some
            found = [self._at_gas[engine, factor, angle] for angle in wanted]
            worn = rest.broken_as(found)
            self._worn[engine, factor] = worn
            if worn is rest:
                return tuple(found)

    def _due(self, engine: EngineState, factor: float, angle: int, rest: FittedState) -> bool:
        """Whether an angle is not solved yet, or more of the compound has broken since it was."""
        state = self._at_gas.get((engine, factor, angle))
        return state is None or bool((rest.broken & ~state.broken).any())

    def _solve_at_gas(
        self,
        engine: EngineState,
        factor: float,
        angles: Sequence[int],
        rest: FittedState,
        done: Sequence[int],
    ) -> None:
        """Some angles abreast, each begun from the nearest that is done, or from another load."""
        guesses = [
            self._at_gas[engine, factor, min(done, key=lambda one: abs(one - angle))]
            if done
            else self._like(engine, factor, angle)
            for angle in angles
        ]
        forces = [factor * self.forces[angle] for angle in angles]
        like = self._nearest(engine, factor)
        try:
            found = self.fitted[engine].solve_many(forces, rest, guesses, like)
        except SolidContactError as error:
            deg = self.pressed[angles[error.number]].deg
            name = f"{engine} at gas" + ("" if deg is None else f", {deg:.0f} deg")
            raise self._not_found(name, error) from error
        self._at_gas |= {
            (engine, factor, angle): state for angle, state in zip(angles, found, strict=True)
        }

    def _before_gas(self, engine: EngineState, factor: float) -> FittedState:
        """The joint without gas, as what it has broken of the compound leaves it."""
        rest = self._worn.get((engine, factor), self._idle[engine])
        warm = self._worn.get((EngineState.WARM, factor))
        if engine is EngineState.COLD and self.fit.compound and self.given.heat:
            if warm is None:
                self.states(EngineState.WARM, factor)
                warm = self._worn[EngineState.WARM, factor]
            rest = rest.broken_as([warm])
        return rest

    def held(self, engine: EngineState) -> Held:
        """With no gas, and what its joint does."""
        return self.idle(engine), self._idle[engine]

    def joint(self, engine: EngineState) -> FittedState:
        """What its joint does with no gas."""
        return self._idle[engine]

    def under(
        self,
        engine: EngineState,
        name: str,
        forces: Array,
        before: Held | None = None,
        guess: Held | None = None,
    ) -> Held:
        """Under other forces than gas."""
        begun = (before and before[1]) or self._idle[engine]
        state = self._solve(f"{engine} {name}", engine, forces, begun, guess and guess[1])
        return state.solution, state

    def rest_after(self, engine: EngineState, factor: float) -> SolidSolution:
        """With no gas, the compound broken that a gas load has broken so far."""
        worn = self._worn.get((engine, factor))
        if worn is None or (worn.broken == self._idle[engine].broken).all():
            return self.idle(engine)
        key = engine, worn.broken.tobytes()
        if key not in self._rests:
            state = self._solve(f"{engine} after gas", engine, None, worn, self._idle[engine])
            self._rests[key] = state.solution
        return self._rests[key]

    def _nearest(self, engine: EngineState, factor: float) -> list[FittedState]:
        """The joint under the gas loads that were solved and are nearest, the nearest last."""
        solved = self._solved(engine)
        nearest = sorted(solved, key=lambda at: -abs(at[0] - factor))
        return [solved[at] for at in nearest[-MOST_ALIKE:]]

    def _like(self, engine: EngineState, factor: float, angle: int) -> FittedState | None:
        """The joint at the same angle under the nearest gas load that was solved."""
        solved = {load: of for (load, at), of in self._solved(engine).items() if at == angle}
        return solved[min(solved, key=lambda load: abs(load - factor))] if solved else None

    def _solved(self, engine: EngineState) -> dict[tuple[float, int], FittedState]:
        """Steps at gas by load and angle; while none is solved, those of a like life."""
        for states in (self._at_gas, self._begun):
            found = {(load, at): one for (of, load, at), one in states.items() if of is engine}
            if found:
                break
        return found

    def at_gas(
        self, engine: EngineState, factor: float = 1.0, angles: Sequence[int] | None = None
    ) -> tuple[SolidSolution, ...]:
        """At crank angles, from the step without gas."""
        return tuple(state.solution for state in self.states(engine, factor, angles))

    def _step(
        self,
        name: str,
        engine: EngineState,
        guess: FittedState | None = None,
        others: Sequence[FittedState] = (),
    ) -> FittedState:
        """A step without gas, begun from a like one; others are at other temperatures."""
        before = self._idle[EngineState.COLD] if engine is EngineState.WARM else None
        like = [*others, guess] if guess and others else ()
        return self._solve(name, engine, None, before, guess, like)

    def _solve(
        self,
        name: str,
        engine: EngineState,
        forces: Array | None,
        before: FittedState | None,
        guess: FittedState | None = None,
        like: Sequence[FittedState] = (),
    ) -> FittedState:
        try:
            return self.fitted[engine].solve(forces, before, guess, like)
        except SolidContactError as error:
            raise self._not_found(name, error) from error

    def _not_found(self, step: str, error: SolidContactError) -> RunError:
        """What to say where contact is not found in a step."""
        bore, _ = self.case.block.nearest_bore(*error.place[:2].tolist())
        clock = format_clock(float(clock_of(*error.place[:2])))
        part, against = self.loose.names[error.side]
        return RunError(
            f'design "{self.design.name}", solid {step}, joint of {part} and block at the '
            f"{against}, {clock} of bore {bore}, {-error.place[2]:.1f} mm down: {error} "
            "Change the fit or the friction."
        )


def solid_fits(fit: InsertFit, touched: Collection[str], *, crept: bool = False) -> dict[str, Fit]:
    """The fit by side of a solid's joint; half of the interference on each side.

    A ledge, or the floor of a cut, presses on the insert from below as it stands there, with the
    friction of the first side.
    """
    fits = {
        part: Fit(
            overlap=fit.pressing(part, crept=crept) / 2,
            more=fit.more_by_piece(part, crept=crept),
            friction=side.friction,
            bonded=side.bonded,
            compound=None if side.bonded or not fit.compound else compound_of(fit.compound),
        )
        for part, side in fit.sides.items()
        if part in touched
    }
    for side_ in sorted(set(touched) - set(fits)):
        fits[side_] = Fit(friction=next(iter(fit.sides.values())).friction)
    return fits


def loose_parts(case: Case, design: Design, mesh: SolidMesh) -> tuple[str, ...]:
    """Parts of a design that are pieces of their own: a fitted insert, a liner that can open."""
    given = life_given(case)
    opens = {"insert": bool(given.fits.get(design.name, ONE_PIECE).sides),
             "liner": given.liner_opens}  # fmt: skip
    return tuple(part for part in opens if opens[part] and part in mesh.parts)


def solid_life(
    case: Case,
    design: Design,
    load: GasLoad,
    pressed: Sequence[Instant],
    mesh: SolidMesh,
    model: SolidModel | None = None,
    smoothing: Smoothing | None = None,
) -> SolidLife:
    """The life of a design's solid, of the kind that its fit asks for.

    Parameters
    ----------
    case : Case
    design : Design
    load : GasLoad
    pressed : sequence of Instant
    mesh : SolidMesh
        In one piece.
    model : SolidModel, optional
        Of that mesh, at 20 degC: a design in one piece need not factor it again.
    smoothing : Smoothing, optional
        Of that mesh and its metals: a fitted design need not find it again.

    Raises
    ------
    RunError
        If contact is not found in a step, heat finds no way out, or heat and joint do not
        settle.
    """
    try:
        if loose_parts(case, design, mesh):
            return FittedSolidLife(case, design, load, pressed, mesh, smoothing)
        return OnePieceSolid(case, design, load, pressed, mesh, model)
    except ValueError as error:
        raise RunError(f'design "{design.name}", solid: {error}') from error

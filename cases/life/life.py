"""The life of a fitted block, load step by load step: pressed in, honed, warm, at gas, cold at gas.

Each step starts from the one before, as far as friction remembers it. The bore is machined round
once the insert is in, so from there on its shape is counted from that circle.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from copy import copy
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.parts import PARENT_PARTS
from cases.base.undersides import UNDERSIDES
from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.advice import advise, yields_anyway
from cases.life.given import LIGHT, InsertFit, PistonRing, life_given
from cases.life.result import (
    JointState,
    PieceState,
    RingFollow,
    Service,
    SideState,
    SpotRange,
    Step,
)
from cases.life.steps import BEFORE, COLD_GAS, HONED, PRESSED, TAIL, WARM, WARM_GAS
from cases.life.temperature import temperature_notes
from cases.life.tie_faces import tie_faces
from fea.bore import HIGHEST_ORDER, BoreShape, bore_growth, harmonics
from fea.closed_form import ring_conformability
from fea.contact import Contact, ContactError, Fit, Fitted, FittedModel
from fea.heat import Film, Films, HeatField, HeatModel
from fea.hotspots import APART, APART_ELEMENTS, HotSpot, along_spot, hot_spots
from fea.material import REFERENCE, Material
from fea.model import SectionModel, Solution
from fea.strength import over_yield
from fea.stress import LayerStress, recover
from geometry.clock import clock_of, clock_to_angle, format_clock
from geometry.parted import Joint, Parted, carried, part_off
from geometry.section_mesh import SectionMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

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


def fits_of(fit: InsertFit, touched: Collection[str]) -> dict[str, Fit]:
    """The fit as contact takes it, for the sides that touch anything; half of it on each side."""
    return {
        part: Fit(overlap=side.interference / 2, friction=side.friction, bonded=side.bonded)
        for part, side in fit.sides.items()
        if part in touched
    }


@dataclass(frozen=True, eq=False)
class _State:
    """One solved step; contact is None where nothing is fitted."""

    solution: Solution
    fitted: Fitted | None


@dataclass(frozen=True, eq=False, kw_only=True)
class StressCycle:
    """What gas does to the metal each time a cylinder fires: without it, and at its peak."""

    name: str  # "warm" or "cold"
    idle: tuple[LayerStress, ...]
    gas: tuple[LayerStress, ...]  # layer by layer as ``idle``
    temperature: Array | None  # at the nodes; None at 20 degC [degC]


class Life:
    """A design on its way through the steps, all solved.

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

    def __init__(self, case: Case, design: Design, mesh: SectionMesh, load: GasLoad) -> None:
        self.case, self.design, self.load = case, design, load
        self.given = life_given(case)
        self.fit = self.given.fits.get(design.name)
        self.materials = with_misfit(case, design)
        self.parted: Parted | None = None
        self.fitted: FittedModel | None = None
        self.mesh = mesh
        if self.fit:
            self.parted = part_off(mesh, "insert")
            self.mesh = self.parted.mesh
            self.fitted = self._fit(self.parted, self.fit)
        self.model = self.fitted.model if self.fitted else SectionModel(mesh, self.materials)
        self.warm_model: SectionModel | None = None
        if self.given.liner_interference:
            at_rest = np.full(len(self.mesh.points), REFERENCE)
            self.model = self.model.at(at_rest)
            self.fitted = self.fitted and self.fitted.at(at_rest)
        q = load.line_load
        self.gas = self.model.edge_load("bore", lambda _x, _y, nx, ny: -q * np.stack([nx, ny]))
        self.heat: HeatField | None = None
        self.temperature = np.zeros(0)  # of the warm steps, at the nodes of ``mesh`` [degC]
        self.warm_fitted: FittedModel | None = None
        self.heat_moves = 0.0  # largest change of temperature in the last turn of heat [K]
        self.states: dict[str, _State] = {}  # by step, in the order of life
        self._stresses: dict[str, tuple[LayerStress, ...]] = {}
        self._at_gas: dict[float, tuple[StressCycle, ...]] = {}
        self._refuse_crushing()
        self._live()

    def _fit(self, parted: Parted, fit: InsertFit) -> FittedModel:
        if not len(parted.joint.own):
            raise RunError(
                f'design "{self.design.name}": the insert touches the block nowhere at its own '
                "depth, so nothing can hold it. Make it wider, or deeper."
            )
        return FittedModel(parted, self.materials, fits_of(fit, set(parted.joint.against)))

    def _live(self) -> None:
        cold = self._solve(PRESSED)
        if self.fitted:
            self.states[PRESSED] = cold
        self.states[HONED] = cold
        if self.given.heat:
            self.states[WARM] = warm = self._warm_up(cold)
            self.states[WARM_GAS] = self._solve(WARM_GAS, warm, gas=1.0)
        self.states[COLD_GAS] = self._solve(
            COLD_GAS, cold, guess=self.states.get(WARM_GAS), gas=1.0
        )

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
                self._cycle(name, factor) for name in (WARM_GAS, COLD_GAS) if name in self.states
            )
        return self._at_gas[factor]

    def _cycle(self, name: str, factor: float) -> StressCycle:
        before = self._before(name)
        state = self.states[name]
        if factor != 1:
            state = self._solve(name, self.states[before], guess=state, gas=factor)
        return StressCycle(
            name=name.split()[0],
            idle=self.stress_of(before),
            gas=recover(state.solution) if factor != 1 else self.stress_of(name),
            temperature=state.solution.temperature,
        )

    def with_interference(self, interference: float, last: str | None = None) -> Life:
        """The same life with another common interference, heat held.

        Parameters
        ----------
        interference : float
            On the diameter. [mm]
        last : str, optional
            Step that is needed, with those before it; all if left out.

        Raises
        ------
        RunError
            If contact is not found.
        """
        assert self.fit is not None
        other = self._refitted(self.fit.with_interference(interference))
        other.solve_like(self, last)
        return other

    def solve_like(self, life: Life, last: str | None = None) -> None:
        """Solve steps that are not solved yet, each begun from that of a life with another fit.

        Parameters
        ----------
        life : Life
        last : str, optional
            Step that is needed, with those before it; all if left out.

        Raises
        ------
        RunError
            If contact is not found.
        """
        needed = {last, BEFORE.get(last or ""), PRESSED} - self.states.keys()
        for name, guess in life.states.items():
            if name != HONED and (last is None or name in needed):
                before = self.states.get(BEFORE.get(name, ""))
                gas = float(name in (WARM_GAS, COLD_GAS))
                self.states[name] = self._solve(name, before, guess=guess, gas=gas)

    def bond_ends(self) -> list[tuple[float, float]]:
        """Places x, y where a bonded side of the insert ends beside one that is not. [mm]."""
        if self.fitted is None:
            return []
        pairs, bonded = self.fitted.pairs, self.fitted.bonded
        ends = pairs.sides[bonded[pairs.sides[:, 0]] != bonded[pairs.sides[:, 1]]]
        at = self.mesh.points[pairs.own[np.where(bonded[ends[:, 0]], ends[:, 0], ends[:, 1])]]
        return [(float(x), float(y)) for x, y in at]

    def _before(self, name: str) -> str:
        """Step that a step at gas starts from; what nothing is pressed into is only honed."""
        before = BEFORE[name]
        return HONED if before == PRESSED and not self.fitted else before

    def _solve(
        self,
        name: str,
        before: _State | None = None,
        *,
        guess: _State | None = None,
        gas: float = 0.0,
    ) -> _State:
        forces, warm = gas * self.gas, name in (WARM, WARM_GAS)
        try:
            if self.fitted:
                model = self.warm_fitted if warm else self.fitted
                assert model is not None
                fitted = model.solve(
                    forces, before.fitted if before else None, guess.fitted if guess else None
                )
                return _State(fitted.solution, fitted)
            section = self.warm_model if warm else self.model
            assert section is not None
            return _State(section.solve_forces(forces), None)
        except ContactError as error:
            fit = self.fit
            heavy = fit and max(side.interference for side in fit.sides.values()) > LIGHT
            cure = (
                f"An interference above {LIGHT:g} mm is no light press: give less."
                if heavy
                else "Change the fit or the friction."
            )
            bore, hours = self._clock_at(*error.place)
            raise RunError(
                f'design "{self.design.name}", step "{name}", joint of insert and block at the '
                f"{error.against}, {format_clock(hours)} of bore {bore}: {error} {cure}"
            ) from error

    def _set_heat(self, heat: HeatField) -> None:
        """Make a temperature the one of the warm steps."""
        self.heat = heat
        copies = np.bincount(self.heat_origin)
        self.temperature = np.bincount(self.heat_origin, heat.temperature) / copies
        if self.fitted:
            self.warm_fitted = self.fitted.at(self.temperature)
        else:
            self.warm_model = self.model.at(self.temperature)

    def _warm_up(self, cold: _State) -> _State:
        """Warm with no gas; heat crosses the joint where it touches then."""
        try:
            conducting = self._heat_model()
            if not cold.fitted:
                self._set_heat(conducting.solve())
                return self._solve(WARM, cold)
            state = cold
            for turn in range(MOST_HEATINGS + 1):
                assert state.fitted is not None
                before = self.heat
                heat = conducting.solve({"insert": self._touching(state.fitted.contact)})
                if before is not None:
                    self.heat_moves = float(np.abs(heat.temperature - before.temperature).max())
                    if self.heat_moves <= SAME_TEMPERATURE or turn == MOST_HEATINGS:
                        break
                self._set_heat(heat)
                guess = None if state is cold else state
                state = self._solve(WARM, cold, guess=guess)
        except ValueError as error:
            raise RunError(f'design "{self.design.name}", heat: {error}') from error
        return state

    def _heat_model(self) -> HeatModel:
        heat = self.given.heat
        assert heat is not None
        joints: list[Joint] = []
        conductances = {}
        mesh = self.mesh
        self.heat_origin = np.arange(len(mesh.points))
        if self.parted:
            assert heat.joint_conductance is not None
            joints.append(self.parted.joint)
            conductances["insert"] = heat.joint_conductance
        if heat.liner_conductance is not None:
            cut = part_off(mesh, "liner")
            joints = [*(carried(joint, cut) for joint in joints), cut.joint]
            conductances["liner"] = heat.liner_conductance
            mesh, self.heat_origin = cut.mesh, cut.origin
        stated = heat.gas
        if stated is None:
            assert self.load.wall_load is not None
            stated = self.load.wall_load.film
        gas = stated if isinstance(stated, float) else Film(*stated)
        coolant, head, outside = (
            Film(*film) if film else None for film in (heat.coolant, heat.head, heat.outside)
        )
        films = Films(
            gas=gas, coolant=coolant, head=head, outside=outside, joints=conductances,
            undersides=UNDERSIDES,
        )  # fmt: skip
        return HeatModel(mesh, self.materials, films, joints)

    def _touching(self, contact: Contact) -> NDArray[np.bool_]:
        """Whether each node of the heat mesh touches across the joint of the insert."""
        assert self.fitted is not None
        pairs = self.fitted.pairs
        closed = np.zeros(len(self.mesh.points), dtype=bool)
        closed[pairs.own] = contact.closed
        closed[pairs.middle[:, 0]] = contact.closed[pairs.sides].all(axis=1)
        return closed[self.heat_origin]

    def _refuse_crushing(self) -> None:
        """Refuse a press that makes most of the block's own metal yield.

        Judged by a light press in proportion, as one that heavy may not be solved.
        """
        fit = self.fit
        if fit is None:
            return
        largest = max(side.interference for side in fit.sides.values())
        if largest <= LIGHT:
            return
        lighter = replace(
            fit,
            sides={
                part: replace(side, interference=side.interference * LIGHT / largest)
                for part, side in fit.sides.items()
            },
        )
        stresses = recover(self._refitted(lighter)._solve(PRESSED).solution)
        share = self._over_yield(stresses, None, WHOLE) * largest / LIGHT
        if share > 1:
            raise RunError(
                f'design "{self.design.name}", step "{PRESSED}", joint of insert and block: the '
                f"interference would stress more than half of the block's own metal to {share:.1f} "
                "times its yield strength. Give less interference; a light press is meant."
            )

    def _refitted(self, fit: InsertFit) -> Life:
        """The same pieces with another fit, and no step solved yet."""
        assert self.parted is not None
        assert self.fitted is not None
        other = copy(self)
        fits = fits_of(fit, set(self.parted.joint.against))
        other.fitted = self.fitted.with_fits(fits)
        if self.warm_fitted:
            other.warm_fitted = self.warm_fitted.with_fits(fits)
        other.states, other._stresses, other._at_gas = {}, {}, {}
        return other

    def stress_of(self, name: str) -> tuple[LayerStress, ...]:
        """Stress of a step."""
        if name not in self._stresses:
            self._stresses[name] = recover(self.states[name].solution)
        return self._stresses[name]

    def share_of_yield(self, name: str, stresses: Sequence[LayerStress]) -> float:
        """Share of the yield strength, as warm as in a step, that the block's stress stays below.

        ``TAIL`` of its metal is left out.
        """
        temperature = self.states[name].solution.temperature
        return self._over_yield(stresses, temperature, TAIL)

    def _over_yield(
        self, stresses: Sequence[LayerStress], temperature: Array | None, tail: float
    ) -> float:
        """Share of the yield strength that the block's own metal stays below, but for a tail."""
        found = over_yield(stresses, self.materials, self.mesh, temperature, tail, PARENT_PARTS)
        return found[0]

    def read(self) -> Service:
        """What the steps did, and what follows from them.

        Raises
        ------
        RunError
            If metal would have melted.
        """
        hot = temperature_notes(self.design.name, self.heat, self.materials) if self.heat else []
        honed = self.states[HONED].solution.displacement
        pairs = self.fitted.pairs if self.fitted else None
        steps: list[Step] = []
        yielding = {}
        for name, state in self.states.items():
            solution = state.solution
            if (
                steps and solution is steps[-1].solution
            ):  # the hone changes the bore, not the stress
                stresses, spots, joint = steps[-1].stresses, steps[-1].hot_spots, steps[-1].joint
            else:
                stresses = self.stress_of(name)
                spots = hot_spots(solution, stresses)
                joint = self.joint_state(state.fitted) if state.fitted else None
            moved = solution.displacement - (0 if name == PRESSED else honed)
            steps.append(
                Step(
                    name=name,
                    gas=name in (WARM_GAS, COLD_GAS),
                    solution=solution,
                    stresses=stresses,
                    hot_spots=spots,
                    bore=bore_growth(replace(solution, displacement=moved)),
                    joint=joint,
                )
            )
            yielding[name] = self.share_of_yield(name, stresses)
        ring = {
            step.name: ring_follow(step.bore, self.given.piston_ring, self.case.block.bore)
            for step in steps
            if self.given.piston_ring and step.name not in (PRESSED, HONED)
        }
        advice, untold = None, []
        try:
            advice = advise(self, steps, yielding)
        except RunError as error:
            untold.append(f"interference: no advice, as another fit could not be solved. {error}")
        else:
            untold += yields_anyway(advice) if advice else []
        return Service(
            mesh=self.mesh,
            pairs=pairs,
            heat=self.heat,
            steps=tuple(steps),
            ranges=_ranges(steps),
            ring=ring,
            yielding=yielding,
            advice=advice,
            notes=(*hot, *self._notes(steps), *untold),
        )

    def joint_state(self, fitted: Fitted) -> JointState:
        """The joint of the insert in a solved step."""
        assert self.fitted is not None
        assert self.fit is not None
        pairs, contact = self.fitted.pairs, fitted.contact
        friction = np.array([self.fit.sides[part].friction for part in pairs.against])

        def share(what: NDArray[np.bool_], of: NDArray[np.bool_]) -> float:
            return float(pairs.area[what & of].sum() / pairs.area[of].sum())

        sides = [
            SideState(
                against=str(part),
                bonded=self.fit.sides[part].bonded,
                open_share=share(~contact.closed, of),
                slip_share=share(contact.closed & ~contact.sticks, of),
                mean_pressure_mpa=float(contact.force[of].sum() / pairs.area[of].sum()),
                largest_pressure_mpa=float(contact.pressure[of].max()),
            )
            for part in np.unique(pairs.against)
            for of in [pairs.against == part]
        ]
        everywhere = np.ones(len(pairs.own), dtype=bool)
        return JointState(
            contact=contact,
            iterations=fitted.iterations,
            open_share=share(~contact.closed, everywhere),
            slip_share=share(contact.closed & ~contact.sticks, everywhere),
            sides=tuple(sides),
            pieces=tuple(self._pieces(contact, friction)),
            tie_faces=tie_faces(self.case.block, self.mesh.points, pairs, contact),
        )

    def _pieces(self, contact: Contact, friction: Array) -> list[PieceState]:
        assert self.fitted is not None
        pairs = self.fitted.pairs
        body = self.model.node_bodies
        found = []
        for piece in np.unique(body[pairs.own]):
            of = body[pairs.own] == piece
            x, y = self.mesh.points[body == piece].mean(axis=0)
            bore, hours = self._clock_at(x, y)
            force = np.maximum(contact.force[of], 0.0)
            found.append(
                PieceState(
                    bore=bore,
                    clock=format_clock(hours),
                    clock_hours=hours,
                    pressing_force_n=float(force.sum()),
                    hold_n=float(friction[of] @ force),
                    open_share=float(pairs.area[of & ~contact.closed].sum() / pairs.area[of].sum()),
                )
            )
        return sorted(found, key=lambda piece: (piece.bore, piece.clock_hours))

    def _clock_at(self, x: float, y: float) -> tuple[int, float]:
        """Number of the bore that is nearest to a place [mm], and the hour seen from its axis."""
        axes = np.array(self.case.block.axes)
        bore = int(np.argmin(np.abs(axes - x)))
        return bore + 1, float(clock_of(x - axes[bore], y))

    def _notes(self, steps: Sequence[Step]) -> list[str]:
        """What a reader must be told, in words."""
        notes = []
        fit = self.fit
        if self.heat_moves > SAME_TEMPERATURE:
            notes.append(
                f"{WARM}: where the joint opens and where heat crosses it do not settle; the "
                f"temperature still moves by {self.heat_moves:.0f} K somewhere."
            )
        for step in steps:
            if step.name == HONED or step.joint is None or fit is None:
                continue
            if step.joint.open_share == 1:
                notes.append(f"{step.name}: the insert touches the block nowhere; it is loose.")
                continue
            if step.joint.bonded:
                continue
            loose = [piece for piece in step.joint.pieces if piece.hold_n < fit.least_hold]
            if loose:
                where = ", ".join(f"{piece.clock} of bore {piece.bore}" for piece in loose[:4])
                more = f" and {len(loose) - 4} more" if len(loose) > 4 else ""
                notes.append(
                    f"{step.name}: {len(loose)} of {len(step.joint.pieces)} pieces hold less than "
                    f"{fit.least_hold:g} N against being pushed out ({where}{more})."
                )
        return notes


def _ranges(steps: Sequence[Step]) -> tuple[SpotRange, ...]:
    """The cycle of gas at each rated hot spot, those at gas first, then those without only.

    Gas in a warm engine; in a cold one where there is no heat. What lies as near to a spot that is
    listed as two peaks of one step may not is the same one.
    """
    by_name = {step.name: step for step in steps}
    pair = (WARM_GAS, WARM) if WARM_GAS in by_name else (COLD_GAS, HONED)
    loaded, idle = (by_name[name] for name in pair)
    found: list[SpotRange] = []
    for step in (loaded, idle):
        listed = tuple(found)
        found += [
            SpotRange(
                spot=spot,
                hot_in=step.name,
                idle_mpa=along_spot(idle.stresses, spot),
                gas_mpa=along_spot(loaded.stresses, spot),
            )
            for spot in step.hot_spots
            if not spot.sharp and not any(_same_spot(spot, cycle.spot) for cycle in listed)
        ]
    return tuple(found)


def _same_spot(one: HotSpot, other: HotSpot) -> bool:
    """Whether hot spots of two steps are the same place of a part."""
    apart = float(np.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm))
    return one.part == other.part and apart < max(APART, APART_ELEMENTS * one.size_mm)


def ring_follow(bore: BoreShape, ring: PistonRing, diameter: float) -> RingFollow:
    """Whether a piston ring can follow a bore's shape.

    Parameters
    ----------
    bore : BoreShape
    ring : PistonRing
    diameter : float
        Of the bore. [mm]
    """
    largest = {
        order: 1000
        * ring_conformability(
            int(order),
            radius=diameter / 2,
            radial_width=ring.radial_width,
            axial_height=ring.axial_height,
            youngs_modulus=ring.youngs_modulus,
            tangential_force=ring.tangential_force,
        )
        for order in bore.orders_um
    }
    angle = clock_to_angle(bore.clock_hours)
    _, cosine, sine = harmonics(angle, bore.growth_um, HIGHEST_ORDER)
    pressure = np.ones(len(angle))
    for order, amplitude in largest.items():
        n = int(order)
        shape = cosine[n - 1] * np.cos(n * angle) + sine[n - 1] * np.sin(n * angle)
        pressure -= shape / amplitude
    return RingFollow(
        largest_um=largest,
        leaking=tuple(n for n, value in bore.orders_um.items() if value > largest[n]),
        least_pressure=float(pressure.min()),
    )

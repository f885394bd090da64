"""The solid of a design: meshed, solved at every crank angle that counts, its worst spots found."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from cases.base.faults import RunError
from cases.base.memory import memory_for
from cases.case import Case, Design
from cases.gas.solve import GasLoad, gas_load
from cases.life.base import Life
from cases.life.steps import GAS_CYCLES, EngineState
from cases.solid.gas import HELD, Instant, gas_forces, instants
from cases.solid.given import Setting, solid_given
from cases.solid.hot import DepthHeat, depth_heat
from cases.solid.joint import joint_sides
from cases.solid.life import SolidLife, loose_parts, solid_life
from cases.solid.planes import CUT_LIMITS, check_planes
from cases.solid.profiles import growth_down
from cases.solid.result import DesignSolid, PartField, SolidSpot, SolidState, governing_of
from cases.solid.section import section_stress
from cases.solid.words import ERRORS
from cases.stress.result import DesignResult
from cases.stress.solve import Stage, load_mesher, solve_section, untold
from fea.equilibrium import SelfCheckError
from fea.material import REFERENCE, Material
from fea.solid import SolidModel, SolidSolution
from fea.solid.assembly import InvertedPrismError
from fea.solid.envelope import WorstStress, worst_of
from fea.solid.equilibrium import solid_checks
from fea.solid.ordering import memory_needed
from fea.solid.smoothing import Smoothing
from fea.solid.spots import SolidSpot as PeakSpot
from fea.solid.spots import solid_spots
from fea.solid.stress import recover
from fea.stress import LayerStress
from geometry.outline import draw_section
from geometry.refusals import SectionError
from geometry.section import Block
from geometry.section_mesh import SectionMesh
from geometry.solid.columns import section_of
from geometry.solid.layers import COARSE, FINE, mesh_solid
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]

FINENESS = {"coarse": COARSE, "fine": FINE}
FITTED = 1.5
"""Memory of a solid with a joint over that of one piece: a fuller factor, the joint's inverse."""


@dataclass(frozen=True, eq=False, slots=True)
class Section:
    """A solved section to set a solid beside."""

    mesh: SectionMesh
    stresses: Sequence[LayerStress]


def design_solid(
    case: Case,
    design: Design,
    gas: GasLoad,
    solved: DesignResult,
    stage: Stage = untold,
    life: Life | None = None,
) -> tuple[DesignSolid, SolidLife | None]:
    """The solid of a design as finely as the case asks (:func:`cases.solid.given.with_solid`).

    Where no more than its limit is asked for it is not solved in one piece.

    Parameters
    ----------
    case : Case
    design : Design
    gas : GasLoad
    solved : DesignResult
        Its section.
    stage : callable
        Told "solid mesh", "solid" and "solid stress"; with a life "solid life" too.
    life : Life, optional
        Of its section, where it is to be solved as it is made too.

    Returns
    -------
    solid : DesignSolid
    life : SolidLife or None
        As it is made; None where that isn't asked for, or can't be solved.

    Raises
    ------
    RunError
        If it can't be meshed or solved, or needs more memory than there is.
    """
    given, start = solid_given(case), perf_counter()
    setting = given.setting or "fine"
    with stage("solid mesh"):
        mesh = _meshed(case, design, setting)
    if life is not None and not given.evidence:
        with stage("solid life"):
            state, lived = _as_made(case, design, gas, mesh, setting, life)
        heat = _heat_of(case, lived, life)
        return DesignSolid(name=design.name, setting=setting, as_made=state, heat=heat), lived
    at = Section(solved.mesh, solved.stresses)
    one_piece, model = _one_piece(case, design, gas, mesh, at, setting, stage, start)
    found = DesignSolid(name=design.name, setting=setting, one_piece=one_piece)
    if life is None:
        return found, None
    try:
        with stage("solid life"):
            loose = bool(loose_parts(case, design, mesh))
            smoothing, again = (model.smoothing, None) if loose else (None, model)
            del model  # its factor is no small thing
            state, lived = _as_made(case, design, gas, mesh, setting, life, again, smoothing)
    except RunError as error:
        return replace(found, untold=str(error)), None
    return replace(found, as_made=state, heat=_heat_of(case, lived, life)), lived


def _heat_of(case: Case, lived: SolidLife, life: Life) -> DepthHeat | None:
    """What the heat of a life comes to, the section's beside it."""
    if lived.given.heat is None or lived.heat is None:
        return None
    section = (life.heat, case.section_depth) if life.heat else None
    return depth_heat(
        case.block, lived.given.heat, lived.heating, lived.heat, lived.materials, section,
        lived.bond,
    )  # fmt: skip


def solve_solid(
    case: Case, design: Design | str, joint: str = "one piece", *, setting: Setting = "fine"
) -> SolidState:
    """A design in depth, in one state, with its mesh and fields.

    Parameters
    ----------
    case : Case
        From :func:`cases.read.read_case`.
    design : Design or str
        One of the case's, or its name.
    joint : str
        "one piece": every insert is one with the block, at 20 degC. "as made": fitted where the
        design is, warm at gas where the case has heat; the section is not solved for it, so no spot
        has a stress of the section's.
    setting : str
        "fine" or "coarse".

    Returns
    -------
    SolidState

    Raises
    ------
    ValueError
        If there is no such design or state.
    CaseError
        If the engine can't give what is asked of it.
    RunError
        If it can't be meshed or solved, or needs more memory than there is.
    """
    if isinstance(design, str):
        named = {one.name: one for one in case.designs}
        if design not in named:
            raise ValueError(f'no design is named "{design}". Choose from {", ".join(named)}.')
        design = named[design]
    if joint not in ("one piece", "as made"):
        raise ValueError(
            f'joint = "{joint}" is no state of a solid. Choose "one piece" or "as made".'
        )
    gas, start = gas_load(case), perf_counter()
    mesh = _meshed(case, design, setting)
    if joint == "as made":
        return _as_made(case, design, gas, mesh, setting, None)[0]
    solved = solve_section(case, design, draw_section(case.section(design)), gas.line_load)
    at = Section(solved.mesh, solved.stresses)
    return _one_piece(case, design, gas, mesh, at, setting, untold, start)[0]


def one_piece_solid(case: Case, design: Design, gas: GasLoad, setting: Setting) -> SolidState:
    """A design cold and in one piece, set beside no section.

    Parameters
    ----------
    case : Case
    design : Design
    gas : GasLoad
    setting : str
        "fine" or "coarse".

    Raises
    ------
    RunError
        If it can't be meshed or solved, or needs more memory than there is.
    """
    start = perf_counter()
    mesh = _meshed(case, design, setting)
    return _one_piece(case, design, gas, mesh, None, setting, untold, start)[0]


def solid_materials(case: Case, design: Design) -> dict[str, Material]:
    """Material of every part that a solid of a design can have."""
    materials = case.part_materials(design)
    return {**materials, "floor": materials["barrel"]}


def _one_piece(
    case: Case,
    design: Design,
    gas: GasLoad,
    mesh: SolidMesh,
    section: Section | None,
    setting: Setting,
    stage: Stage,
    start: float,
) -> tuple[SolidState, SolidModel]:
    """At 20 degC, every insert one piece with the block."""
    pressed = instants(case, gas)
    materials = solid_materials(case, design)
    with memory_for(need := int(memory_needed(mesh))) as free:
        _require(free, need, mesh, design, setting)
        with stage("solid"):
            try:
                model = SolidModel(mesh, {part: materials[part] for part in mesh.parts}, HELD)
            except InvertedPrismError as error:
                raise RunError(
                    f'design "{design.name}", solid: {error} An underside that is too steep for '
                    "the layers of the solid turns them over: give the deeper zone there a wider "
                    "blend, or less depth."
                ) from error
            forces = gas_forces(model, pressed)
            solutions = model.solve_many(forces)
            rest = model.at(np.full(len(mesh.points), REFERENCE)).solve(np.zeros_like(forces[0]))
        with stage("solid stress"):
            state = _read(
                case, design.name, setting, section, pressed, solutions, forces, rest=rest
            )
    return replace(state, seconds=perf_counter() - start), model


def _as_made(
    case: Case,
    design: Design,
    gas: GasLoad,
    mesh: SolidMesh,
    setting: Setting,
    life: Life | None,
    model: SolidModel | None = None,
    smoothing: Smoothing | None = None,
) -> tuple[SolidState, SolidLife]:
    """Fitted where the design is; warm at gas, or at gas where there is no heat."""
    start = perf_counter()
    pressed = instants(case, gas)
    with memory_for(need := int(FITTED * memory_needed(mesh))) as free:
        _require(free, need, mesh, design, setting)
        lived = solid_life(case, design, gas, pressed, mesh, model, smoothing)
        engine = lived.engine_states[0]
        solutions = lived.at_gas(engine)
        step = next(step for step, _ in GAS_CYCLES if step.engine == engine)
        section = Section(life.mesh, life.stress_of(step)) if life else None
        honed = lived.idle(EngineState.COLD)
        state = _read(
            case, design.name, setting, section, pressed, solutions, lived.forces,
            honed=honed, block=case.block, of_joints=_press(lived),
        )  # fmt: skip
        state = replace(
            state,
            idle=tuple(one.stress for one in recover(lived.idle(engine))),
            joint=joint_sides(lived, engine, _governs_at(state, pressed)),
            pressed_by_depth=growth_down(lived.mesh, lived.pressed_by)[1],
        )
    return replace(state, seconds=perf_counter() - start), lived


def _press(lived: SolidLife) -> float:
    """Sum of the forces between parts once they are fitted. [N]."""
    _, joint = lived.held(EngineState.COLD)
    if joint is None:
        return 0.0
    return float(np.linalg.norm([joint.force, *joint.friction], axis=0).sum())


def _governs_at(state: SolidState, pressed: Sequence[Instant]) -> int:
    """Crank angle, by its number, of the governing spot; the first where none is pulled."""
    spot = state.governing
    angles = [instant.deg for instant in pressed]
    return angles.index(spot.crank_angle_deg) if spot else 0


def _meshed(case: Case, design: Design, setting: Setting) -> SolidMesh:
    load_mesher()
    try:
        return mesh_solid(
            section_of(case.block, design.insert, case.thinnest_wall), FINENESS[setting]
        )
    except SectionError as error:
        raise RunError(f'design "{design.name}", solid: {error}') from error


def _read(
    case: Case,
    name: str,
    setting: Setting,
    section: Section | None,
    pressed: Sequence[Instant],
    solutions: Sequence[SolidSolution],
    forces: Sequence[Array],
    *,
    honed: SolidSolution | None = None,
    block: Block | None = None,
    rest: SolidSolution | None = None,
    of_joints: float = 0.0,
) -> SolidState:
    """What a state comes to; growth counts from the honed bore, or from the drawing.

    With a block, spots about its other bores are left out. ``rest`` is the state with no load,
    where it is free of strain then; ``of_joints`` is what its joints press with. [N]

    Raises
    ------
    RunError
        If the state fails a self-check.
    """
    mesh = solutions[0].model.mesh
    worst = worst_of(solutions)
    found = [
        (one, _load_at(worst, one))
        for one in solid_spots(worst)
        if block is None or block.about_firing(one.x_mm)
    ]
    spots = tuple(_spot(one, pressed[load].deg, section, setting) for one, load in found)
    leading = governing_of(spots)
    at = found[spots.index(leading)][1] if leading else 0
    stresses = recover(solutions[at])
    try:
        checks = solid_checks(
            solutions[at], stresses, forces[at], check_planes(case), rest, CUT_LIMITS[setting],
            of_joints,
        )  # fmt: skip
    except SelfCheckError as error:
        raise RunError(f'design "{name}", solid: {error}') from error
    displacement = solutions[at].displacement
    if honed is not None:
        displacement = displacement - honed.displacement
    depth, growth, shift = growth_down(mesh, displacement)
    return SolidState(
        worst=spots,
        angles_deg=tuple(one.deg for one in pressed if one.deg is not None),
        growth_um=growth[0],
        growth_crank_angle_deg=pressed[at].deg,
        growth_by_depth=growth,
        shift_um=shift,
        depth_mm=depth,
        mesh=mesh,
        fields=tuple(
            PartField(
                part=one.part, nodes=one.nodes, principal=one.principal, angle=one.load,
                stress=one.stress,
            )
            for one in worst
        ),
        displacement=displacement,
        unknowns=mesh.points.size,
        seconds=0.0,
        checks=checks,
    )  # fmt: skip


def _load_at(worst: Sequence[WorstStress], spot: PeakSpot) -> int:
    """Place of the load that pulls hardest at a spot, among those solved."""
    part = next(one for one in worst if one.part == spot.part)
    return int(part.load[np.searchsorted(part.nodes, spot.node)])


def _spot(
    found: PeakSpot, deg: float | None, section: Section | None, setting: Setting
) -> SolidSpot:
    return SolidSpot(
        **found.told(),
        sharp=found.sharp,
        settled=found.error_mpa <= ERRORS[setting] * found.principal_mpa,
        crank_angle_deg=deg,
        section_mpa=section_stress(
            section.mesh, section.stresses, found.part, found.x_mm, found.y_mm
        )
        if section
        else None,
    )


def _require(
    free: int | None, need: int, mesh: SolidMesh, design: Design, setting: Setting
) -> None:
    """Refuse a solid that memory has no room for, before it is started."""
    if free is None or free >= need:
        return
    smaller = (
        "Ask for the coarse one (hoopclock solve), or end other programs"
        if setting == "fine"
        else "End other programs, or leave it out (hoopclock solve --section)"
    )
    raise RunError(
        f'design "{design.name}": its {setting} solid of {mesh.points.size} unknowns needs some '
        f"{need / 2**30:.1f} GB of memory, and {free / 2**30:.1f} GB are at hand. {smaller}; fewer "
        "relief cuts, ties and slots, and larger fillets make a smaller mesh too."
    )

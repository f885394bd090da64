"""What the joint of a solid does by side, step by step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cases.life.result import SideState, is_lived, service_of
from cases.life.steps import EngineState, LoadStep
from cases.solid.life import FittedSolidLife, SolidLife
from cases.solid.result import SolidSide, solid_of
from cases.stress.result import CaseResult
from fea.solid.fitted import FittedState
from geometry.solid.mesh import prism_volumes


def joint_sides(life: SolidLife, engine: EngineState, angle: int) -> tuple[SolidSide, ...]:
    """Sides of the joint about the bore that fires: pressed in, warm, and at gas.

    Parameters
    ----------
    life : SolidLife
    engine : EngineState
        With gas.
    angle : int
        Of the crank angles of the life, that with gas.

    Returns
    -------
    tuple of SolidSide
        Step by step; none where no part is a piece of its own.
    """
    if not isinstance(life, FittedSolidLife):
        return ()
    cold = life.held(EngineState.COLD)[1]
    steps = [("pressed in", EngineState.COLD, cold)]
    if engine is EngineState.WARM:
        steps.append(("warm", engine, life.held(engine)[1]))
    (at_gas,) = life.states(engine, angles=[angle])
    steps.append((f"{engine} at gas", engine, at_gas))
    return tuple(
        side for step, state, found in steps if found for side in _sides(life, step, state, found)
    )


def _sides(
    life: FittedSolidLife, step: str, engine: EngineState, state: FittedState
) -> list[SolidSide]:
    fitted = life.fitted[engine]
    joint, pair = fitted.joint, fitted.corners
    fires = life.case.block.about_firing(life.mesh.points[joint.own[pair], 0]) & ~state.loose
    names = np.array(joint.side)[pair]
    found = []
    for name in sorted(set(names[fires].tolist())):
        part, against = life.loose.names[name]
        of = fires & (names == name)
        area, touching = fitted.area[of], state.closed[of]
        found.append(
            SolidSide(
                step=step, part=part, against=against,
                pressing_force_n=float(state.force[of].sum()),
                open_share=float(area[~touching].sum() / area.sum()),
                slip_um=1000 * float(np.hypot(*state.slip[:, of][:, touching]).max(initial=0.0)),
            )
        )  # fmt: skip
    return found


@dataclass(frozen=True, slots=True)
class JointRow:
    """One side of an insert's joint in a step, by the solid and by the section."""

    design: str
    side: SolidSide
    section: SideState | None  # None where the section has no such side or step


def joint_rows(result: CaseResult) -> list[JointRow]:
    """The joint of each fitted insert, side by side and step by step."""
    rows = []
    for design in result.designs:
        solid = solid_of(design)
        if solid is None or solid.as_made is None:
            continue
        service = service_of(design) if is_lived(design) else None
        for side in solid.as_made.joint:
            if side.part != "insert":
                continue
            (named,) = (step for step in LoadStep if step.value == side.step)
            step = service.step(named) if service else None
            joint = step.joint if step else None
            same = [of for of in (joint.sides if joint else ()) if of.against == side.against]
            rows.append(JointRow(design.name, side, same[0] if same else None))
    return rows


def least_held(life: FittedSolidLife, engine: EngineState, state: FittedState) -> float:
    """Least hold of a piece of the insert over what it must keep, about the bore that fires.

    As in the section (:mod:`cases.life.joint`): friction of what presses, and what the compound
    holds in full. Of a piece that goes on beyond that bore, hold and mass are of what is about it.
    """
    fitted, mesh = life.fitted[engine], life.mesh
    about = life.case.block.about_firing(mesh.points[:, 0])
    own = fitted.joint.own[fitted.corners]
    counts = life.loose.is_of("insert")[fitted.corners] & about[own]
    bodies, of_insert = fitted.model.bodies, mesh.part == mesh.parts.index("insert")
    body = np.empty(len(mesh.points), dtype=np.int64)
    body[mesh.prisms] = bodies[:, None]
    shear = np.where(state.intact, fitted.strengths()[1] * fitted.area, 0.0)
    holds = fitted.friction(state) * np.maximum(state.force, 0.0) + shear
    here = of_insert & about[mesh.prisms].all(axis=1)
    density = life.materials["insert"].density
    least = np.inf
    for piece in np.unique(body[own[counts]]):
        mass = None
        if density is not None:
            mass = density * float(prism_volumes(mesh)[here & (bodies == piece)].sum())
        held = float(holds[counts & (body[own] == piece)].sum())
        asked = life.fit.asked_hold(mass)
        least = min(least, held / asked if asked > 0 else np.inf)
    return float(least)

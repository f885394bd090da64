"""What the joint of a solid does by side, step by step."""

from __future__ import annotations

import numpy as np

from cases.life.steps import EngineState
from cases.solid.life import FittedSolidLife, SolidLife
from cases.solid.result import SolidSide
from fea.solid.fitted import FittedState


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
            )
        )  # fmt: skip
    return found

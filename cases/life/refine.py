"""A fitted life on meshes of its own: refined until its steps are known as well as is asked.

The first mesh has the sizes that the section in one piece ended with, and elements along the joint
of a share of the jacket's width. All steps are solved on it and read: spots, force and open share
by side. The next mesh is finer where a step asks for it (:func:`fea.adaptive.refine`), and begins
from what touched on the last one. Shown and rated spots are refined for: the worst of each part in
each step, and those of at least half of what their part bears in any step. The others keep the
error that the meshes tell of them.

How the error of a triangle bears on a spot is told with the joint held as the step has it (pairs
that touch stay together), the tangent of the step: it costs two back-substitutions, as the joint is
condensed. Closed all along, the joint would make a tie's root beside an open end feel what is
pushed across it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.given import ONE_PIECE, InsertFit, life_given
from cases.life.joint import joint_state, with_errors
from cases.life.life import FittedLife, Life, Standing, bore_of, life_of
from cases.life.result import JointState
from cases.life.steps import HONED, LoadStep
from cases.stress.result import DesignResult
from cases.stress.solve import load_mesher
from fea.adaptive import State, refine, sizes_of
from fea.bore import BoreShape
from fea.contact import joint_ends, last_sides, side_lengths
from fea.hotspots import WEAKEST, HotSpot, hot_spots
from fea.refinement import REFINEMENT
from fea.trail import Gauge
from geometry.outline import Outline
from geometry.parted import part_off
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]

ALONG, AT_ENDS = 0.2, 0.08
"""Size of the first elements along the joint, and at its ends, over the width of the jacket."""
BEYOND = 0.02
"""How fast it may grow away from the joint about the bore that fires. [mm/mm]."""
FITTED = replace(
    REFINEMENT, at_junction=0.5, goal=0.8, edge_of=1.0, coarsest=1.0, most_unknowns=120_000
)
"""Smaller strides than in one piece, as several steps ask for elements at once: spots near the ends
of the joint are many and near one another. Nothing grows coarser, for growth and yield. A mesh
costs ten times what it does in one piece, so the largest is smaller."""
MOST_MESHES = 3
"""Meshes of a fitted life, at most."""
NEAR_FORCE, NEAR_SHARE = 0.03, 0.02
"""Change from mesh to mesh of the force on a side, as a share, and of its open share, at which they
are settled."""
SLIGHT = 0.1
"""Share of the largest force on a side in a step that a smaller one's change is set against."""


@dataclass(frozen=True, eq=False)
class _OnMesh:
    """A life on one mesh, read."""

    life: FittedLife
    states: tuple[State, ...]
    gauges: tuple[Gauge, ...]
    joints: dict[LoadStep, JointState]
    bores: dict[LoadStep, BoreShape]


def settled_life(case: Case, design: Design, solved: DesignResult, load: GasLoad) -> Life:
    """The life of a design; on meshes of its own where its insert touches and is fitted.

    Parameters
    ----------
    case : Case
    design : Design
    solved : DesignResult
        Of the same design in one piece.
    load : GasLoad

    Raises
    ------
    RunError
        As :func:`cases.life.life.life_of` raises it.
    """
    fit = life_given(case).fits.get(design.name, ONE_PIECE)
    if fit.sides and len(part_off(solved.mesh, "insert").joint.own):
        return refined_life(case, design, solved, load, fit)
    return life_of(case, design, solved.mesh, load)


def refined_life(
    case: Case, design: Design, solved: DesignResult, load: GasLoad, fit: InsertFit
) -> FittedLife:
    """A fitted life whose steps are known as well as the case asks, or say that they are not.

    Parameters
    ----------
    case : Case
    design : Design
    solved : DesignResult
        Of the same design in one piece.
    load : GasLoad
    fit : InsertFit

    Raises
    ------
    RunError
        As :class:`FittedLife` raises it.
    """
    mesh_outline = partial(load_mesher(), solved.outline)
    along = _along_joint(case, solved)
    last: list[FittedLife] = []

    def mesh_at(wishes: Sequence[SizeWishes]) -> SectionMesh:
        return mesh_outline(wishes=(*wishes, along))

    def live(mesh: SectionMesh) -> _OnMesh:
        life = FittedLife(case, design, mesh, load, fit, last[-1] if last else None)
        last[:] = [life]
        return _read(life)

    found = refine(
        mesh_at,
        live,
        case.tolerance,
        most_passes=MOST_MESHES,
        choose=_that_count,
        first=(_sizes_in_one_piece(case, solved),),
        how=FITTED,
    )
    life, steps = found.last.life, _different(found.last.life)
    before = found.before
    life.stands = Standing(
        hot_spots=dict(zip(steps, found.hot_spots, strict=True)),
        joints={
            step: with_errors(joint, before.joints[step] if before else None)
            for step, joint in found.last.joints.items()
        },
        bores={
            step: bore.changed_from(before.bores[step]) if before else bore
            for step, bore in found.last.bores.items()
        },
        unknowns=tuple(one.unknowns for one in found.passes),
        stopped=found.stopped,
    )
    return life


def life_like(life: FittedLife, case: Case, outline: Outline) -> FittedLife:
    """The life of the same design in a case that is changed a little, on one mesh of like sizes.

    Parameters
    ----------
    life : FittedLife
    case : Case
    outline : Outline
        Of the design in that case.

    Raises
    ------
    RunError
        As :class:`FittedLife` raises it.
    """
    mesh = load_mesher()(outline, wishes=[sizes_of(life.mesh)])
    return FittedLife(case, life.design, mesh, life.load, life.fit, life)


def _different(life: FittedLife) -> list[LoadStep]:
    """The steps whose stress differs: the hone changes the bore only."""
    return [step for step in life.steps if step != HONED]


def _sizes_in_one_piece(case: Case, solved: DesignResult) -> SizeWishes:
    """Those of the mesh in one piece, but none finer than at the ends of the joint.

    In one piece refinement goes far where bonded parts meet; a fitted step asks for its own.
    """
    wishes = sizes_of(solved.mesh)
    return replace(wishes, size=np.maximum(wishes.size, AT_ENDS * case.block.jacket))


def _along_joint(case: Case, solved: DesignResult) -> SizeWishes:
    """Sizes along the joint, finer at its ends, coarser away from the bore that fires."""
    block, parted = case.block, part_off(solved.mesh, "insert")
    sides = parted.joint.own
    z = parted.mesh.points @ np.array([1, 1j])
    nodes, uses = np.unique(sides[:, :2], return_counts=True)
    beyond = BEYOND * np.maximum(np.abs(z[nodes]) - block.outside_radius, 0.0)
    ends = np.where(uses == 1, AT_ENDS, ALONG)
    return SizeWishes(z[nodes], ends * block.jacket + beyond, 0.4)


def _read(life: FittedLife) -> _OnMesh:
    """What refinement asks of a life."""
    steps = _different(life)
    ends = joint_ends(life.cold.pairs, life.mesh.points)
    joints = {step: joint_state(life, life.solved[step]) for step in steps}
    states = []
    for step in steps:
        solution, stresses = life.solution(step), life.stress_of(step)
        found = hot_spots(solution, stresses)
        states.append(State(solution, stresses, found, partial(life.influence, step), ends))
    return _OnMesh(
        life,
        tuple(states),
        tuple(gauge for step in steps for gauge in _gauges(life, step, joints[step])),
        joints,
        {step: bore_of(life, step) for step in life.steps},
    )


def _gauges(life: FittedLife, step: LoadStep, joint: JointState) -> list[Gauge]:
    """Force and open share of each side of the joint that is not bonded."""
    pairs, contact = life.cold.pairs.of("insert"), joint.contact
    length = side_lengths(pairs, life.mesh.points)
    last = last_sides(pairs, contact)
    middle = life.mesh.points[pairs.own[pairs.sides]].mean(axis=1) @ [1, 1j]
    force = {
        side.against: float(contact.force[pairs.against == side.against].sum())
        for side in joint.sides
    }
    most = max(map(abs, force.values()))
    found = []
    for side in joint.sides:
        if side.bonded:
            continue
        of = last[(pairs.against[pairs.sides[last]] == side.against).any(axis=1)]
        at = middle[of], length[of]
        wanted = NEAR_FORCE * max(abs(force[side.against]), SLIGHT * most)
        words = f"{step}, {side.against}"
        found += [
            Gauge((step, side.against, "force"), f"{words}: force on the joint",
                  force[side.against], wanted, *at),
            Gauge((step, side.against, "open"), f"{words}: open share of the joint",
                  side.open_share, NEAR_SHARE, *at),
        ]  # fmt: skip
    return found


def _that_count(spots: Sequence[Sequence[HotSpot]]) -> list[list[HotSpot]]:
    """Spots that are shown or rated, step by step: none that is sharp, none that is weak."""
    rated = [[spot for spot in of if not spot.sharp] for of in spots]
    worst: dict[str, float] = {}
    for of in rated:
        for spot in of:
            worst[spot.part] = max(spot.principal_mpa, worst.get(spot.part, 0.0))
    chosen = []
    for of in rated:
        by_stress = sorted(of, key=lambda spot: -spot.principal_mpa)
        first = {spot.part: spot for spot in reversed(by_stress)}
        chosen.append(
            [
                spot
                for spot in by_stress
                if spot.principal_mpa >= WEAKEST * worst[spot.part]
                or (
                    spot is first[spot.part]
                    and spot.principal_mpa >= WEAKEST * max(one.principal_mpa for one in by_stress)
                )
            ]
        )
    return chosen

"""A fitted life on meshes of its own: refined until its steps are known as well as is asked.

The first mesh has the sizes that the section in one piece ended with, and elements along the joint
of a share of the jacket's width. All steps are solved on it and read: spots, force and open share
by side. The next mesh is finer where a step asks for it (:func:`fea.adaptive.refine`), and begins
from what touched on the last one. Shown and rated spots are refined for: the worst of each part in
each step, and those of at least half of what their part bears in any step. The others keep the
error that the meshes tell of them.

What is about the bore that fires is refined for, as that is rated; about the others the mesh is
coarse. The second mesh has small elements at ends of the joint beside which stress counts: it is
steep there and judged by a critical distance, which has no bound on elements longer than some of
it. Along fillets and other tight arcs that count they are a share of the radius, or a peak there
would depend on where their nodes fall.

How the error of a triangle bears on a spot is told with the joint held as the step has it (pairs
that touch stay together), the tangent of the step: it costs few back-substitutions, as the joint is
condensed. Closed all along, the joint would make a tie's root beside an open end feel what is
pushed across it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from cases.case import Case, Design
from cases.gas.solve import GasLoad
from cases.life.base import Life
from cases.life.given import ONE_PIECE, InsertFit, life_given
from cases.life.joint import about_firing, joint_state, with_errors
from cases.life.life import FittedLife, Standing, bore_of, life_of
from cases.life.result import JointState
from cases.life.steps import HONED, LoadStep
from cases.stress.result import DesignResult
from cases.stress.solve import START, load_mesher
from fea.adaptive import State, refine, sizes_of
from fea.bore import BoreShape
from fea.contact import held_ends, joint_ends, kinks, last_sides, side_lengths, touching_shares
from fea.hotspots import WEAKEST, HotSpot, hot_spots
from fea.refinement import REFINEMENT
from fea.stress import principal
from fea.trail import Gauge
from geometry.outline import Outline
from geometry.parted import part_off
from geometry.section import Block
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]

ALONG, AT_ENDS, AT_CORNERS = 0.2, 0.08, 0.06
"""Size of the first elements along the joint, at its ends, and where the insert's rounder corners
begin to stand off (contact ends a fraction of a millimetre further), over the width of the jacket.
"""
WHERE_STEEP, FROM_STEEP = 0.04, 0.4
"""Size on further meshes at such an end that counts, over the width of the jacket, and how fast it
may grow from there [mm/mm]: what is steep about it is judged by its mean over a critical distance,
which needs elements no longer than some of it."""
BESIDE_END = 0.1
"""How far from such an end stress counts as that of the end, over the width of the jacket."""
ROUND = 0.1
"""Size on further meshes along a fillet or another arc that counts, no wider than the jacket, over
its radius: a peak on it is known to a few parts in a thousand then. Where fit and heat leave little
for the gas, a limit moves several times as much as a stress does."""
BEYOND = 0.3
"""How fast it may grow away from the joint about the bore that fires. [mm/mm]."""
FITTED = replace(
    REFINEMENT,
    at_junction=0.5,
    goal=3.0,
    edge_of=1.0,
    finest=0.5,
    coarsest=1.0,
    told=2.5,
    told_at_junction=1.75,
    least_told=0.01,
    order=1,
    unabated=True,
    two_witnesses=True,
    most_unknowns=120_000,
)
"""Smaller strides than in one piece, as several steps ask for elements at once: spots near the ends
of the joint are many and near one another. Nothing grows coarser, for growth and yield. A mesh
costs ten times what it does in one piece, so the largest is smaller. What touches moves with the
mesh too, which neither witness of a spot sees whole: pressure is linear from pair to pair, so a
change is taken to fall with the size and not with its square; told is two and a half times that,
half of what the spot changes by where the last pairs that touch let go, and all of it where
compound goes that a finer mesh may break; beside an end of contact, where elements of half the
size are taken to bring as much again, one and three quarters of it. Nothing below a hundredth of
the worst stress is told. That is what random fitted blocks on meshes of half the size ask for
(``tests/test_random_lives.py``)."""
KINK = 0.5
"""Jump of the joint's curvature from which on it is steep there, over that of a circle as large as
the jacket is wide."""
JUST_OFF = 1e-6
"""Gap below which a corner does not stand off yet. [mm]."""
MOST_MESHES = 2
"""Meshes of a fitted life, at most: the second tells how far the first was off."""
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
        steep = [_where_steep(last[-1], solved.outline)] if last else []
        found = [some for some in (*wishes, along, *steep) if len(some.z)]
        return mesh_outline(wishes=found, **START[case.mesh])

    def live(mesh: SectionMesh) -> _OnMesh:
        life = FittedLife(case, design, mesh, load, fit, last[-1] if last else None)
        last[:] = [life]
        return _read(life)

    found = refine(
        mesh_at,
        live,
        case.tolerance,
        most_passes=MOST_MESHES,
        choose=partial(_that_count, case.block),
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


def life_like(life: FittedLife, case: Case, outline: Outline, factor: float) -> FittedLife:
    """The life of the same design in a case that is changed a little, on one mesh of like sizes.

    As warm as it is, its gas load times a factor: to be asked for that load alone.

    Parameters
    ----------
    life : FittedLife
    case : Case
    outline : Outline
        Of the design in that case.
    factor : float

    Raises
    ------
    RunError
        As :class:`FittedLife` raises it.
    """
    mesh = load_mesher()(outline, wishes=[sizes_of(life.mesh)], **START[case.mesh])
    load = replace(life.load, peak_pressure=factor * life.load.peak_pressure)
    return FittedLife(case, life.design, mesh, load, life.fit, life, life.heating)


def life_in(life: FittedLife, case: Case) -> FittedLife:
    """The life of the same design in a case whose drawing is the same, on the same mesh.

    Parameters
    ----------
    life : FittedLife
    case : Case

    Raises
    ------
    RunError
        As :class:`FittedLife` raises it.
    """
    return FittedLife(case, life.design, life.whole, life.load, life.fit, life, life.heating)


def _different(life: FittedLife) -> list[LoadStep]:
    """The steps whose stress differs: the hone changes the bore only."""
    return [step for step in life.steps if step != HONED]


def _sizes_in_one_piece(case: Case, solved: DesignResult) -> SizeWishes:
    """Those of the mesh in one piece about the bore that fires, none finer than at joint's ends.

    In one piece refinement goes far where bonded parts meet; a fitted step asks for its own.
    """
    wishes = sizes_of(solved.mesh)
    here = case.block.about_firing(wishes.z.real)
    size = np.maximum(wishes.size[here], AT_ENDS * case.block.jacket)
    return replace(wishes, z=wishes.z[here], size=size)


def _along_joint(case: Case, solved: DesignResult) -> SizeWishes:
    """Sizes along the joint, finer where contact ends, coarser away from the bore that fires."""
    block, parted = case.block, part_off(solved.mesh, "insert")
    nodes, uses = np.unique(parted.joint.own[:, :2], return_counts=True)
    corners = _corner_ends(solved.outline)
    z = np.concatenate([parted.mesh.points[nodes] @ [1, 1j], corners])
    share = np.concatenate([np.where(uses == 1, AT_ENDS, ALONG), np.full(len(corners), AT_CORNERS)])
    beyond = BEYOND * np.maximum(np.abs(z) - block.outside_radius, 0.0)
    return SizeWishes(z, share * block.jacket + beyond, 0.4)


def _where_steep(life: FittedLife, outline: Outline) -> SizeWishes:
    """Sizes at ends of the joint, and along arcs, about the bore that fires that count.

    Beside them a part bears at least half of what its worst spot does, as spots count
    (:func:`_that_count`).
    """
    block, points = life.case.block, life.mesh.points
    joint_end = joint_ends(life.cold.pairs, points) @ [1, 1j]
    ends = np.concatenate([joint_end, _corner_ends(outline)])
    on_arcs, radius = _along_arcs(outline, block.jacket)
    z = np.concatenate([ends, on_arcs])
    size = np.concatenate([np.full(len(ends), WHERE_STEEP * block.jacket), ROUND * radius])
    reach = BESIDE_END * block.jacket
    reaches = np.concatenate([np.full(len(ends), reach), np.maximum(radius / 2, reach)])
    here = block.about_firing(z.real)
    z, size, reaches = z[here], size[here], reaches[here]
    beside = cKDTree(points).query_ball_point(np.stack([z.real, z.imag], axis=1), reaches)
    most: dict[str, Array] = {}  # by part, at the nodes
    for step in _different(life):
        for layer in life.stress_of(step):
            largest = most.setdefault(layer.part, np.zeros(len(points)))
            np.maximum.at(largest, layer.nodes, principal(layer.stress)[0])
    counts = np.zeros(len(z), dtype=bool)
    for largest in most.values():
        worst = largest[block.about_firing(points[:, 0])].max(initial=0.0)
        there = [largest[some].max(initial=0.0) >= WEAKEST * worst for some in beside]
        counts |= np.array(there, dtype=bool)
    return SizeWishes(z[counts], size[counts], FROM_STEEP)


def _along_arcs(outline: Outline, largest: float) -> tuple[NDArray[np.complex128], Array]:
    """Places on arcs of at most a radius, an element apart, and the radius of each. [mm]."""
    arcs = [curve for curve in outline.pieces if curve.radius <= largest]
    at = [np.linspace(0, 1, math.ceil(abs(arc.sweep) / ROUND) + 1) for arc in arcs]
    places = [
        np.array([arc.point(share) for share in some]) for arc, some in zip(arcs, at, strict=True)
    ]
    radius = np.repeat([arc.radius for arc in arcs], [len(some) for some in at])
    return np.concatenate([*places, np.zeros(0, complex)]), radius


def _corner_ends(outline: Outline) -> NDArray[np.complex128]:
    """Places where the insert's corners begin to stand off. [mm]."""
    rounding = outline.rounding
    if rounding is None:
        return np.zeros(0, dtype=complex)
    ends = np.array([edge.point(at) for edge, _ in rounding.corners for at in (0.0, 1.0)])
    return ends[rounding.corner_gap(ends) < JUST_OFF] if len(ends) else ends.astype(complex)


def _read(life: FittedLife) -> _OnMesh:
    """What refinement asks of a life."""
    steps = _different(life)
    pairs, points = life.cold.pairs, life.mesh.points
    ends = joint_ends(pairs, points)
    joints = {step: joint_state(life, life.solved[step]) for step in steps}
    states = []
    for step in steps:
        solution, stresses = life.solution(step), life.stress_of(step)
        contact = life.loaded(step).contact
        held = life.cold.bonded | contact.intact
        bond_ends = held_ends(pairs, points, held)
        found = hot_spots(solution, stresses, bond_ends)
        last = pairs.sides[last_sides(pairs, contact)]
        kinked = kinks(pairs, points, KINK / life.case.block.jacket, contact.closed & ~held)
        contact_ends = np.concatenate([points[pairs.own[last]].mean(axis=1), kinked])
        states.append(
            State(
                solution,
                stresses,
                found,
                influence=partial(life.influence, step),
                ends=ends,
                contact_ends=contact_ends,
                bond_ends=bond_ends,
                recover=life.recover,
                by_ends=partial(life.by_ends, step),
                by_breaking=partial(life.by_breaking, step),
            )
        )
    return _OnMesh(
        life,
        tuple(states),
        tuple(gauge for step in steps for gauge in _gauges(life, step, joints[step])),
        joints,
        {step: bore_of(life, step) for step in life.steps},
    )


def _gauges(life: FittedLife, step: LoadStep, joint: JointState) -> list[Gauge]:
    """Force and open share of each side about the bore that fires, but for what is bonded."""
    pairs, contact = life.cold.pairs.of("insert"), joint.contact
    places = life.mesh.points[pairs.own]
    fires = about_firing(life.case.block, places)
    touching = touching_shares(pairs, life.mesh.points, contact)
    length = side_lengths(pairs, life.mesh.points)
    last = last_sides(pairs, contact)
    last = last[fires[pairs.sides[last]].any(axis=1)]
    middle = places[pairs.sides].mean(axis=1) @ [1, 1j]
    pairs_of_side = {
        side.against: of
        for side in joint.sides
        if not side.bonded and (of := fires & (pairs.against == side.against)).any()
    }
    force = {side: float(contact.force[of].sum()) for side, of in pairs_of_side.items()}
    most = max(map(abs, force.values()), default=0.0)
    found = []
    for side, of in pairs_of_side.items():
        ends = last[(pairs.against[pairs.sides[last]] == side).any(axis=1)]
        at = middle[ends], length[ends]
        faces = pairs.faces(of)
        open_share = float((pairs.area * (1 - touching))[faces].sum() / pairs.area[faces].sum())
        wanted = NEAR_FORCE * max(abs(force[side]), SLIGHT * most)
        words = f"{step}, {side}"
        found += [
            Gauge((step, side, "force"), f"{words}: force on the joint", force[side], wanted, *at),
            Gauge((step, side, "open"), f"{words}: open share of the joint",
                  open_share, NEAR_SHARE, *at),
        ]  # fmt: skip
    return found


def _fires(block: Block, spot: HotSpot) -> bool:
    """Whether a spot is about the bore that fires."""
    return bool(block.about_firing(spot.x_mm))


def _that_count(block: Block, spots: Sequence[Sequence[HotSpot]]) -> list[list[HotSpot]]:
    """Spots that are shown or rated, step by step: none that is sharp, none that is weak.

    Those about the bore that fires: about the others the press is the same and the gas is less.
    """
    rated = [[spot for spot in of if not spot.sharp and _fires(block, spot)] for of in spots]
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
                    and spot.principal_mpa >= WEAKEST * by_stress[0].principal_mpa
                )
            ]
        )
    return chosen

"""The joint of an insert in a solved step: its sides, cuts, pieces, the sides of the ties.

What is open is counted by where pressure ends (:func:`fea.contact.touching_shares`), not by whole
pairs of nodes. Of a bank, shares and pressures of the joint and its sides are of the stretch about
the bore that fires, where the mesh is made for them; cuts, pieces and ties are told of every bore.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from cases.life.life import FittedLife
from cases.life.liner import joint_of
from cases.life.result import CutState, JointState, PieceState, SideState
from cases.life.tie_faces import tie_faces
from fea.contact import Fitted, touching_shares
from geometry.clock import format_clock, hours_between
from geometry.plan import placed
from geometry.section import Block

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Stretch = TypeVar("Stretch", SideState, CutState)


def joint_state(life: FittedLife, fitted: Fitted) -> JointState:
    """The joint of the insert in a solved step.

    Parameters
    ----------
    life : FittedLife
    fitted : Fitted
        One of its steps, or the same joint under another load.
    """
    pairs, contact = joint_of(life, fitted, "insert")
    touching = touching_shares(pairs, life.mesh.points, contact)
    slides = touching * (contact.closed & ~contact.sticks)

    def share(of: Flags, what: Array | Flags) -> float:
        faces = pairs.faces(of)
        return float((pairs.area * what)[faces].sum() / pairs.area[faces].sum())

    def stretch(of: Flags) -> dict[str, Any]:
        slip = np.abs(contact.slip[of & contact.closed])
        return {
            "open_share": share(of, 1 - touching),
            "slip_share": share(of, slides),
            "mean_pressure_mpa": float(contact.force[of].sum() / pairs.area[of].sum()),
            "largest_pressure_mpa": float(contact.pressure[of].max()),
            "largest_slip_um": 1000 * float(slip.max(initial=0.0)),
        }

    block = life.case.block
    here = about_firing(block, life.mesh.points[pairs.own])
    return JointState(
        contact=contact,
        iterations=fitted.iterations,
        open_share=share(here, 1 - touching),
        slip_share=share(here, slides),
        intact_share=share(here, contact.intact),
        broken_share=share(here, contact.broken),
        sides=tuple(
            SideState(
                against=str(part),
                bonded=life.fit.sides[part].bonded,
                intact_share=share(of, contact.intact),
                broken_share=share(of, contact.broken),
                **stretch(of),
            )
            for part in np.unique(pairs.against[here])
            for of in (here & (pairs.against == part),)
        ),
        cuts=tuple(
            CutState(
                bore=bore,
                clock=format_clock(hours),
                clock_hours=hours % 12,
                bonded=life.fit.sides["barrel"].bonded,
                **stretch(of),
            )
            for bore, hours, of in _behind_cuts(block, life.mesh.points[pairs.own], pairs.against)
        ),
        pieces=_pieces(life, fitted, share, touching),
        tie_faces=tie_faces(block, life.mesh.points, pairs, contact, touching),
    )


def about_firing(block: Block, places: Array) -> Flags:
    """Which pairs at places (k, 2) [mm] are about the bore that fires; all if none is."""
    here = block.about_firing(places[:, 0])
    return here if here.any() else np.ones(len(places), dtype=bool)


def _behind_cuts(
    block: Block, places: Array, against: NDArray[np.str_]
) -> Iterator[tuple[int, float, Flags]]:
    """Bore and clock position of each relief cut in a barrel wall, and the pairs behind it.

    A pair is behind the cut where the ray from the bore axis to it meets the cut's circle.
    """
    of_bore, hours = block.nearest_bore(*places.T)
    for cut in placed(block.relief_cuts, block, "relief_cut"):
        feature = cut.feature
        if feature.radius - feature.diameter / 2 >= block.barrel_radius:
            continue  # it thins the outer wall only
        half = np.degrees(np.arcsin(min(feature.diameter / 2 / feature.radius, 1.0))) / 30
        near = np.abs(hours_between(hours, feature.clock)) <= half
        of = (against == "barrel") & (of_bore == cut.bore) & near
        if of.any():
            yield cut.bore, float(feature.clock), of


def with_errors(joint: JointState, before: JointState | None) -> JointState:
    """A joint with the error of its shares and pressures: the change from the mesh before."""
    if before is None:
        return joint

    def known(now: tuple[Stretch, ...], then: tuple[Stretch, ...]) -> tuple[Stretch, ...]:
        if len(now) != len(then):
            return now
        return tuple(
            replace(
                one,
                open_share_error=abs(one.open_share - other.open_share),
                mean_pressure_error_mpa=abs(one.mean_pressure_mpa - other.mean_pressure_mpa),
                largest_pressure_error_mpa=abs(
                    one.largest_pressure_mpa - other.largest_pressure_mpa
                ),
            )
            for one, other in zip(now, then, strict=True)
        )

    return replace(
        joint,
        sides=known(joint.sides, before.sides),
        cuts=known(joint.cuts, before.cuts),
        open_share_error=abs(joint.open_share - before.open_share),
    )


def _pieces(
    life: FittedLife,
    fitted: Fitted,
    share: Callable[[Flags, Array], float],
    touching: Array,
) -> tuple[PieceState, ...]:
    """Every piece of the insert, by number.

    What compound holds counts in full beside friction, as in the law of contact.
    """
    pairs, contact = joint_of(life, fitted, "insert")
    ours = life.cold.pairs.part == "insert"
    friction = life.cold.friction(fitted.contact)[ours]
    shear = life.cold.strengths(fitted.solution.temperature)[1][ours]
    compound = np.where(contact.intact, shear * pairs.area, 0.0)
    body = life.cold.model.node_bodies
    found = []
    for piece in life.pieces:
        of = body[pairs.own] == piece.body
        force = np.maximum(contact.force[of], 0.0)
        found.append(
            PieceState(
                number=piece.number,
                bore=piece.bore,
                clock=piece.clock,
                clock_hours=piece.clock_hours,
                pressing_force_n=float(force.sum()),
                hold_n=float(friction[of] @ force + compound[of].sum()),
                asked_hold_n=life.fit.asked_hold(piece.mass_g),
                open_share=share(of, 1 - touching),
            )
        )
    return tuple(found)

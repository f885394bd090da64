"""The joint of an insert in a solved step: its sides, its pieces, the sides of the ties."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.life.life import FittedLife
from cases.life.liner import joint_of
from cases.life.result import JointState, PieceState, SideState
from cases.life.tie_faces import tie_faces
from fea.contact import Fitted

Flags = NDArray[np.bool_]


def joint_state(life: FittedLife, fitted: Fitted) -> JointState:
    """The joint of the insert in a solved step.

    Parameters
    ----------
    life : FittedLife
    fitted : Fitted
        One of its steps, or the same joint under another load.
    """
    pairs, contact = joint_of(life, fitted, "insert")
    slips = contact.closed & ~contact.sticks

    def share(what: Flags, of: Flags) -> float:
        faces = pairs.faces(of)
        return float(pairs.area[what & faces].sum() / pairs.area[faces].sum())

    sides = [
        SideState(
            against=str(part),
            bonded=life.fit.sides[part].bonded,
            open_share=share(~contact.closed, of),
            slip_share=share(slips, of),
            intact_share=share(contact.intact, of),
            broken_share=share(contact.broken, of),
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
        slip_share=share(slips, everywhere),
        intact_share=share(contact.intact, everywhere),
        broken_share=share(contact.broken, everywhere),
        sides=tuple(sides),
        pieces=_pieces(life, fitted),
        tie_faces=tie_faces(life.case.block, life.mesh.points, pairs, contact),
    )


def _pieces(life: FittedLife, fitted: Fitted) -> tuple[PieceState, ...]:
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
        faces = pairs.faces(of)
        found.append(
            PieceState(
                number=piece.number,
                bore=piece.bore,
                clock=piece.clock,
                clock_hours=piece.clock_hours,
                pressing_force_n=float(force.sum()),
                hold_n=float(friction[of] @ force + compound[of].sum()),
                asked_hold_n=life.fit.asked_hold(piece.mass_g),
                open_share=float(
                    pairs.area[faces & ~contact.closed].sum() / pairs.area[faces].sum()
                ),
            )
        )
    return tuple(found)

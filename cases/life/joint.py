"""The joint of an insert in a solved step: its sides, its pieces, the sides of the ties."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.life.life import FittedLife
from cases.life.liner import joint_of
from cases.life.result import JointState, PieceState, SideState
from cases.life.tie_faces import tie_faces
from fea.contact import Contact, Fitted, Pairs
from geometry.clock import format_clock

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
        sides=tuple(sides),
        pieces=_pieces(life, pairs, contact),
        tie_faces=tie_faces(life.case.block, life.mesh.points, pairs, contact),
    )


def _pieces(life: FittedLife, pairs: Pairs, contact: Contact) -> tuple[PieceState, ...]:
    """Every piece of the insert, by bore, then in clock order."""
    friction = np.array([life.fit.sides[part].friction for part in pairs.against])
    body = life.cold.model.node_bodies
    found = []
    for piece in np.unique(body[pairs.own]):
        of = body[pairs.own] == piece
        middle = life.mesh.points[body == piece].mean(axis=0)
        bore, hours = life.case.block.nearest_bore(*middle)
        force = np.maximum(contact.force[of], 0.0)
        faces = pairs.faces(of)
        found.append(
            PieceState(
                bore=int(bore),
                clock=format_clock(float(hours)),
                clock_hours=float(hours),
                pressing_force_n=float(force.sum()),
                hold_n=float(friction[of] @ force),
                open_share=float(
                    pairs.area[faces & ~contact.closed].sum() / pairs.area[faces].sum()
                ),
            )
        )
    return tuple(sorted(found, key=lambda piece: (piece.bore, piece.clock_hours)))

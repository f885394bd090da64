"""The joint of an insert in a solved step: its sides, its pieces, the sides of the ties."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.life.life import FittedLife
from cases.life.result import JointState, PieceState, SideState
from cases.life.tie_faces import tie_faces
from fea.contact import Fitted
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
    pairs, contact = life.cold.pairs, fitted.contact
    slips = contact.closed & ~contact.sticks

    def share(what: Flags, of: Flags) -> float:
        return float(pairs.area[what & of].sum() / pairs.area[of].sum())

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
    """Every piece of the insert, by bore, then in clock order.

    What compound holds counts in full beside friction, as in the law of contact.
    """
    pairs, contact = life.cold.pairs, fitted.contact
    friction = life.cold.friction(contact)
    _, shear = life.cold.strengths(fitted.solution.temperature)
    compound = np.where(contact.intact, shear * pairs.area, 0.0)
    body = life.cold.model.node_bodies
    found = []
    for piece in np.unique(body[pairs.own]):
        of = body[pairs.own] == piece
        middle = life.mesh.points[body == piece].mean(axis=0)
        bore, hours = life.case.block.nearest_bore(*middle)
        force = np.maximum(contact.force[of], 0.0)
        found.append(
            PieceState(
                bore=int(bore),
                clock=format_clock(float(hours)),
                clock_hours=float(hours),
                pressing_force_n=float(force.sum()),
                hold_n=float(friction[of] @ force + compound[of].sum()),
                open_share=float(pairs.area[of & ~contact.closed].sum() / pairs.area[of].sum()),
            )
        )
    return tuple(sorted(found, key=lambda piece: (piece.bore, piece.clock_hours)))

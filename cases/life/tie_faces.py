"""The sides of ties that an insert stands against: how hard each is pressed, how much is open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.life.result import TieFace, is_lived, service_of
from geometry.clock import format_clock
from geometry.plan import placed
from geometry.section import Block

if TYPE_CHECKING:
    from cases.life.steps import LoadStep
    from cases.stress.result import DesignResult
    from fea.contact import Contact, Pairs

BEFORE, PAST = "before", "past"
"""The two sides of a tie, as hours run."""
CLOSED = 0.005
"""Open share that rounds to 0 %."""


def tie_faces(
    block: Block,
    points: NDArray[np.float64],
    pairs: Pairs,
    contact: Contact,
    touching: NDArray[np.float64],
) -> tuple[TieFace, ...]:
    """Every side of a tie that the insert stands against, of all bores.

    A pair goes with the side whose line it lies nearest to, fillets with the rest.

    Parameters
    ----------
    block : Block
    points : ndarray, shape (n, 2)
        Nodes of the mesh. [mm]
    pairs : Pairs
    contact : Contact
        In the step asked for.
    touching : ndarray, shape (k,)
        Share of the area of each pair that touches.

    Returns
    -------
    tuple of TieFace
        By bore, then in clock order.
    """
    against = np.flatnonzero(pairs.against == "tie")
    if not len(against):
        return ()
    place = points[pairs.own[against]] @ [1, 1j]
    sides = [(tie, side) for tie in placed(block.ties, block, "tie") for side in (BEFORE, PAST)]
    away = np.empty((len(sides), len(place)))
    for row, (tie, side) in zip(away, sides, strict=True):
        along = (place - tie.axis) / tie.ray
        half = tie.feature.width / 2
        row[:] = np.abs(along.imag - (half if side == BEFORE else -half))
        row[along.real < 0] = np.inf
    nearest = away.argmin(axis=0)
    found = []
    for number in np.unique(nearest):
        tie, side = sides[number]
        of = against[nearest == number]
        area = pairs.area[of].sum()
        faces = pairs.faces(np.isin(np.arange(len(pairs.area)), of))
        found.append(
            TieFace(
                bore=tie.bore,
                clock=format_clock(tie.feature.clock),
                clock_hours=tie.feature.clock % 12,
                side=side,
                area_mm2=float(area),
                mean_pressure_mpa=float(contact.force[of].sum() / area),
                open_share=float(
                    (pairs.area * (1 - touching))[faces].sum() / pairs.area[faces].sum()
                ),
            )
        )
    return tuple(sorted(found, key=lambda face: (face.bore, face.clock_hours, face.side)))


def firing_faces(
    designs: Sequence[DesignResult],
) -> Iterator[tuple[DesignResult, LoadStep, TieFace]]:
    """Design, name of the step and face, for every side of a tie about the bore that fires."""
    for design in designs:
        for step in service_of(design).steps if is_lived(design) else ():
            for face in step.joint.tie_faces if step.joint else ():
                if face.bore == design.section.block.firing_bore:
                    yield design, step.name, face


def most_open(designs: Sequence[DesignResult]) -> str:
    """Which side of a tie about the bore that fires is open most, design by design, in words.

    Empty where the insert stands against no tie there.
    """
    worst: dict[str, tuple[LoadStep, TieFace]] = {}
    for design, step, face in firing_faces(designs):
        if design.name not in worst or face.open_share > worst[design.name][1].open_share:
            worst[design.name] = step, face
    if not worst:
        return ""
    if all(face.open_share < CLOSED for _, face in worst.values()):
        return "None opens in any step."
    return "Open most: " + "; ".join(
        f"{name}, {face.name}, {step}, {100 * face.open_share:.0f} %"
        if face.open_share >= CLOSED
        else f"{name}, none"
        for name, (step, face) in worst.items()
    ) + "."  # fmt: skip

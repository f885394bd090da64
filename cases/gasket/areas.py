"""What deck, gasket and head leave open together, hole by hole, exact.

The deck is open where the section has no metal: between barrels, ties and outer wall of a bare
block, through its slots where an insert fills the jacket.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from cases.case import Case, Design
from cases.gasket.given import Gasket
from cases.gasket.result import Lands
from geometry import planar
from geometry.clock import format_clock
from geometry.cut_pieces import CutPiece, cut_pieces, is_slot
from geometry.overlay import Loop, Patch, least_distance, open_water, overlay
from geometry.planar import Area, Curve
from geometry.section import Block, DeckSection

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Common:
    """What the holes of a gasket open over a deck.

    Attributes
    ----------
    deck : tuple of Patch
        What is open at the deck.
    holes : tuple of Loop
        Of the gasket.
    areas : ndarray, shape (h, k)
        Open of each hole over each patch, through the head too. [mm2]
    """

    deck: tuple[Patch, ...]
    holes: tuple[Loop, ...]
    areas: Array

    @property
    def by_hole(self) -> Array:
        """Shape (h,). [mm2]."""
        return np.asarray(self.areas.sum(axis=1))


def bare_section(case: Case) -> DeckSection:
    """The block without an insert."""
    return replace(case.section(case.designs[0]), insert=None)


def deck_of(case: Case, design: Design | None) -> tuple[Patch, ...]:
    """What is open at the deck of a design; of the bare block for None."""
    return open_water(bare_section(case) if design is None else case.section(design))


@lru_cache(maxsize=16)
def common_of(gasket: Gasket, deck: tuple[Patch, ...], block: Block) -> Common:
    """What a gasket and its head open over a deck."""
    axis = block.axes[0]
    holes = tuple(of.loop(axis) for of in gasket.openings)
    head = None if gasket.head is None else [of.loop(axis) for of in gasket.head]
    loops = [*holes, *(head or ()), *(loop for patch in deck for loop in patch.loops)]
    faces = overlay(curve for loop in loops for curve in loop)
    through = np.ones(len(faces.at), bool) if head is None else Area(head).holds(faces.at)
    over = np.array([patch.holds(faces.at) for patch in deck]).reshape(len(deck), -1)
    within = np.array([Area([hole]).holds(faces.at) for hole in holes]) & through
    return Common(deck, holes, (within * faces.areas) @ over.T.astype(float))


def middle_of(loop: Sequence[Curve]) -> complex:
    """Mean of the corners of a loop, by the lengths of its curves. [mm]."""
    lengths = np.array([curve.length for curve in loop])
    return complex((lengths * [curve.point(0.5) for curve in loop]).sum() / lengths.sum())


def place_words(block: Block, loop: Sequence[Curve]) -> str:
    """Clock position and bore of a loop."""
    z = middle_of(loop)
    bore, hours = block.nearest_bore(z.real, z.imag)
    many = f" of bore {int(bore)}" if block.bores > 1 else ""
    return f"{format_clock(float(hours))}{many}"


def lands_of(case: Case, design: Design, gasket: Gasket) -> Lands:
    """Least metal between the slots of an insert, its joint and the gasket's bead."""
    if design.insert is None:
        return Lands(slot_to_joint=None, slot_to_slot=None, slot_to_bead=None, joint_to_bead=None)
    pieces = cut_pieces(case.section(design).at_deck)
    joint = [
        curve for piece in pieces for loop in piece.loops if not is_slot(loop) for curve in loop
    ]
    slotted, webs = [], []
    for piece in pieces:
        slots = [loop for loop in piece.loops if is_slot(loop)]
        edge = [curve for loop in piece.loops if not is_slot(loop) for curve in loop]
        slotted += [curve for loop in slots for curve in loop]
        webs += [least_distance(loop, edge) for loop in slots]
    return Lands(
        slot_to_joint=min(webs, default=None),
        slot_to_slot=between_slots(pieces),
        slot_to_bead=off_bead(slotted, gasket, case.block) if slotted else None,
        joint_to_bead=off_bead(joint, gasket, case.block) if joint else None,
    )


def between_slots(pieces: Sequence[CutPiece]) -> float | None:
    """Least metal between two slots of a piece; None where none has two. [mm]."""
    found = []
    for piece in pieces:
        slots = [loop for loop in piece.loops if is_slot(loop)]
        found += [
            least_distance(one, other) for k, one in enumerate(slots) for other in slots[k + 1 :]
        ]
    return min(found, default=None)


def off_bead(curves: Sequence[Curve], gasket: Gasket, block: Block) -> float:
    """How far curves stay outside of the beads about the bores; negative: under one. [mm]."""
    return off_axes(curves, block) - gasket.bead_outside


def off_axes(curves: Sequence[Curve], block: Block) -> float:
    """How near curves come to the axis of a bore. [mm]."""
    return min(
        abs(z - axis)
        for axis in block.axes
        for curve in curves
        for z in (*_nearest(curve, axis), curve.start, curve.end)
    )


def _nearest(curve: Curve, axis: float) -> list[complex]:
    """Feet of a point on a curve."""
    centre = complex(axis)
    if not curve.bulge:
        share = curve.share(centre)
        return [curve.point(share)] if 0 <= share <= 1 else []
    if abs(curve.centre - centre) < planar.SNAP:
        return [curve.point(0.5)]
    way = (centre - curve.centre) / abs(centre - curve.centre)
    feet = [curve.centre + side * curve.radius * way for side in (1, -1)]
    return [z for z in feet if 0 <= curve.share(z) <= 1]

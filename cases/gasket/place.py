"""How a drawn gasket lies over the block: by its bore circles, and by what it opens."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence

import numpy as np

from cases.gasket.given import AS_GIVEN, Lies
from cases.gasket.opening import Opening, moved
from cases.inspection.cells import ReadingsError
from geometry.clock import format_clock
from geometry.overlay import Loop, Patch, distance_to, overlay
from geometry.planar import Area
from geometry.section import Block

BORES = (0.97, 1.15)
"""Diameter of a gasket's circle about a bore, over the bore."""
OFF = 0.5
"""Bore circles stand no further than this from the axes that they are laid on. [mm]."""
TURNED = math.radians(0.05)
"""From which a drawing is said to be turned."""
MOST_TOLD = 5
"""Of what is wrong with openings."""
BETTER = 0.1
"""Share of its openings that another way of lying must open more, to be told."""
OVER_SLOTS = 2.0
"""So many times as much where it is what slots leave: another gasket's meet some by chance
(judgement)."""
WAYS: Mapping[Lies, tuple[int, bool]] = {
    AS_GIVEN: (1, False),
    "turned by half a turn": (-1, False),
    "turned over along the bank": (1, True),
    "turned over across the bank": (-1, True),
}
"""How a gasket may lie on its bores: turned by, and whether turned over."""


def by_circles(centres: Sequence[complex], block: Block) -> tuple[complex, complex, str]:
    """The turn and the shift that lay bore circles on the axes of the bores, in words too.

    Parameters
    ----------
    centres : sequence of complex
        Of a drawing's bore circles; none where it has none. [mm]
    block : Block

    Returns
    -------
    turn : complex
        Unit number.
    shift : complex
        From the drawing, turned, to the axis of bore 1. [mm]
    words : str
        How the drawing lay.

    Raises
    ------
    ReadingsError
        If the circles are not those of this block's bores.
    """
    at = _single(centres)
    if not at:
        return 1, 0, "no bore circle in the drawing: its origin counts as the axis of bore 1"
    if len(at) != block.bores:
        raise ReadingsError(
            f"{len(at)} circles in the drawing are as large as a bore ({_sizes(block)}), and the "
            f"block has {block.bores} bores. Name the layer of the bore circles: bore_layer."
        )
    if len(at) == 1:
        return 1, -at[0], "laid on the bore by its circle, which can't tell how it is turned"
    far = max(at, key=lambda z: abs(z - at[0]))
    along = far - max(at, key=lambda z: abs(z - far))
    turn = abs(along) / along
    if turn.real < 0 or (turn.real < 1e-9 and turn.imag > 0):
        turn = -turn
    at = sorted((z * turn for z in at), key=lambda z: z.real)
    axes = [axis - block.axes[0] for axis in block.axes]
    shift = sum(axis - z for axis, z in zip(axes, at, strict=True)) / len(at)
    off = [abs(z + shift - axis) for axis, z in zip(axes, at, strict=True)]
    if max(off) > OFF:
        worst = off.index(max(off))
        raise ReadingsError(
            f"Its bore circles don't stand as the bores do: that of bore {worst + 1} is "
            f"{max(off):.2g} mm off at a pitch of {block.pitch:g} mm. Check unit and pitch."
        )
    angle = -math.degrees(cmath.phase(turn))
    if abs(math.radians(angle)) < TURNED:
        return turn, shift, "laid on the bores by its circles"
    words = f"turned by {angle:.4g} deg in its drawing, and laid straight on the bores"
    return turn, shift, f"{words} by its circles"


def _single(centres: Sequence[complex]) -> list[complex]:
    """Centres that are not those of a circle around another."""
    found: list[complex] = []
    for z in centres:
        if all(abs(z - of) > OFF for of in found):
            found.append(z)
    return found


def _sizes(block: Block) -> str:
    return f"{BORES[0] * block.bore:.4g} to {BORES[1] * block.bore:.4g} mm across"


def opened_share(openings: Sequence[Opening], deck: Sequence[Patch], axis: float) -> float:
    """Share of the area of openings that lies over open water."""
    loops = [of.loop(axis) for of in openings]
    faces = overlay(
        [*(of for loop in loops for of in loop), *(c for of in deck for c in of.curves)]
    )
    over = np.zeros(len(faces.at), dtype=bool)
    for patch in deck:
        over |= patch.holds(faces.at)
    held = Area(loops).holds(faces.at)
    return faces.area(held & over) / faces.area(held)


def laid(openings: Sequence[Opening], lies: Lies, block: Block) -> tuple[Opening, ...]:
    """Openings about bore 1 of a gasket that lies in one of ``WAYS``."""
    by, over = WAYS[lies]
    return moved(openings, by, block.axes[-1] - block.axes[0] if by < 0 else 0, over)


def better_way(
    openings: Sequence[Opening],
    block: Block,
    lies: Lies,
    deck: Sequence[Patch],
    water: str,
    times: float,
) -> str:
    """That a gasket opens more another way round, in words; empty where it doesn't.

    Parameters
    ----------
    openings : sequence of Opening
        As it lies.
    block : Block
    lies : str
        How the case has laid it.
    deck : sequence of Patch
    water : str
        What words call what is open at the deck.
    times : float
        As much must another way open at least.
    """
    axis = block.axes[0]
    share = opened_share(openings, deck, axis)
    best, words = max(share + BETTER, times * share), ""
    for name, (by, over) in WAYS.items():
        other = opened_share(laid(openings, name, block), deck, axis)
        if other > best:
            best = other
            turned, whole = WAYS[lies]
            say = next(of for of in WAYS if WAYS[of] == (turned * by, whole != over))
            words = (
                f"{100 * share:.0f} % of its openings lie over {water}, and {100 * other:.0f} % "
                f"would if it were {name}: check that it lies the right way round, and say lies = "
                f'"{say}" where it does not'
            )
    return words


def check_openings(openings: Sequence[Opening], block: Block, what: str) -> None:
    """Refuse openings that cross themselves, overlap, lie in a bore or off the block.

    Raises
    ------
    ReadingsError
        With each of them, and its place.
    """
    faults = []
    axis = block.axes[0]
    loops = [of.loop(axis) for of in openings]
    for of, loop in zip(openings, loops, strict=True):
        alone = overlay(loop)
        if len(alone.at) != 2:
            faults.append(f"{of.name}: its edge crosses or touches itself{_where(loop, block)}.")
            continue
        area = Area([loop])
        near = min(_distance(loop, complex(of)) for of in block.axes)
        inside = area.holds(np.array(block.axes, dtype=complex)).any()
        if inside or near < block.bore / 2:
            into = "lies around the axis of a bore" if inside else "lies in a bore"
            faults.append(f"{of.name}: it {into}{_where(loop, block)}: no opening for water.")
        off = max(_off_bank(block, curve.start) for curve in loop)
        if off > block.outside_radius:
            faults.append(
                f"{of.name}: it reaches {off - block.outside_radius:.3g} mm beyond the outer wall"
                f"{_where(loop, block)}. Check its unit, and what its place is measured from."
            )
    if not faults:
        faults = _overlaps(openings, loops, block)
    if len(faults) > MOST_TOLD:
        faults = [
            *faults[:MOST_TOLD],
            f"{len(faults) - MOST_TOLD} more are wrong; mend these first.",
        ]
    if faults:
        raise ReadingsError(*(f"{what}: {of}" for of in faults))


def _overlaps(openings: Sequence[Opening], loops: Sequence[Loop], block: Block) -> list[str]:
    if len(loops) < 2:
        return []
    faces = overlay(of for loop in loops for of in loop)
    held = np.array([Area([loop]).holds(faces.at) for loop in loops])
    together = np.triu(held.astype(int) @ held.T.astype(int), 1)
    faults = []
    for one, other in np.argwhere(together).tolist():
        area = faces.area(held[one] & held[other])
        if area > 1e-6:
            faults.append(
                f"{openings[other].name}: it overlaps {openings[one].name} by {area:.3g} mm2"
                f"{_where(loops[other], block)}. Make one opening of both, or move one."
            )
    return faults


def _where(loop: Loop, block: Block) -> str:
    z = np.mean([curve.start for curve in loop])
    bore, hours = block.nearest_bore(z.real, z.imag)
    return f" at {format_clock(float(hours))} of bore {int(bore)}"


def _distance(loop: Loop, z: complex) -> float:
    return min(distance_to(curve, z) for curve in loop)


def _off_bank(block: Block, z: complex) -> float:
    foot = min(max(z.real, block.axes[0]), block.axes[-1])
    return abs(z - foot)

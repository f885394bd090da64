"""Compound in the joint of a solid: how it cures, softens and breaks, pair by pair.

The law is that of the section (:mod:`fea.contact.fitted`), the shear along a pair that of both
tangents together.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from fea.solid.fitted import FittedState

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


def cured(pressed: FittedState, fills: Array) -> FittedState:
    """What has been pressed in, its compound cured where it fills the gap.

    ``fills`` is the largest gap that it fills at each pair, below 0 where there is none. [mm]
    """
    filled = pressed.gap <= fills
    closes = filled & ~pressed.closed
    return replace(
        pressed,
        closed=pressed.closed | closes,
        sticks=pressed.sticks | closes,
        gap=np.where(closes, 0.0, pressed.gap),
        intact=filled,
        filler=np.where(closes, pressed.gap, 0.0),
    )


def softened(before: FittedState, tension: Array, shear: Array) -> FittedState:
    """The step before, without the compound that has no strength where it is as warm as now."""
    gone = (before.intact | before.broken) & (tension == 0) & (shear == 0)
    return replace(
        before,
        intact=before.intact & ~gone,
        broken=before.broken | gone,
        filler=np.where(gone, 0.0, before.filler),
    )


def keeping(found: FittedState, before: FittedState, intact: Flags) -> FittedState:
    """What is found, with the compound of the step before as far as it is intact."""
    broken = (before.intact | before.broken) & ~intact
    return replace(found, intact=intact, broken=broken, filler=before.filler)

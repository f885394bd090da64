"""Compound that fills a joint: how it cures, softens, bears and breaks, pair by pair.

The law stands in :mod:`fea.contact.fitted`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from fea.contact.pairs import Fit
from fea.contact.state import Fitted

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

NO_STRENGTH = 1e-9
"""Of a compound. [MPa]."""


class Filling:
    """The compounds of a joint.

    Parameters
    ----------
    fits : sequence of Fit, k long
        Of each pair.

    Attributes
    ----------
    friction : ndarray, shape (k,)
        Coulomb's coefficient with compound in the joint; dry where there is none.
    fills : ndarray, shape (k,)
        Largest gap that is filled, below 0 where there is none. [mm]
    """

    def __init__(self, fits: Sequence[Fit]) -> None:
        kinds = [fit.compound for fit in fits]
        self._kinds = [(of, np.array([one == of for one in kinds])) for of in {*kinds} if of]
        self.friction = np.array([fit.friction for fit in fits], dtype=float)
        self.fills = np.full(len(fits), -1.0)
        for compound, where in self._kinds:
            self.friction[where], self.fills[where] = compound.friction, compound.fills

    def __bool__(self) -> bool:
        return bool(self._kinds)

    def strengths(self, temperature: Array) -> tuple[Array, Array]:
        """Tension and shear strength at each pair, as warm as it is; 0 where there is none. [MPa].

        Parameters
        ----------
        temperature : ndarray, shape (k,)
            [degC]
        """
        tension, shear = np.zeros(len(self.fills)), np.zeros(len(self.fills))
        for compound, where in self._kinds:
            tension[where], shear[where] = compound.strengths(temperature[where])
        return tension, shear


def cured(pressed: Fitted, fills: Array) -> Fitted:
    """What has been pressed in, its compound cured where it fills the gap.

    ``fills`` is the largest gap that it fills at each pair, below 0 where there is none. [mm]
    """
    contact = pressed.contact
    filled = contact.gap <= fills
    closes = filled & ~contact.closed
    contact = replace(
        contact,
        closed=contact.closed | closes,
        sticks=contact.sticks | closes,
        gap=np.where(closes, 0.0, contact.gap),
        intact=filled,
        filler=np.where(closes, contact.gap, 0.0),
    )
    return replace(pressed, contact=contact)


def wet(pressed: Fitted) -> Fitted:
    """What has been pressed in, before its compound has cured: it holds nothing yet."""
    contact = pressed.contact
    touched = contact.closed & (contact.filler == 0)
    contact = replace(
        contact,
        closed=touched,
        sticks=contact.sticks & touched,
        intact=np.zeros_like(contact.intact),
        filler=np.zeros_like(contact.filler),
    )
    return replace(pressed, contact=contact)


def softened(before: Fitted, tension: Array, shear: Array) -> Fitted:
    """The step before, without the compound that has no strength where it is as warm as now."""
    contact = before.contact
    filled = contact.intact | contact.broken
    gone = filled & (tension == 0) & (shear == 0)
    contact = replace(
        contact,
        intact=contact.intact & ~gone,
        broken=contact.broken | gone,
        filler=np.where(gone, 0.0, contact.filler),
    )
    return replace(before, contact=contact)


def keeping(found: Fitted, before: Fitted, intact: Flags) -> Fitted:
    """What is found, with the compound of the step before as far as it is intact."""
    was = before.contact
    broken = (was.intact | was.broken) & ~intact
    contact = replace(found.contact, intact=intact, broken=broken, filler=was.filler)
    return replace(found, contact=contact)


def share_used(
    force: Array,
    friction: Array,
    mu: Array,
    tension: Array,
    shear: Array,
    area: Array,
    floor: float,
) -> Array:
    """Share of the compound's strength that each pair takes, shape (k,).

    Parameters
    ----------
    force, friction : ndarray, shape (k,)
        That presses each pair together, and the size of that along it. [N]
    mu : ndarray, shape (k,)
        Friction coefficient.
    tension, shear : ndarray, shape (k,)
        Strengths. [MPa]
    area : ndarray, shape (k,)
        [mm2]
    floor : float
        Force that is none. [N]
    """
    pulled = np.maximum(-force - floor, 0.0) / area
    rubs = mu * np.maximum(force, 0.0) + floor
    sheared = np.maximum(friction - rubs, 0.0) / area
    used: Array = np.hypot(
        pulled / np.maximum(tension, NO_STRENGTH), sheared / np.maximum(shear, NO_STRENGTH)
    )
    return used


def breaking(used: Array, least: int, as_equal: float) -> Flags:
    """Pairs whose compound breaks first, shape (k,); none where no strength is used up.

    Those that are beyond it by more than half as much as the worst, but no fewer than ``least`` as
    long as so many are beyond; what is as good as equal breaks together.

    Parameters
    ----------
    used : ndarray, shape (k,)
        Share of its strength that each pair takes.
    least : int
    as_equal : float
        Difference of two shares, over the share, that is none.
    """
    beyond = used > 1
    if not beyond.any():
        return beyond
    worst = np.sort(used[beyond])[::-1]
    bound = min(1 + (worst[0] - 1) / 2, worst[min(least, len(worst)) - 1])
    return beyond & (used >= bound * (1 - as_equal))

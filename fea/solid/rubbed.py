r"""A solid whose face is rubbed: Coulomb friction of known pressure on its nodes.

As :mod:`fea.friction` has it for a section: the face is pressed on something that doesn't move, so
the friction T that a node can bear is known. It pulls against the way s that the node has gone
since it was pressed on, as a spring where that is little,

.. math:: f = -T s / \sqrt{|s|^2 + g^2},

with g the slip at which what is in between gives. The solid is asked for the displacement under
such forces until they are those that it leads to; what to ask for next is mixed of what was tried
(Anderson). What the solid is, one piece or fitted, is its own affair.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.contact.condensed import mixed

Array = NDArray[np.float64]

MOST_TURNS = 40
"""Times that the solid is asked."""
SETTLED = 0.02
"""Friction that is still off its law, over all of the friction, that is none."""
KEPT = 8
"""Tries that what comes next is mixed of."""
OVER = 2.0
"""By how much more a node is taken to give way to its friction than the first friction moved it."""


class RubbingError(RuntimeError):
    """Friction and load find no balance."""


@dataclass(frozen=True, eq=False, slots=True)
class Rubbing:
    """Friction on the nodes of a face.

    Attributes
    ----------
    force : ndarray, shape (n, 3)
        On the metal. [N]
    used : float
        Share of the friction at hand.
    turns : int
        Times that the solid was asked.
    """

    force: Array
    used: float
    turns: int


def rubbed(
    displacement_under: Callable[[Array], Array], bearable: Array, start: Array, gives: float
) -> Rubbing:
    """Friction in the plane of the deck.

    Parameters
    ----------
    displacement_under : callable
        Displacement, shape (n, 3) [mm], under the load and forces, shape (n, 3), of friction [N].
    bearable : ndarray, shape (n,)
        Friction that each node can bear. [N]
    start : ndarray, shape (n, 3)
        Displacement where it was pressed on. [mm]
    gives : float
        Slip at which friction still is a spring. [mm]

    Raises
    ------
    RubbingError
        If no balance is found.
    """
    nodes = np.flatnonzero(bearable > 0)
    force = np.zeros_like(start)
    if not len(nodes):
        return Rubbing(force, 0.0, 0)
    limit = bearable[nodes, None]
    all_of_it = float(limit.sum())
    tried: list[tuple[Array, Array]] = []
    first = moved = np.zeros((len(nodes), 2))
    for turn in range(1, MOST_TURNS + 1):
        way = (displacement_under(force) - start)[nodes, :2]
        root = np.sqrt((way**2).sum(axis=1, keepdims=True) + gives**2)
        change = -limit * way / root - force[nodes, :2]
        if np.hypot(*change.T).sum() <= SETTLED * all_of_it:
            return Rubbing(force, float(np.hypot(*force[nodes, :2].T).sum()) / all_of_it, turn)
        if turn == 1:
            first = way
        if turn == 2:  # what the first friction moved tells how far a node gives way to it
            moved, tried = np.hypot(*(way - first).T)[:, None], []
        part = 1 / (1 + OVER * moved / root) if turn > 1 else np.ones_like(root)
        tried = [*tried[1 - KEPT :], (force[nodes, :2].ravel(), (part * change).ravel())]
        force = force.copy()
        force[nodes, :2] = mixed(tried).reshape(-1, 2)
    raise RubbingError(f"no balance of friction and load in {MOST_TURNS} turns.")

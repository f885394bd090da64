"""How far a joint touches, read between its pairs: contact ends where pressure does.

A pair stands for half of the sides next to it. Beside an open one it touches further than its node
or less far: pressure falls as the square root of the distance from the end of a contact on smooth
metal (Hertz; Johnson, *Contact Mechanics*, 1985, ch. 4, from memory), so its square falls along a
straight line, which two pairs tell.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from fea.contact.pairs import Pairs
from fea.contact.state import Contact

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


def touching_shares(pairs: Pairs, points: Array, contact: Contact) -> Array:
    """Share of the area of each pair that touches.

    Where a pair that touches has an open one beside it and no pressure that rises on its other
    side, contact ends halfway between the two.

    Parameters
    ----------
    pairs : Pairs
    points : ndarray, shape (n, 2)
        Nodes of the parted mesh. [mm]
    contact : Contact

    Returns
    -------
    ndarray, shape (k,)
        1 where pairs on both sides touch too, 0 where they are open too.
    """
    length = side_lengths(pairs, points)
    square = np.where(contact.closed, np.maximum(contact.pressure, 0.0), 0.0) ** 2
    reach = np.bincount(pairs.sides.ravel(), np.repeat(length, 2), len(pairs.own))
    touching = np.zeros(len(pairs.own))
    ends = contact.closed[pairs.sides]
    both = ends.all(axis=1)
    np.add.at(touching, pairs.sides[both], length[both, None])
    inner, inner_length = _inner_neighbours(pairs, length, contact)
    for near, far in ((0, 1), (1, 0)):
        last = np.flatnonzero(ends[:, near] & ~ends[:, far])
        here, beyond = pairs.sides[last, near], pairs.sides[last, far]
        rise = square[inner[here]] - square[here]
        known = (inner[here] >= 0) & (rise > 0)
        way = np.where(
            known, inner_length[here] * square[here] / np.where(known, rise, 1.0), length[last] / 2
        )
        way = np.minimum(way, length[last])
        half = length[last] / 2
        np.add.at(touching, here, 2 * np.minimum(way, half))
        np.add.at(touching, beyond, 2 * np.maximum(way - half, 0.0))
    return touching / reach


def side_lengths(pairs: Pairs, points: Array) -> Array:
    """Length of each side of a joint from pair to pair, shape (m,). [mm]."""
    away = points[pairs.own[pairs.sides]]
    return np.asarray(np.hypot(*(away[:, 1] - away[:, 0]).T))


def last_sides(pairs: Pairs, contact: Contact) -> Integers:
    """Sides of a joint in which contact ends."""
    closed = contact.closed[pairs.sides]
    return np.flatnonzero(closed[:, 0] != closed[:, 1])


def last_pairs(pairs: Pairs, contact: Contact) -> tuple[Flags, Flags]:
    """Pairs that touch beside an open one: after it along the joint, and before it, each (k,).

    Not one that touches alone: what presses there can't go elsewhere.
    """
    first, second = contact.closed[pairs.sides].T
    after, before = np.zeros((2, len(pairs.own)), dtype=bool)
    after[pairs.sides[second & ~first, 1]] = True
    before[pairs.sides[first & ~second, 0]] = True
    alone = after & before
    return after & ~alone, before & ~alone


def joint_ends(pairs: Pairs, points: Array) -> Array:
    """Places where a joint ends, shape (e, 2). [mm]."""
    uses = np.bincount(pairs.sides.ravel(), minlength=len(pairs.own))
    return points[pairs.own[uses == 1]]


def held_ends(pairs: Pairs, points: Array, held: Flags) -> Array:
    """Places where what can neither open nor slide ends beside what can, shape (e, 2). [mm].

    The end of such a bond is that of a crack: stress has no finite value there.

    Parameters
    ----------
    pairs : Pairs
    points : ndarray, shape (n, 2)
        Nodes of the parted mesh. [mm]
    held : ndarray of bool, shape (k,)
    """
    first, second = pairs.sides[held[pairs.sides[:, 0]] != held[pairs.sides[:, 1]]].T
    return points[pairs.own[np.where(held[first], first, second)]]


def kinks(pairs: Pairs, points: Array, jump: float, slides: Flags) -> Array:
    """Places along a joint that slides where its curvature jumps, shape (e, 2). [mm].

    What slides by s over a jump in curvature k - k' meets a slope of s (k - k'), as under a wedge:
    pressure rises with the logarithm of the distance there (Johnson, *Contact Mechanics*, 1985,
    sec. 5.2, from memory), until it is as small as s.

    Parameters
    ----------
    pairs : Pairs
    points : ndarray, shape (n, 2)
        Nodes of the parted mesh. [mm]
    jump : float
        Of the curvature, from which on it counts. [1/mm]
    slides : ndarray of bool, shape (k,)
        Pairs that touch and can slide.
    """
    start, end = points[pairs.own[pairs.sides]].transpose(1, 0, 2)
    middle = points[pairs.middle[:, 0]]
    (ax, ay), (bx, by) = (middle - start).T, (end - middle).T
    chords = np.hypot(ax, ay) * np.hypot(bx, by) * np.hypot(ax + bx, ay + by)
    curvature = 2 * (ax * by - ay * bx) / chords
    most, least = np.full(len(pairs.own), -np.inf), np.full(len(pairs.own), np.inf)
    for ends in pairs.sides.T:
        np.maximum.at(most, ends, curvature)
        np.minimum.at(least, ends, curvature)
    return points[pairs.own[slides & (most - least > jump)]]


def _inner_neighbours(pairs: Pairs, length: Array, contact: Contact) -> tuple[Integers, Array]:
    """Of each pair one beside it that touches, -1 where none does, and how far it is [mm]."""
    inner = np.full(len(pairs.own), -1)
    away = np.zeros(len(pairs.own))
    for one, other in (pairs.sides.T, pairs.sides.T[::-1]):
        touches = contact.closed[other]
        inner[one[touches]], away[one[touches]] = other[touches], length[touches]
    return inner, away

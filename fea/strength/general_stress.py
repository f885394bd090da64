"""Cycles of a stress with all six components: the criteria of fatigue, for metal of any shape.

The criteria of :mod:`fea.strength.fatigue` are for plane stress; these say the same of a state
that is one, whichever way it lies. MPa.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from fea.strength.fatigue import cycle_between

Array = NDArray[np.float64]

_PULLS = 1e-9
"""Share of the largest stress from which a principal stress is tension."""
_SURE = 1e-6
"""The same, from which its sign is sure in closed form, which takes the root of a rounding."""
_APART = 1e-4
"""Product of its distances to the other two, over the square of the largest stress, from which a
principal stress has a direction that is sure in closed form."""


def general_largest_principal(idle: Array, gas: Array) -> tuple[Array, Array]:
    """Cycles of the stress across the planes of the largest tension at gas, and idle.

    :func:`fea.strength.largest_principal` in three directions. Where nothing pulls, the plane
    that is pushed least of those that are pushed counts: the largest principal stress of a free
    surface that is squeezed is none, across the surface itself.

    Parameters
    ----------
    idle, gas : ndarray, shape (6, ...)
        sxx, syy, szz, sxy, syz, szx at the two ends of the cycle. [MPa]

    Returns
    -------
    amplitude, mean : ndarray, shape (2, ...)
        Across the plane of gas, and that of idle. [MPa]

    References
    ----------
    .. [1] Dowling, *Mechanical Behavior of Materials*, 4th ed., 2013, ch. 9, multiaxial fatigue
       (from memory): the maximum normal stress for brittle metal.

    Examples
    --------
    >>> idle, gas = np.array([[20.0, 0, 30, 0, 0, 0], [10.0, 0, 100, 0, 0, 0]])
    >>> general_largest_principal(idle, gas)
    (array([35., 35.]), array([65., 65.]))
    """
    from fea.solid.stress import along

    across = [_largest_tension(stress) for stress in (gas, idle)]
    low, high = (
        np.stack(np.broadcast_arrays(*(along(end, normal) for normal in across)))
        for end in (idle, gas)
    )
    return cycle_between(*np.broadcast_arrays(low, high))


def _largest_tension(stress: Array) -> Array:
    """Normal of the plane of the largest tension, shape (3, ...).

    In closed form; what is so near to two like principal stresses, or to none, that it tells
    nothing, by a library's own.
    """
    from fea.solid.stress import extremes, principal

    largest, least = extremes(stress)
    size = np.maximum(np.abs(largest), np.abs(least))
    middle = stress[:3].sum(axis=0) - largest - least
    sought = np.where(largest > 0, largest, middle)
    xx, yy, zz = stress[:3] - sought
    xy, yz, zx = stress[3:]
    # across two rows of the stress less its principal value; the longest of the three is surest
    across = np.array(
        [
            [xy * yz - zx * yy, zx * xy - xx * yz, xx * yy - xy * xy],
            [xy * zz - zx * yz, zx * zx - xx * zz, xx * yz - xy * zx],
            [yy * zz - yz * yz, yz * zx - xy * zz, xy * yz - yy * zx],
        ]
    )
    lengths = (across**2).sum(axis=1)
    surest = np.argmax(lengths, axis=0)[None]
    length = np.sqrt(np.take_along_axis(lengths, surest, axis=0)[0])
    normal = np.take_along_axis(across, surest[:, None], axis=0)[0]
    normal = normal / np.where(length > 0, length, 1.0)
    unsure = (length <= _APART * size**2) | (np.abs(largest) <= _SURE * size)
    if unsure.any():
        values, directions = principal(stress[:, unsure])
        pulls = values[0] > _PULLS * np.abs(values).max(axis=0)
        normal[:, unsure] = np.where(pulls, directions[0], directions[1])
    return np.asarray(normal)


def general_signed_von_mises(idle: Array, gas: Array) -> tuple[Array, Array]:
    """Cycle of von Mises stress that has the sign of the first invariant.

    :func:`fea.strength.signed_von_mises` with all components.

    Parameters
    ----------
    idle, gas : ndarray, shape (6, ...)
        sxx, syy, szz, sxy, syz, szx at the two ends of the cycle. [MPa]

    Returns
    -------
    amplitude, mean : ndarray, shape (1, ...)
        [MPa]

    References
    ----------
    .. [1] Dowling, *Mechanical Behavior of Materials*, 4th ed., 2013, ch. 9, multiaxial fatigue
       (from memory): octahedral shear for ductile metal, its mean by the first invariant.

    Examples
    --------
    >>> idle, gas = np.zeros(6), np.array([0.0, 0.0, 100.0, 0.0, 0.0, 0.0])
    >>> general_signed_von_mises(-0.4 * gas, gas)
    (array([70.]), array([30.]))
    """
    from fea.solid.stress import von_mises

    low, high = (
        np.where(stress[:3].sum(axis=0) < 0, -1.0, 1.0) * von_mises(stress)
        for stress in (idle, gas)
    )
    return cycle_between(*np.broadcast_arrays(low[None], high[None]))


GENERAL_CRITERIA: dict[str, Callable[[Array, Array], tuple[Array, Array]]] = {
    "largest principal": general_largest_principal,
    "signed von Mises": general_signed_von_mises,
}
"""As :data:`fea.strength.CRITERIA`, of states of stress with six components, shape (6, ...)."""

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
    low, high = (np.stack([along(end, normal) for normal in across]) for end in (idle, gas))
    return cycle_between(low, high)


def _largest_tension(stress: Array) -> Array:
    """Normal of the plane of the largest tension, shape (3, ...)."""
    from fea.solid.stress import principal

    values, directions = principal(stress)
    pulls = values[0] > _PULLS * np.abs(values).max(axis=0)
    return np.asarray(np.where(pulls, directions[0], directions[1]))


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
    return cycle_between(low[None], high[None])


GENERAL_CRITERIA: dict[str, Callable[[Array, Array], tuple[Array, Array]]] = {
    "largest principal": general_largest_principal,
    "signed von Mises": general_signed_von_mises,
}
"""As :data:`fea.strength.CRITERIA`, of states of stress with six components, shape (6, ...)."""

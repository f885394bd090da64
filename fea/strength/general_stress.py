"""Cycles of a stress with all six components: the criteria of fatigue, for metal of any shape.

The criteria of :mod:`fea.strength.fatigue` are for plane stress; these say the same of a state
that is one, whichever way it lies. MPa.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_PULLS = 1e-9
"""Share of the largest stress from which a principal stress is tension."""


def stress_tensor(stress: Array) -> Array:
    """Components as a symmetric tensor.

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        sxx, syy, szz, sxy, syz, szx. [MPa]

    Returns
    -------
    ndarray, shape (..., 3, 3)
        [MPa]
    """
    xx, yy, zz, xy, yz, zx = stress
    rows: Array = np.array([[xx, xy, zx], [xy, yy, yz], [zx, yz, zz]])
    return np.moveaxis(rows, (0, 1), (-2, -1))


def general_principal(stress: Array) -> Array:
    """Principal stresses, the largest first.

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        sxx, syy, szz, sxy, syz, szx. [MPa]

    Returns
    -------
    ndarray, shape (3, ...)
        [MPa]

    Examples
    --------
    >>> general_principal(np.array([0.0, 0.0, 10.0, 0.0, 0.0, 30.0])).round(3)
    array([ 35.414, 0. , -25.414])
    """
    values: Array = np.asarray(np.linalg.eigvalsh(stress_tensor(stress)), dtype=float)
    return np.moveaxis(values[..., ::-1], -1, 0)


def general_von_mises(stress: Array) -> Array:
    r"""Equivalent stress.

    .. math:: \sqrt{\tfrac12 [(\sigma_{xx} - \sigma_{yy})^2 + (\sigma_{yy} - \sigma_{zz})^2
              + (\sigma_{zz} - \sigma_{xx})^2]
              + 3 (\sigma_{xy}^2 + \sigma_{yz}^2 + \sigma_{zx}^2)}

    Parameters
    ----------
    stress : ndarray, shape (6, ...)
        sxx, syy, szz, sxy, syz, szx. [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    References
    ----------
    .. [1] von Mises, *Göttinger Nachrichten* (1913) 582-592 (from memory).

    Examples
    --------
    >>> float(general_von_mises(np.array([50.0, 50.0, 50.0, 10.0, 0.0, 0.0])).round(3))
    17.321
    """
    xx, yy, zz, xy, yz, zx = stress
    apart = ((xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2) / 2
    return np.asarray(np.sqrt(apart + 3 * (xy**2 + yz**2 + zx**2)))


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
    tensors = stress_tensor(idle), stress_tensor(gas)
    across = [_largest_tension(tensor) for tensor in tensors[::-1]]
    low, high = (
        np.stack([np.einsum("...i,...ij,...j", n, tensor, n) for n in across]) for tensor in tensors
    )
    return np.asarray(np.abs(high - low) / 2), np.asarray((low + high) / 2)


def _largest_tension(tensor: Array) -> Array:
    """Normal of the plane of the largest tension, shape (..., 3)."""
    values, directions = np.linalg.eigh(tensor)
    pulls = values[..., 2] > _PULLS * np.abs(values).max(axis=-1)
    return np.asarray(np.where(pulls[..., None], directions[..., 2], directions[..., 1]))


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
    low, high = (
        np.where(stress[:3].sum(axis=0) < 0, -1.0, 1.0) * general_von_mises(stress)
        for stress in (idle, gas)
    )
    return np.abs(high - low)[None] / 2, (low + high)[None] / 2


GENERAL_CRITERIA: dict[str, Callable[[Array, Array], tuple[Array, Array]]] = {
    "largest principal": general_largest_principal,
    "signed von Mises": general_signed_von_mises,
}
"""As :data:`fea.strength.CRITERIA`, of states of stress with six components, shape (6, ...)."""

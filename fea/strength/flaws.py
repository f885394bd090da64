r"""What flaws and roughness leave of the fatigue strength of plain metal.

A pore is a small crack of its area seen along the pull: the root of that area, the area parameter,
is its size. The stress intensity of one at a surface is

.. math:: \Delta K = Y\, \Delta\sigma \sqrt{\pi \sqrt{\text{area}}}, \qquad Y = 0.65

A long crack stops at a threshold, metal without flaws bears a stress; between the two the curve of
El Haddad runs smoothly (diagram of Kitagawa and Takahashi).

References
----------
.. [1] Murakami, *Metal Fatigue: Effects of Small Defects and Nonmetallic Inclusions*, 2002 (from
   memory).
.. [2] El Haddad, Smith & Topper, *Eng. Fract. Mech.* 11 (1979) 573-584 (from memory).
.. [3] Kitagawa & Takahashi, *2nd Int. Conf. Mechanical Behavior of Materials*, 1976 (from memory).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SURFACE_SHAPE = 0.65
"""Y of a flaw at a surface, for the root of its area: Murakami (from memory)."""
PORE_SCATTER = 0.3
"""Standard deviation of the size of the largest pore over it, from casting to casting (common
practice, no source)."""
PORE_CLASSES = {
    "hot isostatically pressed": (0.05, 0.3, 2.0),
    "permanent mould, degassed": (0.2, 0.3, 1.5),
    "sand, degassed": (0.4, 0.3, 1.5),
    "as poured": (0.8, 0.4, 2.0),
}
"""Largest pore at a cut by how a casting is made: its median diameter [mm], the standard deviation
of its logarithm from casting to casting, and the factor that the median may be off by to either
side (all from memory: no table of a distribution could be opened). What fatigue of Al-7Si-Mg
castings starts from is distributed by Gumbel's law (Tiryakioglu, *Metall. Mater. Trans. A* 40,
2009, its abstract opened); a lognormal of the same median and deviation of 0.3 is within 8 % of it
from the 5th to the 95th of 100."""
WHERE = {"surface": 1.43, "touching": 1.41, "inside": 1.56}
"""Murakami's factor of a flaw at a surface, just below it, and inside (from memory)."""
ROUGHNESS = {True: (0.20, 133.0), False: (0.22, 133.0)}
"""FKM's slope a_R and least tensile strength [MPa] of cast and of wrought aluminium."""


def area_parameter(diameter: ArrayLike) -> Array:
    """Root of the area of a round pore, of the same shape and unit as its diameter."""
    return np.asarray(math.sqrt(math.pi) / 2 * np.asarray(diameter, dtype=float))


def murakami_limit(
    hardness: ArrayLike, size: ArrayLike, *, where: str = "surface", ratio: float = -1.0
) -> Array:
    r"""Amplitude that metal with a small flaw bears without end, by its hardness.

    .. math:: \sigma_w = C\, \frac{HV + 120}{(\sqrt{\text{area}})^{1/6}}
              \left(\frac{1 - R}{2}\right)^{0.226 + 10^{-4} HV}

    A fit to steels. Of A356-T6 other ways were found the accurate ones [2]_, so that no rating goes
    by it.

    Parameters
    ----------
    hardness : array_like, shape (...)
        Vickers.
    size : array_like, shape (...)
        Root of the flaw's area, 0.01 to 1. [mm]
    where : str
        Of ``WHERE``.
    ratio : float
        Least stress over the largest.

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    Raises
    ------
    KeyError
        If there is no such place.

    References
    ----------
    .. [1] As in the module.
    .. [2] Roy, Nadot, Nadot-Martin, Bardin & Maijer, arXiv 1206.2343, abstract.

    Examples
    --------
    >>> [round(float(murakami_limit(380, 0.05, where=of)), 1) for of in ("surface", "inside")]
    [372.5, 406.4]
    """
    hardness = np.asarray(hardness, dtype=float)
    root = (1000 * np.asarray(size, dtype=float)) ** (1 / 6)
    power = 0.226 + 1e-4 * hardness
    return np.asarray(WHERE[where] * (hardness + 120) / root * ((1 - ratio) / 2) ** power)


def short_crack_length(
    threshold: ArrayLike, stress_range: ArrayLike, shape: float = SURFACE_SHAPE
) -> Array:
    r"""Size of a flaw that halves the square of what plain metal bears.

    .. math:: a_0 = \frac{1}{\pi} \left(\frac{\Delta K_{th}}{Y\, \Delta\sigma_0}\right)^2

    Parameters
    ----------
    threshold : array_like, shape (...)
        Range of stress intensity below which a long crack does not grow. [MPa sqrt(m)]
    stress_range : array_like, shape (...)
        That plain metal bears, at the same load ratio. [MPa]
    shape : float
        Y.

    Returns
    -------
    ndarray, shape (...)
        [mm]

    Examples
    --------
    >>> round(float(short_crack_length(4.0, 200.0)), 4)
    0.3014
    """
    from fea.strength.distance import critical_distance

    return critical_distance(threshold, stress_range) / shape**2


def flaw_share(size: ArrayLike, length: ArrayLike) -> Array:
    r"""What a flaw leaves of the fatigue strength of plain metal.

    .. math:: \frac{\Delta\sigma}{\Delta\sigma_0} = \sqrt{\frac{a_0}{a + a_0}}

    Parameters
    ----------
    size : array_like, shape (...)
        Of the flaw, not negative. [mm]
    length : array_like, shape (...)
        :func:`short_crack_length`. [mm]

    Returns
    -------
    ndarray, shape (...)

    Examples
    --------
    >>> flaw_share([0.0, 0.3], 0.1)
    array([1. , 0.5])
    """
    size, length = np.asarray(size, dtype=float), np.asarray(length, dtype=float)
    return np.sqrt(length / (size + length))


def long_crack_range(threshold: ArrayLike, size: ArrayLike, shape: float = SURFACE_SHAPE) -> Array:
    """Range of stress that a crack bears by its threshold alone, shape (...). [MPa].

    Parameters
    ----------
    threshold : array_like, shape (...)
        [MPa sqrt(m)]
    size : array_like, shape (...)
        [mm]
    shape : float
        Y.
    """
    size = np.asarray(size, dtype=float)
    return np.asarray(threshold) / (shape * np.sqrt(np.pi * size / 1000))


def roughness_share(roughness: ArrayLike, tensile: ArrayLike, *, cast: bool) -> Array:
    r"""What a rough surface leaves of the fatigue strength of polished metal.

    .. math:: K_R = 1 - a_R \lg R_z\, \lg \frac{2 R_m}{R_{m,N,min}}

    Parameters
    ----------
    roughness : array_like, shape (...)
        Mean peak to valley height Rz; below 1 um nothing is lost. [um]
    tensile : array_like, shape (...)
        Ultimate tensile strength. [MPa]
    cast : bool
        Cast aluminium, or wrought.

    Returns
    -------
    ndarray, shape (...)
        At most 1.

    References
    ----------
    .. [1] FKM guideline, roughness factor: formula from memory, constants as an open library gives
       them (pylife).

    Examples
    --------
    >>> roughness_share([6.3, 25.0, 100.0, 200.0], 262.0, cast=True).round(4)
    array([0.9048, 0.8335, 0.7618, 0.726 ])
    """
    slope, least = ROUGHNESS[cast]
    height = np.log10(np.maximum(np.asarray(roughness, dtype=float), 1.0))
    strong = np.log10(2 * np.asarray(tensile, dtype=float) / least)
    return np.asarray(1 - slope * height * np.maximum(strong, 0.0))

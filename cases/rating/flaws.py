"""What casting, pores and the surface leave of the fatigue strength that bars have.

Casting quality stands for what is not known of a casting. Where its largest pore is stated, that
counts in its place. Of pore, roughness and, where stress is steep, the critical distance the
harsher counts, never their product: each is a flaw that a crack may start from.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cases.base.parts import PARENT_PARTS
from cases.rating.steep import critical_distances
from fea.material import REFERENCE
from fea.strength import SURFACE_SHAPE, area_parameter, flaw_share, roughness_share

if TYPE_CHECKING:
    from cases.rating.given import Rating
    from fea.material import Material

Array = NDArray[np.float64]

BLOCK_PARTS = (*PARENT_PARTS, "floor")
"""Parts of the block's own metal, whose pores and surface are stated."""


def has_pore(wishes: Rating, material: Material, part: str) -> bool:
    """Whether a pore is stated of the metal of a part."""
    return wishes.pore is not None and material.cast and part in BLOCK_PARTS


def class_words(wishes: Rating) -> str:
    """Where a pore stands for a casting class, to follow its size; empty where it is stated."""
    return f" of castings {wishes.casting_class} (from memory)" if wishes.casting_class else ""


def pore_share(
    wishes: Rating, material: Material, *, threshold: ArrayLike = 0.0, size: ArrayLike = 1.0
) -> Array:
    """What the stated pore leaves of the fatigue strength of metal without any.

    By the curve of El Haddad, its size the root of the area of a round pore, for the cycles that
    the warm engine has to last: for fewer a pore matters less.

    Parameters
    ----------
    wishes : Rating
        With a pore.
    material : Material
        With a fatigue strength and a threshold.
    threshold : array_like, shape (...)
        -1 for the least of the threshold, 0 for the usual one, 1 for the most.
    size : array_like, shape (...)
        Factor on the size of the pore.
    """
    lengths = critical_distances(wishes, material)
    assert lengths is not None
    assert wishes.pore is not None
    drawn = np.asarray(threshold, dtype=float)
    length = np.interp(drawn, [-1.0, 0.0, 1.0], np.sqrt(lengths)) ** 2 / SURFACE_SHAPE**2
    return flaw_share(area_parameter(wishes.pore) * np.asarray(size), length)


def surface_share(wishes: Rating, material: Material, part: str) -> float:
    """What the stated roughness leaves of the fatigue strength of polished metal."""
    if wishes.surface is None or part not in BLOCK_PARTS or not material.tensile_points:
        return 1.0
    tensile = material.tensile_strength(REFERENCE)
    return float(roughness_share(1000 * wishes.surface, tensile, cast=material.cast))


def fatigue_left(
    wishes: Rating,
    material: Material,
    part: str,
    by_distance: ArrayLike = False,
    *,
    threshold: ArrayLike = 0.0,
    size: ArrayLike = 1.0,
) -> Array:
    """Share of the fatigue strength of bars that metal of a part has, by its flaws.

    Parameters
    ----------
    wishes : Rating
    material : Material
    part : str
    by_distance : array_like of bool, shape (...)
        Whether a place is judged by the critical distance, which then stands for a stated pore.
    threshold, size : array_like, shape (...)
        As of :func:`pore_share`.

    Returns
    -------
    ndarray, shape (...)
    """
    rough = surface_share(wishes, material, part)
    if has_pore(wishes, material, part) and critical_distances(wishes, material):
        pored = pore_share(wishes, material, threshold=threshold, size=size)
        return np.asarray(np.where(by_distance, 1.0, np.minimum(pored, rough)))
    return np.asarray(rough * (wishes.casting_quality if material.cast else 1.0))

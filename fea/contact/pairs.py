"""The pairs of nodes along a joint, and how a part is fitted at them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.elasticity import S_SHAPES, S_WEIGHT, S, edge_points
from fea.material import ABSOLUTE_ZERO, Points
from geometry.parted import Joint, Parted

Array = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, slots=True)
class Compound:
    """What is wet while a part is pressed in, and cures in its joint: an adhesive or a resin.

    Raises
    ------
    ValueError
        If there is no strength at any temperature, one is negative, temperatures don't rise, or a
        gap or friction is negative.
    """

    tension: Points  # strength by temperature [MPa]
    shear: Points  # the same along the joint, where nothing presses [MPa]
    fills: float  # largest gap of a side that it fills [mm]
    friction: float  # Coulomb's coefficient with it in the joint, wet, and cured and broken

    def __post_init__(self) -> None:
        for name in ("tension", "shear"):
            points = getattr(self, name)
            if not points:
                raise ValueError(f"the compound has no {name} strength at any temperature.")
            for at, strength in points:
                if not (ABSOLUTE_ZERO <= at < np.inf and 0 <= strength < np.inf):
                    raise ValueError(
                        f"the compound's {name} strength of {strength:g} MPa at {at:g} degC must "
                        "not be negative, nor its temperature below absolute zero."
                    )
            for (low, _), (high, _) in pairwise(points):
                if not low < high:
                    raise ValueError(
                        f"the compound's {name} strength at {low:g} degC stands before that at "
                        f"{high:g} degC. Give the temperatures in rising order, each once."
                    )
        for name, unit in (("fills", " mm"), ("friction", "")):
            value = getattr(self, name)
            if not 0 <= value < np.inf:
                raise ValueError(f"the compound's {name} = {value:g}{unit} must not be negative.")

    def strengths(self, temperature: ArrayLike) -> tuple[Array, Array]:
        """Tension and shear strength, each of shape (...), at temperatures (...) [degC]. [MPa].

        Linear between the points, as at the first below it, and none above the last: what is not
        known of hot compound does not hold.

        Examples
        --------
        >>> warm = Compound(tension=((20, 12),), shear=((20, 20), (120, 8)), fills=0.1, friction=0)
        >>> tension, shear = warm.strengths([0, 20, 70, 130])
        >>> tension
        array([12., 12.,  0.,  0.])
        >>> shear
        array([20., 20., 14.,  0.])
        """
        found = []
        for points in (self.tension, self.shear):
            at, strength = np.array(points, dtype=float).T
            found.append(np.interp(np.asarray(temperature, dtype=float), at, strength, right=0.0))
        return found[0], found[1]


@dataclass(frozen=True, kw_only=True, slots=True)
class Fit:
    """How a part is fitted against one part of the rest.

    Raises
    ------
    ValueError
        If a number is not finite, friction is negative, or it is bonded and has a compound.
    """

    overlap: float = 0.0  # of each side: half the interference on the diameter; < 0 clear [mm]
    more: Callable[[Array], Array] | None = None  # overlap beside it at places (k, 2) [mm]
    friction: float = 0.0  # Coulomb's coefficient, dry
    bonded: bool = False  # can neither open nor slide
    compound: Compound | None = None  # cures once the part is pressed in

    def __post_init__(self) -> None:
        if self.bonded and self.compound:
            raise ValueError("what is bonded can't open, so a compound holds nothing there.")
        if not np.isfinite(self.overlap):
            raise ValueError(f"overlap = {self.overlap:g} mm must be a number.")
        if not 0 <= self.friction < np.inf:
            raise ValueError(f"friction = {self.friction:g} must not be negative.")


def overlaps_at(fits: Sequence[Fit], places: Array) -> Array:
    """Overlap of each of some pairs at its place.

    Parameters
    ----------
    fits : sequence of Fit
        Of each pair.
    places : ndarray, shape (k, 2)
        [mm]

    Returns
    -------
    ndarray, shape (k,)
        [mm]
    """
    overlap = np.array([fit.overlap for fit in fits])
    for fit in {id(fit): fit for fit in fits if fit.more}.values():
        of = np.array([one is fit for one in fits])
        assert fit.more is not None
        overlap[of] += fit.more(places[of])
    return overlap


@dataclass(frozen=True, eq=False, slots=True)
class Pairs:
    """Joints node by node, one after the other.

    Attributes
    ----------
    own, other : ndarray, shape (k,)
        Corner nodes of the part and of the rest.
    sides : ndarray, shape (m, 2)
        The two pairs of each side of a joint.
    middle : ndarray, shape (m, 2)
        Mid-side node of the part, and of the rest.
    along : ndarray of str, shape (m,)
        Part of the rest that each side stands against.
    normal : ndarray, shape (k, 2)
        Out of the part.
    area : ndarray, shape (k,)
        Of contact that belongs to the pair, over the depth that touches. [mm2]
    part, against : ndarray of str, shape (k,)
        Part on its own, and part of the rest; where two meet, that of the larger area.
    gap : ndarray, shape (k,)
        At which the part stands off before it is fitted. [mm]
    """

    own: Integers
    other: Integers
    sides: Integers
    middle: Integers
    along: NDArray[np.str_]
    normal: Array
    area: Array
    part: NDArray[np.str_]
    against: NDArray[np.str_]
    gap: Array

    def faces(self, of: Flags) -> Flags:
        """Pairs of a choice that lie on plain faces; all of it where none does, shape (k,).

        Where the part stands off, at a rounded corner, it is not meant to touch.
        """
        plain = of & (self.gap == 0)
        return plain if plain.any() else of

    @property
    def side(self) -> list[tuple[str, str]]:
        """Part on its own and part of the rest, pair by pair."""
        return list(zip(self.part.tolist(), self.against.tolist(), strict=True))

    def of(self, part: str) -> Pairs:
        """The joint of one part, its pairs in the order of ``np.flatnonzero(self.part == part)``.

        Sides are in the numbers of that joint.
        """
        ours = self.part == part
        sides = ours[self.sides[:, 0]]
        number = np.cumsum(ours) - 1
        return Pairs(
            self.own[ours], self.other[ours], number[self.sides[sides]], self.middle[sides],
            self.along[sides], self.normal[ours], self.area[ours], self.part[ours],
            self.against[ours], self.gap[ours],
        )  # fmt: skip

    @property
    def tangent(self) -> Array:
        """The normal turned a quarter counter-clockwise, shape (k, 2)."""
        return np.stack([-self.normal[:, 1], self.normal[:, 0]], axis=1)


def pairs_of(parted: Parted) -> Pairs:
    """The pairs of nodes of all joints.

    Parameters
    ----------
    parted : Parted
    """
    return _one_after_the_other(_pairs_along(joint, parted.mesh.points) for joint in parted.joints)


def _one_after_the_other(joints: Iterable[Pairs]) -> Pairs:
    """Pairs of several joints in common numbers."""
    found = list(joints)
    first = np.cumsum([0, *(len(pairs.own) for pairs in found)])
    sides = [pairs.sides + start for pairs, start in zip(found, first[:-1], strict=True)]
    rest = ("own", "other", "middle", "along", "normal", "area", "part", "against", "gap")
    return Pairs(
        sides=np.concatenate(sides),
        **{name: np.concatenate([getattr(pairs, name) for pairs in found]) for name in rest},
    )


def _pairs_along(joint: Joint, points: Array) -> Pairs:
    """The pairs of one joint; ``points`` are the nodes of the mesh, shape (n, 2)."""
    _, (dx, dy) = edge_points(points[joint.own].transpose(2, 1, 0))
    depth = np.einsum("ap,ka->pk", S_SHAPES, joint.depth)
    hats = np.stack([1 - S, S])[:, :, None] * S_WEIGHT[:, None]  # (2, points, 1)
    outward = np.stack([(hats * dy).sum(1), -(hats * dx).sum(1)])  # (2, 2, k)
    area = (hats * np.hypot(dx, dy) * depth).sum(1)  # (2, k)

    own, sides = np.unique(joint.own[:, :2], return_inverse=True)
    sides = sides.reshape(-1, 2)
    other = np.empty(len(own), dtype=np.int64)
    other[sides] = joint.other[:, :2]
    normal = np.stack([np.bincount(sides.T.ravel(), of.ravel(), len(own)) for of in outward], 1)
    normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
    names = np.unique(joint.against)
    by_name = np.stack(
        [
            np.bincount(sides[joint.against == name].T.ravel(),
                        area[:, joint.against == name].ravel(), len(own))
            for name in names
        ]
    )  # fmt: skip
    middle = np.stack([joint.own[:, 2], joint.other[:, 2]], axis=1)
    against = names[by_name.argmax(axis=0)]
    part = np.full(len(own), joint.part)
    gap = np.zeros(len(own))
    gap[sides] = joint.gap[:, :2]
    area = by_name.sum(axis=0)
    return Pairs(own, other, sides, middle, joint.against, normal, area, part, against, gap)

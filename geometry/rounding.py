"""An insert's edges as they are cut: rounder corners than the pocket's, and broken edges.

An insert that is drawn fills its pocket from corner to corner. One that is made has no knife edge:
its outer corners have a larger radius than the fillets of the pocket, tangent to the same two
faces, and what is left sharp is broken. Neither takes metal from the section; both are the gap at
which the insert stands off the pocket before anything is pressed. The metal that a corner lacks is
small and is counted nowhere: (R^2 - r^2) (1 - pi / 4) in a right corner of pocket fillet r and
insert radius R, 0.7 mm2 for 3 and 3.5 mm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry import planar
from geometry.planar import Curve

CORNER_EXTRA = 0.5
"""How much larger than the pocket's fillet an insert's corner is made where nothing is said. [mm].

Common practice, no source: next up in the set of cutters and radius gauges, which go by half
millimetres; a corner cut to the fillet's own radius rides on it as soon as either is off.
"""

INSIDE_RADIUS = 1.5
"""Radius of an insert's inside corners where nothing is said. [mm].

Common practice, no source: that of a 3 mm end mill, the smallest that a shop likes to use at the
depth of an insert. The block's edge in the corner is dressed to clear it.
"""

ON_CURVE = 1e-3
"""A point this near to a curve lies on it. [mm]."""


@dataclass(frozen=True, slots=True)
class Rounding:
    """The edges of a part that is cut rounder than the pocket it fills.

    Attributes
    ----------
    part : str
    corners : tuple of tuple of Curve
        Stretch of the pocket's edge, the part on its left, and the part's arc that faces it.
    edge_break : float
        Radius to which edges are broken where the joint ends or turns sharply, and along the
        underside. [mm]
    """

    part: str
    corners: tuple[tuple[Curve, Curve], ...] = ()
    edge_break: float = 0.0

    def corner_gap(self, z: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Distance from points of the pocket's edge, along its normal, to the part's corners.

        Parameters
        ----------
        z : ndarray, shape (n,)
            [mm]

        Returns
        -------
        ndarray, shape (n,)
            0 beyond the tangent points of the corners. [mm]

        Notes
        -----
        At a point z of the edge with the normal n into the part, z + g n lies on the arc about c:
        with d = z - c, g = -d.n - sqrt((d.n)^2 - d^2 + R^2).
        """
        gap = np.zeros(len(z))
        for edge, arc in self.corners:
            near = np.flatnonzero(np.abs(z - edge.point(0.5)) <= edge.length)
            if not len(near):
                continue
            at = z[near]
            along = planar.Curves.of([edge] * len(near))
            share = along.share(at).clip(0, 1)
            here = np.abs(along.points(share) - at) <= ON_CURVE
            inward = 1j * along.direction(share)
            d = along.points(share) - arc.centre
            way = (d.conj() * inward).real
            across = np.maximum(way**2 - np.abs(d) ** 2 + arc.radius**2, 0.0)
            found = np.where(here, np.maximum(-way - np.sqrt(across), 0.0), 0.0)
            gap[near] = np.maximum(gap[near], found)
        return gap

    def edge_gap(
        self, z: NDArray[np.complex128], edges: NDArray[np.complex128]
    ) -> NDArray[np.float64]:
        """Gap beside broken edges: s^2 / (2 R), s from where the rounding begins.

        Parameters
        ----------
        z, edges : ndarray, shapes (n,) and (m,)
            Points of the joint, and edges. [mm]

        Returns
        -------
        ndarray, shape (n,)
            [mm]
        """
        if not (len(edges) and self.edge_break):
            return np.zeros(len(z))
        away = np.abs(z[:, None] - edges).min(axis=1)
        rounded: NDArray[np.float64] = np.maximum(self.edge_break - away, 0.0) ** 2
        return rounded / (2 * self.edge_break)


def facing(
    loop: Sequence[Curve],
    corner: int,
    pocket: planar.Fillet | None,
    insert: planar.Fillet,
) -> list[tuple[Curve, Curve]]:
    """Stretches of a pocket's edge between the ends of an insert's corner, each with that corner.

    Parameters
    ----------
    loop : sequence of Curve
        Edge of the pocket, open side on the left, its corners sharp.
    corner : int
        Piece that leaves the corner.
    pocket, insert : Fillet
        Of the pocket, None where it is sharp, and of the insert; of the same loop.
    """
    (first, begins), (last, ends) = insert.leaves, insert.joins
    n = len(loop)
    if pocket is None:
        (leaves, out), (joins, back) = ((corner - 1) % n, 1.0), (corner, 0.0)
    else:
        (leaves, out), (joins, back) = pocket.leaves, pocket.joins
    edge = [
        *between(loop, (first, begins), (leaves, out)),
        *([] if pocket is None else [pocket.arc]),
        *between(loop, (joins, back), (last, ends)),
    ]
    return [(curve, insert.arc) for curve in edge]


def between(loop: Sequence[Curve], start: tuple[int, float], end: tuple[int, float]) -> list[Curve]:
    """Pieces of a loop from one place (piece, share of its length) to another further on."""
    (first, low), (last, high) = start, end
    steps = (last - first) % len(loop)
    pieces = []
    for step in range(steps + 1):
        piece = loop[(first + step) % len(loop)]
        begins, ends = (low if step == 0 else 0.0), (high if step == steps else 1.0)
        if (ends - begins) * piece.length > planar.SNAP:
            pieces.append(piece.part(begins, ends))
    return pieces

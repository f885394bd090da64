"""What a solid does down a wall: growth of the bore by depth, stress at a place by depth."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cases.solid.result import PartField, SolidSpot, SolidState
from fea.bore import POSITIONS, harmonics
from geometry.clock import clock_to_angle
from geometry.solid.mesh import SolidMesh

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

SAME_COLUMN = 1e-4
"""Nodes whose places in plan differ by less stand over one another. [mm]."""

DEPTH_COUNTS = 0.1
"""What a mm of depth counts beside one in plan, to find a column: those of drafted walls lean."""


def columns_of(points: Array) -> Integers:
    """Number of the column that each node stands in, shape (k,), of places (k, 3) [mm]."""
    _, number = np.unique(
        np.round(points[:, :2] / SAME_COLUMN).astype(np.int64), axis=0, return_inverse=True
    )
    return np.asarray(number).ravel()


def growth_down(mesh: SolidMesh, displacement: Array) -> tuple[Array, Array, float]:
    """Growth of the bore at 360 clock positions, at depths from the deck down.

    Each level is read as that of a section is: outward, the rigid translation taken out. Between
    nodes a spline around the bore, along it straight lines.

    Parameters
    ----------
    mesh : SolidMesh
        With "bore" among its sides.
    displacement : ndarray, shape (n, 3)
        [mm]

    Returns
    -------
    depth : ndarray, shape (d,)
        [mm]
    growth : ndarray, shape (d, 360)
        [um]
    shift : float
        Translation of the edge at the deck. [um]
    """
    from scipy.interpolate import CubicSpline

    nodes = np.unique(mesh.sides["bore"])
    points = mesh.points[nodes]
    angle = np.arctan2(points[:, 1], points[:, 0])
    outward = displacement[nodes, 0] * np.cos(angle) + displacement[nodes, 1] * np.sin(angle)
    column = columns_of(points)
    count = int(column.max()) + 1
    around = np.empty(count)
    around[column] = np.mod(angle, 2 * np.pi)
    # of the column with most nodes, which are all levels of a mesh whose layers lie flat here
    longest = column == np.argmax(np.bincount(column))
    depth = np.sort(-points[longest, 2])
    at_levels = np.empty((len(depth), count))
    order = np.lexsort((-points[:, 2], column))
    for one, own in zip(
        range(count), np.split(order, np.cumsum(np.bincount(column))[:-1]), strict=True
    ):
        at_levels[:, one] = np.interp(depth, -points[own, 2], outward[own])
    turn = np.argsort(around)
    wanted = clock_to_angle(np.arange(POSITIONS) * 12.0 / POSITIONS)
    knots = np.append(around[turn], around[turn[0]] + 2 * np.pi)
    values = np.column_stack([at_levels[:, turn], at_levels[:, turn[0]]])
    spline = CubicSpline(knots, values, axis=1, bc_type="periodic")
    growth = 1000 * spline(np.mod(wanted - knots[0], 2 * np.pi) + knots[0])
    shifts = []
    for level in growth:
        _, cosine, sine = harmonics(wanted, level, 1)
        level -= cosine[0] * np.cos(wanted) + sine[0] * np.sin(wanted)
        shifts.append(float(np.hypot(cosine[0], sine[0])))
    return depth, growth, shifts[0]


def stress_down(state: SolidState, spot: SolidSpot) -> tuple[Array, Array]:
    """Largest principal stress by depth where a spot lies in plan, in its part.

    Read in the column of nodes of that part that stands nearest.

    Parameters
    ----------
    state : SolidState
        Of the design that the spot is of, or of another on the same block.
    spot : SolidSpot

    Returns
    -------
    depth : ndarray, shape (d,)
        Rising; empty where the state has no such part. [mm]
    principal : ndarray, shape (d,)
        [MPa]
    """
    fields = [field for field in state.fields if field.part == spot.part]
    if not fields:
        return np.zeros(0), np.zeros(0)
    field: PartField = fields[0]
    points = state.mesh.points[field.nodes]
    off = points - [spot.x_mm, spot.y_mm, -spot.depth_mm]
    nearest = int(np.argmin(np.hypot(*off[:, :2].T) + DEPTH_COUNTS * np.abs(off[:, 2])))
    drawn = state.mesh.drawn[field.nodes]
    own = np.flatnonzero(np.hypot(*(drawn - drawn[nearest]).T) < 2 * SAME_COLUMN)
    own = own[np.argsort(-points[own, 2])]
    return -points[own, 2], field.principal[own]

"""Stress and wall thickness against clock position about the firing bore."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cases.base.parts import PARENT_PARTS
from cases.block.features import at_pocket, features
from fea.stress import hoop, principal
from geometry.clock import clock_of, clock_to_angle, hours_between
from geometry.runs import runs
from geometry.section import Block, ReliefCut
from geometry.section_mesh import TRIANGLE_SIDES

if TYPE_CHECKING:
    from cases.stress.result import DesignResult

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Trace:
    """Hoop stress along a line around the firing bore, in clock order from 12:00."""

    clock_hours: Floats  # (n,) rising, 0 <= h < 12
    radius_mm: Floats  # (n,), NaN where the line has no metal of this bore's barrel
    hoop_mpa: Floats  # (n,), NaN there too
    wall_mm: Floats  # (n,) barrel metal between its inside and here, liner not counted


def bore_wall(design: DesignResult) -> Trace:
    """Hoop stress on the bore wall, in the innermost part.

    Returns
    -------
    Trace
        At every node of the firing bore's edge; ``wall_mm`` is 0.
    """
    edge = np.unique(design.mesh.edges["bore"])
    hours, radius, stress = [], [], []
    taken = np.zeros(len(design.mesh.points), dtype=bool)
    for layer in design.stresses:
        here = np.isin(layer.nodes, edge) & ~taken[layer.nodes]
        taken[layer.nodes[here]] = True
        x, y = design.mesh.points[layer.nodes[here]].T
        hours.append(clock_of(x, y))
        radius.append(np.hypot(x, y))
        stress.append(hoop(layer.stress[:, here], x, y))
    order = np.argsort(np.concatenate(hours))
    radii = np.concatenate(radius)[order]
    return Trace(
        np.concatenate(hours)[order], radii, np.concatenate(stress)[order], np.zeros(len(radii))
    )


def barrel_face(design: DesignResult, count: int = 1440) -> Trace:
    """Largest hoop stress at the barrel's outer side, against clock position.

    The outer side is where barrel metal first ends on the way out: the jacket face, the fit of an
    insert or the foot of a tie. In a relief cut it is the side of the pocket and the outer end of
    its floor, whichever is pulled harder. Where barrels run together there is none up to mid-pitch.

    Parameters
    ----------
    design : DesignResult
    count : int
        Number of clock positions.

    Returns
    -------
    Trace
        At equal steps from 12:00, by straight lines between quarter points of curved sides.
    """
    barrel = [layer for layer in design.stresses if layer.part == "barrel"]
    nodes = np.concatenate([layer.nodes for layer in barrel])
    points = design.mesh.points[nodes]
    stress = np.concatenate([layer.stress for layer in barrel], axis=1)
    starts = np.cumsum([0, *(len(layer.nodes) for layer in barrel)])
    own = np.concatenate([x.triangles + start for x, start in zip(barrel, starts, strict=False)])
    sides = own[:, TRIANGLE_SIDES].reshape(-1, 3)
    axes = design.section.block.axes  # a neighbour's barrel begins at mid-pitch
    left = max((axis / 2 for axis in axes if axis < 0), default=-np.inf)
    right = min((axis / 2 for axis in axes if axis > 0), default=np.inf)
    sides = sides[((points[sides, 0] >= left) & (points[sides, 0] <= right)).all(axis=1)]

    borders, met_once = sides[_met_once(nodes[sides])], sides[_met_once(sides)]
    finer, _, borders = _halved(points, stress.T, borders)
    ray, share, ends = _ray_crossings(finer, borders, count)
    radius = np.hypot(*_on_sides(finer, ends, share).T)
    order = np.lexsort([radius, ray])
    ray, radius = ray[order], radius[order]
    first = np.searchsorted(ray, np.arange(count))
    met = np.searchsorted(ray, np.arange(count), side="right") - first >= 2
    inner, outer = np.full(count, np.nan), np.full(count, np.nan)
    inner[met], outer[met] = radius[first[met]], radius[first[met] + 1]

    finer, values, edges = _halved(points, stress.T, met_once)
    ray, share, ends = _ray_crossings(finer, edges, count)
    x, y = _on_sides(finer, ends, share).T
    radius, around = np.hypot(x, y), hoop(_on_sides(values, ends, share).T, x, y)
    kept = np.flatnonzero((radius > inner[ray] + 1e-6) & (radius < outer[ray] + 1e-6))
    kept = kept[np.lexsort([around[kept], ray[kept]])]
    rays, last = np.unique(ray[kept][::-1], return_index=True)
    worst = kept[::-1][last]
    at, value = np.full(count, np.nan), np.full(count, np.nan)
    at[rays], value[rays] = radius[worst], around[worst]
    return Trace(np.arange(count) * 12.0 / count, at, value, outer - inner)


def _met_once(sides: NDArray[np.int64]) -> NDArray[np.int64]:
    """Which sides (end, end, mid-side node) belong to one triangle only."""
    ends = np.sort(sides[:, :2], axis=1)
    _, first, times = np.unique(ends @ [1, ends.max() + 1], return_index=True, return_counts=True)
    return first[times == 1]


def _halved(
    points: Floats, values: Floats, sides: NDArray[np.int64]
) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Curved sides (end, end, middle) as two each, with points and values at the new middles."""
    one, other, middle = sides.T
    quarters = []
    for near, far in ((one, other), (other, one)):
        quarters.append(
            [0.375 * v[near] - 0.125 * v[far] + 0.75 * v[middle] for v in (points, values)]
        )
    at = len(points) + np.arange(len(sides))
    finer = np.concatenate([points, quarters[0][0], quarters[1][0]])
    all_values = np.concatenate([values, quarters[0][1], quarters[1][1]])
    halves = [
        np.stack([one, middle, at], axis=1),
        np.stack([middle, other, at + len(sides)], axis=1),
    ]
    return finer, all_values, np.concatenate(halves)


def _ray_crossings(
    points: Floats, sides: NDArray[np.int64], count: int
) -> tuple[NDArray[np.int64], Floats, NDArray[np.int64]]:
    """Where rays from the bore axis cross sides of triangles.

    Returns
    -------
    ray : ndarray, shape (k,)
        0 to ``count`` - 1, from 12:00 clockwise.
    share : ndarray, shape (k,)
        Place of the crossing between two nodes, 0 to 1.
    ends : ndarray, shape (k, 2)
        The two nodes, an end and the middle of a side.
    """
    halves = np.concatenate([sides[:, [0, 2]], sides[:, [2, 1]]])
    begin = clock_of(*points[halves[:, 0]].T)
    finish = begin + hours_between(clock_of(*points[halves[:, 1]].T), begin)
    low, high = (
        np.floor(pick(begin, finish) * count / 12.0).astype(int)
        for pick in (np.minimum, np.maximum)
    )
    half, ray = runs(low + 1, high - low)
    angle = clock_to_angle(ray * 12.0 / count)
    ends = halves[half]
    start, end = (
        points[node, 1] * np.cos(angle) - points[node, 0] * np.sin(angle) for node in ends.T
    )
    return ray % count, start / (start - end), ends


def _on_sides(values: Floats, ends: NDArray[np.int64], share: Floats) -> Floats:
    """Values, shape (n, ...), between pairs of nodes."""
    return values[ends[:, 0]] * (1 - share)[:, None] + values[ends[:, 1]] * share[:, None]


def plain_wall(block: Block, trace: Trace, margin: float = 0.25) -> NDArray[np.bool_]:
    """Where a trace is clear of relief cuts, ties and next bores.

    Parameters
    ----------
    block : Block
    trace : Trace
    margin : float
        By how much. [h]

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    plain = np.isfinite(trace.hoop_mpa)
    for feature in features(block):
        plain &= ~feature.covers(trace.clock_hours, margin)
    return plain


def stress_at_cut(design: DesignResult, cut: ReliefCut, bore: int) -> float:
    """Largest principal stress of the block's metal in and around a relief cut. [MPa]."""
    block = design.section.block
    largest = -math.inf
    for layer in design.stresses:
        if layer.part in PARENT_PARTS:
            near = at_pocket(block, cut, bore, *design.mesh.points[layer.nodes].T)
            if near.any():
                largest = max(largest, float(principal(layer.stress[:, near])[0].max()))
    return largest

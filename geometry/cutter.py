"""The way of a cutter's middle along what it cuts: lines and arcs, parallel to the edge.

A piece is gone around from outside, a slot and a pocket from inside. Where an edge has no metal
behind it, as where an insert is narrower than its jacket, a pocket has no path.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np

from geometry import planar
from geometry.cut_pieces import CORNER, Loop
from geometry.planar import Curve, Curves

APART = 0.25
"""Of places of a path that are asked whether the cutter has room there. [mm]."""
OFF = 1e-4
"""By which it may seem to lack. [mm]."""
LEAVES = 0.005
"""Left standing in a corner so slightly hollow that a path has no name for it, as where a cast
fillet runs out on a machined side. [mm]."""
Path = list[Curve]


class TooHollowError(ValueError):
    """A place of a loop that a cutter does not enter."""

    def __init__(self, what: str, at: complex) -> None:
        super().__init__(f"{what} at {at:.4g}")
        self.what = what
        self.at = at


def offset_loop(loop: Sequence[Curve], distance: float) -> Path:
    """The line at a distance outside of a loop: the path of a cutter's middle.

    An outer corner is gone around in an arc. Arcs that curve the other way get smaller.

    Parameters
    ----------
    loop : sequence of Curve
        Closed, metal on the left.
    distance : float
        Radius of the cutter. [mm]

    Raises
    ------
    TooHollowError
        If a curve is hollow with a smaller radius than that, two meet in a hollow corner in which
        ``LEAVES`` or more would stay, or the loop comes nearer to itself than the cutter is wide.
    """
    path = _offset(loop, distance, closed=True)
    _require_room(path, loop, distance)
    return path


def pocket_paths(
    loops: Sequence[Loop], distance: float, wall: Callable[[Curve], bool]
) -> list[tuple[Path, bool]]:
    """Paths of a cutter's middle along the walls of a pocket, and whether each is closed.

    Parameters
    ----------
    loops : sequence of sequence of Curve
        The pocket on their left.
    distance : float
        Radius of the cutter. [mm]
    wall : callable
        Whether metal stands behind a curve.

    Raises
    ------
    TooHollowError
        As :func:`offset_loop`, or if the pocket is narrower than the cutter.
    """
    walls = [curve.reversed() for loop in loops for curve in loop if wall(curve)]
    found = []
    for loop in loops:
        turned = [curve.reversed() for curve in loop[::-1]]
        open_at = [k for k, curve in enumerate(loop[::-1]) if not wall(curve)]
        if not open_at:
            found.append((_offset(turned, distance, closed=True), True))
            continue
        for first, last in zip(open_at, [*open_at[1:], open_at[0] + len(turned)], strict=True):
            run = [turned[k % len(turned)] for k in range(first + 1, last)]
            if run:
                found.append((_offset(run, distance, closed=False), False))
    for path, _ in found:
        _require_room(path, walls, distance)
    return found


def _offset(run: Sequence[Curve], distance: float, closed: bool) -> Path:
    """The line at a distance right of curves that follow each other."""
    moved: list[Curve] = []
    for curve in run:
        if curve.bulge < 0 and curve.radius < distance - planar.SNAP:
            raise TooHollowError(f"a hollow of radius {curve.radius:.4g} mm", curve.point(0.5))
        out = [-1j * distance * curve.direction(at) for at in (0.0, 1.0)]
        if curve.bulge < 0 and curve.radius < distance + planar.SNAP:
            continue  # the cutter turns about its own middle
        moved.append(Curve(curve.start + out[0], curve.end + out[1], curve.bulge, curve.tag))
    path: list[Curve] = []
    nexts = [*moved[1:], *(moved[:1] if closed else [])]
    for place, curve in enumerate(moved):
        path.append(curve)
        if place == len(nexts) or abs(curve.end - nexts[place].start) <= 10 * planar.SNAP:
            continue
        after = nexts[place]
        turn = float(np.angle(after.direction(0.0) / curve.direction(1.0)))
        corner = curve.end + 1j * distance * curve.direction(1.0)
        if turn > 0:
            path.append(Curve(curve.end, after.start, math.tan(turn / 4), CORNER))
        elif distance * (1 / math.cos(turn / 2) - 1) >= LEAVES:
            raise TooHollowError("a hollow corner", corner)
    while (jump := _first_jump(path, closed)) is not None:
        path = _trimmed(path, jump, closed)
    return path


def _first_jump(path: Path, closed: bool) -> int | None:
    """Place of the first curve that ends where the next does not start."""
    pairs = [*pairwise(path), *([(path[-1], path[0])] if closed and path else [])]
    apart = [abs(one.end - after.start) > 10 * planar.SNAP for one, after in pairs]
    return apart.index(True) if any(apart) else None


def _trimmed(path: Path, place: int, closed: bool) -> Path:
    """A path that crosses itself about a place, without what lies between; a short curve may go."""
    before, after = path[: place + 1], path[place + 1 :]
    if closed:  # as much on both sides
        half = len(path) // 2
        way = [*after, *before]
        before, after = way[half:], way[:half]
    while before and after:
        parts = planar.cut([before[-1], after[0]])
        if len(parts) > 2:
            end = min(parts, key=lambda of: abs(of.start - before[-1].start))
            start = min(parts, key=lambda of: abs(of.end - after[0].end))
            return [*before[:-1], end, start, *after[1:]]
        if before[-1].length < after[0].length:
            del before[-1]
        else:
            del after[0]
    return [*before, *after]


def _require_room(path: Path, walls: Sequence[Curve], distance: float) -> None:
    """Refuse a path along which the cutter would cut into a wall beside it."""
    if not path:
        return
    z = np.concatenate(
        [of.points(np.linspace(0.0, 1.0, 2 + math.ceil(of.length / APART))) for of in path]
    )
    many = Curves.of(walls)
    foot = many.points(np.clip(many.share(z[:, None]), 0.0, 1.0))
    away = np.abs(z[:, None] - foot).min(axis=1)
    least = int(away.argmin())
    if away[least] < distance - OFF:
        raise TooHollowError(f"a gap of {distance + away[least]:.4g} mm", complex(z[least]))

"""The smallest set of slots that opens every hole of all gaskets.

About each bore the holes stand in clock order; a slot opens a run of neighbours. Of every run the
slot that takes least metal is found among widths and radii, its ends no further out than the asked
share needs; of all ways to part the holes into runs the one that takes least metal wins, where
neighbouring slots keep a web. Holes stand for points in them, a fifth of a millimetre apart, and
what is found is checked with exact areas by who asks for it.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from geometry.clock import angle_to_clock
from geometry.overlay import Loop
from geometry.planar import Area
from geometry.section import WaterSlot

Array = NDArray[np.float64]

GRAIN = 0.2
"""Points in a hole, and of the edges of an insert, are as far apart. [mm]."""
FINER = 0.25
"""Step of radii and widths that are tried. [mm]."""
LONGEST = math.radians(80)
"""Arc between the end centres of a slot. [rad]."""
MORE = 0.01
"""Share that is asked for beyond what is asked, for what points can't tell."""
CLEAR = 0.02
"""Metal beyond a web, for the same. [mm]."""
BARELY = 0.005
"""Share by which a hole that can't be opened as far as is asked is asked less than the most."""
ROUND = 0.03
"""A slot whose end centres are no further from its middle is round. [mm]."""
SHORTEST = 0.5
"""Arc of a slot that is not round. [deg]."""
WAYS = 6
"""To open the holes so far that are kept."""
MINUTE = math.radians(0.5)
"""Of a clock position. [rad]."""


@dataclass(frozen=True, eq=False)
class Target:
    """A hole that is to be opened, about the axis of its bore.

    Attributes
    ----------
    points : ndarray, shape (n,)
        Complex, of what it opens over the bare deck. [mm]
    share : float
        Of them that is asked for.
    middle : float
        Angle about the bore. [rad]
    """

    name: str
    points: NDArray[np.complex128]
    share: float
    middle: float


@dataclass(frozen=True, slots=True)
class Cut:
    """A slot about a bore: angles of its end centres [rad], radius and width [mm]."""

    low: float
    high: float
    radius: float
    width: float

    @property
    def area(self) -> float:
        """[mm2]."""
        return self.width * self.radius * (self.high - self.low) + math.pi * self.width**2 / 4

    def opens(self, points: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Which points lie in it."""
        middle, half = (self.low + self.high) / 2, (self.high - self.low) / 2
        turned = points * cmath.exp(-1j * middle)
        foot = self.radius * np.exp(1j * np.clip(np.angle(turned), -half, half))
        return np.asarray(np.abs(turned - foot) < self.width / 2)

    @property
    def made(self) -> Cut:
        """The same as it is stated: its middle to the minute of the clock, no shorter."""
        middle = round((self.low + self.high) / 2 / MINUTE) * MINUTE
        half = max(self.high - middle, middle - self.low)
        if self.radius * half < ROUND:
            return replace(self, low=middle, high=middle)
        arc = max(math.ceil(math.degrees(2 * half) * 10 - 1e-6) / 10, SHORTEST)
        return replace(
            self, low=middle - math.radians(arc) / 2, high=middle + math.radians(arc) / 2
        )

    def slot(self, bore: int) -> WaterSlot:
        """As a design has it, of one that is made."""
        return WaterSlot(
            clock=float(angle_to_clock((self.low + self.high) / 2)), width=self.width,
            radius=self.radius, arc=round(math.degrees(self.high - self.low), 1), bores=(bore,),
        )  # fmt: skip


class Room:
    """The insert's metal about a bore: where a slot may be.

    Parameters
    ----------
    edges : sequence of sequences of Loop
        Of each piece, without slots, about the axis of the bore.
    web, beads : float, sequence of (float, float)
        Least metal beside a slot; axis of each bore along x and radius that a slot keeps clear of.
    """

    def __init__(
        self, edges: Sequence[Sequence[Loop]], web: float, beads: Sequence[tuple[float, float]]
    ) -> None:
        self.web, self.beads = web, beads
        self._pieces = [Area(loops) for loops in edges]
        points = [
            curve.points(np.linspace(0, 1, 2 + int(curve.length / GRAIN)))
            for loops in edges
            for loop in loops
            for curve in loop
        ]
        every = np.concatenate(points)
        self._edge = cKDTree(np.stack([every.real, every.imag], axis=1))

    def holds(self, cut: Cut) -> bool:
        """Whether a slot lies in one piece, with all of its webs."""
        return self.widest(cut) >= cut.width

    def widest(self, cut: Cut) -> float:
        """How wide a slot along the same line may be; 0 where none may. [mm]."""
        count = 2 + int(cut.radius * (cut.high - cut.low) / (2 * GRAIN))
        z = cut.radius * np.exp(1j * np.linspace(cut.low, cut.high, count))
        inside = [piece.holds(z) for piece in self._pieces]
        if not any(of.all() for of in inside):
            return 0.0
        free, _ = self._edge.query(np.stack([z.real, z.imag], axis=1))
        least = float(free.min()) - self.web - CLEAR
        for axis, radius in self.beads:
            least = min(least, float(np.abs(z - axis).min()) - radius)
        return max(2 * least, 0.0)


def best_cut(targets: Sequence[Target], room: Room, widths: Array, radii: Array) -> Cut | None:
    """The slot of least metal that opens neighbours as far as is asked; None where none does.

    Parameters
    ----------
    targets : sequence of Target
        In order of their angles.
    room : Room
    widths, radii : ndarray
        That are tried. [mm]
    """
    first, last = targets[0].middle, targets[-1].middle
    if last - first > LONGEST:
        return None
    best: Cut | None = None
    reach = max(map(_reach, targets))
    for width in widths.tolist():
        for radius in radii.tolist():
            wide = Cut(first - reach, last + reach, radius, width)
            if not _enough(wide, targets):
                continue
            cut = _shortened(wide, targets, first, last).made
            if (best is None or cut.area < best.area - 1e-9) and room.holds(cut):
                best = cut
    return best


def most_open(target: Target, room: Room, widths: Array, radii: Array) -> float:
    """The largest share of a hole that a slot opens."""
    most, reach = 0.0, _reach(target)
    for width in widths.tolist():
        for radius in radii.tolist():
            for part in (1.0, 0.5, 0.0):
                cut = Cut(target.middle - part * reach, target.middle + part * reach, radius, width)
                share = float(cut.opens(target.points).mean())
                if share > most and room.holds(cut):
                    most = share
    return most


def _reach(target: Target) -> float:
    """Half of the angle that a hole takes about its bore. [rad]."""
    return float(np.abs(np.angle(target.points * cmath.exp(-1j * target.middle))).max())


def _enough(cut: Cut, targets: Sequence[Target]) -> bool:
    return all(float(cut.opens(of.points).mean()) >= of.share for of in targets)


def _shortened(cut: Cut, targets: Sequence[Target], first: float, last: float) -> Cut:
    """A slot with its ends no further out than its targets need: both alike, then each."""

    def enough(low: float, high: float) -> bool:
        return _enough(Cut(low, high, cut.radius, cut.width), targets)

    middle, half = (first + last) / 2, (cut.high - cut.low) / 2
    if enough(middle, middle):
        return Cut(middle, middle, cut.radius, cut.width)
    half = _least(lambda of: enough(middle - of, middle + of), half)
    low = _least(lambda of: enough(middle - of, middle + half), half)
    high = _least(lambda of: enough(middle - low, middle + of), half)
    return Cut(middle - low, middle + high, cut.radius, cut.width)


def _least(enough: Callable[[float], bool], most: float) -> float:
    """The least reach that is enough, where the most is."""
    least = 0.0
    for _ in range(9):
        half = (least + most) / 2
        least, most = (least, half) if enough(half) else (half, most)
    return most


def apart(one: Cut, other: Cut) -> float:
    """Metal between two slots about the same bore. [mm]."""
    steps = [
        of.radius * np.exp(1j * np.linspace(of.low, of.high, 2 + int(40 * (of.high - of.low))))
        for of in (one, other)
    ]
    gap = np.abs(steps[0][:, None] - steps[1]).min()
    return float(gap) - (one.width + other.width) / 2


def slots_about(
    targets: Sequence[Target], room: Room, widths: Array, radii: Array, each: float = 0.0
) -> list[Cut]:
    """Slots of least metal about a bore; none where they can't keep their webs.

    Of a hole that no slot opens as far as is asked, as much as one can is asked instead.

    Parameters
    ----------
    targets : sequence of Target
    room : Room
    widths, radii : ndarray
        That are tried. [mm]
    each : float
        What a slot counts beside its metal, as metal. [mm2]
    """
    able = []
    for target in targets:
        if best_cut([target], room, widths, radii) is None:
            most = most_open(target, room, widths, radii)
            if most <= BARELY:
                continue
            target = replace(target, share=most - BARELY)
        able.append(target)
    order = _opened(able)
    cuts: dict[tuple[int, int], Cut] = {}
    for i in range(len(order)):
        for j in range(i, len(order)):
            if cut := best_cut(order[i : j + 1], room, widths, radii):
                cuts[i, j] = cut
    # the best ways to open the first j holes
    ways: list[list[tuple[float, list[Cut]]]] = [[(0.0, [])]]
    for j in range(len(order)):
        found = [
            (metal + cuts[i, j].area + each, [*before, cuts[i, j]])
            for i in range(j + 1)
            if (i, j) in cuts
            for metal, before in ways[i]
            if _keeps_webs(cuts[i, j], before, room)
        ]
        ways.append(sorted(found, key=lambda of: of[0])[:WAYS])
    return ways[-1][0][1] if ways[-1] else []


def _keeps_webs(cut: Cut, others: Sequence[Cut], room: Room) -> bool:
    return all(apart(cut, of) >= room.web + CLEAR for of in others)


def _opened(targets: Sequence[Target]) -> list[Target]:
    """Targets in order of their angles, from behind the widest gap on, angles rising."""
    order = sorted(targets, key=lambda of: of.middle)
    if len(order) < 2:
        return order
    angles = [of.middle for of in order]
    gaps = [b - a for a, b in zip(angles, [*angles[1:], angles[0] + math.tau], strict=True)]
    start = (gaps.index(max(gaps)) + 1) % len(order)
    turned = [replace(of) for of in [*order[start:], *order[:start]]]
    for k in range(1, len(turned)):
        if turned[k].middle < turned[k - 1].middle:
            turned[k] = replace(turned[k], middle=turned[k].middle + math.tau)
    return turned

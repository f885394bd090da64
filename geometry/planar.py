"""Lines and circular arcs in the plane: cutting, fillets, and the faces they enclose.

Points are complex numbers, x + iy. [mm].
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.runs import runs

SNAP = 1e-6
"""Points nearer than this are one point. [mm]."""

SMOOTH = 0.01
"""A turn below this is no corner. [rad]."""

_ALIKE = 1e-6  # directions that differ by less are one [rad]
_TANGENT = 1e-7  # circles whose gap is less touch in one point [mm]
_TWIN = 1.5e-4  # pieces between the same ends with middles nearer than this are one [mm]


@dataclass(frozen=True)
class Curve:
    """A straight line, or a circular arc of less than a full turn, from ``start`` to ``end``.

    ``bulge`` is tan(sweep / 4), positive counter-clockwise, as drawing exchange files state arcs;
    0 is a straight line.
    """

    start: complex
    end: complex
    bulge: float = 0.0
    tag: str = ""

    @property
    def sweep(self) -> float:
        """Angle turned from start to end, counter-clockwise positive; 0 for a line. [rad]."""
        return 4 * math.atan(self.bulge)

    @property
    def centre(self) -> complex:
        """Centre of the arc; meaningless for a line."""
        chord = self.end - self.start
        return self.start + chord / 2 + 1j * chord * (1 - self.bulge**2) / (4 * self.bulge)

    @property
    def radius(self) -> float:
        """Radius of the arc; infinite for a line. [mm]."""
        return abs(self.start - self.centre) if self.bulge else math.inf

    @property
    def length(self) -> float:
        """Length along the curve. [mm]."""
        if not self.bulge:
            return abs(self.end - self.start)
        return self.radius * abs(self.sweep)

    def point(self, at: float) -> complex:
        """The point at a share of the length, 0 (start) to 1 (end)."""
        if not self.bulge:
            return self.start + at * (self.end - self.start)
        return self.centre + (self.start - self.centre) * cmath.exp(1j * at * self.sweep)

    def points(self, at: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Points at shares of the length, shape (...); complex, the same shape. [mm]."""
        if not self.bulge:
            return np.asarray(self.start + at * (self.end - self.start), dtype=np.complex128)
        turn = np.exp(1j * at * self.sweep)
        return np.asarray(self.centre + (self.start - self.centre) * turn, dtype=np.complex128)

    def direction(self, at: float) -> complex:
        """Unit tangent at a share of the length."""
        chord = self.end - self.start
        return chord / abs(chord) * cmath.exp(1j * self.sweep * (at - 0.5))

    def share(self, point: complex) -> float:
        """Share of the length of the foot of a point; outside 0 to 1 beyond the ends."""
        if not self.bulge:
            chord = self.end - self.start
            return ((point - self.start) * chord.conjugate()).real / abs(chord) ** 2
        turned = cmath.phase((point - self.centre) / (self.start - self.centre))
        turned *= math.copysign(1, self.bulge)
        span = abs(self.sweep)
        if turned < (span - 2 * math.pi) / 2:  # nearer to the end going the long way round
            turned += 2 * math.pi
        return turned / span

    def part(self, first: float, last: float) -> Curve:
        """The piece between two shares of the length."""
        start = self.start if first == 0 else self.point(first)
        end = self.end if last == 1 else self.point(last)
        return Curve(start, end, math.tan(self.sweep * (last - first) / 4), self.tag)

    def reversed(self) -> Curve:
        """The same curve run the other way."""
        return Curve(self.end, self.start, -self.bulge, self.tag)

    def tagged(self, tag: str) -> Curve:
        """The same curve under another tag."""
        return replace(self, tag=tag)


def circle(centre: complex, radius: float, tag: str = "", pieces: int = 4) -> list[Curve]:
    """A full circle, counter-clockwise, in equal arcs; the first starts at +x."""
    corners = centre + radius * np.exp(2j * np.pi * np.arange(pieces + 1) / pieces)
    corners[-1] = corners[0]
    bulge = math.tan(math.pi / (2 * pieces))
    return [Curve(complex(a), complex(b), bulge, tag) for a, b in pairwise(corners)]


def arc(centre: complex, radius: float, first: float, last: float, tag: str = "") -> list[Curve]:
    """Arc between two angles [rad]; clockwise where ``last`` is the smaller."""
    pieces = max(1, math.ceil(abs(last - first) / (0.6 * math.pi)))
    step = (last - first) / pieces
    angles = [*(first + k * step for k in range(pieces)), last]
    corners = [centre + radius * cmath.exp(1j * angle) for angle in angles]
    return [Curve(a, b, math.tan(step / 4), tag) for a, b in pairwise(corners)]


def line(start: complex, end: complex, tag: str = "") -> Curve:
    """A straight line."""
    return Curve(complex(start), complex(end), 0.0, tag)


def polygon(corners: Sequence[complex], tag: str = "") -> list[Curve]:
    """A closed polygon."""
    return [line(a, b, tag) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]


def smooth_curve(
    points: NDArray[np.complex128], directions: NDArray[np.complex128], tag: str = ""
) -> list[Curve]:
    """Tangent-continuous arcs through points with given tangents: a biarc for each gap.

    Parameters
    ----------
    points, directions : ndarray, shape (n,)
        Points in order and unit tangents there; repeat the first point to close the curve.
    tag : str

    Returns
    -------
    list of Curve
        Two arcs for each gap; they differ from a smooth curve by the cube of the spacing.

    References
    ----------
    .. [1] Bolton, *Biarc curves*, Computer-Aided Design 7 (1975) 89-92 (from memory).
    """
    curves = []
    for p0, p1, t0, t1 in zip(
        points[:-1], points[1:], directions[:-1], directions[1:], strict=True
    ):
        chord = p1 - p0
        lean = ((t0 + t1) * np.conj(chord)).real
        closing = 2 * (1 - (t0 * np.conj(t1)).real)
        if closing > 1e-12:
            reach = (math.sqrt(lean**2 + closing * abs(chord) ** 2) - lean) / closing
        else:
            reach = abs(chord) ** 2 / (2 * lean)
        joint = (p0 + p1 + reach * (t0 - t1)) / 2
        last = (p1 - joint) / abs(p1 - joint)
        for a, b, t in ((p0, joint, t0), (joint, p1, last**2 / t1)):
            half = cmath.phase((b - a) / t)
            curves.append(Curve(complex(a), complex(b), math.tan(half / 2), tag))
    return curves


def _line_line(a: Curve, b: Curve) -> list[complex]:
    u, v, gap = a.direction(0), b.direction(0), b.start - a.start
    sine = (u.conjugate() * v).imag
    if abs(sine) > 1e-9:
        return [a.start + u * (gap.conjugate() * v).imag / sine]
    if abs((u.conjugate() * gap).imag) > SNAP:
        return []
    return [a.start, a.end, b.start, b.end]


def _line_circle(a: Curve, centre: complex, radius: float) -> list[complex]:
    u = a.direction(0)
    ray = (centre - a.start) * u.conjugate()
    foot, off = ray.real, abs(ray.imag)
    if abs(off - radius) < _TANGENT:
        return [a.start + u * foot]
    if off > radius:
        return []
    half = math.sqrt(radius**2 - off**2)
    return [a.start + u * (foot - half), a.start + u * (foot + half)]


def _circle_circle(ca: complex, ra: float, cb: complex, rb: float) -> list[complex]:
    apart = abs(cb - ca)
    if apart < SNAP:
        return []
    u = (cb - ca) / apart
    if abs(apart - ra - rb) < _TANGENT:
        return [ca + u * ra]
    if abs(apart - abs(ra - rb)) < _TANGENT:
        return [ca + u * math.copysign(ra, ra - rb)]
    along = (apart**2 + ra**2 - rb**2) / (2 * apart)
    if abs(along) > ra:
        return []
    half = math.sqrt(ra**2 - along**2)
    return [ca + u * complex(along, half), ca + u * complex(along, -half)]


@dataclass(frozen=True)
class Curves:
    """Curves as arrays, shape (n,), one entry each; what :class:`Curve` has, for many at once.

    A share of the length is one number for all or one for each, shape (n,); an array of shape
    (k, 1) gives k answers for each, shape (k, n).
    """

    start: NDArray[np.complex128]
    end: NDArray[np.complex128]
    bulge: NDArray[np.float64]

    @classmethod
    def of(cls, curves: Sequence[Curve]) -> Curves:
        """The same as arrays."""
        return cls(
            np.array([c.start for c in curves], dtype=complex),
            np.array([c.end for c in curves], dtype=complex),
            np.array([c.bulge for c in curves], dtype=float),
        )

    def __getitem__(self, some: NDArray[np.int64]) -> Curves:
        return Curves(self.start[some], self.end[some], self.bulge[some])

    @cached_property
    def chord(self) -> NDArray[np.complex128]:
        """From start to end. [mm]."""
        return self.end - self.start

    @cached_property
    def sweep(self) -> NDArray[np.float64]:
        """Angles turned; 0 for lines. [rad]."""
        return 4 * np.arctan(self.bulge)

    @cached_property
    def centre(self) -> NDArray[np.complex128]:
        """Centres of arcs; meaningless for lines."""
        bulge = np.where(self.bulge == 0, 1.0, self.bulge)
        return self.start + self.chord / 2 + 1j * self.chord * (1 - bulge**2) / (4 * bulge)

    @cached_property
    def radius(self) -> NDArray[np.float64]:
        """Infinite for lines. [mm]."""
        return np.where(self.bulge == 0, np.inf, np.abs(self.start - self.centre))

    @cached_property
    def length(self) -> NDArray[np.float64]:
        """Along the curves. [mm]."""
        chord = np.abs(self.chord)
        half = np.where(self.bulge == 0, 1.0, self.sweep / 2)
        return np.where(self.bulge == 0, chord, chord * half / np.sin(half))

    def points(self, at: ArrayLike) -> NDArray[np.complex128]:
        """Points at a share of each length."""
        at = np.asarray(at)
        half = self.sweep / 2
        with np.errstate(invalid="ignore"):
            round_ = np.sin(at * half) / np.sin(half) * np.exp(1j * (at - 1) * half)
        return self.start + self.chord * np.where(self.bulge == 0, at, round_)

    def direction(self, at: ArrayLike) -> NDArray[np.complex128]:
        """Unit tangents at a share of each length."""
        at = np.asarray(at)
        return self.chord / np.abs(self.chord) * np.exp(1j * self.sweep * (at - 0.5))

    def share(self, z: NDArray[np.complex128]) -> NDArray[np.float64]:
        """As :meth:`Curve.share`, of one point for each curve."""
        along = ((z - self.start) * self.chord.conj()).real / np.abs(self.chord) ** 2
        from_centre, straight = self.start - self.centre, self.bulge == 0
        turned = np.angle((z - self.centre) / from_centre) * np.sign(self.bulge)
        span = np.where(straight, 1.0, np.abs(self.sweep))
        turned = np.where(turned < (span - math.tau) / 2, turned + math.tau, turned)
        return np.where(straight, along, turned / span)


def boxes(curves: Sequence[Curve]) -> NDArray[np.float64]:
    """Bounding box of each curve, a little generous: rows x0, y0, x1, y1. [mm]."""
    return _boxes(Curves.of(curves))


def _boxes(many: Curves) -> NDArray[np.float64]:
    a, b, bulge = many.start, many.end, np.abs(many.bulge)
    swell = np.abs(b - a) / 2 * bulge * np.maximum(1.0, bulge) + SNAP
    return np.stack(
        [
            np.minimum(a.real, b.real) - swell,
            np.minimum(a.imag, b.imag) - swell,
            np.maximum(a.real, b.real) + swell,
            np.maximum(a.imag, b.imag) + swell,
        ],
        axis=1,
    )


def cut(curves: Sequence[Curve]) -> list[Curve]:
    """All curves cut where they meet; a stretch shared by several is kept once, under the first.

    Parameters
    ----------
    curves : sequence of Curve

    Returns
    -------
    list of Curve
        Pieces that meet only at their ends; ends nearer than ``SNAP`` are the same number.
    """
    if not curves:
        return []
    many = Curves.of(curves)
    curve, z = _meetings(many, *_near_pairs(_boxes(many)))
    every = np.arange(len(curves))
    number, places = _snap(np.concatenate([many.start, many.end, z]))
    curve = np.concatenate([every, every, curve])
    ends = len(every) * 2
    share = np.concatenate([0.0 * every, 1.0 + 0.0 * every, many[curve[ends:]].share(
        places[number[ends:]])])  # fmt: skip
    _, first = np.unique(curve * len(places) + number, return_index=True)
    curve, number, share = curve[first], number[first], share[first]
    order = np.lexsort([share, curve])
    curve, number, share = curve[order], number[order], share[order]
    gap = np.flatnonzero(curve[1:] == curve[:-1])
    owner, one, other = curve[gap], number[gap], number[gap + 1]
    bulge = np.tan(many.sweep[owner] * (share[gap + 1] - share[gap]) / 4)
    pieces = Curves(places[one], places[other], bulge)
    low, high = np.sort([one, other], axis=0)
    _, pair, times = np.unique(low * len(places) + high, return_inverse=True, return_counts=True)
    middle = pieces.points(0.5)
    kept = np.ones(len(pair), dtype=bool)
    twins: dict[int, list[complex]] = {}
    for k in np.flatnonzero(times[pair] > 1):
        known = twins.setdefault(int(pair[k]), [])
        kept[k] = all(abs(middle[k] - of) > _TWIN for of in known)
        if kept[k]:
            known.append(middle[k])
    columns = (of[kept].tolist() for of in (pieces.start, pieces.end, bulge))
    tags = (curves[k].tag for k in owner[kept].tolist())
    return [Curve(*column) for column in zip(*columns, tags, strict=True)]


def _near_pairs(box: NDArray[np.float64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs i < j of boxes (rows x0, y0, x1, y1) that overlap, in order."""
    x0, y0, x1, y1 = box.T
    order = np.argsort(x0, kind="stable")
    after = np.arange(1, len(order) + 1)
    rank, other = runs(after, np.searchsorted(x0[order], x1[order], side="right") - after)
    a, b = order[rank], order[other]
    near = (y0[a] <= y1[b]) & (y0[b] <= y1[a])
    i, j = np.minimum(a, b)[near], np.maximum(a, b)[near]
    order = np.lexsort([j, i])
    return i[order], j[order]


def _meetings(
    many: Curves, i: NDArray[np.int64], j: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.complex128]]:
    """Points that pairs of curves share; the ends of a common stretch where they run together.

    Returns
    -------
    curve : ndarray of int, shape (k,)
    z : ndarray, shape (k,)
        A point of that curve; each stands once for either curve of its pair.
    """
    round_i, round_j = many.bulge[i] != 0, many.bulge[j] != 0
    i, j = np.where(round_i & ~round_j, j, i), np.where(round_i & ~round_j, i, j)
    round_i, round_j = many.bulge[i] != 0, many.bulge[j] != 0
    z = np.full((len(i), 4), np.nan, dtype=complex)
    with np.errstate(invalid="ignore", divide="ignore"):
        for kind, meet in (
            (~round_j, _meet_lines),
            (~round_i & round_j, _meet_line_and_circle),
            (round_i, _meet_circles),
        ):
            z[kind] = meet(many[i[kind]], many[j[kind]])
    pair, nth = np.nonzero(~np.isnan(z))
    z = z[pair, nth]
    good = np.ones(len(z), dtype=bool)
    for c in (many[i[pair]], many[j[pair]]):
        share, slack = c.share(z), SNAP / c.length
        good &= (share >= -slack) & (share <= 1 + slack)
    pair = pair[good]
    return np.concatenate([i[pair], j[pair]]), np.tile(z[good], 2)


def _four(together: NDArray[np.bool_], a: Curves, b: Curves, *z: NDArray) -> NDArray[np.complex128]:
    """Up to four points a pair (k, 4), nan where none: all ends where curves run together."""
    points = np.full((len(together), 4), np.nan, dtype=complex)
    points[:, : len(z)] = np.stack(z, axis=1)
    ends = np.stack([a.start, a.end, b.start, b.end], axis=1)
    return np.where(together[:, None], ends, points)


def _meet_lines(a: Curves, b: Curves) -> NDArray[np.complex128]:
    """Where pairs of lines meet, beyond their ends too."""
    u, v, gap = a.direction(0), b.direction(0), b.start - a.start
    sine = (u.conj() * v).imag
    cross = np.abs(sine) > 1e-9
    meeting = a.start + u * (gap.conj() * v).imag / sine
    together = ~cross & (np.abs((u.conj() * gap).imag) <= SNAP)
    return _four(together, a, b, np.where(cross, meeting, np.nan))


def _meet_line_and_circle(a: Curves, b: Curves) -> NDArray[np.complex128]:
    """Where lines meet whole circles: half a chord to either side of the foot."""
    u = a.direction(0)
    ray = (b.centre - a.start) * u.conj()
    foot, off = ray.real, np.abs(ray.imag)
    half = np.sqrt(b.radius**2 - off**2)
    half = np.where(np.abs(off - b.radius) < _TANGENT, 0.0, half)
    never = np.zeros(len(half), dtype=bool)
    return _four(never, a, b, *(a.start + u * (foot + s * half) for s in (-1, 1)))


def _meet_circles(a: Curves, b: Curves) -> NDArray[np.complex128]:
    """Where pairs of whole circles meet."""
    between = b.centre - a.centre
    apart = np.abs(between)
    w = between / apart
    along = (apart**2 + a.radius**2 - b.radius**2) / (2 * apart)
    high = np.sqrt(a.radius**2 - along**2)
    outside = np.abs(apart - a.radius - b.radius) < _TANGENT
    inside = np.abs(apart - np.abs(a.radius - b.radius)) < _TANGENT
    along = np.where(outside, a.radius, along)
    along = np.where(inside, np.copysign(a.radius, a.radius - b.radius), along)
    high = np.where(outside | inside, 0.0, high)
    one_centre = apart < SNAP
    together = one_centre & (np.abs(a.radius - b.radius) < SNAP)
    z = (np.where(one_centre, np.nan, a.centre + w * (along + 1j * s * high)) for s in (1, -1))
    return _four(together, a, b, *z)


def _snap(z: NDArray[np.complex128]) -> tuple[NDArray[np.int64], NDArray[np.complex128]]:
    """A number for each point, the same where points are nearer than ``SNAP``, and the places."""
    order = np.argsort(z.real, kind="stable")
    column = np.empty(len(z), dtype=np.int64)
    column[order] = np.concatenate([[0], np.cumsum(np.diff(z.real[order]) > 2 * SNAP)])
    order = np.lexsort([z.imag, column])
    new = (np.diff(column[order]) > 0) | (np.diff(z.imag[order]) > 2 * SNAP)
    starts = np.concatenate([[0], np.flatnonzero(new) + 1])
    number = np.empty(len(z), dtype=np.int64)
    number[order] = np.concatenate([[0], np.cumsum(new)])
    return number, z[np.minimum.reduceat(order, starts)]


Half = tuple[int, bool]
"""A piece run forwards (True) or backwards; a face lies on its left."""


def run(pieces: Sequence[Curve], half: Half) -> Curve:
    """The curve of a half: the piece itself or its reverse."""
    return pieces[half[0]] if half[1] else pieces[half[0]].reversed()


def cycles(pieces: Sequence[Curve]) -> list[list[Half]]:
    """Closed walks with a face on the left; every half stands in exactly one of them."""
    many = Curves.of(pieces)
    number: dict[complex, int] = {}
    point = np.array(
        [number.setdefault(z, len(number)) for c in pieces for z in (c.start, c.end)], dtype=int
    )
    angle = np.angle(np.stack([many.direction(0), -many.direction(1)], axis=1)).ravel()
    bend = np.stack([np.sign(many.bulge), -np.sign(many.bulge)], axis=1) / many.radius[:, None]
    ring = _turn_order(point, angle, bend.ravel())
    starts = np.flatnonzero(np.diff(point[ring], prepend=-1))
    before = np.roll(ring, 1)
    before[starts] = ring[np.append(starts[1:], len(ring)) - 1]
    halves = [(i, forward) for i in range(len(pieces)) for forward in (True, False)]
    following = before[np.argsort(ring ^ 1)].tolist()
    walks: list[list[Half]] = []
    for half in (ring ^ 1).tolist():
        walk = []
        while (after := following[half]) >= 0:
            walk.append(halves[half])
            following[half], half = -1, after
        if walk:
            walks.append(walk)
    return walks


def beside(pieces: Sequence[Curve], walks: Sequence[Sequence[Half]]) -> NDArray[np.complex128]:
    """A point just to the left of each walk, beside the middle of its longest piece."""
    many = Curves.of(pieces)
    length = many.length.tolist()
    longest = [max(walk, key=lambda half: length[half[0]]) for walk in walks]
    piece, forward = np.array(longest, dtype=int).reshape(-1, 2).T
    some = many[piece]
    off = np.where(forward, 1j, -1j) * np.minimum(1e-4, 0.01 * some.length)
    return some.points(0.5) + some.direction(0.5) * off


def _turn_order(
    point: NDArray[np.int64], angle: NDArray[np.float64], bend: NDArray[np.float64]
) -> NDArray[np.int64]:
    """Halves by the point that they leave, counter-clockwise there; tangent ones by curvature."""
    count = np.bincount(point)
    first = np.cumsum(count) - count
    last = first + count - 1
    angle = np.where(count[point] == 2, np.arange(len(point)), angle)  # two stand in any order
    ring = np.lexsort([angle, point])
    angle = angle[ring]
    opens = np.diff(angle, prepend=-np.inf) > _ALIKE
    opens[first] = True
    group = np.cumsum(opens)
    full_turn = (count > 2) & ((angle[first] - angle[last]) % math.tau <= _ALIKE)
    late = np.repeat(full_turn, count) & (group == np.repeat(group[first], count))
    group[late] = np.repeat(group[last], count)[late]
    return ring[np.lexsort([late, bend[ring], group])]


def signed_area(loop: Iterable[Curve]) -> float:
    """Area that a closed loop of curves encloses, counter-clockwise positive. [mm2]."""
    return float(_swept(Curves.of(list(loop))).sum())


def walk_areas(pieces: Sequence[Curve], walks: Sequence[Sequence[Half]]) -> list[float]:
    """Area that each closed walk encloses, counter-clockwise positive. [mm2]."""
    swept = _swept(Curves.of(pieces)).tolist()
    return [sum(swept[i] if forward else -swept[i] for i, forward in walk) for walk in walks]


def _swept(many: Curves) -> NDArray[np.float64]:
    """Area that the ray from the origin sweeps along each curve. [mm2]."""
    bow = np.where(many.bulge == 0, 0.0, many.radius) ** 2 * (many.sweep - np.sin(many.sweep)) / 2
    return (many.start.conj() * many.end).imag / 2 + bow


class Area:
    """What closed loops of curves enclose, counted odd and even."""

    def __init__(self, loops: Iterable[Sequence[Curve]]) -> None:
        self.curves = [curve for loop in loops for curve in loop]
        self._edge = Curves.of(self.curves)
        self._box = _boxes(self._edge)
        self._around = (
            *self._box[:, :2].min(axis=0, initial=math.inf),
            *self._box[:, 2:].max(axis=0, initial=-math.inf),
        )

    def holds(self, z: NDArray[np.complex128]) -> NDArray[np.bool_]:
        """Whether points lie inside.

        The parity of the chords' polygon, flipped between each chord and its arc.

        Parameters
        ----------
        z : ndarray, shape (...)
            [mm]

        Returns
        -------
        ndarray of bool, shape (...)
        """
        z = np.asarray(z)
        left, foot, right, top = self._around
        if not ((z.real >= left) & (z.real <= right) & (z.imag >= foot) & (z.imag <= top)).any():
            return np.zeros(z.shape, dtype=bool)
        order = np.argsort(z.imag, axis=None)
        by_height = z.ravel()[order]
        edge = self._edge
        low, high = np.sort([edge.start.imag, edge.end.imag], axis=0)
        k, right_of = _in_ranges(low, high, by_height.imag)
        a, chord, w = edge.start[k], edge.chord[k], by_height[right_of]
        right_of = right_of[w.real < a.real + (w.imag - a.imag) * (chord.real / chord.imag)]
        k, bow_of = _in_ranges(self._box[:, 1], self._box[:, 3], by_height.imag)
        w = by_height[bow_of]
        beyond = (edge.chord[k].conj() * (w - edge.start[k])).imag * edge.bulge[k] < 0
        bow_of = bow_of[beyond & (np.abs(w - edge.centre[k]) < edge.radius[k])]
        odd = np.zeros(z.size, dtype=bool)
        odd[order] = np.bincount(np.append(right_of, bow_of), minlength=z.size) % 2 == 1
        return odd.reshape(z.shape)


def inside(loops: Iterable[Sequence[Curve]], z: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """Whether points lie inside closed loops; see :class:`Area`.

    Parameters
    ----------
    loops : iterable of sequences of Curve
        A point in an odd number of them is inside.
    z : ndarray, shape (...)
        [mm]

    Returns
    -------
    ndarray of bool, shape (...)
    """
    return Area(loops).holds(z)


def _in_ranges(
    low: NDArray[np.float64], high: NDArray[np.float64], values: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Pairs of a range, from its low to below its high, and a value in it; values ascend."""
    first = np.searchsorted(values, low)
    return runs(first, np.searchsorted(values, high) - first)


def turn_at(loop: Sequence[Curve], k: int) -> float:
    """Angle turned left at the start of piece k of a closed loop. [rad]."""
    return cmath.phase(loop[k].direction(0) / loop[k - 1].direction(1))


def turns(loop: Sequence[Curve]) -> NDArray[np.float64]:
    """Angle turned left at the start of each piece of a closed loop. [rad]."""
    many = Curves.of(loop)
    return np.angle(many.direction(0) / np.roll(many.direction(1), 1))


def _fillet_centres(a: Curve, b: Curve, radius: float) -> list[complex]:
    """Points at ``radius`` to the left of both curves, or of their continuations."""

    def moved(c: Curve) -> Curve:
        shift = 1j * c.direction(0) * radius
        return Curve(c.start + shift, c.end + shift)

    def wider(c: Curve) -> float:
        return c.radius - math.copysign(radius, c.bulge)

    if any(c.bulge and wider(c) <= 0 for c in (a, b)):
        return []
    if not a.bulge and not b.bulge:
        return _line_line(moved(a), moved(b))
    if not a.bulge:
        return _line_circle(moved(a), b.centre, wider(b))
    if not b.bulge:
        return _line_circle(moved(b), a.centre, wider(a))
    return _circle_circle(a.centre, wider(a), b.centre, wider(b))


def _meet_moved(
    loop: Sequence[Curve], before: Sequence[int], after: Sequence[int], radius: float
) -> Iterator[tuple[int, int]]:
    """Pieces of two runs that may meet once both are moved to the left by ``radius``.

    A piece lies within half its length of its middle, so that others are out of reach.
    """

    def moved(run: Sequence[int]) -> tuple[NDArray[np.complex128], NDArray[np.float64]]:
        many = Curves.of([loop[k] for k in run])
        longer = np.maximum(0.0, 1 - np.copysign(radius, many.bulge) / many.radius)
        middle = many.points(0.5) + 1j * radius * many.direction(0.5)
        return middle, many.length * longer / 2 + SNAP

    (a, reach_a), (b, reach_b) = moved(before), moved(after)
    near = np.abs(a[:, None] - b) <= reach_a[:, None] + reach_b
    for i, j in np.argwhere(near).tolist():
        yield before[i], after[j]


@dataclass(frozen=True)
class Fillet:
    """A tangent arc in a corner of a closed loop that has its open side on the left."""

    corner: complex
    before: str  # tag of the curve that comes into the corner
    after: str  # tag of the curve that leaves it
    radius: float  # [mm]
    arc: Curve
    leaves: tuple[int, float]  # piece of the loop, and share of its length, where the arc begins
    joins: tuple[int, float]  # the same where it ends


def corner_fillet(loop: Sequence[Curve], corner: int, radius: float) -> Fillet | None:
    """The tangent arc at the start of piece ``corner`` of a closed loop; None if it doesn't fit.

    The arc may touch any piece of the smooth run of pieces on either side of the corner.
    """
    n = len(loop)
    runs: list[list[int]] = []
    for first, step in (((corner - 1) % n, -1), (corner, 1)):
        chain, travelled = [first], loop[first].length
        while travelled < 20 * radius and len(chain) < n - 1:
            k = chain[-1]
            if abs(turn_at(loop, k if step < 0 else (k + 1) % n)) > SMOOTH:
                break
            chain.append((k + step) % n)
            travelled += loop[chain[-1]].length
        runs.append(chain)
    best, least = None, math.inf
    for i, j in _meet_moved(loop, runs[0], runs[1], radius):
        a, b = loop[i], loop[j]
        for centre in _fillet_centres(a, b, radius):
            on_a, on_b = a.share(centre), b.share(centre)
            if not (-1e-9 <= on_a <= 1 + 1e-9 and -1e-9 <= on_b <= 1 + 1e-9):
                continue
            start, end = a.point(on_a), b.point(on_b)
            left_of_a = (a.direction(on_a).conjugate() * (centre - start)).imag > 0
            left_of_b = (b.direction(on_b).conjugate() * (centre - end)).imag > 0
            away = abs(centre - loop[corner].start)
            turn = cmath.phase((end - centre) / (start - centre)) % math.tau
            if left_of_a and left_of_b and away < least and turn < math.pi:
                least = away
                arc_ = Curve(start, end, math.tan(turn / 4), f"fillet|{a.tag}|{b.tag}")
                best = Fillet(loop[corner].start, a.tag, b.tag, radius, arc_, (i, on_a), (j, on_b))
    return best


def room_between(loop: Sequence[Curve], f: Fillet, g: Fillet) -> float:
    """Length of loop between the end of fillet f and the start of g; negative: they overlap."""
    n = len(loop)
    starts = [c.start for c in loop]
    at_f, at_g = starts.index(f.corner), starts.index(g.corner)
    room = sum(loop[(at_f + step) % n].length for step in range((at_g - at_f) % n or n))
    k = at_f
    while k != f.joins[0]:
        room -= loop[k].length
        k = (k + 1) % n
    room -= loop[k].length * f.joins[1]
    k = (at_g - 1) % n
    while k != g.leaves[0]:
        room -= loop[k].length
        k = (k - 1) % n
    return room - loop[k].length * (1 - g.leaves[1])


def rounded(loop: Sequence[Curve], fillets: Sequence[Fillet]) -> list[Curve]:
    """The closed loop with fillets in; they come in the order of their corners, without overlap."""
    if not fillets:
        return list(loop)
    n = len(loop)
    curves: list[Curve] = []
    for f, g in zip(fillets, [*fillets[1:], fillets[0]], strict=True):
        curves.append(f.arc)
        (i, first), (j, last) = f.joins, g.leaves
        steps = (j - i) % n
        if steps == 0 and last < first - 1e-9:
            steps = n
        for step in range(steps + 1):
            piece = loop[(i + step) % n]
            low, high = (first if step == 0 else 0.0), (last if step == steps else 1.0)
            if (high - low) * piece.length > SNAP:
                curves.append(piece.part(low, high))
    return [
        replace(c, end=after.start)
        for c, after in zip(curves, [*curves[1:], curves[0]], strict=True)
    ]

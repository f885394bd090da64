"""Lines and circular arcs in the plane: cutting, fillets, and the faces they enclose.

Points are complex numbers, x + iy. [mm].
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

SNAP = 1e-6
"""Points nearer than this are one point. [mm]."""

SMOOTH = 0.01
"""A turn below this is no corner. [rad]."""

_TANGENT = 1e-7  # circles whose gap is less touch in one point [mm]


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

    @cached_property
    def sweep(self) -> float:
        """Angle turned from start to end, counter-clockwise positive; 0 for a line. [rad]."""
        return 4 * math.atan(self.bulge)

    @cached_property
    def centre(self) -> complex:
        """Centre of the arc; meaningless for a line."""
        chord = self.end - self.start
        return self.start + chord / 2 + 1j * chord * (1 - self.bulge**2) / (4 * self.bulge)

    @cached_property
    def radius(self) -> float:
        """Radius of the arc; infinite for a line. [mm]."""
        return abs(self.start - self.centre) if self.bulge else math.inf

    @cached_property
    def length(self) -> float:
        """Length along the curve. [mm]."""
        if not self.bulge:
            return abs(self.end - self.start)
        return self.radius * abs(self.sweep)

    @property
    def curvature(self) -> float:
        """Signed curvature, positive where it turns left. [1/mm]."""
        return math.copysign(1 / self.radius, self.bulge) if self.bulge else 0.0

    def point(self, at: float) -> complex:
        """The point at a share of the length, 0 (start) to 1 (end)."""
        if not self.bulge:
            return self.start + at * (self.end - self.start)
        return self.centre + (self.start - self.centre) * cmath.exp(1j * at * self.sweep)

    def points(self, at: NDArray[np.float64]) -> NDArray[np.complex128]:
        """Points at an array of shares of the length."""
        if not self.bulge:
            return np.asarray(self.start + at * (self.end - self.start), dtype=np.complex128)
        turn = np.exp(1j * at * self.sweep)
        return np.asarray(self.centre + (self.start - self.centre) * turn, dtype=np.complex128)

    def direction(self, at: float) -> complex:
        """Unit tangent at a share of the length."""
        if not self.bulge:
            return (self.end - self.start) / abs(self.end - self.start)
        ray = (self.point(at) - self.centre) / self.radius
        return ray * (1j if self.bulge > 0 else -1j)

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
    corners = centre + radius * np.exp(1j * np.linspace(first, last, pieces + 1))
    bulge = math.tan((last - first) / pieces / 4)
    return [Curve(complex(a), complex(b), bulge, tag) for a, b in pairwise(corners)]


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


def _crossings(a: Curve, b: Curve) -> list[complex]:
    """Points that two curves share; the ends of a common stretch where they run together."""
    if not a.bulge and not b.bulge:
        found = _line_line(a, b)
    elif a.bulge and b.bulge:
        found = _circle_circle(a.centre, a.radius, b.centre, b.radius)
        if abs(a.centre - b.centre) < SNAP and abs(a.radius - b.radius) < SNAP:
            found = [a.start, a.end, b.start, b.end]
    elif a.bulge:
        found = _line_circle(b, a.centre, a.radius)
    else:
        found = _line_circle(a, b.centre, b.radius)
    slack_a, slack_b = SNAP / a.length, SNAP / b.length
    return [
        z
        for z in found
        if -slack_a <= a.share(z) <= 1 + slack_a and -slack_b <= b.share(z) <= 1 + slack_b
    ]


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


def boxes(curves: Sequence[Curve]) -> NDArray[np.float64]:
    """Bounding box of each curve, a little generous: rows x0, y0, x1, y1. [mm]."""
    rows = np.empty((len(curves), 4))
    for row, curve in zip(rows, curves, strict=True):
        a, b = curve.start, curve.end
        swell = abs(b - a) / 2 * abs(curve.bulge) * max(1.0, abs(curve.bulge)) + SNAP
        row[:] = (
            min(a.real, b.real) - swell,
            min(a.imag, b.imag) - swell,
            max(a.real, b.real) + swell,
            max(a.imag, b.imag) + swell,
        )
    return rows


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
    box = boxes(curves)
    meet = (box[:, None, :2] <= box[None, :, 2:]).all(axis=2)
    meet &= meet.T
    points: list[list[complex]] = [[c.start, c.end] for c in curves]
    for i, j in zip(*np.nonzero(np.triu(meet, 1)), strict=True):
        for z in _crossings(curves[i], curves[j]):
            points[i].append(z)
            points[j].append(z)

    snapped = _snap([z for row in points for z in row])
    pieces: dict[tuple[complex, complex, int, int], Curve] = {}
    at = 0
    for curve, row in zip(curves, points, strict=True):
        ends = snapped[at : at + len(row)]
        at += len(row)
        shares = {ends[0]: 0.0, ends[1]: 1.0}
        for z in ends[2:]:
            shares.setdefault(z, curve.share(z))
        stops = sorted(shares.items(), key=lambda item: item[1])
        for (a, first), (b, last) in pairwise(stops):
            piece = Curve(a, b, math.tan(curve.sweep * (last - first) / 4), curve.tag)
            middle = piece.point(0.5)
            low, high = sorted((a, b), key=lambda z: (z.real, z.imag))
            row_at, column_at = round(middle.real * 1e4), round(middle.imag * 1e4)
            near = [(low, high, row_at + i, column_at + j) for i in (-1, 0, 1) for j in (-1, 0, 1)]
            if not any(key in pieces for key in near):
                pieces[low, high, row_at, column_at] = piece
    return list(pieces.values())


def _snap(points: Sequence[complex]) -> list[complex]:
    """Points with those nearer than ``SNAP`` made the same number."""
    z = np.asarray(points)
    order = np.argsort(z.real, kind="stable")
    result = z.copy()
    merged = np.zeros(len(z), dtype=bool)
    for rank, i in enumerate(order):
        if merged[i]:
            continue
        for j in order[rank + 1 :]:
            if z[j].real - z[i].real > 2 * SNAP:
                break
            if not merged[j] and abs(z[j] - z[i]) < 2 * SNAP:
                result[j], merged[j] = z[i], True
    return [complex(w) for w in result]


Half = tuple[int, bool]
"""A piece run forwards (True) or backwards; a face lies on its left."""


def run(pieces: Sequence[Curve], half: Half) -> Curve:
    """The curve of a half: the piece itself or its reverse."""
    return pieces[half[0]] if half[1] else pieces[half[0]].reversed()


def cycles(pieces: Sequence[Curve]) -> list[list[Half]]:
    """Closed walks with a face on the left; every half stands in exactly one of them."""
    leaving: dict[complex, list[tuple[float, float, Half]]] = {}
    for i, piece in enumerate(pieces):
        for curve, half in ((piece, (i, True)), (piece.reversed(), (i, False))):
            angle = cmath.phase(curve.direction(0))
            leaving.setdefault(curve.start, []).append((angle, curve.curvature, half))
    following: dict[Half, Half] = {}
    for star in leaving.values():
        ring = _turn_order(star)
        for rank, (i, forward) in enumerate(ring):
            following[(i, not forward)] = ring[rank - 1]
    walks: list[list[Half]] = []
    seen: set[Half] = set()
    for first in following:
        walk, half = [], first
        while half not in seen:
            seen.add(half)
            walk.append(half)
            half = following[half]
        if walk:
            walks.append(walk)
    return walks


def beside(pieces: Sequence[Curve], walk: Sequence[Half]) -> complex:
    """A point just to the left of a walk, beside the middle of its longest piece."""
    curve = max((run(pieces, half) for half in walk), key=lambda c: c.length)
    return curve.point(0.5) + 1j * curve.direction(0.5) * min(1e-4, 0.01 * curve.length)


def _turn_order(star: list[tuple[float, float, Half]]) -> list[Half]:
    """Halves that leave a point in counter-clockwise order; tangent ones by curvature."""
    star = sorted(star)
    breaks = [k for k in range(len(star)) if (star[k][0] - star[k - 1][0]) % math.tau > 1e-6]
    first = breaks[0] if breaks else 0
    star = star[first:] + star[:first]
    groups: list[list[tuple[float, float, Half]]] = []
    for item in star:
        if groups and (item[0] - groups[-1][-1][0]) % math.tau <= 1e-6:
            groups[-1].append(item)
        else:
            groups.append([item])
    return [half for group in groups for _, _, half in sorted(group, key=lambda s: s[1])]


def signed_area(loop: Iterable[Curve]) -> float:
    """Area that a closed loop of curves encloses, counter-clockwise positive. [mm2]."""
    area = 0.0
    for c in loop:
        area += (c.start.conjugate() * c.end).imag / 2
        if c.bulge:
            area += c.radius**2 * (c.sweep - math.sin(c.sweep)) / 2
    return area


def inside(loops: Iterable[Sequence[Curve]], z: NDArray[np.complex128]) -> NDArray[np.bool_]:
    """Whether points lie inside closed loops, counted odd and even.

    Parameters
    ----------
    loops : iterable of sequences of Curve
    z : ndarray, any shape

    Returns
    -------
    ndarray of bool, same shape
        The parity of the chords' polygon, flipped between each chord and its arc.
    """
    z = np.asarray(z)
    curves = [half for loop in loops for curve in loop for half in _flat_halves(curve)]
    odd = np.zeros(z.size, dtype=bool)
    if curves:
        chords = np.array([(c.start, c.end) for c in curves])
        arcs = [c for c in curves if c.bulge]
        ends = np.array([(c.start, c.end, c.centre) for c in arcs]).reshape(-1, 3)
        rounds = np.array([(c.radius, c.bulge) for c in arcs]).reshape(-1, 2)
        for some in np.array_split(np.arange(z.size), 1 + z.size * len(curves) // 1_000_000):
            w = z.ravel()[some, None]
            odd[some] = (_left_of(chords, w) + _in_bows(ends, rounds, w)) % 2 == 1
    return odd.reshape(z.shape)


def _flat_halves(curve: Curve) -> tuple[Curve, ...]:
    """A curve, or its halves where it turns so far that its chord would mislead."""
    return (curve.part(0, 0.5), curve.part(0.5, 1)) if abs(curve.bulge) > 0.4 else (curve,)


def _left_of(chords: NDArray[np.complex128], w: NDArray[np.complex128]) -> NDArray[np.int64]:
    """How many chords (m, 2) lie to the right of points (n, 1), at their height."""
    a, b = chords.T
    between = (a.imag > w.imag) != (b.imag > w.imag)
    with np.errstate(divide="ignore", invalid="ignore"):
        foot = a.real + (w.imag - a.imag) * ((b - a).real / (b - a).imag)
    return (between & (w.real < foot)).sum(axis=1)


def _in_bows(
    ends: NDArray[np.complex128], rounds: NDArray[np.float64], w: NDArray[np.complex128]
) -> NDArray[np.int64]:
    """Between how many arcs (start, end, centre; radius, bulge) and their chords points lie."""
    (a, b, centre), (radius, bulge) = ends.T, rounds.T
    beyond = ((b - a).conjugate() * (w - a)).imag * bulge < 0
    return (beyond & (np.abs(w - centre) < radius)).sum(axis=1)


def turn_at(loop: Sequence[Curve], k: int) -> float:
    """Angle turned left at the start of piece k of a closed loop. [rad]."""
    return cmath.phase(loop[k].direction(0) / loop[k - 1].direction(1))


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
    for i in runs[0]:
        for j in runs[1]:
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
                    best = Fillet(
                        loop[corner].start, a.tag, b.tag, radius, arc_, (i, on_a), (j, on_b)
                    )
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

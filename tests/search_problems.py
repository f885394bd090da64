"""Problems of search with fronts that are known."""

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cases.search.front import hypervolume
from cases.search.loop import Told, generations
from cases.search.space import Number
from fea.closed_form import fitted_pressure, lame_ring

FINE = 2**20  # values of a number that stands for a real one


@dataclass(frozen=True)
class Problem:
    """Objectives to be as small as can be, demands met where they are at most 0."""

    space: list
    found: object  # of the values of a point: objectives, demands
    reference: tuple

    def judge(self, points):
        return [Told(*map(tuple, self.found(*point.values()))) for point in points]

    def front(self, seed, most, **more):
        """Hypervolume of what a search of so many points finds, and what it has seen."""
        *_, looked = generations(self.space, self.judge, objectives=2, seed=seed, most=most, **more)
        return self.measure(looked.told), looked

    def random(self, seed, most):
        """Hypervolume of as many points at random."""
        shares = np.random.default_rng(seed).random((most, len(self.space)))
        names = [one.name for one in self.space]
        points = [
            dict(zip(names, (n.nearest(s) for n, s in zip(self.space, row, strict=True)),
                     strict=True))
            for row in shares
        ]  # fmt: skip
        return self.measure(self.judge(points))

    def measure(self, told):
        return self.measured([of.values for of in told if of.sound])

    def measured(self, values):
        return hypervolume(
            [of for of in values if np.all(np.less(of, self.reference))], self.reference
        )


def _reals(*ranges):
    return [
        Number(f"x{at}", least, most, (most - least) / FINE)
        for at, (least, most) in enumerate(ranges)
    ]


def welded_beam(h, l, t, b):  # noqa: E741 - as the paper names them
    """Cost and deflection (Deb, Pratap & Moitra 2000; the form of the second library)."""
    p, length, e, g = 6000.0, 14.0, 30e6, 12e6
    m = p * (length + l / 2)
    r = np.sqrt(l**2 / 4 + ((h + t) / 2) ** 2)
    j = 2 * (np.sqrt(0.5) * h * l * (l**2 / 12 + ((h + t) / 2) ** 2))
    tau1, tau2 = p / (np.sqrt(2) * h * l), m * r / j
    tau = np.sqrt(tau1**2 + 2 * tau1 * tau2 * l / (2 * r) + tau2**2)
    sigma = 6 * p * length / (b * t**2)
    buckles = 4.013 * e * np.sqrt(t**2 * b**6 / 36) / length**2
    buckles *= 1 - t / (2 * length) * np.sqrt(e / (4 * g))
    cost = 1.10471 * h**2 * l + 0.04811 * t * b * (14 + l)
    deflection = 4 * p * length**3 / (e * t**3 * b)
    demands = (tau - 13600) / 13600, (sigma - 30000) / 30000, (h - b) / 4.875, (p - buckles) / p
    return (cost, deflection), demands


def _bnh(x, y):
    """Binh & Korn 1997."""
    demands = ((x - 5) ** 2 + y**2 - 25) / 25, (7.7 - (x - 8) ** 2 - (y + 3) ** 2) / 7.7
    return (4 * x**2 + 4 * y**2, (x - 5) ** 2 + (y - 5) ** 2), demands


WELDED_BEAM = Problem(
    _reals((0.125, 5), (0.1, 10), (0.1, 10), (0.125, 5)), welded_beam, (40, 0.015)
)
BNH = Problem(_reals((0, 5), (0, 3)), _bnh, (140, 50))


def stored_front(name):
    """A front that a second library made; how stands in its head."""
    lines = (Path(__file__).parent / "cases" / "search" / f"{name}.csv").read_text().splitlines()
    return [tuple(map(float, row)) for row in csv.reader(of for of in lines if of[0] != "#")]


# A barrel of 40 to 48 mm in a uniform insert w wide, held by an overlap of the radii. The limit
# is the gas pressure at which the pull at the bore of one of both is what its metal stands.
A, C = 40.0, 48.0
BARREL, INSERT = (72000.0, 0.33), (69000.0, 0.33)
STANDS = 90.0, 120.0  # [MPa]


def _pulls(w, overlap, p):
    b = C + w
    q = fitted_pressure(A, C, b, overlap=overlap, inner=BARREL, outer=INSERT, p_in=p)
    inner = lame_ring(A, A, C, p_in=p, p_out=q, youngs_modulus=BARREL[0], poisson=BARREL[1])
    outer = lame_ring(C, C, b, p_in=q, youngs_modulus=INSERT[0], poisson=INSERT[1])
    return np.array([float(inner.hoop), float(outer.hoop)])


def ring_limit(w, overlap):
    """By the solver's closed forms; pulls rise in proportion with the gas. [MPa]."""
    idle, gas = _pulls(w, overlap, 0.0), _pulls(w, overlap, 10.0)
    return float(np.min((np.array(STANDS) - idle) / (gas - idle) * 10.0))


def best_ring_limit(w):
    """The largest limit at any overlap: both pulls are met at once (derived of Lame's rings).

    With q = (2 a2 c p / (E1 (c2 - a2)) + overlap) / k the pulls are m1 p - n1 q and n2 q; so
    q = S2 / n2, and p = (S1 + n1 q) / m1, as long as the overlap that takes isn't below 0.
    """
    b = C + w
    m1 = (C**2 + A**2) / (C**2 - A**2)
    n1 = 2 * C**2 / (C**2 - A**2)
    n2 = (b**2 + C**2) / (b**2 - C**2)
    q = STANDS[1] / n2
    return (STANDS[0] + n1 * q) / m1


RINGS = Problem(
    [Number("w", 2.0, 12.0, 0.01), Number("overlap", 0.0, 0.2, 0.0001)],
    lambda w, overlap: ((w, -ring_limit(w, overlap)), ()),
    (12.0, -12.0),
)

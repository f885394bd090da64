"""The numbers and words that a search may choose, and a point of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

Point = Mapping[str, float | str]
"""A value of every name of a space."""


@dataclass(frozen=True, slots=True)
class Number:
    """A free number: the values ``least``, ``least + step`` and so on, up to ``most``."""

    name: str
    least: float
    most: float
    step: float

    @property
    def count(self) -> int:
        """How many values it has."""
        return 1 + int((self.most - self.least) / self.step + 1e-9)

    def value(self, at: int) -> float:
        """One of its values, by its place from 0; without the digits that adding steps leaves."""
        return round(self.least + at * self.step, 9)

    def place(self, value: float) -> int:
        """The place from 0 of the value that is nearest."""
        return round((value - self.least) / self.step)

    def nearest(self, share: float) -> float:
        """The value at a share of the range, 0 to 1; each value takes as much of it."""
        return self.value(min(int(share * self.count), self.count - 1))

    def allows(self, value: object) -> bool:
        """Whether a value is one of its own."""
        if isinstance(value, str) or not isinstance(value, float | int):
            return False
        at = self.place(value)
        return 0 <= at < self.count and abs(self.value(at) - value) < 1e-6 * self.step


@dataclass(frozen=True, slots=True)
class Choice:
    """A free word."""

    name: str
    options: tuple[str, ...]

    def nearest(self, share: float) -> str:
        """The word at a share of the list, 0 to 1."""
        return self.options[min(int(share * len(self.options)), len(self.options) - 1)]

    def allows(self, value: object) -> bool:
        """Whether a word is one of its own."""
        return value in self.options


Space = Sequence[Number | Choice]


def holds(space: Space, point: Point) -> bool:
    """Whether a point is one of a space: the same names, each value allowed."""
    return {one.name for one in space} == set(point) and all(
        one.allows(point[one.name]) for one in space
    )


def spread_points(space: Space, seed: int, count: int) -> list[Point]:
    """Points of Sobol's sequence, scrambled by a seed; the first are the same for any count.

    Parameters
    ----------
    space : sequence of Number or Choice
    seed : int
    count : int

    Examples
    --------
    >>> spread_points([Choice("form", ("ring",))], 0, 2)
    [{'form': 'ring'}, {'form': 'ring'}]
    """
    from scipy.stats import qmc

    exponent = int(np.ceil(np.log2(max(count, 2))))
    shares = qmc.Sobol(len(space), rng=seed).random_base2(exponent)[:count]
    return [
        {one.name: one.nearest(float(share)) for one, share in zip(space, row, strict=True)}
        for row in shares
    ]

"""Sizes on a sheet: lengths in the unit of a case, scales, and dimensions with their arrows."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cases.base.units import LENGTH
from cases.making.paper import Entry, Stroke, Words, arrow, ruled, wide

Item = Stroke | Words | Entry
SCALES = (5.0, 2.0, 1.5, 1.0, 0.75, 0.5, 0.4, 0.2, 0.1)
"""Of drawings (ISO 5455), and some between them."""


@dataclass(frozen=True, slots=True)
class Speaks:
    """Lengths in the unit of a case."""

    unit: str

    def size(self, value: float, places: int = 2) -> str:
        """A length, with as many places as millimetres have; two more in inches."""
        more = 1 if self.unit == "in" else 0
        return f"{LENGTH.written(value, self.unit) + 0.0:.{places + more}f}"

    def of(self, value: float, places: int = 2) -> str:
        """The same with its unit."""
        return f"{self.size(value, places)} {self.unit}"

    def rough(self, value: float) -> str:
        """A roughness in micrometres or microinches, as ISO 21920 and ASME B46.1 have it.

        Examples
        --------
        >>> Speaks("mm").rough(0.0032), Speaks("in").rough(0.0032)
        ('3.2 um', '126 uin')
        """
        if self.unit == "in":
            return f"{1e6 * LENGTH.written(value, 'in'):.0f} uin"
        return f"{1000 * value:.1f} um"


def scale_words(scale: float) -> str:
    """A scale, as ISO 5455 writes it."""
    return f"scale {scale:g}:1" if scale >= 1 else f"scale 1:{1 / scale:.3g}"


def dimension(first: complex, last: complex, text: str, name: str = "dimension") -> list[Item]:
    """A dimension between two places of the sheet, its line drawn between them."""
    way = (last - first) / abs(last - first)
    turn = math.degrees(math.atan2(way.imag, way.real))
    back = not -89.0 < turn <= 91.0  # words are read from below or from the right
    turn, over = (turn + 180.0, -0.7j * way) if back else (turn, 0.7j * way)
    middle = (first + last) / 2
    if abs(last - first) < wide(text) + 6:
        out = [ruled(first - 5 * way, last + (wide(text) + 8) * way)]
        tips = [arrow(first, way), arrow(last, -way)]
        at, anchor = last + 6 * way + over, "end" if back else "start"
    else:
        out = [ruled(first, last)]
        tips = [arrow(first, -way), arrow(last, way)]
        at, anchor = middle + over, "middle"
    return [*out, *tips, Words(at=at, text=text, turn=turn, anchor=anchor, name=name)]


def usual_scale(most: float) -> float:
    """The largest usual scale up to one; that itself below all of them."""
    return next((of for of in SCALES if of <= most), most)

"""The contour of a piece as a table: all that it takes to cut it, about the axis of its bore."""

from __future__ import annotations

from dataclasses import dataclass

from cases.base.units import LENGTH
from cases.making.make import Making
from geometry.cut_pieces import CutPiece

DECIMALS = {"mm": 3, "in": 5}
"""That a contour closes with to a micrometre."""


@dataclass(frozen=True, slots=True)
class Corner:
    """A point of a contour, and the way to the next."""

    x: str
    y: str
    way: str  # "line", or an arc's radius
    turn: str  # of an arc: "left" or "right"; empty of a line


def contour(making: Making, piece: CutPiece) -> tuple[tuple[Corner, ...], ...]:
    """Every loop of a piece, the metal on the left, in the units of the case.

    Arcs turn by less than half a circle, so that ends and radius tell them.
    """
    unit = making.case.spoken.length
    axis = making.case.block.axes[piece.bore - 1]

    def size(value: float) -> str:
        return f"{round(LENGTH.written(value, unit), DECIMALS[unit]) + 0.0:.{DECIMALS[unit]}f}"

    return tuple(
        tuple(
            Corner(
                size(curve.start.real - axis),
                size(curve.start.imag),
                size(curve.radius) if curve.bulge else "line",
                ("left" if curve.bulge > 0 else "right") if curve.bulge else "",
            )
            for curve in loop
        )
        for loop in piece.loops
    )

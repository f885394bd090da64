"""An opening for water in a gasket or a head, in lines and arcs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from geometry import planar
from geometry.overlay import Loop, turned
from geometry.planar import Curve


@dataclass(frozen=True, slots=True)
class Opening:
    """A closed loop about the axis of bore 1, counter-clockwise.

    Attributes
    ----------
    name : str
        How messages call it: by its line, or by its entity and layer.
    corners : tuple of (float, float, float)
        Start of each curve, x and y [mm], and its bulge, tan(sweep / 4).
    vent : bool
        Whether it lets air out at a high point.
    """

    name: str
    corners: tuple[tuple[float, float, float], ...]
    vent: bool = False

    def loop(self, axis: float = 0.0) -> Loop:
        """Its curves, with the axis of bore 1 at so much along x [mm]."""
        z = [complex(x + axis, y) for x, y, _ in self.corners]
        bulges = (bulge for _, _, bulge in self.corners)
        ends = [*z[1:], *z[:1]]
        return tuple(Curve(*of) for of in zip(z, ends, bulges, strict=True))


def opening_of(name: str, loop: Sequence[Curve], vent: bool = False) -> Opening:
    """An opening of a closed loop that runs either way."""
    if planar.signed_area(loop) < 0:
        loop = [curve.reversed() for curve in reversed(loop)]
    corners = tuple((of.start.real, of.start.imag, of.bulge) for of in loop)
    return Opening(name, corners, vent)


def moved(
    openings: Iterable[Opening], by: complex, to: complex, over: bool = False
) -> tuple[Opening, ...]:
    """Openings turned by a unit number and moved, turned over before where ``over``."""
    return tuple(opening_of(of.name, turned(of.loop(), by, to, over), of.vent) for of in openings)

"""Between what sizes pocket and insert are made, side by side, so that the fit comes out."""

from __future__ import annotations

from dataclasses import dataclass

from cases.fit.iso import IsoFit, iso_fits
from cases.making.make import Making
from cases.making.passage import BARREL, OUTER_WALL, encloses_bore, side_of

Span = tuple[float, float]
LOOSER = 0.05
"""Per side, that a clearance of no stated tolerance may come out larger by (common practice, no
source). [mm]."""


@dataclass(frozen=True, kw_only=True, slots=True)
class SideLimits:
    """Limits of one side at 20 degC, each per side and against the outline as drawn. [mm]."""

    part: str  # that the side stands against
    bonded: bool
    press: tuple[float, float, float]  # least, nominal and largest; negative is clearance
    pocket: Span  # off the drawn outline, more is a larger pocket
    insert: Span  # off the drawn outline, more is a larger piece


def side_limits(making: Making) -> tuple[SideLimits, ...]:
    """Limits of every side that a piece has; none where nothing is said of the fit.

    The pocket goes from its drawn size to its share of what the fit may vary by, as the holes of
    ISO 286's basis do; the insert has the rest: the largest pocket on the smallest piece presses by
    the least, the smallest pocket on the largest piece by the most.
    """
    if making.fit is None or making.made is None:
        return ()
    found = []
    block = making.case.block
    own = {side_of(curve, block) for piece in making.pieces for curve in piece.curves}
    for part, side in making.fit.sides.items():
        if part not in own:
            continue
        low, nominal, high = (of / 2 for of in making.made.of(making.fit, part))
        if side.bonded:
            low = nominal = high = 0.0
        elif low == high < 0 and making.fit.compound is None:
            low -= LOOSER
        pocket = making.given.pocket_share * (high - low)
        found.append(
            SideLimits(
                part=part, bonded=side.bonded, press=(low, nominal, high), pocket=(0.0, pocket),
                insert=(low + pocket, high),
            )
        )  # fmt: skip
    return tuple(found)


def radius_limits(part: str, radius: float, of: Span) -> Span:
    """Least and largest radius of a round side, of an outline that is made larger by a span. [mm].

    Examples
    --------
    >>> radius_limits("barrel", 52.0, (0.004, 0.006)), radius_limits("outer wall", 61.0, (0.0, 0.1))
    ((51.994, 51.996), (61.0, 61.1))
    """
    if part == BARREL:
        return radius - of[1], radius - of[0]
    return radius + of[0], radius + of[1]


def ring_classes(making: Making) -> dict[str, tuple[float, IsoFit | None]]:
    """Diameter of each round side of a ring about one bore, and the ISO 286 fit inside its limits.

    None where the usual fits of a hole H7 all leave the limits; no side of any other insert.
    """
    block, insert = making.case.block, making.design.insert
    assert insert is not None
    if block.bores > 1 or insert.form != "ring" or making.fit is None or making.made is None:
        return {}
    if not all(encloses_bore(piece, block) for piece in making.pieces):
        return {}
    found: dict[str, tuple[float, IsoFit | None]] = {}
    for part, radius in (
        (BARREL, block.barrel_radius - insert.off_barrel),
        (OUTER_WALL, block.jacket_radius + insert.off_outer_wall),
    ):
        if part not in making.fit.sides or (insert.width is not None and part == OUTER_WALL):
            continue
        low, _, high = (1000 * of for of in making.made.of(making.fit, part))
        fits = [of for of in iso_fits(2 * radius) if low <= of.least_um and of.most_um <= high]
        found[part] = 2 * radius, fits[0] if fits else None
    return found

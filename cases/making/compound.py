"""A compound in the joint: how much, in what gap, and what it holds at temperature."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from cases.life.given import life_given
from cases.making.limits import side_limits
from cases.making.make import Making

SQUEEZED = 1.5
"""Amount over what stays in the joint, as some is wiped off on the way in (common practice, no
source)."""
THINNEST = 0.010
"""Of a film that wets both faces, of roughness and of what a press leaves (judgement). [mm]."""


def amount(making: Making) -> float:
    """Of all joints that it fills, with what is wiped off. [mm3].

    Perimeter of the pieces times their depth times the gap of each side, at least that of a film.
    """
    insert = making.design.insert
    assert insert is not None
    gaps = [max(-of.press[0], THINNEST) for of in side_limits(making) if not of.bonded]
    length = sum(piece.perimeter for piece in making.pieces)
    return SQUEEZED * length * insert.depth * float(np.mean(gaps)) if gaps else 0.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Units:
    """How quantities are written, each from inside units: mm3, mm, MPa, degC."""

    volume: Callable[[float], str] = lambda value: f"{value / 1000:.3g} cm3"
    gap: Callable[[float], str] = lambda value: f"{1000 * value:.0f} um"
    stress: Callable[[float], str] = lambda value: f"{value:g} MPa"
    warm: Callable[[float], str] = lambda value: f"{value:g} degC"


def compound_words(making: Making, units: Units = Units()) -> Iterator[str]:
    """Amount, gap, cure and hold of the compound of a fit; nothing where there is none."""
    fit = making.fit
    if fit is None or fit.compound is None:
        return
    of = fit.compound
    volume = amount(making)
    yield (
        f"Compound: about {units.volume(volume)} in all, "
        f"{units.volume(volume / len(making.pieces))} a piece, on both faces; it fills gaps of up "
        f"to {units.gap(of.largest_gap)}."
    )
    wide = [
        side.part
        for side in side_limits(making)
        if not side.bonded and -side.press[0] > of.largest_gap
    ]
    if wide:
        yield f"It does not fill the side of the {' and of the '.join(wide)}, which stands wider."
    heat = life_given(making.case).heat
    hot = max((at for at, _ in of.shear), default=20.0)
    yield (
        "It cures as its maker says, unmoved, before the deck is cut and before any heat. Wet, it "
        f"is the lubricant of a press, friction {of.friction:g}."
    )
    told = ", ".join(
        f"{units.stress(shear)} of shear and {units.stress(_at(of.tension, at))} of tension at "
        f"{units.warm(at)}"
        for at, shear in of.shear
    )
    yield f"It holds {told}." + (
        f" Nothing is known above {units.warm(hot)}." if heat is not None else ""
    )


def _at(table: tuple[tuple[float, float], ...], temperature: float) -> float:
    at, strength = zip(*table, strict=True)
    return float(np.interp(temperature, at, strength))

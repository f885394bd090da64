"""Pressing an insert in cold: force, stroke, and what it does to the barrel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True, kw_only=True, slots=True)
class PiecePress:
    """A piece pressed in cold."""

    number: int
    low: float  # force at the end of the stroke, with the least friction [N]
    high: float  # the same with the largest
    out: float | None  # that pushes it out again, with the friction of the case [N]


@dataclass(frozen=True, kw_only=True, slots=True)
class Press:
    """An insert pressed in cold."""

    pieces: tuple[PiecePress, ...]
    stroke: float  # depth over which it presses [mm]
    out_of_round_um: float | None  # of the bore when it is in


def press_force(pressing: float, friction: float) -> float:
    """Axial force that slides a joint. [N].

    Parameters
    ----------
    pressing : float
        Normal force of the joint, pressure times area. [N]
    friction : float

    Notes
    -----
    F = mu p A (DIN 7190-1).

    Examples
    --------
    A hub of 50 and 95 mm, 20 mm long, on a hollow shaft of 30 mm, steel, pressed by 50 um of which
    0.8 (6 + 6) um are flattened:

    >>> import math
    >>> from fea.closed_form import fitted_pressure
    >>> steel = (210000.0, 0.3)
    >>> p = fitted_pressure(15, 25, 47.5, overlap=0.0404 / 2, inner=steel, outer=steel)
    >>> round(p, 3), round(press_force(p * math.pi * 50 * 20, 0.15) / 1000, 3)
    (43.605, 20.548)
    """
    return friction * pressing


def press_of(
    rated: Mapping[str, Any], friction: tuple[float, float], stroke: float
) -> Press | None:
    """How a design is pressed in by its rating; None where that does not tell its pieces' forces.

    Parameters
    ----------
    rated : mapping
        The design in the results of a rating.
    friction : tuple of float
        Low and high.
    stroke : float
        [mm]
    """
    pieces = [of for of in rated.get("pieces", ()) if of.get("pressing_force_n") is not None]
    if not pieces:
        return None
    return Press(
        pieces=tuple(
            PiecePress(
                number=of["number"],
                low=press_force(of["pressing_force_n"], friction[0]),
                high=press_force(of["pressing_force_n"], friction[1]),
                out=of["hold_n"],
            )
            for of in pieces
        ),
        stroke=stroke,
        out_of_round_um=_out_of_round(rated),
    )


def _out_of_round(rated: Mapping[str, Any]) -> float | None:
    """Of the bore as pressed in at the interference of the case, between solved ones. [um]."""
    advice = rated.get("fit_advice")
    if not advice or not advice["by_interference"]:
        return None
    points = [(of["interference_um"], of["out_of_round_um"]) for of in advice["by_interference"]]
    return float(np.interp(advice["asked_um"], *np.array(points).T))

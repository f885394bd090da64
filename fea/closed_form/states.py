"""What closed forms of rings give, and what they ask of radii."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RingState:
    """Stress and displacement of a ring that stays round."""

    radial: Array  # stress [MPa]
    hoop: Array  # stress [MPa]
    growth: Array  # radial displacement, outward positive [mm]


@dataclass(frozen=True, slots=True)
class PolarState:
    """Stress and displacement in polar coordinates."""

    radial: Array  # stress [MPa]
    hoop: Array  # stress [MPa]
    shear: Array  # stress [MPa]
    growth: Array  # radial displacement, outward positive [mm]
    sliding: Array  # displacement around the axis, counter-clockwise positive [mm]


def require_rising(**radii: float) -> None:
    """Refuse radii that are not positive, each above the one before.

    Raises
    ------
    ValueError
        With all of them, by name.
    """
    values = list(radii.values())
    if not (values[0] > 0 and all(low < high for low, high in pairwise(values))):
        given = ", ".join(f"{name} = {value:g}" for name, value in radii.items())
        raise ValueError(f"radii must be positive and rise in this order, but got {given} mm.")

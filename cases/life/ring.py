"""Whether a piston ring can follow the bore."""

from __future__ import annotations

import numpy as np

from cases.life.given import PistonRing
from cases.life.result import RingFollow
from fea.bore import HIGHEST_ORDER, BoreShape, harmonics
from fea.closed_form import ring_conformability
from geometry.clock import clock_to_angle

FACE_SHARE = 0.5
"""Of the gas behind a ring that the gas in front of its face meets: it falls evenly along the face
(from memory)."""


def ring_follow(
    bore: BoreShape, ring: PistonRing, diameter: float, gas_behind: float | None = None
) -> RingFollow:
    """Whether a piston ring can follow a bore's shape, by itself and with gas behind it.

    Gas behind it adds to the even pressure by which it lies on the wall, F / (h r) of a thin ring
    (hoop force under an even pressure p: p h r), and so to what it can follow.

    Parameters
    ----------
    bore : BoreShape
    ring : PistonRing
    diameter : float
        Of the bore. [mm]
    gas_behind : float, optional
        Pressure; None where there is none. [MPa]
    """
    largest = {
        order: 1000
        * ring_conformability(
            int(order),
            radius=diameter / 2,
            radial_width=ring.radial_width,
            axial_height=ring.axial_height,
            youngs_modulus=ring.youngs_modulus,
            tangential_force=ring.tangential_force,
        )
        for order in bore.orders_um
    }
    angle = clock_to_angle(bore.clock_hours)
    _, cosine, sine = harmonics(angle, bore.growth_um, HIGHEST_ORDER)
    pressure = np.ones(len(angle))
    for order, amplitude in largest.items():
        n = int(order)
        shape = cosine[n - 1] * np.cos(n * angle) + sine[n - 1] * np.sin(n * angle)
        pressure -= shape / amplitude
    least = float(pressure.min())
    with_gas = None
    if gas_behind is not None:
        own = ring.tangential_force / (ring.axial_height * diameter / 2)
        with_gas = 1 - (1 - least) * own / (own + (1 - FACE_SHARE) * gas_behind)
    return RingFollow(
        largest_um=largest,
        leaking=tuple(n for n, value in bore.orders_um.items() if value > largest[n]),
        least_pressure=least,
        least_pressure_with_gas=with_gas,
    )

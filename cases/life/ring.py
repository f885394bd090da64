"""Whether a piston ring can follow the bore."""

from __future__ import annotations

import numpy as np

from cases.life.given import PistonRing
from cases.life.result import RingFollow
from fea.bore import HIGHEST_ORDER, BoreShape, harmonics
from fea.closed_form import ring_conformability
from geometry.clock import clock_to_angle


def ring_follow(bore: BoreShape, ring: PistonRing, diameter: float) -> RingFollow:
    """Whether a piston ring can follow a bore's shape.

    Parameters
    ----------
    bore : BoreShape
    ring : PistonRing
    diameter : float
        Of the bore. [mm]
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
    return RingFollow(
        largest_um=largest,
        leaking=tuple(n for n, value in bore.orders_um.items() if value > largest[n]),
        least_pressure=float(pressure.min()),
    )

"""The largest side thrust of the case that is read back, from its own numbers."""

from __future__ import annotations

import numpy as np

from cases.gas.solve import gas_of


def most_thrust(result):
    """Force [N], crank angle [deg] and depth of the pin [mm]; derived, slopes by differences.

    Stroke 84, rod 140, bore 80 mm, 7000 rpm, crown 0.3 mm down, pressure times 1.1; left out, a
    piston of 0.7 g/cm3 of the bore's cube and its pin 0.35 bores down.
    """
    closed = gas_of(result).wall_load.cycle.closed
    deg = np.arange(0.0, 180.5, 0.5)

    def down(theta):
        return 182 - 42 * np.cos(theta) - np.sqrt(140**2 - (42 * np.sin(theta)) ** 2)

    theta, step, omega = np.deg2rad(deg), 1e-3, 2 * np.pi * 7000 / 60
    speeding = (down(theta - step) - 2 * down(theta) + down(theta + step)) / step**2
    inertia = 0.7e-6 * 80**3 * speeding * omega**2 / 1000  # kg, m/s2
    gas = (1.1 * np.interp(deg, closed.deg, closed.pressure) - 0.101325) * np.pi * 80**2 / 4
    force = (gas - inertia) * np.tan(np.arcsin(0.3 * np.sin(theta)))
    at = int(np.argmax(force))
    return force[at], deg[at], 0.3 + down(theta[at]) + 0.35 * 80

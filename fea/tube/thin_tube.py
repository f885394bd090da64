r"""Closed forms of a long thin tube that bends along its axis.

A strip of the wall is a beam on an elastic foundation, its hoop stiffness: with the mean radius a,
the wall h, and what a backing k adds [MPa/mm],

.. math::

    D w'''' + \left(\frac{E h}{a^2} + k\right) w = p, \qquad D = \frac{E h^3}{12 (1 - \nu^2)},
    \qquad \beta^4 = \frac{E h / a^2 + k}{4 D}.

mm, N and MPa; w is outward. Timoshenko & Woinowsky-Krieger, *Theory of Plates and Shells*, 2nd ed.,
1959, ch. 15; Hetenyi, *Beams on Elastic Foundation*, 1946 (both from memory). No function knows the
finite element code.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True)
class ThinTube:
    """A long thin tube, on a backing or on none."""

    radius: float  # of the middle of its wall [mm]
    wall: float  # [mm]
    youngs_modulus: float  # [MPa]
    poisson: float
    backing: float = 0.0  # [MPa/mm]

    @property
    def bending(self) -> float:
        """D, bending stiffness of the wall. [N mm]."""
        return self.youngs_modulus * self.wall**3 / (12 * (1 - self.poisson**2))

    @property
    def support(self) -> float:
        """Pressure for each mm of growth, E h / a^2 + k. [MPa/mm]."""
        return self.youngs_modulus * self.wall / self.radius**2 + self.backing

    @property
    def beta(self) -> float:
        """One over the length along which bending dies out. [1/mm].

        Examples
        --------
        >>> tube = ThinTube(radius=43, wall=6, youngs_modulus=70000, poisson=0.33)
        >>> round(tube.beta, 7)
        0.0796071
        """
        return float((self.support / (4 * self.bending)) ** 0.25)

    def band(self, z: ArrayLike, length: float, pressure: float) -> Array:
        r"""Growth under a pressure on a band, far from the ends.

        .. math:: w = \frac{p}{2 K} \left(f(b) + f(c)\right),\quad
                  f(s) = \operatorname{sgn}(s) (1 - e^{-\beta |s|} \cos \beta s)

        with b and c the distances to the two edges of the band, negative beyond them.

        Parameters
        ----------
        z : array_like, shape (...)
            From the middle of the band. [mm]
        length : float
            Of the band. [mm]
        pressure : float
            [MPa]

        Returns
        -------
        ndarray, shape (...)
            [mm]

        Examples
        --------
        >>> tube = ThinTube(radius=43, wall=6, youngs_modulus=70000, poisson=0.33)
        >>> round(float(tube.band(0.0, 30.0, 10.0)), 6)
        0.039117
        """
        z = np.asarray(z, dtype=float)
        total = np.zeros(z.shape)
        for away in (length / 2 - z, length / 2 + z):
            fading = np.exp(-self.beta * np.abs(away)) * np.cos(self.beta * away)
            total += np.sign(away) * (1 - fading)
        return np.asarray(pressure / (2 * self.support) * total)

    def edge(self, z: ArrayLike, force: float, moment: float = 0.0) -> Array:
        r"""Growth by loads on a free edge.

        .. math:: w = \frac{e^{-\beta z}}{2 \beta^3 D}
                  \left(Q \cos \beta z + \beta M (\cos \beta z - \sin \beta z)\right)

        Parameters
        ----------
        z : array_like, shape (...)
            From the edge. [mm]
        force : float
            Q, outward, for each mm around the edge. [N/mm]
        moment : float
            M, that opens the edge, for each mm around it. [N]

        Returns
        -------
        ndarray, shape (...)
            [mm]
        """
        at = self.beta * np.asarray(z, dtype=float)
        loads = force * np.cos(at) + self.beta * moment * (np.cos(at) - np.sin(at))
        return np.asarray(np.exp(-at) * loads / (2 * self.beta**3 * self.bending))


def stepped_support(z: ArrayLike, above: ThinTube, below: ThinTube, pressure: float) -> Array:
    """Growth of a tube under pressure all along, whose backing changes at z = 0.

    Far away each half grows by p / K; at the step growth, slope, moment and shear force go on. Each
    half bends by edge loads at the step, four unknowns.

    Parameters
    ----------
    z : array_like, shape (...)
        Negative above the step. [mm]
    above, below : ThinTube
        The same wall on two backings.
    pressure : float
        [MPa]

    Returns
    -------
    ndarray, shape (...)
        [mm]

    References
    ----------
    .. [1] Derived; the beam of Hetenyi, *Beams on Elastic Foundation*, 1946, in two pieces.
    """
    b, c = above.beta, below.beta
    # w = e^-bs (A cos bs + B sin bs) on each side, s away from the step; derivatives at s = 0
    rows = [[1, 0], [-b, b], [0, -2 * b**2], [2 * b**3, 2 * b**3]]
    other = [[1, 0], [-c, c], [0, -2 * c**2], [2 * c**3, 2 * c**3]]
    turned = np.array([[-1.0], [1.0], [-1.0], [1.0]])  # slope and shear change sign with s
    matrix = np.hstack([np.array(rows, dtype=float), turned * np.array(other, dtype=float)])
    step = pressure / below.support - pressure / above.support
    a0, a1, b0, b1 = np.linalg.solve(matrix, np.array([step, 0.0, 0.0, 0.0]))
    z = np.asarray(z, dtype=float)
    up, down = b * np.abs(z), c * np.abs(z)
    return np.where(
        z < 0,
        pressure / above.support + np.exp(-up) * (a0 * np.cos(up) + a1 * np.sin(up)),
        pressure / below.support + np.exp(-down) * (b0 * np.cos(down) + b1 * np.sin(down)),
    )

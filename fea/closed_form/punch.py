"""A flat punch with rounded edges on a plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True, slots=True)
class RoundedPunch:
    """A flat punch with rounded edges, pressed on a plane without friction, both elastic."""

    flat: float  # half the width of its flat face [mm]
    radius: float  # of its edges [mm]
    half_width: float  # of contact [mm]
    load: float  # per depth [N/mm]

    def pressure(self, x: ArrayLike) -> NDArray[np.float64]:
        """Pressure at distances from the middle; 0 beyond the contact. [MPa].

        Parameters
        ----------
        x : array_like, shape (...)
            [mm]
        """
        share = np.abs(np.asarray(x, dtype=float)) / self.half_width
        f, f0 = np.arcsin(np.minimum(share, 1.0)), np.arcsin(self.flat / self.half_width)
        with np.errstate(divide="ignore", invalid="ignore"):
            across = np.sin(f) * np.log(np.abs(np.sin(f + f0) / np.sin(f - f0)))
            along = np.abs(np.tan((f + f0) / 2) * np.tan((f - f0) / 2))
            shape = (np.pi - 2 * f0) * np.cos(f) + across + np.sin(f0) * np.log(along)
        mean = 2 / np.pi * self.load / self.half_width
        found = mean * shape / (np.pi - 2 * f0 - np.sin(2 * f0))
        return np.where(share < 1, found, 0.0)


def rounded_punch(
    flat: float, radius: float, half_width: float, youngs_modulus: float
) -> RoundedPunch:
    r"""A flat punch with rounded edges that touches over a given width, both of one material.

    Half-planes in plane stress, no friction; the gap before it is pressed is
    :math:`(|x| - b)^2 / (2 R)` beyond the flat face. With :math:`\sin\phi_0 = b/a`,
    :math:`x = a \sin\phi` and :math:`E^* = E/2`

    .. math::
        \frac{4 P R}{a^2 E^*} = \pi - 2\phi_0 - \sin 2\phi_0,\qquad
        \frac{a\,p}{P} = \frac{2/\pi}{\pi - 2\phi_0 - \sin 2\phi_0}
            \left\{(\pi - 2\phi_0)\cos\phi + \ln\left[
            \left|\frac{\sin(\phi + \phi_0)}{\sin(\phi - \phi_0)}\right|^{\sin\phi}
            \left|\tan\frac{\phi + \phi_0}{2} \tan\frac{\phi - \phi_0}{2}\right|^{\sin\phi_0}
            \right]\right\}.

    Parameters
    ----------
    flat : float
        Half the width b of the flat face. [mm]
    radius : float
        R of the edges. [mm]
    half_width : float
        a of the contact. [mm]
    youngs_modulus : float
        [MPa]

    Raises
    ------
    ValueError
        Unless 0 < flat < half_width.

    References
    ----------
    .. [1] Ciavarella, Hills & Monno, *Proc. IMechE Part C* 212 (1998) 319-328 (from memory; that
       it opens and closes the gap confirms it, see the tests).

    Examples
    --------
    >>> punch = rounded_punch(5, radius=50, half_width=6.25, youngs_modulus=70000)
    >>> round(punch.load, 2), round(float(punch.pressure(0.0)), 2)
    (2235.37, 123.92)
    """
    if not 0 < flat < half_width:
        raise ValueError(f"flat = {flat:g} mm must lie between 0 and {half_width:g} mm.")
    f0 = np.arcsin(flat / half_width)
    share = np.pi - 2 * f0 - np.sin(2 * f0)
    load = float(share * half_width**2 * youngs_modulus / (8 * radius))
    return RoundedPunch(flat, radius, half_width, load)

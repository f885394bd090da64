"""Half-planes, strips and pins that press on one another, and slide."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LineContact:
    """A cylinder on a flat."""

    half_width: float  # [mm]
    peak: float  # largest pressure [MPa]


def hertz_line(load: float, radius: float, youngs_modulus: float) -> LineContact:
    r"""Cylinder pressed on a flat of the same metal, plane stress: :math:`E^* = E / 2`.

    .. math:: a^2 = \frac{4 P R}{\pi E^*}, \qquad p_0 = \frac{2 P}{\pi a}

    Parameters
    ----------
    load : float
        For each mm of depth. [N/mm]
    radius : float
        [mm]
    youngs_modulus : float
        [MPa]

    References
    ----------
    .. [1] Johnson, *Contact Mechanics*, 1985, line contact (from memory).

    Examples
    --------
    >>> contact = hertz_line(1000.0, 50.0, 70_000.0)
    >>> round(contact.half_width, 5), round(contact.peak, 3)
    (1.34867, 472.035)
    """
    half_width = float(np.sqrt(8 * load * radius / (np.pi * youngs_modulus)))
    return LineContact(half_width, 2 * load / (np.pi * half_width))


def cattaneo_mindlin(x: ArrayLike, *shares: float) -> Array:
    r"""Friction of a line contact pushed along, over friction coefficient and largest pressure.

    With :math:`S(c) = \sqrt{c^2 - x^2}` inside c, else 0, and lengths over the half-width, a push
    :math:`Q_1` leaves the middle stuck out to :math:`c = \sqrt{1 - Q_1/\mu P}`,

    .. math:: \frac{q}{\mu p_0} = S(1) - S(c)

    and each push after it that turns round takes off twice the same of half its change.

    Parameters
    ----------
    x : array_like, shape (...)
        Over the half-width.
    *shares : float
        Pushes one after the other over friction times load, each turning round within the ones
        before it.

    Returns
    -------
    ndarray, shape (...)

    References
    ----------
    .. [1] Cattaneo 1938; Mindlin, *J. Appl. Mech.* 16 (1949) 259-268; Johnson, *Contact Mechanics*,
       1985 (all from memory).

    Examples
    --------
    >>> cattaneo_mindlin([0.0], 0.5), cattaneo_mindlin([0.0, 0.9], 0.75, 0.0)
    (array([0.29289322]), array([ 0.08113883, -0.43588989]))
    """
    x = np.asarray(x, dtype=float)

    def inside(c: float) -> Array:
        return np.sqrt(np.maximum(c**2 - x**2, 0.0))

    found, before = np.zeros(x.shape), 0.0
    for number, share in enumerate(shares):
        times = 1.0 if number == 0 else 2.0
        change = share - before
        stuck = float(np.sqrt(1 - abs(change) / times))
        found = found + np.sign(change) * times * (inside(1.0) - inside(stuck))
        before = share
    return found


def sliding_stress(x: ArrayLike, friction: float) -> Array:
    r"""Stress along the surface beside and under a sliding line contact, over its peak pressure.

    Of the body that the friction pulls toward +x; with x over the half-width

    .. math:: \frac{\sigma_x}{p_0} = -\sqrt{1 - x^2} - 2 \mu x \quad (|x| < 1), \qquad
              -2 \mu \left(x - \operatorname{sign}(x) \sqrt{x^2 - 1}\right) \quad (|x| > 1)

    Parameters
    ----------
    x : array_like, shape (...)
    friction : float

    Returns
    -------
    ndarray, shape (...)

    References
    ----------
    .. [1] Smith & Liu, *J. Appl. Mech.* 20 (1953) 157-166 (from memory).

    Examples
    --------
    >>> sliding_stress([-1.5, -1.0, 1.0], 0.3).round(6)
    array([ 0.22918,  0.6    , -0.6    ])
    """
    x = np.asarray(x, dtype=float)
    beyond = np.sign(x) * np.sqrt(np.maximum(x**2 - 1, 0.0))
    return np.asarray(-np.sqrt(np.maximum(1 - x**2, 0.0)) - 2 * friction * (x - beyond))


@dataclass(frozen=True, slots=True)
class PulledStrip:
    """A strip pressed on a rigid base, pulled at its end and let go."""

    slip_length: float  # [mm]
    end_moves: float  # when pulled [mm]
    left: float  # when let go [mm]
    lost: float  # work of friction in each cycle after the first pull [N mm]


def pulled_strip(stiffness: float, friction: float, pull: float) -> PulledStrip:
    r"""Bar of stiffness EA with a friction :math:`\tau` along it that never shakes down.

    .. math:: s = \frac{F}{\tau},\quad u = \frac{F^2}{2 \tau EA},\quad u_0 = \frac{u}{2},\quad
              W = \frac{F^3}{12\, \tau EA}

    Parameters
    ----------
    stiffness : float
        EA. [N]
    friction : float
        That can be borne along it. [N/mm]
    pull : float
        [N]

    References
    ----------
    .. [1] Derived: the force falls by the friction where it slides, by twice it on the way back.

    Examples
    --------
    >>> strip = pulled_strip(72_400.0 * 160.0, 15.0, 6000.0)
    >>> strip.slip_length, round(strip.end_moves, 6), round(strip.left, 7), round(strip.lost, 3)
    (400.0, 0.103591, 0.0517956, 103.591)
    """
    moves = pull**2 / (2 * friction * stiffness)
    return PulledStrip(pull / friction, moves, moves / 2, pull**3 / (12 * friction * stiffness))


def pressed_pin(
    angle: ArrayLike, load: float, *, overlap: float, radius: float, youngs_modulus: float
) -> Array:
    r"""Pressure of a pin pressed into an endless plate of its metal, while all of it touches.

    .. math:: p = \frac{E\, \delta}{2 R} + \frac{Q \cos\theta}{\pi R}

    until the far side lifts off at :math:`Q = \pi E \delta / 2`. No friction, plane stress, the
    load at the middle of the pin.

    Parameters
    ----------
    angle : array_like, shape (...)
        From the load. [rad]
    load : float
        For each mm of depth. [N/mm]
    overlap : float
        Radius of the pin less that of the hole. [mm]
    radius : float
        [mm]
    youngs_modulus : float
        [MPa]

    Returns
    -------
    ndarray, shape (...)
        [MPa]

    Raises
    ------
    ValueError
        If the far side has lifted off.

    References
    ----------
    .. [1] The limit of Persson's pin in a hole (1964, from memory) where all touches; derived.

    Examples
    --------
    >>> fit = {"overlap": 0.02, "radius": 25.0, "youngs_modulus": 70_000.0}
    >>> pressed_pin([0.0, 3.14159265], 1000.0, **fit).round(4)
    array([40.7324, 15.2676])
    """
    lifts = np.pi * youngs_modulus * overlap / 2
    if load > lifts:
        raise ValueError(f"a load of {load:g} N/mm lifts the pin off: it may be {lifts:g} N/mm.")
    even = youngs_modulus * overlap / (2 * radius)
    return np.asarray(even + load * np.cos(angle) / (np.pi * radius))

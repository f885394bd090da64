"""Clock positions: the only place that knows that 12:00 is +y and hours run clockwise."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)")


def parse_clock(text: str) -> float:
    """Hours of a clock position written as ``"1:40"``.

    Parameters
    ----------
    text : str
        Hours 0 to 12, a colon, minutes 00 to 59.

    Returns
    -------
    float
        Hours, 0 <= hours < 12; both "0:00" and "12:00" are the top. [h]

    Raises
    ------
    ValueError
        If the text is no clock position.

    Examples
    --------
    >>> round(parse_clock("1:40"), 3)
    1.667
    >>> parse_clock("12:30")
    0.5
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None or int(match[1]) > 12:
        raise ValueError(
            f'"{text}" is no clock position. Write hours and minutes seen looking down on the '
            'deck, from "12:00" (the datum) clockwise, such as "1:30" or "10:45".'
        )
    return (int(match[1]) + int(match[2]) / 60) % 12


def format_clock(hours: float) -> str:
    """Clock position as text, to the minute; the top is ``12:00``.

    Examples
    --------
    >>> format_clock(1.6667), format_clock(0.0), format_clock(11.9999)
    ('1:40', '12:00', '12:00')
    """
    minutes = round(hours * 60) % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"


def clock_to_angle(hours: ArrayLike) -> NDArray[np.float64]:
    """Angle of a clock position: 90 deg - 30 deg x hours.

    Parameters
    ----------
    hours : array_like, shape (...)
        [h]

    Returns
    -------
    ndarray, shape (...)
        From +x, counter-clockwise. [rad]
    """
    return np.deg2rad(90.0 - 30.0 * np.asarray(hours, dtype=float))


def angle_to_clock(angle: ArrayLike) -> NDArray[np.float64]:
    """Clock position of an angle.

    Parameters
    ----------
    angle : array_like, shape (...)
        From +x, counter-clockwise. [rad]

    Returns
    -------
    ndarray, shape (...)
        0 <= hours < 12. [h]
    """
    return np.mod((90.0 - np.rad2deg(np.asarray(angle, dtype=float))) / 30.0, 12.0)


def clock_of(x: ArrayLike, y: ArrayLike) -> NDArray[np.float64]:
    """Clock position of points about the bore axis at the origin.

    About the nearest of several bore axes: :meth:`geometry.section.Block.nearest_bore`.

    Parameters
    ----------
    x, y : array_like, shapes that broadcast to (...)
        [mm]

    Returns
    -------
    ndarray, shape (...)
        0 <= hours < 12. [h]
    """
    return angle_to_clock(np.arctan2(np.asarray(y, dtype=float), np.asarray(x, dtype=float)))


def hours_between(a: ArrayLike, b: ArrayLike) -> NDArray[np.float64]:
    """Shortest way round the clock from ``b`` to ``a``.

    Parameters
    ----------
    a, b : array_like, shapes that broadcast to (...)
        Clock positions. [h]

    Returns
    -------
    ndarray, shape (...)
        -6 <= hours < 6, clockwise positive. [h]

    Examples
    --------
    >>> float(hours_between(0.5, 11.5))
    1.0
    """
    return np.mod(np.asarray(a, dtype=float) - np.asarray(b, dtype=float) + 6.0, 12.0) - 6.0

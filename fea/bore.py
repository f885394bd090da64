"""How the bore grows and goes out of round."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fea.elasticity import edge_points
from fea.model import Solution
from geometry.clock import clock_to_angle

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

POSITIONS = 360
HIGHEST_ORDER = 12


@dataclass(frozen=True, eq=False)
class BoreShape:
    """Growth of the bore wall, with rigid translation (order 1) taken out.

    Attributes
    ----------
    clock_hours : ndarray, shape (360,)
        k / 30. [h]
    growth_um : ndarray, shape (360,)
        Outward. [um]
    mean_growth_um : float
        Order 0. [um]
    out_of_round_um : float
        Largest less smallest growth. [um]
    orders_um : dict of str to float
        Amplitude of orders "2" to "12". [um]
    growth_error_um, out_of_round_error_um : float or None
        Numerical error of the growth, mean and anywhere, and of the out-of-round; None where it is
        not known. [um]
    """

    clock_hours: Array
    growth_um: Array
    mean_growth_um: float
    out_of_round_um: float
    orders_um: dict[str, float]
    growth_error_um: float | None = None
    out_of_round_error_um: float | None = None

    def changed_from(self, before: BoreShape) -> BoreShape:
        """The same with errors by the change from the shape on a coarser mesh.

        That of the growth is its largest change anywhere; the out-of-round is its largest less
        its smallest, and may be off by the change of those.
        """
        moved = self.growth_um - before.growth_um
        mean = abs(self.mean_growth_um - before.mean_growth_um)
        return replace(
            self,
            growth_error_um=max(float(np.abs(moved).max()), mean),
            out_of_round_error_um=max(
                abs(self.out_of_round_um - before.out_of_round_um), float(np.ptp(moved)) / 2
            ),
        )


def bore_growth(solution: Solution, edge: str = "bore") -> BoreShape:
    """Growth of a bore about the origin at 360 clock positions, 12:00 first.

    Parameters
    ----------
    solution : Solution
    edge : str
        A closed free edge around the origin.

    Raises
    ------
    ValueError
        If the edge is unknown, or doesn't run round the origin once.
    """
    angle = clock_to_angle(np.arange(POSITIONS) * 12.0 / POSITIONS)
    return shape_of(1000 * growth_at(solution, angle, edge))


def shape_of(growth: ArrayLike) -> BoreShape:
    """Shape of a bore by its growth at 360 clock positions, 12:00 first.

    Parameters
    ----------
    growth : array_like, shape (360,)
        Outward. [um]
    """
    hours = np.arange(POSITIONS) * 12.0 / POSITIONS
    angle, growth = clock_to_angle(hours), np.array(growth, dtype=float)
    mean, cosine, sine = harmonics(angle, growth, HIGHEST_ORDER)
    growth -= cosine[0] * np.cos(angle) + sine[0] * np.sin(angle)
    amplitude = np.hypot(cosine, sine)
    return BoreShape(
        clock_hours=hours,
        growth_um=growth,
        mean_growth_um=mean,
        out_of_round_um=float(np.ptp(growth)),
        orders_um={str(n): float(amplitude[n - 1]) for n in range(2, HIGHEST_ORDER + 1)},
    )


def growth_at(solution: Solution, angle: ArrayLike, edge: str = "bore") -> Array:
    """Outward displacement of a closed edge, read on its curved sides.

    Parameters
    ----------
    solution : Solution
    angle : array_like, shape (k,)
        About the origin, from +x, counter-clockwise. [rad]
    edge : str
        A closed free edge around the origin.

    Returns
    -------
    ndarray, shape (k,)
        [mm]

    Raises
    ------
    ValueError
        If the edge is unknown, or doesn't run round the origin once.
    """
    angle = np.asarray(angle, dtype=float)
    sides = solution.model.sides(edge)
    place, s = edge_places(solution.model.mesh.points[sides].transpose(2, 1, 0), angle, edge)
    displacement = solution.displacement[sides[place]].transpose(2, 1, 0)
    (ux, uy), _ = (value[:, 0] for value in edge_points(displacement, s[None]))
    growth: Array = ux * np.cos(angle) + uy * np.sin(angle)
    return growth


def edge_places(ends: Array, angle: Array, edge: str) -> tuple[Integers, Array]:
    """Where rays from the origin meet a closed edge.

    Parameters
    ----------
    ends : ndarray, shape (2, 3, k)
        First end, second end and mid-side node of each side, metal on the left. [mm]
    angle : ndarray, shape (a,)
        Of each ray, from +x, counter-clockwise. [rad]
    edge : str
        What a message calls it.

    Returns
    -------
    side : ndarray, shape (a,)
    s : ndarray, shape (a,)
        Place along it, from 0 to 1.

    Raises
    ------
    ValueError
        If it doesn't run round the origin once.
    """
    first, second = np.arctan2(ends[1, :2], ends[0, :2])
    span = np.mod(first - second, 2 * np.pi)  # metal on the left: a bore runs clockwise
    if abs(span.sum() - 2 * np.pi) > 1e-6:
        raise ValueError(f'edge "{edge}" does not run round the bore axis once.')
    low = np.mod(second, 2 * np.pi)
    order = np.argsort(low)
    place = order[np.searchsorted(low[order], np.mod(angle, 2 * np.pi), side="right") - 1]
    chosen = ends[:, :, place]
    cos, sin = np.cos(angle), np.sin(angle)
    s = 1 - np.mod(angle - second[place], 2 * np.pi) / span[place]
    for _ in range(6):  # Newton on x sin = y cos; a straight side needs one step
        (x, y), (dx, dy) = (value[:, 0] for value in edge_points(chosen, s[None]))
        s -= (x * sin - y * cos) / (dx * sin - dy * cos)
    return place, s


def harmonics(angle: ArrayLike, values: ArrayLike, highest: int) -> tuple[float, Array, Array]:
    r"""Least-squares Fourier series at angles that need not be even.

    .. math:: f(\theta) = m + \sum_{n=1}^{N} (a_n \cos n\theta + b_n \sin n\theta)

    Parameters
    ----------
    angle, values : array_like, shape (k,)
        At least 2 N + 1 of them. [rad], [any]
    highest : int
        N.

    Returns
    -------
    mean : float
    cosine, sine : ndarray, shape (N,)
        Those of order n at index n - 1; ``np.hypot(cosine, sine)`` is the amplitude.

    Examples
    --------
    >>> angle = np.array([0.0, 0.3, 1.1, 2.0, 2.7, 4.0, 5.5])
    >>> mean, cosine, sine = harmonics(angle, 5 + 3 * np.cos(2 * angle), 2)
    >>> round(mean, 9), [round(float(a), 9) for a in np.hypot(cosine, sine)]
    (5.0, [0.0, 3.0])
    """
    phase = np.multiply.outer(np.asarray(angle, dtype=float), np.arange(1, highest + 1))
    terms = np.hstack([np.ones((len(phase), 1)), np.cos(phase), np.sin(phase)])
    found = np.linalg.lstsq(terms, np.asarray(values, dtype=float), rcond=None)[0]
    return float(found[0]), found[1 : highest + 1], found[highest + 1 :]

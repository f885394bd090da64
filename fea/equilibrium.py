"""Self-checks: a solved section against statics and a closed form; one that fails is an error."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fea.bore import bore_growth
from fea.model import Solution
from fea.shapes import shapes
from fea.stress import LayerStress
from geometry.section_mesh import TRIANGLE_SIDES

Array = NDArray[np.float64]

REACTION_LIMIT = 1e-6
"""Gas on a whole bore is in equilibrium: the holds feel rounding only, about 1e-12."""
CUT_FORCE_LIMIT = 0.01
"""A recovered stress that misses the force across a cut by more than this is too coarse."""
RING_LIMIT = 1e-3
"""A ring's displacement is good to 1e-4 with a few elements through its wall."""

_OFFSET = 1e-6  # of the bore: keeps a cut clear of nodes and sides that lie on the plane
_GAUSS, _GAUSS_WEIGHT = np.polynomial.legendre.leggauss(3)
_CORNERS = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])


class SelfCheckError(RuntimeError):
    """A solved section that fails one of its self-checks; the message gives the numbers."""


class CoarseError(SelfCheckError):
    """A self-check that a finer mesh may pass."""


@dataclass(frozen=True, slots=True)
class SelfChecks:
    """What the self-checks found.

    Attributes
    ----------
    reaction_ratio : float
        Largest hold reaction over the gas load; must be 0.
    cut_force_ratio : float
        Recovered force across a plane through the bore axis over the gas load; the worse of the
        12-6 and the 3-9 plane; must be 1.
    lame_ratio : float or None
        Mean bore growth over that of the closed form; None unless the section is a ring.
    """

    reaction_ratio: float
    cut_force_ratio: float
    lame_ratio: float | None = None


def self_checks(
    solution: Solution,
    stresses: Sequence[LayerStress],
    line_load: float,
    ring_growth: float | None = None,
) -> SelfChecks:
    """Hold a section under gas against statics, and a plain ring against the closed form.

    The gas load is the line load times the bore's width across the plane of the cut.

    Parameters
    ----------
    solution : Solution
    stresses : sequence of LayerStress
        From :func:`fea.stress.recover`.
    line_load : float
        Gas load that the section has to carry. [N/mm]
    ring_growth : float, optional
        Bore growth by the closed form, for a section that is a ring. [mm]

    Raises
    ------
    SelfCheckError
        If a self-check fails; a :class:`CoarseError` where a finer mesh may pass it.
    ValueError
        If the line load is not positive.
    """
    if not line_load > 0:
        raise ValueError(f"line_load = {line_load:g} N/mm must be positive to check against.")
    edge = solution.edge or "bore"
    bore = solution.model.mesh.points[np.unique(solution.model.mesh.edges[edge])]
    width = np.ptp(bore, axis=0)
    reactions = np.abs(solution.hold_reactions)
    reaction_ratio = float(reactions.max(initial=0.0) / (line_load * width.max()))
    if not reaction_ratio <= REACTION_LIMIT:
        raise SelfCheckError(
            f"the supports carry {reactions.max():.3g} N of a gas load of "
            f"{line_load * width.max():.6g} N; a load in equilibrium leaves them none."
        )
    ratios = [
        cut_force(solution, stresses, axis, _OFFSET * width.max()) / (line_load * width[1 - axis])
        for axis in (0, 1)
    ]
    cut_force_ratio = float(max(ratios, key=lambda ratio: abs(ratio - 1)))
    if not abs(cut_force_ratio - 1) <= CUT_FORCE_LIMIT:
        raise CoarseError(
            f"the recovered stress carries {ratios[0]:.4f} of the gas load across the 12-6 plane "
            f"and {ratios[1]:.4f} across the 3-9 plane; both must be 1 within "
            f"{CUT_FORCE_LIMIT:g}. Use a finer mesh."
        )
    lame_ratio = None
    if ring_growth is not None:
        lame_ratio = bore_growth(solution, edge).mean_growth_um / (1000 * ring_growth)
        if not abs(lame_ratio - 1) <= RING_LIMIT:
            raise CoarseError(
                f"the bore of the ring grows {lame_ratio:.5f} times as much as the closed form "
                f"says; it must be 1 within {RING_LIMIT:g}. Use a finer mesh."
            )
    return SelfChecks(reaction_ratio, cut_force_ratio, lame_ratio)


def fine_enough(
    solution: Solution,
    stresses: Sequence[LayerStress],
    line_load: float,
    ring_growth: float | None = None,
) -> bool:
    """Whether a mesh is fine enough for :func:`self_checks`, which takes the same.

    Raises
    ------
    SelfCheckError
        If a self-check fails that no finer mesh passes.
    ValueError
        If the line load is not positive.
    """
    try:
        self_checks(solution, stresses, line_load, ring_growth)
    except CoarseError:
        return False
    return True


def cut_force(
    solution: Solution, stresses: Sequence[LayerStress], axis: int, at: float = 0.0
) -> float:
    """Normal force across a plane, from the recovered stress of every layer on it.

    Parameters
    ----------
    solution : Solution
    stresses : sequence of LayerStress
    axis : int
        Direction of the plane's normal: 0 for the plane x = at, 1 for y = at.
    at : float
        Place of the plane; it must miss the nodes of the mesh. [mm]

    Returns
    -------
    float
        Tension positive. [N]
    """
    mesh = solution.model.mesh
    away = np.take(mesh.points[:, axis] - at, mesh.triangles.T)
    least, most = away.min(axis=0), away.max(axis=0)
    bow = most - least  # a curved side reaches beyond its nodes by less
    near = np.flatnonzero((least < bow) & (most > -bow))
    nodes = mesh.points[mesh.triangles[near]]
    found, low, high, start, end = _crossings(nodes, axis, at)
    element = near[found]
    half = (high - low) / 2
    share = (1 + _GAUSS) / 2
    along = low[:, None] + 2 * half[:, None] * share
    target = np.empty((*along.shape, 2))
    target[..., axis], target[..., 1 - axis] = at, along
    guess = start[:, None] + (end - start)[:, None] * share[:, None]
    values, _ = shapes(_reference_place(nodes[found], target, guess))
    weights = values * (_GAUSS_WEIGHT * half[:, None])[..., None]
    force = 0.0
    for layer in stresses:
        own = np.flatnonzero(mesh.region[element] == layer.region)
        if not len(own):
            continue
        rows = np.searchsorted(layer.elements, element[own])
        normal = layer.stress[axis][layer.triangles[rows]]
        depth = layer.depth(target[own, :, 0], target[own, :, 1])
        force += float(np.einsum("kga,ka,kg->", weights[own], normal, depth))
    return force


def _crossings(
    corners: Array, axis: int, at: float
) -> tuple[NDArray[np.int64], Array, Array, Array, Array]:
    """Stretches of a plane inside curved triangles.

    Returns
    -------
    element : ndarray, shape (k,)
    low, high : ndarray, shape (k,)
        Ends of each stretch along the plane. [mm]
    start, end : ndarray, shape (k, 2)
        The same ends in the reference triangle.
    """
    away = corners[..., axis] - at
    first, second, middle = (away[:, TRIANGLE_SIDES[:, i]] for i in range(3))
    control = np.stack([first, second, 2 * middle - (first + second) / 2])
    hit = np.flatnonzero((control.min(axis=(0, 2)) < 0) & (control.max(axis=(0, 2)) > 0))
    first, second, middle = first[hit], second[hit], middle[hit]
    # away = first + linear s + square s^2 along each side
    square = 2 * (first + second - 2 * middle)
    linear = second - first - square
    root = np.sqrt(np.maximum(linear**2 - 4 * square * first, 0))
    stable = -(linear + np.where(linear >= 0, root, -root)) / 2
    with np.errstate(divide="ignore", invalid="ignore"):
        s = np.stack([stable / square, first / stable], axis=-1)  # (k, side, root)
    real = (linear**2 - 4 * square * first > 0)[..., None]
    inside = real & (s > 0) & (s < 1)
    s = np.where(inside, s, 0.0)
    across = corners[hit][..., 1 - axis]
    a, b, c = (across[:, TRIANGLE_SIDES[:, i], None] for i in range(3))
    place = a * (1 - s) * (1 - 2 * s) + b * s * (2 * s - 1) + c * 4 * s * (1 - s)
    from_corner, to_corner = _CORNERS[TRIANGLE_SIDES[:, 0]], _CORNERS[TRIANGLE_SIDES[:, 1]]
    reference = from_corner[:, None] + (to_corner - from_corner)[:, None] * s[..., None]
    place = np.where(inside, place, np.inf).reshape(-1, 6)
    reference = reference.reshape(-1, 6, 2)
    order = np.argsort(place, axis=1)
    place = np.take_along_axis(place, order, axis=1)
    reference = np.take_along_axis(reference, order[..., None], axis=1)
    row, pair = np.nonzero(np.isfinite(place[:, 1::2]))
    low, high = place[row, 2 * pair], place[row, 2 * pair + 1]
    return hit[row], low, high, reference[row, 2 * pair], reference[row, 2 * pair + 1]


def _reference_place(corners: Array, target: Array, guess: Array) -> Array:
    """Places in the reference triangle, shape (k, g, 2), of points in curved triangles."""
    place = guess
    for _ in range(4):  # Newton; a straight triangle needs one step
        values, derivatives = shapes(place)
        residual = target - np.einsum("kga,kai->kgi", values, corners)
        jacobian = np.einsum("kgra,kai->kgir", derivatives, corners)
        place = place + np.linalg.solve(jacobian, residual[..., None])[..., 0]
    return place

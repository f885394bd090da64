"""Refine where the reported stress needs it, until each hot spot is known well enough.

Solve, estimate, refine, repeat. The estimate has two witnesses: the gap between raw and recovered
stress (Zienkiewicz & Zhu, *Int. J. Numer. Methods Eng.* 24 (1987) 337-357, reference from memory)
and the change of the spot's own value from one mesh to the next. The next mesh takes its sizes
from the last solution: the energy error is shared out evenly over the elements, to a modest goal,
and around each spot that is not settled the elements shrink towards it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from fea.elasticity import hooke
from fea.hotspots import HotSpot, element_size, hot_spots, layer_of, ranked
from fea.model import Solution
from fea.shapes import NODES, shapes
from fea.stress import LayerStress, principal, recover
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

Reader = Callable[[Solution], tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]]

_GAUSS = np.array([[1, 1], [4, 1], [1, 4]]) / 6  # inside, where no curved side folds the map

TOLERANCE = 0.02
"""Error of a spot, as a share of its stress, at which it is settled."""
MOST_PASSES = 5
"""Meshes made at most."""
GOAL = 0.2
"""Goal for the sum of what all triangles bring to a spot, over the tolerance."""
FAR_SHARE = 0.35
"""Share of that sum that counts as error; the contributions cancel for the most part."""
NEAR_ELEMENTS = 3.0
"""Triangles within this many element sizes of a spot are judged by the gap there alone."""
ORDER, ORDER_AT_JUNCTION = 2, 1
"""Order of convergence that is reckoned with where a change between two passes is judged."""
WEAK = 0.1
"""The error of a spot is set against its stress, or this share of the worst where that is more."""
FINEST, COARSEST = 0.25, 2.0
"""How far an element's size may change from one pass to the next."""
GROWTH, GROWTH_AT_SPOT = 1.5, 0.4
"""How fast elements may grow away from a triangle of the last mesh, and from a spot. [mm/mm]."""
PARITY = 1.05
"""Wishes for the sizes that a mesh has, times this, give about as many elements again."""
FLAT = 0.6
"""Side of the equilateral triangle of the same area over the longest side, in a flat triangle."""
KEPT = 0.8
"""Wish at a settled spot, as a share of its element size, that keeps it as fine."""
SAFETY = 0.5
"""What an unsettled spot's elements shrink by beyond the need, at least."""
LEVEL = 0.05
"""Stress within this share of an unsettled spot's is as high."""
ENOUGH = 10.0
"""Factor in element size over which a sharp corner's exponent is fitted."""
SAME_PLACE = 4.0
"""A spot may move by this much from one pass to the next. [mm]."""
ON_JUNCTION = 0.6
"""A spot within this share of an element size of a junction is the junction's."""
JUNCTION_ELEMENTS = 6.0
"""A spot within this many elements of a junction is not believed at one pass."""
LASTING = 0.03
"""Exponent above which a stress that grows from pass to pass without slowing is a sharp corner's.

The stress then grows by 2 % or more whenever the elements are halved.
"""
SLOWING = 0.6
"""A stress settles if its exponent falls below this share of its last one."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One mesh on the way."""

    unknowns: int
    hot_spots: tuple[HotSpot, ...]  # as judged then


@dataclass(frozen=True, eq=False)
class Adapted:
    """The last solution, and how it came about."""

    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]  # worst first
    passes: tuple[Pass, ...]

    @property
    def settled(self) -> bool:
        """Whether every spot that can be rated is known within the tolerance."""
        return all(spot.settled for spot in self.hot_spots if not spot.sharp)


def adapt(
    mesh_at: Callable[[Sequence[SizeWishes]], SectionMesh],
    solve: Callable[[SectionMesh], Solution],
    tolerance: float = TOLERANCE,
    *,
    most_passes: int = MOST_PASSES,
    worst: int | None = None,
    read: Reader | None = None,
) -> Adapted:
    """Solve on better and better meshes until the hot spots are settled.

    Parameters
    ----------
    mesh_at : callable
        Gives the first mesh for no wishes, later ones for element sizes.
    solve : callable
        Solution on a mesh.
    tolerance : float
        Error of a spot as a share of its stress.
    most_passes : int
        Meshes made at most; spots that are not settled then say so.
    worst : int, optional
        Refine for this many of the worst spots only; for all if left out.
    read : callable, optional
        Stress and hot spots of a solution; those of :func:`fea.stress.recover` and
        :func:`fea.hotspots.hot_spots` if left out.

    Returns
    -------
    Adapted
    """
    trails: list[_Trail] = []
    passes: list[Pass] = []
    wishes: Sequence[SizeWishes] = ()
    while True:
        solution = solve(mesh_at(wishes))
        stresses, found = (read or _read)(solution)
        weak = WEAK * max((spot.principal_mpa for spot in found if not spot.sharp), default=0.0)
        bearing = _bearing(solution, stresses, found[:worst], weak)
        far = FAR_SHARE * float(bearing.sum()) / max(len(found[:worst]), 1)
        junctions = _junctions(solution.model.mesh)
        trails = _beside_sharp([_followed(spot, trails, junctions, weak, far) for spot in found])
        spots = ranked([trail.judged(tolerance) for trail in trails])
        passes.append(Pass(2 * len(solution.model.mesh.points), spots))
        wanted = {(spot.x_mm, spot.y_mm) for spot in spots[:worst]}
        cared = [trail for trail in trails if (trail.spot.x_mm, trail.spot.y_mm) in wanted]
        open_ = [trail for trail in cared if not trail.done(tolerance)]
        if not open_ or len(passes) == most_passes:
            return Adapted(solution, stresses, spots, tuple(passes))
        wishes = _next_sizes(solution, stresses, bearing, cared, open_, tolerance)


def _read(solution: Solution) -> tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]:
    stresses = recover(solution)
    return stresses, hot_spots(solution, stresses)


@dataclass(frozen=True)
class _Trail:
    """A spot, and its element sizes [mm] and stresses [MPa] from mesh to mesh."""

    spot: HotSpot
    at_junction: bool  # so near that the stress may not be smooth
    on_junction: bool
    scale: float  # stress that the error is set against [MPa]
    far: float  # error that elements further away bring, as a share of the scale
    sizes: tuple[float, ...]
    values: tuple[float, ...]
    beside_sharp: bool = False  # on the junction of another part's sharp spot

    def rates(self) -> list[float]:
        """How steeply the stress grows with finer elements, refinement by refinement."""
        found = []
        size, value = self.sizes[0], self.values[0]
        for finer, later in zip(self.sizes[1:], self.values[1:], strict=True):
            if finer < 0.75 * size:
                found.append(float(np.log(later / value) / np.log(size / finer)))
                size, value = finer, later
        return found

    def fitted_exponent(self) -> float | None:
        """Least-squares slope of the logarithm of the stress over that of 1 / size."""
        if self.sizes[-1] > 0.5 * self.sizes[0]:
            return None
        slope, _ = np.polyfit(-np.log(self.sizes), np.log(self.values), 1)
        return float(slope)

    def grows(self) -> bool:
        """Whether two refinements running made the stress grow at an unabated rate.

        On a junction, where nothing rounds the peak off, one is enough.
        """
        rates = self.rates()[-2:]
        if self.beside_sharp or (self.on_junction and rates and rates[-1] > LASTING):
            return True
        return len(rates) == 2 and rates[1] > LASTING and rates[1] > SLOWING * rates[0]

    def error(self) -> float:
        """The larger of what the two witnesses say, and what comes from further away. [MPa].

        Where the error falls like size to the power p, what is left after a change is the change
        over (ratio of the sizes)^p - 1; never more than the change itself is taken.
        """
        near = self.spot.error_mpa
        if len(self.values) > 1:
            change = abs(self.values[-1] - self.values[-2])
            order = ORDER_AT_JUNCTION if self.at_junction else ORDER
            gain = (self.sizes[-2] / self.sizes[-1]) ** order - 1
            near = max(near, change / max(gain, 1.0))
        return near + self.far * self.scale

    def settled(self, tolerance: float) -> bool:
        """Whether the error is within the tolerance; at a junction two meshes must say so."""
        believed = len(self.values) > 1 or not self.at_junction
        return believed and self.error() <= tolerance * self.scale

    def done(self, tolerance: float) -> bool:
        """Whether finer elements would tell no more."""
        if self.spot.sharp:
            return self.sizes[0] > ENOUGH * self.sizes[-1]
        return self.settled(tolerance) or self.grows()

    def shrink(self, tolerance: float) -> float:
        """Share of the element size that should settle it."""
        if self.spot.sharp or self.at_junction:
            return FINEST
        need = tolerance * self.scale / self.error()
        return float(np.clip(SAFETY * need ** (1 / ORDER), FINEST, SAFETY))

    def judged(self, tolerance: float) -> HotSpot:
        """The spot with what its past tells."""
        sharp = self.spot.sharp or self.grows()
        return replace(
            self.spot,
            error_mpa=self.error(),
            sharp=sharp,
            settled=not sharp and self.settled(tolerance),
            exponent=self.fitted_exponent() if sharp else None,
        )


def _sharp_place(mesh: SectionMesh, spot: HotSpot) -> complex:
    """The sharp corner that a spot belongs to."""
    corners = [complex(corner.x, corner.y) for corner in mesh.corners]
    return min(corners, key=lambda z: abs(z - complex(spot.x_mm, spot.y_mm)))


def _followed(
    spot: HotSpot, trails: Sequence[_Trail], junctions: Array, weak: float, far: float
) -> _Trail:
    """A spot with its past: the nearest earlier one of its part, if it can be the same."""
    here = complex(spot.x_mm, spot.y_mm)
    to_junction = np.hypot(*(junctions - [spot.x_mm, spot.y_mm]).T).min(initial=np.inf)

    def away(trail: _Trail) -> float:
        return abs(complex(trail.spot.x_mm, trail.spot.y_mm) - here)

    same = [trail for trail in trails if trail.spot.part == spot.part]
    before = min(same, key=away, default=None)
    if before and away(before) > max(SAME_PLACE, before.spot.size_mm):
        before = None
    return _Trail(
        spot,
        bool(to_junction < JUNCTION_ELEMENTS * spot.size_mm),
        bool(to_junction < ON_JUNCTION * spot.size_mm),
        max(spot.principal_mpa, weak),
        far,
        (*(before.sizes if before else ()), spot.size_mm),
        (*(before.values if before else ()), spot.principal_mpa),
    )


def _beside_sharp(trails: Sequence[_Trail]) -> list[_Trail]:
    """Spots on one junction are sharp together, part by part."""
    sharp = [complex(t.spot.x_mm, t.spot.y_mm) for t in trails if t.on_junction and t.grows()]

    def beside(trail: _Trail) -> bool:
        here = complex(trail.spot.x_mm, trail.spot.y_mm)
        return trail.on_junction and any(abs(z - here) < trail.spot.size_mm for z in sharp)

    return [replace(trail, beside_sharp=beside(trail)) for trail in trails]


def _junctions(mesh: SectionMesh) -> Array:
    """Places where region borders meet each other or a free edge, shape (n, 2). [mm]."""
    n = len(mesh.points)
    pairs = np.unique(mesh.region[:, None] * n + mesh.triangles[:, :3])
    regions = np.bincount(pairs % n, minlength=n)
    uses = np.bincount(mesh.triangles[:, 3:].ravel(), minlength=n)
    free = np.zeros(n, dtype=bool)
    for sides in mesh.edges.values():
        free[sides[uses[sides[:, 2]] == 1, :2]] = True
    return mesh.points[(regions > 2) | ((regions > 1) & free)]


def energy_errors(solution: Solution, stresses: Sequence[LayerStress]) -> Array:
    r"""Energy of the gap between raw and recovered stress.

    .. math:: \eta_K^2 = \int_K \sum_l t_l\, (\sigma^* - \sigma_h) : (\epsilon^* - \epsilon_h) \,dA

    Parameters
    ----------
    solution : Solution
    stresses : sequence of LayerStress

    Returns
    -------
    ndarray, shape (triangles,)
        Twice the strain energy, no more than that of the raw stress. [N mm]

    References
    ----------
    .. [1] Zienkiewicz & Zhu, *Int. J. Numer. Methods Eng.* 24 (1987) 337-357 (from memory).
    """
    mesh, materials = solution.model.mesh, solution.model.materials
    values, derivatives = shapes(_GAUSS)
    nodes, moved = mesh.points[mesh.triangles], solution.displacement[mesh.triangles]
    jacobian = derivatives @ nodes[:, None]  # (triangles, points, 2, 2), row by reference axis
    gradient = np.linalg.solve(jacobian, derivatives @ moved[:, None])
    strain = (gradient + gradient.swapaxes(2, 3)) / 2
    raw = np.stack([strain[..., 0, 0], strain[..., 1, 1], strain[..., 0, 1]])
    weight = np.linalg.det(jacobian) / 6
    energy = np.zeros(len(mesh.triangles))
    for layer in stresses:
        material = materials[layer.part]
        stress = hooke(raw[:, layer.elements], material.lam, material.mu)
        off = layer.stress[:, layer.triangles] @ values.T - stress
        thickness = layer.thickness[layer.triangles] @ values.T * weight[layer.elements]
        gap, whole = (
            (thickness * ((xx + yy) ** 2 + 2 * (1 + material.poisson) * (xy**2 - xx * yy))).sum(1)
            for xx, yy, xy in (off, stress)
        )
        energy[layer.elements] += np.minimum(gap, whole) / material.youngs_modulus
    return energy


def influence_load(
    solution: Solution, stresses: Sequence[LayerStress], spots: Sequence[HotSpot], weak: float
) -> Array:
    r"""Nodal forces whose displacement tells how a load anywhere bears on the spots.

    The load of the functional :math:`\sum_i \sigma_i / \sigma_i^0`, the raw stress of each spot
    in the direction of its largest principal stress, averaged over the triangles around its node,
    over its present value.

    Parameters
    ----------
    solution : Solution
    stresses : sequence of LayerStress
    spots : sequence of HotSpot
    weak : float
        Least stress that a spot's is set against. [MPa]

    Returns
    -------
    ndarray, shape (n, 2)
        [1/mm]
    """
    mesh = solution.model.mesh
    load = np.zeros((len(mesh.points), 2))
    _, derivatives = shapes(NODES)
    for spot in spots:
        node, layer = spot.node, layer_of(stresses, spot)
        material = solution.model.materials[layer.part]
        angle = np.deg2rad(spot.principal_angle_deg)
        n = np.array([np.cos(angle), np.sin(angle)])
        triangles = mesh.triangles[layer.elements]
        around = triangles[(triangles == node).any(axis=1)]
        for triangle in around:
            by_reference = derivatives[np.argmax(triangle == node)]  # (2, 6)
            slopes = np.linalg.solve(by_reference @ mesh.points[triangle], by_reference).T
            stress = material.lam * slopes + 2 * material.mu * (slopes @ n)[:, None] * n
            load[triangle] += stress / (len(around) * max(spot.principal_mpa, weak))
    return load


def _bearing(
    solution: Solution, stresses: Sequence[LayerStress], spots: Sequence[HotSpot], weak: float
) -> Array:
    r"""How much the error of each triangle may move the spots, as a share of their stress.

    The geometric mean of the energy errors of the solution and of the influence of the spots
    (Becker & Rannacher, *Acta Numerica* 10 (2001) 1-102, dual-weighted residuals, from memory).
    Next to a spot it says nothing of the recovered stress, and is left out.
    """
    influence = solution.model.solve_forces(influence_load(solution, stresses, spots, weak))
    bearing = np.sqrt(
        energy_errors(solution, stresses) * energy_errors(influence, recover(influence))
    )
    mesh = solution.model.mesh
    centre = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    for spot in spots:
        away = np.hypot(*(centre - [spot.x_mm, spot.y_mm]).T)
        bearing[away < NEAR_ELEMENTS * spot.size_mm] = 0
    return bearing


def _next_sizes(
    solution: Solution,
    stresses: Sequence[LayerStress],
    bearing: Array,
    trails: Sequence[_Trail],
    open_: Sequence[_Trail],
    tolerance: float,
) -> tuple[SizeWishes, SizeWishes]:
    """Sizes at the triangles by how their error bears on the spots, and at the spots by theirs.

    Where an edge of the part is stressed as high as at an unsettled spot, all along it perhaps,
    the elements shrink with the spot's: it may well turn up there next.
    """
    mesh = solution.model.mesh
    corners = mesh.points[mesh.triangles[:, :3]]
    sides = corners - np.roll(corners, 1, axis=1)
    longest = np.hypot(sides[..., 0], sides[..., 1]).max(axis=1)
    goal = GOAL * tolerance * len(trails) / len(bearing)
    change = (goal / np.where(bearing > 0, bearing, goal)) ** (1 / 6)
    centre = corners.mean(axis=1)
    change = np.clip(change, FINEST, COARSEST)
    edge = np.zeros(len(mesh.points), dtype=bool)
    edge[np.concatenate([sides.ravel() for sides in mesh.edges.values()])] = True
    largest = [principal(layer.stress)[0][layer.triangles] for layer in stresses]
    places, sizes = [], []
    for trail in trails:
        spot = trail.spot
        share = trail.shrink(tolerance) if trail in open_ else KEPT
        places.append(_sharp_place(mesh, spot) if spot.sharp else complex(spot.x_mm, spot.y_mm))
        sizes.append(share * spot.size_mm)
        if trail in open_ and not spot.sharp:
            for layer, stress in zip(stresses, largest, strict=True):
                if layer.part == spot.part:
                    as_high = np.abs(stress / spot.principal_mpa - 1) < LEVEL
                    as_high &= edge[mesh.triangles[layer.elements]]
                    there = layer.elements[as_high.any(axis=1)]
                    change[there] = np.minimum(change[there], share)
    size = PARITY * longest * change
    finer = change < 1
    told = finer | (element_size(corners) > FLAT * longest)  # a flat one is no measure
    around = np.concatenate([centre[told], mesh.points[mesh.triangles[finer]].reshape(-1, 2)])
    size = np.concatenate([size[told], np.repeat(size[finer], 6)])
    return (
        SizeWishes(around[:, 0] + 1j * around[:, 1], size, GROWTH),
        SizeWishes(np.array(places), np.array(sizes), GROWTH_AT_SPOT),
    )

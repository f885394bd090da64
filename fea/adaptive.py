"""Refine where the reported stress needs it, until each hot spot is known well enough.

Solve, estimate, refine, repeat. The estimate has two witnesses: the gap between raw and recovered
stress (Zienkiewicz & Zhu, *Int. J. Numer. Methods Eng.* 24 (1987) 337-357, reference from memory)
and the change of the spot's own value from one mesh to the next. The next mesh takes its sizes
from the last solution: the energy error is shared out evenly over the elements, to a modest goal,
and around each spot that is not settled the elements shrink towards it.

Every hot spot is known within the tolerance in the end, or said to be not settled. Its
``error_mpa`` is the larger of the two witnesses. A stress that grows from mesh to mesh without
slowing is ``sharp``, with its fitted exponent. How far the true errors lie within the reported ones
is measured in ``tests/verification/test_error_bounds.py``. Coarse places that no spot needs cost
bore growth up to 0.23 % at the worst clock position.
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


@dataclass(frozen=True, kw_only=True, slots=True)
class Refinement:
    """Numbers that steer the way from mesh to mesh."""

    tolerance: float = 0.02  # error of a spot, as a share of its stress, at which it is settled
    most_passes: int = 5  # meshes made at most for the spots
    finer_passes: int = 3  # further ones at most, where the mesh is too coarse for its self-checks
    # error that comes from further away
    goal: float = 0.2  # for the sum of what all triangles bring to a spot, over the tolerance
    far_share: float = 0.35  # of that sum that counts as error; most of it cancels
    near_elements: float = 3.0  # from a spot within which the gap there alone judges a triangle
    # element sizes
    finest: float = 0.25  # share of an element's size to which it may shrink in one pass
    coarsest: float = 2.0  # the same to which it may grow
    growth: float = 1.5  # of elements away from a triangle of the last mesh, at most [mm/mm]
    growth_at_spot: float = 0.4  # the same from a spot [mm/mm]
    parity: float = 1.05  # sizes wished over those of a mesh that give about as many elements again
    flat: float = 0.6  # equilateral side of a triangle's area over its longest side, if it is flat
    kept: float = 0.8  # wish at a settled spot, over its element size, that keeps it as fine
    safety: float = 0.5  # what an unsettled spot's elements shrink by beyond the need, at least
    finer: float = 0.7  # size of all elements over the last where self-checks ask for a finer mesh
    # judging a spot
    order: float = 2  # of convergence that a change between two passes is judged by
    order_at_junction: float = 1  # the same near a junction
    weak: float = 0.1  # share of the worst stress that a spot's error is set against at the least
    level: float = 0.05  # difference, as a share, of stress that is as high as an unsettled spot's
    same_place: float = 4.0  # that a spot may move by from one pass to the next [mm]
    on_junction: float = 0.6  # share of an element size from a junction that is on it
    junction_elements: float = 6.0  # within which of a junction one pass is not believed
    # a sharp corner: its stress grows by 2 % or more whenever the elements are halved
    lasting: float = 0.03  # exponent above which a stress that does not slow is a sharp corner's
    slowing: float = 0.6  # share of its last exponent below which a stress settles
    enough: float = 10.0  # factor in element size over which a sharp corner's exponent is fitted


REFINEMENT = Refinement()


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
    tolerance: float = REFINEMENT.tolerance,
    *,
    most_passes: int = REFINEMENT.most_passes,
    worst: int | None = None,
    read: Reader | None = None,
    fine_enough: Callable[[Solution, tuple[LayerStress, ...]], bool] | None = None,
) -> Adapted:
    """Solve on better and better meshes until the hot spots are settled.

    Where they are, or the meshes are used up, and the mesh is still too coarse for its self-checks,
    it is made finer everywhere.

    Parameters
    ----------
    mesh_at : callable
        Gives the first mesh for no wishes, later ones for element sizes.
    solve : callable
        Solution on a mesh.
    tolerance : float
        Error of a spot as a share of its stress.
    most_passes : int
        Meshes made at most for the spots; those that are not settled then say so.
    worst : int, optional
        Refine for this many of the worst spots only; for all if left out.
    read : callable, optional
        Stress and hot spots of a solution; those of :func:`fea.stress.recover` and
        :func:`fea.hotspots.hot_spots` if left out.
    fine_enough : callable, optional
        Whether the mesh of a solution, with its stress, is fine enough for other ends too, as
        :func:`fea.equilibrium.fine_enough` says; asked of a mesh that would be the last. When it
        has said no ``Refinement.finer_passes`` times, what is there is given.

    Returns
    -------
    Adapted
    """
    trails: list[_Trail] = []
    passes: list[Pass] = []
    wishes: Sequence[SizeWishes] = ()
    finer_passes = 0
    while True:
        solution = solve(mesh_at(wishes))
        stresses, found = (read or _read)(solution)
        weak = REFINEMENT.weak * max(
            (spot.principal_mpa for spot in found if not spot.sharp), default=0.0
        )
        bearing = _bearing(solution, stresses, found[:worst], weak)
        far = REFINEMENT.far_share * float(bearing.sum()) / max(len(found[:worst]), 1)
        junctions = _junctions(solution.model.mesh)
        trails = _beside_sharp([_followed(spot, trails, junctions, weak, far) for spot in found])
        spots = ranked([trail.judged(tolerance) for trail in trails])
        passes.append(Pass(2 * len(solution.model.mesh.points), spots))
        wanted = {(spot.x_mm, spot.y_mm) for spot in spots[:worst]}
        cared = [trail for trail in trails if (trail.spot.x_mm, trail.spot.y_mm) in wanted]
        open_ = [trail for trail in cared if not trail.done(tolerance)]
        largest = REFINEMENT.coarsest
        if not open_ or len(passes) >= most_passes:
            given_up = finer_passes == REFINEMENT.finer_passes
            if fine_enough is None or given_up or fine_enough(solution, stresses):
                return Adapted(solution, stresses, spots, tuple(passes))
            finer_passes += 1
            largest = REFINEMENT.finer
        wishes = _next_sizes(solution, stresses, bearing, cared, open_, tolerance, largest)


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
        if self.beside_sharp or (self.on_junction and rates and rates[-1] > REFINEMENT.lasting):
            return True
        return (
            len(rates) == 2
            and rates[1] > REFINEMENT.lasting
            and rates[1] > REFINEMENT.slowing * rates[0]
        )

    def error(self) -> float:
        """The larger of what the two witnesses say, and what comes from further away. [MPa].

        Where the error falls like size to the power p, what is left after a change is the change
        over (ratio of the sizes)^p - 1; never more than the change itself is taken.
        """
        near = self.spot.error_mpa
        if len(self.values) > 1:
            change = abs(self.values[-1] - self.values[-2])
            order = REFINEMENT.order_at_junction if self.at_junction else REFINEMENT.order
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
            return self.sizes[0] > REFINEMENT.enough * self.sizes[-1]
        return self.settled(tolerance) or self.grows()

    def shrink(self, tolerance: float) -> float:
        """Share of the element size that should settle it."""
        if self.spot.sharp or self.at_junction:
            return REFINEMENT.finest
        need = tolerance * self.scale / self.error()
        return float(
            np.clip(
                REFINEMENT.safety * need ** (1 / REFINEMENT.order),
                REFINEMENT.finest,
                REFINEMENT.safety,
            )
        )

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
    if before and away(before) > max(REFINEMENT.same_place, before.spot.size_mm):
        before = None
    return _Trail(
        spot,
        bool(to_junction < REFINEMENT.junction_elements * spot.size_mm),
        bool(to_junction < REFINEMENT.on_junction * spot.size_mm),
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
        bearing[away < REFINEMENT.near_elements * spot.size_mm] = 0
    return bearing


def _next_sizes(
    solution: Solution,
    stresses: Sequence[LayerStress],
    bearing: Array,
    trails: Sequence[_Trail],
    open_: Sequence[_Trail],
    tolerance: float,
    largest: float,
) -> tuple[SizeWishes, ...]:
    """Sizes at the triangles by how their error bears on the spots, and at the spots by theirs.

    No triangle grows beyond the largest share of its size.

    Where an edge of the part is stressed as high as at an unsettled spot, all along it perhaps,
    the elements shrink with the spot's: it may well turn up there next.
    """
    mesh = solution.model.mesh
    corners = mesh.points[mesh.triangles[:, :3]]
    sides = corners - np.roll(corners, 1, axis=1)
    longest = np.hypot(sides[..., 0], sides[..., 1]).max(axis=1)
    goal = REFINEMENT.goal * tolerance * len(trails) / len(bearing)
    change = np.divide(goal, bearing, out=np.ones_like(bearing), where=bearing > 0) ** (1 / 6)
    centre = corners.mean(axis=1)
    change = np.clip(change, REFINEMENT.finest, largest)
    edge = np.zeros(len(mesh.points), dtype=bool)
    edge[np.concatenate([sides.ravel() for sides in mesh.edges.values()])] = True
    peaks = [principal(layer.stress)[0][layer.triangles] for layer in stresses]
    places, sizes = [], []
    for trail in trails:
        spot = trail.spot
        share = trail.shrink(tolerance) if trail in open_ else REFINEMENT.kept
        places.append(_sharp_place(mesh, spot) if spot.sharp else complex(spot.x_mm, spot.y_mm))
        sizes.append(share * spot.size_mm)
        if trail in open_ and not spot.sharp:
            for layer, stress in zip(stresses, peaks, strict=True):
                if layer.part == spot.part:
                    as_high = np.abs(stress / spot.principal_mpa - 1) < REFINEMENT.level
                    as_high &= edge[mesh.triangles[layer.elements]]
                    there = layer.elements[as_high.any(axis=1)]
                    change[there] = np.minimum(change[there], share)
    size = REFINEMENT.parity * longest * change
    finer = change < 1
    told = finer | (element_size(corners) > REFINEMENT.flat * longest)  # a flat one is no measure
    around = np.concatenate([centre[told], mesh.points[mesh.triangles[finer]].reshape(-1, 2)])
    size = np.concatenate([size[told], np.repeat(size[finer], 6)])
    wishes = SizeWishes(around[:, 0] + 1j * around[:, 1], size, REFINEMENT.growth)
    if not trails:
        return (wishes,)
    return wishes, SizeWishes(np.array(places), np.array(sizes), REFINEMENT.growth_at_spot)

"""Refine where the reported stress needs it, until each hot spot is known well enough.

Solve, estimate, refine, repeat. The estimate has two witnesses: the gap between raw and recovered
stress (Zienkiewicz & Zhu, *Int. J. Numer. Methods Eng.* 24 (1987) 337-357, reference from memory)
and the change of the spot's own value from one mesh to the next. The next mesh takes its sizes
from the last solution: the energy error is shared out evenly over the elements, to a modest goal,
and around each spot that is not settled the elements shrink towards it.

Several solutions on one mesh, such as the load steps of a fitted section, go the same way together
(:func:`refine`): each spot has a trail in its own state, and the sizes are the least that any state
asks for. What else is wanted of them, such as the force on a side of a joint, is a :class:`Gauge`:
it is settled when it changes little from mesh to mesh, and until then the elements at its places
are halved.

Every hot spot that is cared for is known within the tolerance in the end, or said to be not
settled. Its ``error_mpa`` is the larger of the two witnesses. A stress that grows from mesh to mesh
without slowing is ``sharp``, with its fitted exponent. How far the true errors lie within the
reported ones is measured in ``tests/verification/test_error_bounds.py``. Coarse places that no spot
needs cost bore growth up to 0.23 % at the worst clock position.

No mesh is made that would have more than ``Refinement.most_unknowns`` unknowns, by what its sizes
ask for: the way ends there, and what asks for it is told. Where errors need two meshes the second
is made all the same, its sizes as much larger than asked as that takes.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace
from typing import Generic, Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from fea.elasticity import hooke
from fea.hotspots import HotSpot, along_spot, element_size, hot_spots, layer_of, ranked
from fea.model import Solution
from fea.refinement import REFINEMENT, Refinement
from fea.shapes import NODES, shapes
from fea.stress import LayerStress, principal, recover
from fea.trail import (
    Gauge,
    GaugeTrail,
    Trail,
    beside_sharp_ones,
    followed,
    junctions_of,
    sharp_place,
)
from geometry.clock import clock_of, format_clock
from geometry.section_mesh import SectionMesh
from geometry.sizing import SizeWishes

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

Reader = Callable[[Solution], tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]]
Chooser = Callable[[Sequence[Sequence[HotSpot]]], Sequence[Sequence[HotSpot]]]
"""Which spots of each state elements are refined for."""

MOST_EASED, NEARLY_ALL = 8.0, 0.02
"""Factor by which sizes are larger than asked, at most, and how near it is sought."""

_LINKS = np.array([[0, 3], [3, 1], [1, 4], [4, 2], [2, 5], [5, 0], [3, 4], [4, 5], [5, 3]])
_SWEEPS = 60  # across the triangles in which sizes spread
_GAUSS = np.array([[1, 1], [4, 1], [1, 4]]) / 6  # inside, where no curved side folds the map


@dataclass(frozen=True, slots=True)
class Pass:
    """One mesh on the way."""

    unknowns: int
    hot_spots: tuple[HotSpot, ...]  # as judged then, of all states


@dataclass(frozen=True, eq=False, slots=True)
class State:
    """One solution on a mesh, read.

    Attributes
    ----------
    solution : Solution
    stresses : tuple of LayerStress
    hot_spots : tuple of HotSpot
        Worst first, with the error that one mesh can tell.
    influence : callable
        Solution under further nodal forces, shape (n, 2) [N], with what the state depends on
        (which pairs of a joint touch) held.
    ends : ndarray, shape (k, 2)
        Places beside the junctions of the mesh where stress may not be smooth. [mm]
    contact_ends : ndarray, shape (e, 2)
        Places where contact ends, or slides over a jump in its curvature: stress is steep beside
        them. [mm]
    bond_ends : ndarray, shape (h, 2)
        Places where what can neither open nor slide ends beside what can: stress has no finite
        value there, as at the tip of a crack. [mm]
    recover : callable
        Stress of a solution on the mesh.
    by_ends : callable
        What stress changes by if contact ends a pair sooner, here and there; asked of the last
        mesh only.
    by_breaking : callable
        What stress changes by if all broke that a finer mesh may break; asked of the last mesh
        only.
    """

    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]
    influence: Callable[[Array], Solution]
    ends: Array
    contact_ends: Array
    bond_ends: Array
    recover: Callable[[Solution], tuple[LayerStress, ...]] = recover
    by_ends: Callable[[], tuple[tuple[LayerStress, ...], ...]] = tuple
    by_breaking: Callable[[], tuple[tuple[LayerStress, ...], ...]] = tuple


class OnMesh(Protocol):
    """All that was solved on one mesh."""

    @property
    def states(self) -> Sequence[State]:
        """The same in number and order on every mesh."""

    @property
    def gauges(self) -> Sequence[Gauge]:
        """What else is wanted."""


Solved = TypeVar("Solved", bound=OnMesh)


@dataclass(frozen=True, eq=False, slots=True)
class Refined(Generic[Solved]):
    """What was solved on the last mesh, and how it came about.

    Attributes
    ----------
    last : OnMesh
    before : OnMesh or None
        What was solved on the mesh before it.
    hot_spots : tuple of tuple of HotSpot
        Of each state, worst first, as judged by their past.
    errors : dict of hashable to float
        Of each gauge, in its own unit.
    unsettled : tuple of hashable
        Names of the gauges that are not known as well as wanted.
    passes : tuple of Pass
    stopped : str
        What asked for more unknowns than are let be, in words; empty where nothing did.
    """

    last: Solved
    before: Solved | None
    hot_spots: tuple[tuple[HotSpot, ...], ...]
    errors: dict[Hashable, float]
    unsettled: tuple[Hashable, ...]
    passes: tuple[Pass, ...]
    stopped: str


@dataclass(frozen=True, eq=False)
class Adapted:
    """The last solution, and how it came about."""

    solution: Solution
    stresses: tuple[LayerStress, ...]
    hot_spots: tuple[HotSpot, ...]  # worst first
    passes: tuple[Pass, ...]
    stopped: str = ""  # what asked for more unknowns than are let be, in words

    @property
    def settled(self) -> bool:
        """Whether every spot that can be rated is known within the tolerance."""
        return all(spot.settled for spot in self.hot_spots if not spot.sharp)


@dataclass(frozen=True, eq=False, slots=True)
class _One:
    """A single solution on a mesh."""

    states: tuple[State]
    gauges: tuple[Gauge, ...] = ()


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

    def on(mesh: SectionMesh) -> _One:
        solution = solve(mesh)
        stresses, found = (read or _read)(solution)
        none = np.zeros((0, 2))
        forces = solution.model.solve_forces
        return _One((State(solution, stresses, found, forces, none, none, none),))

    def fine(one: _One) -> bool:
        (state,) = one.states
        return fine_enough is None or fine_enough(state.solution, state.stresses)

    found = refine(
        mesh_at,
        on,
        tolerance,
        most_passes=most_passes,
        choose=lambda spots: [of[:worst] for of in spots],
        fine_enough=fine,
        how=REFINEMENT,
    )
    (state,), (spots,) = found.last.states, found.hot_spots
    return Adapted(state.solution, state.stresses, spots, found.passes, found.stopped)


def refine(
    mesh_at: Callable[[Sequence[SizeWishes]], SectionMesh],
    solve: Callable[[SectionMesh], Solved],
    tolerance: float,
    *,
    most_passes: int,
    choose: Chooser,
    first: Sequence[SizeWishes] = (),
    fine_enough: Callable[[Solved], bool] | None = None,
    how: Refinement = REFINEMENT,
) -> Refined[Solved]:
    """Solve all states on better and better meshes until what is wanted of them is settled.

    A mesh costs what ``solve`` does, and for each state one further back-substitution and the
    recovery of its stress, for how the error of each triangle bears on the spots.

    Parameters
    ----------
    mesh_at, tolerance, most_passes
        As :func:`adapt` takes them.
    solve : callable
        All states on a mesh.
    choose : callable
        Of the spots of each state those that elements are refined for.
    first : sequence of SizeWishes
        Of the first mesh.
    fine_enough : callable, optional
        As :func:`adapt` takes it, of all states.
    how : Refinement
        Numbers that steer the sizes of the next mesh.

    Returns
    -------
    Refined
    """
    trails: list[list[Trail]] = []
    gauged: dict[Hashable, GaugeTrail] = {}
    passes: list[Pass] = []
    wishes, finer_passes = first, 0
    last: Solved | None = None
    stopped = ""
    while True:
        before, last = last, solve(mesh_at(wishes))
        states = last.states
        mesh = states[0].solution.model.mesh
        asks = [
            _asked(state, chosen)
            for state, chosen in zip(
                states, choose([state.hot_spots for state in states]), strict=True
            )
        ]
        coarser = before.states if before and how.two_witnesses else [None] * len(states)
        trails = [
            _trails(state, ask, old, earlier, how)
            for state, ask, old, earlier in zip(
                states, asks, trails or [[] for _ in states], coarser, strict=True
            )
        ]
        gauged = {one.name: GaugeTrail.of(one, gauged.get(one.name)) for one in last.gauges}
        spots = tuple(ranked([trail.judged(tolerance) for trail in of]) for of in trails)
        passes.append(Pass(2 * len(mesh.points), tuple(spot for of in spots for spot in of)))
        cared = [_those(of, chosen) for of, chosen in zip(trails, choose(spots), strict=True)]
        open_ = [[trail for trail in of if not trail.done(tolerance)] for of in cared]
        off = [one for one in gauged.values() if not one.settled]
        largest = how.coarsest
        ended = bool(stopped)
        if not (any(open_) or off) or len(passes) >= most_passes:
            given_up = finer_passes == REFINEMENT.finer_passes
            ended = fine_enough is None or given_up or fine_enough(last)
            finer_passes += 1
            largest = REFINEMENT.finer
        if not ended:
            wishes = _next_sizes(states, asks, cared, open_, off, tolerance, largest, how)
            unknowns = _unknowns_asked(mesh, wishes)
            if unknowns > how.most_unknowns:
                stopped = _what_asks(open_, off, unknowns, how.most_unknowns)
                alone = how.two_witnesses and before is None
                eased = _eased(mesh, wishes, how.most_unknowns) if alone else None
                if ended := eased is None:
                    stopped += " Errors are those of the mesh before it."
                else:
                    wishes, stopped = eased, f"{stopped} It is as fine as that allows."
        if ended:
            spots = tuple(
                ranked([trail.judged(tolerance) for trail in _with_ends(state, of)])
                for state, of in zip(states, trails, strict=True)
            )
            errors = {name: one.error for name, one in gauged.items() if one.error is not None}
            unsettled = tuple(one.gauge.name for one in off)
            return Refined(last, before, spots, errors, unsettled, tuple(passes), stopped)


def _read(solution: Solution) -> tuple[tuple[LayerStress, ...], tuple[HotSpot, ...]]:
    stresses = recover(solution)
    return stresses, hot_spots(solution, stresses)


@dataclass(frozen=True, eq=False, slots=True)
class _Ask:
    """How the error of each triangle bears on the spots of a state."""

    worst: float  # stress of the spots [MPa]
    weak: float  # least stress that a spot's is set against [MPa]
    bearing: Array  # shape (m,), as a share of the stress of the spots
    far: float  # error that elements further away bring to a spot, as a share of its stress


def _asked(state: State, chosen: Sequence[HotSpot]) -> _Ask:
    worst = max((spot.principal_mpa for spot in state.hot_spots if not spot.sharp), default=0.0)
    weak = REFINEMENT.weak * worst
    bearing = _bearing(state, chosen, weak)
    far = REFINEMENT.far_share * float(bearing.sum()) / max(len(chosen), 1)
    return _Ask(worst, weak, bearing, far)


def _trails(
    state: State, ask: _Ask, before: Sequence[Trail], earlier: State | None, how: Refinement
) -> list[Trail]:
    """The spots of a state with their past: as spots, or by what an earlier mesh has there."""
    junctions = np.concatenate([junctions_of(state.solution.model.mesh), state.ends])
    trails = [
        replace(
            trail,
            order=how.order,
            unabated=how.unabated,
            told=how.told_at_junction if trail.at_junction else how.told,
            least=how.least_told * ask.worst,
        )
        for trail in (
            followed(
                spot, before, junctions, state.contact_ends, state.bond_ends, ask.weak, ask.far
            )
            for spot in state.hot_spots
        )
    ]
    if earlier is not None:
        trails = [
            trail if len(trail.values) > 1 else trail.beside(*_size_and_stress(earlier, trail.spot))
            for trail in trails
        ]
    return beside_sharp_ones(trails)


def _with_ends(state: State, trails: Sequence[Trail]) -> list[Trail]:
    """Trails with what hangs on where contact ends, and on what breaks."""
    ends, breaking = state.by_ends(), state.by_breaking()
    return [
        replace(
            trail,
            by_ends=sum(abs(along_spot(change, trail.spot)) for change in ends),
            by_breaking=sum(abs(along_spot(change, trail.spot)) for change in breaking),
        )
        for trail in trails
    ]


def _size_and_stress(state: State, spot: HotSpot) -> tuple[float, float]:
    """Size of the elements at a place of another mesh [mm], and what a part bears there [MPa].

    The largest principal stress within the size of a spot's own elements.
    """
    mesh, here = state.solution.model.mesh, np.array([spot.x_mm, spot.y_mm])
    away, largest, off, size = [], [], [], []
    for layer in state.stresses:
        if layer.part == spot.part:
            corners = mesh.points[mesh.triangles[layer.elements, :3]]
            away.append(np.hypot(*(mesh.points[layer.nodes] - here).T))
            largest.append(principal(layer.stress)[0])
            off.append(np.hypot(*(corners.mean(axis=1) - here).T))
            size.append(element_size(corners))
    distance, stress = np.concatenate(away), np.concatenate(largest)
    near = distance <= max(spot.size_mm, float(distance.min()))
    return (
        float(np.concatenate(size)[np.argmin(np.concatenate(off))]),
        float(stress[near].max()),
    )


def _those(trails: Sequence[Trail], spots: Sequence[HotSpot]) -> list[Trail]:
    """The trails of some spots."""
    wanted = {(spot.x_mm, spot.y_mm) for spot in spots}
    return [trail for trail in trails if (trail.spot.x_mm, trail.spot.y_mm) in wanted]


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
    warmth = solution.temperature
    energy = np.zeros(len(mesh.triangles))
    for layer in stresses:
        material = materials[layer.part]
        stress = hooke(raw[:, layer.elements], material.lam, material.mu)
        if warmth is not None:
            there = warmth[mesh.triangles[layer.elements]] @ values.T
            stress *= material.stiffness_share(there)
            stress[:2] -= material.thermal_stress(there)
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


def _bearing(state: State, spots: Sequence[HotSpot], weak: float) -> Array:
    r"""How much the error of each triangle may move the spots, as a share of their stress.

    The geometric mean of the energy errors of the solution and of the influence of the spots
    (Becker & Rannacher, *Acta Numerica* 10 (2001) 1-102, dual-weighted residuals, from memory).
    Next to a spot it says nothing of the recovered stress, and is left out.
    """
    mesh = state.solution.model.mesh
    if not spots:
        return np.zeros(len(mesh.triangles))
    influence = state.influence(influence_load(state.solution, state.stresses, spots, weak))
    off = energy_errors(influence, state.recover(influence))
    bearing = np.sqrt(energy_errors(state.solution, state.stresses) * off)
    centre = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    for spot in spots:
        away = np.hypot(*(centre - [spot.x_mm, spot.y_mm]).T)
        bearing[away < REFINEMENT.near_elements * spot.size_mm] = 0
    return bearing


def _next_sizes(
    states: Sequence[State],
    asks: Sequence[_Ask],
    cared: Sequence[Sequence[Trail]],
    open_: Sequence[Sequence[Trail]],
    off: Sequence[GaugeTrail],
    tolerance: float,
    largest: float,
    how: Refinement,
) -> tuple[SizeWishes, ...]:
    """Sizes at the triangles by how their error bears on the spots, and at the spots by theirs.

    No triangle grows beyond the largest share of its size. The least of all states counts.
    """
    mesh = states[0].solution.model.mesh
    change = np.full(len(mesh.triangles), largest if any(cared) else min(largest, 1.0))
    places: list[complex] = []
    sizes: list[float] = []
    for state, ask, trails, unsettled in zip(states, asks, cared, open_, strict=True):
        if not trails:
            continue
        goal = how.goal * tolerance * len(trails) / len(change)
        wanted = np.divide(goal, ask.bearing, out=np.ones_like(change), where=ask.bearing > 0) ** (
            1 / 6
        )
        change = np.minimum(change, np.clip(wanted, REFINEMENT.finest, largest))
        for trail in trails:
            is_open = trail in unsettled
            share = trail.shrink(tolerance, how.at_junction) if is_open else REFINEMENT.kept
            places.append(sharp_place(mesh, trail.spot) if trail.spot.sharp else trail.place)
            sizes.append(share * trail.spot.size_mm)
            if is_open and not trail.spot.sharp and _leads(trail, trails, how.edge_of):
                there = _as_high(state, trail.spot)
                change[there] = np.minimum(change[there], share)
    wishes = [sizes_of(mesh, change)]
    if places:
        wishes.append(SizeWishes(np.array(places), np.array(sizes), REFINEMENT.growth_at_spot))
    wishes += [
        SizeWishes(one.gauge.z, _halved(one.gauge.size), REFINEMENT.growth_at_spot)
        for one in off
        if len(one.gauge.z)
    ]
    return tuple(wishes)


def _leads(trail: Trail, trails: Sequence[Trail], share: float) -> bool:
    """Whether a spot has at least a share of the stress of the worst of its part."""
    most = max(one.spot.principal_mpa for one in trails if one.spot.part == trail.spot.part)
    return trail.spot.principal_mpa >= share * most


def _halved(sizes: Array) -> Array:
    """Sizes whose sum is half of that of some, the largest of those made smaller. [mm]."""
    rising = np.sort(sizes)
    below = np.concatenate([[0.0], np.cumsum(rising)[:-1]])
    caps = (REFINEMENT.halved * rising.sum() - below) / np.arange(len(rising), 0, -1)
    return np.minimum(sizes, caps[caps <= rising].max())


def _as_high(state: State, spot: HotSpot) -> Integers:
    """Triangles at the edge of a spot's part that are stressed as high as the spot.

    All along the edge perhaps: it may well turn up there next.
    """
    mesh = state.solution.model.mesh
    edge = np.zeros(len(mesh.points), dtype=bool)
    edge[np.concatenate([sides.ravel() for sides in mesh.edges.values()])] = True
    found = [np.zeros(0, dtype=np.int64)]
    for layer in state.stresses:
        if layer.part == spot.part:
            stress = principal(layer.stress)[0][layer.triangles]
            as_high = np.abs(stress / spot.principal_mpa - 1) < REFINEMENT.level
            as_high &= edge[mesh.triangles[layer.elements]]
            found.append(layer.elements[as_high.any(axis=1)])
    return np.concatenate(found)


def sizes_of(mesh: SectionMesh, change: Array | float = 1.0) -> SizeWishes:
    """Wishes for a mesh like another, each triangle changed by a factor.

    Parameters
    ----------
    mesh : SectionMesh
    change : float or ndarray, shape (m,)

    Returns
    -------
    SizeWishes
    """
    corners = mesh.points[mesh.triangles[:, :3]]
    longest = _longest_sides(corners)
    change = np.broadcast_to(change, longest.shape)
    size = REFINEMENT.parity * longest * change
    finer = change < 1
    told = finer | (element_size(corners) > REFINEMENT.flat * longest)  # a flat one is no measure
    around = np.concatenate(
        [corners.mean(axis=1)[told], mesh.points[mesh.triangles[finer]].reshape(-1, 2)]
    )
    size = np.concatenate([size[told], np.repeat(size[finer], 6)])
    return SizeWishes(around[:, 0] + 1j * around[:, 1], size, REFINEMENT.growth)


def _longest_sides(corners: Array) -> Array:
    """Longest side of each triangle, corners (m, 3, 2). [mm]."""
    sides = corners - np.roll(corners, 1, axis=1)
    longest: Array = np.hypot(sides[..., 0], sides[..., 1]).max(axis=1)
    return longest


def _unknowns_asked(mesh: SectionMesh, wishes: Sequence[SizeWishes]) -> float:
    """About how many unknowns a mesh has that follows wishes.

    Sizes are sought at the nodes of the last mesh and grow from there no faster than a mesh does;
    each of its triangles is cut as often as its longest side is longer than the size there. A
    quadratic triangle brings four unknowns.
    """
    from scipy.spatial import cKDTree

    size = np.full(len(mesh.points), np.inf)
    for some in wishes:
        tree = cKDTree(np.column_stack([some.z.real, some.z.imag]))
        away, nearest = tree.query(mesh.points)
        size = np.minimum(size, some.size[nearest] + some.grading * away)
    nodes = mesh.triangles
    one, other = nodes[:, _LINKS].reshape(-1, 2).T
    growth = REFINEMENT.made * np.hypot(*(mesh.points[one] - mesh.points[other]).T)
    for _ in range(_SWEEPS):
        before = size.copy()
        np.minimum.at(size, one, before[other] + growth)
        np.minimum.at(size, other, before[one] + growth)
        if (size == before).all():
            break
    own = REFINEMENT.parity * _longest_sides(mesh.points[nodes[:, :3]])
    return float(4 * (own[:, None] ** 2 / size[nodes] ** 2).mean(axis=1).sum())


def _eased(
    mesh: SectionMesh, wishes: Sequence[SizeWishes], most: int
) -> tuple[SizeWishes, ...] | None:
    """Wishes that leave a mesh so many unknowns, by all sizes a factor larger than asked.

    None is larger than on the last mesh, where it was asked smaller; None where that is too many.
    """
    from scipy.spatial import cKDTree

    own = sizes_of(mesh)
    tree = cKDTree(np.column_stack([own.z.real, own.z.imag]))
    largest = [
        np.maximum(some.size, own.size[tree.query(np.column_stack([some.z.real, some.z.imag]))[1]])
        for some in wishes
    ]

    def by(factor: float) -> tuple[SizeWishes, ...]:
        return tuple(
            replace(some, size=np.minimum(factor * some.size, most_there))
            for some, most_there in zip(wishes, largest, strict=True)
        )

    low, high = 1.0, MOST_EASED
    if _unknowns_asked(mesh, by(high)) > most:
        return None
    while high / low > 1 + NEARLY_ALL:
        middle = math.sqrt(low * high)
        low, high = (low, middle) if _unknowns_asked(mesh, by(middle)) <= most else (middle, high)
    return by(high)


def _what_asks(
    open_: Sequence[Sequence[Trail]], off: Sequence[GaugeTrail], unknowns: float, most: int
) -> str:
    """What asks for the most elements, in words."""
    spots = [trail for of in open_ for trail in of]
    where = "the mesh as a whole"
    if spots:
        spot = max(spots, key=lambda trail: trail.error() / trail.scale).spot
        where = f"the spot at {spot.part} {spot.clock}, {spot.radius_mm:.1f} mm from the axis"
    elif off:
        z = off[0].gauge.z.mean()
        where = f"{off[0].gauge.what}, about {format_clock(float(clock_of(z.real, z.imag)))}"
    return (
        f"refinement stops: {where}, asks for a mesh of about {unknowns:,.0f} unknowns, and "
        f"{most:,} are the most."
    )

r"""Steady conduction in a section whose thickness varies from place to place.

Find the temperature T with, for every v,

.. math::

    \int \sum_l t_l k_l \nabla T \cdot \nabla v \,dA
    + \sum_f \int_f h_f (T - T_f)\, v \,dF + \sum_j \int_j c_j\, [T]\,[v] \,dF = 0,

l the layers of metal at a place, t their thickness [mm], k their conductivity [W/(mm K)]; f the
surfaces under a film of coefficient h [W/(mm2 K)] and temperature T_f [degC], both by the wall,
side by side, where the film is curved (Newton's method); j the joints between bodies, of
conductance c [W/(mm2 K)] and with a jump [T] from one side to the other. Surfaces are walls, dF =
depth ds, and the faces of layers seen from above or below, dF = dA. Conduction in layers is along
the section only.

Which metal is under which film stands in :mod:`fea.heat.surfaces`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import connected_components

from fea.bore import POSITIONS, edge_places
from fea.elasticity import edge_points
from fea.factor import Factor
from fea.heat.films import CurvedFilm, Film, Films
from fea.heat.surfaces import Surface, find_surfaces
from fea.material import Material
from fea.quadrature import in_triangles, on_sides
from geometry.clock import clock_of, clock_to_angle, format_clock
from geometry.parted import Joint
from geometry.section_mesh import SectionMesh, bodies_of, named_sides

Array = NDArray[np.float64]
Integers = NDArray[np.int64]

MOST_TURNS = 40
"""Newton's turns of heat and films that hang on the wall, at most."""
SAME_WALL = 0.01
"""Change of a wall from turn to turn that ends them. [K]."""
BEGIN = 150.0
"""Where walls are taken to be before the first turn. [degC]."""


class HeatError(RuntimeError):
    """Heat and its films, or its joints, don't settle."""

    @classmethod
    def of_films(cls, moved: float) -> HeatError:
        """Of films that walls don't meet, which still move by so much. [K]."""
        return cls(
            f"heat and its films do not settle: a wall still moves by {moved:.1f} K after "
            f"{MOST_TURNS} turns."
        )


@dataclass(frozen=True, slots=True)
class HotPlace:
    """Where a part is hottest."""

    part: str
    temperature_degc: float
    clock: str
    clock_hours: float  # [h]
    radius_mm: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True)
class WallPeak:
    """Where most heat leaves metal on one of its paths."""

    path: str
    flux: float  # [W/mm2]
    temperature_degc: float  # of the wall
    x_mm: float
    y_mm: float


@dataclass(frozen=True, eq=False)
class HeatField:
    """Temperature of a section, and the heat that flows.

    Attributes
    ----------
    mesh : SectionMesh
    temperature : ndarray, shape (n,)
        At ``mesh.points``. [degC]
    heat : dict of str to float
        Into the metal by each of ``Films.paths``, what leaves negative; they add up to 0. [W]
    joint_heat : dict of str to float
        Through the joint of each part that is cut loose, into the part. [W]
    solver : str
        Library that factored.
    walls : dict of str to WallPeak
        By path under a film, where most heat leaves the metal.
    """

    mesh: SectionMesh
    temperature: Array
    heat: dict[str, float]
    joint_heat: dict[str, float]
    solver: str = ""
    walls: dict[str, WallPeak] = field(default_factory=dict)

    def hottest(self, part: str) -> HotPlace:
        """Where a part is hottest.

        Raises
        ------
        ValueError
            If no layer is of this part.
        """
        mesh = self.mesh
        regions = [part in (layer.part for layer in layers) for layers in mesh.regions]
        nodes = np.unique(mesh.triangles[np.array(regions)[mesh.region]])
        if not len(nodes):
            raise ValueError(f"no layer of the mesh is of the part {part}.")
        node = nodes[np.argmax(self.temperature[nodes])]
        x, y = mesh.points[node]
        hours = float(clock_of(x, y))
        return HotPlace(
            part=part,
            temperature_degc=float(self.temperature[node]),
            clock=format_clock(hours),
            clock_hours=hours,
            radius_mm=float(np.hypot(x, y)),
            x_mm=float(x),
            y_mm=float(y),
        )

    def around_bore(self, edge: str = "bore") -> Array:
        """Temperature of a bore at the clock positions of :func:`fea.bore.bore_growth`.

        Parameters
        ----------
        edge : str
            A closed free edge around the origin.

        Returns
        -------
        ndarray, shape (360,)
            At k / 30 h. [degC]

        Raises
        ------
        ValueError
            If the edge is unknown, or doesn't run round the origin once.
        """
        angle = clock_to_angle(np.arange(POSITIONS) * 12.0 / POSITIONS)
        sides = named_sides(self.mesh, edge)
        place, s = edge_places(self.mesh.points[sides].transpose(2, 1, 0), angle, edge)
        along, _ = edge_points(self.temperature[sides[place]].T[None], s[None])
        return along[0, 0]


class HeatModel:
    """The equations of a section's heat, assembled once for any state of its joints.

    Parameters
    ----------
    mesh : SectionMesh
        A part that joints let go is cut loose with :func:`geometry.parted.part_off`.
    materials : mapping of str to Material
        One for each part that the mesh's layers name.
    films : Films
    joints : sequence of Joint
        In the numbers of ``mesh``; each part needs its conductance in ``films.joints``.

    Raises
    ------
    ValueError
        For a part without material, a material that does not conduct, or a joint without
        conductance.
    """

    def __init__(
        self,
        mesh: SectionMesh,
        materials: Mapping[str, Material],
        films: Films,
        joints: Sequence[Joint] = (),
    ) -> None:
        _check(mesh, materials, films, joints)
        self.mesh = mesh
        self.films = films
        paths = [path for path in films.paths if path == "gas" or films.of(path) is not None]
        self._fluxed: list[Surface] = []
        self._wetted: list[_Wetted] = []
        for surface in find_surfaces(mesh, films.undersides, paths):
            film = films.of(surface.path)
            if film is None:
                self._fluxed.append(surface)
            else:
                self._wetted.append(_Wetted(surface, film))
        self._bridges = {joint.part: _Bridge(mesh, joint, films) for joint in joints}
        self._metal = conduction_products(mesh, materials).ravel()
        rows, columns = zip(*map(_places, self._nodes()), strict=True)
        self._places = np.concatenate(rows), np.concatenate(columns)
        self._bodies = _bodies_by_node(mesh)
        self._factor: Factor | None = None

    def _nodes(self) -> Iterator[Integers]:
        """Nodes (k, p) of what has a matrix each: metal, films, then joints."""
        yield self.mesh.triangles
        yield from (of.surface.nodes for of in self._wetted)
        yield from (bridge.pairs for bridge in self._bridges.values())

    def solve(self, closed: Mapping[str, NDArray[np.bool_] | Array] | None = None) -> HeatField:
        """Temperature, with joints open where they don't touch, or touch in part.

        Parameters
        ----------
        closed : mapping of str to ndarray, shape (n,), optional
            For the part of a joint, whether each node of the mesh is in touch, or the share of the
            conductance that it has, read at the part's own nodes; a joint that is not named is
            closed all along.

        Raises
        ------
        ValueError
            If a mask is not one for each node or of a part without joint, or if heat can't leave
            a body.
        HeatError
            If a film that hangs on the wall is not met.
        NotPositiveDefiniteError
            If the equations can't be factored.
        """
        touching = self._touching(closed or {})
        self._require_ways_out(touching)
        bridges = {part: of.conductance * touching[part] for part, of in self._bridges.items()}
        temperature = self._solved(bridges)
        for turn in range(MOST_TURNS):
            moved = max((of.meet(temperature) for of in self._wetted), default=0.0)
            if moved <= SAME_WALL:
                break
            if turn == MOST_TURNS - 1:
                raise HeatError.of_films(moved)
            temperature = self._solved(bridges)
        walls = [of.wall_peak(self.mesh, temperature) for of in self._wetted]
        return HeatField(
            self.mesh,
            temperature,
            self._heat(temperature),
            {
                part: float(bridges[part] @ bridge.gap(temperature))
                for part, bridge in self._bridges.items()
            },
            self._factor.name if self._factor else "",
            _hottest_walls(walls),
        )

    def _solved(self, bridges: Mapping[str, Array]) -> Array:
        """Temperature with films as they are at walls of the turn before, shape (n,). [degC]."""
        joints = [sign * of for of in bridges.values() for sign in (1, -1, 1)]
        films = [of.products().ravel() for of in self._wetted]
        values = np.concatenate([self._metal, *films, *joints])
        n = len(self.mesh.points)
        lower = sparse.coo_array((values, self._places), shape=(n, n)).tocsc()
        if self._factor is None:
            self._factor = Factor(lower)
        else:
            self._factor = self._factor.refactor(lower.data)
        load = np.zeros(n)
        for surface in self._fluxed:
            load += float(self.films.gas) * surface.area  # type: ignore[arg-type]
        for wetted in self._wetted:
            load += wetted.drive(n)
        return self._factor.solve(load)

    def _heat(self, temperature: Array) -> dict[str, float]:
        heat = dict.fromkeys(self.films.paths, 0.0)
        for surface in self._fluxed:
            heat[surface.path] += float(self.films.gas) * float(surface.area.sum())  # type: ignore[arg-type]
        for wetted in self._wetted:
            heat[wetted.surface.path] += wetted.heat(temperature)
        return heat

    def _touching(self, closed: Mapping[str, NDArray[np.bool_] | Array]) -> dict[str, Array]:
        """For each bridge, 1 where a pair of nodes is in touch, 0 where it conducts nothing."""
        if unknown := sorted(set(closed) - set(self._bridges)):
            raise ValueError(f"there is no joint of the part {unknown[0]}.")
        found = {}
        for part, bridge in self._bridges.items():
            mask = np.asarray(closed.get(part, np.ones(len(self.mesh.points), dtype=bool)))
            if mask.shape != (len(self.mesh.points),):
                raise ValueError(
                    f"closed nodes of the joint of the {part} have shape {mask.shape}; the mesh "
                    f"needs {(len(self.mesh.points),)}."
                )
            found[part] = mask[bridge.pairs[:, 0]].astype(float)
        return found

    def _require_ways_out(self, touching: Mapping[str, Array]) -> None:
        """Every body, or another that it touches, has a film that is not the gas."""
        count = int(self._bodies.max()) + 1
        links = sparse.coo_array((count, count))
        for part, bridge in self._bridges.items():
            joined = bridge.conductance * touching[part] > 0
            one, other = self._bodies[bridge.pairs[joined]].T
            links = links + sparse.coo_array((np.ones(len(one)), (one, other)), links.shape)
        _, group = connected_components(links, directed=False)
        outlet = np.zeros(count)
        for wetted in self._wetted:
            if wetted.surface.path != "gas":
                area = wetted.coefficient * wetted.shares.sum(axis=0)
                outlet += np.bincount(self._bodies[wetted.surface.nodes[:, 0]], area, count)
        ways = np.bincount(group, outlet)
        if (ways > 0).all():
            return
        shut = ways[group[self._bodies[self.mesh.triangles[:, 0]]]] == 0
        regions = np.unique(self.mesh.region[shut])
        parts = sorted({layer.part for index in regions for layer in self.mesh.regions[index]})
        raise ValueError(
            f"there is no way out for the heat of the {', '.join(parts)}. Give a film of the "
            "coolant, the head or the outside with a coefficient above 0, or close the joint."
        )


class _Wetted:
    """A surface under a film, as the film is where the walls stand.

    Attributes
    ----------
    surface : Surface
    shares : ndarray, shape (p, k)
        Area of each node of each side or face. [mm2]
    coefficient, temperature : ndarray, shape (k,)
        Of the film at each side or face. [W/(mm2 K)], [degC]
    """

    def __init__(self, surface: Surface, film: Film | CurvedFilm) -> None:
        self.surface, self._film = surface, film
        size = surface.nodes.shape[1]
        self.shares = np.zeros((size, len(surface.nodes)))
        for a, b, square in zip(*np.tril_indices(size), surface.squares, strict=True):
            self.shares[a] += square
            if a != b:
                self.shares[b] += square
        area = self.shares.sum(axis=0)
        self._over = np.divide(self.shares, area, out=np.zeros_like(self.shares), where=area > 0)
        self._wall = np.full(len(surface.nodes), BEGIN)
        self.coefficient, self.temperature = film.at(self._wall)

    def products(self) -> Array:
        """Of the film, shape (p (p + 1) / 2, k). [W/K]."""
        return self.coefficient * self.surface.squares

    def drive(self, n: int) -> Array:
        """Heat into each node of metal at 0 degC, shape (n,). [W]."""
        flow = self.shares * (self.coefficient * self.temperature)
        return np.asarray(np.bincount(self.surface.nodes.T.ravel(), flow.ravel(), n), dtype=float)

    def wall(self, temperature: Array) -> Array:
        """Mean temperature of each side or face, shape (k,). [degC]."""
        return (self._over * temperature[self.surface.nodes.T]).sum(axis=0)

    def meet(self, temperature: Array) -> float:
        """Take the film where walls are now; how far those moved that it follows. [K]."""
        if isinstance(self._film, Film):
            return 0.0
        before, self._wall = self._wall, self.wall(temperature)
        self.coefficient, self.temperature = self._film.at(self._wall)
        return float(np.abs(self._wall - before).max())

    def heat(self, temperature: Array) -> float:
        """Into the metal. [W]."""
        walls = temperature[self.surface.nodes.T]
        return float((self.shares * self.coefficient * (self.temperature - walls)).sum())

    def wall_peak(self, mesh: SectionMesh, temperature: Array) -> WallPeak:
        """Where most heat leaves."""
        wall = self.wall(temperature)
        flux = self.coefficient * (wall - self.temperature)
        most = int(np.argmax(flux))
        x, y = self._over[:, most] @ mesh.points[self.surface.nodes[most]]
        return WallPeak(
            path=self.surface.path,
            flux=float(flux[most]),
            temperature_degc=float(wall[most]),
            x_mm=float(x),
            y_mm=float(y),
        )


def _hottest_walls(peaks: Sequence[WallPeak]) -> dict[str, WallPeak]:
    """The place of each path where most heat leaves the metal."""
    found: dict[str, WallPeak] = {}
    for peak in peaks:
        if peak.path not in found or peak.flux > found[peak.path].flux:
            found[peak.path] = peak
    return found


def _places(nodes: Integers) -> tuple[Integers, Integers]:
    """Row and column of each product of the nodes (k, p), as :class:`Surface` orders them."""
    one, other = (nodes[:, at].T for at in np.tril_indices(nodes.shape[1]))
    return np.maximum(one, other).ravel(), np.minimum(one, other).ravel()


def _check(
    mesh: SectionMesh,
    materials: Mapping[str, Material],
    films: Films,
    joints: Sequence[Joint],
) -> None:
    for part in mesh.parts:
        if part not in materials:
            raise ValueError(f"no material for {part}. Give one for each part.")
        if not materials[part].conductivity > 0:
            raise ValueError(
                f"{materials[part].name} of the {part} has no conductivity. Give it one above 0."
            )
    for joint in joints:
        if joint.part not in films.joints:
            raise ValueError(f"no conductance of the joint of the {joint.part}. Give one.")


def conduction_products(mesh: SectionMesh, materials: Mapping[str, Material]) -> Array:
    """Matrices of heat that flows down the gradient, ∫ t k ∇N_a · ∇N_b dA, triangle by triangle.

    Parameters
    ----------
    mesh : SectionMesh
    materials : mapping of str to Material
        By part.

    Returns
    -------
    ndarray, shape (21, m)
        By pair of nodes in the order of ``np.tril_indices``. [W/K]
    """
    places = in_triangles(mesh.points, mesh.triangles, order=2)
    conducting = np.zeros_like(places.size)
    for index, layers in enumerate(mesh.regions):
        inside = np.flatnonzero(mesh.region == index)
        x, y = places.x[:, inside], places.y[:, inside]
        for layer in layers:
            conductivity = materials[layer.part].conductivity
            conducting[:, inside] += conductivity * layer.thickness(x, y)
    over = np.sqrt(conducting / places.size)
    slopes_x, slopes_y = over * places.slopes_x, over * places.slopes_y
    products = np.empty((21, len(mesh.triangles)))
    for pair, (a, b) in enumerate(zip(*np.tril_indices(6), strict=True)):
        np.einsum("qm,qm->m", slopes_x[a], slopes_x[b], out=products[pair])
        products[pair] += np.einsum("qm,qm->m", slopes_y[a], slopes_y[b])
    return products


class _Bridge:
    """A joint as pairs of nodes with the conductance of their share of it.

    Attributes
    ----------
    pairs : ndarray, shape (k, 2)
        Node of the part, node of the rest.
    conductance : ndarray, shape (k,)
        Where closed. [W/K]
    """

    def __init__(self, mesh: SectionMesh, joint: Joint, films: Films) -> None:
        places = on_sides(mesh.points, joint.own)
        areas = places.shares(places.shapes @ joint.depth.T)
        self.pairs = np.stack([joint.own.ravel(), joint.other.ravel()], axis=1)
        self.conductance = films.joints[joint.part] * areas.T.ravel()

    def gap(self, temperature: Array) -> Array:
        """How much warmer the rest is than the part at each pair, shape (k,). [K]."""
        own, other = temperature[self.pairs].T
        return other - own


def _bodies_by_node(mesh: SectionMesh) -> Integers:
    bodies = np.zeros(len(mesh.points), dtype=np.int64)
    bodies[mesh.triangles] = bodies_of(mesh.triangles, len(mesh.points))[:, None]
    return bodies
